package supply

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Part is a run capacitor in stock.
type Part struct {
	Farads    float64
	Volts     float64
	Tolerance float64 // fraction either way; 0 means the rule's
	Count     int     // how many there are; 0 means one
}

// Combination is a set of parts wired in parallel.
type Combination struct {
	Parts     []int   // indices into the stock, one for each part used
	Farads    float64 // sum of the marks
	Low, High float64 // the sum at the parts' worst case, F
	Volts     float64 // the lowest rating among them
}

// MaxParallel is how many capacitors Combine puts together: more find no room
// in a unit's control box.
const MaxParallel = 3

// Combine finds the sets of up to three parts in parallel whose marks add up to
// needed, F, within within (a fraction; 0 means the rule's for a matching
// capacitor) and whose every part is rated for volts, V, or more. The nearest
// comes first, of equals the one with fewer parts. None found is no error.
func (t *Tables) Combine(stock []Part, needed, volts, within float64) ([]Combination, error) {
	if err := positive("capacitance needed", needed, "F"); err != nil {
		return nil, err
	}
	if err := natural("voltage needed", volts, "V"); err != nil {
		return nil, err
	}
	if err := in("distance from the capacitance needed", within, "1", 0, 0.5); err != nil {
		return nil, err
	}
	if len(stock) > 100 {
		return nil, fmt.Errorf("stock of %d kinds: allowed are up to 100", len(stock))
	}
	if within == 0 {
		within = t.rule("cap-match").Value
	}
	for i, p := range stock {
		if err := in(fmt.Sprintf("part %d", i+1), p.Farads, "F", 1e-9, 1); err != nil {
			return nil, err
		}
		if err := natural(fmt.Sprintf("voltage of part %d", i+1), p.Volts, "V"); err != nil {
			return nil, err
		}
		if err := in(fmt.Sprintf("tolerance of part %d", i+1), p.Tolerance, "1", 0, 0.5); err != nil {
			return nil, err
		}
		if p.Count < 0 {
			return nil, fmt.Errorf("part %d: %d in stock", i+1, p.Count)
		}
	}
	var found []Combination
	var add func(from int, c Combination)
	add = func(from int, c Combination) {
		if len(c.Parts) > 0 && math.Abs(c.Farads-needed) <= within*needed*(1+1e-9) {
			found = append(found, c)
		}
		if len(c.Parts) == MaxParallel {
			return
		}
		for i := from; i < len(stock); i++ {
			p := stock[i]
			used := 0
			for _, j := range c.Parts {
				if j == i {
					used++
				}
			}
			if p.Volts < volts || used >= max(p.Count, 1) {
				continue
			}
			tol := p.Tolerance
			if tol == 0 {
				tol = t.rule("cap-class").Value
			}
			next := Combination{Parts: append(slices.Clone(c.Parts), i), Farads: c.Farads + p.Farads,
				Low: c.Low + p.Farads*(1-tol), High: c.High + p.Farads*(1+tol), Volts: p.Volts}
			if len(c.Parts) > 0 {
				next.Volts = math.Min(c.Volts, p.Volts)
			}
			add(i, next)
		}
	}
	add(0, Combination{})
	// Distances are compared in parts per million of the value, so that sums
	// that differ by rounding alone count as equal.
	far := func(c Combination) float64 { return math.Round(1e6 * math.Abs(c.Farads-needed) / needed) }
	slices.SortStableFunc(found, func(a, b Combination) int {
		if c := cmp.Compare(far(a), far(b)); c != 0 {
			return c
		}
		return cmp.Compare(len(a.Parts), len(b.Parts))
	})
	return found, nil
}
