package section

import (
	"fmt"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/reports/assess"
	"retrostage/reports/match"
	"retrostage/thermo/units"
)

// operatingPicture is where the new compressor and both old stages work over the
// weather, in the region that the new one's data allow; nil where nothing is known.
func operatingPicture(m *assess.Matches, system units.System) (*chart.Picture, string) {
	q := m.Plane
	if q == nil || len(q.New) == 0 {
		return nil, ""
	}
	t := units.Preferred(units.Temperature, system)
	at := func(evap, cond float64) chart.Pt { return chart.Pt{X: t.FromSI(evap, 0), Y: t.FromSI(cond, 0)} }
	path := func(name string, over []match.At, design match.At, tone theme.Tone) chart.OperatingPath {
		p := chart.OperatingPath{Name: name, Design: at(design.Evaporating, design.Condensing), Tone: tone}
		for _, a := range over {
			p.Pts, p.Out = append(p.Pts, at(a.Evaporating, a.Condensing)), append(p.Out, a.Outside != "")
		}
		return p
	}
	d := chart.OperatingMap{XLabel: "evaporating temperature, " + t.Label, YLabel: "condensing temperature, " + t.Label}
	for _, e := range q.Envelope {
		d.Envelope = append(d.Envelope, at(e.S, e.D))
	}
	low, high, now := path("old low stage", q.OldLow, q.OldLowAt, theme.Muted), path("old high stage", q.OldHigh, q.OldHighAt, theme.Ink), path("new", q.New, q.NewAt, theme.Accent)
	low.Dash, low.Shape, high.Shape, now.Shape = true, chart.Square, chart.Diamond, chart.Disc
	high.Side, now.Side = chart.ToLeft, chart.AboveRight
	d.Paths = []chart.OperatingPath{low, high, now}
	out := 0
	for _, a := range q.New {
		if a.Outside != "" {
			out++
		}
	}
	first, last := q.New[0], q.New[len(q.New)-1]
	says := fmt.Sprintf("Marks: the design day; lines: from %.0f to %.0f %s outdoors, with the coils that stay. ", t.FromSI(first.Outdoor, 0), t.FromSI(last.Outdoor, 0), t.Label)
	switch {
	case len(q.Envelope) < 3:
		says += "Where the new one may run is not stated in its data: no region is drawn, and nothing is said of it."
	case out > 0:
		says += fmt.Sprintf("Shaded: where its data let the new one run. Ringed: outside it, %d of %d.", out, len(q.New))
	default:
		says += fmt.Sprintf("Shaded: where its data let the new one run; %d of the %d weathers drawn lie in it.", len(q.New), len(q.New))
	}
	if n := q.Asked - len(q.New); n > 0 {
		says += fmt.Sprintf(" In %d more the model finds no state: nothing is said of these.", n)
	}
	return d.Picture(), says
}
