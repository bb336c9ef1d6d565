package section

import (
	"slices"
	"strings"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

// inputDims are the dimensions of inputs that are no fields, by the beginning of
// their key.
var inputDims = []struct {
	key string
	dim units.Dimension
}{
	{"site", units.Barometric}, {"assumed/", units.Ratio}, {"vacuum_rise/", units.Vacuum}, {"target/", units.TempDiff},
}

// inputDim is the dimension of an input; ok is false where it is not known.
func inputDim(key string) (dim units.Dimension, ok bool) {
	if f, err := record.ByName(key); err == nil && f.Kind == record.Number {
		return f.Dim, true
	}
	for _, d := range inputDims {
		if strings.HasPrefix(key, d.key) {
			return d.dim, true
		}
	}
	return "", false
}

// Where the ways to compute come from, by what they take. The packages that
// compute cite the same beside their code.
const (
	byDefinition = "the formula is a definition, or arithmetic on the readings; it takes no table and no constant"
	byCopper     = "copper's resistance over temperature: 234.5 °C of IEC 60228"
	byInsulation = "halved for each 10 °C: IEEE 43-2013, approximate factor, from memory"
	byAltitude   = "standard atmosphere: ASHRAE Handbook Fundamentals 2017, chapter 1, as restated by a reference psychrometric library"
	byAir        = "moist air: ASHRAE Handbook Fundamentals 2017, chapter 1, as implemented in a reference psychrometric library; saturation by Hyland and Wexler 1983"
	byMap        = "map: ten coefficients in the form of AHRI 540; at another superheat by Dabiri and Rice 1981, as restated elsewhere, the paper was not read"
	byFriction   = "friction by Petukhov, from memory"
)

// method says where the way in which f is computed comes from, where that is
// not said with its limit.
func (s presenter) method(f assess.Finding) string {
	takes := func(keys ...record.Key) bool {
		return slices.ContainsFunc(f.Inputs, func(i assess.Input) bool {
			return slices.ContainsFunc(keys, func(k record.Key) bool { return k.String() == i.Key })
		})
	}
	assumes := func(key string) bool {
		return slices.ContainsFunc(f.Inputs, func(i assess.Input) bool { return i.Key == key })
	}
	var out []string
	say := func(when bool, t string) {
		if when {
			out = append(out, t)
		}
	}
	if f.Step == record.Running && takes(record.SuctionPressure, record.LiquidPressure, record.DischargePressure) && f.Key != "pressure_ratio" {
		if r, err := fluid.Get(s.fluid); err == nil {
			out = append(out, "properties of "+s.fluid+": "+strings.TrimSuffix(strings.TrimSpace(r.Info().Citation), "."))
		}
	}
	say(f.Step == record.Running && takes(record.ReturnWB, record.SupplyWB) || f.Key == "capacity_sensible", byAir)
	say(assumes("assumed/map"), byMap)
	say(assumes("assumed/friction"), byFriction)
	say(f.Key == "site_pressure", byAltitude)
	say(takes(record.WindingTemp) && takes(record.RCS, record.RCR), byCopper)
	say(takes(record.WindingTemp) && takes(record.Insulation), byInsulation)
	if out == nil {
		return Sentence(byDefinition)
	}
	return Sentence(strings.Join(out, "; "))
}

// What stands behind the numbers that have no strip of their own.
const (
	rankedBy = "Formula: p(readings | cause) by a normal law over all deviations at once, the mean over several severities; Bayes' rule over all causes and health. " +
		"From: the readings of this step and their doubts, the plate's capacity and target, the map where there is one; what they would be on a healthy unit by a model of one in this weather. " +
		"Method: the pattern of each cause by the program's own model of a machine; how often each cause turns up and how much healthy units differ are common practice, no source."
	drawnBy = "Formula: cooling is the map's mass flow times the rise of enthalpy from the liquid line to the suction line, the subcooling as found. " +
		"From: suction and discharge pressure, suction and liquid temperature; the strips above list each with its uncertainty. Uncertainties are about 95 %; both temperatures are dew temperatures. " +
		"Method: " + byMap + "."
)

// provenance is a line that says, once touched, where the numbers above it come
// from.
func (p *Pane) provenance(line, from string) *widget.Notice {
	n := widget.NewNotice("unjudged", theme.Muted, []string{line}, []string{from})
	n.OnResize = p.reflow
	return n
}
