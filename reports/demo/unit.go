package demo

import (
	"fmt"
	"math"

	"retrostage/reports/record"
	"retrostage/thermo/air"
	"retrostage/thermo/cycle"
	"retrostage/thermo/diagnose"
)

// unit is the invented machine on the day of the check: package cycle solves it,
// so that all its readings belong to one another and a flaw shows in all of them.
type unit struct {
	shows  [diagnose.Quantities]float64
	target float64 // K of subcooling, on its plate
}

// rated is the power of a usual compressor for a capacity at the rating
// conditions, W.
func (m *maker) rated(capacity float64) float64 {
	p, err := cycle.PropsOf(m.f)
	must(m, 0, err)
	if m.err != nil {
		return 0
	}
	t, err := cycle.Typical(p, capacity, false, nil)
	must(m, 0, err)
	if m.err != nil {
		return 0
	}
	s, err := t.Solve(cycle.Rating(), nil)
	must(m, 0, err)
	return s.Power
}

// unit draws a machine about the usual one, charges it to its plate and gives it
// the flaw. The fans move the volume they would at sea level.
func (m *maker) unit(capacity float64, flaw Flaw) unit {
	p, err := cycle.PropsOf(m.f)
	must(m, 0, err)
	if m.err != nil {
		return unit{}
	}
	for range 20 {
		t, err := cycle.Typical(p, capacity, false, nil)
		must(m, 0, err)
		if m.err != nil {
			return unit{}
		}
		for _, x := range []*float64{&t.Evap.UA, &t.Cond.UA, &t.Valve.Area, &t.LiquidR, &t.SuctionR, &t.SuctionUA} {
			*x *= m.between(0.9, 1.1)
		}
		thin := m.site / cycle.Rating().Pressure
		t.Evap.Air *= thin * m.between(0.97, 1.07)
		t.Cond.Air *= thin * m.between(0.95, 1.08)
		t.Flow = m.between(0.97, 1.03)
		t.Draw = t.Flow * m.between(0.97, 1.03)
		c, err := cycle.Weather(degF(m.between(82, 104)), degF(m.between(75, 80)), degF(m.between(62, 66.5)), m.site)
		must(m, 0, err)
		u := unit{target: span(math.Round(m.between(8, 12)))}
		s, err := t.Charged(c, cycle.BySubcooling, u.target+span(m.between(-1, 1)), nil)
		if err != nil {
			continue
		}
		if f, worst := fault(flaw); f != cycle.Healthy {
			t = t.With(f, worst*m.between(0.8, 1.2), &s)
			if s, err = t.Solve(c, &s); err != nil {
				continue
			}
		}
		u.shows = diagnose.Show(t, &s, c)
		return u
	}
	must(m, 0, fmt.Errorf("no steady machine of %.0f W in 20 draws", capacity))
	return unit{}
}

// fault is the flaw as package cycle has it, with a severity that is felt.
func fault(flaw Flaw) (cycle.Fault, float64) {
	switch flaw {
	case Undercharge:
		return cycle.Undercharge, 0.25
	case Overcharge:
		return cycle.Overcharge, 0.28
	case LowAir:
		return cycle.LowIndoorAir, 0.45
	case Fouled:
		return cycle.LowOutdoorAir, 0.5
	}
	return cycle.Healthy, 0
}

// running enters what the machine shows. Every other job has the readings that
// sharpen the ranking of causes.
func (m *maker) running(u *unit) {
	x := &u.shows
	m.put(record.TagSubcooling, u.target, 0, "")
	lo := m.put(record.SuctionPressure, x[diagnose.SuctionP], 1, "g1")
	hi := m.put(record.LiquidPressure, x[diagnose.LiquidP], 1, "g1")
	ts := m.put(record.SuctionTemp, x[diagnose.SuctionT], 1, "t1")
	m.put(record.LiquidTemp, x[diagnose.LiquidT], 1, "t1")
	m.put(record.DischargeTemp, x[diagnose.DischargeT], 1, "t1")
	m.put(record.OutdoorTemp, x[diagnose.OutdoorT], 1, "t1")
	m.put(record.CondenserAirOut, x[diagnose.CondAirT], 1, "t1")
	m.put(record.ReturnDB, x[diagnose.ReturnT], 1, "t1")
	m.put(record.ReturnWB, x[diagnose.WetBulb], 1, "t1")
	m.put(record.SupplyDB, x[diagnose.SupplyT], 1, "t1")
	in, err := air.FromWetBulb(x[diagnose.ReturnT], x[diagnose.WetBulb], m.site)
	must(m, 0, err)
	if m.err != nil {
		return
	}
	m.put(record.Airflow, x[diagnose.IndoorAir]*in.V()*m.between(0.97, 1.03), 0, "")
	if m.IntN(2) == 0 {
		m.put(record.ValveTemp, x[diagnose.ValveT], 1, "t1")
		m.put(record.RestPressure, x[diagnose.RestP], 1, "g1")
		m.put(record.RestTemp, x[diagnose.RestT], 1, "t1")
	}
	m.put(record.SettleTime, float64(15+m.IntN(20))*60, 0, "")
	m.log(lo, hi, ts)
}
