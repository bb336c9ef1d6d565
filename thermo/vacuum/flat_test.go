package vacuum

import (
	"math/rand/v2"
	"testing"
)

// Circuits that are isolated come up, hardly any excepted; one that a pump still holds at
// its floor does not, in about half of the trials even where the gauge scatters as it
// likes, and always where it does not.
func TestFlat(t *testing.T) {
	flat, tight := 0, 0
	for seed := uint64(90000); seed < 90600; seed++ {
		w := draw(seed)
		ts, ps := w.run(1200)
		yes := Flat(ts, ps)
		if w.kind == Tight {
			tight++
			if yes {
				flat++
			}
		} else if yes {
			t.Errorf("world %d, %d: a rise that matters is flat", seed, w.kind)
		}
	}
	t.Logf("of %d tight worlds %d are flat", tight, flat)
	if flat*50 > tight {
		t.Errorf("of %d tight worlds %d are flat", tight, flat)
	}
	r, found := rand.New(rand.NewPCG(4, 4)), 0
	for range 200 {
		var ts, ps []float64
		for m := 0.0; m <= 20; m++ {
			ts, ps = append(ts, 60*m), append(ps, 16+0.1*r.NormFloat64())
		}
		if Flat(ts, ps) {
			found++
		}
	}
	if found < 100 {
		t.Errorf("a pump at its floor is found in %d of 200", found)
	}
	if Flat(nil, nil) || Flat([]float64{0, 60}, []float64{1}) || Flat([]float64{0, 60}, []float64{5, 5}) {
		t.Error("flat without readings")
	}
}

// A pump that still holds the circuit, its gauge drifting upward, looks like a small
// rise: within the drift it is told as that, beyond it is not. Circuits that are
// isolated hardly ever come up so little.
func TestDrifts(t *testing.T) {
	of := func(rise float64) (ts, ps []float64) {
		for m := 0.0; m <= 20; m++ {
			ts, ps = append(ts, 60*m), append(ps, 40*(1+rise*m/20))
		}
		return ts, ps
	}
	for _, c := range []struct {
		rise float64
		want bool
	}{{0, true}, {0.03, true}, {0.12, true}, {0.25, true}, {0.5, false}, {1, false}, {-0.1, true}} {
		ts, ps := of(c.rise)
		if got := Drifts(ts, ps, 0.25); got != c.want {
			t.Errorf("a rise of %g: %v", c.rise, got)
		}
	}
	if Drifts(nil, nil, 0.25) || Drifts([]float64{0}, []float64{1, 2}, 0.25) {
		t.Error("drift without readings")
	}
	held, tight := 0, 0
	for seed := uint64(90000); seed < 90600; seed++ {
		if w := draw(seed); w.kind == Tight {
			tight++
			if ts, ps := w.run(1200); Drifts(ts, ps, 0.25) {
				held++
			}
		}
	}
	t.Logf("of %d tight worlds %d would be asked about the pump", tight, held)
	if held*50 > tight {
		t.Errorf("of %d tight worlds %d would be asked about the pump", tight, held)
	}
}
