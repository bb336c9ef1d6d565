// Package chance draws machines of the kind that package cycle assumes, with other
// parts; for tests only.
package chance

import (
	"fmt"
	"math"
	"math/rand/v2"

	"retrostage/thermo/cycle"
)

// Machine draws a machine of 5 to 17 kW whose every proportion lies 20 to 40 % to
// either side of Typical's, and whose compressor, slip, exponents, line losses
// and valve setting differ from it too. It is not charged. The same generator
// state gives the same machine. Now and then a draw does not make a machine that
// works; the error says so, and the next draw may.
func Machine(p *cycle.Props, fixed bool, rng *rand.Rand) (*cycle.Machine, error) {
	about := func(spread float64) float64 { return math.Exp(math.Log(1+spread) * (2*rng.Float64() - 1)) }
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	capacity := between(5e3, 17e3)
	q := capacity / 1e4
	m, err := cycle.Typical(p, capacity, fixed, nil)
	if err != nil {
		return nil, fmt.Errorf("chance: the typical machine to start from: %w", err)
	}
	flow := m.Comp.Unchecked(280.5, 321.5).Mass
	lift := math.Pow(math.Exp(p.LnDewP(321.5)-p.LnDewP(280.5)), 1/1.15) - 1
	u := cycle.UsualPump
	one, err := u.Map(p, 1)
	if err != nil {
		return nil, err
	}
	density := one.Unchecked(280.5, 321.5).Mass / (0.98 - u.Clearance*lift)
	u.Clearance, u.Best, u.Peak, u.Fall = u.Clearance*about(1), u.Best*about(0.1), u.Peak*about(0.5), u.Fall*about(1.2)
	if m.Comp, err = u.Map(p, about(0.1)*flow/density/(0.98-u.Clearance*1.2)); err != nil {
		return nil, err
	}
	for _, x := range []struct {
		v      *float64
		spread float64
	}{
		{&m.Evap.UA, 0.3}, {&m.Cond.UA, 0.35}, {&m.Evap.Rated, 0.2}, {&m.Cond.Rated, 0.5}, {&m.Evap.Volume, 0.35}, {&m.Cond.Volume, 0.35},
		{&m.Evap.Gas, 0.3}, {&m.Cond.Gas, 0.3}, {&m.Cond.Liquid, 0.3}, {&m.CoilInside, 0.5}, {&m.Evap.Exponent, 0.2}, {&m.Cond.Exponent, 0.8},
		{&m.LiquidVolume, 1}, {&m.SuctionVolume, 1}, {&m.LiquidR, 1}, {&m.SuctionR, 1}, {&m.FanPower, 0.4}, {&m.OutdoorFan, 0.4}, {&m.Slip, 0.4},
	} {
		*x.v *= about(x.spread)
	}
	m.Evap.Air, m.Cond.Air = m.Evap.Rated, m.Cond.Rated
	if rng.IntN(2) == 0 {
		m.Accumulator = cycle.Accumulator{Volume: between(1, 3) * 1e-3 * q, Bleed: between(0.05, 0.2)}
	}
	m.Oil *= about(0.4)
	m.ShellLoss, m.SuctionUA = between(0, 0.12), between(0.5, 8)*q
	if fixed {
		// The bore is matched to this machine, as a maker would do, not quite.
		m.Valve.Choke = between(0.5, 0.75)
		h, err := matched(m, 5.5+between(-1.5, 2.5))
		if err != nil {
			return nil, err
		}
		m.Valve.Area *= h * about(0.06)
	} else {
		m.Valve.Static, m.Valve.Range, m.Valve.Bleed = between(0.5, 3), m.Valve.Range*about(0.4), m.Valve.Bleed*about(0.8)
		m.Valve.Area *= 0.985 * about(0.15)
	}
	return m, nil
}

// matched is the factor on a fixed bore by which it would pass the compressor's
// flow with this subcooling at the rating and 6.7 K of superheat.
func matched(m *cycle.Machine, sub float64) (float64, error) {
	lo, hi := 0.4, 2.5
	trial := *m
	for range 30 {
		f := math.Sqrt(lo * hi)
		trial.Valve.Area = m.Valve.Area * f
		// A bore so small that the liquid backs up beyond the tables counts as too small.
		if s, err := trial.Charged(cycle.Rating(), cycle.BySuperheat, 6.7, nil); err != nil || s.Subcooling > sub {
			lo = f
		} else {
			hi = f
		}
	}
	if hi > 2.4 {
		return 0, fmt.Errorf("chance: no bore gives %.1f K of subcooling", sub)
	}
	return math.Sqrt(lo * hi), nil
}
