package assess

import (
	"cmp"
	"fmt"
	"math"

	"retrostage/reports/record"
	"retrostage/thermo/circuit"
	"retrostage/thermo/fluid"
	"retrostage/thermo/target"
	"retrostage/thermo/units"
)

// The groups of the running check are the questions it answers.
const (
	qConditions = "Do the conditions allow a check?"
	qCharge     = "Is it charged right?"
	qAir        = "Does air move?"
	qPump       = "Is the compressor pumping?"
	qDeliver    = "Is it delivering?"
)

// highSide is the pressure that the compressor works against; where it has no
// port of its own the liquid pressure stands in.
var highSide = either("high_side", record.DischargePressure, record.LiquidPressure)

// condenserDrop is what the discharge stands above the liquid, Pa; none where the
// discharge has a reading of its own.
var condenserDrop = input{name: "assumed/condenser_drop", optional: true, take: func(c *context) *reading {
	if c.reading(record.DischargePressure) != nil {
		return nil
	}
	return c.assume("condenser_drop")
}}

// high is the pressure that the compressor works against, Pa.
func (x *values) high() float64 {
	p := x.at(highSide)
	if d := x.at(condenserDrop); !math.IsNaN(d) {
		p += d
	}
	return p
}

// targetBasis is what the target superheat is known from: the instructions, else
// the weather.
var targetBasis = either("target_basis", record.TagSuperheat, record.ReturnWB)

// restSaturation holds the standing pressure against the refrigerant named.
var restSaturation = definition{key: "rest_saturation", label: "Standing: saturation of the pressure over the coil", step: record.Running, group: qCharge, dim: units.TempDiff,
	applies: func(c *context) bool { return c.reading(record.RestPressure) != nil },
	limit:   "rest_saturation", relation: relation{
		words: "T sat(p at rest) - T coil at rest; three tenths of the way from bubble to dew", from: []source{properties}, inputs: []input{is(record.RestPressure), is(record.RestTemp)},
		eval: withFluid(func(f *fluid.Fluid, x *values) (float64, error) {
			bubble, err := f.BubbleT(x.of(record.RestPressure))
			if err != nil {
				return 0, err
			}
			dew, err := f.DewT(x.of(record.RestPressure))
			return bubble + standingGas*(dew-bubble) - x.of(record.RestTemp), err
		})}}

var running = []definition{
	{key: "site_pressure", label: "Air pressure of the site", step: record.Running, group: qConditions, dim: units.Barometric,
		relation: relation{
			words: "barometer; else the standard atmosphere at the altitude", from: []source{atAltitude}, inputs: []input{site},
			eval: func(x *values) (float64, error) { return x.at(site), nil }, sheet: "{site}"}},
	{key: "outdoor_window", label: "Outdoor air for this check", step: record.Running, group: qConditions, dim: units.Temperature,
		limit: "outdoor_window", relation: asRead(record.OutdoorTemp, "as read")},
	{key: "settled", label: "Ran without a break for", step: record.Running, group: qConditions, dim: units.Duration,
		limit: "settled", only: unasked(record.SettleTime), relation: asRead(record.SettleTime, "as stated")},
	{key: "evaporating", label: "Evaporating temperature (dew)", step: record.Running, group: qCharge, dim: units.Temperature,
		limit: "evaporating", relation: relation{
			words: "T dew at the absolute suction pressure", from: []source{properties}, inputs: []input{is(record.SuctionPressure)},
			eval:  withFluid(func(f *fluid.Fluid, x *values) (float64, error) { return f.DewT(x.of(record.SuctionPressure)) }),
			sheet: "{sat:evaporating}"}},
	{key: "condensing", label: "Condensing temperature (bubble)", step: record.Running, group: qCharge, dim: units.Temperature,
		relation: relation{
			words: "T bubble at the absolute liquid pressure", from: []source{properties}, inputs: []input{is(record.LiquidPressure)},
			eval:  withFluid(func(f *fluid.Fluid, x *values) (float64, error) { return f.BubbleT(x.of(record.LiquidPressure)) }),
			sheet: "{sat:condensing}"}},
	{key: "superheat", label: "Superheat", step: record.Running, group: qCharge, dim: units.TempDiff,
		limit: "superheat", only: chargeShown,
		valid: func(c *context) string {
			if fixed(c) {
				return "with a fixed orifice superheat is held against its target, see the next line"
			}
			return cmp.Or(c.otherRefrigerant(), c.conditions("subcooling"))
		},
		relation: relation{
			words: "T suction line - T dew(p suction)", from: []source{properties}, inputs: []input{is(record.SuctionTemp), is(record.SuctionPressure)},
			eval: withFluid(superheat), sheet: "{suction_temp}-{f:evaporating}"}},
	{key: "superheat_error", label: "Superheat less target", step: record.Running, group: qCharge, dim: units.TempDiff, applies: fixed,
		limit: "superheat_error", valid: func(c *context) string { return cmp.Or(c.otherRefrigerant(), c.conditions("superheat")) }, only: chargeShown,
		relation: relation{
			words: "superheat - target superheat", from: []source{properties, asInput(doubtSuperheat)},
			inputs: []input{is(record.SuctionTemp), is(record.SuctionPressure), targetBasis, is(record.OutdoorTemp), doubtSuperheat},
			eval: withFluid(func(f *fluid.Fluid, x *values) (float64, error) {
				sh, err := superheat(f, x)
				if err != nil {
					return 0, err
				}
				tg, err := x.targetSuperheat()
				return sh - tg - x.at(doubtSuperheat), err
			}),
			sheet: "{f:superheat}-{c:target}",
			constants: func(x *values) ([]Constant, error) {
				tg, err := x.targetSuperheat()
				return []Constant{{Name: "target", Dim: units.TempDiff, Value: tg}}, err
			}}},
	{key: "subcooling", label: "Subcooling", step: record.Running, group: qCharge, dim: units.TempDiff,
		limit: "subcooling", valid: func(c *context) string { return cmp.Or(c.otherRefrigerant(), c.conditions("subcooling")) }, only: chargeShown,
		target: func(c *context) (float64, string) {
			if fixed(c) {
				return 0, "with a fixed orifice the charge is judged by superheat"
			}
			if t := c.reading(record.TagSubcooling); t != nil {
				return t.si, ""
			}
			return 0, "enter the unit's own target subcooling: there is no general one"
		},
		relation: relation{
			words: "T bubble(p liquid) - T liquid line", from: []source{properties}, inputs: []input{is(record.LiquidPressure), is(record.LiquidTemp)},
			eval: withFluid(func(f *fluid.Fluid, x *values) (float64, error) {
				return circuit.Subcooling(f, x.of(record.LiquidPressure), x.of(record.LiquidTemp))
			}),
			sheet: "{f:condensing}-{liquid_temp}"}},
	restSaturation,
	{key: "condensing_over_ambient", label: "Condensing over outdoor air", step: record.Running, group: qAir, dim: units.TempDiff,
		limit: "condensing_over_ambient", relation: relation{
			words: "T bubble(p liquid) - T outdoor air", from: []source{properties}, inputs: []input{is(record.LiquidPressure), is(record.OutdoorTemp)},
			eval: withFluid(func(f *fluid.Fluid, x *values) (float64, error) {
				t, err := f.BubbleT(x.of(record.LiquidPressure))
				return t - x.of(record.OutdoorTemp), err
			}),
			sheet: "{f:condensing}-{outdoor_temp}"}},
	{key: "approach", label: "Liquid line over outdoor air", step: record.Running, group: qAir, dim: units.TempDiff,
		limit: "approach", relation: less("T liquid line - T outdoor air", record.LiquidTemp, record.OutdoorTemp)},
	{key: "condenser_air_rise", label: "Rise of the outdoor air over the coil", step: record.Running, group: qAir, dim: units.TempDiff,
		relation: less("T air leaving - T air entering", record.CondenserAirOut, record.OutdoorTemp)},
	{key: "temp_split", label: "Temperature split, return less supply", step: record.Running, group: qAir, dim: units.TempDiff,
		relation: less("T return - T supply, dry bulb", record.ReturnDB, record.SupplyDB)},
	{key: "split_error", label: "Temperature split less target", step: record.Running, group: qAir, dim: units.TempDiff,
		limit: "split_error", valid: func(c *context) string { return c.conditions("split") },
		relation: relation{
			words: "(T return - T supply) - target(return dry bulb, wet bulb)", from: []source{asInput(doubtSplit)},
			inputs: []input{is(record.ReturnDB), is(record.SupplyDB), is(record.ReturnWB), doubtSplit},
			eval: func(x *values) (float64, error) {
				tg, err := targetSplit(x.of(record.ReturnDB), x.of(record.ReturnWB))
				return x.of(record.ReturnDB) - x.of(record.SupplyDB) - tg.Value - x.at(doubtSplit), err
			},
			sheet: "{f:temp_split}-{c:target}",
			constants: func(x *values) ([]Constant, error) {
				tg, err := targetSplit(x.of(record.ReturnDB), x.of(record.ReturnWB))
				return []Constant{{Name: "target", Dim: units.TempDiff, Value: tg.Value}}, err
			}}},
	{key: "airflow_per_ton", label: "Indoor airflow per nominal ton", step: record.Running, group: qAir, dim: units.AirPerCap,
		limit: "airflow_per_ton", relation: relation{
			words: "airflow / nominal capacity", from: []source{arithmetic}, inputs: []input{is(record.Airflow), is(record.NominalCapacity)},
			eval: func(x *values) (float64, error) {
				if x.of(record.NominalCapacity) <= 0 {
					return 0, fmt.Errorf("the nominal capacity must be above zero")
				}
				return x.of(record.Airflow) / x.of(record.NominalCapacity), nil
			},
			sheet: "{airflow}/{nominal_capacity}"}},
	{key: "pressure_ratio", label: "Compression ratio", step: record.Running, group: qPump, dim: units.Ratio,
		relation: relation{
			words: "p discharge / p suction, both absolute; where no discharge pressure was read, liquid pressure and the condenser's drop", from: []source{said("a definition"), assumption(condenserDrop)}, inputs: []input{highSide, condenserDrop, is(record.SuctionPressure)},
			eval: func(x *values) (float64, error) {
				if x.of(record.SuctionPressure) <= 0 {
					return 0, fmt.Errorf("the suction pressure is not above a perfect vacuum")
				}
				return x.high() / x.of(record.SuctionPressure), nil
			},
			sheet: "({abs:high_side}+{c:drop})/{abs:suction_pressure}",
			constants: func(x *values) ([]Constant, error) {
				return []Constant{{Name: "drop", Dim: units.Pressure, Value: x.high() - x.at(highSide)}}, nil
			}}},
	{key: "discharge_temp_line", label: "Discharge line temperature", step: record.Running, group: qPump, dim: units.Temperature,
		limit: "discharge_temp_line", relation: asRead(record.DischargeTemp, "as read")},
	{key: "isentropic_efficiency", label: "Compression efficiency from temperatures", step: record.Running, group: qPump, dim: units.Percent,
		limit: "isentropic_efficiency", only: noLawIsBroken, relation: relation{
			words: "(h(p2, s1) - h1) / (h2 - h1)", from: []source{properties},
			inputs: []input{is(record.SuctionPressure), is(record.SuctionTemp), highSide, condenserDrop, is(record.DischargeTemp)},
			eval: withFluid(func(f *fluid.Fluid, x *values) (float64, error) {
				for _, what := range []string{"suction", "discharge"} {
					if err := x.c.phase(what); err != nil {
						return 0, err
					}
				}
				return circuit.Isentropic(f, circuit.Reading{P: x.of(record.SuctionPressure), T: x.of(record.SuctionTemp)}, circuit.Reading{P: x.high(), T: x.of(record.DischargeTemp)})
			})}},
}

// standingGas is the share of the charge that stands as gas in a unit at rest: the
// density of the charge over all its volumes (a judgement; a blend without glide does
// not feel it).
const standingGas = 0.3

// noLawIsBroken: an efficiency below one contradicts no law, and that is all. A clamp or
// a gauge far off leaves it there too.
func noLawIsBroken(*context) string {
	return "possible by the second law, which a clamp or gauge that is well off need not break: it shows no more"
}

// unreadCylinder is why superheat and subcooling cannot be told to be right: they are
// those of one refrigerant, and which one is in the unit was read on the old plate alone.
func unreadCylinder(c *context) string {
	if c.job.Text(record.ChargedWith) == "" {
		return "these are temperatures of the refrigerant on the plate; enter which one was weighed in, as read on the cylinder"
	}
	return ""
}

// chargeShown is why superheat and subcooling show nothing of the charge yet.
func chargeShown(c *context) string {
	return cmp.Or(settled(c), unreadCylinder(c), c.notItsPressure())
}

// notItsPressure is that the standing pressure, where it was read, is not shown to be
// that of the refrigerant named: with air in it, or with another refrigerant, superheat
// and subcooling are reckoned from the wrong line.
func (c *context) notItsPressure() string {
	if !restSaturation.applies(c) {
		return ""
	}
	if f, err := c.find(restSaturation); err == nil && f.Measured && f.Verdict != Within {
		return "the standing pressure is not shown to be that of this refrigerant: see there first"
	}
	return ""
}

// otherRefrigerant is why they are not judged where plate and cylinder differ.
func (c *context) otherRefrigerant() string {
	if e := c.cylinderFits(); e != nil {
		return e.Error()
	}
	return ""
}

func (c *context) cylinderFits() error {
	in, plate := c.job.Text(record.ChargedWith), c.job.Text(record.Refrigerant)
	if in == "" || plate == "" || in == plate {
		return nil
	}
	return fmt.Errorf("the cylinder says %s, the plate %s: read both again; a unit is charged with what its plate or label names", in, plate)
}

func fixed(c *context) bool { return c.job.Text(record.Metering) == record.MeterFixed }

// withFluid guards a computation that needs the refrigerant.
func withFluid(f func(fl *fluid.Fluid, x *values) (float64, error)) func(*values) (float64, error) {
	return func(x *values) (float64, error) {
		if x.c.fluid == nil {
			return 0, errNoFluid
		}
		return f(x.c.fluid, x)
	}
}

func superheat(f *fluid.Fluid, x *values) (float64, error) {
	return circuit.Superheat(f, x.of(record.SuctionPressure), x.of(record.SuctionTemp))
}

func zero(*context) (float64, string) { return 0, "" }

// statedTarget puts the band around a stated value.
func statedTarget(key record.Key) func(*context) (float64, string) {
	return func(c *context) (float64, string) {
		if t := c.reading(key); t != nil {
			return t.si, ""
		}
		return 0, "no limit to hold it against: enter " + key.Label()
	}
}

// The uncertainty of a recalled target enters a finding as one more reading, of
// value zero, so that it is propagated, shared out and named like the others.
var (
	doubtSuperheat = input{name: "target/superheat", take: targetSuperheatDoubt}
	doubtSplit     = input{name: "target/split", take: targetSplitDoubt}
)

func targetDoubt(i string, t target.Target, err error) *reading {
	r := &reading{key: i, label: "Target itself", unit: units.Preferred(units.TempDiff, units.IP)}
	if err == nil && t != (target.Target{}) {
		r.u, r.doubt = t.U, t.Source+" ("+t.Confidence+")"
	}
	return r
}

func targetSuperheatDoubt(c *context) *reading {
	wb, odb := c.reading(record.ReturnWB), c.reading(record.OutdoorTemp)
	var t target.Target
	var err error
	switch {
	case c.reading(record.TagSuperheat) != nil:
		r := targetDoubt("target/superheat", t, nil)
		r.doubt = "stated, taken as exact"
		return r
	case wb != nil && odb != nil:
		t, err = targetSuperheat(wb.si, odb.si)
	}
	return targetDoubt("target/superheat", t, err)
}

func targetSplitDoubt(c *context) *reading {
	var t target.Target
	var err error
	if db, wb := c.reading(record.ReturnDB), c.reading(record.ReturnWB); wb != nil && db != nil {
		t, err = targetSplit(db.si, wb.si)
	}
	return targetDoubt("target/split", t, err)
}

// targetSuperheat is the target superheat of these readings, K.
func (x *values) targetSuperheat() (float64, error) {
	if x.c.reading(record.TagSuperheat) != nil {
		return x.at(targetBasis), nil
	}
	t, err := targetSuperheat(x.at(targetBasis), x.of(record.OutdoorTemp))
	return t.Value, err
}

func targetSuperheat(wb, odb float64) (target.Target, error) {
	t, err := target.Load()
	if err != nil {
		return target.Target{}, err
	}
	return t.Superheat(wb, odb)
}

func targetSplit(db, wb float64) (target.Target, error) {
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

// settled is why readings are not shown to be of a unit that had settled: neither the
// time that it ran nor the entries themselves say so.
func settled(c *context) string {
	wait, _ := settling()
	if r := c.reading(record.SettleTime); r != nil {
		if r.si < wait.Seconds() {
			return fmt.Sprintf("it ran for %.0f min only: it settles for %.0f after each change of charge", r.si/60, wait.Minutes())
		}
		return unasked(record.SettleTime)(c)
	}
	s := record.Spans[len(record.Spans)-1]
	if d, ok := c.job.Apart(s); ok && d >= wait && !c.job.Later(s.To) {
		return ""
	}
	return "how long it ran since the charge was changed is not entered"
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
