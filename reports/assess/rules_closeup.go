package assess

import (
	"fmt"

	"retrostage/reports/record"
	"retrostage/thermo/units"
)

var closeUp = []definition{
	testLimit,
	testReach,
	holdTime,
	pressureHold,
	holdSmallest,
	holdWait,
	{key: "vacuum_final", label: "Vacuum, pump valved off", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		limit: "vacuum_final", relation: asRead(record.VacuumFinal, "as read")},
	{key: "vacuum_hold", label: "Vacuum at the end of the hold", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		limit: "vacuum_hold", only: longEnough, relation: asRead(record.VacuumEnd, "as read")},
	vacuumWord,
	evacuationThinned,
	pullDown,
	recoveryFill,
	{key: "recovery_level", label: "Evacuation level reached", step: record.CloseUp, group: "Recovery", dim: units.Pressure,
		limit: "recovery_level", applies: entered(record.RecoveryLevel), relation: asRead(record.RecoveryLevel, "as read")},
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
