package plot

import (
	"math"

	"retrostage/app/picture"
)

// Series is one row of readings or one fitted curve over a shared axis.
type Series struct {
	Name  string
	X, Y  []float64
	Marks bool // readings: marks; a fit: a line
	Tone  picture.Tone
	Dash  bool
}

// Level is a horizontal line with its name: a limit, a target.
type Level struct {
	Y    float64
	Name string
}

// Chart is readings and fits over one axis, such as the rise of an isolated
// vacuum over time.
type Chart struct {
	XLabel, YLabel string
	LogY           bool
	Series         []Series
	Levels         []Level
	BandLow        *float64 // allowed stretch of y, nil: none
	BandHigh       *float64
	Window         *Window
	Beside         bool // names stand to the right of their lines, not above the ends
	Note           string
}

// Window is a stretch of x that is marked, with a word for it.
type Window struct {
	From, To float64
	Name     string
	Firm     bool // what was looked for; else the mark is faint
}

// Picture draws the chart. Non-finite readings, and readings not above zero on a
// logarithmic axis, are left out.
func (c Chart) Picture() *picture.Picture {
	p := &picture.Picture{Axes: true, Note: c.Note, X: picture.Axis{Label: c.XLabel}, Y: picture.Axis{Label: c.YLabel, Log: c.LogY}}
	xlo, xhi, ylo, yhi := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	use := func(y float64) bool { return good(y) && (!c.LogY || y > 0) }
	for _, s := range c.Series {
		for i := range s.X {
			if i < len(s.Y) && good(s.X[i]) && use(s.Y[i]) {
				xlo, xhi = math.Min(xlo, s.X[i]), math.Max(xhi, s.X[i])
				ylo, yhi = math.Min(ylo, s.Y[i]), math.Max(yhi, s.Y[i])
			}
		}
	}
	if math.IsInf(xlo, 1) {
		if p.Note == "" {
			p.Note = "No readings yet"
		}
		return p
	}
	for _, l := range c.Levels {
		if use(l.Y) {
			ylo, yhi = math.Min(ylo, l.Y), math.Max(yhi, l.Y)
		}
	}
	p.X.Min, p.X.Max = widen(xlo, xhi, 0.05, false)
	if c.Beside {
		p.X.Max += 0.16 * (xhi - xlo)
	}
	room := 0.12
	for _, s := range c.Series {
		if s.Name != "" && !c.Beside {
			room = 0.22 // for the name above a line
		}
	}
	p.Y.Min, p.Y.Max = widen(ylo, yhi, room, c.LogY)

	if c.BandLow != nil || c.BandHigh != nil {
		lo, hi := p.Y.Min, p.Y.Max
		if c.BandLow != nil {
			lo = math.Max(lo, *c.BandLow)
		}
		if c.BandHigh != nil {
			hi = math.Min(hi, *c.BandHigh)
		}
		if lo < hi {
			p.Items = append(p.Items, picture.Area{Tone: picture.Band, Veil: 0.6, Pts: []picture.Pt{
				{X: p.X.Min, Y: lo}, {X: p.X.Max, Y: lo}, {X: p.X.Max, Y: hi}, {X: p.X.Min, Y: hi}}})
		}
	}
	if w := c.Window; w != nil && good(w.From) && good(w.To) && w.From < w.To {
		tone, veil := picture.Band, 0.35
		if !w.Firm {
			tone, veil = picture.Caution, 0.5
		}
		lo, hi := p.Y.Min, p.Y.Max
		p.Items = append(p.Items, picture.Area{Tone: tone, Veil: veil, Pts: []picture.Pt{{X: w.From, Y: lo}, {X: w.To, Y: lo}, {X: w.To, Y: hi}, {X: w.From, Y: hi}}})
		for _, x := range []float64{w.From, w.To} {
			p.Items = append(p.Items, picture.Line{Pts: []picture.Pt{{X: x, Y: lo}, {X: x, Y: hi}}, Tone: picture.Ink, Width: 1.2, Dash: []float64{3, 3}})
		}
		p.Items = append(p.Items, picture.Text{At: picture.Pt{X: w.From, Y: hi}, Text: w.Name, Tone: picture.Ink, Bold: true, DX: 6, DY: 5, Halo: true, Keep: true})
	}
	for _, l := range c.Levels {
		if !use(l.Y) {
			continue
		}
		p.Items = append(p.Items,
			picture.Line{Pts: []picture.Pt{{X: p.X.Min, Y: l.Y}, {X: p.X.Max, Y: l.Y}}, Tone: picture.Muted, Width: 1.2, Dash: []float64{6, 4}},
			picture.Text{At: picture.Pt{X: p.X.Max, Y: l.Y}, Text: l.Name, Tone: picture.Ink, AX: 1, AY: 1, DX: -6, DY: -4, Halo: true, Keep: true})
	}
	shapes := []picture.Shape{picture.Disc, picture.Square, picture.Diamond, picture.Up, picture.Ring}
	for n, s := range c.Series {
		var line []picture.Pt
		for i := range s.X {
			if i >= len(s.Y) {
				break
			}
			q := picture.Pt{X: s.X[i], Y: s.Y[i]}
			if !good(q.X) || !use(q.Y) {
				q.Y = math.NaN()
			} else if s.Marks {
				p.Items = append(p.Items, picture.Mark{At: q, Shape: shapes[n%len(shapes)], Tone: s.Tone, Size: 8})
			}
			line = append(line, q)
		}
		if !s.Marks {
			l := picture.Line{Pts: line, Tone: s.Tone, Width: 2}
			if s.Dash {
				l.Dash = []float64{7, 4}
			}
			p.Items = append(p.Items, l)
		}
		if s.Name != "" {
			for i := len(line) - 1; i >= 0; i-- {
				if good(line[i].Y) {
					name := picture.Text{At: line[i], Text: s.Name, Tone: picture.Ink, AX: 1, AY: 1, DX: -8, DY: -8, Halo: true, Keep: true}
					if c.Beside {
						name.AX, name.AY, name.DX, name.DY = 0, 0.5, 6, 0
					}
					p.Items = append(p.Items, name)
					break
				}
			}
		}
	}
	return p
}

func widen(lo, hi, by float64, log bool) (float64, float64) {
	if log {
		if hi <= lo {
			return lo / 2, hi * 2
		}
		f := math.Pow(hi/lo, by)
		return lo / f, hi * f
	}
	if hi <= lo {
		pad := math.Max(math.Abs(lo)*0.1, 1)
		return lo - pad, hi + pad
	}
	pad := by * (hi - lo)
	return lo - pad, hi + pad
}

// Map is one output of a compressor (capacity, current, power) over evaporating
// temperature, one curve per condensing temperature, with the measured point.
type Map struct {
	XLabel, YLabel string
	Curves         []Series // Name is the condensing temperature
	Measured       *Reading
	Expected       *Reading // what the map says at the measured conditions
	Note           string
}

// Reading is a place on a map with half widths of its uncertainty.
type Reading struct{ X, Y, HalfX, HalfY float64 }

// Picture draws the map.
func (m Map) Picture() *picture.Picture {
	c := Chart{XLabel: m.XLabel, YLabel: m.YLabel, Note: m.Note, Beside: true}
	for _, s := range m.Curves {
		s.Marks = false
		c.Series = append(c.Series, s)
	}
	if r := m.Measured; r != nil {
		c.Series = append(c.Series, Series{X: []float64{r.X - r.HalfX, r.X + r.HalfX}, Y: []float64{r.Y - r.HalfY, r.Y + r.HalfY}, Marks: true, Tone: picture.Paper})
	}
	p := c.Picture()
	if p.Empty() {
		return p
	}
	if r := m.Expected; r != nil && good(r.X) && good(r.Y) {
		if r.HalfY > 0 {
			p.Items = append(p.Items, picture.Line{Pts: []picture.Pt{{X: r.X, Y: r.Y - r.HalfY}, {X: r.X, Y: r.Y + r.HalfY}}, Tone: picture.Muted, Width: 5})
		}
		p.Items = append(p.Items, picture.Mark{At: picture.Pt{X: r.X, Y: r.Y}, Shape: picture.Ring, Tone: picture.Ink, Size: 12},
			picture.Text{At: picture.Pt{X: r.X, Y: r.Y}, Text: "map", Tone: picture.Ink, AX: 1, AY: 0.5, DX: -10, Halo: true, Keep: true})
	}
	if r := m.Measured; r != nil && good(r.X) && good(r.Y) {
		at := picture.Pt{X: r.X, Y: r.Y}
		for _, l := range [][]picture.Pt{
			{{X: r.X - r.HalfX, Y: r.Y}, {X: r.X + r.HalfX, Y: r.Y}},
			{{X: r.X, Y: r.Y - r.HalfY}, {X: r.X, Y: r.Y + r.HalfY}}} {
			p.Items = append(p.Items, picture.Line{Pts: l, Tone: picture.Doubt, Width: 2})
		}
		p.Items = append(p.Items, picture.Mark{At: at, Shape: picture.Disc, Tone: picture.Accent, Size: 10},
			picture.Text{At: at, Text: "measured", Tone: picture.Ink, Bold: true, AY: 0.5, DX: 10, Halo: true, Keep: true})
	}
	return p
}
