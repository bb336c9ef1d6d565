package assess

import (
	"fmt"
	"math"

	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/thermo/vacuum"
)

var closeUp = []definition{
	testLimit,
	testReach,
	{key: "pressure_hold", label: "Nitrogen hold, corrected for temperature", step: record.CloseUp, group: "Pressure test", dim: units.PressDiff,
		limit: "pressure_hold", target: zero,
		valid: func(c *context) string {
			if f, ok := c.judgedNow(testLimit); ok && f.Verdict == Outside {
				return "stop: the test pressure was above the lowest design pressure of what was connected"
			}
			if f, ok := c.judgedNow(testReach); ok && f.Verdict == Outside {
				return "the joints were not tested at what they see at rest: search for leaks at the unit's own pressure, at rest and running"
			}
			return ""
		},
		advice: func(c *context, f Finding) string {
			if r := c.reading(record.TestP1); f.Verdict == Within && r != nil {
				return "No loss larger than " + amount(r.unit.Span(math.Abs(f.Value)+f.Expanded()), r.unit) + " shown; one smaller would not have shown with these readings."
			}
			return ""
		},
		relation: relation{
			words: "p2 - p1 T2 / T1, absolute", from: []source{idealGas},
			inputs: []input{is(record.TestP1), is(record.TestT1), is(record.TestP2), is(record.TestT2)},
			eval: func(x *values) (float64, error) {
				return vacuum.Change(x.of(record.TestP1), x.of(record.TestT1), x.of(record.TestP2), x.of(record.TestT2))
			},
			sheet: "{abs:test_p2}-{abs:test_p1}*{si:test_t2}/{si:test_t1}"}},
	{key: "vacuum_final", label: "Vacuum, pump valved off", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		limit: "vacuum_final", relation: asRead(record.VacuumFinal, "as read")},
	{key: "vacuum_hold", label: "Vacuum at the end of the hold", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		limit: "vacuum_hold", relation: asRead(record.VacuumEnd, "as read")},
	{key: "vacuum_leak", label: "Rise by a steady leak, in 10 min", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		limit: "vacuum_leak", relation: fitted("b x 10 min of p = a + b t + c (1 - exp(-t/τ)), fitted to the rise readings", riseLeak)},
	{key: "vacuum_moisture", label: "Rise that flattens: moisture, or refrigerant from oil", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		limit: "vacuum_moisture", relation: fitted("c of p = a + b t + c (1 - exp(-t/τ)), fitted to the rise readings", riseMoisture)},
}

// fitted takes a constant of the curve fitted to the rise readings.
func fitted(words string, constant input) relation {
	return relation{words: words, from: []source{leastSquares}, inputs: []input{constant},
		eval: func(x *values) (float64, error) { return x.at(constant), nil }}
}

// testLimit and testReach are looked at by the hold, which says nothing where the test
// itself was not one.
var testLimit = definition{key: "test_limit", label: "Highest test pressure, against the lowest design pressure of what was connected", step: record.CloseUp, group: "Pressure test", dim: units.Pressure,
	limit: "test_limit",
	bounds: func(c *context) (Band, string) {
		r := c.lowestDesign()
		if r == nil {
			return Band{}, "no limit to hold it against: enter the design pressures on the plate"
		}
		p := r.si + c.site.si
		return Band{High: &p}, ""
	},
	relation: highestTest}

var testReach = definition{key: "test_reach", label: "Highest pressure the joints were tested at, against what they see at rest", step: record.CloseUp, group: "Pressure test", dim: units.Pressure,
	limit: "test_reach",
	bounds: func(c *context) (Band, string) {
		p, why := c.atRest()
		if why != "" {
			return Band{}, why
		}
		return Band{Low: &p}, ""
	},
	valid: func(c *context) string {
		switch c.job.Text(record.LeakSearch) {
		case record.LeakNone, record.LeakMended:
			return "a leak search was made at the unit's own pressure: " + c.job.Text(record.LeakSearch)
		}
		return ""
	},
	relation: highestTest}

// highestTest is the highest nitrogen pressure that was read.
var highestTest = relation{words: "the highest of the test pressures read, absolute", from: []source{arithmetic},
	inputs: []input{is(record.TestP1), maybe(record.TestP2), maybe(record.TestOutdoor)},
	eval: func(x *values) (float64, error) {
		p := x.of(record.TestP1)
		return max(p, x.or(record.TestP2, p), x.or(record.TestOutdoor, p)), nil
	},
	sheet: "MAX({test_p1},{?test_p2},{?test_outdoor})",
}

// lowestDesign is the lower of the design pressures on the plate; whatever was shut
// off from what, both sides meet in the outdoor unit, and lines and indoor coil have
// the low side's.
func (c *context) lowestDesign() *reading {
	lo, hi := c.reading(record.DesignLow), c.reading(record.DesignHigh)
	if lo == nil || hi != nil && hi.si < lo.si {
		return hi
	}
	return lo
}

// atRest is the pressure at which the joints of a charged unit stand, Pa absolute: as
// read, else saturated at the warmest air read. why says why it is not known.
func (c *context) atRest() (p float64, why string) {
	if r := c.reading(record.RestPressure); r != nil {
		return r.si + c.site.si, ""
	}
	if c.fluid == nil {
		return 0, errNoFluid.Error()
	}
	warmest := 0.0
	for _, k := range []record.Key{record.OutdoorTemp, record.TestT1, record.TestT2, record.RestTemp} {
		warmest = max(warmest, c.value(k))
	}
	if warmest == 0 {
		return 0, "the temperature of the air is not entered"
	}
	p, err := c.fluid.BubbleP(warmest)
	if err != nil {
		return 0, fmt.Sprintf("the pressure at rest cannot be told: %v", err)
	}
	return p, ""
}

// judgedNow is the finding of d; ok is false where it was not measured.
func (c *context) judgedNow(d definition) (f Finding, ok bool) {
	f, err := c.find(d)
	return f, err == nil && f.Measured
}
