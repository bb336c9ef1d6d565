package assess

import (
	"fmt"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
	"retrostage/thermo/circuit"
	"retrostage/thermo/fluid"
)

// point is a place of the circuit whose phase has to be sure before an enthalpy is
// read there.
type point struct {
	t, p  input
	state func(*fluid.Fluid, circuit.Reading) (fluid.State, error)
}

var points = map[string]point{
	"suction":   {is(record.SuctionTemp), is(record.SuctionPressure), circuit.Gas},
	"discharge": {is(record.DischargeTemp), highSide, circuit.Gas},
	"liquid":    {is(record.LiquidTemp), is(record.LiquidPressure), circuit.Liquid},
}

// phase is nil where the readings at a place, as they were taken and with their
// doubt, lie clear of the saturation line; else a circuit.PhaseError, which names
// the reading that would settle it.
func (c *context) phase(what string) error {
	at := points[what]
	t, p := c.input(at.t), c.input(at.p)
	if c.fluid == nil || t == nil || p == nil {
		return nil // what is missing is said elsewhere
	}
	r := circuit.Reading{P: p.si, T: t.si, UP: p.u, UT: t.u}
	if p.gauge {
		r.P += c.site.si
		r.UP = uncertainty.Combine(p.u, c.site.u)
	}
	if d := c.input(condenserDrop); d != nil && what == "discharge" {
		r.P += d.si
		r.UP = uncertainty.Combine(r.UP, d.u)
	}
	if _, err := at.state(c.fluid, r); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}
