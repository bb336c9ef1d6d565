package circuit

import (
	"fmt"
	"math"

	"retrostage/thermo/fluid"
)

// Superheat is T - Tdew(p), K, of gas at p and t. It is negative for gas read
// colder than saturation, which an instrument error or liquid in the suction
// line can cause; whether it may be is for the caller to judge.
func Superheat(f *fluid.Fluid, p, t float64) (float64, error) {
	ts, err := f.DewT(p)
	return t - ts, err
}

// Subcooling is Tbubble(p) - T, K, of liquid at p and t. It is negative where
// liquid was read hotter than saturation.
func Subcooling(f *fluid.Fluid, p, t float64) (float64, error) {
	ts, err := f.BubbleT(p)
	return ts - t, err
}

// g is standard gravity, m/s2 (BIPM, 3rd CGPM 1901).
const g = 9.80665

// Line is the liquid line between the outdoor unit, where liquid is read, and
// the metering device, where it must still be liquid.
type Line struct {
	Rise     float64 // m, metering device above the place of reading; negative below it
	Length   float64 // m, with fittings as equivalent length
	Bore     float64 // m, inside diameter
	MassFlow float64 // kg/s; 0 leaves friction out
	Mu       float64 // Pa s, viscosity of the liquid; needed with MassFlow
	Fixed    float64 // Pa, drier and other pieces together
}

// Friction is the Darcy-Weisbach pressure drop of a smooth tube, Pa, with the
// friction factor 64/Re below 2300 and that of Petukhov 1970,
// (0.790 ln Re - 1.64)^-2, above (from memory).
func (l Line) Friction(rho float64) (float64, error) {
	if l.MassFlow == 0 || l.Length == 0 {
		return 0, nil
	}
	if !(l.Bore > 0 && l.Mu > 0 && l.MassFlow > 0 && l.Length > 0 && rho > 0) {
		return 0, fmt.Errorf("circuit: line of %g m, bore %g m, flow %g kg/s, viscosity %g Pa s, density %g kg/m3; allowed above 0", l.Length, l.Bore, l.MassFlow, l.Mu, rho)
	}
	re := 4 * l.MassFlow / (math.Pi * l.Bore * l.Mu)
	ff := 64 / re
	if re > 2300 {
		ff = math.Pow(0.790*math.Log(re)-1.64, -2)
	}
	v := l.MassFlow / (rho * math.Pi / 4 * l.Bore * l.Bore)
	return ff * l.Length / l.Bore * rho * v * v / 2, nil
}

// AtValve is the liquid as it arrives at the metering device.
type AtValve struct {
	P          float64 // Pa
	Head       float64 // Pa lost to rise; negative where the line falls
	Friction   float64 // Pa lost to friction, fixed pieces included
	Subcooling float64 // K, at the valve, no heat being exchanged on the way
	Lost       float64 // K of subcooling lost on the way: add it to the valve's need to find the need at the outdoor unit
}

// Arrive reckons the liquid line from a reading at the outdoor unit, which must be
// liquid there ([PhaseError]). A negative Subcooling means that it flashes before
// the valve.
func (l Line) Arrive(f *fluid.Fluid, p, t float64) (AtValve, error) {
	s, err := Liquid(f, Reading{P: p, T: t})
	if err != nil {
		return AtValve{}, err
	}
	sc, err := Subcooling(f, p, t)
	if err != nil {
		return AtValve{}, err
	}
	fr, err := l.Friction(s.Rho)
	if err != nil {
		return AtValve{}, err
	}
	a := AtValve{Head: s.Rho * g * l.Rise, Friction: fr + l.Fixed}
	a.P = p - a.Head - a.Friction
	ts, err := f.BubbleT(a.P)
	if err != nil {
		return AtValve{}, fmt.Errorf("circuit: liquid at the metering device: %w", err)
	}
	a.Subcooling = ts - t
	a.Lost = sc - a.Subcooling
	return a, nil
}

// PowerAC is the power of a single-phase load, W.
func PowerAC(volts, amps, powerFactor float64) (float64, error) {
	if !(volts > 0 && amps >= 0 && powerFactor > 0 && powerFactor <= 1) || math.IsInf(volts+amps, 0) {
		return 0, fmt.Errorf("circuit: %g V, %g A, power factor %g; allowed above 0, 0 and up, 0 to 1", volts, amps, powerFactor)
	}
	return volts * amps * powerFactor, nil
}

// Efficiency is cooling over electrical power, W/W.
func Efficiency(cooling, power float64) (float64, error) {
	if !(power > 0) || math.IsNaN(cooling) || math.IsInf(cooling, 0) || math.IsInf(power, 0) {
		return 0, fmt.Errorf("circuit: %g W of cooling for %g W; power must be above 0", cooling, power)
	}
	return cooling / power, nil
}
