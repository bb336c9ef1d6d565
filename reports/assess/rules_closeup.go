package assess

import (
	"cmp"
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
	only: func(c *context) string {
		if c.reading(record.DesignLow) == nil {
			return "the low side's design pressure is not entered, and is the lower one: enter it"
		}
		return ""
	},
	relation: highestTest}

var testReach = definition{key: "test_reach", label: "Pressure every joint was tested at, against what it sees at rest on a hot day", step: record.CloseUp, group: "Pressure test", dim: units.Pressure,
	limit: "test_reach",
	bounds: func(c *context) (Band, string) {
		p, why := c.atRest()
		if why != "" {
			return Band{}, why
		}
		return Band{Low: &p}, ""
	},
	valid: func(c *context) string {
		if c.searched() {
			return "a leak search was made at the unit's own pressure: " + c.job.Text(record.LeakSearch)
		}
		return ""
	},
	only: func(c *context) string {
		if c.job.Text(record.TestValves) == record.ValvesShut && c.reading(record.TestOutdoor) == nil {
			return "the service valves were shut and no test of the outdoor unit is entered: its joints were tested at nothing"
		}
		return ""
	},
	relation: eachTested}

// eachTested is the lower of the pressures that the parts were tested at: one where the
// service valves stood open, two where they were shut.
var eachTested = relation{words: "the lower of the pressures at which lines and outdoor unit were tested, absolute; the higher reading of a hold counts", from: []source{said("readings as they are; which of them count follows the service valves")},
	inputs: []input{is(record.TestP1), maybe(record.TestP2), maybe(record.TestOutdoor)},
	eval: func(x *values) (float64, error) {
		p := max(x.of(record.TestP1), x.or(record.TestP2, x.of(record.TestP1)))
		if x.c.job.Text(record.TestValves) == record.ValvesShut {
			p = min(p, x.or(record.TestOutdoor, p))
		}
		return p, nil
	}}

// highestTest is the highest nitrogen pressure that was read.
var highestTest = relation{words: "the highest of the test pressures read, absolute", from: []source{arithmetic},
	inputs: []input{is(record.TestP1), maybe(record.TestP2), maybe(record.TestOutdoor)},
	eval: func(x *values) (float64, error) {
		p := x.of(record.TestP1)
		return max(p, x.or(record.TestP2, p), x.or(record.TestOutdoor, p)), nil
	},
	sheet: "MAX({test_p1},{?test_p2},{?test_outdoor})",
}

// searched tells whether every joint was searched for leaks at the unit's own pressure.
func (c *context) searched() bool {
	s := c.job.Text(record.LeakSearch)
	n, _ := c.job.Index(record.LeakSearch)
	if at, charged := c.charged(); !charged || n < at {
		return false // at whose pressure?
	}
	return s == record.LeakNone || s == record.LeakMended
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

// atRest is the most at which the joints of a charged unit stand, Pa absolute: as today,
// or saturated at the air of the design day where that is more.
func (c *context) atRest() (p float64, why string) {
	if c.fluid == nil {
		return 0, errNoFluid.Error()
	}
	day := cmp.Or(c.value(record.DesignDay), hotDay)
	if p, err := c.fluid.BubbleP(day); err == nil {
		if now, why := c.standing(); why == "" {
			p = max(p, now)
		}
		return p, ""
	}
	return 0, fmt.Sprintf("the pressure at rest cannot be told at %.0f K", day)
}

// standing is the pressure at which the charged unit stands today, Pa absolute: as read,
// else saturated at the warmest air read. why says why it is not known.
func (c *context) standing() (p float64, why string) {
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

// hotDay is the air of the day on which a unit stands hottest, K, where no design day is
// entered: 95 F, as that field says.
const hotDay = (95 + 459.67) / 1.8

// judgedNow is the finding of d; ok is false where it was not measured.
func (c *context) judgedNow(d definition) (f Finding, ok bool) {
	f, err := c.find(d)
	return f, err == nil && f.Measured
}
