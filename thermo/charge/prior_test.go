package charge_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"retrostage/thermo/charge"
	"retrostage/thermo/cycle"
	"retrostage/thermo/cycle/chance"
	"retrostage/thermo/fluid"
)

// What the trim takes a unit's answer for, before it was seen, is the middle of what
// the model's machines do over the last three kelvin before the target; and its doubt is
// no smaller than their spread.
func TestTrimPriorFollowsTheModel(t *testing.T) {
	f, err := fluid.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	p, err := cycle.PropsOf(f)
	if err != nil {
		t.Fatal(err)
	}
	for _, bore := range []bool{false, true} {
		rng := rand.New(rand.NewPCG(7, 7))
		var slopes []float64
		for len(slopes) < 80 {
			m, err := chance.Machine(p, bore, rng)
			if err != nil {
				continue
			}
			c, err := cycle.Weather(297+14*rng.Float64(), 297, 291, 101325)
			if err != nil {
				t.Fatal(err)
			}
			mode, want, less := cycle.BySubcooling, 4+4*rng.Float64(), -3.0
			if bore {
				mode, want, less = cycle.BySuperheat, 4+6*rng.Float64(), 3.0
			}
			at := func(x float64) (show, mass float64, ok bool) {
				s, err := m.Charged(c, mode, x, nil)
				return x, s.Charge, err == nil
			}
			_, whole, ok := at(want)
			_, short, ok2 := at(want + less)
			if !ok || !ok2 || whole <= short {
				continue
			}
			slopes = append(slopes, -less/(whole-short)*whole)
		}
		slices.Sort(slopes)
		sd := math.Abs(math.Log(slopes[67]/slopes[12])) / 2 // sixteenth and eighty-fourth of a hundred
		a := charge.BySubcooling(5, 1, 1).Answer
		if bore {
			a = charge.BySuperheat(5, 1, 1).Answer
		}
		t.Logf("bore %v: K per whole charge, middle %.0f, from %.0f to %.0f, spread of the logarithm %.2f; taken %.0f and %.2f", bore, slopes[40], slopes[0], slopes[79], sd, a.Slope, a.Rel)
		if r := slopes[40] / a.Slope; r < 0.8 || r > 1.25 || a.Rel < sd {
			t.Errorf("bore %v: not what the model does", bore)
		}
	}
}
