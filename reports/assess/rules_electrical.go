package assess

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/reports/cause"
	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/supply"
)

// The groups of the electrical step, in the order of the work: dead, then what
// stays against what comes, then live.
const (
	qDead    = "Dead checks"
	qCircuit = "Old parts, new compressor"
	qLive    = "Live checks"
)

// markedOtherwise asks about a reading that the marking of the part does not allow, the
// widest class and the meter's doubt counted: it was another part, or one of the two was
// typed wrong.
func markedOtherwise(c *context) string {
	read, mark := c.reading(record.CapMeter), c.reading(record.CapFitted)
	if read == nil || mark == nil || math.Abs(read.si-mark.si) <= 0.15*mark.si+2*read.u {
		return ""
	}
	u := read.unit
	return fmt.Sprintf("the part that is entered as fitted is marked %.4g %[3]s, and %.4[2]g %[3]s was read: which of the two is wrong?", u.FromSI(mark.si, 0), u.FromSI(read.si, 0), u.Label)
}

var capMeter = definition{key: "cap_meter", label: "Run capacitor by meter", step: record.Electrical, group: qDead, dim: units.Capacitance,
	limit: "cap_meter", target: statedTarget(record.CapRating), advice: narrowest, only: markedOtherwise,
	relation: asRead(record.CapMeter, "as read, against rating and tolerance class")}

// renewed is why a weak capacitor found no longer stands: the one that was read after it,
// by meter or under load, is what the new compressor needs.
func (c *context) renewed() string {
	found, ok := c.job.Index(record.OldCapFound)
	if read, there := c.job.Index(record.CapMeter); ok && there && read > found {
		if f, ok := c.judgedNow(capMeter); ok && f.Verdict == Within {
			return "the converted unit's own reading is within: run capacitor by meter"
		}
	}
	return c.answered("cap_underload")
}

// Findings that most jobs can do without belong to a job once what they are
// about has been entered.
var deadChecks = []definition{
	{key: "winding_sum", label: "Windings: C to S plus C to R less S to R", step: record.Electrical, group: qDead, dim: units.Resistance,
		limit: "winding_sum", target: zero, only: oldReadings, relation: relation{
			words: "R(C-S) + R(C-R) - R(S-R)", from: []source{arithmetic}, inputs: []input{is(record.RCS), is(record.RCR), is(record.RSR)},
			eval: func(x *values) (float64, error) {
				return x.of(record.RCS) + x.of(record.RCR) - x.of(record.RSR), nil
			},
			sheet: "{r_cs}+{r_cr}-{r_sr}"}},
	{key: "insulation_25", label: "Windings to case", step: record.Electrical, group: qDead, dim: units.Insulation,
		limit: "insulation_25", relation: asRead(record.Insulation, "as read at the test voltage")},
	{key: "cap_match", label: "Run capacitor: microfarads marked, against requirement", step: record.Electrical, group: qDead, dim: units.Capacitance,
		rule: "cap-match", ok: "The microfarads fitted are those required; its volts are judged apart.",
		bounds: boundsOf([]record.Key{record.CapRating}, func(c *context, t *supply.Tables) (float64, float64, error) {
			r, _ := t.Rule("cap-match")
			want := c.value(record.CapRating)
			return want * (1 - r.Value), want * (1 + r.Value), nil
		}),
		advice: func(c *context, f Finding) string {
			if f.Verdict == Outside && c.value(record.OldCapRating) == f.Value {
				return "The marking is the old compressor's value, probably left in: fit the value of the new compressor."
			}
			return ""
		},
		relation: asRead(record.CapFitted, "marking of the part fitted, around what the compressor needs")},
	{key: "cap_match_volts", label: "Run capacitor: volts marked, against requirement", step: record.Electrical, group: qDead, dim: units.Voltage,
		applies: entered(record.CapVoltageNeeded, record.CapVoltage), rule: "cap-volts", ok: "The volts marked are those required or more.",
		bounds: boundsOf([]record.Key{record.CapVoltageNeeded}, func(c *context, t *supply.Tables) (float64, float64, error) {
			r, _ := t.Rule("cap-volts")
			return r.Value * c.value(record.CapVoltageNeeded), none, nil
		}),
		relation: asRead(record.CapVoltage, "marking of the part fitted, against what the compressor's data ask for")},
	capMeter,
	{key: "winding_start_25", label: "Start winding at 25 °C", step: record.Electrical, group: qDead, dim: units.Resistance,
		rule: "winding", ok: "The start winding has the resistance of its data.", bounds: windingBand(record.NewRStart),
		relation: at25("R(C-S)", record.RCS)},
	{key: "winding_run_25", label: "Run winding at 25 °C", step: record.Electrical, group: qDead, dim: units.Resistance,
		rule: "winding", ok: "The run winding has the resistance of its data.", bounds: windingBand(record.NewRRun),
		relation: at25("R(C-R)", record.RCR)},
	{key: "insulation_40", label: "Windings to case at 40 °C", step: record.Electrical, group: qDead, dim: units.Insulation,
		limit: "insulation_40", relation: relation{
			words: "R × 0.5 ^ ((40 - t) / 10)", from: []source{halving}, inputs: []input{is(record.Insulation), is(record.WindingTemp)},
			eval: withTables(func(x *values, t *supply.Tables) (float64, error) {
				return t.InsulationAt(x.of(record.Insulation), x.of(record.WindingTemp), supply.InsulationReference)
			})}},
	{key: "contact_drop", label: "Contactor, drop across a closed pole", step: record.Electrical, group: qDead, dim: units.Voltage,
		limit: "contact_drop", relation: relation{
			words: "contact resistance × RLA", from: []source{arithmetic}, inputs: []input{is(record.ContactResistance), is(record.NewRLA)},
			eval: func(x *values) (float64, error) {
				return x.of(record.ContactResistance) * x.of(record.NewRLA), nil
			},
			sheet: InSI + "{si:contact_resistance}*{new_rla}"}},
	{key: "winding_state", label: "Windings: open, shorted or grounded", step: record.Electrical, group: qDead, dim: units.Ratio,
		applies: entered(record.RCS, record.RCR, record.RSR, record.RCase),
		rule:    "winding", ok: "Go on to the insulation test.",
		bounds: func(*context) (Band, string) { return Band{High: new(float64)}, "" },
		advice: func(c *context, _ Finding) string {
			w, err := c.windingReport()
			if err != nil {
				return ""
			}
			if c.reading(record.Insulation) != nil && w.State == supply.WindingsComplete {
				return sentenceOf(string(w.State) + ": the insulation was read and is judged for itself")
			}
			return sentenceOf(string(w.State) + ": " + w.Next)
		},
		relation: relation{
			words:  "0 both windings whole, 1 a fault: three pairs, case and the compressor's data taken together",
			from:   []source{windings, copper, byRule("winding")},
			inputs: []input{maybe(record.RCS), maybe(record.RCR), maybe(record.RSR), maybe(record.RCase), maybe(record.WindingTemp)},
			eval: func(x *values) (float64, error) {
				w, err := x.c.windingReport()
				switch {
				case err != nil:
					return 0, err
				case w.State == supply.WindingsIncomplete:
					return 0, fmt.Errorf("%s: %s", w.State, w.Next)
				case w.State == supply.WindingsComplete:
					return 0, nil
				}
				return 1, nil
			}}},
	{key: "pins", label: "Pins that are not marked: how far apart the nearest two readings are", step: record.Electrical, group: qDead, dim: units.Resistance,
		applies: entered(record.Pin12, record.Pin23, record.Pin13), rule: "sum-law",
		bounds: func(*context) (Band, string) { return Band{Low: new(float64)}, "" },
		advice: func(c *context, f Finding) string {
			p, err := supply.IdentifyPins(c.ohms(record.Pin12), c.ohms(record.Pin23), c.ohms(record.Pin13))
			if err != nil {
				return ""
			}
			w := fmt.Sprintf("Common is pin %d, start pin %d, run pin %d.", p.Common, p.Start, p.Run)
			if !p.Sure || f.Verdict != Within {
				w += " " + sentenceOf(cmp.Or(p.Why, "the readings are too near each other to be certain")) + " Read with a milliohm instrument."
			}
			return w
		},
		relation: relation{
			words: "the largest spans both windings and leaves out common; of the others start is the larger", from: []source{windings},
			inputs: []input{is(record.Pin12), is(record.Pin23), is(record.Pin13)},
			eval: func(x *values) (float64, error) {
				a, b, c := x.of(record.Pin12), x.of(record.Pin23), x.of(record.Pin13)
				lo, hi := math.Min(a, math.Min(b, c)), math.Max(a, math.Max(b, c))
				mid := a + b + c - lo - hi
				return math.Min(mid-lo, hi-mid), nil
			},
			sheet: "MIN(MEDIAN({pin_12},{pin_23},{pin_13})-MIN({pin_12},{pin_23},{pin_13}),MAX({pin_12},{pin_23},{pin_13})-MEDIAN({pin_12},{pin_23},{pin_13}))"}},
	{key: "insulation_test", label: "Insulation test voltage", step: record.Electrical, group: qDead, dim: units.Voltage,
		applies: entered(record.InsulationVolts), rule: "insulation",
		ok:     "The test voltage is the usual one: the reading compares with the advice.",
		bounds: ruled("insulation", func(v float64) (lo, hi float64) { return v, v }),
		advice: func(c *context, f Finding) string {
			if f.Verdict == Within {
				return ""
			}
			return "The advice is for 500 V: a reading at another voltage does not compare with it. Test again at 500 V direct current."
		},
		relation: asRead(record.InsulationVolts, "as stated")},
	{key: "insulation_trend", label: "Insulation against the first reading, both at 40 °C", step: record.Electrical, group: qDead, dim: units.Percent,
		applies: entered(record.InsulationBefore),
		rule:    "insulation-trend", ok: "No fall to half of the first reading; note it for the next visit.",
		bounds: ruled("insulation-trend", func(v float64) (lo, hi float64) { return v, none }),
		relation: relation{
			words: "R(now) / R(first), each times 0.5 ^ ((40 - t) / 10)", from: []source{halving}, inputs: []input{is(record.Insulation), is(record.WindingTemp)},
			eval: withTables(func(x *values, t *supply.Tables) (float64, error) {
				b, err := x.c.before()
				if err != nil {
					return 0, err
				}
				return t.InsulationTrend(append(b, supply.Insulation{Ohms: x.of(record.Insulation), Temperature: x.of(record.WindingTemp)}))
			})}},
	{key: "coil_ohms", label: "Contactor coil", step: record.Electrical, group: qDead, dim: units.Resistance,
		applies: entered(record.CoilOhms), rule: "coil", ok: "The coil is continuous and below its impedance.",
		bounds: coilBand(record.CoilVolts, record.CoilVA), advice: openAdvice(record.CoilOhms, "coil"),
		relation: resistance(record.CoilOhms, "as read, above zero and below V² / VA", record.CoilVA)},
	{key: "solenoid_ohms", label: "Solenoid coil", step: record.Electrical, group: qDead, dim: units.Resistance,
		applies: entered(record.SolenoidOhms), rule: "coil", ok: "The coil is continuous and below its impedance.",
		bounds: coilBand(record.SolenoidVolts, record.SolenoidVA), advice: openAdvice(record.SolenoidOhms, "coil"),
		relation: resistance(record.SolenoidOhms, "as read, above zero and below V² / VA", record.SolenoidVA)},
	{key: "heater_ohms", label: "Crankcase heater", step: record.Electrical, group: qDead, dim: units.Resistance,
		applies: entered(record.HeaterOhms), rule: "heater", ok: "The heater has the resistance of its rating.",
		advice: openAdvice(record.HeaterOhms, "heater"),
		bounds: boundsOf(nil, func(c *context, t *supply.Tables) (float64, float64, error) {
			ohms, err := supply.RatedOhms(c.value(record.HeaterVolts), c.value(record.HeaterWatts))
			// Whatever regulates it, it conducts when cold.
			if err == nil && c.job.Text(record.HeaterKind) == record.HeaterSelf && !c.open(record.HeaterOhms) {
				err = fmt.Errorf("continuous; a self-regulating heater is not judged by its cold resistance")
			}
			r, _ := t.Rule("heater")
			return ohms * (1 - r.Value), ohms * (1 + r.Value), err
		}),
		relation: resistance(record.HeaterOhms, "as read, around V² / W", record.HeaterVolts, record.HeaterWatts)},
	{key: "cap_fan_meter", label: "Fan capacitor by meter", step: record.Electrical, group: qDead, dim: units.Capacitance,
		applies: entered(record.CapFanMeter), rule: "cap-class", ok: "The fan's capacitor has its value.",
		bounds: boundsOf([]record.Key{record.FanCapRating}, func(c *context, t *supply.Tables) (float64, float64, error) {
			r, _ := t.Rule("cap-class")
			want := c.value(record.FanCapRating)
			return want * (1 - r.Value), want * (1 + r.Value), nil
		}),
		relation: asRead(record.CapFanMeter, "as read, against its marking")},
	{key: "cap_outer", label: "Dual capacitor, HERM to FAN", step: record.Electrical, group: qDead, dim: units.Capacitance,
		applies: entered(record.CapOuter), rule: "cap-dual", ok: "The two sections and the reading across them agree.",
		bounds: boundsOf(nil, func(c *context, t *supply.Tables) (float64, float64, error) {
			if c.value(record.CapMeter) == 0 || c.value(record.CapFanMeter) == 0 {
				return 0, 0, fmt.Errorf("no limit to hold it against: read both sections by meter, C to HERM and C to FAN")
			}
			s, err := supply.SeriesCapacitance(c.value(record.CapMeter), c.value(record.CapFanMeter))
			r, _ := t.Rule("cap-dual")
			return s * (1 - r.Value), s * (1 + r.Value), err
		}),
		relation: asRead(record.CapOuter, "as read, against C1 C2 / (C1 + C2) of the two sections by meter")},
	{key: "cap_stock", label: "Run capacitor from stock, in parallel", step: record.Electrical, group: qDead, dim: units.Capacitance,
		applies: entered(record.CapStock), rule: "cap-match",
		bounds: boundsOf(nil, func(c *context, t *supply.Tables) (float64, float64, error) {
			r, _ := t.Rule("cap-match")
			return c.value(record.CapRating) * (1 - r.Value), c.value(record.CapRating) * (1 + r.Value), nil
		}),
		advice: stockAdvice,
		relation: relation{
			words: "sum of the markings, against what the compressor needs", from: []source{parallel}, inputs: []input{is(record.CapRating)},
			eval: func(x *values) (float64, error) {
				s, _, err := x.c.combined()
				return s.Farads, err
			}}},
}

// circuitChecks hold the parts that stay against the compressor that comes.
var circuitChecks = []definition{
	{key: "mca_wire", label: "Minimum circuit ampacity, against the conductor", step: record.Electrical, group: qCircuit, dim: units.Current,
		limit: "mca_wire",
		bounds: boundsOf([]record.Key{record.WireGauge}, func(c *context, t *supply.Tables) (float64, float64, error) {
			a, err := t.AmpacityOf(c.gauge(), c.wire())
			return none, a.Amps, err
		}),
		relation: relation{
			words:  "1.25 × RLA (or the greater BCSC) + fan; the conductor at 60 °C terminals and insulation, 30 °C around, three together, unless entered otherwise",
			from:   []source{byRule("mca")},
			inputs: []input{is(record.NewRLA), maybe(record.FanFLA), maybe(record.NewBCSC)},
			eval: withTables(func(x *values, t *supply.Tables) (float64, error) {
				return t.MCA(math.Max(x.of(record.NewRLA), x.or(record.NewBCSC, 0)), x.or(record.FanFLA, 0))
			}),
			sheet: "MAX({new_rla},{?new_bcsc})+{?fan_fla}+({c:factor}-1)*MAX({new_rla},{?new_bcsc},{?fan_fla})",
			constants: func(*values) ([]Constant, error) {
				t, err := supply.Load()
				if err != nil {
					return nil, err
				}
				r, _ := t.Rule("mca")
				return []Constant{{Name: "factor", Dim: units.Ratio, Value: r.Value}}, nil
			}}},
	{key: "breaker_fit", label: "Breaker or fuse, against MCA and MOCP", step: record.Electrical, group: qCircuit, dim: units.Current,
		limit: "breaker_fit",
		bounds: boundsOf([]record.Key{record.NewRLA}, func(c *context, t *supply.Tables) (float64, float64, error) {
			basis := math.Max(c.value(record.NewRLA), c.value(record.NewBCSC))
			mca, err := t.MCA(basis, c.value(record.FanFLA))
			if err != nil {
				return 0, 0, err
			}
			o, err := c.mocp(t)
			if err == nil && o.Size < mca {
				err = fmt.Errorf("the standard size under the limit, %g A, carries less than the circuit needs, %.4g A: ask the authority having jurisdiction", o.Size, mca)
			}
			return mca, o.Size, err
		}),
		advice: func(c *context, f Finding) string {
			return c.lim.byFinding["breaker_fit"].words(f) + " " + c.edition()
		},
		relation: asRead(record.Breaker, "as stated, from 1.25 × RLA + fan to 1.75 × RLA + fan taken down to a standard size")},
	{key: "contactor_fla", label: "Contactor, full-load rating", step: record.Electrical, group: qCircuit, dim: units.Current,
		limit: "contactor_fla",
		bounds: boundsOf([]record.Key{record.NewRLA}, func(c *context, _ *supply.Tables) (float64, float64, error) {
			return c.value(record.NewRLA) + c.value(record.FanFLA), none, nil
		}),
		relation: asRead(record.ContactorFLA, "as stated, against RLA + fan")},
	{key: "contactor_lra", label: "Contactor, locked-rotor rating", step: record.Electrical, group: qCircuit, dim: units.Current,
		limit: "contactor_lra",
		bounds: boundsOf([]record.Key{record.NewLRA}, func(c *context, t *supply.Tables) (float64, float64, error) {
			_, locked, err := c.sums(t)
			return locked, none, err
		}),
		relation: asRead(record.ContactorLRA, "as stated, against LRA + the fan's: six times its current")},
	{key: "disconnect_place", label: "Disconnect, its place", step: record.Electrical, group: qCircuit, dim: units.Ratio,
		applies: entered(record.DisconnectPlace), rule: "disconnect-place", ok: "Seen from the unit and in reach.",
		bounds: func(*context) (Band, string) { return Band{High: new(float64)}, "" },
		relation: relation{words: "0 as the rule asks, 1 not: as answered at the unit", from: []source{byRule("disconnect-place")},
			eval: func(x *values) (float64, error) {
				if x.c.job.Text(record.DisconnectPlace) == record.Yes {
					return 0, nil
				}
				return 1, nil
			}}},
	{key: "overload", label: "New compressor's own overload protection", step: record.Electrical, group: qCircuit, dim: units.Ratio,
		applies: entered(record.NewRLA, record.NewOverload), rule: "overload", ok: "It is named, and no larger than the rule allows.",
		bounds: func(*context) (Band, string) { return Band{High: new(float64)}, "" },
		relation: relation{words: "0 named and no larger than allowed, 1 not known or larger", from: []source{byRule("overload"), byRule("overload-device")},
			inputs: []input{maybe(record.NewRLA), maybe(record.OverloadTrip), maybe(record.Breaker)},
			eval:   withTables(overloadFits)}},
	{key: "disconnect_hp", label: "Disconnect, horsepower", step: record.Electrical, group: qCircuit, dim: units.Count,
		applies: entered(record.DisconnectHP), rule: "disconnect", ok: "The disconnect has the horsepower; its amperes, its place and its access are judged apart.",
		bounds: boundsOf([]record.Key{record.NewRLA}, func(c *context, t *supply.Tables) (float64, float64, error) {
			if c.job.Text(record.Phases) == record.PhaseThree {
				return 0, 0, fmt.Errorf("the horsepower tables here are for single phase")
			}
			running, locked, err := c.sums(t)
			if err != nil {
				return 0, 0, err
			}
			hp, err := t.DisconnectHP(c.first(record.RatedVoltage), running, locked)
			return hp, none, err
		}),
		relation: asRead(record.DisconnectHP, "as stated, against the larger of the horsepowers that running and locked-rotor current stand for (NEC 440.12(A), Tables 430.248 and 430.251(A), 2023)")},
	{key: "branch_drop", label: "Voltage drop in the branch at RLA", step: record.Electrical, group: qCircuit, dim: units.Percent,
		limit: "branch_drop", relation: relation{
			words: "(RLA + fan) × R(conductors at 75 °C) / rated voltage", from: []source{conductorTable},
			inputs: []input{is(record.NewRLA), maybe(record.FanFLA), is(record.WireLength), is(record.RatedVoltage)},
			eval: withTables(func(x *values, t *supply.Tables) (float64, error) {
				b := x.c.branch()
				if x.c.aluminum() {
					return 0, fmt.Errorf("the resistance of aluminum conductors is not in the tables")
				}
				if b.Gauge == "" {
					return 0, fmt.Errorf("pick the branch conductor in Intake first")
				}
				b.Length = x.of(record.WireLength)
				drop, err := t.Drop(b, x.of(record.NewRLA)+x.or(record.FanFLA, 0))
				return drop / x.of(record.RatedVoltage), err
			})}},
	{key: "small_conductor", label: "Small conductor behind its breaker", step: record.Electrical, group: qCircuit, dim: units.Current,
		applies: entered(record.WireGauge), rule: "small-wire",
		bounds: boundsOf(nil, func(c *context, t *supply.Tables) (float64, float64, error) {
			amps, small := t.SmallConductor(c.gauge(), c.aluminum())
			if !small {
				return none, none, nil
			}
			// The circuit of a motor-compressor is not bound by it, as far as its own device may go
			// where the unit needs it to start.
			if o, err := c.mocp(t); err == nil && c.value(record.NewRLA) > 0 {
				amps = math.Max(amps, o.StartSize)
			}
			return none, amps, nil
		}),
		advice: func(c *context, f Finding) string {
			t, err := supply.Load()
			if err != nil {
				return ""
			}
			amps, small := t.SmallConductor(c.gauge(), c.aluminum())
			switch {
			case !small:
				return c.gauge() + " AWG is no small conductor."
			case f.Verdict == Outside:
				return fmt.Sprintf("The device is above the %g A of %s AWG and above what the compressor's own circuit may have: have it changed.", amps, c.gauge())
			case c.value(record.Breaker) > amps:
				return fmt.Sprintf("A motor-compressor circuit is not bound by the %g A of %s AWG: its device follows the compressor.", amps, c.gauge())
			}
			return fmt.Sprintf("Overcurrent device is %.4g A, at most %.4g A.", c.value(record.Breaker), amps)
		},
		relation: asRead(record.Breaker, "as stated; 15, 20 and 30 A for 14, 12 and 10 AWG do not bind a motor-compressor's circuit")},
}

// sums are the running and the locked-rotor current of what one contactor and one
// disconnect switch, A: compressor and fan (NEC 440.12(B), 440.41(B)). A locked-rotor
// current that is not marked is taken as six times the other.
func (c *context) sums(t *supply.Tables) (running, locked float64, err error) {
	rla, fan := math.Max(c.value(record.NewRLA), c.value(record.NewBCSC)), c.value(record.FanFLA)
	if locked = c.value(record.NewLRA); locked == 0 && rla > 0 {
		if locked, err = t.AssumedLRA(rla); err != nil {
			return 0, 0, err
		}
	}
	if fan > 0 {
		l, err := t.AssumedLRA(fan)
		if err != nil {
			return 0, 0, err
		}
		locked += l
	}
	return rla + fan, locked, nil
}

// overloadFits is 0 where the new compressor's protection is named and no larger than
// allowed, 1 where it is not; an error where what it needs is not entered.
func overloadFits(x *values, t *supply.Tables) (float64, error) {
	relay, _ := t.Rule("overload")
	device, _ := t.Rule("overload-device")
	var most, has float64
	switch x.c.job.Text(record.NewOverload) {
	case record.OverloadInside, record.OverloadSystem:
		return 0, nil
	case record.OverloadUnknown:
		return 1, nil
	case record.OverloadRelay:
		most, has = relay.Value, x.of(record.OverloadTrip)
	case record.OverloadDevice:
		most, has = device.Value, x.of(record.Breaker)
	default:
		return 0, fmt.Errorf("the new compressor's own overload protection is not named: enter it in Match")
	}
	rla := x.of(record.NewRLA)
	switch {
	case math.IsNaN(has) || math.IsNaN(rla):
		return 0, fmt.Errorf("needs its rated-load current and what the protection trips at")
	case has > most*rla*(1+1e-9):
		return 1, nil
	}
	return 0, nil
}

var runCurrent = definition{key: "run_current", label: "Compressor current", step: record.Electrical, group: qLive, dim: units.Current,
	limit: "run_current", bounds: drawing(record.NewRLA, 0.2), relation: asRead(record.RunCurrent, "as read, against RLA")}

// drawing is a band from a share of a rating to the rating: what draws next to nothing does
// not run, and is not within it.
func drawing(rating record.Key, share float64) func(*context) (Band, string) {
	return func(c *context) (Band, string) {
		r := c.reading(rating)
		if r == nil {
			return Band{}, "no limit to hold it against: enter " + rating.Label()
		}
		low, high := share*r.si, r.si
		return Band{Low: &low, High: &high}, ""
	}
}

var liveChecks = []definition{
	{key: "supply_voltage", label: "Supply voltage, running", step: record.Electrical, group: qLive, dim: units.Voltage,
		limit: "supply_voltage", target: statedTarget(record.RatedVoltage), relation: asRead(record.SupplyVoltage, "as read, against the rated voltage")},
	runCurrent,
	{key: "cap_underload", label: "Run capacitor under load", step: record.Electrical, group: qLive, dim: units.Capacitance,
		limit: "cap_underload", target: statedTarget(record.CapRating), advice: narrowest, relation: relation{
			words: "C = I / (2 π f V)", from: []source{arithmetic}, inputs: []input{is(record.CapCurrent), is(record.CapVolts), is(record.RatedFrequency)},
			eval: func(x *values) (float64, error) {
				return supply.Capacitance(x.of(record.CapCurrent), x.of(record.CapVolts), x.of(record.RatedFrequency))
			},
			sheet: InSI + "{cap_current}/(2*PI()*{rated_frequency}*{cap_volts})"}},
	{key: "fan_current", label: "Outdoor fan current", step: record.Electrical, group: qLive, dim: units.Current,
		limit: "fan_current", bounds: drawing(record.FanFLA, 0.1), relation: asRead(record.FanCurrent, "as read, against full-load current")},
	{key: "control_voltage", label: "Control voltage, contactor in", step: record.Electrical, group: qLive, dim: units.Voltage,
		limit: "control_voltage", relation: asRead(record.ControlVoltage, "as read")},
	{key: "start_voltage", label: "Supply voltage, dip at start", step: record.Electrical, group: qLive, dim: units.Voltage,
		limit: "start_voltage",
		bounds: boundsOf([]record.Key{record.RatedVoltage}, func(c *context, t *supply.Tables) (float64, float64, error) {
			sag, _ := t.Rule("sag-start")
			volts, _ := c.plateVolts()
			return (1 - sag.Value) * volts, none, nil
		}),
		relation: asRead(record.SupplyVoltageStart, "as read, against the rated voltage less 10 %")},
	{key: "cap_stress", label: "Voltage across the run capacitor, against its marking", step: record.Electrical, group: qLive, dim: units.Voltage,
		limit: "cap_stress", bounds: func(c *context) (Band, string) {
			high, ok := c.job.SI(record.CapVoltage, 0)
			if !ok {
				return Band{}, "no limit to hold it against: enter " + record.CapVoltage.Label()
			}
			volts, _ := c.plateVolts()
			if volts == 0 {
				volts = c.value(record.SupplyVoltage)
			}
			low := math.Max(30, volts/2)
			return Band{Low: &low, High: &high}, ""
		}, relation: asRead(record.CapVolts, "as read, against the voltage marking")},
	{key: "lead_closure", label: "Three lead currents: cosine from run to start", step: record.Electrical, group: qLive, dim: units.Ratio,
		limit: "lead_closure", relation: relation{
			words: "(common² - run² - start²) / (2 run start)", from: []source{arithmetic},
			inputs: []input{is(record.RunCurrent), is(record.RunLeadCurrent), is(record.CapCurrent)},
			eval: func(x *values) (float64, error) {
				common, run, start := x.of(record.RunCurrent), x.of(record.RunLeadCurrent), x.of(record.CapCurrent)
				if run <= 0 || start <= 0 {
					return 0, fmt.Errorf("the run and start leads carry no current")
				}
				return (common*common - run*run - start*start) / (2 * run * start), nil
			},
			sheet: "({run_current}^2-{run_lead_current}^2-{cap_current}^2)/(2*{run_lead_current}*{cap_current})"}},
	{key: "control_load", label: "Control load, against the transformer", step: record.Electrical, group: qLive, dim: units.Apparent,
		limit: "control_load", bounds: func(c *context) (Band, string) {
			high, ok := c.job.SI(record.TransformerVA, 0)
			if !ok {
				return Band{}, "no limit to hold it against: enter " + record.TransformerVA.Label()
			}
			low := 1.0 // VA; the smallest coil that is in draws some
			return Band{Low: &low, High: &high}, ""
		}, relation: relation{
			words: "control voltage × control current", from: []source{arithmetic}, inputs: []input{is(record.ControlVoltage), is(record.ControlCurrent)},
			eval: func(x *values) (float64, error) {
				return x.of(record.ControlVoltage) * x.of(record.ControlCurrent), nil
			},
			sheet: "{control_voltage}*{control_current}"}},
	{key: "supply_range", label: "Supply voltage, against the ranges of its system", step: record.Electrical, group: qLive, dim: units.Voltage,
		applies: entered(record.SupplySystem), rule: "volts-range", ok: "In range A.",
		bounds: boundsOf(nil, func(c *context, t *supply.Tables) (float64, float64, error) {
			s, err := t.SystemNamed(c.job.Text(record.SupplySystem))
			a := s.Utilization["A"]
			return a[0], a[1], err
		}),
		advice: rangeAdvice, relation: asRead(record.SupplyVoltage, "as read at the equipment, against range A")},
	{key: "unbalance", label: "Unbalance of the three line voltages", step: record.Electrical, group: qLive, dim: units.Percent,
		applies: entered(record.SupplyV12, record.SupplyV23, record.SupplyV13), rule: "unbalance", ok: "The three voltages are balanced.",
		bounds: ruled("unbalance", func(v float64) (lo, hi float64) { return none, v }),
		advice: unbalanceAdvice,
		relation: relation{
			words: "largest deviation from the average / average", from: []source{arithmetic},
			inputs: []input{is(record.SupplyV12), is(record.SupplyV23), is(record.SupplyV13)},
			eval: func(x *values) (float64, error) {
				return supply.Unbalance(x.of(record.SupplyV12), x.of(record.SupplyV23), x.of(record.SupplyV13))
			},
			sheet: InSI + "MAX(ABS({supply_v12}-AVERAGE({supply_v12},{supply_v23},{supply_v13})),ABS({supply_v23}-AVERAGE({supply_v12},{supply_v23},{supply_v13})),ABS({supply_v13}-AVERAGE({supply_v12},{supply_v23},{supply_v13})))/AVERAGE({supply_v12},{supply_v23},{supply_v13})"}},
	{key: "start_coil", label: "Contactor's coil at the start, of its rating", step: record.Electrical, group: qLive, dim: units.Percent,
		applies: entered(record.SupplyVoltageStart), rule: "coil-hold", ok: "The coil has enough to stay in during the start.",
		bounds: ruled("coil-hold", func(v float64) (lo, hi float64) { return v, none }),
		relation: relation{
			words: "dip at start / rated voltage: its transformer follows the line", from: []source{arithmetic},
			inputs: []input{is(record.SupplyVoltageStart), is(record.RatedVoltage)},
			eval: func(x *values) (float64, error) {
				if x.of(record.RatedVoltage) <= 0 {
					return 0, fmt.Errorf("the rated voltage must be above zero")
				}
				return x.of(record.SupplyVoltageStart) / x.of(record.RatedVoltage), nil
			},
			sheet: InSI + "{supply_voltage_start}/{rated_voltage}"}},
	{key: "inrush", label: "Inrush, against LRA", step: record.Electrical, group: qLive, dim: units.Current,
		applies: entered(record.InrushCurrent), rule: "lra-ratio",
		bounds: boundsOf(nil, func(c *context, t *supply.Tables) (float64, float64, error) {
			lra := c.value(record.NewLRA)
			if lra == 0 && c.value(record.NewRLA) > 0 {
				var err error
				if lra, err = t.AssumedLRA(c.value(record.NewRLA)); err != nil {
					return 0, 0, err
				}
			}
			if lra == 0 {
				return 0, 0, fmt.Errorf("no limit to hold it against: enter LRA")
			}
			return none, lra, nil
		}),
		advice: func(c *context, f Finding) string {
			w := "A clamp catches part of a start and averages over it: a lower reading proves nothing, a higher one points at a rotor that is slow to turn, a weak capacitor or low volts."
			if c.value(record.NewLRA) == 0 {
				w += " LRA is not entered: six times RLA stands in."
			}
			return w
		},
		only: func(c *context) string {
			if r := c.reading(record.InrushCurrent); r != nil && r.si < math.Max(c.value(record.NewRLA), 1) {
				return "no start was caught: the clamp read less than the rated current"
			}
			return ""
		},
		relation: asRead(record.InrushCurrent, "as read, against LRA of the plate")},
	{key: "power_factor", label: "Power factor by power meter", step: record.Electrical, group: qLive, dim: units.Ratio,
		applies: entered(record.InputPower), rule: "closure", ok: "An estimate: compressor and fan currents are added as if in step.", bounds: unity, only: nothingDrawn,
		relation: relation{
			words: "P / (V × (I compressor + I fan)), √3 for three phases", from: []source{arithmetic},
			inputs: []input{is(record.InputPower), is(record.SupplyVoltage), is(record.RunCurrent), maybe(record.FanCurrent)},
			eval: func(x *values) (float64, error) {
				return supply.PowerFactor(x.of(record.InputPower), x.of(record.SupplyVoltage)*x.c.phases(), x.of(record.RunCurrent)+x.or(record.FanCurrent, 0))
			}}},
	{key: "power_factor_volts", label: "Power factor by three voltages and three currents", step: record.Electrical, group: qLive, dim: units.Ratio,
		applies: entered(record.StartWindingVolts), rule: "closure", ok: "An estimate for the compressor alone; its doubt is large where the triangles are flat.", bounds: unity,
		relation: relation{
			words: "angle of line, capacitor and start winding volts; start current 90° before the capacitor's volts; triangle of the currents", from: []source{arithmetic},
			inputs: []input{is(record.RunLeadCurrent), is(record.CapCurrent), is(record.RunCurrent), is(record.SupplyVoltage), is(record.CapVolts), is(record.StartWindingVolts)},
			eval: func(x *values) (float64, error) {
				l := supply.Leads{Run: x.of(record.RunLeadCurrent), Start: x.of(record.CapCurrent), Common: x.of(record.RunCurrent)}
				return supply.PowerFactorByVolts(l, x.of(record.SupplyVoltage), x.of(record.CapVolts), x.of(record.StartWindingVolts))
			}}},
	{key: "transformer_class2", label: "Control transformer, against class 2", step: record.Electrical, group: qLive, dim: units.Apparent,
		applies: entered(record.TransformerVA), rule: "class2-va",
		ok:       "Within the limit of a class 2 supply, as far as its rating tells; the part has to be marked class 2.",
		bounds:   ruled("class2-va", func(v float64) (lo, hi float64) { return none, v }),
		relation: asRead(record.TransformerVA, "as stated")},
}

// failure holds what is said to have failed against the old compressor's readings.
var failure = []definition{
	{key: "failure_told", label: "What failed, against the old compressor's readings", step: record.Cause, group: "Failure", dim: units.Ratio,
		applies: entered(record.OldRCS, record.OldRCR, record.OldRSR, record.OldInsulation), rule: "sum-law",
		bounds: func(*context) (Band, string) { return Band{High: new(float64)}, "" },
		only: func(c *context) string {
			if c.untold() {
				words := "what was examined does not tell whether the compressor has failed"
				if w, err := c.oldWindings(); err == nil && w.Next != "" {
					words += ". " + sentenceOf(w.Next)
				}
				return words
			}
			return ""
		},
		advice: func(c *context, f Finding) string {
			w, err := c.oldWindings()
			if err != nil {
				return ""
			}
			words := "The readings say: " + string(w.State) + ". "
			if f.Verdict != Within {
				words += "Entered: " + c.job.Text(record.FailureKind) + ". "
			}
			return words + sentenceOf(w.Next)
		},
		relation: relation{
			words: "0 they agree, 1 they contradict each other: the three pairs and the case", from: []source{windings, byRule("case-path")},
			inputs: []input{maybe(record.OldRCS), maybe(record.OldRCR), maybe(record.OldRSR), maybe(record.OldInsulation)},
			eval: func(x *values) (float64, error) {
				w, err := x.c.oldWindings()
				if err != nil {
					return 0, err
				}
				return contradicts(x.c.job.Text(record.FailureKind), w)
			}}},
	// The live checks that diagnose the old unit. What they found stands until a reading of
	// the converted unit, or what is said to have failed, answers it.
	{key: "cause_supply", label: "Supply voltage at the old unit", step: record.Cause, group: qOldLive, dim: units.Voltage,
		applies: entered(record.CauseSupply), limit: "cause_supply", target: statedTarget(record.RatedVoltage),
		valid:    func(c *context) string { return c.answered("supply_voltage") },
		relation: asRead(record.CauseSupply, "as read, against the rated voltage")},
	{key: "cause_call", label: "The call reaches the old contactor", step: record.Cause, group: qOldLive, dim: units.Ratio,
		applies: func(c *context) bool {
			t := c.job.Text(record.CauseCall)
			return t == record.Yes || t == record.No
		},
		limit: "cause_call", bounds: func(*context) (Band, string) { return Band{High: new(float64)}, "" },
		valid: func(c *context) string { return c.answered("control_voltage") },
		relation: relation{words: "0 it does, 1 it does not: as answered at the unit", from: []source{said("a question, not a reading")},
			eval: func(x *values) (float64, error) {
				if x.c.job.Text(record.CauseCall) == record.Yes {
					return 0, nil
				}
				return 1, nil
			}}},
	{key: "old_cap", label: "Run capacitor found, of its marking", step: record.Cause, group: "Old unit, dead", dim: units.Percent,
		applies: entered(record.OldCapFound), limit: "old_cap",
		valid: func(c *context) string {
			if slices.Contains(c.job.RootsOf(), rootCapacitor) {
				return "named as the root cause: Hand-over stays open until the new one reads well"
			}
			return c.renewed()
		},
		advice: func(c *context, f Finding) string {
			if f.Verdict != Outside || f.Band.Low == nil || f.Value >= *f.Band.Low || c.job.Text(record.CauseTrialGood) != record.Yes {
				return ""
			}
			return "Weak, and tried with a good one, as entered: it goes all the same. This stands until the new one was read and is within, by meter or under load."
		},
		relation: relation{words: "capacitance as measured / its marking", from: []source{arithmetic}, inputs: []input{is(record.OldCapFound), is(record.OldCapRating)},
			eval: func(x *values) (float64, error) {
				if x.of(record.OldCapRating) <= 0 {
					return 0, fmt.Errorf("the marking must be above zero")
				}
				return x.of(record.OldCapFound) / x.of(record.OldCapRating), nil
			},
			sheet: InSI + "{old_cap_found}/{old_cap_rating}"}},
	{key: "cause_inrush", label: "Old compressor's current as it tried to start, of its LRA", step: record.Cause, group: qOldLive, dim: units.Percent,
		applies: entered(record.CauseInrush), limit: "cause_inrush",
		valid: func(c *context) string {
			// A fifth is a bound of ours: no motor that tries to start draws so little.
			if c.value(record.CauseInrush) < cause.LeastStart*c.value(record.OldLRA) {
				return "next to no current: it did not try to start; a winding, the line or the call is open"
			}
			if over := c.value(record.CauseInrush) > c.value(record.OldLRA); !over {
				return ""
			}
			switch k := c.job.Text(record.FailureKind); k {
			case "shorted winding", "grounded winding":
				return "goes with what failed: " + k
			}
			return ""
		},
		// What a locked rotor draws speaks for nothing that is well.
		only: func(c *context) string {
			if c.value(record.CauseInrush) < cause.LockedShare*c.value(record.OldLRA) {
				return "less than a locked rotor draws: a start caught in part, or the rotor turned"
			}
			return "as a locked rotor draws: if it stays there for seconds the rotor does not turn; capacitor and volts first, then help to start, before it is called seized"
		},
		relation: relation{words: "current as it tried to start / locked-rotor current of its plate", from: []source{arithmetic}, inputs: []input{is(record.CauseInrush), is(record.OldLRA)},
			eval: func(x *values) (float64, error) {
				if x.of(record.OldLRA) <= 0 {
					return 0, fmt.Errorf("the locked-rotor current must be above zero")
				}
				return x.of(record.CauseInrush) / x.of(record.OldLRA), nil
			},
			sheet: InSI + "{cause_inrush}/{old_lra}"}},
}

const qOldLive = "Old unit, live"

// answered is why what a live check of the old unit found no longer stands: the
// converted unit's own reading is within.
func (c *context) answered(key string) string {
	for _, d := range liveChecks {
		if d.key != key {
			continue
		}
		f, ok := c.judgedNow(d)
		if ok && f.Verdict == Within {
			return "the converted unit's own reading is within: " + strings.ToLower(d.label[:1]) + d.label[1:]
		}
	}
	return ""
}

// contradicts is 1 where readings and the failure named cannot both be, 0 where they
// agree; an error where the readings do not tell.
func contradicts(kind string, w supply.WindingReport) (float64, error) {
	open := w.State == supply.OpenStart || w.State == supply.OpenRun || w.State == supply.OpenCommon || w.State == supply.OpenAll
	says := map[string]bool{"grounded winding": w.State == supply.Grounded, "open winding": open}
	agree, told := says[kind]
	switch {
	case kind == "":
		return 0, fmt.Errorf("pick what failed first")
	case w.State == supply.WindingsIncomplete && !(told && agree):
		return 0, fmt.Errorf("%s: %s", w.State, w.Next)
	case w.State == supply.ReadingsDisagree:
		return 1, nil
	case told && !agree, !told && (open || w.State == supply.Grounded):
		return 1, nil
	case kind == "shorted winding" && w.State != supply.ShortedTurns:
		return 0, fmt.Errorf("the old compressor's own resistances are not known: shorted turns do not show in these readings alone")
	}
	return 0, nil
}

// at25 brings a winding's resistance to the temperature of the compressor's data.
func at25(name string, k record.Key) relation {
	return relation{words: name + " (234.5 + 25) / (234.5 + t), copper", from: []source{copper}, inputs: []input{is(k), is(record.WindingTemp)},
		eval: func(x *values) (float64, error) {
			return supply.CopperAt(x.of(k), x.of(record.WindingTemp), supply.WindingReference)
		}}
}

// windingBand lies around the compressor's own resistance.
func windingBand(key record.Key) func(*context) (Band, string) {
	return boundsOf([]record.Key{key}, func(c *context, t *supply.Tables) (float64, float64, error) {
		r, _ := t.Rule("winding")
		return c.value(key) * (1 - r.Value), c.value(key) * (1 + r.Value), nil
	})
}

// coilBand lies between zero and the coil's impedance with its armature in, V
// squared over VA; 24 V where no voltage is entered.
func coilBand(volts, va record.Key) func(*context) (Band, string) {
	return boundsOf(nil, func(c *context, t *supply.Tables) (float64, float64, error) {
		v := c.value(volts)
		if v <= 0 {
			v = 24
		}
		z, err := supply.RatedOhms(v, c.value(va))
		r, _ := t.Rule("coil")
		return math.SmallestNonzeroFloat64, r.Value * z, err
	})
}

// resistance takes a resistance that may read open; ratings are what its limits
// take.
func resistance(key record.Key, words string, ratings ...record.Key) relation {
	r := relation{words: words, from: []source{arithmetic}, inputs: []input{maybe(key)}, sheet: "{" + key.String() + "}",
		eval: func(x *values) (float64, error) {
			switch {
			case x.c.open(key):
				return openOhms, nil
			case math.IsNaN(x.of(key)):
				return 0, fmt.Errorf("the resistance is not entered")
			}
			return x.of(key), nil
		}}
	for _, k := range ratings {
		r.inputs = append(r.inputs, is(k))
	}
	return r
}

// openAdvice is what to say of a part that reads open.
func openAdvice(key record.Key, part string) func(*context, Finding) string {
	return func(c *context, _ Finding) string {
		if c.open(key) {
			return "The " + part + " or its lead is open: isolate it and read again; then replace the " + part + "."
		}
		return ""
	}
}

// stockAdvice names the parts to put in parallel.
func stockAdvice(c *context, _ Finding) string {
	s, stock, err := c.combined()
	if err != nil {
		return ""
	}
	var parts []string
	for _, i := range s.Parts {
		parts = append(parts, fmt.Sprintf("%.4g", 1e6*stock[i].Farads))
	}
	w := fmt.Sprintf("%s µF: %.4g to %.4g µF at the ends of their tolerances, rated %g V.", strings.Join(parts, " + "), 1e6*s.Low, 1e6*s.High, s.Volts)
	if len(s.Parts) > 1 {
		w += " Each part is discharged by itself."
	}
	if c.value(record.CapVoltageNeeded) == 0 {
		w += " The voltage required is not entered: compare it."
	}
	return w
}

// rangeAdvice tells a voltage that range B still tolerates from one that it does
// not.
func rangeAdvice(c *context, f Finding) string {
	t, err := supply.Load()
	if err != nil || f.Verdict == Within {
		return ""
	}
	s, err := t.SystemNamed(c.job.Text(record.SupplySystem))
	if err != nil {
		return ""
	}
	a, b, v := s.Utilization["A"], s.Utilization["B"], f.Value
	in := fmt.Sprintf("outside range B (%g to %g V) too", b[0], b[1])
	switch {
	case v >= a[0] && v <= a[1]:
		in = "within range A by the reading alone, not by its doubt"
	case v >= b[0] && v <= b[1]:
		in = fmt.Sprintf("within range B (%g to %g V): tolerated for a time, to be corrected", b[0], b[1])
	}
	r, _ := t.Rule("volts-range")
	return fmt.Sprintf("At the equipment %.4g V, range A is %g to %g V; %s. %s", v, a[0], a[1], in, sentenceOf(r.Next))
}

// unbalanceAdvice says what load a three-phase motor may carry.
func unbalanceAdvice(_ *context, f Finding) string {
	t, err := supply.Load()
	if err != nil || f.Verdict == Within {
		return ""
	}
	r, _ := t.Rule("unbalance")
	w := fmt.Sprintf("The unbalance is %.3g %%, where at most %.3g %% is advised", 100*f.Value, 100*r.Value)
	if f.Value > r.Value {
		if d, err := t.Derating(f.Value); err == nil {
			w += fmt.Sprintf("; the motor may carry %.0f %% of its rated load", 100*d)
		} else {
			w += "; the motor is not to be run at this unbalance"
		}
	}
	return w + ". " + sentenceOf(r.Next)
}

// conductorTable cites where the conductors' resistance comes from.
func conductorTable(*context) string {
	t, err := supply.Load()
	if err != nil {
		return err.Error()
	}
	return "resistance of copper conductors: " + t.Resistance.Cite() + " (" + string(t.Resistance.Confidence) + ")"
}

// unity bounds a power factor.
// oldReadings doubts windings that read what the failed compressor's did, to the last
// digit: they may be of the other compressor, or copied.
func oldReadings(c *context) string {
	for _, k := range [][2]record.Key{{record.RCS, record.OldRCS}, {record.RCR, record.OldRCR}, {record.RSR, record.OldRSR}} {
		a, b := c.reading(k[0]), c.reading(k[1])
		if a == nil || b == nil || a.si != b.si {
			return ""
		}
	}
	return "all three are the failed compressor's readings to the last digit: were they read at the new one?"
}

// nothingDrawn is why the power factor of a unit that draws nothing is not judged.
func nothingDrawn(c *context) string {
	if f, ok := c.judgedNow(runCurrent); ok && f.Verdict == Outside && f.Band.Low != nil && f.Value < *f.Band.Low {
		return "the compressor draws next to nothing"
	}
	if r := c.reading(record.InputPower); r != nil && r.si < 100 {
		return "next to no power was read: does the unit run?"
	}
	return ""
}

func unity(*context) (Band, string) {
	lo, hi := 0.0, 1.0
	return Band{Low: &lo, High: &hi}, ""
}
