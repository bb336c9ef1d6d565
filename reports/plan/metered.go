package plan

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"retrostage/reports/record"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
)

// Metered is one check-out reading of a record, beside what the circuit as
// planned reads there. Unlike Readings it needs no check-out list, which takes
// a second to make: what paper shows, in milliseconds.
type Metered struct {
	Key       record.Key
	Test      planner.Test // number, leads, state, expected reading, tolerance
	Value     float64      // as read: ohm, V or A; 1e12 for an open line
	Fits      bool         // within tolerance
	Elsewhere bool         // the circuit as planned has no such place or state
}

// Edge widens a tolerance by rounding, so that a reading on its very edge is
// judged alike here and in a spreadsheet program.
const Edge = 1 + 1e-9

// fits tells whether a reading is within tolerance of what a test expects.
func fits(t planner.Test, x float64) bool {
	if t.Open {
		x = math.Min(x, t.Expect) // an open line is an open line
	}
	return math.Abs(x-t.Expect) <= t.Tolerance*Edge
}

// Meter holds every check-out reading of j against the circuit as planned, in
// the order in which they were first entered, and names the single faults that
// fit them all if one of them is out of tolerance. No suspect then means more
// than one fault, or a unit that is not wired as planned.
func Meter(ctx context.Context, j *record.Job, p *Plan) ([]Metered, []planner.Suspect, error) {
	ms := metered(j)
	if len(ms) == 0 {
		return nil, nil, nil
	}
	if p.New == nil {
		for i := range ms {
			ms[i].Elsewhere = true
		}
		return ms, nil, nil
	}
	c, err := netlist.Compile(p.New)
	if err != nil {
		return nil, nil, err
	}
	if err := expect(c, ms); err != nil {
		return nil, nil, err
	}
	list, taken, out := &planner.Checkout{}, []Taken(nil), false
	for _, m := range ms {
		if m.Elsewhere {
			continue
		}
		list.Tests = append(list.Tests, m.Test)
		taken = append(taken, Taken{m.Test.N, m.Value, m.Fits})
		out = out || !m.Fits
	}
	if !out {
		return ms, nil, nil
	}
	ss, err := Suspects(ctx, &planner.Result{New: p.New, Checkout: list}, taken)
	return ms, ss, err
}

// metered lists the check-out readings of j that hold a value.
func metered(j *record.Job) (ms []Metered) {
	seen := map[record.Key]bool{}
	for _, e := range j.Entries {
		at := strings.SplitN(e.Key.String(), "/", 5)
		if len(at) != 5 || seen[e.Key] || record.MeterKey(at[1], at[2], at[3], at[4]) != e.Key {
			continue
		}
		seen[e.Key] = true
		x, have := j.SI(e.Key, 0)
		if j.Text(e.Key) == record.OpenLine {
			x, have = openOhms, true
		}
		if have {
			ms = append(ms, Metered{Key: e.Key, Value: x, Test: planner.Test{N: len(ms) + 1, Meter: at[1], A: at[2], B: at[3], State: at[4]}})
		}
	}
	return ms
}

// expect fills in what the sound circuit reads.
func expect(c *netlist.Circuit, ms []Metered) error {
	s := c.NewSolver()
	for i := range ms {
		m := &ms[i]
		st, ok := planner.StateOf(c, m.Test.State)
		if !ok {
			m.Elsewhere = true
			continue
		}
		v, err := reads(s, st, m.Test)
		if errors.Is(err, netlist.ErrUnknown) {
			m.Elsewhere = true
			continue
		} else if err != nil {
			return fmt.Errorf("%s: %w", m.Key, err)
		}
		if m.Test.Meter == "ohms" && st != c.Rest() {
			least, err := planner.Least(c, st, m.Test.A, m.Test.B)
			if err != nil {
				return err
			}
			if m.Elsewhere = least == 0; m.Elsewhere {
				continue
			}
			err = m.Test.ExpectingAcross(least)
			if err != nil {
				return err
			}
		} else if err := m.Test.Expecting(v); err != nil {
			return err
		}
		m.Fits = fits(m.Test, m.Value)
	}
	return nil
}

func reads(s *netlist.Solver, st netlist.State, t planner.Test) (float64, error) {
	if t.Meter == "ohms" {
		return s.Ohms(st, t.A, t.B)
	}
	x, err := s.Solve(st)
	if err != nil {
		return 0, err
	}
	if t.Meter == "amps" {
		return x.Amps(t.A)
	}
	return x.Reader().Volts(t.A, t.B)
}

// Where says in words where the leads go, on the unit as planned.
func (m Metered) Where(u *netlist.Unit) string {
	words := map[string]string{"ohms": "Ohms", "volts": "Volts", "amps": "Amps"}[m.Test.Meter] + ": "
	if u == nil {
		return strings.TrimSpace(words + m.Test.A + " " + m.Test.B)
	}
	return words + planner.Between(u, m.Test.A, m.Test.B)
}
