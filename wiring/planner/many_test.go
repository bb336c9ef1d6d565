package planner

import (
	"context"
	"fmt"
	"testing"

	"retrostage/wiring/netlist"
)

// many is a unit with n more switches in the lead to the high-pressure switch.
func many(t testing.TB, n int) *netlist.Unit {
	t.Helper()
	u := load(t, "two-contactor-conventional")
	lead := *u.At("HP.1")[0]
	for i := range n {
		id := fmt.Sprintf("X%d", i)
		if err := u.AddDevice(netlist.Device{ID: id, Kind: "switch", Label: fmt.Sprintf("switch %d", i), Place: "outdoor", Params: map[string]float64{"contact-amps": 2}}); err != nil {
			t.Fatal(err)
		}
		next := lead
		next.ID = fmt.Sprintf("x%d", i)
		if lead.From == "HP.1" {
			lead.From, next.From, next.To = id+".1", "HP.1", id+".2"
		} else {
			lead.To, next.From, next.To = id+".1", id+".2", "HP.1"
		}
		if err := u.SetConductor(lead); err != nil {
			t.Fatal(err)
		}
		if err := u.AddConductor(next); err != nil {
			t.Fatal(err)
		}
		lead = next
	}
	return u
}

// Eleven things in one string, and fourteen inputs: no order is enumerated, and no
// sixteen thousand states are tried.
func TestManyInterrupters(t *testing.T) {
	for _, indoor := range []string{"conventional", "digital"} {
		target := DefaultTarget()
		target.Indoor = indoor
		u := many(t, 8)
		r, err := Plan(u, target, nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Check(context.Background(), nil); err != nil {
			t.Fatal(err)
		}
		if !r.Proved() || r.Proof.Combinations < 1<<13 || r.Proof.States > r.Proof.Combinations/8 {
			t.Errorf("%v; %d states for %d", r.Banner(), r.Proof.States, r.Proof.Combinations)
		}
		accounted(t, u, r)
	}
}

// BenchmarkEight: planning with eight switches more in the string; wanted: with its
// proof under a second.
func BenchmarkEight(b *testing.B) {
	u := many(b, 8)
	for _, what := range []string{"plan", "plan and proof"} {
		b.Run(what, func(b *testing.B) {
			for b.Loop() {
				r, err := Plan(u, DefaultTarget(), nil)
				if err == nil && what != "plan" {
					err = r.Check(context.Background(), nil)
				}
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
