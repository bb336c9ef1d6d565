package supply

import (
	"fmt"
	"math"
)

// SystemNamed returns the supply system called name.
func (t *Tables) SystemNamed(name string) (System, error) {
	var known []string
	for _, s := range t.Voltage.Systems {
		if s.Name == name {
			return s, nil
		}
		known = append(known, s.Name)
	}
	return System{}, fmt.Errorf("supply system %q: known are %q", name, known)
}

// PlateRange is the running voltage that equipment with the given ratings
// accepts when it states no limits, V: 10 % below the lowest rating to 10 %
// above the highest (230 gives 207 to 253; 208/230 gives 187.2 to 253).
func (t *Tables) PlateRange(ratings ...float64) (Range, error) {
	if len(ratings) == 0 {
		return Range{}, fmt.Errorf("rated voltage: none given")
	}
	lo, hi := math.Inf(1), 0.0
	for _, v := range ratings {
		if err := in("rated voltage", v, "V", 1, 1000); err != nil {
			return Range{}, err
		}
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	d := t.rule("volts-plate").Value
	return Range{lo * (1 - d), hi * (1 + d)}, nil
}

// Unbalance is the largest deviation from the average of three line voltages
// over that average, a fraction (NEMA MG 1).
func Unbalance(v1, v2, v3 float64) (float64, error) {
	for i, v := range []float64{v1, v2, v3} {
		if err := in(fmt.Sprintf("line voltage %d", i+1), v, "V", 1, 1e6); err != nil {
			return 0, err
		}
	}
	avg := (v1 + v2 + v3) / 3
	return math.Max(math.Abs(v1-avg), math.Max(math.Abs(v2-avg), math.Abs(v3-avg))) / avg, nil
}

// Derating is the fraction of rated load that a three-phase motor may carry at
// a voltage unbalance (a fraction); the curve ends at 5 %, above which the
// motor is not to be run.
func (t *Tables) Derating(unbalance float64) (float64, error) {
	p := t.Unbalance.Points
	if err := in("voltage unbalance", unbalance, "1", 0, p[len(p)-1][0]); err != nil {
		return 0, err
	}
	for i := 1; i < len(p); i++ {
		if unbalance <= p[i][0] {
			f := (unbalance - p[i-1][0]) / (p[i][0] - p[i-1][0])
			return p[i-1][1] + f*(p[i][1]-p[i-1][1]), nil
		}
	}
	return p[len(p)-1][1], nil
}
