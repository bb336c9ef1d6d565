package supply

import (
	"errors"
	"fmt"
	"math"
)

// InsulationAt brings an insulation resistance r, ohm, from a winding
// temperature to another, K: it halves for each 10 C (IEEE 43-2013, the
// approximate factor; the reference there is 40 C). Range: 250 to 400 K.
func (t *Tables) InsulationAt(r, from, to float64) (float64, error) {
	if err := natural("insulation resistance", r, "ohm"); err != nil {
		return 0, err
	}
	for _, k := range []float64{from, to} {
		if err := in("winding temperature", k, "K", 250, 400); err != nil {
			return 0, err
		}
	}
	return finite("insulation resistance", r*math.Exp2(-(to-from)/t.rule("insulation-temperature").Value))
}

// InsulationReference is the temperature at which insulation is compared, K
// (40 C).
const InsulationReference = 313.15

// Insulation is a reading from the windings to the case. Zero fields other
// than Ohms are not known.
type Insulation struct {
	Ohms        float64
	TestVolts   float64 // V, direct current
	Temperature float64 // of the winding, K
	Profile     string  // which advice; "" means "hermetic"
}

// CheckInsulation holds the reading against an advice of the tables. The top
// band fits, the lowest does not, those between are for a further look and
// come out as not known; the check's reason has the band's word. Where the
// advice is for 40 C and the temperature is not known, nothing is judged.
func (t *Tables) CheckInsulation(i Insulation) (Check, error) {
	if err := natural("insulation resistance", i.Ohms, "ohm"); err != nil {
		return Check{}, err
	}
	if err := in("insulation test voltage", i.TestVolts, "V", 0, 5000); err != nil {
		return Check{}, err
	}
	if i.Profile == "" {
		i.Profile = "hermetic"
	}
	var p Profile
	var known []string
	for _, q := range t.Insulation.Profiles {
		known = append(known, q.Name)
		if q.Name == i.Profile {
			p = q
		}
	}
	if p.Name == "" {
		return Check{}, fmt.Errorf("insulation advice %q: known are %q", i.Profile, known)
	}
	rule := t.rule("insulation")
	rule.Source, rule.Edition, rule.Confidence = p.Source, "", p.Confidence
	r, at := i.Ohms, "as read"
	if p.Corrected {
		if i.Temperature == 0 {
			c := unknown(rule, "insulation to the case", "ohm", "the advice is for 40 C and the winding's temperature is not known")
			c.Measured, c.Value = true, r
			return c, nil
		}
		var err error
		if r, err = t.InsulationAt(i.Ohms, i.Temperature, InsulationReference); err != nil {
			return Check{}, err
		}
		at = "at 40 C"
	}
	n := len(p.Bands)
	b, k := p.Bands[n-1], n-1
	for j := n - 1; j >= 0; j-- {
		if r >= p.Bands[j].From {
			b, k = p.Bands[j], j
		}
	}
	c := atLeast(rule, "insulation to the case", "ohm", r, p.Bands[0].From)
	c.Rule.Next = b.Next
	c.Why = fmt.Sprintf("%s %s: %s", show(r, "ohm"), at, b.Word)
	if k > 0 && k < n-1 {
		c.Outcome = Unknown
	}
	if want := t.rule("insulation").Value; i.TestVolts > 0 && i.TestVolts != want {
		c.Why += fmt.Sprintf("; tested at %g V where %g V is usual, so not comparable", i.TestVolts, want)
	}
	return c, nil
}

// InsulationTrend is the last of several readings, oldest first, over the first,
// all brought to 40 C.
func (t *Tables) InsulationTrend(readings []Insulation) (float64, error) {
	var at40 []float64
	for n, i := range readings {
		r, err := t.InsulationAt(i.Ohms, i.Temperature, InsulationReference)
		if err != nil {
			return 0, fmt.Errorf("reading %d: %w", n+1, err)
		}
		at40 = append(at40, r)
	}
	if len(at40) < 2 {
		return 0, errors.New("a trend needs two readings")
	}
	if err := positive("first insulation resistance", at40[0], "ohm"); err != nil {
		return 0, err
	}
	return finite("insulation, last of first, both at 40 C", at40[len(at40)-1]/at40[0])
}

// CheckContact holds the drop across closed contacts at amps against the
// usual one. ohms is the resistance of one pole.
func (t *Tables) CheckContact(ohms, amps float64) (Check, error) {
	if err := in("contact resistance", ohms, "ohm", 0, 1000); err != nil {
		return Check{}, err
	}
	if err := in("running current", amps, "A", 0, 1000); err != nil {
		return Check{}, err
	}
	r := t.rule("contact-drop")
	return atMost(r, "drop across the contacts", "V", ohms*amps, r.Value), nil
}

// RatedOhms is V squared over W, ohm: the resistance of a heater when hot, and
// the impedance of a coil when watts is its VA.
func RatedOhms(volts, watts float64) (float64, error) {
	if err := in("rated voltage", volts, "V", 1, 1000); err != nil {
		return 0, err
	}
	if err := in("rated power", watts, "W", 0.01, 1e5); err != nil {
		return 0, err
	}
	return volts * volts / watts, nil
}

// CheckHeater holds a crankcase or sump heater against its rating. One that
// regulates itself is judged for being continuous only, cold.
func (t *Tables) CheckHeater(o Ohms, volts, watts float64, selfRegulating bool) (Check, error) {
	rule := t.rule("heater")
	if err := o.valid("resistance of the heater"); err != nil {
		return Check{}, err
	}
	want, err := RatedOhms(volts, watts)
	switch {
	case err != nil:
		return Check{}, err
	case !o.Taken:
		return unknown(rule, "resistance of the heater", "ohm", "not read"), nil
	case o.Open:
		c := unknown(rule, "resistance of the heater", "ohm", "the heater or its lead is open")
		c.Outcome = Misfit
		return c, nil
	case selfRegulating:
		c := unknown(rule, "resistance of the heater", "ohm", "continuous; a self-regulating heater is not judged by its cold resistance")
		c.Measured, c.Value = true, o.Value
		return c, nil
	}
	return between(rule, "resistance of the heater", "ohm", o.Value, want*(1-rule.Value), want*(1+rule.Value)), nil
}

// CheckCoil holds the direct-current resistance of a solenoid or contactor
// coil against its rating: above the doubt of the reading and below V squared
// over VA, which is the coil's impedance with its armature in.
func (t *Tables) CheckCoil(o Ohms, volts, va float64) (Check, error) {
	rule := t.rule("coil")
	if err := o.valid("resistance of the coil"); err != nil {
		return Check{}, err
	}
	z, err := RatedOhms(volts, va)
	if err != nil {
		return Check{}, err
	}
	const what = "resistance of the coil"
	switch {
	case !o.Taken:
		return unknown(rule, what, "ohm", "not read"), nil
	case o.Open:
		c := unknown(rule, what, "ohm", "the coil is open")
		c.Outcome = Misfit
		return c, nil
	}
	c := between(rule, what, "ohm", o.Value, math.Max(o.Doubt, math.SmallestNonzeroFloat64), rule.Value*z)
	if o.Value <= o.Doubt {
		c.Outcome, c.Why = Misfit, "the reading is not above its doubt: the coil is shorted"
	}
	return c, nil
}
