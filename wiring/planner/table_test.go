package planner

import (
	"context"
	"strings"
	"testing"

	"retrostage/wiring/netlist"
	"retrostage/wiring/proof"
)

// TestTable prints what becomes of every unit of the catalogue under either
// indoor control.
func TestTable(t *testing.T) {
	for _, name := range netlist.Catalogue() {
		for _, indoor := range []string{"conventional", "digital"} {
			target := DefaultTarget()
			target.Indoor = indoor
			r, err := Plan(load(t, name), target, personAnswers(load(t, name)))
			if err == nil {
				err = r.Check(context.Background(), nil)
			}
			if err != nil {
				t.Errorf("%s to %s: %v", name, indoor, err)
				continue
			}
			t.Logf("%s to %s: %s; %s; cost %g, %d lines", name, indoor, r.Verdict, tally(r), r.Cost, len(r.Steps))
			if r.Verdict != proof.Holds {
				t.Errorf("%s to %s: %s", name, indoor, strings.Join(r.Banner(), "\n"))
				for _, k := range r.Proof.Failed() {
					t.Errorf("    %s %s in state %s: %s", k.ID, k.Verdict, k.State, k.Detail)
				}
			}
		}
	}
}
