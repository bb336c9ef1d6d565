package assess

import (
	"fmt"
	"math"

	"retrostage/reports/record"
)

// Mapped is the compressor's map around the conditions of the running check, for
// a picture: what it does over evaporating temperature at the condensing
// temperature found and to either side of it. SI. Both temperatures are dew
// temperatures of the pressures, as maps have them.
type Mapped struct {
	Evaporating  float64
	UEvaporating float64 // standard uncertainty, K
	Curves       []MapCurve
	Cooling      *Against // W, with the subcooling as found
	Current      *Against // A; nil where the map has none
	Power        *Against // W
}

// MapCurve is the map at one condensing temperature and the superheat found. A
// place outside the map's envelope is NaN: the curve is broken there.
type MapCurve struct {
	Condensing  float64
	Here        bool // the condensing temperature found
	Evaporating []float64
	Cooling     []float64
	Current     []float64
	Power       []float64
}

// Against is what the map expects here and what was measured, with standard
// uncertainties.
type Against struct {
	Expected, UExpected float64
	Measured, UMeasured float64
	By                  string // how it was measured; "" where it was not
}

// mapSpan is how far the other curves lie from the one found, K; mapPoints is
// how finely a curve is drawn. Matters of drawing, not limits.
const (
	mapSpan   = 8.0
	mapReach  = 14.0
	mapPoints = 24
)

// DrawnBy says what stands behind the picture.
const DrawnBy = "Formula: cooling is the map's mass flow times the rise of enthalpy from the liquid line to the suction line, the subcooling as found. " +
	"From: suction and discharge pressure, suction and liquid temperature; the strips above list each with its doubt. Doubts are about 95 %; both temperatures are dew temperatures. " +
	"Method: " + byMapForm + "."

// overMap lays the readings of a report over the compressor's map.
func (c *context) overMap(r *Report) (*Mapped, error) {
	if !mapGiven(c) || c.fluid == nil || r.Cycle == nil {
		return nil, nil
	}
	evap, ok := r.Find("evaporating")
	flow, ok2 := r.Find("flow_expected")
	if !ok || !ok2 || !evap.Measured || !flow.Measured {
		return nil, nil
	}
	suction := r.Cycle.Points[0]
	var liquid Point
	p2 := 0.0
	for _, p := range r.Cycle.Points {
		switch p.Name {
		case "liquid line":
			liquid = p
			if p2 == 0 {
				p2 = p.P
				if d := c.input(condenserDrop); d != nil {
					p2 += d.si
				}
			}
		case "discharge line":
			p2 = p.P
		}
	}
	if liquid.Name == "" {
		return nil, nil // none that is sure to be liquid
	}
	td, err := c.fluid.DewT(p2)
	if err != nil {
		return nil, fmt.Errorf("discharge: %w", err)
	}
	heat := suction.T - evap.Value
	here, err := c.rate(suction.P, suction.T, p2)
	if err != nil {
		return nil, err
	}
	// The liquid of the other curves: as much below its own bubble temperature.
	bubble, err := c.fluid.BubbleT(liquid.P)
	if err != nil {
		return nil, fmt.Errorf("liquid: %w", err)
	}
	sub := bubble - liquid.T
	cold := func(p float64) (float64, error) {
		t, err := c.fluid.BubbleT(p)
		if err != nil {
			return 0, err
		}
		return c.enthalpy(t-sub, p)
	}
	base, err := cold(p2)
	if err != nil {
		return nil, fmt.Errorf("liquid: %w", err)
	}
	m := &Mapped{Evaporating: evap.Value, UEvaporating: evap.U}
	for _, d := range []float64{-mapSpan, 0, mapSpan} {
		q := MapCurve{Condensing: td + d, Here: d == 0}
		dew, err := c.fluid.DewSat(q.Condensing)
		if err != nil {
			continue
		}
		h3, err := cold(dew.P)
		if err != nil {
			continue
		}
		h3 += liquid.H - base
		for i := range mapPoints + 1 {
			t := evap.Value + mapReach*(2*float64(i)/mapPoints-1)
			cool, amps, watts := math.NaN(), math.NaN(), math.NaN()
			if s, err := c.fluid.DewSat(t); err == nil {
				if e, err := c.rate(s.P, t+heat, dew.P); err == nil {
					cool, watts = e.Mass*(e.SuctionH-h3), e.Power
					if currentGiven(c) {
						amps = e.Current
					}
				}
			}
			q.Evaporating = append(q.Evaporating, t)
			q.Cooling, q.Current, q.Power = append(q.Cooling, cool), append(q.Current, amps), append(q.Power, watts)
		}
		m.Curves = append(m.Curves, q)
	}
	// The map's own doubt is that of the flow it expects, in proportion.
	part := flow.U / flow.Value
	against := func(x float64) *Against { return &Against{Expected: x, UExpected: part * x} }
	m.Cooling, m.Power = against(here.Mass*(here.SuctionH-liquid.H)), against(here.Power)
	if f, ok := r.Find("capacity_air"); ok && f.Measured {
		m.Cooling.Measured, m.Cooling.UMeasured, m.Cooling.By = f.Value, f.U, "by the air"
	} else if f, ok := r.Find("flow_balance"); ok && f.Measured {
		rise := here.SuctionH - liquid.H // its doubt is small beside the flow's
		m.Cooling.Measured, m.Cooling.UMeasured, m.Cooling.By = f.Value*rise, f.U*rise, "by the compressor's heat balance"
	}
	if f, ok := r.Find("power_drawn"); ok && f.Measured {
		m.Power.Measured, m.Power.UMeasured, m.Power.By = f.Value, f.U, "by meter or clamp"
	}
	if currentGiven(c) {
		m.Current = against(here.Current)
		if x := c.reading(record.RunCurrent); x != nil && x.err == nil {
			m.Current.Measured, m.Current.UMeasured, m.Current.By = x.si, x.u, "by clamp"
		}
	}
	return m, nil
}
