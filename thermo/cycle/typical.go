package cycle

import (
	"fmt"
	"math"

	"retrostage/thermo/compressor"
)

// Pump is how a compressor falls off with the pressure ratio r: volumetric
// efficiency 0.98 - Clearance (r^(1/1.15) - 1), isentropic efficiency
// Best/(1 + Fall (r - Peak)^2), motor included. The form is that of a small
// hermetic machine (common practice, no source).
type Pump struct{ Clearance, Best, Peak, Fall float64 }

// UsualPump is that of Typical; see the package comment for what was fitted.
var UsualPump = Pump{Clearance: 0.05, Best: 0.70, Peak: 2.25, Fall: 0.06}

// Map is a map, over evaporating -12 to 22 C and condensing 22 to 66 C or as
// far as the tables go, of a compressor that sweeps displacement m3/s, rated at 11.1 K
// of superheat.
func (u Pump) Map(p *Props, displacement float64) (*compressor.Map, error) {
	const super = 11.1
	m := &compressor.Map{Temp: compressor.Celsius, Basis: compressor.Basis{Superheat: super}, Source: "synthetic"}
	dTop := min(339, p.sat[satN-1].td-1)
	var at []compressor.Point
	var flow, power []float64
	for s := 261.0; s <= 295.01; s += 34.0 / 6 {
		for k := range 7 {
			d := 295 + (dTop-295)*float64(k)/6
			if d < s+4 {
				continue
			}
			ls, ld := p.LnDewP(s), p.LnDewP(d)
			g := p.vapour(ls, super)
			r := math.Exp(ld - ls)
			mf := displacement * math.Exp(g.lr) * (0.98 - u.Clearance*(math.Pow(r, 1/1.15)-1))
			var high isobar
			p.along(ld, &high)
			dh := read(&high.h, find(&high.s, g.s)) - g.h
			at = append(at, compressor.Point{S: s, D: d})
			flow = append(flow, mf)
			x := (r - u.Peak) * (r - u.Peak)
			power = append(power, mf*dh/u.Best*(1+u.Fall*x))
		}
	}
	var err error
	if m.Mass, _, err = compressor.Fit(at, flow, 3); err == nil {
		m.Power, _, err = compressor.Fit(at, power, 3)
	}
	m.Envelope = compressor.Rectangle(261, 295, 295, dTop)
	return m, err
}

// Rating is the condition that Typical sizes for: outdoor 95 F, return 80 F dry
// and 67 F wet bulb at sea level.
func Rating() Conditions {
	return Conditions{Outdoor: 308.15, Return: 299.817, WetBulb: 292.594, W: 0.011169, Pressure: 101325}
}

// proportions are those of a usual machine, per 10 kW of cooling.
type proportions struct {
	EvapUA, CondUA             float64 // W/K
	EvapVolume, CondVolume     float64 // m3
	EvapAir, CondAir           float64 // kg/s
	EvapExponent, CondExponent float64
	EvapGas, CondGas, CondLiq  float64
	Reserve                    float64 // thermostatic: full bore over what the rating needs
	Static, Range, Bleed       float64
	LiquidVolume               float64 // m3
	LiquidDrop                 float64 // Pa at the flow of the rating
	Oil                        float64 // kg
	Slip                       float64
	Inside                     float64
	Pump                       Pump
}

// usual is what Typical takes; see the package comment for what was fitted.
var usual = proportions{
	EvapUA: 880, CondUA: 1820, EvapVolume: 2.0e-3, CondVolume: 5.0e-3, EvapAir: 0.61, CondAir: 1.70, EvapExponent: 0.48, CondExponent: 0.16,
	EvapGas: 0.28, CondGas: 0.62, CondLiq: 1.5, Reserve: 1.32, Static: 1.5, Range: 5.1, Bleed: 0.08, LiquidVolume: 0.42e-3, LiquidDrop: 60e3, Oil: 1.0, Slip: 0.28,
	Inside: 0.32, Pump: UsualPump,
}

// Typical is a machine of usual proportions for a cooling capacity, W, at
// Rating, charged there to a subcooling of 5.5 K (thermostatic valve) or a
// superheat of 6.7 K (fixed). A compressor map, if there is one, takes the place
// of the invented one.
func Typical(p *Props, capacity float64, fixed bool, comp *compressor.Map) (*Machine, error) {
	return usual.machine(p, capacity, fixed, comp)
}

func (u *proportions) machine(p *Props, capacity float64, fixed bool, comp *compressor.Map) (*Machine, error) {
	if !(capacity > 1e3 && capacity < 1e5) {
		return nil, fmt.Errorf("cycle: capacity %g W; allowed 1 to 100 kW", capacity)
	}
	q := capacity / 1e4
	m := &Machine{
		Props: p, ShellLoss: 0.05, CoilInside: u.Inside,
		Evap:         Exchanger{UA: u.EvapUA * q, Volume: u.EvapVolume * q, Air: u.EvapAir * q, Rated: u.EvapAir * q, Exponent: u.EvapExponent, Gas: u.EvapGas, Liquid: 1},
		Cond:         Exchanger{UA: u.CondUA * q, Volume: u.CondVolume * q, Air: u.CondAir * q, Rated: u.CondAir * q, Exponent: u.CondExponent, Gas: u.CondGas, Liquid: u.CondLiq},
		Valve:        Valve{Fixed: fixed, Static: u.Static, Range: u.Range, Bleed: u.Bleed, Choke: 0.6},
		LiquidVolume: u.LiquidVolume * q, SuctionVolume: 4e-3 * q, SuctionR: 5e6 / q / q, SuctionUA: 3,
		Oil: u.Oil * q, Dissolves: 0.35,
		FanPower: 450 * q, OutdoorFan: 200 * q, Slip: u.Slip,
	}
	// Compressor and metering device are sized by the flow the capacity needs.
	ls, ld := p.LnDewP(280.5), p.LnDewP(321.5)
	g := p.vapour(ls, 8)
	l := p.liquid(321.5 - 5.5)
	mf := capacity / (g.h - l.h)
	var err error
	if m.Comp = comp; comp == nil {
		r := math.Exp(ld - ls)
		if m.Comp, err = u.Pump.Map(p, mf/math.Exp(g.lr)/(0.98-u.Pump.Clearance*(math.Pow(r, 1/1.15)-1))); err != nil {
			return nil, err
		}
	} else {
		mf = comp.Unchecked(280.5, 321.5).Mass
	}
	m.LiquidR = u.LiquidDrop / (mf * mf)
	pin := math.Exp(ld) - u.LiquidDrop
	if fixed {
		m.Valve.Area = mf / math.Sqrt(2*l.rho*(pin-m.Valve.Choke*math.Exp(l.lp)))
		_, err = m.Charged(Rating(), BySuperheat, 6.7, nil)
	} else {
		m.Valve.Area = u.Reserve * mf / math.Sqrt(2*l.rho*(pin-max(math.Exp(ls), m.Valve.Choke*math.Exp(l.lp))))
		_, err = m.Charged(Rating(), BySubcooling, 5.5, nil)
	}
	return m, err
}

// LnBubbleP is the natural logarithm of the bubble pressure, Pa, at t, K.
func (p *Props) LnBubbleP(t float64) float64 {
	return p.liquid(min(max(t, p.t0), p.t0+p.dt*float64(len(p.liq)-1))).lp
}

// LnDewP is the natural logarithm of the dew pressure, Pa, at t, K.
func (p *Props) LnDewP(t float64) float64 {
	lp := p.LnBubbleP(t)
	for range 8 { // a blend's dew pressure lies some percent below its bubble pressure
		a := p.at(lp).td
		lp += (t - a) / (p.at(lp+1e-4).td - a) * 1e-4
	}
	return lp
}
