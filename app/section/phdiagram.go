package section

import (
	"context"
	"fmt"
	"slices"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/reports/assess"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

// picture is a section that is one picture, hidden while there is none.
func picture(p *Pane, name string, ratio float32, draw func(in Input, r *assess.Report) *chart.Picture) *Section {
	v := p.newView(ratio)
	v.Hide()
	return newSection(name, []fyne.CanvasObject{v}, Input.typed,
		func(_ context.Context, in Input) *chart.Picture {
			r, err := in.Shown.Report()
			if err != nil {
				return nil
			}
			return draw(in, r)
		},
		func(c *chart.Picture) {
			v.Set(c)
			if on := c != nil; on != v.Visible() {
				show(v, on)
				p.reflow()
			}
		}).alone()
}

// phDiagram is the pressure-enthalpy diagram; without a refrigerant it says so.
func phDiagram(p *Pane) *Section {
	return picture(p, "pressure-enthalpy diagram", 0.42, func(in Input, r *assess.Report) *chart.Picture {
		return phPicture(r, in.present(r))
	})
}

// phUnits are the units of the diagram's axes and of its isotherms, and how far
// apart those are.
func phUnits(s units.System) (h, p, t units.Unit, apart float64) {
	hn, pn, apart := "kJ/kg", "kPa", 20.0
	if s == units.IP {
		hn, pn, apart = "Btu/lb", "psia", 40
	}
	h, _ = units.Lookup(units.Enthalpy, hn)
	p, _ = units.Lookup(units.Pressure, pn)
	return h, p, units.Preferred(units.Temperature, s), apart
}

func phPicture(r *assess.Report, s presenter) *chart.Picture {
	hu, pu, tu, apart := phUnits(s.system)
	d := chart.PH{HLabel: "Enthalpy, " + hu.Label, PLabel: s.fluid + ": pressure, " + pu.Label + ", log scale"}
	if s.fluid == "" {
		return d.Picture()
	}
	origin := tu.ToSI(0, 0)
	q, err := assess.PHDiagramOf(s.fluid, r, origin, tu.ToSI(apart, 0)-origin)
	if err != nil {
		d.Note = err.Error()
		return d.Picture()
	}
	curve := func(h, p []float64, text string) chart.Curve {
		c := chart.Curve{Text: text}
		for i := range h {
			c.H, c.P = append(c.H, hu.FromSI(h[i], 0)), append(c.P, pu.FromSI(p[i], 0))
		}
		return c
	}
	tie := func(t fluid.Tie, text string) chart.Curve { return curve(t.H[:], t.P[:], text) }
	degrees := func(k float64) string { return figureTo(tu.FromSI(k, 0), 0) + " " + tu.Label }
	d.Bubble, d.Dew = curve(q.Dome.Bubble.H, q.Dome.Bubble.P, ""), curve(q.Dome.Dew.H, q.Dome.Dew.P, "")
	for _, t := range q.Isotherms {
		d.Isotherms = append(d.Isotherms, tie(t, degrees(t.T[0])))
	}
	compressed := slices.ContainsFunc(q.Cycle, func(c assess.Point) bool { return c.Name == "discharge line" })
	for i, c := range q.Cycle {
		d.Cycle = append(d.Cycle, chart.Point{H: hu.FromSI(c.H, 0), P: pu.FromSI(c.P, 0), Name: c.Name,
			HalfH: hu.Span(2 * c.UH), HalfP: pu.Span(2 * c.UP), R: c.R, Apart: i == 1 && !compressed || i == 0 && q.Cycle[len(q.Cycle)-1].Name == assess.AboveSaturation})
	}
	const shown = 3 // of the sets before, the last ones
	for _, e := range q.Earlier[max(0, len(q.Earlier)-shown):] {
		var h, pr []float64
		for _, c := range e.Points {
			h, pr = append(h, c.H), append(pr, c.P)
		}
		if len(h) > 2 {
			h, pr = append(h, h[0]), append(pr, pr[0])
		}
		d.Earlier = append(d.Earlier, curve(h, pr, fmt.Sprintf("set %d", e.Number)))
	}
	for _, t := range q.Coils {
		text := degrees(t.T[1])
		if t.Glides {
			text = fmt.Sprintf("%.1f to %.1f %s", tu.FromSI(t.T[0], 0), tu.FromSI(t.T[1], 0), tu.Label)
		}
		d.Ties = append(d.Ties, tie(t.Tie, text))
	}
	return d.Picture()
}
