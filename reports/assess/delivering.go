package assess

import (
	"fmt"
	"math"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/air"
	"retrostage/thermo/circuit"
	"retrostage/thermo/compressor"
	"retrostage/thermo/units"
)

const qDeliver = "Is it delivering?"

// compMap is the compressor's map of the record: nil without an error while it is
// not given.
func (c *context) compMap() (*compressor.Map, error) {
	if c.job.Text(record.MapMassFlow) == "" {
		return nil, nil
	}
	m := &compressor.Map{Temp: compressor.Fahrenheit, Source: "as entered"}
	flow := compressor.LbPerH
	switch c.job.Text(record.MapUnits) {
	case "F, lb/h, W":
	case "C, kg/h, W":
		m.Temp, flow = compressor.Celsius, compressor.KgPerH
	default:
		return nil, fmt.Errorf("pick the units of the map in Match")
	}
	for _, q := range []struct {
		key  record.Key
		to   **compressor.Curve
		unit compressor.Scale
	}{{record.MapMassFlow, &m.Mass, flow}, {record.MapPower, &m.Power, compressor.Watt}, {record.MapCurrent, &m.Current, compressor.Ampere}} {
		text := c.job.Text(q.key)
		if text == "" {
			continue
		}
		p, err := coefficients(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", q.key.Label(), err)
		}
		*q.to = &compressor.Curve{C: p, Unit: q.unit}
	}
	if m.Power == nil {
		return nil, fmt.Errorf("enter the map's power beside its mass flow (Match)")
	}
	if r := c.reading(record.MapSuperheat); r != nil {
		m.Basis.Superheat = r.si
	}
	if r := c.reading(record.MapReturnGas); r != nil {
		m.Basis.ReturnGas = r.si
	}
	if _, err := m.Basis.SuctionT(200); err != nil {
		return nil, fmt.Errorf("enter either the suction superheat or the return gas temperature of the map (Match)")
	}
	w := c.lim.Map
	u, err := units.Lookup(units.Temperature, w.Unit)
	if err != nil {
		return nil, err
	}
	si := func(x float64) float64 { return u.ToSI(x, 0) }
	m.Envelope = compressor.Rectangle(si(w.SuctionLow), si(w.SuctionHigh), si(w.DischargeLow), si(w.DischargeHigh))
	return m, nil
}

// coefficients reads ten numbers apart by space, semicolon or line end.
func coefficients(text string) (compressor.Poly, error) {
	var p compressor.Poly
	words := strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == ' ' || r == '\t' || r == '\n' || r == '\r' })
	if len(words) != len(p) {
		return p, fmt.Errorf("%d coefficients; a map has %d", len(words), len(p))
	}
	for i, w := range words {
		x, err := units.Number(strings.Trim(w, ","))
		if err != nil {
			return p, fmt.Errorf("coefficient %d: %w", i+1, err)
		}
		p[i] = x
	}
	return p, nil
}

func mapGiven(c *context) bool   { return c.job.Text(record.MapMassFlow) != "" }
func noMap(c *context) bool      { return !mapGiven(c) }
func meterGiven(c *context) bool { return c.reading(record.InputPower) != nil }
func noMeter(c *context) bool    { return !meterGiven(c) }
func both(a, b func(*context) bool) func(*context) bool {
	return func(c *context) bool { return a(c) && b(c) }
}
func currentGiven(c *context) bool { return mapGiven(c) && c.job.Text(record.MapCurrent) != "" }

// rate is the map at suction p1, t1 and discharge p2, memoised: many findings ask
// at the same points.
func (c *context) rate(p1, t1, p2 float64) (compressor.Expected, error) {
	return remember(c, memoKey{memoRate, p1, t1, p2}, func() (compressor.Expected, error) {
		if c.fluid == nil {
			return compressor.Expected{}, fmt.Errorf("pick the refrigerant in Intake first")
		}
		m, err := c.compMap()
		if err != nil {
			return compressor.Expected{}, err
		}
		return m.Rate(c.fluid, p1, t1, p2)
	})
}

// enthalpy of a single-phase state, J/kg, memoised.
func (c *context) enthalpy(t, p float64) (float64, error) {
	return remember(c, memoKey{memoGas, t, p, 0}, func() (float64, error) {
		if c.fluid == nil {
			return 0, fmt.Errorf("pick the refrigerant in Intake first")
		}
		return c.fluid.EnthalpyTP(t, p)
	})
}

// electrical is the compressor's power. Each way to know it is a list of needs
// with what makes watts of them.
type electrical struct {
	needs []need
	watts func(c *context, x []float64) (float64, error)
	words string
}

// three is the factor of a three-phase supply, and the assumed power factor's key.
func (c *context) phases() float64 {
	if p := c.job.Text(record.Phases); p != "" && p != record.PhaseSingle {
		return math.Sqrt(3)
	}
	return 1
}

var byMeter = electrical{
	needs: []need{is(record.InputPower), maybe(record.SupplyVoltage), maybe(record.FanCurrent), other("assumed/fan_power_factor")},
	words: "P of the unit - V I cos φ of the fan",
	watts: func(_ *context, x []float64) (float64, error) {
		if fan := x[1] * x[2] * x[3]; !math.IsNaN(fan) {
			return x[0] - fan, nil
		}
		return x[0], nil
	},
}

var byClamp = electrical{
	needs: []need{is(record.SupplyVoltage), is(record.RunCurrent), other("assumed/power_factor"), other("assumed/power_factor_three")},
	words: "V I cos φ (√3 if three phases)",
	watts: func(c *context, x []float64) (float64, error) {
		pf := x[2]
		if c.phases() > 1 {
			pf = x[3]
		}
		w, err := circuit.PowerAC(x[0], x[1], pf)
		return w * c.phases(), err
	},
}

var (
	lowSide = is(record.SuctionPressure)
	hiSide  = is(record.DischargePressure, record.LiquidPressure)
)

// balanced is the mass flow by the compressor's own heat balance: what it draws,
// less what its shell gives off, leaves with the gas. x holds suction p and T,
// discharge p and T, the shell's share, then what e needs.
func balanced(c *context, e electrical, x []float64) (float64, error) {
	h1, err := c.enthalpy(x[1], x[0])
	if err != nil {
		return 0, fmt.Errorf("suction: %w", err)
	}
	h2, err := c.enthalpy(x[3], x[2])
	if err != nil {
		return 0, fmt.Errorf("discharge: %w", err)
	}
	w, err := e.watts(c, x[5:])
	if err != nil {
		return 0, err
	}
	if !(h2 > h1) || !(w > 0) {
		return 0, fmt.Errorf("the discharge gas holds no more than the suction gas, or no power is drawn")
	}
	return w * (1 - x[4]) / (h2 - h1), nil
}

func balanceNeeds(e electrical) []need {
	return append([]need{lowSide, is(record.SuctionTemp), hiSide, is(record.DischargeTemp), other("assumed/shell_loss")}, e.needs...)
}

var mapNeeds = []need{lowSide, is(record.SuctionTemp), hiSide, other("assumed/map")}

// flowBy is a way to know the refrigerant's mass flow.
type flowBy struct {
	applies func(*context) bool
	needs   []need
	eval    func(c *context, x []float64) (float64, error)
	words   string
	e       electrical
}

var flows = []flowBy{
	{applies: both(mapGiven, meterGiven), needs: mapNeeds, eval: byMap, words: "m by the map", e: byMeter},
	{applies: both(mapGiven, noMeter), needs: mapNeeds, eval: byMap, words: "m by the map", e: byClamp},
	{applies: both(noMap, meterGiven), needs: balanceNeeds(byMeter), words: "m by the compressor's heat balance", e: byMeter,
		eval: func(c *context, x []float64) (float64, error) { return balanced(c, byMeter, x) }},
	{applies: both(noMap, noMeter), needs: balanceNeeds(byClamp), words: "m by the compressor's heat balance", e: byClamp,
		eval: func(c *context, x []float64) (float64, error) { return balanced(c, byClamp, x) }},
}

func byMap(c *context, x []float64) (float64, error) {
	e, err := c.rate(x[0], x[1], x[2])
	return e.Mass * x[3], err
}

// cooling is the refrigerant's side: x begins with suction p and T and discharge
// p, and ends with liquid p and T.
func cooling(c *context, f flowBy, x []float64) (float64, error) {
	n := len(f.needs)
	m, err := f.eval(c, x[:n])
	if err != nil {
		return 0, err
	}
	h1, err := c.enthalpy(x[1], x[0])
	if err != nil {
		return 0, fmt.Errorf("suction: %w", err)
	}
	h3, err := c.enthalpy(x[n+1], x[n])
	if err != nil {
		return 0, fmt.Errorf("liquid: %w", err)
	}
	return m * (h1 - h3), nil
}

var airNeeds = []need{is(record.Airflow), is(record.ReturnDB), is(record.ReturnWB), is(record.SupplyDB), is(record.SupplyWB), other(siteKey)}

// airTotal is the air's side with both wet bulbs. The air flow is counted at the
// return air's density.
func airTotal(x []float64) (float64, error) {
	in, err := air.FromWetBulb(x[1], x[2], x[5])
	if err != nil {
		return 0, fmt.Errorf("return air: %w", err)
	}
	out, err := air.FromWetBulb(x[3], x[4], x[5])
	if err != nil {
		return 0, fmt.Errorf("supply air: %w", err)
	}
	return air.Cooling(x[0]/in.V(), in, out), nil
}

func airSensible(x []float64) (float64, error) {
	w := 0.0
	if !math.IsNaN(x[2]) {
		s, err := air.FromWetBulb(x[1], x[2], x[4])
		if err != nil {
			return 0, fmt.Errorf("return air: %w", err)
		}
		w = s.W
	}
	in, err := air.Moist(x[1], w, x[4])
	if err != nil {
		return 0, fmt.Errorf("return air: %w", err)
	}
	return air.Sensible(x[0]/in.V(), in, air.State{T: x[3], P: x[4], W: w}), nil
}

// delivering lists what the compressor should do here and now, what it does, and
// what comes of it. Findings that can be known in several ways stand once for
// each; only one applies.
var delivering = deliveringRules()

func deliveringRules() []rule {
	run := record.Running
	cat := func(a []need, b ...need) []need { return append(append([]need{}, a...), b...) }
	rs := []rule{
		{key: "log_steady", label: "Steady in the log for", step: run, group: qConditions, dim: units.Duration,
			applies: func(c *context) bool { c.readLogsOnce(); return c.steadily.any }, formula: "longest stretch of the log whose slope and scatter stay small", needs: []need{},
			eval: func(c *context, _ []float64) (float64, error) { return c.steadily.longer, nil }},
		{key: "subcooling_valve", label: "Subcooling at the metering device", step: run, group: qCharge, dim: units.TempDiff,
			applies: func(c *context) bool { return c.reading(record.LineRise) != nil },
			formula: "T bubble(p liquid - ρ g rise - friction) - T liquid line; friction by Petukhov in the liquid line, flow by the nominal capacity, drier not counted",
			needs:   []need{is(record.LiquidPressure), is(record.LiquidTemp), is(record.LineRise), is(record.LineLength), is(record.LineOD), is(record.LineWall), is(record.NominalCapacity), lowSide, is(record.SuctionTemp), other("assumed/friction")},
			eval:    atValve},
		{key: "flow_expected", label: "Mass flow that the map expects here", step: run, group: qPump, dim: units.MassFlow, applies: mapGiven,
			formula: "map at these pressures x (1 + 0.75 (v map / v - 1))", needs: mapNeeds, eval: byMap},
		{key: "power_expected", label: "Power that the map expects here", step: run, group: qPump, dim: units.Power, applies: mapGiven,
			formula: "map x mass flow factor x isentropic rise / isentropic rise of the map", needs: mapNeeds,
			eval: func(c *context, x []float64) (float64, error) {
				e, err := c.rate(x[0], x[1], x[2])
				return e.Power * x[3], err
			}},
		{key: "current_deviation", label: "Current against the map", step: run, group: qPump, dim: units.Percent, applies: currentGiven,
			formula: "I / I map - 1", needs: cat(mapNeeds, is(record.RunCurrent)),
			eval: func(c *context, x []float64) (float64, error) {
				e, err := c.rate(x[0], x[1], x[2])
				return x[4]/(e.Current*x[3]) - 1, err
			}, target: zero},
	}
	for _, w := range []struct {
		applies func(*context) bool
		e       electrical
	}{{meterGiven, byMeter}, {noMeter, byClamp}} {
		rs = append(rs,
			rule{key: "power_drawn", label: "Power drawn by the compressor", step: run, group: qPump, dim: units.Power, applies: w.applies, formula: w.e.words, needs: w.e.needs, eval: w.e.watts},
			rule{key: "power_deviation", label: "Power against the map", step: run, group: qPump, dim: units.Percent, applies: both(mapGiven, w.applies),
				formula: "(" + w.e.words + ") / P map - 1", needs: cat(mapNeeds, w.e.needs...),
				eval: func(c *context, x []float64) (float64, error) {
					e, err := c.rate(x[0], x[1], x[2])
					if err != nil {
						return 0, err
					}
					p, err := w.e.watts(c, x[4:])
					return p/(e.Power*x[3]) - 1, err
				}, target: zero},
			rule{key: "flow_balance", label: "Mass flow by the compressor's heat balance", step: run, group: qPump, dim: units.MassFlow, applies: w.applies,
				formula: "P (1 - shell's share) / (h discharge - h suction)", needs: balanceNeeds(w.e),
				eval: func(c *context, x []float64) (float64, error) { return balanced(c, w.e, x) }},
			rule{key: "flow_deviation", label: "Mass flow against the map", step: run, group: qPump, dim: units.Percent, applies: both(mapGiven, w.applies),
				formula: "m by heat balance / m by the map - 1", needs: cat(balanceNeeds(w.e), other("assumed/map")),
				eval: func(c *context, x []float64) (float64, error) {
					n := len(x) - 1
					m, err := balanced(c, w.e, x[:n])
					if err != nil {
						return 0, err
					}
					e, err := c.rate(x[0], x[1], x[2])
					return m/(e.Mass*x[n]) - 1, err
				}, target: zero})
	}
	rs = append(rs,
		rule{key: "capacity_air", label: "Cooling by the air, total", step: run, group: qDeliver, dim: units.Capacity, formula: "(V / v) (h return - h supply), less the condensate's heat; air flow at return density", needs: airNeeds,
			eval: func(_ *context, x []float64) (float64, error) { return airTotal(x) }},
		rule{key: "capacity_sensible", label: "Cooling by the air, sensible", step: run, group: qDeliver, dim: units.Capacity, formula: "(V / v) cp (T return - T supply); air flow at return density",
			needs: []need{is(record.Airflow), is(record.ReturnDB), maybe(record.ReturnWB), is(record.SupplyDB), other(siteKey)},
			eval:  func(_ *context, x []float64) (float64, error) { return airSensible(x) }})
	for _, f := range flows {
		n := len(f.needs)
		needs := cat(f.needs, is(record.LiquidPressure), is(record.LiquidTemp))
		rs = append(rs,
			rule{key: "capacity_refrigerant", label: "Cooling by the refrigerant", step: run, group: qDeliver, dim: units.Capacity, applies: f.applies,
				formula: f.words + " x (h suction - h liquid)", needs: needs,
				eval: func(c *context, x []float64) (float64, error) { return cooling(c, f, x) }},
			rule{key: "eer_refrigerant", label: "Cooling by the refrigerant per compressor power", step: run, group: qDeliver, dim: units.Efficiency, applies: f.applies,
				formula: "Q refrigerant / P compressor; fans not counted", needs: cat(needs, f.e.needs...),
				eval: func(c *context, x []float64) (float64, error) {
					q, err := cooling(c, f, x[:n+2])
					if err != nil {
						return 0, err
					}
					p, err := f.e.watts(c, x[n+2:])
					if err != nil {
						return 0, err
					}
					return circuit.Efficiency(q, p)
				}},
			rule{key: "eer_air", label: "Cooling by the air per compressor power", step: run, group: qDeliver, dim: units.Efficiency, applies: f.applies,
				formula: "Q air / P compressor; fans not counted", needs: cat(airNeeds, f.e.needs...),
				eval: func(c *context, x []float64) (float64, error) {
					q, err := airTotal(x[:len(airNeeds)])
					if err != nil {
						return 0, err
					}
					p, err := f.e.watts(c, x[len(airNeeds):])
					if err != nil {
						return 0, err
					}
					return circuit.Efficiency(q, p)
				}},
			rule{key: "sides_agree", label: "Air's cooling against the refrigerant's", step: run, group: qDeliver, dim: units.Percent, applies: f.applies,
				formula: "Q air / Q refrigerant - 1", needs: cat(cat(needs, airNeeds...), other("assumed/other_heat")),
				eval: func(c *context, x []float64) (float64, error) {
					q, err := cooling(c, f, x[:n+2])
					if err != nil {
						return 0, err
					}
					a, err := airTotal(x[n+2 : len(x)-1])
					if err == nil && !(q > 0) {
						err = fmt.Errorf("the refrigerant takes up no heat by these readings")
					}
					return a/(q*x[len(x)-1]) - 1, err
				}, target: zero})
	}
	return rs
}

// liquidMu is the viscosity of liquid refrigerant near 35 C, Pa s: about 1.2e-4
// for the blends in use (from memory). A smooth tube's friction goes with its
// fifth root or so, and the assumed doubt of friction covers it.
const liquidMu = 1.2e-4

func atValve(c *context, x []float64) (float64, error) {
	h1, err := c.enthalpy(x[8], x[7])
	if err != nil {
		return 0, fmt.Errorf("suction: %w", err)
	}
	h3, err := c.enthalpy(x[1], x[0])
	if err != nil {
		return 0, fmt.Errorf("liquid: %w", err)
	}
	bore := x[4] - 2*x[5]
	l := circuit.Line{Rise: -x[2], Length: x[3], Bore: bore, MassFlow: x[6] / (h1 - h3), Mu: liquidMu}
	a, err := l.Arrive(c.fluid, x[0], x[1])
	if err != nil {
		return 0, err
	}
	// The friction's own doubt scales it.
	t, err := c.fluid.BubbleT(x[0] - a.Head - a.Friction*x[9])
	return t - x[1], err
}
