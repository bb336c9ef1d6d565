package judge

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"

	"retrostage/wiring/planner"
)

func TestQDebug(t *testing.T) {
	for _, f := range strings.Fields(os.Getenv("QUNIT")) {
		var n int
		fmt.Sscan(f, &n)
		u, target, note := makeUnit(n)
		r, err := planner.Plan(u, target, nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Check(context.Background(), nil); err != nil {
			t.Fatal(err)
		}
		fmt.Println("UNIT", n, note, target.Compressor.RLA)
		if os.Getenv("QFULL") != "" {
			for _, d := range u.Devices {
				fmt.Println("  dev", d.ID, d.Kind, d.Place, d.Params)
			}
			for _, c := range u.Conductors {
				fmt.Println("  old", c.ID, c.From, c.To, c.Gauge)
			}
			for _, d := range r.Devices {
				fmt.Println("  ", d.ID, d.Kind, d.Action, d.Rule)
			}
			for _, c := range r.Conductors {
				fmt.Println("  ", c.ID, c.Action, c.WasFrom, c.WasTo, "->", c.From, c.To, c.Gauge)
			}
		}
		fmt.Println(r.Verdict, r.Why)
		if r.Proof != nil {
			for _, k := range r.Proof.Failed() {
				fmt.Println("  FAIL", k.ID, "|", k.State, "|", k.Detail, "|", k.Path)
			}
		}
	}
}
