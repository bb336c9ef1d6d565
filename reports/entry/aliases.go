package entry

import (
	"errors"
	"math"
	"slices"
	"strings"

	"retrostage/thermo/units"
)

// aliases are the marks that people use for a unit, in lower case, by dimension. A
// mark with two names may mean either; the range of the field decides, or the
// person.
var aliases = map[units.Dimension]map[string][]string{
	units.Temperature: {"f": {"F"}, "degf": {"F"}, "fahrenheit": {"F"}, "c": {"C"}, "degc": {"C"}, "celsius": {"C"}, "k": {"K"}, "deg": nil},
	units.TempDiff:    {"f": {"F"}, "degf": {"F"}, "c": {"K"}, "degc": {"K"}, "k": {"K"}},
	units.Pressure: {"psig": {"psig"}, "psi": {"psig"}, "lb": {"psig"}, "lbs": {"psig"}, "psia": {"psia"},
		"kpag": {"kPag"}, "kpa": {"kPag", "kPa"}, "kpaa": {"kPa"}, "barg": {"barg"}, "bar": {"barg", "bar"}, "bara": {"bar"}},
	units.DuctPressure: {"in": {"inH2O"}, "inwc": {"inH2O"}, "iwc": {"inH2O"}, "inh2o": {"inH2O"}, "pa": {"Pa"}},
	units.PressDiff:    {"psi": {"psi"}, "psid": {"psi"}, "kpa": {"kPa"}},
	units.Barometric:   {"inhg": {"inHg"}, "in": {"inHg"}, "\"": {"inHg"}, "hpa": {"hPa"}, "mbar": {"hPa"}, "mb": {"hPa"}, "kpa": {"kPa"}, "psia": {"psia"}},
	units.Vacuum:       {"micron": {"micron"}, "microns": {"micron"}, "mtorr": {"micron"}, "um": {"micron"}, "pa": {"Pa"}, "torr": {"Torr"}, "mmhg": {"Torr"}, "mbar": {"mbar"}, "hpa": {"mbar"}},
	units.Length:       {"ft": {"ft"}, "feet": {"ft"}, "foot": {"ft"}, "'": {"ft"}, "m": {"m"}, "meter": {"m"}, "meters": {"m"}, "metre": {"m"}, "metres": {"m"}},
	units.Bore:         {"in": {"in"}, "inch": {"in"}, "inches": {"in"}, "\"": {"in"}, "mm": {"mm"}},
	units.Mass:         {"oz": {"oz"}, "ounce": {"oz"}, "ounces": {"oz"}, "lb": {"lb"}, "lbs": {"lb"}, "pound": {"lb"}, "pounds": {"lb"}, "#": {"lb"}, "kg": {"kg"}, "g": {"g"}},
	units.Volume:       {"in3": {"in3"}, "cuin": {"in3"}, "in³": {"in3"}, "l": {"L"}, "liter": {"L"}, "liters": {"L"}, "litre": {"L"}, "litres": {"L"}},
	units.Airflow:      {"cfm": {"cfm"}, "m3/h": {"m3/h"}, "m³/h": {"m3/h"}, "l/s": {"L/s"}},
	units.Capacity:     {"ton": {"ton"}, "tons": {"ton"}, "t": {"ton"}, "btu/h": {"Btu/h"}, "btuh": {"Btu/h"}, "btu/hr": {"Btu/h"}, "btu": {"Btu/h"}, "btus": {"Btu/h"}, "kw": {"kW"}},
	units.Power:        {"w": {"W"}, "watt": {"W"}, "watts": {"W"}, "kw": {"kW"}},
	units.Voltage:      {"v": {"V"}, "volt": {"V"}, "volts": {"V"}, "vac": {"V"}, "vdc": {"V"}},
	units.Current:      {"a": {"A"}, "amp": {"A"}, "amps": {"A"}, "ma": {"mA"}},
	units.Insulation:   {"gohm": {"Gohm"}, "gω": {"Gohm"}, "kohm": {"kohm"}, "kω": {"kohm"}, "mohm": {"Mohm"}, "megohm": {"Mohm"}, "megohms": {"Mohm"}, "meg": {"Mohm"}, "mω": {"Mohm"}},
	units.Capacitance:  {"uf": {"uF"}, "µf": {"uF"}, "μf": {"uF"}, "mfd": {"uF"}, "microfarad": {"uF"}, "microfarads": {"uF"}},
	units.Frequency:    {"hz": {"Hz"}, "hertz": {"Hz"}, "cycle": {"Hz"}, "cycles": {"Hz"}},
	units.Apparent:     {"va": {"VA"}},
	units.Duration:     {"min": {"min"}, "mins": {"min"}, "minute": {"min"}, "minutes": {"min"}, "s": {"s"}, "sec": {"s"}, "seconds": {"s"}, "h": {"h"}, "hr": {"h"}, "hrs": {"h"}, "hour": {"h"}, "hours": {"h"}},
	units.Percent:      {"%": {"%"}, "percent": {"%"}, "pct": {"%"}},
	// Of ohms the prefix counts, and m is not M: a thousandth is never taken for a
	// million.
	units.Resistance: {"ohm": {"ohm"}, "ohms": {"ohm"}, "ω": {"ohm"}, "kohm": {"kohm"}, "kohms": {"kohm"}, "kω": {"kohm"}},
}

// vacuumSide are the marks of a gauge's scale below the air's pressure, which counts
// inches of mercury downward.
var vacuumSide = []string{"inhg", "inhgvac", "inhgvacuum", "\"hg", "inchhg", "inchesofmercury", "inofmercury", "invac"}

// vacuumGauge reads such a number: what the air presses harder, in psig below 0.
func vacuumGauge(num string) ([]Value, error) {
	xs, err := one(strings.TrimSpace(num))
	if err != nil {
		return nil, err
	}
	inHg, err1 := units.Lookup(units.Barometric, "inHg")
	psi, err2 := units.Lookup(units.PressDiff, "psi")
	if err := errors.Join(err1, err2); err != nil {
		return nil, err
	}
	var out []Value
	for _, x := range xs {
		y := -math.Round(psi.Span(inHg.SpanSI(math.Abs(x)))*1e3) / 1e3
		if y == 0 {
			y = 0 // no negative zero
		}
		out = append(out, Value{y, y, "psig"})
	}
	return out, nil
}

// named lists the units that a mark may mean; nil where it means none of this
// dimension. A mark that is a temperature's bare degree means the unit shown.
func named(dim units.Dimension, mark, shown string) []string {
	m := strings.TrimSuffix(mark, ".")
	if m == "°" || m == "deg" {
		if dim == units.Temperature || dim == units.TempDiff {
			return []string{shown}
		}
		return nil
	}
	if us := aliases[dim][fold(m)]; us != nil {
		return us
	}
	if u, err := units.Lookup(dim, m); err == nil {
		return []string{u.Name}
	}
	if dim == units.Resistance { // m and M of ohms are told apart by their case
		switch strings.ReplaceAll(strings.ReplaceAll(m, "Ω", "ohm"), "Ω", "ohm") {
		case "mohm", "mohms", "milliohm", "milliohms":
			return []string{"mohm"}
		}
	}
	return nil
}

// fold is a mark in lower case without the sign of a degree, dots and spaces.
func fold(m string) string {
	m = strings.ToLower(m)
	return strings.NewReplacer("°", "", " ", "", ".", "", "\u2126", "ω").Replace(m)
}

// coin drops the signs of money: the job has one currency.
func coin(t string) string {
	words := strings.Fields(strings.NewReplacer("$", " ", "€", " ", "£", " ").Replace(t))
	words = slices.DeleteFunc(words, func(w string) bool {
		return slices.Contains([]string{"usd", "us", "cad", "eur", "dollars", "dollar"}, strings.ToLower(w))
	})
	return strings.Join(words, " ")
}

// mixed reads pounds with ounces and feet with inches.
func mixed(t string, dim units.Dimension) ([]Value, bool) {
	type pair struct {
		big, small map[string]bool
		bigUnit    string
		per        float64
	}
	set := func(s string) map[string]bool {
		m := map[string]bool{}
		for w := range strings.FieldsSeq(s) {
			m[w] = true
		}
		return m
	}
	var p pair
	switch dim {
	case units.Mass:
		p = pair{set("lb lbs pound pounds #"), set("oz ounce ounces"), "oz", 16}
	case units.Length:
		p = pair{set("ft feet foot '"), set(`in inch inches "`), "ft", 12}
	default:
		return nil, false
	}
	a, rest := splitUnit(t)
	if rest == "" {
		return nil, false
	}
	i := strings.IndexAny(rest, "0123456789")
	if i < 0 || !p.big[fold(strings.TrimSpace(rest[:i]))] {
		return nil, false
	}
	b, mark := splitUnit(rest[i:])
	if mark != "" && !p.small[fold(mark)] {
		return nil, false
	}
	big, err1 := one(a)
	small, err2 := one(b)
	if err1 != nil || err2 != nil || len(big) != 1 || len(small) != 1 || big[0] < 0 || small[0] < 0 || small[0] >= p.per {
		return nil, false
	}
	x := big[0] + small[0]/p.per
	if p.bigUnit == "oz" {
		x = big[0]*p.per + small[0]
	}
	return []Value{{x, x, p.bigUnit}}, true
}
