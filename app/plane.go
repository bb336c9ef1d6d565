package app

import (
	"fmt"
	"math"
	"sync"

	"retrostage/app/chart"
	"retrostage/reports/assess"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

// dome is the saturation lines of a refrigerant, SI, from cold to the critical
// point. They do not change, so each is reckoned once.
type dome struct {
	hb, pb, hd, pd []float64
	ties           map[units.System][]tie
}

// tie joins boiling liquid and its vapour of one temperature: level for a pure
// fluid, sloping for a blend, by as much as it glides.
type tie struct {
	h, p [2]float64
	text string
}

var domes struct {
	sync.Mutex
	m map[string]*dome
}

const domePoints = 140

func domeOf(name string) (*dome, error) {
	domes.Lock()
	defer domes.Unlock()
	if d := domes.m[name]; d != nil {
		return d, nil
	}
	f, err := fluid.Get(name)
	if err != nil {
		return nil, err
	}
	tc, _, _ := f.Critical()
	lo, _, _ := f.Limits()
	lo = math.Max(lo, 0.62*tc)
	top := tc * (1 - 4e-4)
	d := &dome{ties: map[units.System][]tie{}}
	for _, sys := range []units.System{units.IP, units.SI} {
		u, step := units.Preferred(units.Temperature, sys), 40.0
		if sys == units.SI {
			step = 20
		}
		for k := math.Ceil(u.FromSI(lo, 0) / step); u.ToSI(k*step, 0) < 0.985*tc; k++ {
			b, err1 := f.Bubble(u.ToSI(k*step, 0))
			v, err2 := f.Dew(u.ToSI(k*step, 0))
			if err1 == nil && err2 == nil {
				d.ties[sys] = append(d.ties[sys], tie{[2]float64{b.H, v.H}, [2]float64{b.P, v.P}, fmt.Sprintf("%.0f %s", zero(k*step, 0), u.Label)})
			}
		}
	}
	for i := range domePoints {
		// Closer together towards the critical point, where the dome bends;
		// the point itself is left out, because the two lines merge there.
		x := 1 - float64(i)/(domePoints-1)
		t := top - (top-lo)*x*x
		b, err1 := f.Bubble(t)
		v, err2 := f.Dew(t)
		if err1 != nil || err2 != nil {
			continue
		}
		d.hb, d.pb = append(d.hb, b.H), append(d.pb, b.P)
		d.hd, d.pd = append(d.hd, v.H), append(d.pd, v.P)
	}
	if len(d.hb) < 10 {
		return nil, fmt.Errorf("%s: the dome cannot be drawn", name)
	}
	if domes.m == nil {
		domes.m = map[string]*dome{}
	}
	domes.m[name] = d
	return d, nil
}

// plane is the pressure-enthalpy picture of a report.
func plane(r *assess.Report, s shown) *chart.Picture {
	name := s.fluid
	hu, _ := units.Lookup(units.Enthalpy, "kJ/kg")
	pu, _ := units.Lookup(units.Pressure, "kPa")
	tu := units.Preferred(units.Temperature, s.system)
	if s.system == units.IP {
		hu, _ = units.Lookup(units.Enthalpy, "Btu/lb")
		pu, _ = units.Lookup(units.Pressure, "psia")
	}
	d := chart.PH{HLabel: "Enthalpy, " + hu.Label, PLabel: name + ": pressure, " + pu.Label + ", log scale"}
	if name == "" {
		return d.Picture()
	}
	lines, err := domeOf(name)
	if err != nil {
		d.Note = err.Error()
		return d.Picture()
	}
	curve := func(h, p []float64) (c chart.Curve) {
		for i := range h {
			c.H, c.P = append(c.H, hu.FromSI(h[i], 0)), append(c.P, pu.FromSI(p[i], 0))
		}
		return c
	}
	d.Bubble, d.Dew = curve(lines.hb, lines.pb), curve(lines.hd, lines.pd)
	for _, t := range lines.ties[s.system] {
		c := curve(t.h[:], t.p[:])
		c.Text = t.text
		d.Isotherms = append(d.Isotherms, c)
	}
	if r == nil || r.Cycle == nil {
		return d.Picture()
	}
	for _, c := range r.Cycle.Points {
		d.Cycle = append(d.Cycle, chart.Point{H: hu.FromSI(c.H, 0), P: pu.FromSI(c.P, 0), Name: c.Name,
			HalfH: hu.Span(2 * c.UH), HalfP: pu.Span(2 * c.UP), R: c.R})
	}
	// Tie lines: across the dome at the pressures of the two coils, with the
	// saturation temperatures at their ends.
	f, err := fluid.Get(name)
	if err != nil {
		return d.Picture()
	}
	done := map[int]bool{}
	for _, c := range r.Cycle.Points {
		if k := int(20 * math.Log(c.P)); done[k] || done[k-1] || done[k+1] {
			continue
		} else {
			done[k] = true
		}
		tb, err1 := f.BubbleT(c.P)
		td, err2 := f.DewT(c.P)
		if err1 != nil || err2 != nil {
			continue
		}
		b, err1 := f.Bubble(tb)
		v, err2 := f.Dew(td)
		if err1 != nil || err2 != nil {
			continue
		}
		text := fmt.Sprintf("%.0f %s", tu.FromSI(td, 0), tu.Label)
		if td-tb > 0.3 {
			text = fmt.Sprintf("%.1f to %.1f %s", tu.FromSI(tb, 0), tu.FromSI(td, 0), tu.Label)
		}
		p := pu.FromSI(c.P, 0)
		d.Ties = append(d.Ties, chart.Curve{H: []float64{hu.FromSI(b.H, 0), hu.FromSI(v.H, 0)}, P: []float64{p, p}, Text: text})
	}
	return d.Picture()
}
