package plan

import (
	"context"

	"retrostage/reports/record"
	"retrostage/wiring/planner"
)

// A Taken is one reading of the check-out as entered.
type Taken struct {
	N     int     // of the test
	Value float64 // ohm, V or A
	Fits  bool    // within tolerance of what the circuit as planned reads
}

// openOhms stands for an open line, above what any meter shows.
const openOhms = 1e12

// TestKey is the field of the record that keeps the reading of a test.
func TestKey(t planner.Test) record.Key { return record.MeterKey(t.Meter, t.A, t.B, t.State) }

// Readings are the check-out readings of j that belong to the list c. A reading
// taken for another plan stays in the record and waits for its test.
func Readings(j *record.Job, c *planner.Checkout) []Taken {
	var out []Taken
	if c == nil {
		return nil
	}
	for _, t := range c.Tests {
		k := TestKey(t)
		x, ok := j.SI(k, 0)
		if j.Text(k) == record.OpenLine {
			x, ok = openOhms, true
		}
		if !ok {
			continue
		}
		out = append(out, Taken{t.N, x, fits(t, x)})
	}
	return out
}

// Suspects are the single faults, and the circuit as planned, that fit every
// reading: see planner.Narrow.
func Suspects(ctx context.Context, r *planner.Result, taken []Taken) ([]planner.Suspect, error) {
	m := map[int]float64{}
	for _, t := range taken {
		m[t.N] = t.Value
	}
	return planner.Narrow(ctx, r, m)
}
