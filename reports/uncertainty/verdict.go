package uncertainty

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Verdict is the answer to "is it within its limits?". Its zero value means
// that nothing was judged.
type Verdict int

// The verdicts.
const (
	NotJudged Verdict = iota
	Within
	TooClose
	Outside
)

// Judge applies the rule in the package comment to a result y with expanded
// uncertainty u >= 0 and limits lo <= hi, any of which may be infinite. It
// judges nothing when a number is not one, u is negative or lo exceeds hi.
func Judge(y, u, lo, hi float64) Verdict {
	switch {
	case bad(y) || !(u >= 0) || !(lo <= hi):
		return NotJudged
	case y-u >= lo && y+u <= hi:
		return Within
	case y+u < lo || y-u > hi:
		return Outside
	}
	return TooClose
}

// Advice says how much better one reading would have to be for a verdict.
type Advice struct {
	Input  int     // index of the reading
	Share  float64 // its part of the variance, see Result.Shares
	Have   float64 // its standard uncertainty now
	Need   float64 // the standard uncertainty it would need, all others as they are; meaningful if Enough
	Enough bool    // false: not even an exact reading would do alone
	Left   float64 // expanded uncertainty of the result with this reading at Need, or exact if not Enough
}

// Settle ranks the readings by how much a better measurement of each would
// help to call result k against lo and hi, most helpful first. Readings for
// which improvable is false (a recalled target, say) are left out; nil means
// that all can be improved. It assumes that the repeated result comes out where
// it is now, which is the best guess there is; a result that lies on a limit
// cannot be settled by any instrument and has no reading that is Enough. A
// better reading is taken to keep its correlation coefficients.
//
// The list is empty if the verdict stands already.
func (r Result) Settle(k int, lo, hi float64, improvable []bool) ([]Advice, error) {
	if k < 0 || k >= len(r.Y) {
		return nil, fmt.Errorf("uncertainty: result %d of %d", k, len(r.Y))
	}
	if improvable != nil && len(improvable) != len(r.in.X) {
		return nil, fmt.Errorf("uncertainty: %d readings, but %d marks of which can be improved", len(r.in.X), len(improvable))
	}
	if Judge(r.Y[k], r.Expanded(k), lo, hi) != TooClose {
		return nil, nil
	}
	kf := r.K(k)
	room := min(math.Abs(r.Y[k]-lo), math.Abs(hi-r.Y[k]))
	aim := room / kf * (1 - 1e-12) // a hair less, so that rounding cannot spoil the strict side of the rule
	shares := r.Shares(k)
	var out []Advice
	for i, z := range r.Z[k] {
		if z == 0 || improvable != nil && !improvable[i] {
			continue
		}
		// With reading i scaled by t the variance is z^2 t^2 + 2 z o t + rest.
		o := z * r.others(k, i)
		rest := r.U[k]*r.U[k] - z*z - 2*o
		a := Advice{Input: i, Share: shares[i], Have: r.in.U[i]}
		t := 0.0
		if d := o*o - z*z*(rest-aim*aim); d >= 0 && room > 0 {
			if t = (-o + math.Sqrt(d)) / (z * z); t >= 0 && t < 1 {
				a.Enough, a.Need = true, t*r.in.U[i]
			} else {
				t = 0
			}
		}
		a.Left = kf * math.Sqrt(max(0, z*z*t*t+2*o*t+rest))
		out = append(out, a)
	}
	slices.SortStableFunc(out, func(a, b Advice) int {
		if a.Enough != b.Enough {
			if a.Enough {
				return -1
			}
			return 1
		}
		return cmp.Compare(b.Share, a.Share)
	})
	return out, nil
}
