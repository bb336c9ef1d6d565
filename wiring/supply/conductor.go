package supply

import (
	"fmt"
	"math"
)

// Rating is the temperature marked on a conductor's insulation or on a
// terminal, degrees C: a column of the ampacity table (60, 75 or 90).
type Rating int

// Conditions are how the conductors of a branch are laid and ended. The zero
// value is the cautious one: 30 C around, not more than three conductors
// together, 60 C insulation on 60 C terminals.
type Conditions struct {
	Ambient    float64 // K; 0 means 303.15, the base of the table
	Bundle     int     // current-carrying conductors together; 0 means up to three
	Insulation Rating  // as printed on the conductor; 0 means 60
	Terminals  Rating  // the lowest marked on any terminal; 0 means 60
	Cable      bool    // non-metallic-sheathed cable
	Aluminum   bool    // aluminum or copper-clad aluminum, else copper
}

// Ampacity is what a conductor may carry and how that came, A.
type Ampacity struct {
	Gauge     string
	Table     float64 // insulation's column
	Ambient   float64 // correction factor
	Bundling  float64 // adjustment factor
	Corrected float64 // Table times both factors
	Terminal  float64 // terminals' column, which takes no factors
	Amps      float64 // the lesser of Corrected and Terminal
	Why       string
}

// gaugeIndex is the row of gauge in the ampacity table, thin to thick; -1 if
// there is none.
func (t *Tables) gaugeIndex(gauge string) int {
	for i, r := range t.Ampacity.Rows {
		if r.Gauge == gauge {
			return i
		}
	}
	return -1
}

// Gauges lists the copper gauges of the ampacity table, thin to thick.
func (t *Tables) Gauges() []string {
	var g []string
	for _, r := range t.Ampacity.Rows {
		g = append(g, r.Gauge)
	}
	return g
}

func (t *Tables) column(what string, r Rating) (int, error) {
	if r == 0 {
		r = 60
	}
	for i, c := range t.Ampacity.Columns {
		if c == float64(r) {
			return i, nil
		}
	}
	return 0, fmt.Errorf("%s is rated %d C: the table has %v", what, r, t.Ampacity.Columns)
}

// ohms is the resistance of gauge at 75 C, ohm per 1000 ft.
func (t *Tables) ohms(gauge string, solid bool) (float64, error) {
	for _, r := range t.Resistance.Rows {
		if r.Gauge == gauge {
			if solid && r.Solid > 0 {
				return r.Solid, nil
			}
			return r.Stranded, nil
		}
	}
	return 0, fmt.Errorf("gauge %q is not in the resistance table", gauge)
}

// mils is the cross-section of gauge, circular mils; 0 if it has none.
func (t *Tables) mils(gauge string) float64 {
	for _, r := range t.Resistance.Rows {
		if r.Gauge == gauge {
			return r.Mils
		}
	}
	return 0
}

// amps is what row i may carry by column; none for aluminum thinner than the table has.
func (t *Tables) amps(i int, c Conditions) []float64 {
	if c.Aluminum {
		return t.Ampacity.Rows[i].Aluminum
	}
	return t.Ampacity.Rows[i].Amps
}

// AmpacityOf is what a conductor of gauge may carry under the conditions:
// the insulation's column of NEC Table 310.16 times the ambient factor of Table
// 310.15(B)(1) and the bundling factor of Table 310.15(C)(1), and not above the
// column of the terminals (110.14(C)) or, for non-metallic-sheathed cable, of
// 60 C (334.80). An ambient that the insulation does not stand is an error.
func (t *Tables) AmpacityOf(gauge string, c Conditions) (Ampacity, error) {
	i := t.gaugeIndex(gauge)
	if i < 0 {
		return Ampacity{}, fmt.Errorf("gauge %q AWG: known are %q", gauge, t.Gauges())
	}
	col, err := t.column("insulation", c.Insulation)
	if err != nil {
		return Ampacity{}, err
	}
	end, err := t.column("a terminal", c.Terminals)
	if err != nil {
		return Ampacity{}, err
	}
	if cable, err := t.column("cable", Rating(t.rule("nm-cable").Value)); err == nil && c.Cable {
		end = min(end, cable)
	}
	amps := t.amps(i, c)
	if amps == nil {
		return Ampacity{}, fmt.Errorf("%s AWG aluminum is not in the ampacity table", gauge)
	}
	a := Ampacity{Gauge: gauge, Table: amps[col], Terminal: amps[end]}
	if a.Ambient, err = t.ambientFactor(c.Ambient, col); err != nil {
		return Ampacity{}, err
	}
	if a.Bundling, err = t.bundlingFactor(c.Bundle); err != nil {
		return Ampacity{}, err
	}
	a.Corrected = a.Table * a.Ambient * a.Bundling
	a.Amps = math.Min(a.Corrected, a.Terminal)
	a.Why = fmt.Sprintf("%s AWG: %g A x %g x %g = %.4g A, terminals allow %g A", gauge, a.Table, a.Ambient, a.Bundling, a.Corrected, a.Terminal)
	return a, nil
}

// ambientFactor takes the line of the table that the temperature falls in; a
// temperature between two lines (25.5 C) takes the warmer.
func (t *Tables) ambientFactor(kelvin float64, col int) (float64, error) {
	if kelvin == 0 {
		return 1, nil
	}
	rows := t.Ambient.Rows
	top := 0.0
	for _, r := range rows {
		if r.Factor[col] > 0 {
			top = r.To + 273.15
		}
	}
	const slack = 1e-9 // K; 303.15 - 273.15 is not quite 30
	if err := in("ambient temperature", kelvin, "K", 200, top+slack); err != nil {
		return 0, err
	}
	for _, r := range rows {
		if kelvin-273.15 <= r.To+slack {
			return r.Factor[col], nil
		}
	}
	return rows[len(rows)-1].Factor[col], nil
}

func (t *Tables) bundlingFactor(n int) (float64, error) {
	rows := t.Bundling.Rows
	if err := in("conductors together", float64(n), "", 0, 1e6); err != nil {
		return 0, err
	}
	for _, r := range rows {
		if n <= r.To || r.To == 0 {
			return r.Factor, nil
		}
	}
	return rows[len(rows)-1].Factor, nil
}

// SelectConductor is the thinnest copper conductor that carries mca, A, under
// the conditions.
func (t *Tables) SelectConductor(mca float64, c Conditions) (Ampacity, error) {
	if err := positive("minimum circuit ampacity", mca, "A"); err != nil {
		return Ampacity{}, err
	}
	var a Ampacity
	for i, g := range t.Gauges() {
		var err error
		if t.amps(i, c) == nil {
			continue
		}
		if a, err = t.AmpacityOf(g, c); err != nil {
			return Ampacity{}, err
		}
		if a.Amps >= mca {
			return a, nil
		}
	}
	return Ampacity{}, &RangeError{"minimum circuit ampacity", mca, "A", 0, a.Amps}
}

// CheckWire holds the ampacity of gauge against the minimum circuit ampacity.
func (t *Tables) CheckWire(gauge string, mca float64, c Conditions) (Check, error) {
	if err := positive("minimum circuit ampacity", mca, "A"); err != nil {
		return Check{}, err
	}
	a, err := t.AmpacityOf(gauge, c)
	if err != nil {
		return Check{}, err
	}
	k := atLeast(t.rule("wire"), "ampacity of the conductor", "A", a.Amps, mca)
	k.Why += "; " + a.Why
	if need, err := t.SelectConductor(mca, c); k.Outcome == Misfit && err == nil {
		k.Why += "; " + need.Gauge + " AWG would carry it"
	}
	return k, nil
}

// SmallConductor is the largest overcurrent device of a small conductor, A (NEC
// 240.4(D)), copper or aluminum; false for one that is not small. A circuit of Article 440 is not
// bound by it (240.4(G)).
func (t *Tables) SmallConductor(gauge string, aluminum bool) (amps float64, small bool) {
	for _, r := range t.SmallWire.Rows {
		if r.Gauge == gauge {
			if aluminum {
				return r.Aluminum, r.Aluminum > 0
			}
			return r.Amps, true
		}
	}
	return 0, false
}

// ConductorOhms is the resistance of a copper conductor, ohm, one way: gauge,
// length in m, temperature in K (0 means 348.15, the base of the table), solid
// or stranded. NEC Chapter 9, Table 8 and its note. It is the direct-current
// value; up to 1/0 AWG reactance adds little to the drop.
func (t *Tables) ConductorOhms(gauge string, length, temperature float64, solid bool) (float64, error) {
	perKft, err := t.ohms(gauge, solid)
	if err != nil {
		return 0, err
	}
	if err := in("conductor length", length, "m", 0, 1000); err != nil {
		return 0, err
	}
	at := t.Resistance.At
	if temperature != 0 {
		if err := in("conductor temperature", temperature, "K", 230, 423.15); err != nil {
			return 0, err
		}
		at = temperature - 273.15
	}
	const kft = 304.8 // m
	return finite("conductor resistance", perKft*length/kft*(1+t.Resistance.PerC*(at-t.Resistance.At)))
}

// Branch is the run of conductors from the panel to the unit.
type Branch struct {
	Gauge       string
	Length      float64 // m, one way
	Temperature float64 // of the conductor, K; 0 means 348.15
	Solid       bool
	Phases      int // 0 or 1 single-phase, 3 three-phase
}

// loopOhms is what the line-to-line drop per ampere is: out and back, or root
// three times one way.
func (t *Tables) loopOhms(b Branch) (float64, error) {
	r, err := t.ConductorOhms(b.Gauge, b.Length, b.Temperature, b.Solid)
	if err != nil {
		return 0, err
	}
	switch b.Phases {
	case 0, 1:
		return 2 * r, nil
	case 3:
		return math.Sqrt(3) * r, nil
	}
	return 0, fmt.Errorf("%d phases: allowed are 1 and 3", b.Phases)
}

// Drop is the voltage lost in the branch at amps, V, current and resistance in
// phase.
func (t *Tables) Drop(b Branch, amps float64) (float64, error) {
	if err := in("branch current", amps, "A", 0, 5000); err != nil {
		return 0, err
	}
	r, err := t.loopOhms(b)
	return r * amps, err
}

// CheckDrop holds the drop at running current against the advice, as a
// fraction of volts.
func (t *Tables) CheckDrop(b Branch, amps, volts float64) (Check, error) {
	if err := in("line voltage", volts, "V", 1, 1000); err != nil {
		return Check{}, err
	}
	d, err := t.Drop(b, amps)
	if err != nil {
		return Check{}, err
	}
	r := t.rule("drop-branch")
	c := atMost(r, "voltage drop in the branch", "1", d/volts, r.Value)
	c.Why += fmt.Sprintf("; %.3g V of %.4g V", d, volts)
	return c, nil
}

// Start is a compressor starting at the end of a branch.
type Start struct {
	Branch
	Source      float64 // V at the panel, which is taken to hold
	Rated       float64 // V of the compressor
	LRA         float64 // A at Rated
	PowerFactor float64 // at locked rotor; 0 means 1, which gives the lowest voltage
}

// Sag is the voltage that a starting compressor finds and the current it draws.
type Sag struct{ Volts, Amps float64 }

// SagAtStart divides the panel's voltage between the branch and the locked
// rotor, whose impedance is Rated/LRA at its power factor. With the power
// factor not known the two are taken in phase, where their impedances add up to
// the most and the least voltage is left for the compressor. What the service
// and its transformer lose comes on top.
func (t *Tables) SagAtStart(s Start) (Sag, error) {
	for _, v := range []struct {
		what   string
		x      float64
		unit   string
		lo, hi float64
	}{{"voltage at the panel", s.Source, "V", 1, 1000}, {"rated voltage", s.Rated, "V", 1, 1000},
		{"locked-rotor current", s.LRA, "A", 0.1, 5000}, {"power factor at locked rotor", s.PowerFactor, "1", 0, 1}} {
		if err := in(v.what, v.x, v.unit, v.lo, v.hi); err != nil {
			return Sag{}, err
		}
	}
	r, err := t.loopOhms(s.Branch)
	if err != nil {
		return Sag{}, err
	}
	pf := s.PowerFactor
	if pf == 0 {
		pf = 1
	}
	z := s.Rated / s.LRA
	total := math.Hypot(z*pf+r, z*math.Sqrt(1-pf*pf))
	amps := s.Source / total
	return Sag{Volts: amps * z, Amps: amps}, nil
}

// CheckStartVolts holds the voltage at a start, computed or read at the
// contactor, against the compressor and against the contactor's coil, whose
// transformer follows the line.
func (t *Tables) CheckStartVolts(volts, rated float64) ([]Check, error) {
	if err := natural("voltage at start", volts, "V"); err != nil {
		return nil, err
	}
	if err := in("rated voltage", rated, "V", 1, 1000); err != nil {
		return nil, err
	}
	sag, hold := t.rule("sag-start"), t.rule("coil-hold")
	return []Check{
		atLeast(sag, "voltage at start", "V", volts, (1-sag.Value)*rated),
		atLeast(hold, "coil voltage at start, of its rating", "1", volts/rated, hold.Value),
	}, nil
}
