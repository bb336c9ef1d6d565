package chart

import (
	"math"
	"testing"
)

// Every bar begins where the last one ended, what is taken away goes back, and the
// total's bar ends where the terms do.
func TestStackAddsUp(t *testing.T) {
	s := Stack{Parts: []StackPart{{Name: "a", Value: 100}, {Name: "b", Value: 20, Half: 4}, {Name: "c", Value: -10, Half: 8}}, Total: StackPart{Name: "sum", Value: 110, Half: 9}}
	var ends [][2]float64
	for _, it := range s.Picture().Items {
		if a, ok := it.(Area); ok {
			ends = append(ends, [2]float64{a.Pts[0].X, a.Pts[1].X})
		}
	}
	if len(ends) != 4 {
		t.Fatalf("%d bars", len(ends))
	}
	near := func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }
	if !near(ends[1][0], ends[0][1]) || !near(ends[2][1], ends[1][1]) || !near(ends[3][1], ends[2][0]) || !near(ends[3][0], ends[0][0]) {
		t.Errorf("%v", ends)
	}
	if r := (ends[0][1] - ends[0][0]) / (ends[1][1] - ends[1][0]); !near(r, 5) {
		t.Errorf("100 is drawn %g times as long as 20", r)
	}
	for _, bad := range []Stack{{}, {Parts: []StackPart{{Value: math.NaN()}}}, {Parts: []StackPart{{Value: 1, Half: -1}}, Total: StackPart{Value: 1}}} {
		if p := bad.Picture(); !p.Empty() || p.Note == "" {
			t.Errorf("%+v is drawn", bad)
		}
	}
}
