package choice

import (
	"fmt"
	"math"
	"slices"
)

// Cost is what an option is expected to come to. Worth is E[a(T)], the years it
// serves, those further off counting less.
type Cost struct {
	Option                 int // in the list that was compared
	Capital, Worth, Years  float64
	Energy, Refill, Upkeep float64 // a year
	PerYear                float64
	BreakEven              BreakEven
}

// BreakEven is the price of the option's part at which it would cost as much a year
// as the cheapest of the others.
type BreakEven struct {
	Price float64
	Never bool // not even if the part were free
	Alone bool // there is nothing to break even with
}

// Ranking is the options that could be compared, the cheapest a year first, and
// those that could not.
type Ranking struct {
	Costs []Cost
	Out   []int
}

// Compare finds the expected cost of every option that lacks nothing, and ranks
// them. Equal ones stay in the order in which they were given.
func Compare(options []Option, t Terms) (Ranking, error) {
	return compare(options, t, map[Life][]float64{})
}

// compare takes survival curves that were found before.
func compare(options []Option, t Terms, known map[Life][]float64) (Ranking, error) {
	if err := t.check(); err != nil {
		return Ranking{}, err
	}
	var r Ranking
	for i, o := range options {
		if len(o.Missing) > 0 {
			r.Out = append(r.Out, i)
			continue
		}
		if err := o.check(); err != nil {
			return Ranking{}, err
		}
		var curves [][]float64
		for _, l := range o.Lives {
			if known[l] == nil {
				known[l] = l.curve()
			}
			curves = append(curves, known[l])
		}
		c := Cost{Option: i, Capital: o.capital(), Energy: o.energy(t), Refill: o.refill(t), Upkeep: o.Upkeep.Mean()}
		c.Worth, c.Years = served(curves, math.Log1p(t.Discount))
		c.PerYear = c.Capital/c.Worth + c.Energy + c.Refill + c.Upkeep
		if math.IsNaN(c.PerYear) || math.IsInf(c.PerYear, 0) {
			return Ranking{}, fmt.Errorf("choice: %s: its cost per year is beyond numbers", o.Name)
		}
		r.Costs = append(r.Costs, c)
	}
	slices.SortStableFunc(r.Costs, func(a, b Cost) int {
		switch {
		case a.PerYear < b.PerYear:
			return -1
		case a.PerYear > b.PerYear:
			return 1
		}
		return 0
	})
	for i := range r.Costs {
		r.Costs[i].BreakEven = r.breakEven(i, options)
	}
	return r, nil
}

// breakEven solves PerYear = that of the best other one for the price of the part,
// in which it is linear.
func (r Ranking) breakEven(i int, options []Option) BreakEven {
	if len(r.Costs) < 2 {
		return BreakEven{Alone: true}
	}
	c, other := r.Costs[i], r.Costs[0]
	if i == 0 {
		other = r.Costs[1]
	}
	p := options[c.Option].Part.Mean() + (other.PerYear-c.PerYear)*c.Worth
	return BreakEven{Price: max(p, 0), Never: p < 0}
}
