package series

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// Valved says where in a log of a vacuum the pump was valved off.
type Valved int

// The ways. Lowest: at the last of the lowest readings.
const (
	ValvedLowest Valved = iota
	ValvedBefore        // before it begins: the log is the isolated vacuum alone
	ValvedNever         // the log is the pull-down alone
)

// maxVacuumLines is how many readings of each part are kept: the judgement condenses
// to fewer, and a person can still read them.
const maxVacuumLines = 240

// Vacuum is what a log of a vacuum holds, as the fields of the record have it: lines of
// minutes and microns, each part from its own start.
type Vacuum struct {
	Pull, Rise string  // "" where the log has none
	Off, End   float64 // micron: when the pump was valved off, and at the end of the rise
	Pumped     float64 // min of pull-down
	Held       float64 // min of rise
	Lines      [2]int  // kept of each
}

// fewest readings that a part is worth keeping for.
const (
	leastPull = 6
	leastRise = 3
)

// ReadVacuum reads the column k of a log, in a unit of vacuum, and parts it where the
// pump was valved off.
func ReadVacuum(b []byte, l Layout, k int, unit string, at Valved) (v Vacuum, err error) {
	s, _, err := Keep(b, l, "vacuum", []Use{{Column: k, Key: record.VacuumFinal, Unit: unit}})
	if err != nil {
		return v, err
	}
	from, err := units.Lookup(units.Vacuum, unit)
	if err != nil {
		return v, err
	}
	micron, err := units.Lookup(units.Vacuum, "micron")
	if err != nil {
		return v, err
	}
	t, p := s.Seconds, make([]float64, len(s.Seconds))
	for i, x := range s.Columns[0].Values {
		p[i] = micron.FromSI(from.ToSI(x, 0), 0)
	}
	for i := 1; i < len(t); i++ {
		if !(t[i] > t[i-1]) {
			return v, fmt.Errorf("time stands still or goes back after line %d of the readings: a vacuum cannot be told from it", i)
		}
	}
	cut := valvedAt(p, at)
	if n := cut + 1; n >= leastPull {
		v.Pull, v.Lines[0] = vacuumLines(t[:n], p[:n])
		v.Pumped = (t[cut] - t[0]) / 60
	}
	if cut >= 0 && len(p)-cut >= leastRise {
		v.Rise, v.Lines[1] = vacuumLines(t[cut:], p[cut:])
		v.Off, v.End, v.Held = p[cut], p[len(p)-1], (t[len(t)-1]-t[cut])/60
	} else if cut < 0 && len(p) >= leastRise {
		v.Rise, v.Lines[1] = vacuumLines(t, p)
		v.Off, v.End, v.Held = p[0], p[len(p)-1], (t[len(t)-1]-t[0])/60
	}
	if v.Pull == "" && v.Rise == "" {
		return v, fmt.Errorf("%d readings: too few for a pull-down (%d) or a rise (%d)", len(p), leastPull, leastRise)
	}
	return v, nil
}

// valvedAt is the reading at which the pump was valved off; -1: before the first.
func valvedAt(p []float64, at Valved) int {
	switch at {
	case ValvedBefore:
		return -1
	case ValvedNever:
		return len(p) - 1
	}
	low := 0
	for i := range p {
		if p[i] <= p[low] {
			low = i
		}
	}
	return low
}

// vacuumLines writes readings from the first on, evenly thinned, the last always kept.
func vacuumLines(t, p []float64) (text string, n int) {
	step := math.Max(1, math.Ceil(float64(len(t))/maxVacuumLines))
	var out []string
	for i := range t {
		if i%int(step) == 0 || i == len(t)-1 {
			out = append(out, strconv.FormatFloat((t[i]-t[0])/60, 'f', 3, 64)+" "+strconv.FormatFloat(p[i], 'g', 6, 64))
		}
	}
	return strings.Join(out, "\n"), len(out)
}
