package supply

import (
	"fmt"
	"math"
)

// Capacitance is I / (2 pi f V), F, from the current in the capacitor's lead,
// A, the voltage across the capacitor, V, and the frequency, Hz. The familiar
// 2652.6 I/V microfarad at 60 Hz is 1e6 / (2 pi 60).
func Capacitance(amps, volts, hertz float64) (float64, error) {
	if err := natural("capacitor current", amps, "A"); err != nil {
		return 0, err
	}
	if err := positive("voltage across the capacitor", volts, "V"); err != nil {
		return 0, err
	}
	if err := positive("frequency", hertz, "Hz"); err != nil {
		return 0, err
	}
	return finite("capacitance", amps/(2*math.Pi*hertz*volts))
}

// CapacitorCurrent is 2 pi f C V, A.
func CapacitorCurrent(farads, volts, hertz float64) (float64, error) {
	if err := natural("capacitance", farads, "F"); err != nil {
		return 0, err
	}
	if err := natural("voltage across the capacitor", volts, "V"); err != nil {
		return 0, err
	}
	if err := positive("frequency", hertz, "Hz"); err != nil {
		return 0, err
	}
	return finite("capacitor current", 2*math.Pi*hertz*farads*volts)
}

// DischargeTime is R C ln(from/to), s: how long a resistor of ohms takes to
// bring a capacitor of farads from one voltage down to another. It is what a
// healthy bleeder does, never a proof that a terminal is dead.
func DischargeTime(ohms, farads, from, to float64) (float64, error) {
	if err := positive("discharge resistance", ohms, "ohm"); err != nil {
		return 0, err
	}
	if err := positive("capacitance", farads, "F"); err != nil {
		return 0, err
	}
	if err := positive("voltage at the start", from, "V"); err != nil {
		return 0, err
	}
	if err := in("voltage at the end", to, "V", math.SmallestNonzeroFloat64, from); err != nil {
		return 0, err
	}
	return finite("discharge time", ohms*farads*math.Log(from/to))
}

// SeriesCapacitance is C1 C2 / (C1 + C2), F: what a dual capacitor shows
// between its two outer terminals.
func SeriesCapacitance(c1, c2 float64) (float64, error) {
	if err := positive("first section", c1, "F"); err != nil {
		return 0, err
	}
	if err := positive("second section", c2, "F"); err != nil {
		return 0, err
	}
	return finite("series capacitance", 1/(1/c1+1/c2))
}

// Class returns the tolerance class called name.
func (t *Tables) Class(name string) (Tolerance, error) {
	var known []string
	for _, c := range t.Capacitor.Classes {
		if c.Name == name {
			return c, nil
		}
		known = append(known, c.Name)
	}
	return Tolerance{}, fmt.Errorf("tolerance class %q: known are %q", name, known)
}

// RunCapacitor is a run capacitor as marked, as read, and as asked for by the
// compressor's data. Zero fields are not known.
type RunCapacitor struct {
	Marked    float64 // F
	Volts     float64 // V, marked
	Tolerance string  // class name; "" takes the rule's tolerance
	Meter     float64 // F, read off circuit
	Amps      float64 // A, start lead, running
	Across    float64 // V, across the capacitor, running
	Hertz     float64 // 0 means 60
	Needed    float64 // F, by the new compressor's data
	NeededV   float64 // V, by the new compressor's data
	Old       float64 // F, by the old compressor's data
}

// CheckCapacitor holds a run capacitor against its mark and its compressor.
func (t *Tables) CheckCapacitor(c RunCapacitor) ([]Check, error) {
	for _, v := range []struct {
		what string
		x    float64
		unit string
	}{{"marked capacitance", c.Marked, "F"}, {"marked voltage", c.Volts, "V"}, {"meter value", c.Meter, "F"},
		{"start lead current", c.Amps, "A"}, {"voltage across the capacitor", c.Across, "V"}, {"frequency", c.Hertz, "Hz"},
		{"capacitance needed", c.Needed, "F"}, {"voltage needed", c.NeededV, "V"}, {"old capacitance", c.Old, "F"}} {
		if err := natural(v.what, v.x, v.unit); err != nil {
			return nil, err
		}
	}
	class := t.rule("cap-class")
	tol := Tolerance{Low: class.Value, High: class.Value}
	if c.Tolerance != "" {
		var err error
		if tol, err = t.Class(c.Tolerance); err != nil {
			return nil, err
		}
		class.Source, class.Confidence = tol.Source, tol.Confidence
	}
	band := func(rule Rule, what string, x float64) Check {
		if c.Marked == 0 {
			k := unknown(rule, what, "F", "the mark on the capacitor is not known")
			k.Measured, k.Value = true, x
			return k
		}
		return between(rule, what, "F", x, c.Marked*(1-tol.Low), c.Marked*(1+tol.High))
	}
	var checks []Check
	if c.Meter > 0 {
		checks = append(checks, band(class, "capacitance by meter", c.Meter))
	} else {
		checks = append(checks, unknown(class, "capacitance by meter", "F", "not measured"))
	}
	load := t.rule("cap-load")
	if c.Amps > 0 && c.Across > 0 {
		hz := c.Hertz
		if hz == 0 {
			hz = 60
		}
		x, err := Capacitance(c.Amps, c.Across, hz)
		if err != nil {
			return nil, err
		}
		checks = append(checks, band(load, "capacitance under load", x))
	} else {
		checks = append(checks, unknown(load, "capacitance under load", "F", "needs start lead amps and volts across the capacitor"))
	}
	return append(checks, t.matchCapacitor(c)...), nil
}

// matchCapacitor holds the mark against the compressor's data.
func (t *Tables) matchCapacitor(c RunCapacitor) []Check {
	match, volts := t.rule("cap-match"), t.rule("cap-volts")
	m := unknown(match, "marked capacitance", "F", "needs the mark and the compressor's data")
	if c.Marked > 0 && c.Needed > 0 {
		m = between(match, "marked capacitance", "F", c.Marked, c.Needed*(1-match.Value), c.Needed*(1+match.Value))
		if m.Outcome == Misfit && t.oldValueLeft(c.Marked, c.Needed, c.Old) {
			hint := t.rule("cap-old-value")
			m.Why += "; it is the old compressor's value (" + show(c.Old, "F") + "), probably left in"
			m.Rule.Next = hint.Next
		}
	}
	v := unknown(volts, "marked voltage", "V", "needs the mark and the compressor's data")
	if c.Volts > 0 && c.NeededV > 0 {
		v = atLeast(volts, "marked voltage", "V", c.Volts, c.NeededV)
	}
	return []Check{m, v}
}

// oldValueLeft tells a capacitor that suits the old compressor and not the new.
func (t *Tables) oldValueLeft(marked, needed, old float64) bool {
	near := func(x, y float64) bool { return math.Abs(x-y) <= t.rule("cap-old-value").Value*y }
	return old > 0 && needed > 0 && near(marked, old) && !near(old, needed)
}

// CheckDual holds the reading between the outer terminals of a dual capacitor
// against its two sections read from the common terminal, F.
func (t *Tables) CheckDual(herm, fan, outer float64) (Check, error) {
	s, err := SeriesCapacitance(herm, fan)
	if err != nil {
		return Check{}, err
	}
	if err := natural("reading between the outer terminals", outer, "F"); err != nil {
		return Check{}, err
	}
	r := t.rule("cap-dual")
	return between(r, "capacitance between the outer terminals", "F", outer, s*(1-r.Value), s*(1+r.Value)), nil
}
