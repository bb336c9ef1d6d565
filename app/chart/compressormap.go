package chart

import "retrostage/app/theme"

// CompressorMap is one output of a compressor (capacity, current, power) over evaporating
// temperature, one curve per condensing temperature, with the measured point.
type CompressorMap struct {
	XLabel, YLabel string
	Curves         []Series // Name is the condensing temperature
	Measured       *MapPoint
	Expected       *MapPoint // what the map says at the measured conditions
	Note           string
}

// MapPoint is a place on a map with half widths of its uncertainty.
type MapPoint struct{ X, Y, HalfX, HalfY float64 }

// Picture draws the map.
func (m CompressorMap) Picture() *Picture {
	c := XY{XLabel: m.XLabel, YLabel: m.YLabel, Note: m.Note, Beside: true}
	for _, s := range m.Curves {
		s.Marks = false
		c.Series = append(c.Series, s)
	}
	if r := m.Measured; r != nil {
		c.Series = append(c.Series, Series{X: []float64{r.X - r.HalfX, r.X + r.HalfX}, Y: []float64{r.Y - r.HalfY, r.Y + r.HalfY}, Marks: true, Tone: theme.Paper})
	}
	p := c.Picture()
	if p.Empty() {
		return p
	}
	if r := m.Expected; r != nil && good(r.X) && good(r.Y) {
		if r.HalfY > 0 {
			p.Items = append(p.Items, Line{Pts: []Pt{{X: r.X, Y: r.Y - r.HalfY}, {X: r.X, Y: r.Y + r.HalfY}}, Tone: theme.Muted, Width: 5})
		}
		p.Items = append(p.Items, Mark{At: Pt{X: r.X, Y: r.Y}, Shape: Ring, Tone: theme.Ink, Size: 12},
			Text{At: Pt{X: r.X, Y: r.Y}, Text: "map", Tone: theme.Ink, AX: 1, AY: 0.5, DX: -10, Halo: true, Keep: true})
	}
	if r := m.Measured; r != nil && good(r.X) && good(r.Y) {
		at := Pt{X: r.X, Y: r.Y}
		for _, l := range [][]Pt{
			{{X: r.X - r.HalfX, Y: r.Y}, {X: r.X + r.HalfX, Y: r.Y}},
			{{X: r.X, Y: r.Y - r.HalfY}, {X: r.X, Y: r.Y + r.HalfY}}} {
			p.Items = append(p.Items, Line{Pts: l, Tone: theme.Warning, Width: 2})
		}
		p.Items = append(p.Items, Mark{At: at, Shape: Disc, Tone: theme.Accent, Size: 10},
			Text{At: at, Text: "measured", Tone: theme.Ink, Bold: true, AY: 0.5, DX: 10, Halo: true, Keep: true})
	}
	return p
}
