package choice

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// Band is the middle and the ends between which nine of ten draws lie.
type Band struct{ Low, Middle, High float64 }

// Drawn is what draws tell of an option.
type Drawn struct {
	Option          int
	Capital, Years  Band
	PerYear         Band
	Cheapest        float64 // share of draws in which none was cheaper, in hindsight
	meanCapital     float64
	meanWorth       float64
	meanRunning     float64
	meanYears, sqYr float64
}

// Outcome is of n draws from one seed.
type Outcome struct {
	N       int
	Options []Drawn // those that could be compared, in the order given

	// Behind[i][j] is the share of draws in which option i of Options came to less a
	// year than option j.
	Behind [][]float64
}

// chunk is the number of draws that share a generator, so that an outcome hangs on
// the seed alone and not on how many processors drew it.
const chunk = 1000

// Simulate draws prices, lives, hours and tariffs n times, 1000 to 10 million. What
// options share (the tariff, the hours, parts of one name) is the same for all of
// them in a draw; prices are each option's own. progress, if not nil, is told the
// draws done, from any goroutine. A cancelled ctx ends it with its error.
func Simulate(ctx context.Context, options []Option, t Terms, n int, seed uint64, progress func(done int)) (Outcome, error) {
	if n < 1000 || n > 10_000_000 {
		return Outcome{}, fmt.Errorf("choice: %d draws; allowed 1000 to 10 million", n)
	}
	r, err := Compare(options, t)
	if err != nil {
		return Outcome{}, err
	}
	if len(r.Costs) == 0 {
		return Outcome{N: n}, nil
	}
	s := newDraws(options, r, t, n)
	var next, done atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (n+chunk-1)/chunk) {
		wg.Go(func() {
			for ctx.Err() == nil {
				c := int(next.Add(1)) - 1
				from, to := c*chunk, min((c+1)*chunk, n)
				if from >= n {
					return
				}
				s.draw(rand.New(rand.NewPCG(seed, uint64(c))), from, to)
				if d := done.Add(int64(to - from)); progress != nil {
					progress(int(d))
				}
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return Outcome{}, err
	}
	return s.outcome(), nil
}

// draws are the options compared and, for each, its drawn numbers.
type draws struct {
	options []Option
	index   []int
	parts   []string // distinct names, each with one number of chance a draw
	lives   []Life   // distinct lives, found once a draw
	part    []int    // the part of each
	which   [][]int  // the lives of each option
	terms   Terms
	d       float64 // continuous discount rate
	tariff  float64 // levels
	refill  []float64

	capital, worth, years, running [][]float64
}

func newDraws(options []Option, r Ranking, t Terms, n int) *draws {
	s := &draws{terms: t, d: math.Log1p(t.Discount), tariff: level(t.TariffRise, t.Discount, t.Horizon)}
	for _, c := range r.Costs {
		s.index = append(s.index, c.Option)
	}
	slices.Sort(s.index)
	for _, i := range s.index {
		o := options[i]
		s.options = append(s.options, o)
		s.refill = append(s.refill, level(o.Refrigerant.Rise, t.Discount, t.Horizon))
		var w []int
		for _, l := range o.Lives {
			k := slices.Index(s.lives, l)
			if k < 0 {
				k = len(s.lives)
				s.lives = append(s.lives, l)
				p := slices.Index(s.parts, l.Part)
				if p < 0 {
					p = len(s.parts)
					s.parts = append(s.parts, l.Part)
				}
				s.part = append(s.part, p)
			}
			w = append(w, k)
		}
		s.which = append(s.which, w)
		s.capital = append(s.capital, make([]float64, n))
		s.worth = append(s.worth, make([]float64, n))
		s.years = append(s.years, make([]float64, n))
		s.running = append(s.running, make([]float64, n))
	}
	return s
}

func (s *draws) draw(rng *rand.Rand, from, to int) {
	u, v := make([]float64, len(s.parts)), make([]float64, len(s.parts))
	years := make([]float64, len(s.lives))
	pick := func(x Spread) float64 {
		if !x.wide() {
			return x.Low
		}
		return x.At(rng.Float64())
	}
	for k := from; k < to; k++ {
		for i := range u {
			u[i], v[i] = rng.Float64(), rng.Float64()
		}
		for i := range s.lives {
			years[i] = s.lives[i].drawn(u[s.part[i]], v[s.part[i]])
		}
		kwh := pick(s.terms.Tariff) * pick(s.terms.Hours) * s.tariff
		for j := range s.options {
			o := &s.options[j]
			life := Longest
			for _, i := range s.which[j] {
				life = min(life, years[i])
			}
			perKg := pick(o.Refrigerant.PerKg)
			s.capital[j][k] = pick(o.Part) + pick(o.Labour) + pick(o.Other) + pick(o.Disposal) + perKg*pick(o.Refrigerant.Kg)
			s.years[j][k], s.worth[j][k] = life, annuity(life, s.d)
			s.running[j][k] = pick(o.Energy)*kwh + perKg*pick(o.Refrigerant.Leak)*s.refill[j] + pick(o.Upkeep)
		}
	}
}

func (s *draws) outcome() Outcome {
	n, m := len(s.capital[0]), len(s.options)
	out := Outcome{N: n, Options: make([]Drawn, m), Behind: make([][]float64, m)}
	per := make([][]float64, m)
	var wg sync.WaitGroup
	for j := range m {
		wg.Go(func() {
			d := &out.Options[j]
			d.Option = s.index[j]
			per[j] = make([]float64, n)
			for k := range n {
				// A life drawn as nothing counts as a day, or there were no number to sort by.
				per[j][k] = s.capital[j][k]/max(s.worth[j][k], 1/365.0) + s.running[j][k]
				d.meanCapital += s.capital[j][k] / float64(n)
				d.meanWorth += s.worth[j][k] / float64(n)
				d.meanRunning += s.running[j][k] / float64(n)
				d.meanYears += s.years[j][k] / float64(n)
				d.sqYr += s.years[j][k] * s.years[j][k] / float64(n)
			}
		})
	}
	wg.Wait()
	s.count(per, &out)
	for j := range m {
		wg.Go(func() {
			d := &out.Options[j]
			d.Capital, d.Years, d.PerYear = band(s.capital[j]), band(s.years[j]), band(per[j])
		})
	}
	wg.Wait()
	return out
}

// count finds how often which option came to less than which.
func (s *draws) count(per [][]float64, out *Outcome) {
	n, m := len(per[0]), len(per)
	best, less := make([]int, m), make([]int, m*m)
	for k := range n {
		b := 0
		for j := range m {
			if per[j][k] < per[b][k] {
				b = j
			}
			for i := range m {
				if per[i][k] < per[j][k] {
					less[i*m+j]++
				}
			}
		}
		best[b]++
	}
	for i := range m {
		out.Options[i].Cheapest = float64(best[i]) / float64(n)
		out.Behind[i] = make([]float64, m)
		for j := range m {
			out.Behind[i][j] = float64(less[i*m+j]) / float64(n)
		}
	}
}

// band reorders x.
func band(x []float64) Band {
	at := func(p float64) float64 { return nth(x, min(int(p*float64(len(x))), len(x)-1)) }
	return Band{at(0.05), at(0.5), at(0.95)}
}

// nth is the k-th smallest of x, by partition (Hoare's selection), which reorders x.
func nth(x []float64, k int) float64 {
	for lo, hi := 0, len(x)-1; lo < hi; {
		p, i, j := x[(lo+hi)/2], lo, hi
		for i <= j {
			for x[i] < p {
				i++
			}
			for x[j] > p {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return x[k]
		}
	}
	return x[k]
}
