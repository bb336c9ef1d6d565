package cycle

import (
	"fmt"
	"math"

	"retrostage/thermo/compressor"
)

// Pump is a map, over evaporating -12 to 22 C and condensing 22 to 66 C or as
// far as the tables go, of a compressor that sweeps displacement m3/s, with
// volumetric efficiency 0.98 - clearance (r^(1/1.15) - 1) and isentropic
// efficiency best (1 - 0.02 x/(1 + 0.15 x)), x = (r - 2.6)^2, at pressure ratio r,
// motor included, rated at 11.1 K of superheat. The shape is that of a small hermetic machine (common
// practice, no source); it is meant for models and demonstrations.
func Pump(p *Props, displacement, clearance, best float64) (*compressor.Map, error) {
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
			mf := displacement * math.Exp(g.lr) * (0.98 - clearance*(math.Pow(r, 1/1.15)-1))
			var high isobar
			p.along(ld, &high)
			dh := read(&high.h, find(&high.s, g.s)) - g.h
			at = append(at, compressor.Point{S: s, D: d})
			flow = append(flow, mf)
			x := (r - 2.6) * (r - 2.6)
			power = append(power, mf*dh/(best*(1-0.02*x/(1+0.15*x))))
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

// Typical is a machine of usual proportions for a cooling capacity, W, at
// Rating, charged there to a subcooling of 5.5 K (thermostatic valve) or a
// superheat of 6.7 K (fixed). Its proportions (conductances, volumes, air flows)
// are common practice, no source; nothing should be read from them but changes.
// A compressor map, if there is one, takes the place of the invented one.
func Typical(p *Props, capacity float64, fixed bool, comp *compressor.Map) (*Machine, error) {
	if !(capacity > 1e3 && capacity < 1e5) {
		return nil, fmt.Errorf("cycle: capacity %g W; allowed 1 to 100 kW", capacity)
	}
	q := capacity / 1e4
	m := &Machine{
		Props: p, ShellLoss: 0.05, CoilInside: 0.3,
		Evap:         Exchanger{UA: 800 * q, Volume: 3.0e-3 * q, Air: 0.61 * q, Rated: 0.61 * q, Exponent: 0.5, Gas: 0.5, Liquid: 1},
		Cond:         Exchanger{UA: 2200 * q, Volume: 2.6e-3 * q, Air: 1.25 * q, Rated: 1.25 * q, Exponent: 0.5, Gas: 0.6, Liquid: 0.8},
		Valve:        Valve{Fixed: fixed, Static: 3, Range: 6, Choke: 0.85},
		LiquidVolume: 0.7e-3, SuctionVolume: 4e-3, LiquidR: 8e6 / q / q, SuctionR: 5e6 / q / q, SuctionUA: 3,
		FanPower: 450 * q, OutdoorFan: 200 * q, Slip: 1.0 / 3,
	}
	// Compressor and metering device are sized by the flow the capacity needs.
	ls, ld := p.LnDewP(280.5), p.LnDewP(321.5)
	g := p.vapour(ls, 8)
	l := p.liquid(321.5 - 5.5)
	mf := capacity / (g.h - l.h)
	var err error
	if m.Comp = comp; comp == nil {
		r := math.Exp(ld - ls)
		if m.Comp, err = Pump(p, mf/math.Exp(g.lr)/(0.98-0.03*(math.Pow(r, 1/1.15)-1)), 0.03, 0.70); err != nil {
			return nil, err
		}
	} else {
		mf = comp.Unchecked(280.5, 321.5).Mass
	}
	pin := math.Exp(ld) - m.LiquidR*mf*mf
	if fixed {
		m.Valve.Area = mf / math.Sqrt(2*l.rho*(pin-m.Valve.Choke*math.Exp(l.lp)))
		_, err = m.Charged(Rating(), BySuperheat, 6.7, nil)
	} else {
		m.Valve.Area = 1.5 * mf / math.Sqrt(2*l.rho*(pin-math.Exp(ls)))
		_, err = m.Charged(Rating(), BySubcooling, 5.5, nil)
	}
	return m, err
}

// LnDewP is the natural logarithm of the dew pressure, Pa, at t, K.
func (p *Props) LnDewP(t float64) float64 {
	lp := p.liquid(min(max(t, p.t0), p.t0+p.dt*float64(len(p.liq)-1))).lp
	for range 8 { // a blend's dew pressure lies some percent below its bubble pressure
		a := p.at(lp).td
		lp += (t - a) / (p.at(lp+1e-4).td - a) * 1e-4
	}
	return lp
}
