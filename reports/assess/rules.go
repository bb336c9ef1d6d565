package assess

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/charge"
	"retrostage/thermo/circuit"
	"retrostage/thermo/fluid"
	"retrostage/thermo/target"
	"retrostage/thermo/units"
	"retrostage/thermo/vacuum"
	"retrostage/wiring/supply"
)

// The groups of the running check are the questions it answers.
const (
	qConditions = "Do the conditions allow a check?"
	qCharge     = "Is it charged right?"
	qAir        = "Does air move?"
	qPump       = "Is the compressor pumping?"
)

func fixed(c *context) bool { return c.job.Text(record.Metering) == record.MeterFixed }

// withFluid guards a computation that needs the refrigerant.
func withFluid(f func(fl *fluid.Fluid, x []float64) (float64, error)) func(*context, []float64) (float64, error) {
	return func(c *context, x []float64) (float64, error) {
		if c.fluid == nil {
			return 0, fmt.Errorf("pick the refrigerant in Intake first")
		}
		return f(c.fluid, x)
	}
}

// rules lists every finding in the order in which it is shown. Where a
// published procedure is followed, the row of assets/limits cites it.
var rules = slices.Concat(electricalRules(), refrigerationRules)

// electricalRules stand in the order of the work: dead, then what stays against
// what comes, then live.
func electricalRules() []rule {
	live := slices.IndexFunc(readingRules, func(r rule) bool { return r.group == "Live checks" })
	return slices.Concat(readingRules[:live], deadRules, moreDeadRules, circuitRules, moreCircuitRules, readingRules[live:], liveRules, moreLiveRules)
}

// readingRules judge single electrical readings, the dead ones first.
var readingRules = []rule{
	{key: "winding_sum", label: "Windings: C to S plus C to R less S to R", step: record.Electrical, group: "Dead checks", dim: units.Resistance,
		formula: "R(C-S) + R(C-R) - R(S-R)", needs: []need{is(record.RCS), is(record.RCR), is(record.RSR)},
		eval:   func(_ *context, x []float64) (float64, error) { return x[0] + x[1] - x[2], nil },
		target: zero},
	{key: "insulation_25", label: "Windings to case", step: record.Electrical, group: "Dead checks", dim: units.Insulation,
		formula: "as read at the test voltage", needs: []need{is(record.Insulation)}, eval: asRead},
	{key: "cap_match", label: "Run capacitor: marking against requirement", step: record.Electrical, group: "Dead checks", dim: units.Capacitance,
		formula: "marking of the part fitted, around what the compressor needs", needs: []need{is(record.CapFitted)}, eval: asRead,
		target: statedTarget(record.CapRating)},
	{key: "cap_meter", label: "Run capacitor by meter", step: record.Electrical, group: "Dead checks", dim: units.Capacitance,
		formula: "as read, against rating and tolerance class", needs: []need{is(record.CapMeter)}, eval: asRead,
		target: statedTarget(record.CapRating)},
	{key: "supply_voltage", label: "Supply voltage, running", step: record.Electrical, group: "Live checks", dim: units.Voltage,
		formula: "as read, against the rated voltage", needs: []need{is(record.SupplyVoltage)}, eval: asRead,
		target: statedTarget(record.RatedVoltage)},
	{key: "run_current", label: "Compressor current", step: record.Electrical, group: "Live checks", dim: units.Current,
		formula: "as read, against RLA", needs: []need{is(record.RunCurrent)}, eval: asRead},
	{key: "cap_underload", label: "Run capacitor under load", step: record.Electrical, group: "Live checks", dim: units.Capacitance,
		formula: "C = I / (2 π f V)", needs: []need{is(record.CapCurrent), is(record.CapVolts), is(record.RatedFrequency)},
		eval: func(_ *context, x []float64) (float64, error) {
			return supply.Capacitance(x[0], x[1], x[2])
		},
		target: statedTarget(record.CapRating)},
	{key: "fan_current", label: "Outdoor fan current", step: record.Electrical, group: "Live checks", dim: units.Current,
		formula: "as read, against full-load current", needs: []need{is(record.FanCurrent)}, eval: asRead},
	{key: "control_voltage", label: "Control voltage, contactor in", step: record.Electrical, group: "Live checks", dim: units.Voltage,
		formula: "as read", needs: []need{is(record.ControlVoltage)}, eval: asRead},
}

var refrigerationRules = []rule{
	// Close-up
	{key: "pressure_hold", label: "Nitrogen hold, corrected for temperature", step: record.CloseUp, group: "Pressure test", dim: units.PressDiff,
		formula: "p2 - p1 T2 / T1, absolute", needs: []need{is(record.TestP1), is(record.TestT1), is(record.TestP2), is(record.TestT2)},
		eval: func(_ *context, x []float64) (float64, error) {
			return vacuum.Change(x[0], x[1], x[2], x[3])
		},
		target: zero},
	{key: "vacuum_final", label: "Vacuum, pump valved off", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		formula: "as read", needs: []need{is(record.VacuumFinal)}, eval: asRead},
	{key: "vacuum_hold", label: "Vacuum at the end of the hold", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		formula: "as read", needs: []need{is(record.VacuumEnd)}, eval: asRead},
	{key: "vacuum_leak", label: "Rise by a steady leak, in 10 min", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		formula: "b x 10 min of p = a + b t + c (1 - exp(-t/τ)), fitted to the rise readings", needs: []need{other(riseLeak)}, eval: asRead},
	{key: "vacuum_moisture", label: "Rise that flattens: moisture, or refrigerant from oil", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		formula: "c of p = a + b t + c (1 - exp(-t/τ)), fitted to the rise readings", needs: []need{other(riseMoisture)}, eval: asRead},

	// Charge
	{key: "charge_expected", label: "Charge by plate and line set", step: record.Charge, group: "Build-up", dim: units.Mass,
		formula: "m = plate + (L - L included) A ρ + V drier ρ, liquid at 105 °F condensing, 10 °F subcooled",
		needs:   []need{is(record.TagCharge), is(record.LineLength), is(record.LineIncluded), is(record.LineOD), is(record.LineWall), maybe(record.DrierVolume)},
		eval: withFluid(func(f *fluid.Fluid, x []float64) (float64, error) {
			rho, err := charge.LiquidDensity(f)
			if err != nil {
				return 0, err
			}
			bore, err := charge.Bore(x[3], x[4])
			if err != nil {
				return 0, err
			}
			b := charge.Build{Plate: x[0], Length: x[1], Included: x[2], Bore: bore}
			if !math.IsNaN(x[5]) {
				b.Added = x[5]
			}
			return b.Total(rho)
		})},
	{key: "charge_weighed", label: "Charge weighed in, trim included", step: record.Charge, group: "Weighed", dim: units.Mass,
		formula: "weighed in + trimmed", needs: []need{is(record.WeighedIn), maybe(record.Trimmed)},
		eval: func(_ *context, x []float64) (float64, error) {
			if math.IsNaN(x[1]) {
				return x[0], nil
			}
			return x[0] + x[1], nil
		}},
	{key: "label_error", label: "Label less charge weighed", step: record.Charge, group: "Label", dim: units.Mass,
		formula: "label - (weighed in + trimmed)", needs: []need{is(record.LabelCharge), is(record.WeighedIn), maybe(record.Trimmed)},
		eval: func(_ *context, x []float64) (float64, error) {
			if math.IsNaN(x[2]) {
				return x[0] - x[1], nil
			}
			return x[0] - x[1] - x[2], nil
		},
		target: zero},

	// Running check
	{key: "site_pressure", label: "Air pressure of the site", step: record.Running, group: qConditions, dim: units.Barometric,
		formula: "barometer; else the standard atmosphere at the altitude", needs: []need{other(siteKey)}, eval: asRead},
	{key: "outdoor_window", label: "Outdoor air for this check", step: record.Running, group: qConditions, dim: units.Temperature,
		formula: "as read", needs: []need{is(record.OutdoorTemp)}, eval: asRead},
	{key: "settled", label: "Ran without a break for", step: record.Running, group: qConditions, dim: units.Duration,
		formula: "as stated", needs: []need{is(record.SettleTime)}, eval: asRead},
	{key: "evaporating", label: "Evaporating temperature (dew)", step: record.Running, group: qCharge, dim: units.Temperature,
		formula: "T dew at the absolute suction pressure", needs: []need{is(record.SuctionPressure)},
		eval: withFluid(func(f *fluid.Fluid, x []float64) (float64, error) { return f.DewT(x[0]) })},
	{key: "condensing", label: "Condensing temperature (bubble)", step: record.Running, group: qCharge, dim: units.Temperature,
		formula: "T bubble at the absolute liquid pressure", needs: []need{is(record.LiquidPressure)},
		eval: withFluid(func(f *fluid.Fluid, x []float64) (float64, error) { return f.BubbleT(x[0]) })},
	{key: "superheat", label: "Superheat", step: record.Running, group: qCharge, dim: units.TempDiff,
		formula: "T suction line - T dew(p suction)", needs: []need{is(record.SuctionTemp), is(record.SuctionPressure)},
		eval: withFluid(func(f *fluid.Fluid, x []float64) (float64, error) {
			return circuit.Superheat(f, x[1], x[0])
		}),
		valid: func(c *context) string {
			if fixed(c) {
				return "with a fixed orifice superheat is held against its target, see the next line"
			}
			return c.conditions("subcooling")
		}},
	{key: "superheat_error", label: "Superheat less target", step: record.Running, group: qCharge, dim: units.TempDiff, applies: fixed,
		formula: "superheat - target superheat", needs: []need{is(record.SuctionTemp), is(record.SuctionPressure), is(record.TagSuperheat, record.ReturnWB), is(record.OutdoorTemp), other(doubtSuperheat)},
		eval: func(c *context, x []float64) (float64, error) {
			if c.fluid == nil {
				return 0, fmt.Errorf("pick the refrigerant in Intake first")
			}
			sh, err := circuit.Superheat(c.fluid, x[1], x[0])
			if err != nil {
				return 0, err
			}
			if c.reading(record.TagSuperheat) != nil {
				return sh - x[2], nil
			}
			tg, err := c.targetSuperheat(x[2], x[3])
			return sh - tg.Value - x[4], err
		},
		valid: func(c *context) string { return c.conditions("superheat") }},
	{key: "subcooling", label: "Subcooling", step: record.Running, group: qCharge, dim: units.TempDiff,
		formula: "T bubble(p liquid) - T liquid line", needs: []need{is(record.LiquidPressure), is(record.LiquidTemp)},
		eval: withFluid(func(f *fluid.Fluid, x []float64) (float64, error) {
			return circuit.Subcooling(f, x[0], x[1])
		}),
		target: func(c *context) (float64, string) {
			if fixed(c) {
				return 0, "with a fixed orifice the charge is judged by superheat"
			}
			if t := c.reading(record.TagSubcooling); t != nil {
				return t.si, ""
			}
			return 0, "enter the unit's own target subcooling: there is no general one"
		},
		valid: func(c *context) string { return c.conditions("subcooling") }},
	{key: "condensing_over_ambient", label: "Condensing over outdoor air", step: record.Running, group: qAir, dim: units.TempDiff,
		formula: "T bubble(p liquid) - T outdoor air", needs: []need{is(record.LiquidPressure), is(record.OutdoorTemp)},
		eval: withFluid(func(f *fluid.Fluid, x []float64) (float64, error) {
			t, err := f.BubbleT(x[0])
			return t - x[1], err
		})},
	{key: "approach", label: "Liquid line over outdoor air", step: record.Running, group: qAir, dim: units.TempDiff,
		formula: "T liquid line - T outdoor air", needs: []need{is(record.LiquidTemp), is(record.OutdoorTemp)},
		eval: func(_ *context, x []float64) (float64, error) { return x[0] - x[1], nil }},
	{key: "condenser_air_rise", label: "Rise of the outdoor air over the coil", step: record.Running, group: qAir, dim: units.TempDiff,
		formula: "T air leaving - T air entering", needs: []need{is(record.CondenserAirOut), is(record.OutdoorTemp)},
		eval: func(_ *context, x []float64) (float64, error) { return x[0] - x[1], nil }},
	{key: "temp_split", label: "Temperature split, return less supply", step: record.Running, group: qAir, dim: units.TempDiff,
		formula: "T return - T supply, dry bulb", needs: []need{is(record.ReturnDB), is(record.SupplyDB)},
		eval: func(_ *context, x []float64) (float64, error) { return x[0] - x[1], nil }},
	{key: "split_error", label: "Temperature split less target", step: record.Running, group: qAir, dim: units.TempDiff,
		formula: "(T return - T supply) - target(return dry bulb, wet bulb)", needs: []need{is(record.ReturnDB), is(record.SupplyDB), is(record.ReturnWB), other(doubtSplit)},
		eval: func(c *context, x []float64) (float64, error) {
			tg, err := c.targetSplit(x[0], x[2])
			return x[0] - x[1] - tg.Value - x[3], err
		},
		valid: func(c *context) string { return c.conditions("split") }},
	{key: "airflow_per_ton", label: "Indoor airflow per nominal ton", step: record.Running, group: qAir, dim: units.AirPerCap,
		formula: "airflow / nominal capacity", needs: []need{is(record.Airflow), is(record.NominalCapacity)},
		eval: func(_ *context, x []float64) (float64, error) {
			if x[1] <= 0 {
				return 0, fmt.Errorf("the nominal capacity must be above zero")
			}
			return x[0] / x[1], nil
		}},
	{key: "pressure_ratio", label: "Compression ratio", step: record.Running, group: qPump, dim: units.Ratio,
		formula: "p discharge / p suction, both absolute", needs: []need{is(record.DischargePressure, record.LiquidPressure), is(record.SuctionPressure)},
		eval: func(_ *context, x []float64) (float64, error) {
			if x[1] <= 0 {
				return 0, fmt.Errorf("the suction pressure is not above a perfect vacuum")
			}
			return x[0] / x[1], nil
		}},
	{key: "discharge_temp_line", label: "Discharge line temperature", step: record.Running, group: qPump, dim: units.Temperature,
		formula: "as read", needs: []need{is(record.DischargeTemp)}, eval: asRead},
	{key: "isentropic_efficiency", label: "Compression efficiency from temperatures", step: record.Running, group: qPump, dim: units.Percent,
		formula: "(h(p2, s1) - h1) / (h2 - h1)",
		needs:   []need{is(record.SuctionPressure), is(record.SuctionTemp), is(record.DischargePressure, record.LiquidPressure), is(record.DischargeTemp)},
		eval: withFluid(func(f *fluid.Fluid, x []float64) (float64, error) {
			return circuit.Isentropic(f, circuit.Reading{P: x[0], T: x[1]}, circuit.Reading{P: x[2], T: x[3]})
		})},
}

func asRead(_ *context, x []float64) (float64, error) { return x[0], nil }

func zero(*context) (float64, string) { return 0, "" }

// statedTarget puts the band around a stated value; for a capacitor the
// tolerance class widens it.
func statedTarget(key record.Key) func(*context) (float64, string) {
	return func(c *context) (float64, string) {
		if t := c.reading(key); t != nil {
			return t.si, ""
		}
		return 0, "no limit to hold it against: enter " + key.Label()
	}
}

// percent is the percentage picked for key.
func (c *context) percent(key record.Key) (float64, string) {
	p, err := strconv.ParseFloat(strings.TrimSuffix(c.job.Text(key), " %"), 64)
	if err != nil {
		return 0, "no limit to hold it against: pick " + key.Label()
	}
	return p, ""
}

// The doubt of a recalled target enters a finding as one more reading, of
// value zero, so that it is propagated, shared out and named like the others.
const (
	doubtSuperheat = "target/superheat"
	doubtSplit     = "target/split"
)

func (c *context) targetDoubt(key string) *reading {
	r := &reading{key: key, label: "Target itself", unit: units.Preferred(units.TempDiff, units.IP)}
	wb := c.reading(record.ReturnWB)
	var tg target.Target
	var err error
	switch {
	case key == doubtSuperheat && c.reading(record.TagSuperheat) != nil:
		r.doubt = "stated, taken as exact"
		return r
	case key == doubtSuperheat:
		if odb := c.reading(record.OutdoorTemp); wb != nil && odb != nil {
			tg, err = c.targetSuperheat(wb.si, odb.si)
		}
	default:
		if db := c.reading(record.ReturnDB); wb != nil && db != nil {
			tg, err = c.targetSplit(db.si, wb.si)
		}
	}
	if err == nil {
		r.u, r.doubt = tg.U, tg.Source+" ("+tg.Confidence+")"
	}
	return r
}

func (c *context) targetSplit(db, wb float64) (target.Target, error) {
	t, err := target.Load()
	if err != nil {
		return target.Target{}, err
	}
	return t.Split(db, wb)
}

// windowKeys maps the quantities of the condition windows to fields.
var windowKeys = map[string]record.Key{
	"outdoor dry bulb": record.OutdoorTemp, "return dry bulb": record.ReturnDB, "return wet bulb": record.ReturnWB,
}

// conditions tells which weather window of a check is not met.
func (c *context) conditions(check string) string {
	t, err := target.Load()
	if err != nil {
		return err.Error()
	}
	for _, w := range t.Windows(check) {
		r := c.reading(windowKeys[w.Quantity])
		if r == nil {
			continue
		}
		if err := w.Holds(r.si); err != nil {
			return err.Error()
		}
	}
	return ""
}

func (c *context) targetSuperheat(wb, odb float64) (target.Target, error) {
	t, err := target.Load()
	if err != nil {
		return target.Target{}, err
	}
	return t.Superheat(wb, odb)
}
