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
