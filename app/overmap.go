package app

import (
	"fmt"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/thermo/units"
)

// mapPart lays what was measured over the compressor's map, once there is one.
type mapPart struct {
	p     *pane
	body  *fyne.Container
	views []*widget.View
	work  widget.Latest
	made  string
}

func (p *pane) overMap(body *fyne.Container) {
	p.mapped = &mapPart{p: p, body: widget.NewColumn(6, 0)}
	p.mapped.work.Now = p.b.assessing.Now
	for range 2 {
		p.mapped.views = append(p.mapped.views, p.newView(0.42))
	}
	body.Add(p.mapped.body)
}

// mapPicture is one output of the map with what was measured, and a line of
// words to it.
type mapPicture struct {
	pic  *chart.Picture
	says string
}

// mapPictures draws cooling, and current or else power, over the evaporating
// temperature.
func mapPictures(m *assess.Mapped, s shown) (out []mapPicture) {
	if m == nil {
		return nil
	}
	tu, du := units.Preferred(units.Temperature, s.system), units.Preferred(units.TempDiff, s.system)
	for _, q := range []struct {
		name string
		dim  units.Dimension
		at   *assess.Against
		of   func(assess.MapCurve) []float64
	}{
		{"Cooling", units.Capacity, m.Cooling, func(c assess.MapCurve) []float64 { return c.Cooling }},
		{"Current", units.Current, m.Current, func(c assess.MapCurve) []float64 { return c.Current }},
		{"Power", units.Power, m.Power, func(c assess.MapCurve) []float64 { return c.Power }},
	} {
		if q.at == nil || len(out) == 2 {
			continue
		}
		u := units.Preferred(q.dim, s.system)
		d := chart.CompressorMap{XLabel: "evaporating temperature, " + tu.Label + "; one curve for each condensing temperature", YLabel: q.name + ", " + u.Label}
		for _, c := range m.Curves {
			line := chart.Series{Name: fmt.Sprintf("%.0f %s", tu.FromSI(c.Condensing, 0), tu.Label), Tone: theme.Muted, Dash: true}
			if c.Here {
				line.Name, line.Tone, line.Dash = line.Name+" here", theme.Ink, false
			}
			for i, t := range c.Evaporating {
				line.X, line.Y = append(line.X, tu.FromSI(t, 0)), append(line.Y, u.FromSI(q.of(c)[i], 0))
			}
			d.Curves = append(d.Curves, line)
		}
		x, halfX := tu.FromSI(m.Evaporating, 0), du.Span(2*m.UEvaporating)
		d.Expected = &chart.MapPoint{X: x, Y: u.FromSI(q.at.Expected, 0), HalfY: u.Span(2 * q.at.UExpected)}
		says := fmt.Sprintf("%s here: the map expects %s", q.name, s.value(u, q.at.Expected, 2*q.at.UExpected))
		if q.at.By != "" {
			d.Measured = &chart.MapPoint{X: x, Y: u.FromSI(q.at.Measured, 0), HalfX: halfX, HalfY: u.Span(2 * q.at.UMeasured)}
			says += fmt.Sprintf("; measured %s, %s", s.value(u, q.at.Measured, 2*q.at.UMeasured), q.at.By)
		} else {
			says += "; not measured"
		}
		out = append(out, mapPicture{d.Picture(), says + "."})
	}
	return out
}

func (w *mapPart) update() {
	b := w.p.b
	key := fmt.Sprint(b.entered, b.show.system, b.show.site)
	if key == w.made || b.report == nil {
		return
	}
	w.made = key
	j, s := b.job.Clone(), b.show
	w.work.Ask(func() func() {
		// Of what was entered, not of what is being typed.
		r, err := assess.Run(j)
		var m *assess.Mapped
		if err == nil {
			m, err = assess.OverMap(j, r)
		}
		pics := mapPictures(m, s)
		return func() { w.show(pics, err) }
	})
}

func (w *mapPart) show(pics []mapPicture, err error) {
	widget.Refill(w.body, func() { w.fill(pics, err) })
	w.p.reflow()
}

func (w *mapPart) fill(pics []mapPicture, err error) {
	if err == nil && pics == nil {
		return
	}
	w.body.Add(widget.NewHeading("Against the compressor's map"))
	if err != nil {
		w.body.Add(widget.NewNotice("outside", theme.Bad, []string{"The map does not reach here: " + err.Error()}, nil))
		return
	}
	for i, q := range pics {
		w.views[i].Set(q.pic)
		w.body.Add(w.views[i])
		w.body.Add(widget.NewWords(q.says, theme.Small+0.5, false, theme.Ink))
	}
	w.body.Add(w.p.whence("Ring and bar: what the map expects at these pressures and this superheat, with the map's doubt. Disc and cross: what was measured, with its own. Where from?", drawnBy))
}
