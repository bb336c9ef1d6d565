package planner

import (
	"context"
	"math"
	"slices"
)

// Mute names, given readings as Narrow takes them, those that tell nothing: as read, each
// fits the circuit as planned and every single fault besides, though as predicted it would
// tell one. A reading that is on the list for conductors landed astray tells those.
func Mute(ctx context.Context, r *Result, readings map[int]float64) ([]int, error) {
	bk, co, row, err := take(ctx, r, readings)
	if err != nil {
		return nil, err
	}
	var out []int
	for _, t := range co.Tests {
		got := row[t.N-1]
		if math.IsNaN(got) {
			continue
		}
		if t.Open && t.Expect > 0 {
			got = math.Min(got, t.Expect)
		}
		tells := func(got float64) bool {
			return slices.ContainsFunc(co.val, func(val []float64) bool { return !bk.fits(t.Meter, got, val[t.N-1]) })
		}
		if !tells(got) && (t.Role != "find" || tells(co.val[0][t.N-1])) {
			out = append(out, t.N)
		}
	}
	return out, nil
}
