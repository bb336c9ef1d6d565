package assess

import (
	"fmt"
	"math"
	"slices"

	"retrostage/reports/record"
	"retrostage/thermo/air"
	"retrostage/thermo/circuit"
	"retrostage/thermo/compressor"
	"retrostage/thermo/units"
)

// What the compressor should do here and now, what it does, and what comes of it.

// The numbers of this file that nobody reads.
var (
	mapItself    = assumed("map")
	friction     = assumed("friction")
	shellLoss    = assumed("shell_loss")
	otherHeat    = assumed("other_heat")
	factorFan    = assumed("fan_power_factor")
	factorSingle = assumed("power_factor")
	factorThree  = assumed("power_factor_three")
)

// powerBy is a way to know the compressor's power.
type powerBy struct {
	applies func(*context) bool
	inputs  []input
	words   string
	from    []source
	watts   func(x *values) (float64, error)
}

var byMeter = powerBy{
	applies: meterGiven,
	inputs:  []input{is(record.InputPower), maybe(record.SupplyVoltage), maybe(record.FanCurrent), factorFan},
	words:   "P of the unit - V I cos φ of the fan",
	from:    []source{assumption(factorFan)},
	watts: func(x *values) (float64, error) {
		if fan := x.of(record.SupplyVoltage) * x.of(record.FanCurrent) * x.at(factorFan); !math.IsNaN(fan) {
			return x.of(record.InputPower) - fan, nil
		}
		return x.of(record.InputPower), nil
	},
}

var byClamp = powerBy{
	applies: noMeter,
	inputs:  []input{is(record.SupplyVoltage), is(record.RunCurrent), factorSingle, factorThree},
	words:   "V I cos φ (√3 if three phases)",
	from:    []source{assumption(factorSingle)},
	watts: func(x *values) (float64, error) {
		pf := x.at(factorSingle)
		if x.c.phases() > 1 {
			pf = x.at(factorThree)
		}
		w, err := circuit.PowerAC(x.of(record.SupplyVoltage), x.of(record.RunCurrent), pf)
		return w * x.c.phases(), err
	},
}

// assumption says that the relation takes a number which is assumed: it stands
// among the inputs, with its source.
func assumption(i input) source {
	return func(c *context) string {
		if r := c.input(i); r != nil {
			return "an assumed number, listed above: " + r.label
		}
		return ""
	}
}

// flowBy is a way to know the refrigerant's mass flow.
type flowBy struct {
	applies func(*context) bool
	inputs  []input
	words   string
	from    []source
	flow    func(x *values) (float64, error)
}

var mapInputs = []input{is(record.SuctionPressure), is(record.SuctionTemp), highSide, condenserDrop, mapItself}

var byMap = flowBy{
	applies: mapGiven, inputs: mapInputs, words: "m by the map", from: []source{properties, compressorMap},
	flow: func(x *values) (float64, error) {
		e, err := x.expected()
		return e.Mass * x.at(mapItself), err
	},
}

// byBalance is the mass flow by the compressor's own heat balance: what it draws,
// less what its shell gives off, leaves with the gas.
func byBalance(p powerBy) flowBy {
	return flowBy{
		applies: noMap, words: "m by the compressor's heat balance", from: slices.Concat([]source{properties}, p.from),
		inputs: all([]input{is(record.SuctionPressure), is(record.SuctionTemp), highSide, condenserDrop, is(record.DischargeTemp), shellLoss}, p.inputs),
		flow: func(x *values) (float64, error) {
			h1, err := x.enthalpy("suction", x.of(record.SuctionTemp), x.of(record.SuctionPressure))
			if err != nil {
				return 0, err
			}
			h2, err := x.enthalpy("discharge", x.of(record.DischargeTemp), x.high())
			if err != nil {
				return 0, err
			}
			w, err := p.watts(x)
			if err != nil {
				return 0, err
			}
			if !(h2 > h1) || !(w > 0) {
				return 0, fmt.Errorf("the discharge gas holds no more than the suction gas, or no power is drawn")
			}
			return w * (1 - x.at(shellLoss)) / (h2 - h1), nil
		},
	}
}

// cooling is the refrigerant's side with a known flow.
func (f flowBy) cooling(x *values) (float64, error) {
	m, err := f.flow(x)
	if err != nil {
		return 0, err
	}
	h1, err := x.enthalpy("suction", x.of(record.SuctionTemp), x.of(record.SuctionPressure))
	if err != nil {
		return 0, err
	}
	h3, err := x.enthalpy("liquid", x.of(record.LiquidTemp), x.of(record.LiquidPressure))
	if err != nil {
		return 0, err
	}
	return m * (h1 - h3), nil
}

// expected is what the map expects at these readings.
func (x *values) expected() (compressor.Expected, error) {
	if err := x.c.phase("suction"); err != nil {
		return compressor.Expected{}, err
	}
	return x.c.rate(x.of(record.SuctionPressure), x.of(record.SuctionTemp), x.high())
}

// enthalpy of the gas or liquid called what, J/kg.
func (x *values) enthalpy(what string, t, p float64) (float64, error) {
	if err := x.c.phase(what); err != nil {
		return 0, err
	}
	h, err := x.c.enthalpy(t, p)
	if err != nil {
		err = fmt.Errorf("%s: %w", what, err)
	}
	return h, err
}

var airInputs = []input{is(record.Airflow), is(record.ReturnDB), is(record.ReturnWB), is(record.SupplyDB), is(record.SupplyWB), site}

// airTotal is the air's side with both wet bulbs. The air flow is counted at the
// return air's density.
func airTotal(x *values) (float64, error) {
	in, err := air.FromWetBulb(x.of(record.ReturnDB), x.of(record.ReturnWB), x.at(site))
	if err != nil {
		return 0, fmt.Errorf("return air: %w", err)
	}
	out, err := air.FromWetBulb(x.of(record.SupplyDB), x.of(record.SupplyWB), x.at(site))
	if err != nil {
		return 0, fmt.Errorf("supply air: %w", err)
	}
	return air.Cooling(x.of(record.Airflow)/in.V(), in, out), nil
}

// airSensible is the air's side by dry bulbs alone, moist where the return wet
// bulb is known.
func airSensible(x *values) (float64, error) {
	w := 0.0
	if wb := x.of(record.ReturnWB); !math.IsNaN(wb) {
		s, err := air.FromWetBulb(x.of(record.ReturnDB), wb, x.at(site))
		if err != nil {
			return 0, fmt.Errorf("return air: %w", err)
		}
		w = s.W
	}
	in, err := air.Moist(x.of(record.ReturnDB), w, x.at(site))
	if err != nil {
		return 0, fmt.Errorf("return air: %w", err)
	}
	return air.Sensible(x.of(record.Airflow)/in.V(), in, air.State{T: x.of(record.SupplyDB), P: x.at(site), W: w}), nil
}

// per is an efficiency: cooling by q over the compressor's power.
func per(q func(x *values) (float64, error), p powerBy) func(x *values) (float64, error) {
	return func(x *values) (float64, error) {
		cool, err := q(x)
		if err != nil {
			return 0, err
		}
		w, err := p.watts(x)
		if err != nil {
			return 0, err
		}
		return circuit.Efficiency(cool, w)
	}
}

var delivering = slices.Concat(againstTheMap, byPower(byMeter), byPower(byClamp), airSide,
	byFlow(byMap, byMeter), byFlow(byMap, byClamp), byFlow(byBalance(byMeter), byMeter), byFlow(byBalance(byClamp), byClamp))

var againstTheMap = []definition{
	{key: "log_steady", label: "Steady in the log for", step: record.Running, group: qConditions, dim: units.Duration,
		applies: func(c *context) bool { c.readLogsOnce(); return c.steadily.any },
		limit:   "log_steady", relation: relation{
			words: "longest stretch of the log whose slope and scatter stay small", from: []source{steadiness},
			eval: func(x *values) (float64, error) { return x.c.steadily.longer, nil }}},
	{key: "subcooling_valve", label: "Subcooling at the metering device", step: record.Running, group: qCharge, dim: units.TempDiff,
		applies: func(c *context) bool { return c.reading(record.LineRise) != nil },
		limit:   "subcooling_valve", relation: relation{
			words: "T bubble(p liquid - ρ g rise - friction) - T liquid line; friction by Petukhov in the liquid line, flow by the nominal capacity, drier not counted",
			from:  []source{properties, petukhov},
			inputs: []input{is(record.LiquidPressure), is(record.LiquidTemp), is(record.LineRise), is(record.LineLength), is(record.LineOD), is(record.LineWall),
				is(record.NominalCapacity), is(record.SuctionPressure), is(record.SuctionTemp), friction},
			eval: atValve}},
	{key: "flow_expected", label: "Mass flow that the map expects here", step: record.Running, group: qPump, dim: units.MassFlow, applies: mapGiven,
		relation: relation{words: "map at these pressures x (1 + 0.75 (v map / v - 1))", from: byMap.from, inputs: mapInputs, eval: byMap.flow}},
	{key: "power_expected", label: "Power that the map expects here", step: record.Running, group: qPump, dim: units.Power, applies: mapGiven,
		relation: relation{
			words: "map x mass flow factor x isentropic rise / isentropic rise of the map", from: byMap.from, inputs: mapInputs,
			eval: func(x *values) (float64, error) {
				e, err := x.expected()
				return e.Power * x.at(mapItself), err
			}}},
	{key: "current_deviation", label: "Current against the map", step: record.Running, group: qPump, dim: units.Percent, applies: currentGiven,
		limit: "current_deviation", target: zero, relation: relation{
			words: "I / I map - 1", from: byMap.from, inputs: all(mapInputs, []input{is(record.RunCurrent)}),
			eval: func(x *values) (float64, error) {
				e, err := x.expected()
				return x.of(record.RunCurrent)/(e.Current*x.at(mapItself)) - 1, err
			}}},
}

// byPower are the findings that take the compressor's power.
func byPower(p powerBy) []definition {
	balance := byBalance(p)
	return []definition{
		{key: "power_drawn", label: "Power drawn by the compressor", step: record.Running, group: qPump, dim: units.Power, applies: p.applies,
			relation: relation{words: p.words, from: p.from, inputs: p.inputs, eval: p.watts}},
		{key: "power_deviation", label: "Power against the map", step: record.Running, group: qPump, dim: units.Percent, applies: both(mapGiven, p.applies),
			limit: "power_deviation", target: zero, relation: relation{
				words: "(" + p.words + ") / P map - 1", from: slices.Concat(byMap.from, p.from), inputs: all(mapInputs, p.inputs),
				eval: func(x *values) (float64, error) {
					e, err := x.expected()
					if err != nil {
						return 0, err
					}
					w, err := p.watts(x)
					return w/(e.Power*x.at(mapItself)) - 1, err
				}}},
		{key: "flow_balance", label: "Mass flow by the compressor's heat balance", step: record.Running, group: qPump, dim: units.MassFlow, applies: p.applies,
			relation: relation{words: "P (1 - shell's share) / (h discharge - h suction)", from: balance.from, inputs: balance.inputs, eval: balance.flow}},
		{key: "flow_deviation", label: "Mass flow against the map", step: record.Running, group: qPump, dim: units.Percent, applies: both(mapGiven, p.applies),
			limit: "flow_deviation", target: zero, relation: relation{
				words: "m by heat balance / m by the map - 1", from: slices.Concat(byMap.from, p.from), inputs: all(balance.inputs, []input{mapItself}),
				eval: func(x *values) (float64, error) {
					m, err := balance.flow(x)
					if err != nil {
						return 0, err
					}
					e, err := x.expected()
					return m/(e.Mass*x.at(mapItself)) - 1, err
				}}},
	}
}

var airSide = []definition{
	{key: "capacity_air", label: "Cooling by the air, total", step: record.Running, group: qDeliver, dim: units.Capacity,
		relation: relation{words: "(V / v) (h return - h supply), less the condensate's heat; air flow at return density", from: []source{moistAir}, inputs: airInputs, eval: airTotal}},
	{key: "capacity_sensible", label: "Cooling by the air, sensible", step: record.Running, group: qDeliver, dim: units.Capacity,
		relation: relation{words: "(V / v) cp (T return - T supply); air flow at return density", from: []source{moistAir},
			inputs: []input{is(record.Airflow), is(record.ReturnDB), maybe(record.ReturnWB), is(record.SupplyDB), site}, eval: airSensible}},
}

// byFlow are the findings that take the refrigerant's mass flow.
func byFlow(f flowBy, p powerBy) []definition {
	applies := both(f.applies, p.applies)
	inputs := all(f.inputs, []input{is(record.LiquidPressure), is(record.LiquidTemp)})
	return []definition{
		{key: "capacity_refrigerant", label: "Cooling by the refrigerant", step: record.Running, group: qDeliver, dim: units.Capacity, applies: applies,
			relation: relation{words: f.words + " x (h suction - h liquid)", from: f.from, inputs: inputs, eval: f.cooling}},
		{key: "eer_refrigerant", label: "Cooling by the refrigerant per compressor power", step: record.Running, group: qDeliver, dim: units.Efficiency, applies: applies,
			relation: relation{words: "Q refrigerant / P compressor; fans not counted", from: slices.Concat(f.from, p.from), inputs: all(inputs, p.inputs), eval: per(f.cooling, p)}},
		{key: "eer_air", label: "Cooling by the air per compressor power", step: record.Running, group: qDeliver, dim: units.Efficiency, applies: applies,
			relation: relation{words: "Q air / P compressor; fans not counted", from: slices.Concat([]source{moistAir}, p.from), inputs: all(airInputs, p.inputs), eval: per(airTotal, p)}},
		deliveredBy(f, applies, inputs),
		{key: "sides_agree", label: "Air's cooling against the refrigerant's", step: record.Running, group: qDeliver, dim: units.Percent, applies: applies,
			limit: "sides_agree", target: zero, relation: relation{
				words: "Q air / Q refrigerant - 1", from: slices.Concat(f.from, []source{moistAir}), inputs: all(inputs, airInputs, []input{otherHeat}),
				eval: func(x *values) (float64, error) {
					q, err := f.cooling(x)
					if err != nil {
						return 0, err
					}
					a, err := airTotal(x)
					if err == nil && !(q > 0) {
						err = fmt.Errorf("the refrigerant takes up no heat by these readings")
					}
					return a/(q*x.at(otherHeat)) - 1, err
				}}},
	}
}

// liquidMu is the viscosity of liquid refrigerant near 35 C, Pa s: about 1.2e-4
// for the blends in use (from memory). A smooth tube's friction goes with its
// fifth root or so, and the assumed doubt of friction covers it.
const liquidMu = 1.2e-4

func atValve(x *values) (float64, error) {
	h1, err := x.enthalpy("suction", x.of(record.SuctionTemp), x.of(record.SuctionPressure))
	if err != nil {
		return 0, err
	}
	h3, err := x.enthalpy("liquid", x.of(record.LiquidTemp), x.of(record.LiquidPressure))
	if err != nil {
		return 0, err
	}
	p, t := x.of(record.LiquidPressure), x.of(record.LiquidTemp)
	l := circuit.Line{Rise: -x.of(record.LineRise), Length: x.of(record.LineLength), Bore: x.of(record.LineOD) - 2*x.of(record.LineWall),
		MassFlow: x.of(record.NominalCapacity) / (h1 - h3), Mu: liquidMu}
	a, err := l.Arrive(x.c.fluid, p, t)
	if err != nil {
		return 0, err
	}
	// The friction's own doubt scales it.
	bubble, err := x.c.fluid.BubbleT(p - a.Head - a.Friction*x.at(friction))
	return bubble - t, err
}
