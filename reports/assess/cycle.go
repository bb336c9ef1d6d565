package assess

import (
	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
)

// cycle places the measured states on the pressure-enthalpy plane, nil while
// suction or liquid readings are missing or cannot be used.
func (c *context) cycle() *Cycle {
	if c.fluid == nil {
		return nil
	}
	discharge := c.reading(record.DischargePressure)
	if discharge == nil {
		discharge = c.standIn(c.reading(record.LiquidPressure))
	}
	suction, ok1 := c.point("suction line", c.reading(record.SuctionPressure), c.reading(record.SuctionTemp), c.fluid.EnthalpyTP)
	liquid, ok3 := c.point("liquid line", c.reading(record.LiquidPressure), c.reading(record.LiquidTemp), c.liquidEnthalpy)
	if !ok1 || !ok3 {
		return nil
	}
	cy := &Cycle{Fluid: c.fluid.Name(), Points: []Point{suction}}
	if p, ok := c.point("discharge line", discharge, c.reading(record.DischargeTemp), c.fluid.EnthalpyTP); ok {
		cy.Points = append(cy.Points, p)
	}
	if boils, err := c.fluid.BubbleT(liquid.P); err == nil && liquid.T > boils {
		// How much of it is vapour no pressure and temperature tell, nor then what
		// enthalpy the valve gets: the reading is shown, and nothing behind it.
		liquid.Name = AboveSaturation
		cy.Points = append(cy.Points, liquid)
		return cy
	}
	// Through the valve the enthalpy stays (adiabatic throttling); the pressure
	// becomes the suction's, the loss in the suction line being unknown.
	after := liquid
	after.Name, after.P, after.UP, after.R = "after the valve", suction.P, suction.UP, 0
	if s, err := c.fluid.PH(after.P, after.H); err == nil {
		after.T = s.T
	}
	cy.Points = append(cy.Points, liquid, after)
	return cy
}

// standIn is a liquid pressure as a discharge pressure: higher by what the condenser
// takes, which is known roughly.
func (c *context) standIn(liquid *reading) *reading {
	d := c.input(condenserDrop)
	if liquid == nil || d == nil {
		return liquid
	}
	r := *liquid
	r.si += d.si
	r.u = uncertainty.Combine(r.u, d.u)
	return &r
}

// AboveSaturation names the state of a liquid line whose subcooling is below zero.
const AboveSaturation = "liquid line, above saturation"

// liquidEnthalpy is that of liquid at T (K) and p (Pa), J/kg: where T lies above
// saturation, of saturated liquid at T, as far to the right of the bubble line as the
// reading is above it.
func (c *context) liquidEnthalpy(T, p float64) (float64, error) {
	boils, err := c.fluid.BubbleT(p)
	if err != nil || T <= boils {
		return c.fluid.EnthalpyTP(T, p)
	}
	s, err := c.fluid.BubbleSat(T)
	return s.H, err
}

// point is the state at a pressure and a temperature reading, with the
// covariance of p and h.
func (c *context) point(name string, p, t *reading, enthalpy func(T, p float64) (float64, error)) (Point, bool) {
	if p == nil || t == nil {
		return Point{}, false
	}
	q := uncertainty.Inputs{X: []float64{p.si, t.si, c.site.si}, U: []float64{p.u, t.u, c.site.u}}
	out := make([]float64, 2)
	res, err := uncertainty.Propagate(func(x []float64) ([]float64, error) {
		pa := x[0]
		if p.gauge {
			pa += x[2]
		}
		h, err := enthalpy(x[1], pa)
		out[0], out[1] = pa, h
		return out, err
	}, q)
	if err != nil {
		return Point{}, false
	}
	return Point{Name: name, P: res.Y[0], H: res.Y[1], T: t.si, UP: res.U[0], UH: res.U[1], R: res.Corr(0, 1)}, true
}
