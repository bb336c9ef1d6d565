package charge

import (
	"fmt"
	"math"
)

// Answer is how a reading answers to refrigerant added, before this unit was seen
// to answer: from a table or a model of its kind.
type Answer struct {
	Slope float64 // K/kg near the target: above 0 for subcooling, below 0 for superheat
	Rel   float64 // standard deviation of its logarithm, 0.05 to 1
	Floor float64 // K: the reading stays here until there is enough for it to move (subcooling: 0); for superheat the ceiling
	Flat  bool    // Floor counts
	Short float64 // kg: how much may be missing before the reading moves, for Flat
	// By which share of itself at the first reading the slope grows (below 0: falls)
	// over ten kelvin of answer: middle, -0.5 to 1, and its standard deviation, 0 to 0.5;
	// 0 counts as 0.3.
	Bend, Bends float64
}

// Trim is a target and what was read on the way to it.
type Trim struct {
	Target, Band float64 // K; reached from Target-Band to Target+Band
	Noise        float64 // K, standard: repeatability of one settled reading
	Answer       Answer
	Risk         float64 // that a step may go beyond the band; 0 counts as 0.01
	Most         float64 // kg in one step

	added, read []float64
}

// What the grid over this unit's answer runs through.
const (
	slopeNodes = 15
	levelNodes = 49
	wide       = 2.6 // standard deviations to either side
)

// bends are the standard deviations about an answer's bend that are tried.
var bends = [...]float64{-1.7, -0.85, 0, 0.85, 1.7}

// BySubcooling is the trim of a valve's unit towards a subcooling, K, within band;
// whole is its charge by the plate, kg. How it answers is the middle of what the model
// of thermo/cycle does near its target (TestTrimPriorFollowsTheModel), with more doubt
// than that model's machines differ among themselves, for no unit is the model.
func BySubcooling(target, band, whole float64) *Trim {
	return &Trim{Target: target, Band: band, Noise: 0.5, Most: 0.08 * whole,
		Answer: Answer{Slope: 51 / whole, Rel: 0.4, Flat: true, Short: 0.15 * whole, Bend: -0.1}}
}

// BySuperheat is the trim of a fixed bore's unit towards a superheat. It falls ever
// faster near the target, towards liquid in the suction line: hence the bend, and less
// risk in a step.
func BySuperheat(target, band, whole float64) *Trim {
	return &Trim{Target: target, Band: band, Noise: 0.5, Most: 0.08 * whole, Risk: 0.003,
		Answer: Answer{Slope: -62 / whole, Rel: 0.6, Bend: 0.5, Bends: 0.5}}
}

// Check tells what is wrong with the settings.
func (t *Trim) Check() error {
	a := t.Answer
	if !(t.Band > 0 && t.Noise > 0 && t.Most > 0 && t.Risk >= 0 && t.Risk < 0.5 && a.Slope != 0 && a.Rel >= 0.05 && a.Rel <= 1 && a.Short >= 0 && a.Bend >= -0.5 && a.Bend <= 1 && a.Bends >= 0 && a.Bends <= 0.5) || math.IsNaN(t.Target+a.Slope+a.Floor) || math.IsInf(t.Target+t.Band+t.Noise+t.Most+a.Slope+a.Floor+a.Short, 0) {
		return fmt.Errorf("charge: trim %+v; allowed band, noise and largest step above 0, a slope other than 0 known to 5 to 100 %%", *t)
	}
	return nil
}

// Read adds a settled reading, K, with the refrigerant added so far, kg (removed:
// below 0), counted from the first reading.
func (t *Trim) Read(added, reading float64) error {
	if math.IsNaN(added+reading) || math.IsInf(added+reading, 0) {
		return fmt.Errorf("charge: reading %g K at %g kg added", reading, added)
	}
	t.added, t.read = append(t.added, added), append(t.read, reading)
	return nil
}

// A Step is what to do next.
type Step struct {
	Add             float64 // kg; below 0: recover
	Done            bool    // the reading lies within the band, as surely as one can tell
	Held            bool    // no step is safe enough: read again before adding
	Before          float64 // likelihood that the band is reached already
	After           float64 // likelihood that it is reached after Add
	Beyond          float64 // likelihood that Add goes beyond it
	Expect, Expect2 float64 // K, 95 % interval of the reading after Add, noise apart
}

// one answer: how the reading goes with what was added, and how likely it is.
type answer struct{ level, slope, bend, w float64 }

// at is the reading, K, turned so that adding refrigerant raises it.
func (a answer) at(x, floor float64) float64 {
	y := a.slope * x
	if c := a.bend / 10; c != 0 {
		y = math.Expm1(math.Min(c*y, 4)) / c
	}
	return math.Max(a.level+y, floor)
}

// Next reckons the next step from all that was read: a grid over slope, bend and
// level of this unit's answer, weighed by its readings (Bayes), the amount that
// most likely ends within the band, never more than leaves the stated risk to go
// beyond. It stops where the band is reached with a likelihood of 0.9, or as
// surely as further readings of this noise could show.
func (t *Trim) Next() (Step, error) {
	if err := t.Check(); err != nil {
		return Step{}, err
	}
	if len(t.read) == 0 {
		return Step{}, fmt.Errorf("charge: nothing was read yet")
	}
	sign := math.Copysign(1, t.Answer.Slope)
	floor := math.Inf(-1)
	if t.Answer.Flat {
		floor = sign * t.Answer.Floor
	}
	target := sign * t.Target
	grid := t.weigh(sign, floor)
	if grid == nil {
		return Step{}, fmt.Errorf("charge: the %d readings fit no answer of this kind of unit: read again, and look for what else changed", len(t.read))
	}
	now := t.added[len(t.added)-1]
	chance := func(x float64) (in, beyond, under float64) {
		for _, a := range grid {
			switch y := a.at(now+x, floor); {
			case y > target+t.Band:
				beyond += a.w
			case y < target-t.Band:
				under += a.w
			default:
				in += a.w
			}
		}
		return
	}
	s := Step{}
	var beyond, under float64
	s.Before, beyond, under = chance(0)
	if off := math.Abs(t.read[len(t.read)-1] - t.Target); s.Before >= 0.9 && off <= t.Band+2*t.Noise {
		s.Done = true
		s.After = s.Before
		s.Expect, s.Expect2 = expect(grid, now, floor, sign)
		return s, nil
	}
	// A reading far from what the earlier ones lead to says that something else changed, or
	// was read or weighed wrong: nothing is added on such a word.
	lo, hi := expect(grid, now, floor, sign)
	if y := t.read[len(t.read)-1]; len(t.read) > 2 && (y < lo-2*t.Noise || y > hi+2*t.Noise) {
		s.Held, s.After, s.Expect, s.Expect2 = true, s.Before, lo, hi
		return s, nil
	}
	risk := t.Risk
	if risk == 0 {
		risk = 0.01
	}
	dir := 1.0
	if beyond > under {
		dir = -1
	}
	s.After = s.Before
	const parts = 120
	for k := 1; k <= parts; k++ {
		x := dir * t.Most * float64(k) / parts
		in, over, low := chance(x)
		if dir < 0 {
			over = low
		}
		if over > risk {
			break
		}
		// Nearer counts even while the band is still far.
		if in >= s.After {
			s.Add, s.After, s.Beyond = x, in, over
		}
	}
	s.Held = s.Add == 0
	s.Expect, s.Expect2 = expect(grid, now+s.Add, floor, sign)
	return s, nil
}

// weigh is the grid with its likelihoods; nil if no answer fits at all.
func (t *Trim) weigh(sign, floor float64) []answer {
	first := sign * t.read[0]
	lo, hi := first-3.5*t.Noise, first+3.5*t.Noise
	slope := math.Abs(t.Answer.Slope)
	if t.Answer.Flat && first < floor+3*t.Noise {
		lo = floor - slope*math.Exp(t.Answer.Rel)*t.Answer.Short
	}
	spread := t.Answer.Bends
	if spread == 0 {
		spread = 0.3
	}
	var grid []answer
	top := math.Inf(-1)
	for i := range slopeNodes {
		z := wide * (2*float64(i)/(slopeNodes-1) - 1)
		for _, zb := range bends {
			bend := math.Max(-0.7, t.Answer.Bend+zb*spread)
			for j := range levelNodes {
				level := lo + (hi-lo)*float64(j)/(levelNodes-1)
				// The slope is known near the target; where it bends it began with another.
				way := math.Max(0, sign*t.Target-math.Max(level, floor))
				a := answer{level, slope * math.Exp(z*t.Answer.Rel) / math.Max(0.3, 1+bend*way/10), bend, -z*z/2 - zb*zb/2}
				grid = append(grid, a.lagged(t, sign, floor))
				top = math.Max(top, grid[len(grid)-1].w)
			}
		}
	}
	if top < -25 || t.strays(grid, sign, floor) {
		return nil
	}
	sum := 0.0
	for i := range grid {
		grid[i].w = math.Exp(grid[i].w - top)
		sum += grid[i].w
	}
	kept := grid[:0]
	for _, a := range grid {
		if a.w /= sum; a.w > 1e-8 { // all that is left out is less than any risk asked about
			kept = append(kept, a)
		}
	}
	return kept
}

// strays tells that the newest reading lies where the likeliest answer does not put it:
// what was read before then says nothing of it.
func (t *Trim) strays(grid []answer, sign, floor float64) bool {
	best := grid[0]
	for _, a := range grid {
		if a.w > best.w {
			best = a
		}
	}
	last := len(t.read) - 1
	off := math.Abs(sign*t.read[last] - best.at(t.added[last], floor))
	for _, lag := range lags {
		shows := best.at(t.added[0], floor)
		for r := range t.read {
			still := best.at(t.added[r], floor)
			shows = still + lag*(shows-still)
		}
		off = math.Min(off, math.Abs(sign*t.read[last]-shows))
	}
	return off > stray*t.Noise
}

// stray is how many standard deviations of a reading are taken for chance.
const stray = 5

// lags are shares of a reading's way that may be left when it is read: settling is
// hardly ever waited out.
var lags = [...]float64{0, 0.07, 0.14}

// lagged weighs an answer by the readings, whatever they lag behind.
func (a answer) lagged(t *Trim, sign, floor float64) answer {
	sum := 0.0
	for _, lag := range lags {
		shows, miss := a.at(t.added[0], floor), 0.0
		for r, y := range t.read {
			still := a.at(t.added[r], floor)
			shows = still + lag*(shows-still)
			d := (sign*y - shows) / t.Noise
			miss += math.Min(d*d/2, 30) // a wild reading does not end everything
		}
		sum += math.Exp(-miss) / float64(len(lags))
	}
	a.w += math.Log(math.Max(sum, 1e-300))
	return a
}

// expect is the 95 % interval of the reading at x, in the reading's own sense.
func expect(grid []answer, x, floor, sign float64) (lo, hi float64) {
	quantile := func(q float64) float64 {
		a, b := -1e3, 1e3
		for range 40 {
			m, sum := (a+b)/2, 0.0
			for _, g := range grid {
				if g.at(x, floor) <= m {
					sum += g.w
				}
			}
			if sum < q {
				a = m
			} else {
				b = m
			}
		}
		return b
	}
	lo, hi = sign*quantile(0.025), sign*quantile(0.975)
	return math.Min(lo, hi), math.Max(lo, hi)
}
