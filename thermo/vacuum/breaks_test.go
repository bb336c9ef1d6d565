package vacuum

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// By hand: 1/500 left by each of two breaks is four parts in a million; moles are
// counted in a circuit that is filled and emptied step by step.
func TestThinned(t *testing.T) {
	if s, err := Thinned([]float64{200, 200}, []float64{1e5, 1e5}); err != nil || math.Abs(s-4e-6) > 1e-18 {
		t.Errorf("%g %v", s, err)
	}
	for _, c := range []struct{ low, broken []float64 }{
		{nil, nil}, {[]float64{200}, nil}, {[]float64{0}, []float64{1e5}}, {[]float64{200}, []float64{100}}, {[]float64{6e4}, []float64{1e5}},
		{[]float64{math.NaN()}, []float64{1e5}}, {[]float64{200}, []float64{math.NaN()}}, {[]float64{200}, []float64{6e6}}, {make([]float64, 21), make([]float64, 21)},
	} {
		if s, err := Thinned(c.low, c.broken); err == nil {
			t.Errorf("%v to %v: %g", c.low, c.broken, s)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "n")
		var low, broken []float64
		old, all := 1.0, 1.0
		for range n {
			l := rapid.Float64Range(1, 4e4).Draw(t, "low")
			b := rapid.Float64Range(5e4, 3e6).Draw(t, "break")
			low, broken = append(low, l), append(broken, b)
			old, all = old*l/all, b // the pump takes of both alike, nitrogen fills up
		}
		s, err := Thinned(low, broken)
		if err != nil || math.Abs(s-old/all) > 1e-12*s {
			t.Fatalf("%v %v: %g, %g %v", low, broken, s, old/all, err)
		}
		more, _ := Thinned(append(low, 100), append(broken, 1e5))
		if more >= s {
			t.Fatal("another break leaves no less")
		}
	})
}
