package planner

import (
	"context"
	"testing"
)

// TestTable prints what becomes of every unit of the catalogue under either
// indoor control.
func TestTable(t *testing.T) {
	each(func(name, indoor string) {
		target := DefaultTarget()
		target.Indoor = indoor
		r, err := Plan(load(t, name), target, nil)
		if err != nil {
			t.Errorf("%s to %s: %v", name, indoor, err)
			return
		}
		if r.Refused != "" {
			t.Errorf("%s to %s: refused: %s", name, indoor, r.Refused)
			return
		}
		pr, err := Prove(context.Background(), r.New)
		if err != nil {
			t.Error(err)
			return
		}
		t.Logf("%s to %s: cost %g holds %v", name, indoor, r.Cost, pr.Holds)
		for _, k := range pr.Checks {
			if !k.Holds {
				t.Errorf("%s to %s: %s in state %s: %s", name, indoor, k.ID, k.State, k.Detail)
			}
		}
	})
}
