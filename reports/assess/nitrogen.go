package assess

import (
	"fmt"
	"math"

	"retrostage/reports/record"
	"retrostage/thermo/hold"
	"retrostage/thermo/units"
)

var holdInputs = []input{is(record.TestP1), is(record.TestT1), is(record.TestP2), is(record.TestT2)}

// holdTime is how long the nitrogen stood: a short hold shows nothing, whatever the
// pressures say.
var holdTime = definition{key: "hold_time", label: "Nitrogen stood for", step: record.CloseUp, group: "Pressure test", dim: units.Duration,
	limit: "hold_time", only: unasked(record.TestTime), relation: asRead(record.TestTime, "as entered")}

var pressureHold = definition{key: "pressure_hold", label: "Nitrogen hold, corrected for temperature", step: record.CloseUp, group: "Pressure test", dim: units.PressDiff,
	limit: "pressure_hold", target: zero,
	valid: func(c *context) string {
		if f, ok := c.judgedNow(testLimit); ok && f.Verdict == Outside {
			return "stop: the test pressure was above the lowest design pressure of what was connected"
		}
		return ""
	},
	only: func(c *context) string {
		if w := unasked(record.TestTime)(c); w != "" {
			return w
		}
		if c.job.Text(record.TestValves) == record.ValvesShut && c.reading(record.TestOutdoor) == nil {
			return "the service valves were shut and no test of the outdoor unit is entered: its joints were not in this hold"
		}
		// A search at the unit's own pressure stands for what a hold could not reach, not for
		// one that was hardly made: half of it is a bound of this program.
		if f, ok := c.judgedNow(testReach); ok && f.Band.Low != nil && f.Value-c.site.si < 0.5*(*f.Band.Low-c.site.si) {
			return "held at less than half of what the joints see at rest: next to nothing was shown"
		}
		if f, ok := c.judgedNow(testReach); ok && f.Verdict != Within && !c.searched() {
			return notReached
		}
		if f, ok := c.judgedNow(testLimit); !ok || f.Verdict != Within {
			return "not shown to be within the lowest design pressure marked: enter the design pressures, or read the gauge closer"
		}
		if f, ok := c.judgedNow(holdTime); !ok {
			return "how long the nitrogen stood is not entered"
		} else if f.Verdict == Outside {
			return "too short to tell: let the nitrogen stand longer"
		}
		if from, to := c.reading(record.TestP1), c.reading(record.TestP2); from.from != to.from {
			return "the two pressures were read with different instruments: their difference shows neither loss nor none"
		}
		return ""
	},
	advice:   holdAdvice,
	relation: holdRelation}

// notReached is why a hold that lost nothing is not within. It does not keep the charge
// out: the search that settles it needs one.
const notReached = "the joints were not tested at what they see at rest: search for leaks at the unit's own pressure, at rest and running, once it is charged"

// holdBare is the hold without what is said of it.
var holdBare = definition{key: "pressure_hold", dim: units.PressDiff, limit: "pressure_hold", target: zero, relation: holdRelation}

var holdRelation = relation{
	words: "p2 less what nitrogen of the first density has at T2, absolute", from: []source{realNitrogen},
	inputs: holdInputs,
	eval: func(x *values) (float64, error) {
		a, b := holdReadings(x)
		return hold.Change(a, b)
	}}

func holdReadings(x *values) (a, b hold.Reading) {
	return hold.Reading{P: x.of(record.TestP1), T: x.of(record.TestT1)}, hold.Reading{P: x.of(record.TestP2), T: x.of(record.TestT2)}
}

// holdAdvice says what a hold without a loss has shown, and what it has not. A short
// one says so, whatever it shows.
func holdAdvice(c *context, f Finding) string {
	r := c.reading(record.TestP1)
	if f.Verdict != Within || r == nil {
		return ""
	}
	w := c.told(record.TestP2)
	if c.job.Text(record.TestValves) == "" {
		w += "The service valves are taken to have stood open, for nothing is entered. "
	}
	w += "No loss larger than " + c.span(math.Abs(f.Value)+f.Expanded(), r.unit) + " shown; one smaller would not have shown with these readings. "
	if s, ok := c.judgedNow(holdSmallest); ok {
		u := units.Preferred(units.LeakRate, c.system)
		return w + "A leak below about " + amount(u.FromSI(s.Value, 0), u) + " may be there: every joint is searched with bubbles and detector, and again at running pressure."
	}
	return w + "With field gauges that excludes a gross leak only: every joint is searched with bubbles and detector, and again at running pressure."
}

// told opens what is said of a wait whose readings were entered later than measured.
func (c *context) told(end record.Key) string {
	if !c.job.Later(end) {
		return ""
	}
	return "Entered later than measured: how long it stood is as told. "
}

// vapourViscosity is that of refrigerant vapour near room temperature, Pa s; those of
// the fluids here lie between 1.1 and 1.4e-5 (from memory).
const vapourViscosity = 1.25e-5

// holes are the ends of a leak, in the test and with the unit charged and at rest.
func (c *context) holes() (gas hold.Gas, run hold.Hole, err error) {
	p, why := c.standing()
	if why != "" {
		return gas, run, fmt.Errorf("%s", why)
	}
	t := c.value(record.TestT2)
	return hold.Gas{Molar: c.fluid.Info().MolarMass, Viscosity: vapourViscosity}, hold.Hole{Inside: p, Outside: c.site.si, T: t}, nil
}

var (
	leakWords  = said("Poiseuille's and Knudsen's flow through one hole, the larger taken; viscosity of the vapour from memory")
	leakInputs = all(holdInputs, []input{is(record.TestTime), is(record.FreeVolume)})
)

// smallest is the largest leak that may have gone unseen, kg/s.
func smallest(x *values) (float64, error) {
	f, ok := x.c.judgedNow(holdBare)
	if !ok || x.c.fluid == nil {
		return 0, fmt.Errorf("needs the hold and the refrigerant")
	}
	gas, run, err := x.c.holes()
	if err != nil {
		return 0, err
	}
	at, _ := holdReadings(x)
	r, err := hold.Smallest(x.of(record.FreeVolume), f.U, x.of(record.TestTime), at, x.c.site.si, gas, run)
	return r.High, err
}

var holdSmallest = definition{key: "hold_smallest", label: "Smallest leak that this hold could have seen", step: record.CloseUp, group: "Pressure test", dim: units.LeakRate,
	applies: entered(record.FreeVolume),
	advice:  func(*context, Finding) string { return "Anything smaller may be there." },
	relation: relation{words: "nitrogen that twice the doubt of the hold would be, as this refrigerant at rest", from: []source{realNitrogen, leakWords},
		inputs: leakInputs, eval: smallest}}

var holdWait = definition{key: "hold_wait", label: "How long the nitrogen has to stand for the leak sought", step: record.CloseUp, group: "Pressure test", dim: units.Duration,
	applies: entered(record.LeakSought),
	relation: relation{words: "time for the leak sought to lose twice the doubt of the hold", from: []source{realNitrogen, leakWords},
		inputs: all(leakInputs, []input{is(record.LeakSought)}),
		eval: func(x *values) (float64, error) {
			most, err := smallest(x)
			return most * x.of(record.TestTime) / x.of(record.LeakSought), err
		}}}
