package judge

import (
	"testing"
	"time"

	"retrostage/wiring/planner"
	"retrostage/wiring/proof"
)

// wantOf is what the new compressor asks for. Only what a person gave a reason for
// counts as left out.
func wantOf(c proof.Compressor, omitted ...string) wanted {
	w := wanted{volts: c.Volts, rla: c.RLA, lra: c.LRA, farads: c.Farads, capVolts: c.CapVolts, omitted: map[string]bool{}}
	for _, id := range omitted {
		w.omitted[id] = true
	}
	return w
}

func stated(r *planner.Result) (out []string) {
	for _, o := range r.Omitted {
		out = append(out, o.Device)
	}
	return out
}

// No plan of the catalogue does harm.
func TestCataloguePlans(t *testing.T) {
	for _, u := range catalogue(t) {
		for _, indoor := range []string{"", "conventional", "digital"} {
			target := planner.DefaultTarget()
			target.Indoor = indoor
			r, err := planned(u, target)
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
			verdict, why := prove(u, r.New, dataOf(r))
			if verdict != holds {
				t.Logf("%s %s: %s: %s: %s", u.Name, indoor, verdict, ids(why), why)
				continue
			}
			h := harmful(old, reread(r.New), wantOf(dataOf(r).Compressor, stated(r)...))
			t.Logf("%s %s: %d and states, stops %v, %v", u.Name, indoor, len(old.traces), sortedKeys(old.stops), time.Since(start))
			for _, x := range h {
				t.Errorf("%s %s: %s", u.Name, indoor, x)
			}
		}
	}
}
