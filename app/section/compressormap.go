package section

import (
	"context"
	"fmt"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/thermo/units"
)

// mapWords is the map with what was measured laid over it, or why there is none.
type mapWords struct {
	pictures []mapPicture
	wrong    string
}

// compressorMap lays what was entered over the compressor's map, once there is
// one.
func compressorMap(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	body.Hide()
	views := []*widget.View{p.newView(0.42), p.newView(0.42)}
	return newSection("compressor map", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) (w mapWords) {
			r, err := in.Entered.Report()
			if err != nil {
				return w
			}
			m, err := in.Entered.CompressorMap()
			if err != nil {
				w.wrong = "The map does not reach here: " + err.Error()
				return w
			}
			w.pictures = mapPictures(m, presenter{system: in.System, site: r.Site})
			return w
		},
		func(w mapWords) {
			show(body, w.wrong != "" || w.pictures != nil)
			widget.Refill(body, func() { fillMap(p, body, views, w) })
			p.reflow()
		}).alone()
}

func fillMap(p *Pane, body *fyne.Container, views []*widget.View, w mapWords) {
	if w.wrong == "" && w.pictures == nil {
		return
	}
	body.Add(widget.NewHeading("Against the compressor's map"))
	if w.wrong != "" {
		body.Add(widget.NewNotice("outside", theme.Bad, []string{w.wrong}, nil))
		return
	}
	for i, q := range w.pictures {
		views[i].Set(q.pic)
		body.Add(views[i])
		body.Add(widget.NewWords(q.says, theme.Small+0.5, false, theme.Ink))
	}
	body.Add(p.provenance("Ring and bar: what the map expects at these pressures and this superheat, with the map's uncertainty. Disc and cross: what was measured, with its own. Where from?", assess.DrawnBy))
}

// mapPicture is one output of the map with what was measured, and a line of
// words to it.
type mapPicture struct {
	pic  *chart.Picture
	says string
}

// mapPictures draws cooling, and current or else power, over the evaporating
// temperature.
func mapPictures(m *assess.Mapped, s presenter) (out []mapPicture) {
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
