package charge

import (
	"fmt"
	"math"
)

// A Span is what is known only within bounds; both ends alike are a value known
// well. Its standard uncertainty is that of a rectangle (JCGM 100, 4.3.7, from
// memory).
type Span struct{ Low, High float64 }

// Exactly is a span without width.
func Exactly(x float64) Span { return Span{x, x} }

// Mid is its middle, U its standard uncertainty.
func (s Span) Mid() float64 { return (s.Low + s.High) / 2 }

// U is the standard uncertainty.
func (s Span) U() float64 { return (s.High - s.Low) / math.Sqrt(12) }

func (s Span) ok() bool { return s.Low <= s.High && !math.IsInf(s.Low, 0) && !math.IsInf(s.High, 0) }

// minus is the span of a difference.
func (s Span) minus(t Span) Span { return Span{s.Low - t.High, s.High - t.Low} }

// Basis says what a term stands on.
type Basis string

// The bases.
const (
	Read     Basis = "read off the plate or measured"
	Computed Basis = "volume by density"
	Bounds   Basis = "bounds, for what is not known"
	Practice Basis = "common practice, no source"
)

// A Term is one part of the charge: kg, standard uncertainty, and how much of it
// each of the two densities moves per standard uncertainty of theirs, since all
// terms share them.
type Term struct {
	Name            string
	M, U            float64
	byLiquid, byGas float64
	ownU            float64
	Basis           Basis
	NotCounted      string // what the term cannot know
}

func (t Term) sum() Term {
	t.U = math.Sqrt(t.ownU*t.ownU + t.byLiquid*t.byLiquid + t.byGas*t.byGas)
	return t
}

// Densities are those of the running state, kg/m3, with standard uncertainties:
// liquid leaving the condenser, gas in the suction line, gas at discharge.
type Densities struct {
	Liquid, ULiquid float64
	Gas, UGas       float64
	Discharge       float64
}

func (d Densities) check() error {
	if !(d.Liquid > 0 && d.Gas > 0 && d.Gas < d.Liquid && d.Discharge >= 0 && d.Discharge < d.Liquid && d.ULiquid >= 0 && d.UGas >= 0) || math.IsInf(d.Liquid+d.ULiquid+d.UGas, 0) {
		return fmt.Errorf("charge: densities %+v kg/m3; allowed above 0, gas below liquid, doubt from 0", d)
	}
	return nil
}

// A Line is a length of tube, m, as it is and as the plate covers it.
type Line struct {
	Length, Included Span
	Tube             Tube
}

func (l Line) check() error {
	if !(l.Length.ok() && l.Included.ok() && l.Length.Low >= 0 && l.Included.Low >= 0) {
		return fmt.Errorf("charge: line of %+v m, %+v m included; allowed from 0, low end first", l.Length, l.Included)
	}
	_, err := Bore(l.Tube.OD, l.Tube.Wall)
	return err
}

// volume is m3 and its standard uncertainty.
func (l Line) volume() (v, u float64) {
	bore := l.Tube.OD - 2*l.Tube.Wall
	area := math.Pi / 4 * bore * bore
	more := l.Length.minus(l.Included)
	v = more.Mid() * area
	length := math.Hypot(l.Length.U(), l.Included.U())
	return v, math.Hypot(length*area, math.Abs(v)*4*l.Tube.UWall/bore)
}

// Plate is the charge on the plate, kg, within the rounding it is printed with.
func Plate(s Span) (Term, error) {
	if !(s.ok() && s.Low > 0) {
		return Term{}, fmt.Errorf("charge: plate charge %+v kg; allowed above 0", s)
	}
	return Term{Name: "plate", M: s.Mid(), ownU: s.U(), Basis: Read}.sum(), nil
}

// LiquidLine is what the liquid line holds beyond what the plate covers.
func LiquidLine(l Line, d Densities) (Term, error) {
	if err := first(l.check(), d.check()); err != nil {
		return Term{}, err
	}
	v, u := l.volume()
	return Term{Name: "liquid line", M: v * d.Liquid, ownU: u * d.Liquid, byLiquid: v * d.ULiquid, Basis: Computed}.sum(), nil
}

// SuctionLine is what the suction line holds beyond what the plate covers.
func SuctionLine(l Line, d Densities) (Term, error) {
	if err := first(l.check(), d.check()); err != nil {
		return Term{}, err
	}
	v, u := l.volume()
	return Term{Name: "suction line", M: v * d.Gas, ownU: u * d.Gas, byGas: v * d.UGas, Basis: Computed}.sum(), nil
}

// Volume is what a part full of liquid takes: a new drier's free volume, m3, less
// that of the one taken out.
func Volume(name string, now, before Span, d Densities) (Term, error) {
	if err := first(spans(now, before), d.check()); err != nil {
		return Term{}, err
	}
	v, u := now.Mid()-before.Mid(), math.Hypot(now.U(), before.U())
	return Term{Name: name, M: v * d.Liquid, ownU: u * d.Liquid, byLiquid: v * d.ULiquid, Basis: Computed}.sum(), nil
}

// How full of liquid two-phase parts are while they run, by volume; common
// practice, no source.
var (
	CoilFull        = Span{0.1, 0.5}
	AccumulatorFull = Span{0, 0.25}
)

// Mixed is what a part that holds both phases takes when its volume, m3, changes:
// a coil or an accumulator; full is the share of its volume that liquid fills.
func Mixed(name string, now, before, full Span, d Densities) (Term, error) {
	if err := first(spans(now, before), d.check()); err != nil {
		return Term{}, err
	}
	if !(full.ok() && full.Low >= 0 && full.High <= 1) {
		return Term{}, fmt.Errorf("charge: %s %+v full of liquid; allowed 0 to 1", name, full)
	}
	v, u := now.Mid()-before.Mid(), math.Hypot(now.U(), before.U())
	mean := full.Mid()*d.Liquid + (1-full.Mid())*d.Gas
	t := Term{Name: name, M: v * mean, Basis: Bounds,
		ownU:     math.Hypot(u*mean, v*full.U()*(d.Liquid-d.Gas)),
		byLiquid: v * full.Mid() * d.ULiquid, byGas: v * (1 - full.Mid()) * d.UGas}
	return t.sum(), nil
}

// A Compressor is what its shell holds: free gas volume, m3, and oil, kg, each
// within bounds; whether discharge gas fills the shell. Unknown: its data are not
// at hand.
type Compressor struct {
	Free, Oil Span
	HighSide  bool
	Unknown   bool
}

// Dissolved is refrigerant over oil by mass: running, with warm oil under suction
// gas; and at rest, without a crankcase heater. Bounds that comprise mineral and
// ester oils; from memory.
var (
	DissolvedRunning = Span{0.05, 0.25}
	DissolvedAtRest  = Span{0.15, 0.8}
)

// Unmatched is what the trade reckons with when nothing is known of the two
// compressors: a much smaller one of another kind takes about a pound less than the
// old label. Common practice, no source.
var Unmatched = Span{-0.4536, 0}

// Change is what a change of compressor adds (or takes) in running condition: free
// volume with gas, and refrigerant in the oil within dissolved, the same share in
// both. Where one of the two is unknown, the bounds of Unmatched.
func Change(now, before Compressor, dissolved Span, d Densities) (Term, error) {
	if now.Unknown || before.Unknown {
		return Term{Name: "compressor", M: Unmatched.Mid(), ownU: Unmatched.U(), Basis: Practice,
			NotCounted: "free volume and oil of the two compressors are not known"}.sum(), nil
	}
	if err := first(spans(now.Free, before.Free, now.Oil, before.Oil, dissolved), d.check()); err != nil {
		return Term{}, err
	}
	if (now.HighSide || before.HighSide) && d.Discharge == 0 {
		return Term{}, fmt.Errorf("charge: a shell full of discharge gas needs its density")
	}
	gas := func(c Compressor) (rho, by float64) {
		if c.HighSide {
			return d.Discharge, 0
		}
		return d.Gas, d.UGas
	}
	rn, un := gas(now)
	rb, ub := gas(before)
	oil := now.Oil.Mid() - before.Oil.Mid()
	own := 0.0
	for _, u := range [...]float64{now.Free.U() * rn, before.Free.U() * rb, now.Oil.U() * dissolved.Mid(), before.Oil.U() * dissolved.Mid(), oil * dissolved.U()} {
		own = math.Hypot(own, u)
	}
	t := Term{Name: "compressor", M: now.Free.Mid()*rn - before.Free.Mid()*rb + oil*dissolved.Mid(), ownU: own,
		byGas: now.Free.Mid()*un - before.Free.Mid()*ub, Basis: Bounds}
	return t.sum(), nil
}

// Sum is the charge, kg, with its standard uncertainty: what is each term's own in
// squares, what the densities move in all of them at once.
func Sum(terms []Term) (m, u float64, err error) {
	var own, liquid, gas float64
	for _, t := range terms {
		m += t.M
		own += t.ownU * t.ownU
		liquid += t.byLiquid
		gas += t.byGas
	}
	u = math.Sqrt(own + liquid*liquid + gas*gas)
	if !(m > 0) || math.IsInf(m, 0) || math.IsNaN(u) || math.IsInf(u, 0) {
		return 0, 0, fmt.Errorf("charge: the %d terms leave %g kg; allowed above 0", len(terms), m)
	}
	return m, u, nil
}

// A Weighing is a cylinder on one scale before and after, kg, with the scale's
// reading empty at both times. Flowed is what left the cylinder.
type Weighing struct {
	Start, Stop         float64
	ZeroStart, ZeroStop float64
	Resolution          float64 // kg, step of the display
	Repeat              float64 // kg, standard, of one reading
	Span                float64 // standard, share of what is weighed
}

// Flowed is the mass that left the cylinder (below 0: that went in), kg, and its
// standard uncertainty; the span acts on the difference alone, for it is one scale.
func (w Weighing) Flowed() (m, u float64, err error) {
	for _, x := range [...]float64{w.Start, w.Stop, w.Resolution, w.Repeat, w.Span} {
		if !(x >= 0) || math.IsInf(x, 0) {
			return 0, 0, fmt.Errorf("charge: weighing %+v; allowed from 0 kg", w)
		}
	}
	if z := w.ZeroStart + w.ZeroStop; math.IsNaN(z) || math.IsInf(z, 0) {
		return 0, 0, fmt.Errorf("charge: scale's zero %g and %g kg", w.ZeroStart, w.ZeroStop)
	}
	m = (w.Start - w.ZeroStart) - (w.Stop - w.ZeroStop)
	one := math.Hypot(w.Repeat, w.Resolution/math.Sqrt(12))
	return m, math.Hypot(2*one, w.Span*m), nil
}

// Verdict of a comparison.
type Verdict int

// The verdicts. What is not shown is not said.
const (
	TooCoarse Verdict = iota
	Agrees
	Differs
)

// Compare is a less b, kg, with its standard uncertainty, for two values that share
// no reading. They differ where the 95 % interval of the difference leaves out 0
// and passes matters, kg, with at least one end; they agree where all of it lies
// within matters; else it cannot be told.
func Compare(a, ua, b, ub, matters float64) (diff, u float64, v Verdict, err error) {
	if !(ua >= 0 && ub >= 0 && matters > 0) || math.IsNaN(a-b) || math.IsInf(a-b, 0) || math.IsInf(ua+ub+matters, 0) {
		return 0, 0, TooCoarse, fmt.Errorf("charge: %g (%g) against %g (%g) kg by %g; allowed doubt from 0, what matters above 0", a, ua, b, ub, matters)
	}
	diff, u = a-b, math.Hypot(ua, ub)
	far, near := math.Abs(diff)+2*u, math.Abs(diff)-2*u
	switch {
	case far <= matters && u > 0:
		v = Agrees
	case near > 0 && far > matters:
		v = Differs
	}
	return diff, u, v, nil
}

// Missing is how much was missing from a unit, kg, before it was opened: what it
// ought to have held, less what was recovered, less what recovery leaves behind
// (gas at its last pressure, and what the oil keeps), within bounds.
func Missing(held, uHeld, recovered, uRecovered float64, left Span) (m, u float64, err error) {
	if !(held > 0 && recovered >= 0 && uHeld >= 0 && uRecovered >= 0 && left.ok() && left.Low >= 0) || math.IsInf(held+recovered+uHeld+uRecovered, 0) {
		return 0, 0, fmt.Errorf("charge: held %g, recovered %g, left behind %+v kg; allowed from 0", held, recovered, left)
	}
	return held - recovered - left.Mid(), math.Sqrt(uHeld*uHeld + uRecovered*uRecovered + left.U()*left.U()), nil
}

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func spans(all ...Span) error {
	for _, s := range all {
		if !(s.ok() && s.Low >= 0) {
			return fmt.Errorf("charge: %+v; allowed from 0, low end first", s)
		}
	}
	return nil
}
