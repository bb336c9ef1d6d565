package match

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Rank judges all candidates: those without a misfit first, of these the ones with the
// fewest open questions, of these the one nearest the old high stage; those with
// misfits last, fewest first. One that cannot be judged stands at the end with why.
func Rank(u Unit, cs []Candidate) ([]Judged, error) {
	if err := u.check(); err != nil {
		return nil, err
	}
	var out []Judged
	for _, c := range cs {
		j, err := Judge(u, c)
		if err != nil {
			j = Judged{Candidate: c, Reasons: []Reason{{"data", Misfit, err.Error(), "", "Put its data right."}}}
		}
		out = append(out, j)
	}
	off := func(j Judged) float64 {
		if j.Balance == nil {
			return math.Inf(1)
		}
		return math.Abs(j.Balance.Design.Cooling/j.Balance.OldHigh.Cooling - 0.95)
	}
	slices.SortStableFunc(out, func(a, b Judged) int {
		return cmp.Or(cmp.Compare(a.Misfits(), b.Misfits()), cmp.Compare(a.Opens(), b.Opens()), cmp.Compare(off(a), off(b)))
	})
	return out, nil
}

// Says is one line on a candidate.
func (j Judged) Says() string {
	switch m, o := j.Misfits(), j.Opens(); {
	case m > 0:
		return fmt.Sprintf("does not fit: %s", j.first(Misfit))
	case o > 0:
		return fmt.Sprintf("no misfit found, %d not known: %s", o, j.first(Open))
	}
	return "fits in everything that was asked"
}

func (j Judged) first(v Verdict) string {
	for _, r := range j.Reasons {
		if r.Verdict == v {
			return r.Topic + ", " + r.Words
		}
	}
	return ""
}
