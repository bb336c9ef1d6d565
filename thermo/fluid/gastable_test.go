package fluid

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The table of a gas's enthalpy keeps within 1e-8 of the equation, answers nearly
// everywhere in its range, and never where there is no gas.
func TestGasTable(t *testing.T) {
	for _, name := range Names() {
		f, err := Get(name)
		if err != nil {
			t.Fatal(err)
		}
		l, err := f.lines()
		if err != nil {
			t.Fatal(err)
		}
		g := f.gas(l)
		rng := rand.New(rand.NewPCG(18, 7))
		worst, answered, asked := 0.0, 0, 0
		for range 20000 {
			p := math.Exp(g.lo + (g.hi-g.lo)*rng.Float64())
			td, err := f.satTDirect(dew, p)
			if err != nil {
				t.Fatal(err)
			}
			over := gasTop * math.Pow(rng.Float64(), 3) // more of them near the line
			if td+over > f.tmax {
				continue
			}
			asked++
			h, ok := g.enthalpy(&l[dew], td+over, p)
			if !ok {
				continue
			}
			answered++
			want, err := f.enthalpyTP(td+over, p)
			if err != nil {
				t.Fatalf("%s at %g K over, %g Pa: the table has %g, the equation %v", name, over, p, h, err)
			}
			worst = max(worst, math.Abs(h/want-1))
			if h, ok := g.enthalpy(&l[dew], td-0.01-5*rng.Float64(), p); ok {
				t.Fatalf("%s: %g J/kg told of no gas", name, h)
			}
		}
		t.Logf("%s: worst %.1e, answered %d of %d", name, worst, answered, asked)
		if worst > 1e-8 || answered < asked*98/100 {
			t.Errorf("%s: worst %.1e, answered %d of %d", name, worst, answered, asked)
		}
	}
	f, err := Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range [][2]float64{{math.NaN(), 1e6}, {300, math.NaN()}, {300, -1}, {300, 0}, {300, math.Inf(1)}, {math.Inf(1), 1e6}} {
		if h, err := f.EnthalpyTP(x[0], x[1]); err == nil {
			t.Errorf("%v: %g", x, h)
		}
	}
}
