package season

import (
	"fmt"
	"math"
)

// Bin is a temperature of the outdoor air and its share of the season's hours.
type Bin struct{ T, Share float64 }

// fahrenheit is t degrees Fahrenheit in K.
func fahrenheit(t float64) float64 { return (t + 459.67) / 1.8 }

// Standard are the cooling bins of AHRI 210/240, as a second place restates them.
func Standard() []Bin {
	shares := []float64{0.214, 0.231, 0.216, 0.161, 0.104, 0.052, 0.018, 0.004}
	bins := make([]Bin, len(shares))
	for i, s := range shares {
		bins[i] = Bin{fahrenheit(67 + 5*float64(i)), s}
	}
	return bins
}

// Load is the heat that has to leave a house: none at Zero, Q at Design, a
// straight line through both.
type Load struct{ Zero, Design, Q float64 }

// Sized is the load that the standard lays to a unit of capacity q at 95 °F:
// the unit is a tenth larger than the load there.
func Sized(q float64) Load { return Load{fahrenheit(65), fahrenheit(95), q / 1.1} }

// At is the load at the outdoor temperature t, 0 below its zero.
func (l Load) At(t float64) float64 { return math.Max(0, l.Q*(t-l.Zero)/(l.Design-l.Zero)) }

// Point is a test: outdoor temperature, capacity, power.
type Point struct{ T, Q, P float64 }

// Stage is a speed of the machine, known by two tests.
type Stage struct{ A, B Point }

// At are capacity and power at the outdoor temperature t, on the lines through
// the two tests.
func (s Stage) At(t float64) (q, p float64) {
	x := (t - s.A.T) / (s.B.T - s.A.T)
	return s.A.Q + x*(s.B.Q-s.A.Q), s.A.P + x*(s.B.P-s.A.P)
}

// Machine is a unit of one stage, or of two where Low is there. The losses by
// cycling are the degradation coefficients of the standard, 0 to 1.
type Machine struct {
	Full   Stage
	Low    *Stage
	CdFull float64
	CdLow  float64
}

// Mode is how a machine meets the load of a bin.
type Mode int

// The modes.
const (
	CyclesFull Mode = iota // the only stage goes on and off
	CyclesLow              // the low stage goes on and off
	Alternates             // both stages in turn, never off
	RunsFull               // the high stage all the time
	Idle                   // no load
)

// String is the mode in words.
func (m Mode) String() string {
	return [...]string{"one stage, on and off", "low stage, on and off", "both stages in turn", "full all the time", "no load"}[m]
}

// Hour is one bin's outcome. Cooling and Power are means over its hours; Unmet is
// the load less the cooling.
type Hour struct {
	Bin
	Mode                        Mode
	Load, Cooling, Power, Unmet float64
}

// Result is a season's outcome: means over its hours, weighted by the shares.
type Result struct {
	Hours                 []Hour
	Cooling, Power, Unmet float64
}

// Ratio is cooling over power, dimensionless.
func (r Result) Ratio() float64 { return r.Cooling / r.Power }

// Run lays the load to the machine, bin by bin. It refuses what is no machine and
// no season: capacities or powers not positive in a bin, shares that do not add
// up to 1 within a thousandth, coefficients outside 0 to 1.
func Run(m Machine, l Load, bins []Bin) (Result, error) {
	if err := check(m, l, bins); err != nil {
		return Result{}, err
	}
	var r Result
	for _, b := range bins {
		h, err := m.hour(b, l.At(b.T))
		if err != nil {
			return Result{}, err
		}
		r.Hours = append(r.Hours, h)
		r.Cooling += b.Share * h.Cooling
		r.Power += b.Share * h.Power
		r.Unmet += b.Share * h.Unmet
	}
	if !(r.Power > 0) {
		return Result{}, fmt.Errorf("season: no bin has a load; the load begins at %.1f K", l.Zero)
	}
	return r, nil
}

func check(m Machine, l Load, bins []Bin) error {
	sum := 0.0
	for _, b := range bins {
		if !(b.Share >= 0) || !(b.T > 200 && b.T < 350) {
			return fmt.Errorf("season: bin at %g K with share %g; allowed 200 to 350 K, 0 and up", b.T, b.Share)
		}
		sum += b.Share
	}
	if !(math.Abs(sum-1) <= 1e-3) {
		return fmt.Errorf("season: the shares of the bins add up to %g; allowed 1", sum)
	}
	if !(l.Q > 0) || math.IsInf(l.Q, 0) || !(l.Design > l.Zero) {
		return fmt.Errorf("season: load of %g W at %g K, none at %g K; allowed a positive one at the warmer end", l.Q, l.Design, l.Zero)
	}
	for _, c := range []float64{m.CdFull, m.CdLow} {
		if !(c >= 0 && c <= 1) {
			return fmt.Errorf("season: degradation coefficient %g; allowed 0 to 1", c)
		}
	}
	stages := []Stage{m.Full}
	if m.Low != nil {
		stages = append(stages, *m.Low)
	}
	for _, s := range stages {
		if s.A.T == s.B.T {
			return fmt.Errorf("season: both tests of a stage at %g K; two temperatures are needed", s.A.T)
		}
	}
	return nil
}

func (m Machine) hour(b Bin, load float64) (Hour, error) {
	h := Hour{Bin: b, Load: load}
	q, p := m.Full.At(b.T)
	if !(q > 0 && p > 0) || math.IsInf(q+p, 0) {
		return h, fmt.Errorf("season: at %.1f K the full stage has %g W of cooling for %g W; allowed positive ones", b.T, q, p)
	}
	if m.Low == nil {
		h.Mode = CyclesFull
		if load >= q {
			h.Mode = RunsFull
		}
		h.Cooling, h.Power = cycled(load, q, p, m.CdFull)
	} else {
		ql, pl := m.Low.At(b.T)
		if !(ql > 0 && pl > 0 && ql < q) {
			return h, fmt.Errorf("season: at %.1f K the low stage has %g W of cooling for %g W, the full one %g W; allowed positive and less than it", b.T, ql, pl, q)
		}
		switch {
		case load <= ql:
			h.Mode = CyclesLow
			h.Cooling, h.Power = cycled(load, ql, pl, m.CdLow)
		case load < q:
			x := (q - load) / (q - ql)
			h.Mode, h.Cooling, h.Power = Alternates, load, x*pl+(1-x)*p
		default:
			h.Mode, h.Cooling, h.Power = RunsFull, q, p
		}
	}
	if load == 0 {
		h.Mode = Idle
	}
	h.Unmet = math.Max(0, load-h.Cooling)
	return h, nil
}

// cycled are cooling and power of a stage that goes on and off, each start paid
// for by its degradation coefficient.
func cycled(load, q, p, cd float64) (cooling, power float64) {
	x := math.Min(1, load/q)
	return x * q, x * p / (1 - cd*(1-x))
}
