package assess

import (
	"cmp"
	"fmt"
	"strings"

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
		limit: "vacuum_hold", only: func(c *context) string { return cmp.Or(longEnough(c), unasked(record.VacuumTime)(c)) }, relation: asRead(record.VacuumEnd, "as read")},
	vacuumWord,
	evacuationThinned,
	pullDown,
	recoveryFill,
	recoveryLevel,
	recoveredScale, recoveredTwice,
}

// recoveryLevel is judged against the air outside, which is what the level asked for is
// told against: both move with the site, and the site's own doubt drops out.
var recoveryLevel = definition{key: "recovery_level", label: "Evacuation level reached, above the air outside", step: record.CloseUp, group: "Recovery", dim: units.PressDiff,
	limit: "recovery_level", applies: entered(record.RecoveryLevel),
	advice: func(c *context, f Finding) string {
		r := c.reading(record.RecoveryLevel)
		if f.Verdict != TooClose || r == nil {
			return ""
		}
		return "At the level asked for within what the gauge can be off. Recover to " + c.span(-f.Expanded(), r.unit) + " or deeper, wait with the pump stopped, and read again."
	},
	relation: relation{words: "as read by gauge, below 0 for a vacuum", from: []source{said("a gauge reads from the air outside")}, inputs: []input{is(record.RecoveryLevel), site},
		eval:  func(x *values) (float64, error) { return x.of(record.RecoveryLevel) - x.at(site), nil },
		sheet: "{recovery_level}"}}

// recoveredScale holds what the recovery cylinder gained against what was entered as
// recovered.
var recoveredScale = definition{key: "recovered_scale", label: "Gained by the recovery cylinder, less what is entered as recovered", step: record.CloseUp, group: "Recovery", dim: units.Mass,
	limit: "recovered_scale", target: zero, applies: entered(record.RecoveryAfter),
	relation: relation{words: "cylinder after - before - recovered", from: []source{said("one scale's span acts on the difference alone")},
		inputs: []input{is(record.RecoveryBefore), is(record.RecoveryAfter), is(record.Recovered)},
		eval: func(x *values) (float64, error) {
			return x.of(record.RecoveryAfter) - x.of(record.RecoveryBefore) - x.of(record.Recovered), nil
		},
		sheet: "{recovery_after}-{recovery_before}-{recovered}"}}

// recoveredTwice holds one weighing entered in two steps against itself.
var recoveredTwice = definition{key: "recovered_twice", label: "Recovered from the unit, less the charge found in it by Cause", step: record.CloseUp, group: "Recovery", dim: units.Mass,
	limit: "recovered_twice", target: zero,
	applies: func(c *context) bool {
		return c.job.Text(record.CauseRecovered) != "" && c.job.Text(record.Recovered) != ""
	},
	relation: relation{words: "recovered - charge found", from: []source{said("one weighing, entered at two places")},
		inputs: []input{is(record.Recovered), is(record.CauseRecovered)},
		eval: func(x *values) (float64, error) {
			return x.of(record.Recovered) - x.of(record.CauseRecovered), nil
		},
		sheet: "{recovered}-{cause_recovered}"}}

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
	advice: func(c *context, f Finding) string {
		if f.Verdict == Outside {
			return strings.TrimSpace(c.lim.byFinding["test_limit"].words(f) + " " + c.noOnePressure())
		}
		return ""
	},
	relation: highestTest}

// noOnePressure says the way that is left where no pressure of nitrogen is both at or
// below the lowest design pressure and what the joints see at rest; "" where there is one.
// The outdoor unit apart is no way round: its suction side is behind the same valve.
func (c *context) noOnePressure() string {
	lo := c.lowestDesign()
	rest, why := c.atRest()
	if lo == nil || why != "" || lo.si+c.site.si >= rest {
		return ""
	}
	return fmt.Sprintf("No one test pressure does both: the lower design pressure is %s, and the charged unit stands at %s on a hot day. Hold at %[1]s or less; what that leaves open is searched at the unit's own pressure, at rest and running, once it is charged. That search does not hold the charge back. A higher test of one part only by the unit's instructions.",
		c.above(lo.si, lo.unit), c.above(rest-c.site.si, lo.unit))
}

// above is a pressure above the air's, in the unit of the reading where that belongs to
// the job's system.
func (c *context) above(si float64, of units.Unit) string {
	u := of.In(c.system)
	x := u.Span(si)
	if !u.Gauge {
		x = u.FromSI(si+c.site.si, c.site.si)
	}
	return fmt.Sprintf("%.0f %s", x, u.Label)
}

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
	advice: func(c *context, f Finding) string {
		if f.Verdict == Outside {
			return c.noOnePressure()
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

// highestTest is the highest nitrogen pressure that was read. That of the outdoor unit
// apart counts too: its suction side stood at it.
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
