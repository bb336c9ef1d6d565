package cause

import (
	"cmp"
	"math"
	"slices"
)

// Ranked is a kind with its probability among all and what speaks for and against.
type Ranked struct {
	Kind         Kind
	P            float64
	For, Against []Weight
}

// Weight is how much commoner an observation is with a kind than with the others
// together, as the natural logarithm of that ratio; below 0 it is rarer.
type Weight struct {
	Found Found
	Log   float64
}

// Call is what may be said of the compressor.
type Call int

// The calls.
const (
	CannotTell Call = iota
	Dead
	NotDead
)

var callWords = [...]string{"cannot tell yet", "the compressor has failed", "this compressor is not dead"}

// String is the call in words.
func (c Call) String() string { return callWords[c] }

// Examination is what the evidence comes to.
type Examination struct {
	Ranking []Ranked // most likely first
	Found   []Found
	NotDone []Observation
	Call    Call
	Why     []string // what the call rests on, or what it lacks
	Next    []Test   // most told per minute first
	Grade   Grade
	Follows []Consequence
	Roots   []Root
}

// First is the most likely kind.
func (x Examination) First() Ranked { return x.Ranking[0] }

// Named tells whether the first kind may be named alone: nine chances of ten, a
// choice of this program.
func (x Examination) Named() bool { return x.Ranking[0].P >= namedAt }

const (
	namedAt = 0.9
	deadAt  = 0.98 // that there is a fault in the compressor at all
	soundAt = 0.9
)

// Examine ranks the kinds by the evidence and says what may be said.
func Examine(e Evidence) (Examination, error) {
	t, err := load()
	if err != nil {
		return Examination{}, err
	}
	found, err := Observe(e)
	if err != nil {
		return Examination{}, err
	}
	p := posterior(t.Prior, found)
	x := Examination{Found: found}
	for k := range kinds {
		r := Ranked{Kind: k, P: p[k]}
		for _, f := range found {
			w := Weight{f, weight(k, p, f)}
			switch {
			case w.Log > telling:
				r.For = append(r.For, w)
			case w.Log < -telling:
				r.Against = append(r.Against, w)
			}
		}
		strongest := func(a, b Weight) int { return cmp.Compare(math.Abs(b.Log), math.Abs(a.Log)) }
		slices.SortStableFunc(r.For, strongest)
		slices.SortStableFunc(r.Against, strongest)
		x.Ranking = append(x.Ranking, r)
	}
	slices.SortStableFunc(x.Ranking, func(a, b Ranked) int { return cmp.Compare(b.P, a.P) })
	for _, o := range t.Observations {
		if !slices.ContainsFunc(found, func(f Found) bool { return f.Observation.Key == o.Key }) {
			x.NotDone = append(x.NotDone, o)
		}
	}
	x.Call, x.Why = call(e, x)
	x.Next = e.next(p, x)
	x.Grade = e.Grade()
	x.Follows = follows(e, x)
	x.Roots = roots(e, x)
	return x, nil
}

// telling is the least logarithm that is shown: a ratio of 1.5.
var telling = math.Log(1.5)

func posterior(prior [kinds]float64, found []Found) [kinds]float64 {
	sum := 0.0
	for k := range prior {
		for _, f := range found {
			prior[k] *= f.Category.P[k]
		}
		sum += prior[k]
	}
	for k := range prior {
		prior[k] /= sum
	}
	return prior
}

// weight compares kind k with the others in the proportions that the rest of the
// evidence leaves them.
func weight(k Kind, p [kinds]float64, f Found) float64 {
	others, weights := 0.0, 0.0
	for j := range kinds {
		if j != k {
			w := p[j] / f.Category.P[j] // without f itself
			others += w * f.Category.P[j]
			weights += w
		}
	}
	if weights == 0 {
		return 0
	}
	return math.Log(f.Category.P[k] / (others / weights))
}

func (x Examination) key(observation string) string {
	for _, f := range x.Found {
		if f.Observation.Key == observation {
			return f.Category.Key
		}
	}
	return ""
}

func (x Examination) p(k Kind) float64 {
	for _, r := range x.Ranking {
		if r.Kind == k {
			return r.P
		}
	}
	return 0
}
