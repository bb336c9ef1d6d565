package planner

import (
	"context"
	"fmt"
	"math"
	"slices"

	"retrostage/wiring/netlist"
)

// A Suspect is a fault that fits every reading entered.
type Suspect struct {
	Fault string `json:"fault"` // empty: the circuit as planned
	Part  string `json:"part"`
	Other string `json:"other,omitempty"`
	Words string `json:"words"`
}

// Narrow takes readings by the number of their test (ohm, volt, ampere; an open
// line as any ohms above a million) and returns the single faults, and the sound
// circuit, that fit them all within tolerance. No suspect left means more than
// one fault, or a unit that is not wired as planned.
func Narrow(ctx context.Context, r *Result, readings map[int]float64) ([]Suspect, error) {
	bk, co, row, err := take(ctx, r, readings)
	if err != nil {
		return nil, err
	}
	out := []Suspect{}
	for _, h := range bk.fitting(co, row) {
		f := co.hyps[h]
		if h == 0 {
			f.Words = "no single fault: the circuit as planned"
		}
		out = append(out, Suspect{f.ID, f.Part, f.Other, f.Words})
	}
	return out, nil
}

// A Choice is the reading to take next.
type Choice struct {
	Test     int     `json:"test"`     // its number in the list; 0: no further reading of the list is wanted
	Suspects int     `json:"suspects"` // that fit the readings so far, the circuit as planned among them
	Expected float64 `json:"expected"` // how many will be left after the reading, on the average over the suspects
	Words    string  `json:"words"`    // the same for a person
}

// Next names, given readings as Narrow takes them, the reading to take next: of
// those not yet taken the one that leaves the fewest suspects on the average,
// each suspect as likely as the other, for its effort. Dead readings come before
// live ones as long as one of them tells any suspects apart. Once no suspect is
// left that changes what the unit does, none is named. A pure function of its
// arguments; what it expects is never more than the suspects there are.
func Next(ctx context.Context, r *Result, readings map[int]float64) (Choice, error) {
	bk, co, row, err := take(ctx, r, readings)
	if err != nil {
		return Choice{}, err
	}
	sus := bk.fitting(co, row)
	best := Choice{Suspects: len(sus), Expected: float64(len(sus))}
	harmless := map[string]bool{"": true}
	for _, f := range r.Faults {
		harmless[f.ID] = f.Harmless
	}
	if len(sus) > 1 && !slices.ContainsFunc(sus, func(h int) bool { return !harmless[co.hyps[h].ID] }) {
		best.Words = fmt.Sprintf("the %d that are left change nothing in what the unit does: no further reading is wanted", len(sus))
		return best, nil
	}
	rate, dead := 0.0, false
	for i, t := range co.Tests {
		if _, taken := readings[t.N]; taken || dead && t.Meter != "ohms" {
			continue // the list has the dead readings first
		}
		left := bk.expected(co, sus, i)
		gain := (float64(len(sus)) - left) / bk.Meter.effort(t.Meter, mains(r.New, t))
		if gain > rate+1e-9 {
			rate, dead = gain, t.Meter == "ohms"
			best.Test, best.Expected = t.N, left
		}
	}
	switch t := best.Test; {
	case len(sus) == 0:
		best.Words = "no single fault fits the readings: take again those that are out"
	case t == 0 && len(sus) == 1:
		best.Words = "one is left: no further reading is wanted"
	case t == 0:
		best.Words = fmt.Sprintf("no reading of the list tells the %d that are left apart", len(sus))
	default:
		best.Words = fmt.Sprintf("reading %d: of %d that fit, about %.2g will be left", t, len(sus), best.Expected)
	}
	return best, nil
}

// expected is how many of the suspects fit on the average once test i is read,
// if each of them is as likely and its reading is as predicted.
func (bk *rulebook) expected(co *Checkout, sus []int, i int) float64 {
	n := 0
	for _, h := range sus {
		for _, g := range sus {
			if bk.fits(co.Tests[i].Meter, co.val[h][i], co.val[g][i]) {
				n++
			}
		}
	}
	return float64(n) / float64(max(1, len(sus)))
}

func (bk *rulebook) fits(meter string, got, want float64) bool {
	return math.Abs(got-want) <= bk.Meter.tolerance(meter, want)
}

// fitting lists the hypotheses that fit a row of readings, one for each test of
// the list, NaN where none was taken.
func (bk *rulebook) fitting(co *Checkout, row []float64) (out []int) {
	for h, val := range co.val {
		if !slices.ContainsFunc(co.Tests, func(t Test) bool {
			got := row[t.N-1]
			if t.Open && t.Expect > 0 {
				got = math.Min(got, t.Expect) // as predicted: more than enough is enough
			}
			return !math.IsNaN(got) && !bk.fits(t.Meter, got, val[t.N-1])
		}) {
			out = append(out, h)
		}
	}
	return out
}

// take is the rules, the check-out of a plan and its readings, by test.
func take(ctx context.Context, r *Result, readings map[int]float64) (*rulebook, *Checkout, []float64, error) {
	bk, err := book()
	if err != nil {
		return nil, nil, nil, err
	}
	co, row, err := bk.take(ctx, r, readings)
	return bk, co, row, err
}

// take checks readings and lays them out along the list, NaN where there is
// none. A list that comes from a file is given its predictions first, in a copy.
func (bk *rulebook) take(ctx context.Context, r *Result, readings map[int]float64) (*Checkout, []float64, error) {
	if r == nil || r.New == nil || r.Checkout == nil {
		return nil, nil, fmt.Errorf("no check-out list in this plan")
	}
	co := r.Checkout
	row := make([]float64, len(co.Tests))
	used := 0
	for i, t := range co.Tests {
		if t.N != i+1 {
			return nil, nil, fmt.Errorf("test %d stands in place %d of the list", t.N, i+1)
		}
		v, ok := readings[t.N]
		switch {
		case !ok:
			v = math.NaN()
		case math.IsNaN(v) || v < 0:
			return nil, nil, fmt.Errorf("reading %d is %v; a reading is 0 or more", t.N, v)
		case t.Meter == "ohms":
			v, used = min(v, 2*bk.Meter.OpenOhms), used+1
		default:
			used++
		}
		row[i] = v
	}
	if used != len(readings) {
		return nil, nil, fmt.Errorf("%d readings belong to no test of the list", len(readings)-used)
	}
	if co.val != nil {
		return co, row, nil
	}
	c, err := netlist.Compile(r.New)
	if err != nil {
		return nil, nil, err
	}
	again := *co
	again.Tests = slices.Clone(co.Tests)
	for i := range again.Tests {
		t := &again.Tests[i]
		ok := false
		if t.state, ok = StateOf(c, t.State); !ok {
			return nil, nil, fmt.Errorf("test %d: state %q does not belong to this circuit", t.N, t.State)
		}
	}
	again.hyps = append([]netlist.Fault{{}}, c.Faults()...)
	for i := range again.hyps {
		again.hyps[i].Words = inWords(r.New, again.hyps[i].Words)
	}
	if again.val, err = bk.predict(ctx, c, again.hyps, again.Tests); err != nil {
		return nil, nil, err
	}
	return &again, row, nil
}

// mains tells whether a reading is taken live on line voltage.
func mains(u *netlist.Unit, t Test) bool {
	if t.Meter != "volts" {
		return t.Meter == "amps" // candidates has no other amps
	}
	at := u.At(t.A)
	return len(at) > 0 && at[0].Class == netlist.Line
}

// StateOf finds the state of a circuit that Words words: one with a single switch
// or delay away from rest on any calls, or, of a circuit of few inputs, any.
func StateOf(c *netlist.Circuit, words string) (netlist.State, bool) {
	rest := c.Rest()
	calls := []netlist.State{0}
	for i, in := range c.Inputs {
		if in.Kind == "call" {
			for _, st := range slices.Clone(calls) {
				calls = append(calls, st|1<<i)
			}
		}
	}
	for _, k := range calls {
		for i := -1; i < len(c.Inputs); i++ {
			st := rest ^ k
			if i >= 0 {
				st ^= 1 << i
			}
			if c.Words(st) == words {
				return st, true
			}
		}
	}
	for st := range netlist.State(c.States()) {
		if len(c.Inputs) > 12 {
			break
		}
		if c.Words(st) == words {
			return st, true
		}
	}
	return 0, false
}
