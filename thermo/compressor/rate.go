package compressor

import (
	"fmt"

	"retrostage/thermo/fluid"
)

// Expected is what this compressor should do at measured suction and discharge.
type Expected struct {
	Rated            // corrected to the suction gas as it is; Current and Capacity are those of the map, uncorrected
	AtMap    Rated   // as the map gives them at its own superheat
	Factor   float64 // m/m_map
	Lift     float64 // J/kg, isentropic enthalpy rise from the suction gas as it is
	SuctionH float64 // J/kg
}

// Rate evaluates the map for suction gas at ps, Pa absolute, and ts, K, and
// discharge at pd, Pa absolute, with the corrections of the package comment. It
// refuses outside the map's envelope, gas at or below its dew temperature, and a
// map without mass flow or power.
func (m *Map) Rate(f *fluid.Fluid, ps, ts, pd float64) (Expected, error) {
	var e Expected
	if m.Mass == nil || m.Power == nil {
		return e, fmt.Errorf("compressor: the map lacks mass flow or power")
	}
	s, err := f.DewT(ps)
	if err != nil {
		return e, fmt.Errorf("compressor: suction: %w", err)
	}
	d, err := f.DewT(pd)
	if err != nil {
		return e, fmt.Errorf("compressor: discharge: %w", err)
	}
	if !(ts > s) {
		return e, fmt.Errorf("compressor: suction gas at %.2f K is not above its dew temperature %.2f K", ts, s)
	}
	if e.AtMap, err = m.At(s, d); err != nil {
		return e, err
	}
	tm, err := m.Basis.SuctionT(s)
	if err != nil {
		return e, err
	}
	lift := func(t float64) (rho, h, dh float64, err error) {
		g, err := f.TP(t, ps)
		if err != nil {
			return 0, 0, 0, err
		}
		x, err := f.PS(pd, g.S)
		return g.Rho, g.H, x.H - g.H, err
	}
	rho, h, dh, err := lift(ts)
	if err != nil {
		return e, fmt.Errorf("compressor: suction gas: %w", err)
	}
	rhoM, _, dhM, err := lift(tm)
	if err != nil {
		return e, fmt.Errorf("compressor: suction gas of the rating: %w", err)
	}
	if e.Factor, err = MassFactor(1/rhoM, 1/rho); err != nil {
		return e, err
	}
	e.Rated = e.AtMap
	e.Mass *= e.Factor
	e.Power *= e.Factor * dh / dhM
	e.Lift, e.SuctionH = dh, h
	return e, nil
}
