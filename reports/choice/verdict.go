package choice

import (
	"math"
	"slices"
)

// Guard is how many standard doubts of a lead it must exceed before it is called
// one: the one-sided 95 % point of a normal distribution. What is guarded is the
// expected cost; that one compressor may die young and another not is luck, which
// no estimate removes, and shows in the draws alone.
const Guard = 1.645

// Verdict is what may be said of a ranking.
type Verdict struct {
	First  int // option
	Leads  []Lead
	Swings []Swing // of the lead over the second

	// Recalled are the parts whose lives it rests on and nobody looked up.
	Recalled []string
}

// Lead is by how much the first option is cheaper a year than another one, and the
// standard doubt of that.
type Lead struct {
	Over      int
	By, Doubt float64
	Turns     []string // quantities that alone can turn it within their own doubt
}

// Clear tells whether the lead may be called one.
func (l Lead) Clear() bool { return l.By > Guard*l.Doubt && len(l.Turns) == 0 }

// Close are the options that cannot be told from the first.
func (v Verdict) Close() (out []int) {
	for _, l := range v.Leads {
		if !l.Clear() {
			out = append(out, l.Over)
		}
	}
	return out
}

// Judge says what may be said: which option is expected to cost least a year, and
// by how much, in doubt, it leads each of the others. ok is false where fewer than
// two options could be compared.
func Judge(options []Option, t Terms, r Ranking) (v Verdict, ok bool, err error) {
	if len(r.Costs) < 2 {
		return Verdict{}, false, nil
	}
	v.First = r.Costs[0].Option
	known := map[Life][]float64{}
	for i, c := range r.Costs[1:] {
		swings, err := tornado(options, t, v.First, c.Option, known)
		if err != nil {
			return Verdict{}, false, err
		}
		l := Lead{Over: c.Option, By: c.PerYear - r.Costs[0].PerYear}
		for _, s := range swings {
			// Half the swing is the half width of a triangle, whose standard deviation is
			// that over the root of 6 (JCGM 100, clause 4.3.9, from memory).
			l.Doubt += s.Width() * s.Width() / 24
			if s.Turns() {
				l.Turns = append(l.Turns, s.Name)
			}
		}
		l.Doubt = math.Sqrt(l.Doubt)
		v.Leads = append(v.Leads, l)
		if i == 0 {
			v.Swings = swings
		}
	}
	for _, c := range r.Costs {
		for _, l := range options[c.Option].Lives {
			if l.Recalled && !slices.Contains(v.Recalled, l.Part) {
				v.Recalled = append(v.Recalled, l.Part)
			}
		}
	}
	return v, true, nil
}
