package assess

import (
	"fmt"
	"math"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/supply"
)

// The groups of the electrical step that are not groups of its fields.
const qCircuit = "Old parts, new compressor"

// gauge is the branch conductor picked, "" if none is.
func (c *context) gauge() string { return strings.TrimSuffix(c.job.Text(record.WireGauge), " AWG") }

// value is the number entered for key, SI, 0 if there is none: what package
// supply takes for not known.
func (c *context) value(key record.Key) float64 {
	if r := c.reading(key); r != nil {
		return r.si
	}
	return 0
}

// first is the first of keys that was entered.
func (c *context) first(keys ...record.Key) float64 {
	for _, k := range keys {
		if v := c.value(k); v != 0 {
			return v
		}
	}
	return 0
}

func (c *context) branch() supply.Branch {
	b := supply.Branch{Gauge: c.gauge(), Length: c.value(record.WireLength)}
	if c.job.Text(record.Phases) == record.PhaseThree {
		b.Phases = 3
	}
	return b
}

// conversion is the job as package supply compares it.
func (c *context) conversion() supply.Conversion {
	return supply.Conversion{
		Old: supply.Side{RLA: c.value(record.OldRLA), LRA: c.value(record.OldLRA), Volts: c.value(record.RatedVoltage),
			Capacitor: c.value(record.OldCapRating), MCA: c.value(record.PlateMCA), MOCP: c.value(record.PlateMOCP)},
		New: supply.Side{RLA: c.value(record.NewRLA), BCSC: c.value(record.NewBCSC), LRA: c.value(record.NewLRA), Volts: c.first(record.NewVoltage, record.RatedVoltage),
			Capacitor: c.value(record.CapRating), CapacitorVolts: c.value(record.CapVoltageNeeded)},
		Others: c.value(record.FanFLA), SupplyVolts: c.value(record.RatedVoltage),
		Capacitor: c.value(record.CapFitted), CapacitorVolts: c.value(record.CapVoltage),
		Contactor: supply.Contactor{FLA: c.value(record.ContactorFLA), LRA: c.value(record.ContactorLRA), Poles: c.poles(record.ContactorPoles), OldPoles: c.poles(record.OldPoles)},
		Breaker:   c.value(record.Breaker), Disconnect: c.value(record.Disconnect), Wire: c.branch(), Conditions: c.wire(),
		Ground: strings.TrimSuffix(c.job.Text(record.GroundGauge), " AWG"),
	}
}

// OldNew compares the parts that the new compressor changes, for the pane and
// the workbook: one row each for compressor, capacitor, contactor, breaker and
// wire quantities, SI, in the order of [supply.Tables.OldNew].
func OldNew(j *record.Job) ([]supply.Row, error) {
	t, err := supply.Load()
	if err != nil {
		return nil, err
	}
	c, err := newContext(j)
	if err != nil {
		return nil, err
	}
	return t.OldNew(c.conversion())
}

// withSupply guards a computation that needs the electrical tables.
func withSupply(f func(c *context, t *supply.Tables, x []float64) (float64, error)) func(*context, []float64) (float64, error) {
	return func(c *context, x []float64) (float64, error) {
		t, err := supply.Load()
		if err != nil {
			return 0, err
		}
		return f(c, t, x)
	}
}

// orZero is x, 0 where an optional reading is not there.
func orZero(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

// boundsOf reckons a band by the electrical tables, once what it needs is
// there: keys are the fields without which there is none.
func boundsOf(keys []record.Key, f func(c *context, t *supply.Tables) (lo, hi float64, err error)) func(*context) (Band, string) {
	return func(c *context) (Band, string) {
		for _, k := range keys {
			if c.job.Text(k) == "" && c.reading(k) == nil {
				return Band{}, "no limit to hold it against: enter " + k.Label()
			}
		}
		t, err := supply.Load()
		if err != nil {
			return Band{}, err.Error()
		}
		lo, hi, err := f(c, t)
		if err != nil {
			return Band{}, err.Error()
		}
		var b Band
		if !math.IsNaN(lo) {
			b.Low = &lo
		}
		if !math.IsNaN(hi) {
			b.High = &hi
		}
		return b, ""
	}
}

var none = math.NaN()

// circuitRules hold the parts that stay against the compressor that comes.
var circuitRules = []rule{
	{key: "mca_wire", label: "Minimum circuit ampacity, against the conductor", step: record.Electrical, group: qCircuit, dim: units.Current,
		formula: "1.25 × RLA (or the greater BCSC) + fan; the conductor at 60 °C terminals and insulation, 30 °C around, three together, unless entered otherwise", needs: []need{is(record.NewRLA), maybe(record.FanFLA), maybe(record.NewBCSC)},
		eval: withSupply(func(_ *context, t *supply.Tables, x []float64) (float64, error) {
			return t.MCA(math.Max(x[0], orZero(x[2])), orZero(x[1]))
		}),
		bounds: boundsOf([]record.Key{record.WireGauge}, func(c *context, t *supply.Tables) (float64, float64, error) {
			a, err := t.AmpacityOf(c.gauge(), c.wire())
			return none, a.Amps, err
		})},
	{key: "breaker_fit", label: "Breaker or fuse, against MCA and MOCP", step: record.Electrical, group: qCircuit, dim: units.Current,
		formula: "as stated, from 1.25 × RLA + fan to 1.75 × RLA + fan taken down to a standard size", needs: []need{is(record.Breaker)}, eval: asRead,
		bounds: boundsOf([]record.Key{record.NewRLA}, func(c *context, t *supply.Tables) (float64, float64, error) {
			basis := math.Max(c.value(record.NewRLA), c.value(record.NewBCSC))
			mca, err := t.MCA(basis, c.value(record.FanFLA))
			if err != nil {
				return 0, 0, err
			}
			o, err := t.MOCP(basis, c.value(record.FanFLA))
			if err == nil && o.Size < mca {
				err = fmt.Errorf("the standard size under the limit, %g A, carries less than the circuit needs, %.4g A: ask the authority having jurisdiction", o.Size, mca)
			}
			return mca, o.Size, err
		})},
	{key: "contactor_fla", label: "Contactor, full-load rating", step: record.Electrical, group: qCircuit, dim: units.Current,
		formula: "as stated, against RLA + fan", needs: []need{is(record.ContactorFLA)}, eval: asRead,
		bounds: boundsOf([]record.Key{record.NewRLA}, func(c *context, _ *supply.Tables) (float64, float64, error) {
			return c.value(record.NewRLA) + c.value(record.FanFLA), none, nil
		})},
	{key: "contactor_lra", label: "Contactor, locked-rotor rating", step: record.Electrical, group: qCircuit, dim: units.Current,
		formula: "as stated, against LRA", needs: []need{is(record.ContactorLRA)}, eval: asRead,
		bounds: boundsOf([]record.Key{record.NewLRA}, func(c *context, _ *supply.Tables) (float64, float64, error) {
			return c.value(record.NewLRA), none, nil
		})},
	{key: "branch_drop", label: "Voltage drop in the branch at RLA", step: record.Electrical, group: qCircuit, dim: units.Percent,
		formula: "(RLA + fan) × R(conductors at 75 °C) / rated voltage", needs: []need{is(record.NewRLA), maybe(record.FanFLA), is(record.WireLength), is(record.RatedVoltage)},
		eval: withSupply(func(c *context, t *supply.Tables, x []float64) (float64, error) {
			if c.gauge() == "" {
				return 0, fmt.Errorf("pick the branch conductor in Intake first")
			}
			k, err := t.CheckDrop(c.branch(), x[0]+orZero(x[1]), x[3])
			return k.Value, err
		})},
}

// deadRules and liveRules stand among the electrical readings.
var deadRules = []rule{
	{key: "winding_start_25", label: "Start winding at 25 °C", step: record.Electrical, group: "Dead checks", dim: units.Resistance,
		formula: "R(C-S) (234.5 + 25) / (234.5 + t), copper", needs: []need{is(record.RCS), is(record.WindingTemp)}, eval: at25, cite: "winding", ok: "The start winding has the resistance of its data.", bounds: windingBand(record.NewRStart)},
	{key: "winding_run_25", label: "Run winding at 25 °C", step: record.Electrical, group: "Dead checks", dim: units.Resistance,
		formula: "R(C-R) (234.5 + 25) / (234.5 + t), copper", needs: []need{is(record.RCR), is(record.WindingTemp)}, eval: at25, cite: "winding", ok: "The run winding has the resistance of its data.", bounds: windingBand(record.NewRRun)},
	{key: "insulation_40", label: "Windings to case at 40 °C", step: record.Electrical, group: "Dead checks", dim: units.Insulation,
		formula: "R × 0.5 ^ ((40 - t) / 10)", needs: []need{is(record.Insulation), is(record.WindingTemp)},
		eval: withSupply(func(_ *context, t *supply.Tables, x []float64) (float64, error) {
			return t.InsulationAt(x[0], x[1], supply.InsulationReference)
		})},
	{key: "contact_drop", label: "Contactor, drop across a closed pole", step: record.Electrical, group: "Dead checks", dim: units.Voltage,
		formula: "contact resistance × RLA", needs: []need{is(record.ContactResistance), is(record.NewRLA)},
		eval: withSupply(func(_ *context, t *supply.Tables, x []float64) (float64, error) {
			k, err := t.CheckContact(x[0], x[1])
			return k.Value, err
		})},
}

// windingBand lies around the compressor's own resistance.
func windingBand(key record.Key) func(*context) (Band, string) {
	return boundsOf([]record.Key{key}, func(c *context, t *supply.Tables) (float64, float64, error) {
		r, _ := t.Rule("winding")
		return c.value(key) * (1 - r.Value), c.value(key) * (1 + r.Value), nil
	})
}

func at25(_ *context, x []float64) (float64, error) {
	return supply.CopperAt(x[0], x[1], supply.WindingReference)
}

var liveRules = []rule{
	{key: "start_voltage", label: "Supply voltage, dip at start", step: record.Electrical, group: "Live checks", dim: units.Voltage,
		formula: "as read, against the rated voltage less 10 %", needs: []need{is(record.SupplyVoltageStart)}, eval: asRead,
		bounds: boundsOf([]record.Key{record.RatedVoltage}, func(c *context, t *supply.Tables) (float64, float64, error) {
			sag, _ := t.Rule("sag-start")
			return (1 - sag.Value) * c.first(record.NewVoltage, record.RatedVoltage), none, nil
		})},
	{key: "cap_stress", label: "Voltage across the run capacitor, against its marking", step: record.Electrical, group: "Live checks", dim: units.Voltage,
		formula: "as read, against the voltage marking", needs: []need{is(record.CapVolts)}, eval: asRead},
	{key: "lead_closure", label: "Three lead currents: cosine from run to start", step: record.Electrical, group: "Live checks", dim: units.Ratio,
		formula: "(common² - run² - start²) / (2 run start)", needs: []need{is(record.RunCurrent), is(record.RunLeadCurrent), is(record.CapCurrent)},
		eval: func(_ *context, x []float64) (float64, error) {
			if x[1] <= 0 || x[2] <= 0 {
				return 0, fmt.Errorf("the run and start leads carry no current")
			}
			return (x[0]*x[0] - x[1]*x[1] - x[2]*x[2]) / (2 * x[1] * x[2]), nil
		}},
	{key: "control_load", label: "Control load, against the transformer", step: record.Electrical, group: "Live checks", dim: units.Apparent,
		formula: "control voltage × control current", needs: []need{is(record.ControlVoltage), is(record.ControlCurrent)},
		eval: func(_ *context, x []float64) (float64, error) { return x[0] * x[1], nil }},
}
