package judge

import (
	"testing"
	"time"

	"retrostage/wiring/planner"
	"retrostage/wiring/proof"
)

func wantOf(d proof.Data) wanted {
	c := d.Compressor
	w := wanted{volts: c.Volts, rla: c.RLA, lra: c.LRA, farads: c.Farads, capVolts: c.CapVolts, omitted: map[string]bool{}}
	for id, why := range d.Omitted {
		w.omitted[id] = len(why) >= 12
	}
	return w
}

// No plan of the catalogue does harm.
func TestCataloguePlans(t *testing.T) {
	for _, u := range catalogue(t) {
		for _, indoor := range []string{"", "conventional", "digital"} {
			target := planner.DefaultTarget()
			target.Indoor = indoor
			r, err := planner.Plan(u, target, nil)
			if err != nil {
				t.Fatal(err)
			}
			if r.New == nil {
				t.Logf("%s %s: refused: %s", u.Name, indoor, r.Refused)
				continue
			}
			start := time.Now()
			old, err := observe(reread(u))
			if err != nil {
				t.Fatal(err)
			}
			h := harmful(old, reread(r.New), wantOf(dataOf(r)))
			t.Logf("%s %s: %d and states, stops %v, %v", u.Name, indoor, len(old.traces), sortedKeys(old.stops), time.Since(start))
			for _, x := range h {
				t.Errorf("%s %s: %s", u.Name, indoor, x)
			}
		}
	}
}
