// Package units converts what people type and read into SI and back.
//
// The rest of the core knows SI only (Pa absolute, K, kg, m3/s, V, A, ohm, F,
// s). A value as typed keeps its own unit in the record; it becomes SI here,
// once, on its way into a computation, and leaves SI here on its way to a
// screen or a sheet.
//
// Notation: si = scale*x + offset. A gauge pressure is a pressure above the
// air of the site, so it needs the site's absolute pressure to become SI:
// every conversion takes it, and only gauge units use it.
//
// Factors are definitions: the inch, pound and pound-force of the
// international yard and pound agreement of 1959 with standard gravity
// 9.80665 m/s2 (BIPM SI Brochure, 9th edition, gives gn; NIST SP 811 restates
// the factors derived here, from memory), the Btu as the International Table
// Btu, 1055.05585262 J.
package units

import (
	"fmt"
	"math"
	"regexp"
	"strings"
)

// Dimension names what a number measures. The empty Dimension is text.
type Dimension string

// The dimensions of the record. Temperature and TempDiff differ because 10 F
// of superheat is 5.6 K, not -12 C.
const (
	Temperature Dimension = "temperature"
	TempDiff    Dimension = "temperature difference"
	Pressure    Dimension = "pressure" // of the circuit, usually read as gauge
	PressDiff   Dimension = "pressure difference"

	DuctPressure Dimension = "duct pressure" // of air against the room's
	Barometric   Dimension = "air pressure"  // absolute by nature
	Vacuum       Dimension = "vacuum"        // absolute, small
	Length       Dimension = "length"
	Bore         Dimension = "pipe size"
	Mass         Dimension = "mass"
	Volume       Dimension = "volume"
	Airflow      Dimension = "airflow"
	Capacity     Dimension = "capacity"
	AirPerCap    Dimension = "airflow per capacity"
	Power        Dimension = "power"
	Voltage      Dimension = "voltage"
	Current      Dimension = "current"
	Resistance   Dimension = "resistance"
	Insulation   Dimension = "insulation resistance"
	Capacitance  Dimension = "capacitance"
	Frequency    Dimension = "frequency"
	Apparent     Dimension = "apparent power"
	Duration     Dimension = "duration"
	Percent      Dimension = "percentage" // SI is the fraction
	Ratio        Dimension = "ratio"
	Efficiency   Dimension = "cooling per power"
	Density      Dimension = "density"
	Enthalpy     Dimension = "specific enthalpy"
	MassFlow     Dimension = "mass flow"
	LeakRate     Dimension = "leak rate"
	Money        Dimension = "money" // in the job's own currency
	Count        Dimension = "count"
)

const (
	inch    = 0.0254
	foot    = 0.3048
	pound   = 0.45359237
	gravity = 9.80665
	psi     = pound * gravity / (inch * inch)
	btu     = 1055.05585262
	btuPerH = btu / 3600
	torr    = 101325.0 / 760
	degF    = 5.0 / 9
	cfm     = foot * foot * foot / 60
)

// Unit is one way to write a Dimension.
type Unit struct {
	Name   string // as stored in the record: plain ASCII
	Label  string // as shown
	Dim    Dimension
	Scale  float64 // si = Scale*x + Offset
	Offset float64
	Gauge  bool // add the site's air pressure to reach absolute
}

// table lists each dimension's units; the first is the inch-pound habit of the
// trade, and the one marked by siPreferred the metric one.
var table = []Unit{
	{Name: "F", Label: "°F", Dim: Temperature, Scale: degF, Offset: 459.67 * degF},
	{Name: "C", Label: "°C", Dim: Temperature, Scale: 1, Offset: 273.15},
	{Name: "K", Label: "K", Dim: Temperature, Scale: 1},
	{Name: "F", Label: "°F", Dim: TempDiff, Scale: degF},
	{Name: "K", Label: "K", Dim: TempDiff, Scale: 1},
	{Name: "psig", Label: "psig", Dim: Pressure, Scale: psi, Gauge: true},
	{Name: "kPag", Label: "kPa gauge", Dim: Pressure, Scale: 1e3, Gauge: true},
	{Name: "barg", Label: "bar gauge", Dim: Pressure, Scale: 1e5, Gauge: true},
	{Name: "psia", Label: "psia", Dim: Pressure, Scale: psi},
	{Name: "kPa", Label: "kPa abs", Dim: Pressure, Scale: 1e3},
	{Name: "bar", Label: "bar abs", Dim: Pressure, Scale: 1e5},
	{Name: "psi", Label: "psi", Dim: PressDiff, Scale: psi},
	{Name: "kPa", Label: "kPa", Dim: PressDiff, Scale: 1e3},
	{Name: "inH2O", Label: "in. of water", Dim: DuctPressure, Scale: 249.08891}, // water at 4 C under standard gravity
	{Name: "Pa", Label: "Pa", Dim: DuctPressure, Scale: 1},
	{Name: "inHg", Label: "inHg", Dim: Barometric, Scale: 25.4 * torr},
	{Name: "hPa", Label: "hPa", Dim: Barometric, Scale: 100},
	{Name: "kPa", Label: "kPa", Dim: Barometric, Scale: 1e3},
	{Name: "psia", Label: "psia", Dim: Barometric, Scale: psi},
	{Name: "micron", Label: "micron", Dim: Vacuum, Scale: torr / 1000},
	{Name: "Pa", Label: "Pa", Dim: Vacuum, Scale: 1},
	{Name: "Torr", Label: "Torr", Dim: Vacuum, Scale: torr},
	{Name: "mbar", Label: "mbar", Dim: Vacuum, Scale: 100},
	{Name: "ft", Label: "ft", Dim: Length, Scale: foot},
	{Name: "m", Label: "m", Dim: Length, Scale: 1},
	{Name: "in", Label: "in", Dim: Bore, Scale: inch},
	{Name: "mm", Label: "mm", Dim: Bore, Scale: 1e-3},
	{Name: "oz", Label: "oz", Dim: Mass, Scale: pound / 16},
	{Name: "lb", Label: "lb", Dim: Mass, Scale: pound},
	{Name: "kg", Label: "kg", Dim: Mass, Scale: 1},
	{Name: "g", Label: "g", Dim: Mass, Scale: 1e-3},
	{Name: "in3", Label: "in³", Dim: Volume, Scale: inch * inch * inch},
	{Name: "L", Label: "L", Dim: Volume, Scale: 1e-3},
	{Name: "floz", Label: "fl oz", Dim: Volume, Scale: 231 * inch * inch * inch / 128},
	{Name: "cfm", Label: "cfm", Dim: Airflow, Scale: cfm},
	{Name: "m3/h", Label: "m³/h", Dim: Airflow, Scale: 1.0 / 3600},
	{Name: "L/s", Label: "L/s", Dim: Airflow, Scale: 1e-3},
	{Name: "ton", Label: "ton", Dim: Capacity, Scale: 12000 * btuPerH},
	{Name: "Btu/h", Label: "Btu/h", Dim: Capacity, Scale: btuPerH},
	{Name: "kW", Label: "kW", Dim: Capacity, Scale: 1e3},
	{Name: "cfm/ton", Label: "cfm/ton", Dim: AirPerCap, Scale: cfm / (12000 * btuPerH)},
	{Name: "m3/h/kW", Label: "m³/h per kW", Dim: AirPerCap, Scale: 1.0 / 3600 / 1e3},
	{Name: "W", Label: "W", Dim: Power, Scale: 1},
	{Name: "kW", Label: "kW", Dim: Power, Scale: 1e3},
	{Name: "V", Label: "V", Dim: Voltage, Scale: 1},
	{Name: "A", Label: "A", Dim: Current, Scale: 1},
	{Name: "mA", Label: "mA", Dim: Current, Scale: 1e-3},
	{Name: "ohm", Label: "Ω", Dim: Resistance, Scale: 1},
	{Name: "mohm", Label: "mΩ", Dim: Resistance, Scale: 1e-3},
	{Name: "kohm", Label: "kΩ", Dim: Resistance, Scale: 1e3},
	{Name: "Mohm", Label: "MΩ", Dim: Insulation, Scale: 1e6},
	{Name: "kohm", Label: "kΩ", Dim: Insulation, Scale: 1e3},
	{Name: "Gohm", Label: "GΩ", Dim: Insulation, Scale: 1e9},
	{Name: "uF", Label: "µF", Dim: Capacitance, Scale: 1e-6},
	{Name: "Hz", Label: "Hz", Dim: Frequency, Scale: 1},
	{Name: "VA", Label: "VA", Dim: Apparent, Scale: 1},
	{Name: "min", Label: "min", Dim: Duration, Scale: 60},
	{Name: "s", Label: "s", Dim: Duration, Scale: 1},
	{Name: "h", Label: "h", Dim: Duration, Scale: 3600},
	{Name: "%", Label: "%", Dim: Percent, Scale: 0.01},
	{Name: "1", Label: "", Dim: Ratio, Scale: 1},
	{Name: "Btu/Wh", Label: "Btu/Wh", Dim: Efficiency, Scale: btuPerH},
	{Name: "W/W", Label: "W/W", Dim: Efficiency, Scale: 1},
	{Name: "lb/ft3", Label: "lb/ft³", Dim: Density, Scale: pound / (foot * foot * foot)},
	{Name: "kg/m3", Label: "kg/m³", Dim: Density, Scale: 1},
	{Name: "Btu/lb", Label: "Btu/lb", Dim: Enthalpy, Scale: btu / pound},
	{Name: "kJ/kg", Label: "kJ/kg", Dim: Enthalpy, Scale: 1e3},
	{Name: "lb/h", Label: "lb/h", Dim: MassFlow, Scale: pound / 3600},
	{Name: "kg/h", Label: "kg/h", Dim: MassFlow, Scale: 1.0 / 3600},
	{Name: "g/s", Label: "g/s", Dim: MassFlow, Scale: 1e-3},
	{Name: "g/a", Label: "g a year", Dim: LeakRate, Scale: 1e-3 / (365.25 * 86400)},
	{Name: "oz/a", Label: "oz a year", Dim: LeakRate, Scale: pound / 16 / (365.25 * 86400)},
	{Name: "money", Label: "", Dim: Money, Scale: 1},
	{Name: "n", Label: "", Dim: Count, Scale: 1},
}

// System is the set of units that people read.
type System int

// IP is the inch-pound habit; SI the metric one.
const (
	IP System = iota
	SI
)

func (s System) String() string {
	if s == SI {
		return "SI"
	}
	return "IP"
}

// siPreferred names the metric unit of each dimension whose first unit is not
// metric already.
var siPreferred = map[Dimension]string{
	Temperature: "C", TempDiff: "K", Pressure: "kPag", PressDiff: "kPa", DuctPressure: "Pa", Barometric: "hPa",
	Vacuum: "Pa", Length: "m", Bore: "mm", Mass: "kg", Volume: "L",
	Airflow: "m3/h", Capacity: "kW", AirPerCap: "m3/h/kW", Efficiency: "W/W", Density: "kg/m3",
	Enthalpy: "kJ/kg", MassFlow: "kg/h",
}

// Of returns the units of dim in the order a picker should offer them; nil for
// an unknown dimension.
func Of(dim Dimension) []Unit {
	var us []Unit
	for _, u := range table {
		if u.Dim == dim {
			us = append(us, u)
		}
	}
	return us
}

// Preferred returns the unit in which system shows dim. An unknown dimension
// gives the zero Unit.
func Preferred(dim Dimension, system System) Unit {
	want := ""
	if system == SI {
		want = siPreferred[dim]
	}
	for _, u := range table {
		if u.Dim == dim && (want == "" || u.Name == want) {
			return u
		}
	}
	return Unit{}
}

// In is u where it belongs to a system of units, as V and A do to both, else the unit in
// which that system shows what u measures.
func (u Unit) In(s System) Unit {
	if _, two := siPreferred[u.Dim]; !two || inchPound[u.Name] == (s == IP) {
		return u
	}
	return Preferred(u.Dim, s)
}

// inchPound are the units of that habit, among those of dimensions that have both.
var inchPound = map[string]bool{"F": true, "psig": true, "psia": true, "psi": true, "inHg": true, "micron": true, "ft": true, "in": true, "oz": true, "lb": true,
	"in3": true, "floz": true, "cfm": true, "ton": true, "Btu/h": true, "cfm/ton": true, "Btu/Wh": true, "lb/ft3": true, "Btu/lb": true, "lb/h": true}

// Lookup finds the unit of dim called name, by its Name or its Label. The
// error lists the units that fit.
func Lookup(dim Dimension, name string) (Unit, error) {
	var fit []string
	for _, u := range table {
		if u.Dim != dim {
			continue
		}
		if u.Name == name || (u.Label == name && name != "") {
			return u, nil
		}
		fit = append(fit, u.Name)
	}
	if fit == nil {
		return Unit{}, fmt.Errorf("unknown dimension %q", dim)
	}
	return Unit{}, fmt.Errorf("unit %q does not measure %s; use one of %s", name, dim, strings.Join(fit, ", "))
}

// ToSI converts x in unit u to SI. site is the site's air pressure in Pa
// absolute and is used by gauge units only. The result may be infinite or NaN
// only if x or site is.
func (u Unit) ToSI(x, site float64) float64 {
	si := u.Scale*x + u.Offset
	if u.Gauge {
		si += site
	}
	return si
}

// FromSI is the inverse of ToSI.
func (u Unit) FromSI(si, site float64) float64 {
	if u.Gauge {
		si -= site
	}
	return (si - u.Offset) / u.Scale
}

// Span converts a difference or an uncertainty from SI to u: scale only, so
// that an uncertainty of 1 K reads 1.8 F.
func (u Unit) Span(si float64) float64 { return si / u.Scale }

// SpanSI converts a difference or an uncertainty in u to SI.
func (u Unit) SpanSI(x float64) float64 { return x * u.Scale }

// Quantity splits text such as "280K", "800 kPa" or "44.6 F" into its number
// and SI value in dimension dim. site is used by gauge units. It is meant for
// command lines; panes keep number and unit apart.
func Quantity(dim Dimension, text string, site float64) (float64, error) {
	m := quantity.FindStringSubmatch(text)
	if m == nil {
		return 0, fmt.Errorf("%q is not a number with a unit", text)
	}
	u, err := Lookup(dim, m[2])
	if err != nil {
		if m[2] == "" {
			err = fmt.Errorf("has no unit: %w", err)
		}
		return 0, fmt.Errorf("%q: %w", text, err)
	}
	x, err := Number(m[1])
	if err != nil {
		return 0, fmt.Errorf("%q: %w", text, err)
	}
	return u.ToSI(x, site), nil
}

var quantity = regexp.MustCompile(`^\s*([+-]?[0-9.,]+(?:[eE][+-]?[0-9]+)?)\s*(.*?)\s*$`)

// Number reads a decimal number as people type it: surrounding space is
// ignored, one decimal comma or point is allowed, exponents are allowed; hex,
// underscores, "inf" and "nan" are not. The error quotes the text.
func Number(text string) (float64, error) {
	t := strings.TrimSpace(text)
	if t == "" {
		return 0, fmt.Errorf("no number typed")
	}
	if strings.Count(t, ",") == 1 && !strings.Contains(t, ".") {
		t = strings.Replace(t, ",", ".", 1)
	}
	x, err := parseDecimal(t)
	if err != nil {
		return 0, fmt.Errorf("%q is not a number", text)
	}
	if math.Abs(x) > 1e15 {
		return 0, fmt.Errorf("%q is too large", text)
	}
	return x, nil
}
