package fluid_test

import (
	"math"
	"testing"

	"retrostage/thermo/fluid"
)

// wellFormed fails the test if a state without error holds NaN or infinity, or a
// quality outside [0,1].
func wellFormed(t *testing.T, what string, s fluid.State, err error) {
	t.Helper()
	if err != nil {
		return
	}
	for _, x := range []float64{s.T, s.P, s.Rho, s.H, s.S, s.U, s.Cp, s.Cv, s.W, s.Q} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%s: %+v", what, s)
		}
	}
	if s.Q < 0 || s.Q > 1 || s.Rho <= 0 {
		t.Fatalf("%s: %+v", what, s)
	}
}

// Any pair of float64 into every function: no panic, no hang, no NaN.
func FuzzAnyInput(f *testing.F) {
	for _, x := range []float64{0, 5e-324, 1e-300, 1e-6, 200, 300, 345, 400, 1e6, 4.9e6, 1e8, math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN()} {
		f.Add(400.0, x)
		f.Add(x, 1e5)
		f.Add(250.0, x)
		f.Add(x, x)
	}
	all := append(fluid.Names(), "R-410A/mixture", "R-407C/mixture")
	f.Fuzz(func(t *testing.T, a, b float64) {
		for _, name := range all {
			g, err := fluid.Get(name)
			if err != nil {
				t.Fatal(err)
			}
			for _, fn := range []struct {
				name string
				call func(float64, float64) (fluid.State, error)
			}{{"TP", g.TP}, {"PH", g.PH}, {"PS", g.PS}, {"TQ", g.TQ}, {"PQ", g.PQ}} {
				s, err := fn.call(a, b)
				wellFormed(t, name+" "+fn.name, s, err)
			}
			for _, fn := range []func(float64) (float64, error){g.BubbleP, g.DewP, g.BubbleT, g.DewT, g.BubbleTDirect, g.DewTDirect} {
				if x, err := fn(a); err == nil && !(x > 0 && x < math.Inf(1)) {
					t.Fatalf("%s: %g gives %g", name, a, x)
				}
			}
			for _, fn := range []func(float64) (fluid.State, error){g.Bubble, g.Dew} {
				s, err := fn(a)
				wellFormed(t, name+" saturated", s, err)
			}
		}
	})
}
