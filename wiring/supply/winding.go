package supply

import (
	"fmt"
	"math"
)

// Ohms is a resistance reading. Doubt is the half-width of what the instrument
// may be off by, ohm: its accuracy at that value and half a digit. Open means
// that the meter showed over-range. The zero Ohms is no reading.
type Ohms struct {
	Value, Doubt float64
	Open         bool
	Taken        bool
}

// Read is a reading of r ohm with its doubt.
func Read(r, doubt float64) Ohms { return Ohms{Value: r, Doubt: doubt, Taken: true} }

// OverRange is a reading that the meter shows as open.
func OverRange() Ohms { return Ohms{Open: true, Taken: true} }

func (o Ohms) valid(what string) error {
	if !o.Taken || o.Open {
		return nil
	}
	if err := natural(what, o.Value, "ohm"); err != nil {
		return err
	}
	return natural("doubt of "+what, o.Doubt, "ohm")
}

// CopperAt converts a copper resistance r, ohm, from temperature from to
// temperature to, K:
//
//	r (234.5 + to) / (234.5 + from), temperatures in C
//
// The 234.5 C is the inferred zero-resistance temperature of annealed copper of
// IEC 60228 (coefficient 0.00393 per C at 20 C). Range: 200 to 500 K.
func CopperAt(r, from, to float64) (float64, error) {
	if err := natural("resistance", r, "ohm"); err != nil {
		return 0, err
	}
	if err := in("winding temperature", from, "K", 200, 500); err != nil {
		return 0, err
	}
	if err := in("reference temperature", to, "K", 200, 500); err != nil {
		return 0, err
	}
	const zero = 234.5 - 273.15
	return finite("resistance", r*(zero+to)/(zero+from))
}

// WindingReference is the temperature at which windings are compared, K (25 C).
const WindingReference = 298.15

// SumResidual is R(C-S) + R(C-R) - R(S-R), ohm: zero for two windings in
// series.
func SumResidual(cs, cr, sr float64) float64 { return cs + cr - sr }

// Pins tells which of the three pins of a compressor is which. Pins are
// numbered 1, 2, 3.
type Pins struct {
	Common, Start, Run int
	Sure               bool   // the readings differ by more than their doubt
	Why                string // what could not be told apart
}

// IdentifyPins finds common, start and run from the three readings between
// pins 1-2, 2-3 and 1-3. The largest reading spans both windings, so the pin
// that it leaves out is common; of the other two readings the larger is the
// start winding. All three must be taken and closed.
func IdentifyPins(r12, r23, r13 Ohms) (Pins, error) {
	pairs := [3]struct {
		r    Ohms
		a, b int
	}{{r12, 1, 2}, {r23, 2, 3}, {r13, 1, 3}}
	for _, p := range pairs {
		what := fmt.Sprintf("resistance between pins %d and %d", p.a, p.b)
		if err := p.r.valid(what); err != nil {
			return Pins{}, err
		}
		if !p.r.Taken || p.r.Open {
			return Pins{}, fmt.Errorf("%s: a closed reading is needed to tell the pins apart", what)
		}
	}
	// Ascending by value: run, start, both.
	for i := range 2 {
		for j := range 2 - i {
			if pairs[j].r.Value > pairs[j+1].r.Value {
				pairs[j], pairs[j+1] = pairs[j+1], pairs[j]
			}
		}
	}
	run, start, both := pairs[0], pairs[1], pairs[2]
	p := Pins{Common: 6 - both.a - both.b, Sure: true}
	p.Start, p.Run = start.a+start.b-p.Common, run.a+run.b-p.Common
	apart := func(x, y Ohms) bool { return y.Value-x.Value > x.Doubt+y.Doubt }
	switch {
	case !apart(start.r, both.r):
		p.Sure, p.Why = false, "the two largest readings are nearer than their doubt: common is not certain"
	case !apart(run.r, start.r):
		p.Sure, p.Why = false, "the two smaller readings are nearer than their doubt: start and run are not certain"
	}
	return p, nil
}

// Windings are the readings at a single-phase compressor's terminals with all
// leads off. Case holds what was read from any terminal to the case.
type Windings struct {
	CS, CR, SR  Ohms
	Case        []Ohms
	Temperature float64 // of the winding, K; 0 not known
}

// WindingData is what the compressor's data say. Zero fields are not known.
type WindingData struct {
	Start, Run  float64 // ohm
	Temperature float64 // K; 0 means 298.15
	Tolerance   float64 // fraction; 0 means the rule's
}

// WindingState is what the readings say together.
type WindingState string

// The states of a winding set.
const (
	WindingsComplete   WindingState = "both windings continuous"
	OpenStart          WindingState = "start winding open"
	OpenRun            WindingState = "run winding open"
	OpenCommon         WindingState = "common lead or internal overload open"
	OpenAll            WindingState = "more than one path open"
	Grounded           WindingState = "path to the case"
	ShortedTurns       WindingState = "resistance too low: shorted turns suspected"
	HighResistance     WindingState = "resistance too high: bad joint or wrong temperature"
	ReadingsDisagree   WindingState = "readings disagree with each other"
	TerminalsSwapped   WindingState = "start and run terminals seem exchanged"
	WindingsIncomplete WindingState = "readings missing"
)

// WindingReport is the outcome of Windings.
type WindingReport struct {
	State  WindingState
	Next   string
	Checks []Check
}

// CheckWindings tells open, grounded and shorted windings apart and holds the
// rest against the sum law and the compressor's data. All resistances in the
// checks are at data.Temperature when the winding's temperature is known.
func (t *Tables) CheckWindings(w Windings, data WindingData) (WindingReport, error) {
	named := []struct {
		name string
		o    Ohms
	}{{"R(C-S)", w.CS}, {"R(C-R)", w.CR}, {"R(S-R)", w.SR}}
	missing, open := 0, 0
	for _, n := range named {
		if err := n.o.valid(n.name); err != nil {
			return WindingReport{}, err
		}
		if !n.o.Taken {
			missing++
		}
		if n.o.Open {
			open++
		}
	}
	if err := natural("compressor's start winding", data.Start, "ohm"); err != nil {
		return WindingReport{}, err
	}
	if err := natural("compressor's run winding", data.Run, "ohm"); err != nil {
		return WindingReport{}, err
	}
	if err := in("winding tolerance", data.Tolerance, "1", 0, 0.5); err != nil {
		return WindingReport{}, err
	}

	rep := WindingReport{}
	grounded, err := t.checkCase(&rep, w.Case)
	if err != nil {
		return rep, err
	}
	switch {
	case grounded:
		rep.State, rep.Next = Grounded, t.rule("case-path").Caution
	case missing > 0:
		rep.State, rep.Next = WindingsIncomplete, "read all three pairs with every lead off"
	case open == 3:
		rep.State, rep.Next = OpenAll, "check the meter's leads on each other, then repeat at clean pins"
	case w.CS.Open && w.CR.Open:
		rep.State, rep.Next = OpenCommon, "let the shell cool to the touch, which can take hours, and read again before condemning it"
	case w.CS.Open && w.SR.Open:
		rep.State, rep.Next = OpenStart, "repeat at clean pins; an open start winding is final"
	case w.CR.Open && w.SR.Open:
		rep.State, rep.Next = OpenRun, "repeat at clean pins; an open run winding is final"
	case open == 1:
		rep.State, rep.Next = ReadingsDisagree, "one open pair alone cannot be: two closed pairs connect the third; read again"
	}
	if missing == 0 && open == 0 {
		if err := t.checkClosed(&rep, w, data); err != nil {
			return rep, err
		}
	}
	return rep, nil
}

// checkCase looks for a path to the case.
func (t *Tables) checkCase(rep *WindingReport, readings []Ohms) (grounded bool, err error) {
	rule := t.rule("case-path")
	low, taken := math.Inf(1), false
	for _, o := range readings {
		if err := o.valid("resistance to the case"); err != nil {
			return false, err
		}
		if o.Taken {
			taken = true
			if !o.Open {
				low = math.Min(low, o.Value)
			}
		}
	}
	switch {
	case !taken:
		rep.Checks = append(rep.Checks, unknown(rule, "resistance to the case", "ohm", "not read"))
	case math.IsInf(low, 1):
		c := unknown(rule, "resistance to the case", "ohm", "over-range on the ohmmeter from every terminal read; the insulation test says more")
		c.Outcome = Fits
		rep.Checks = append(rep.Checks, c)
	default:
		c := atLeast(rule, "resistance to the case", "ohm", low, rule.Value)
		if c.Outcome == Fits {
			c.Outcome, c.Why = Unknown, "a path to the case of "+show(low, "ohm")+": an insulation test decides"
		}
		grounded = c.Outcome == Misfit
		rep.Checks = append(rep.Checks, c)
	}
	return grounded, nil
}

// checkClosed judges three closed readings.
func (t *Tables) checkClosed(rep *WindingReport, w Windings, data WindingData) error {
	// The sum of decimal readings is off by a rounding even where they agree.
	doubt := w.CS.Doubt + w.CR.Doubt + w.SR.Doubt + 1e-12*w.SR.Value
	sum := between(t.rule("sum-law"), "R(C-S) + R(C-R) - R(S-R)", "ohm",
		SumResidual(w.CS.Value, w.CR.Value, w.SR.Value), -doubt, doubt)
	rep.Checks = append(rep.Checks, sum)

	tol := data.Tolerance
	if tol == 0 {
		tol = t.rule("winding").Value
	}
	start, sLow, sHigh, err := t.checkWinding("start winding", w.CS, w.Temperature, data.Start, data.Temperature, tol)
	if err != nil {
		return err
	}
	run, rLow, rHigh, err := t.checkWinding("run winding", w.CR, w.Temperature, data.Run, data.Temperature, tol)
	if err != nil {
		return err
	}
	rep.Checks = append(rep.Checks, start, run)
	if rep.State != "" {
		return nil
	}
	swapped := w.CR.Value-w.CS.Value > w.CR.Doubt+w.CS.Doubt
	switch {
	case sLow || rLow || w.CS.Value <= w.CS.Doubt || w.CR.Value <= w.CR.Doubt:
		rep.State, rep.Next = ShortedTurns, "read again with a milliohm instrument at a known winding temperature; compare with a like compressor"
	case sum.Outcome != Fits:
		rep.State, rep.Next = ReadingsDisagree, sum.Rule.Next
	case swapped:
		rep.State, rep.Next = TerminalsSwapped, "identify the pins from the three readings before connecting"
	case sHigh || rHigh:
		rep.State, rep.Next = HighResistance, "measure the winding temperature again; clean the pins and repeat"
	default:
		rep.State, rep.Next = WindingsComplete, "go on to the insulation test"
	}
	return nil
}

func (t *Tables) checkWinding(what string, o Ohms, at, want, wantAt, tol float64) (c Check, low, high bool, err error) {
	rule := t.rule("winding")
	if wantAt == 0 {
		wantAt = WindingReference
	}
	if at == 0 {
		c = unknown(rule, what, "ohm", "the winding's temperature is not known: the reading cannot be brought to the temperature of the data")
		c.Measured, c.Value = true, o.Value
		return c, false, false, nil
	}
	r, err := CopperAt(o.Value, at, wantAt)
	if err != nil {
		return c, false, false, err
	}
	if want == 0 {
		c = unknown(rule, what, "ohm", "the compressor's own resistance is not known")
		c.Measured, c.Value = true, r
		return c, false, false, nil
	}
	d, err := CopperAt(o.Doubt, at, wantAt)
	if err != nil {
		return c, false, false, err
	}
	lo, hi := want*(1-tol), want*(1+tol)
	c = between(rule, what, "ohm", r, lo, hi)
	low, high = r+d < lo, r-d > hi
	if (c.Outcome == Misfit) != (low || high) || (c.Outcome == Fits && (r-d < lo || r+d > hi)) {
		c.Outcome = Unknown
		c.Why = fmt.Sprintf("%s with a doubt of %s spans a limit (%s to %s)", show(r, "ohm"), show(d, "ohm"), show(lo, "ohm"), show(hi, "ohm"))
	}
	return c, low, high, nil
}
