package circuit

import (
	"errors"
	"fmt"
	"math"

	"retrostage/thermo/fluid"
)

// Reading is a pressure and a temperature read at one place of the circuit, Pa
// absolute and K, with their standard uncertainties. Uncertainties of 0 make it a
// point taken as exact.
type Reading struct{ P, T, UP, UT float64 }

// Coverage is the number of standard uncertainties that a reading must lie away
// from a saturation line before its phase counts as known. Two, about 95 %, are not
// enough: a wet suction that reads dry by a little more than its doubt makes an enthalpy
// that is wrong by much more (found on machines of another kind, where one wet reading in
// some forty got through and was up to four half-widths off). Errors that lie anywhere
// within an accuracy hardly ever come to three.
const Coverage = 3

// ErrPhase is what every [PhaseError] is.
var ErrPhase = errors.New("the phase cannot be told")

// PhaseError says that a reading lies on the wrong side of a saturation line, or
// so near to it that its doubt reaches across. Pressure and temperature then do
// not tell the enthalpy: it may lie anywhere up to the other line.
type PhaseError struct {
	Liquid bool    // liquid was asked for, and it may hold gas; else gas that may hold liquid
	Margin float64 // K of subcooling or superheat as read; negative beyond the line
	Doubt  float64 // K, standard uncertainty of Margin
	// Settles is the reading whose doubt is the larger part: a finer one may settle it.
	Settles Quantity
}

// Quantity is one of the two readings of a point.
type Quantity int

// The two.
const (
	Temperature Quantity = iota
	Pressure
)

// String gives the quantity in the trade's words.
func (q Quantity) String() string {
	if q == Pressure {
		return "pressure"
	}
	return "temperature"
}

// Sure tells that the reading lies beyond the line by more than its doubt: then
// either both phases are there or a reading is wrong, and no finer reading of
// the same will make it single-phase.
func (e *PhaseError) Sure() bool {
	return e.Margin < -Coverage*e.Doubt || e.Margin <= 0 && e.Doubt == 0
}

func (e *PhaseError) Error() string {
	margin, other := "superheat", "liquid"
	if e.Liquid {
		margin, other = "subcooling", "gas"
	}
	if e.Sure() {
		return fmt.Sprintf("circuit: %s of %.2f K: %s is present or a reading is wrong, so the enthalpy cannot be told", margin, e.Margin, other)
	}
	return fmt.Sprintf("circuit: %s of %.2f ± %.2f K: %s may be present, so the enthalpy cannot be told; a finer %s reading may settle it", margin, e.Margin, Coverage*e.Doubt, other, e.Settles)
}

// Is makes errors.Is(err, ErrPhase) hold.
func (e *PhaseError) Is(target error) bool { return target == ErrPhase }

// Gas is the state of a reading that is superheated vapour beyond its doubt
// (suction, discharge). Else it is a *PhaseError. Errors also outside the range
// of the fluid.
func Gas(f *fluid.Fluid, r Reading) (fluid.State, error) { return single(f, r, false) }

// Liquid is the state of a reading that is subcooled liquid beyond its doubt
// (liquid line). Else it is a *PhaseError. Errors also outside the range of the
// fluid.
func Liquid(f *fluid.Fluid, r Reading) (fluid.State, error) { return single(f, r, true) }

func single(f *fluid.Fluid, r Reading, liquid bool) (fluid.State, error) {
	if !(r.UP >= 0 && r.UT >= 0) || math.IsInf(r.UP+r.UT, 0) {
		return fluid.State{}, fmt.Errorf("circuit: uncertainties of %g Pa and %g K; allowed 0 and up", r.UP, r.UT)
	}
	margin, slope, err := toLine(f, r, liquid)
	if err != nil {
		return fluid.State{}, err
	}
	byP := slope * r.UP
	doubt := math.Hypot(byP, r.UT)
	if !(margin > Coverage*doubt) {
		e := &PhaseError{Liquid: liquid, Margin: margin, Doubt: doubt}
		if byP > r.UT {
			e.Settles = Pressure
		}
		return fluid.State{}, e
	}
	phase := fluid.Vapour
	if liquid {
		phase = fluid.Liquid
	}
	return f.TPIn(r.T, r.P, phase)
}

// toLine is how far the reading lies inside its phase, K, and by how much that
// moves with pressure, K/Pa, always taken positive.
func toLine(f *fluid.Fluid, r Reading, liquid bool) (margin, slope float64, err error) {
	line, sign := f.DewT, 1.0
	if liquid {
		line, sign = f.BubbleT, -1
	}
	at, err := line(r.P)
	if err != nil {
		return 0, 0, err
	}
	if r.UP > 0 {
		step := min(r.UP, 0.01*r.P)
		below, err := line(r.P - step)
		if err != nil {
			return 0, 0, err
		}
		slope = (at - below) / step
	}
	return sign * (r.T - at), slope, nil
}

// Isentropic is (h(p2, s1) - h1) / (h2 - h1), the efficiency of an adiabatic
// compression from suction gas to discharge gas. The second law keeps it at 1 or
// below for a shell that loses no heat. It fails where either is not surely gas
// ([PhaseError]) or the discharge holds no more enthalpy than the suction.
func Isentropic(f *fluid.Fluid, suction, discharge Reading) (float64, error) {
	s1, err := Gas(f, suction)
	if err != nil {
		return 0, fmt.Errorf("suction: %w", err)
	}
	s2, err := Gas(f, discharge)
	if err != nil {
		return 0, fmt.Errorf("discharge: %w", err)
	}
	ideal, err := f.PS(discharge.P, s1.S)
	if err != nil {
		return 0, fmt.Errorf("ideal discharge: %w", err)
	}
	if !(s2.H > s1.H) {
		return 0, fmt.Errorf("circuit: the discharge gas at %.2f K holds no more than the suction gas at %.2f K", discharge.T, suction.T)
	}
	return (ideal.H - s1.H) / (s2.H - s1.H), nil
}
