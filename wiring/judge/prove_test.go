package judge

import (
	"context"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
)

const holds, fails, undecided = "holds", "fails", "not decided"

// prove asks what is judged here: its verdict, and why.
func prove(old, new *netlist.Unit, r *planner.Result) (verdict, why string) {
	p, err := planner.Prove(context.Background(), new)
	if err != nil {
		return "error", err.Error()
	}
	if p.Holds {
		return holds, ""
	}
	var s []string
	for _, c := range p.Checks {
		if !c.Holds {
			s = append(s, c.ID)
		}
	}
	return fails, strings.Join(s, ", ")
}
