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

// Readings are what was read at the machine. Pa absolute and K.
type Readings struct {
	SuctionP, SuctionT     float64
	DischargeP, DischargeT float64 // DischargeP 0: the liquid pressure is taken; DischargeT 0: not read
	LiquidP, LiquidT       float64
}

// Cycle is what the readings say.
type Cycle struct {
	Evaporating       float64 // K, dew temperature at suction pressure
	Condensing        float64 // K, dew temperature at discharge pressure
	CondensingBubble  float64 // K, bubble temperature at liquid pressure
	Superheat         float64 // K
	Subcooling        float64 // K
	DischargeSuper    float64 // K, discharge gas above Condensing; 0 if not read
	Ratio             float64 // discharge over suction pressure, absolute
	Effect            float64 // J/kg, h1 - h4: what a kilogram takes up indoors and in the suction line
	IsentropicWork    float64 // J/kg
	Isentropic        float64 // isentropic efficiency of the gas, 0 to 1 and above for a cooled shell; 0 if not read
	P1, P2, P2s, P3   fluid.State
	P4                fluid.State // two-phase as a rule
	HasDischargeState bool        // P2, DischargeSuper and Isentropic hold
}

// Points reckons the cycle. It fails where the suction gas or the discharge gas
// is read at or below saturation, or the liquid at or above it, since a
// temperature and a pressure then no longer tell the enthalpy; Superheat and
// Subcooling still answer there.
func Points(f *fluid.Fluid, r Readings) (Cycle, error) {
	var c Cycle
	var err error
	if r.DischargeP == 0 {
		r.DischargeP = r.LiquidP
	}
	if !(r.DischargeP > r.SuctionP) {
		return c, fmt.Errorf("circuit: discharge pressure %.0f Pa is not above suction pressure %.0f Pa", r.DischargeP, r.SuctionP)
	}
	for _, s := range []struct {
		out *float64
		at  func(float64) (float64, error)
		p   float64
	}{{&c.Evaporating, f.DewT, r.SuctionP}, {&c.Condensing, f.DewT, r.DischargeP}, {&c.CondensingBubble, f.BubbleT, r.LiquidP}} {
		if *s.out, err = s.at(s.p); err != nil {
			return c, err
		}
	}
	c.Superheat = r.SuctionT - c.Evaporating
	c.Subcooling = c.CondensingBubble - r.LiquidT
	c.Ratio = r.DischargeP / r.SuctionP
	if !(c.Superheat > 0) {
		return c, fmt.Errorf("circuit: suction gas at %.2f K is %.2f K below its dew temperature: liquid may be present, its enthalpy is unknown", r.SuctionT, -c.Superheat)
	}
	if !(c.Subcooling > 0) {
		return c, fmt.Errorf("circuit: liquid at %.2f K is %.2f K above its bubble temperature: gas may be present, its enthalpy is unknown", r.LiquidT, -c.Subcooling)
	}
	if c.P1, err = f.TP(r.SuctionT, r.SuctionP); err != nil {
		return c, fmt.Errorf("circuit: suction: %w", err)
	}
	if c.P3, err = f.TP(r.LiquidT, r.LiquidP); err != nil {
		return c, fmt.Errorf("circuit: liquid: %w", err)
	}
	if c.P2s, err = f.PS(r.DischargeP, c.P1.S); err != nil {
		return c, fmt.Errorf("circuit: ideal discharge: %w", err)
	}
	if c.P4, err = f.PH(r.SuctionP, c.P3.H); err != nil {
		return c, fmt.Errorf("circuit: after the metering device: %w", err)
	}
	c.Effect = c.P1.H - c.P4.H
	c.IsentropicWork = c.P2s.H - c.P1.H
	if r.DischargeT == 0 {
		return c, nil
	}
	c.DischargeSuper = r.DischargeT - c.Condensing
	if !(c.DischargeSuper > 0) {
		return c, fmt.Errorf("circuit: discharge gas at %.2f K is %.2f K below its dew temperature", r.DischargeT, -c.DischargeSuper)
	}
	if c.P2, err = f.TP(r.DischargeT, r.DischargeP); err != nil {
		return c, fmt.Errorf("circuit: discharge: %w", err)
	}
	work := c.P2.H - c.P1.H
	if !(work > 0) {
		return c, fmt.Errorf("circuit: discharge gas at %.2f K holds no more than the suction gas at %.2f K", r.DischargeT, r.SuctionT)
	}
	c.Isentropic = c.IsentropicWork / work
	c.HasDischargeState = true
	return c, nil
}

// OverAmbient is the condensing (dew) temperature over the outdoor air, K.
func OverAmbient(f *fluid.Fluid, dischargeP, outdoorT float64) (float64, error) {
	t, err := f.DewT(dischargeP)
	return t - outdoorT, err
}

// Approach is how far the liquid leaves the condenser above the air that enters
// it, K.
func Approach(liquidT, outdoorT float64) float64 { return liquidT - outdoorT }

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

// Arrive reckons the liquid line from a reading at the outdoor unit. A negative
// Subcooling means that the liquid flashes before the valve.
func (l Line) Arrive(f *fluid.Fluid, p, t float64) (AtValve, error) {
	s, err := f.TP(t, p)
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

// Air is moist air at the coil.
type Air struct {
	T float64 // K, dry bulb
	H float64 // J per kg of dry air
	W float64 // kg of water per kg of dry air
}

// waterH is the enthalpy of condensate at t, K, J/kg, on the scale of moist-air
// enthalpies: 4186 J/(kg K) from 0 C (ASHRAE Fundamentals, psychrometrics, from
// memory).
func waterH(t float64) float64 { return 4186 * (t - 273.15) }

// AirSide is the cooling, W, given to dry air flowing at dryFlow, kg/s: what the
// air loses less what leaves with the condensate at the leaving air's
// temperature (steady-flow energy balance).
func AirSide(dryFlow float64, in, out Air) float64 {
	return dryFlow * (in.H - out.H - max(0, in.W-out.W)*waterH(out.T))
}

// Sensible is the cooling without what drying takes, W; cp per kg of dry air is
// 1006 + 1860 W J/(kg K), W that of the leaving air (ASHRAE Fundamentals).
func Sensible(dryFlow float64, in, out Air) float64 {
	return dryFlow * (1006 + 1860*out.W) * (in.T - out.T)
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
