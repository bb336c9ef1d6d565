package supply

import (
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

// runCapacitor is a run capacitor as marked and as asked for by the compressor's
// data. Zero fields are not known.
type runCapacitor struct {
	Marked  float64 // F
	Volts   float64 // V, marked
	Needed  float64 // F, by the new compressor's data
	NeededV float64 // V, by the new compressor's data
	Old     float64 // F, by the old compressor's data
}

// matchCapacitor holds the mark against the compressor's data.
func (t *Tables) matchCapacitor(c runCapacitor) []Check {
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
