package assess

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/supply"
)

// The electrical findings that most jobs can do without: each belongs to a job
// once what it is about has been entered. Their limits, sources and next steps
// are the rules of package supply (assets/electrical).

// entered applies a rule once one of keys is in the record, as number or word.
func entered(keys ...record.Key) func(*context) bool {
	return func(c *context) bool {
		for _, k := range keys {
			if c.job.Text(k) != "" {
				return true
			}
		}
		return false
	}
}

// openOhms stands for an open line where a number is needed, ohm: beyond what
// an ohmmeter shows.
const openOhms = 1e9

// open tells that key was entered as an open line.
func (c *context) open(key record.Key) bool { return c.job.Text(key) == record.OpenLine }

// ohms is the reading of key as package supply takes it.
func (c *context) ohms(key record.Key) supply.Ohms {
	if c.open(key) {
		return supply.OverRange()
	}
	if r := c.reading(key); r != nil {
		return supply.Read(r.si, r.u*math.Sqrt(3))
	}
	return supply.Ohms{}
}

// citing is the row of limits that a rule of package supply stands for.
func citing(key, ok string) (limit, bool) {
	t, err := supply.Load()
	if err != nil {
		return limit{}, false
	}
	r, found := t.Rule(key)
	row := limit{Source: r.Cite(), NextLow: sentenceOf(cmp.Or(r.Next, r.Text)), NextOK: cmp.Or(ok, r.Text)}
	row.NextHigh = row.NextLow
	for k, word := range confidences {
		if string(word) == string(r.Confidence) {
			row.Confidence = k
		}
	}
	return row, found
}

// checked holds a reading against the limits of a [supply.Check].
func checked(f func(c *context, t *supply.Tables) (supply.Check, error)) func(*context) (Band, string) {
	return func(c *context) (Band, string) {
		t, err := supply.Load()
		if err != nil {
			return Band{}, err.Error()
		}
		k, err := f(c, t)
		switch {
		case err != nil:
			return Band{}, err.Error()
		case k.Low == nil && k.High == nil && k.Outcome == supply.Unknown:
			return Band{}, k.Why
		}
		return Band{Low: k.Low, High: k.High}, ""
	}
}

// resistance evaluates a resistance that may read open; x[0] is the reading.
func resistance(key record.Key) func(*context, []float64) (float64, error) {
	return func(c *context, x []float64) (float64, error) {
		switch {
		case c.open(key):
			return openOhms, nil
		case math.IsNaN(x[0]):
			return 0, fmt.Errorf("the resistance is not entered")
		}
		return x[0], nil
	}
}

// openWords is what to say of a part that reads open.
func openWords(key record.Key, part string) func(*context, Finding) string {
	return func(c *context, _ Finding) string {
		if c.open(key) {
			return "The " + part + " or its lead is open: isolate it and read again; then replace the " + part + "."
		}
		return ""
	}
}

// windingReport is what the three pairs and the case say together.
func (c *context) windingReport() (supply.WindingReport, error) {
	t, err := supply.Load()
	if err != nil {
		return supply.WindingReport{}, err
	}
	w := supply.Windings{CS: c.ohms(record.RCS), CR: c.ohms(record.RCR), SR: c.ohms(record.RSR),
		Case: []supply.Ohms{c.ohms(record.RCase), c.ohms(record.Insulation)}, Temperature: c.value(record.WindingTemp)}
	return t.CheckWindings(w, supply.WindingData{Start: c.value(record.NewRStart), Run: c.value(record.NewRRun)})
}

// wire is how the branch is laid and ended; what is not entered is taken at
// the cautious end.
func (c *context) wire() supply.Conditions {
	rating := map[string]supply.Rating{record.Rating60: 60, record.Rating75: 75, record.Rating90: 90}
	return supply.Conditions{Ambient: c.value(record.WireAmbient), Bundle: int(c.value(record.WireBundle)),
		Insulation: rating[c.job.Text(record.WireRating)], Terminals: rating[c.job.Text(record.TerminalRating)],
		Cable: c.job.Text(record.WireKind) == record.CableNM}
}

// poles is a number of poles as picked; 0 if it was not.
func (c *context) poles(key record.Key) int {
	n, err := strconv.Atoi(c.job.Text(key))
	if err != nil {
		return 0
	}
	return n
}

// before are the earlier insulation readings, oldest first.
func (c *context) before() ([]supply.Insulation, error) {
	var out []supply.Insulation
	for n, line := range strings.Split(c.job.Text(record.InsulationBefore), "\n") {
		words := strings.FieldsFunc(line, apart)
		if len(words) == 0 {
			continue
		}
		unit := "F"
		if len(words) == 3 {
			unit = strings.ToUpper(words[2])
		}
		u, err := units.Lookup(units.Temperature, unit)
		if err != nil || len(words) < 2 || len(words) > 3 {
			return nil, fmt.Errorf("insulation before, line %d: %q is not megohm and winding temperature, such as 300 95 or 300 35 C", n+1, strings.TrimSpace(line))
		}
		var x [2]float64
		for i := range x {
			if x[i], err = units.Number(words[i]); err != nil {
				return nil, fmt.Errorf("insulation before, line %d: %w", n+1, err)
			}
		}
		out = append(out, supply.Insulation{Ohms: x[0] * 1e6, Temperature: u.ToSI(x[1], 0)})
	}
	return out, nil
}

// apart separates the words of a line that a person wrote.
func apart(r rune) bool { return strings.ContainsRune(" \t\r;", r) }

// stock are the capacitors that are at hand.
func (c *context) stock() ([]supply.Part, error) {
	var out []supply.Part
	for n, line := range strings.Split(c.job.Text(record.CapStock), "\n") {
		words := strings.FieldsFunc(line, apart)
		if len(words) == 0 {
			continue
		}
		x := make([]float64, 4)
		if len(words) < 2 || len(words) > 4 {
			return nil, fmt.Errorf("capacitors in stock, line %d: %q is not microfarads, volts, and if wanted tolerance in %% and number, such as 35 440 6 2", n+1, strings.TrimSpace(line))
		}
		for i, w := range words {
			var err error
			if x[i], err = units.Number(w); err != nil {
				return nil, fmt.Errorf("capacitors in stock, line %d: %w", n+1, err)
			}
		}
		if x[3] != math.Trunc(x[3]) || x[3] < 0 || x[3] > 1e4 {
			return nil, fmt.Errorf("capacitors in stock, line %d: %g is no number of parts", n+1, x[3])
		}
		out = append(out, supply.Part{Farads: x[0] * 1e-6, Volts: x[1], Tolerance: x[2] / 100, Count: int(x[3])})
	}
	return out, nil
}

// combined is the best set of parts in stock for the capacitor required.
func (c *context) combined() (supply.Combination, []supply.Part, error) {
	t, err := supply.Load()
	if err != nil {
		return supply.Combination{}, nil, err
	}
	stock, err := c.stock()
	if err != nil {
		return supply.Combination{}, nil, err
	}
	sets, err := t.Combine(stock, c.value(record.CapRating), c.value(record.CapVoltageNeeded), 0)
	if err != nil {
		return supply.Combination{}, nil, err
	}
	if len(sets) == 0 {
		return supply.Combination{}, nil, fmt.Errorf("no up to %d parts in stock, each of the voltage required, add up to the capacitance required", supply.MaxParallel)
	}
	return sets[0], stock, nil
}

// coilVolts is the rating of a coil, 24 V where none is entered.
func (c *context) coilVolts(key record.Key) float64 {
	if v := c.value(key); v > 0 {
		return v
	}
	return 24
}

var moreDeadRules = []rule{
	{key: "winding_state", label: "Windings: open, shorted or grounded", step: record.Electrical, group: "Dead checks", dim: units.Ratio,
		formula: "0 both windings whole, 1 a fault: three pairs, case and the compressor's data taken together", applies: entered(record.RCS, record.RCR, record.RSR, record.RCase),
		needs: []need{maybe(record.RCS), maybe(record.RCR), maybe(record.RSR), maybe(record.RCase), maybe(record.WindingTemp)}, cite: "winding", ok: "Go on to the insulation test.",
		eval: func(c *context, _ []float64) (float64, error) {
			w, err := c.windingReport()
			switch {
			case err != nil:
				return 0, err
			case w.State == supply.WindingsIncomplete:
				return 0, fmt.Errorf("%s: %s", w.State, w.Next)
			case w.State == supply.WindingsComplete:
				return 0, nil
			}
			return 1, nil
		},
		bounds: func(*context) (Band, string) { return Band{High: new(float64)}, "" },
		words: func(c *context, _ Finding) string {
			w, err := c.windingReport()
			if err != nil {
				return ""
			}
			return sentenceOf(string(w.State) + ": " + w.Next)
		}},
	{key: "pins", label: "Pins that are not marked: how far apart the nearest two readings are", step: record.Electrical, group: "Dead checks", dim: units.Resistance,
		formula: "the largest spans both windings and leaves out common; of the others start is the larger", applies: entered(record.Pin12, record.Pin23, record.Pin13),
		needs: []need{is(record.Pin12), is(record.Pin23), is(record.Pin13)}, cite: "sum-law",
		eval: func(_ *context, x []float64) (float64, error) {
			lo, hi := math.Min(x[0], math.Min(x[1], x[2])), math.Max(x[0], math.Max(x[1], x[2]))
			mid := x[0] + x[1] + x[2] - lo - hi
			return math.Min(mid-lo, hi-mid), nil
		},
		bounds: func(*context) (Band, string) { return Band{Low: new(float64)}, "" },
		words: func(c *context, f Finding) string {
			p, err := supply.IdentifyPins(c.ohms(record.Pin12), c.ohms(record.Pin23), c.ohms(record.Pin13))
			if err != nil {
				return ""
			}
			w := fmt.Sprintf("Common is pin %d, start pin %d, run pin %d.", p.Common, p.Start, p.Run)
			if !p.Sure || f.Verdict != Within {
				w += " " + sentenceOf(cmp.Or(p.Why, "the readings are too near each other to be certain")) + " Read with a milliohm instrument."
			}
			return w
		}},
	{key: "insulation_test", label: "Insulation test voltage", step: record.Electrical, group: "Dead checks", dim: units.Voltage,
		formula: "as stated", applies: entered(record.InsulationVolts), needs: []need{is(record.InsulationVolts)}, eval: asRead, cite: "insulation",
		ok: "The test voltage is the usual one: the reading compares with the advice.",
		bounds: func(*context) (Band, string) {
			t, err := supply.Load()
			if err != nil {
				return Band{}, err.Error()
			}
			r, _ := t.Rule("insulation")
			return Band{Low: &r.Value, High: &r.Value}, ""
		},
		words: func(c *context, f Finding) string {
			if f.Verdict == Within {
				return ""
			}
			return "The advice is for 500 V: a reading at another voltage does not compare with it. Test again at 500 V direct current."
		}},
	{key: "insulation_trend", label: "Insulation against the first reading, both at 40 °C", step: record.Electrical, group: "Dead checks", dim: units.Percent,
		formula: "R(now) / R(first), each times 0.5 ^ ((40 - t) / 10)", applies: entered(record.InsulationBefore), needs: []need{is(record.Insulation), is(record.WindingTemp)},
		cite: "insulation-trend", ok: "No fall to half of the first reading; note it for the next visit.",
		eval: withSupply(func(c *context, t *supply.Tables, x []float64) (float64, error) {
			b, err := c.before()
			if err != nil {
				return 0, err
			}
			k, err := t.InsulationTrend(append(b, supply.Insulation{Ohms: x[0], Temperature: x[1]}))
			if err == nil && !k.Measured {
				err = fmt.Errorf("%s", k.Why)
			}
			return k.Value, err
		}),
		bounds: boundsOf(nil, func(_ *context, t *supply.Tables) (float64, float64, error) {
			r, _ := t.Rule("insulation-trend")
			return r.Value, none, nil
		})},
	{key: "coil_ohms", label: "Contactor coil", step: record.Electrical, group: "Dead checks", dim: units.Resistance,
		formula: "as read, above zero and below V² / VA", applies: entered(record.CoilOhms), needs: []need{maybe(record.CoilOhms), is(record.CoilVA)}, eval: resistance(record.CoilOhms),
		cite: "coil", ok: "The coil is continuous and below its impedance.", words: openWords(record.CoilOhms, "coil"),
		bounds: checked(func(c *context, t *supply.Tables) (supply.Check, error) {
			return t.CheckCoil(supply.Read(1, 0), c.coilVolts(record.CoilVolts), c.value(record.CoilVA))
		})},
	{key: "solenoid_ohms", label: "Solenoid coil", step: record.Electrical, group: "Dead checks", dim: units.Resistance,
		formula: "as read, above zero and below V² / VA", applies: entered(record.SolenoidOhms), needs: []need{maybe(record.SolenoidOhms), is(record.SolenoidVA)}, eval: resistance(record.SolenoidOhms),
		cite: "coil", ok: "The coil is continuous and below its impedance.", words: openWords(record.SolenoidOhms, "coil"),
		bounds: checked(func(c *context, t *supply.Tables) (supply.Check, error) {
			return t.CheckCoil(supply.Read(1, 0), c.coilVolts(record.SolenoidVolts), c.value(record.SolenoidVA))
		})},
	{key: "heater_ohms", label: "Crankcase heater", step: record.Electrical, group: "Dead checks", dim: units.Resistance,
		formula: "as read, around V² / W", applies: entered(record.HeaterOhms), needs: []need{maybe(record.HeaterOhms), is(record.HeaterVolts), is(record.HeaterWatts)}, eval: resistance(record.HeaterOhms),
		cite: "heater", ok: "The heater has the resistance of its rating.", words: openWords(record.HeaterOhms, "heater"),
		bounds: checked(func(c *context, t *supply.Tables) (supply.Check, error) {
			self := c.job.Text(record.HeaterKind) == record.HeaterSelf
			if self && c.open(record.HeaterOhms) { // whatever regulates it, it conducts when cold
				self = false
			}
			return t.CheckHeater(supply.Read(1, 0), c.value(record.HeaterVolts), c.value(record.HeaterWatts), self)
		})},
	{key: "cap_fan_meter", label: "Fan capacitor by meter", step: record.Electrical, group: "Dead checks", dim: units.Capacitance,
		formula: "as read, against its marking", applies: entered(record.CapFanMeter), needs: []need{is(record.CapFanMeter)}, eval: asRead, cite: "cap-class",
		ok: "The fan's capacitor has its value.",
		bounds: boundsOf([]record.Key{record.FanCapRating}, func(c *context, t *supply.Tables) (float64, float64, error) {
			r, _ := t.Rule("cap-class")
			want := c.value(record.FanCapRating)
			return want * (1 - r.Value), want * (1 + r.Value), nil
		})},
	{key: "cap_outer", label: "Dual capacitor, HERM to FAN", step: record.Electrical, group: "Dead checks", dim: units.Capacitance,
		formula: "as read, against C1 C2 / (C1 + C2) of the two sections by meter", applies: entered(record.CapOuter), needs: []need{is(record.CapOuter)}, eval: asRead,
		cite: "cap-dual", ok: "The two sections and the reading across them agree.",
		bounds: func(c *context) (Band, string) {
			if c.value(record.CapMeter) == 0 || c.value(record.CapFanMeter) == 0 {
				return Band{}, "no limit to hold it against: read both sections by meter, C to HERM and C to FAN"
			}
			return checked(func(c *context, t *supply.Tables) (supply.Check, error) {
				return t.CheckDual(c.value(record.CapMeter), c.value(record.CapFanMeter), c.value(record.CapOuter))
			})(c)
		}},
	{key: "cap_stock", label: "Run capacitor from stock, in parallel", step: record.Electrical, group: "Dead checks", dim: units.Capacitance,
		formula: "sum of the markings, against what the compressor needs", applies: entered(record.CapStock), needs: []need{is(record.CapRating)}, cite: "cap-match",
		eval: func(c *context, _ []float64) (float64, error) {
			s, _, err := c.combined()
			return s.Farads, err
		},
		bounds: boundsOf(nil, func(c *context, t *supply.Tables) (float64, float64, error) {
			r, _ := t.Rule("cap-match")
			return c.value(record.CapRating) * (1 - r.Value), c.value(record.CapRating) * (1 + r.Value), nil
		}),
		words: func(c *context, _ Finding) string {
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
		}},
}

var moreCircuitRules = []rule{
	{key: "small_conductor", label: "Small conductor behind its breaker", step: record.Electrical, group: qCircuit, dim: units.Current,
		formula: "as stated; 15, 20 and 30 A for 14, 12 and 10 AWG do not bind a motor-compressor's circuit", applies: entered(record.WireGauge), needs: []need{is(record.Breaker)}, eval: asRead,
		cite: "small-wire",
		bounds: checked(func(c *context, t *supply.Tables) (supply.Check, error) {
			return t.CheckSmallConductor(c.gauge(), c.value(record.Breaker), true)
		}),
		words: func(c *context, _ Finding) string {
			t, err := supply.Load()
			if err != nil {
				return ""
			}
			k, err := t.CheckSmallConductor(c.gauge(), c.value(record.Breaker), true)
			if err != nil {
				return ""
			}
			return sentenceOf(k.Why)
		}},
}

var moreLiveRules = []rule{
	{key: "supply_range", label: "Supply voltage, against the ranges of its system", step: record.Electrical, group: "Live checks", dim: units.Voltage,
		formula: "as read at the equipment, against range A", applies: entered(record.SupplySystem), needs: []need{is(record.SupplyVoltage)}, eval: asRead, cite: "volts-range",
		ok: "In range A.",
		bounds: checked(func(c *context, t *supply.Tables) (supply.Check, error) {
			return t.CheckSystemVolts(c.value(record.SupplyVoltage), c.job.Text(record.SupplySystem), false)
		}),
		words: func(c *context, f Finding) string {
			t, err := supply.Load()
			if err != nil || f.Verdict == Within {
				return ""
			}
			k, err := t.CheckSystemVolts(c.value(record.SupplyVoltage), c.job.Text(record.SupplySystem), false)
			if err != nil {
				return ""
			}
			return sentenceOf(k.Why) + " " + sentenceOf(k.Rule.Next)
		}},
	{key: "unbalance", label: "Unbalance of the three line voltages", step: record.Electrical, group: "Live checks", dim: units.Percent,
		formula: "largest deviation from the average / average", applies: entered(record.SupplyV12, record.SupplyV23, record.SupplyV13), needs: []need{is(record.SupplyV12), is(record.SupplyV23), is(record.SupplyV13)},
		cite: "unbalance", ok: "The three voltages are balanced.",
		eval: func(_ *context, x []float64) (float64, error) { return supply.Unbalance(x[0], x[1], x[2]) },
		bounds: boundsOf(nil, func(_ *context, t *supply.Tables) (float64, float64, error) {
			r, _ := t.Rule("unbalance")
			return none, r.Value, nil
		}),
		words: func(c *context, f Finding) string {
			t, err := supply.Load()
			if err != nil || f.Verdict == Within {
				return ""
			}
			k, err := t.CheckUnbalance(c.value(record.SupplyV12), c.value(record.SupplyV23), c.value(record.SupplyV13))
			if err != nil {
				return ""
			}
			return sentenceOf(k.Why) + " " + sentenceOf(k.Rule.Next)
		}},
	{key: "start_coil", label: "Contactor's coil at the start, of its rating", step: record.Electrical, group: "Live checks", dim: units.Percent,
		formula: "dip at start / rated voltage: its transformer follows the line", applies: entered(record.SupplyVoltageStart), needs: []need{is(record.SupplyVoltageStart), is(record.RatedVoltage)},
		cite: "coil-hold", ok: "The coil has enough to stay in during the start.",
		eval: func(_ *context, x []float64) (float64, error) {
			if x[1] <= 0 {
				return 0, fmt.Errorf("the rated voltage must be above zero")
			}
			return x[0] / x[1], nil
		},
		bounds: boundsOf(nil, func(_ *context, t *supply.Tables) (float64, float64, error) {
			r, _ := t.Rule("coil-hold")
			return r.Value, none, nil
		})},
	{key: "inrush", label: "Inrush, against LRA", step: record.Electrical, group: "Live checks", dim: units.Current,
		formula: "as read, against LRA of the plate", applies: entered(record.InrushCurrent), needs: []need{is(record.InrushCurrent)}, eval: asRead, cite: "lra-ratio",
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
		words: func(c *context, f Finding) string {
			w := "A clamp catches part of a start and averages over it: a lower reading proves nothing, a higher one points at a rotor that is slow to turn, a weak capacitor or low volts."
			if c.value(record.NewLRA) == 0 {
				w += " LRA is not entered: six times RLA stands in."
			}
			return w
		}},
	{key: "power_factor", label: "Power factor by power meter", step: record.Electrical, group: "Live checks", dim: units.Ratio,
		formula: "P / (V × (I compressor + I fan)), √3 for three phases", applies: entered(record.InputPower), needs: []need{is(record.InputPower), is(record.SupplyVoltage), is(record.RunCurrent), maybe(record.FanCurrent)},
		cite: "closure", ok: "An estimate: compressor and fan currents are added as if in step.",
		eval: func(c *context, x []float64) (float64, error) {
			return supply.PowerFactor(x[0], x[1]*c.phases(), x[2]+orZero(x[3]))
		},
		bounds: unity},
	{key: "power_factor_volts", label: "Power factor by three voltages and three currents", step: record.Electrical, group: "Live checks", dim: units.Ratio,
		formula: "angle of line, capacitor and start winding volts; start current 90° before the capacitor's volts; triangle of the currents", applies: entered(record.StartWindingVolts),
		needs: []need{is(record.RunLeadCurrent), is(record.CapCurrent), is(record.RunCurrent), is(record.SupplyVoltage), is(record.CapVolts), is(record.StartWindingVolts)}, cite: "closure",
		ok: "An estimate for the compressor alone; its doubt is large where the triangles are flat.",
		eval: func(_ *context, x []float64) (float64, error) {
			return supply.PowerFactorByVolts(supply.Leads{Run: x[0], Start: x[1], Common: x[2]}, x[3], x[4], x[5])
		},
		bounds: unity},
	{key: "transformer_class2", label: "Control transformer, against class 2", step: record.Electrical, group: "Live checks", dim: units.Apparent,
		formula: "as stated", applies: entered(record.TransformerVA), needs: []need{is(record.TransformerVA)}, eval: asRead, cite: "class2-va",
		ok: "Within the limit of a class 2 supply, as far as its rating tells; the part has to be marked class 2.",
		bounds: boundsOf(nil, func(_ *context, t *supply.Tables) (float64, float64, error) {
			r, _ := t.Rule("class2-va")
			return none, r.Value, nil
		})},
}

// unity bounds a power factor.
func unity(*context) (Band, string) {
	lo, hi := 0.0, 1.0
	return Band{Low: &lo, High: &hi}, ""
}

// sentenceOf makes a sentence of words.
func sentenceOf(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + strings.TrimSuffix(s[1:], ".") + "."
}
