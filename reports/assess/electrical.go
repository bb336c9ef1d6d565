package assess

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/supply"
)

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

// plateVolts is the rated voltage of the new compressor: of a plate's range the end
// that is for the supply at hand; low is the other end, 0 where there is none.
func (c *context) plateVolts() (volts, low float64) {
	supply := c.value(record.RatedVoltage)
	a, ok := c.job.Number(record.NewVoltage)
	if !ok {
		return supply, 0
	}
	if a.Low != a.Typed {
		low = a.Unit.ToSI(a.Low, 0)
	}
	if supply == 0 {
		return a.SI(0), low
	}
	return a.Near(supply), low
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
	_, low := c.plateVolts()
	high := c.value(record.NewVoltage) // one that was not entered fits nothing
	return supply.Conversion{
		Old: supply.Side{RLA: c.value(record.OldRLA), LRA: c.value(record.OldLRA), Volts: c.value(record.RatedVoltage),
			Capacitor: c.value(record.OldCapRating), MCA: c.value(record.PlateMCA), MOCP: c.value(record.PlateMOCP)},
		New: supply.Side{RLA: c.value(record.NewRLA), BCSC: c.value(record.NewBCSC), LRA: c.value(record.NewLRA), Volts: high, VoltsLow: low,
			Capacitor: c.value(record.CapRating), CapacitorVolts: c.value(record.CapVoltageNeeded)},
		Others: c.value(record.FanFLA), SupplyVolts: c.value(record.RatedVoltage),
		Capacitor: c.value(record.CapFitted), CapacitorVolts: c.value(record.CapVoltage),
		Contactor: supply.Contactor{FLA: c.value(record.ContactorFLA), LRA: c.value(record.ContactorLRA), Poles: c.poles(record.ContactorPoles), OldPoles: c.poles(record.OldPoles)},
		Breaker:   c.value(record.Breaker), Disconnect: c.value(record.Disconnect), Wire: c.branch(), Conditions: c.wire(),
		Ground: strings.TrimSuffix(c.job.Text(record.GroundGauge), " AWG"), SizeUp: c.job.Text(record.CodeEdition) == record.SizeUp,
	}
}

// boundsOf computes a band by the electrical tables, once what it needs is
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

// ruled makes a band of the number of a rule of package supply.
func ruled(key string, f func(v float64) (lo, hi float64)) func(*context) (Band, string) {
	return boundsOf(nil, func(_ *context, t *supply.Tables) (float64, float64, error) {
		r, _ := t.Rule(key)
		lo, hi := f(r.Value)
		return lo, hi, nil
	})
}

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

// oldWindings is what the old compressor's pairs and its case say together.
func (c *context) oldWindings() (supply.WindingReport, error) {
	t, err := supply.Load()
	if err != nil {
		return supply.WindingReport{}, err
	}
	return t.CheckWindings(supply.Windings{CS: c.ohms(record.OldRCS), CR: c.ohms(record.OldRCR), SR: c.ohms(record.OldRSR),
		Case: []supply.Ohms{c.ohms(record.OldInsulation)}}, supply.WindingData{})
}

// wire is how the branch is laid and ended; what is not entered is taken at
// the cautious end.
func (c *context) wire() supply.Conditions {
	rating := map[string]supply.Rating{record.Rating60: 60, record.Rating75: 75, record.Rating90: 90}
	return supply.Conditions{Ambient: c.value(record.WireAmbient), Bundle: int(c.value(record.WireBundle)),
		Insulation: rating[c.job.Text(record.WireRating)], Terminals: rating[c.job.Text(record.TerminalRating)],
		Cable: c.job.Text(record.WireKind) == record.CableNM, Aluminum: c.aluminum()}
}

func (c *context) aluminum() bool { return c.job.Text(record.WireMetal) == record.MetalAluminum }

// mocp is the largest overcurrent device for the new compressor, by the edition of the
// code that the job names.
func (c *context) mocp(t *supply.Tables) (supply.Overcurrent, error) {
	basis := math.Max(c.value(record.NewRLA), c.value(record.NewBCSC))
	if c.job.Text(record.CodeEdition) == record.SizeUp {
		return t.MOCPUp(basis, c.value(record.FanFLA))
	}
	return t.MOCP(basis, c.value(record.FanFLA))
}

// edition names the rule by which a device was judged.
func (c *context) edition() string {
	switch c.job.Text(record.CodeEdition) {
	case record.SizeUp:
		return "By the 2023 edition: next standard size up."
	case record.SizeDown:
		return "By an edition before 2023, as recalled: taken down to a standard size."
	}
	return "No edition of the electrical code is entered: taken down to a standard size, as before 2023."
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

// phases is the factor of a three-phase supply.
func (c *context) phases() float64 {
	if p := c.job.Text(record.Phases); p != "" && p != record.PhaseSingle {
		return math.Sqrt(3)
	}
	return 1
}

// sentenceOf makes a sentence of words.
func sentenceOf(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + strings.TrimSuffix(s[1:], ".") + "."
}
