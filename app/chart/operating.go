package chart

import (
	"math"

	"retrostage/app/theme"
)

// OperatingMap is where compressors work, condensing over evaporating temperature: the
// region in which the new one may run, and a path over the weather for each.
type OperatingMap struct {
	XLabel, YLabel string
	Envelope       []Pt // corners in turn; fewer than three draw none
	Paths          []OperatingPath
}

// OperatingPath is one compressor over the weather.
type OperatingPath struct {
	Name   string
	Pts    []Pt
	Out    []bool // beside Pts: outside what it may
	Design Pt     // on the design day
	Tone   theme.Tone
	Dash   bool
	Shape  Shape
	Side   Side // of the mark, on which its name stands
}

// Side is where a name stands beside its mark: points lie close together.
type Side int

// The sides.
const (
	ToRight Side = iota
	ToLeft
	AboveRight
)

// about is how much of what lies about the paths is shown, in lengths of them.
const about = 1.6

// Picture draws the map: the paths with what lies about them, for the region may be
// many times as wide.
func (m OperatingMap) Picture() *Picture {
	c := XY{XLabel: m.XLabel, YLabel: m.YLabel}
	if n := len(m.Envelope); n > 2 {
		edge := Series{Tone: theme.Muted, Dash: true}
		for i := range n + 1 {
			q := m.Envelope[i%n]
			edge.X, edge.Y = append(edge.X, q.X), append(edge.Y, q.Y)
		}
		c.Series = append(c.Series, edge)
	}
	for _, q := range m.Paths {
		s := Series{Tone: q.Tone, Dash: q.Dash}
		for _, p := range q.Pts {
			s.X, s.Y = append(s.X, p.X), append(s.Y, p.Y)
		}
		s.X, s.Y = append(s.X, q.Design.X), append(s.Y, q.Design.Y)
		c.Series = append(c.Series, s)
	}
	p := c.Picture()
	if p.Empty() {
		return p
	}
	p.X.Min, p.X.Max = m.around(p.X.Min, p.X.Max, func(q Pt) float64 { return q.X })
	p.Y.Min, p.Y.Max = m.around(p.Y.Min, p.Y.Max, func(q Pt) float64 { return q.Y })
	p.Items = nil // drawn again in this order: the region below, the words on top
	if len(m.Envelope) > 2 {
		p.Items = append(p.Items, Area{Pts: m.Envelope, Tone: theme.Band, Veil: 0.55})
		edge := append(append([]Pt{}, m.Envelope...), m.Envelope[0])
		p.Items = append(p.Items, Line{Pts: edge, Tone: theme.Muted, Width: 1.2, Dash: []float64{6, 4}})
	}
	for _, q := range m.Paths {
		l := Line{Pts: q.Pts, Tone: q.Tone, Width: 2}
		if q.Dash {
			l.Dash = []float64{7, 4}
		}
		p.Items = append(p.Items, l)
		for i, at := range q.Pts {
			if i < len(q.Out) && q.Out[i] {
				p.Items = append(p.Items, Mark{At: at, Shape: Ring, Tone: theme.Bad, Size: 13})
			}
		}
	}
	for _, q := range m.Paths {
		if !good(q.Design.X) || !good(q.Design.Y) {
			continue
		}
		name := Text{At: q.Design, Text: q.Name, Tone: theme.Ink, Bold: true, AX: 0, AY: 0.5, DX: 11, DY: 3, Halo: true, Keep: true}
		switch q.Side {
		case ToLeft:
			name.AX, name.DX = 1, -11
		case AboveRight:
			name.AY, name.DX, name.DY = 1, 7, -5
		}
		p.Items = append(p.Items, Mark{At: q.Design, Shape: q.Shape, Tone: q.Tone, Size: 12}, name)
	}
	return p
}

// around is the stretch about the paths that is shown of all, lo to hi.
func (m OperatingMap) around(lo, hi float64, of func(Pt) float64) (float64, float64) {
	a, b := math.Inf(1), math.Inf(-1)
	for _, q := range m.Paths {
		for _, p := range append([]Pt{q.Design}, q.Pts...) {
			if x := of(p); good(x) {
				a, b = math.Min(a, x), math.Max(b, x)
			}
		}
	}
	if !(a < b) {
		return lo, hi
	}
	return math.Max(lo, a-about*(b-a)), math.Min(hi, b+about*(b-a))
}
