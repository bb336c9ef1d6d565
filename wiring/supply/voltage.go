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

// CheckPlateVolts holds a running voltage against the equipment: its own
// limits, or PlateRange of its ratings where limits is zero.
func (t *Tables) CheckPlateVolts(volts float64, limits Range, ratings ...float64) (Check, error) {
	if err := natural("line voltage", volts, "V"); err != nil {
		return Check{}, err
	}
	rule := t.rule("volts-plate")
	if limits != (Range{}) {
		if !(0 < limits[0] && limits[0] < limits[1]) || math.IsInf(limits[1], 1) {
			return Check{}, fmt.Errorf("stated voltage limits are %g to %g V: the first has to be above zero and below the second", limits[0], limits[1])
		}
		rule.Source, rule.Edition, rule.Confidence = "limits stated for the equipment", "", FromPlate
	} else {
		var err error
		if limits, err = t.PlateRange(ratings...); err != nil {
			return Check{}, err
		}
	}
	return between(rule, "running voltage", "V", volts, limits[0], limits[1]), nil
}

// CheckSystemVolts holds a voltage against the ranges of a supply system: at
// the equipment (utilization), or at the meter where service is true. In range
// B alone the outcome is not known: tolerated for a time.
func (t *Tables) CheckSystemVolts(volts float64, system string, service bool) (Check, error) {
	if err := natural("line voltage", volts, "V"); err != nil {
		return Check{}, err
	}
	s, err := t.SystemNamed(system)
	if err != nil {
		return Check{}, err
	}
	ranges, where := s.Utilization, "at the equipment"
	if service {
		ranges, where = s.Service, "at the meter"
	}
	a, b := ranges["A"], ranges["B"]
	c := between(t.rule("volts-range"), "voltage "+where, "V", volts, a[0], a[1])
	switch {
	case c.Outcome == Fits:
		c.Why += " (range A)"
	case volts >= b[0] && volts <= b[1]:
		c.Outcome = Unknown
		c.Why += fmt.Sprintf("; within range B (%g to %g V): tolerated for a time, to be corrected", b[0], b[1])
	default:
		c.Why += fmt.Sprintf("; outside range B (%g to %g V) too", b[0], b[1])
	}
	return c, nil
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

// CheckUnbalance holds three line voltages against the advised unbalance and
// states the derating in its reason.
func (t *Tables) CheckUnbalance(v1, v2, v3 float64) (Check, error) {
	u, err := Unbalance(v1, v2, v3)
	if err != nil {
		return Check{}, err
	}
	r := t.rule("unbalance")
	c := atMost(r, "voltage unbalance", "1", u, r.Value)
	if c.Outcome == Misfit {
		if d, err := t.Derating(u); err == nil {
			c.Why += fmt.Sprintf("; the motor may carry %.0f %% of its rated load", 100*d)
		} else {
			c.Why += "; the motor is not to be run at this unbalance"
		}
	}
	return c, nil
}
