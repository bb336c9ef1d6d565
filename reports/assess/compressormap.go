package assess

import (
	"fmt"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/compressor"
	"retrostage/thermo/units"
)

// compMap is the compressor's map of the record: nil without an error while it is
// not given.
func (c *context) compMap() (*compressor.Map, error) {
	if c.job.Text(record.MapMassFlow) == "" {
		return nil, nil
	}
	m := &compressor.Map{Temp: compressor.Fahrenheit, Source: "as entered"}
	flow := compressor.LbPerH
	switch c.job.Text(record.MapUnits) {
	case "F, lb/h, W":
	case "C, kg/h, W":
		m.Temp, flow = compressor.Celsius, compressor.KgPerH
	default:
		return nil, fmt.Errorf("pick the units of the map in Match")
	}
	for _, q := range []struct {
		key  record.Key
		to   **compressor.Curve
		unit compressor.Scale
	}{{record.MapMassFlow, &m.Mass, flow}, {record.MapPower, &m.Power, compressor.Watt}, {record.MapCurrent, &m.Current, compressor.Ampere}} {
		text := c.job.Text(q.key)
		if text == "" {
			continue
		}
		p, err := coefficients(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", q.key.Label(), err)
		}
		*q.to = &compressor.Curve{C: p, Unit: q.unit}
	}
	if m.Power == nil {
		return nil, fmt.Errorf("enter the map's power beside its mass flow (Match)")
	}
	if r := c.reading(record.MapSuperheat); r != nil {
		m.Basis.Superheat = r.si
	}
	if r := c.reading(record.MapReturnGas); r != nil {
		m.Basis.ReturnGas = r.si
	}
	if _, err := m.Basis.SuctionT(200); err != nil {
		return nil, fmt.Errorf("enter either the suction superheat or the return gas temperature of the map (Match)")
	}
	w := c.lim.Map
	u, err := units.Lookup(units.Temperature, w.Unit)
	if err != nil {
		return nil, err
	}
	si := func(x float64) float64 { return u.ToSI(x, 0) }
	m.Envelope = compressor.Rectangle(si(w.SuctionLow), si(w.SuctionHigh), si(w.DischargeLow), si(w.DischargeHigh))
	return m, nil
}

// coefficients reads ten numbers apart by space, semicolon or line end.
func coefficients(text string) (compressor.Poly, error) {
	var p compressor.Poly
	words := strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == ' ' || r == '\t' || r == '\n' || r == '\r' })
	if len(words) != len(p) {
		return p, fmt.Errorf("%d coefficients; a map has %d", len(words), len(p))
	}
	for i, w := range words {
		x, err := units.Number(strings.Trim(w, ","))
		if err != nil {
			return p, fmt.Errorf("coefficient %d: %w", i+1, err)
		}
		p[i] = x
	}
	return p, nil
}

func mapGiven(c *context) bool   { return c.job.Text(record.MapMassFlow) != "" }
func noMap(c *context) bool      { return !mapGiven(c) }
func meterGiven(c *context) bool { return c.reading(record.InputPower) != nil }
func noMeter(c *context) bool    { return !meterGiven(c) }
func both(a, b func(*context) bool) func(*context) bool {
	return func(c *context) bool { return a(c) && b(c) }
}
func currentGiven(c *context) bool { return mapGiven(c) && c.job.Text(record.MapCurrent) != "" }

// rate is the map at suction p1, t1 and discharge p2, memoised: many findings ask
// at the same points.
func (c *context) rate(p1, t1, p2 float64) (compressor.Expected, error) {
	return remember(c, memoKey{memoRate, p1, t1, p2}, func() (compressor.Expected, error) {
		if c.fluid == nil {
			return compressor.Expected{}, errNoFluid
		}
		m, err := c.compMap()
		if err != nil {
			return compressor.Expected{}, err
		}
		return m.Rate(c.fluid, p1, t1, p2)
	})
}

// enthalpy of a single-phase state, J/kg, memoised.
func (c *context) enthalpy(t, p float64) (float64, error) {
	return remember(c, memoKey{memoGas, t, p, 0}, func() (float64, error) {
		if c.fluid == nil {
			return 0, errNoFluid
		}
		return c.fluid.EnthalpyTP(t, p)
	})
}
