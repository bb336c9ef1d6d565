package judge

import (
	"context"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
	"retrostage/wiring/proof"
)

const holds, fails, undecided = proof.Holds, proof.Fails, proof.NotDecided

// prove asks what is judged here: its verdict, and why.
func prove(old, new *netlist.Unit, r *planner.Result) (verdict, why string) {
	p, err := proof.Prove(context.Background(), old, new, dataOf(r), nil)
	if err != nil {
		return "error", err.Error()
	}
	var s []string
	for _, c := range p.Failed() {
		s = append(s, c.ID+" ("+c.State+": "+c.Detail+")")
	}
	return p.Verdict, p.Why + ": " + strings.Join(s, "; ")
}

// dataOf is what the proof is told beside the circuits.
func dataOf(r *planner.Result) proof.Data {
	c := r.Target.Compressor
	d := proof.Data{Compressor: proof.Compressor{Volts: c.Volts, RLA: c.RLA, LRA: c.LRA, Farads: c.Farads, CapVolts: c.CapVolts}, Omitted: map[string]string{}, Replaced: map[string]string{}}
	for _, x := range r.Devices {
		switch x.Action {
		case "replace", "set", "move":
			d.Replaced[x.ID] = x.Reason
		}
	}
	for _, o := range r.Omitted {
		d.Omitted[o.Device] = o.Reason
	}
	return d
}
