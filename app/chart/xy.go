package chart

import (
	"math"
	"slices"

	"retrostage/app/theme"
)

// Series is one row of readings or one fitted curve over a shared axis.
type Series struct {
	Name  string
	X, Y  []float64
	Marks bool // readings: marks; a fit: a line
	Tone  theme.Tone
	Dash  bool
}

// Ribbon is a band about a curve.
type Ribbon struct {
	X, Low, High []float64
	Tone         theme.Tone
}

// Level is a horizontal line with its name: a limit, a target.
type Level struct {
	Y    float64
	Name string
}

// XY is readings and fits over one axis, such as the rise of an isolated
// vacuum over time.
type XY struct {
	XLabel, YLabel string
	LogY           bool
	Series         []Series
	Ribbons        []Ribbon // below the series
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
func (c XY) Picture() *Picture {
	p := &Picture{Axes: true, Note: c.Note, X: Axis{Label: c.XLabel}, Y: Axis{Label: c.YLabel, Log: c.LogY}}
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
	for _, r := range c.Ribbons {
		for i := range r.X {
			if i < len(r.Low) && i < len(r.High) && good(r.X[i]) && use(r.Low[i]) && use(r.High[i]) {
				xlo, xhi = math.Min(xlo, r.X[i]), math.Max(xhi, r.X[i])
				ylo, yhi = math.Min(ylo, r.Low[i]), math.Max(yhi, r.High[i])
			}
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
			p.Items = append(p.Items, Area{Tone: theme.Band, Veil: 0.6, Pts: []Pt{
				{X: p.X.Min, Y: lo}, {X: p.X.Max, Y: lo}, {X: p.X.Max, Y: hi}, {X: p.X.Min, Y: hi}}})
		}
	}
	if w := c.Window; w != nil && good(w.From) && good(w.To) && w.From < w.To {
		tone, veil := theme.Band, 0.35
		if !w.Firm {
			tone, veil = theme.Caution, 0.5
		}
		lo, hi := p.Y.Min, p.Y.Max
		p.Items = append(p.Items, Area{Tone: tone, Veil: veil, Pts: []Pt{{X: w.From, Y: lo}, {X: w.To, Y: lo}, {X: w.To, Y: hi}, {X: w.From, Y: hi}}})
		for _, x := range []float64{w.From, w.To} {
			p.Items = append(p.Items, Line{Pts: []Pt{{X: x, Y: lo}, {X: x, Y: hi}}, Tone: theme.Ink, Width: 1.2, Dash: []float64{3, 3}})
		}
		p.Items = append(p.Items, Text{At: Pt{X: w.From, Y: hi}, Text: w.Name, Tone: theme.Ink, Bold: true, DX: 6, DY: 5, Halo: true, Keep: true})
	}
	for _, r := range c.Ribbons {
		if a, ok := r.area(use); ok {
			p.Items = append(p.Items, a)
		}
	}
	for _, l := range c.Levels {
		if !use(l.Y) {
			continue
		}
		p.Items = append(p.Items,
			Line{Pts: []Pt{{X: p.X.Min, Y: l.Y}, {X: p.X.Max, Y: l.Y}}, Tone: theme.Muted, Width: 1.2, Dash: []float64{6, 4}},
			Text{At: Pt{X: p.X.Max, Y: l.Y}, Text: l.Name, Tone: theme.Ink, AX: 1, AY: 1, DX: -6, DY: -4, Halo: true, Keep: true})
	}
	shapes := []Shape{Disc, Square, Diamond, Up, Ring}
	for n, s := range c.Series {
		var line []Pt
		for i := range s.X {
			if i >= len(s.Y) {
				break
			}
			q := Pt{X: s.X[i], Y: s.Y[i]}
			if !good(q.X) || !use(q.Y) {
				q.Y = math.NaN()
			} else if s.Marks {
				p.Items = append(p.Items, Mark{At: q, Shape: shapes[n%len(shapes)], Tone: s.Tone, Size: 8})
			}
			line = append(line, q)
		}
		if !s.Marks {
			l := Line{Pts: line, Tone: s.Tone, Width: 2}
			if s.Dash {
				l.Dash = []float64{7, 4}
			}
			p.Items = append(p.Items, l)
		}
		if s.Name != "" {
			for i := len(line) - 1; i >= 0; i-- {
				if good(line[i].Y) {
					name := Text{At: line[i], Text: s.Name, Tone: theme.Ink, AX: 1, AY: 1, DX: -8, DY: -8, Halo: true, Keep: true}
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

// area is the ribbon as a closed shape.
func (r Ribbon) area(use func(float64) bool) (Area, bool) {
	a := Area{Tone: r.Tone, Veil: 0.55}
	var back []Pt
	for i := range r.X {
		if i < len(r.Low) && i < len(r.High) && good(r.X[i]) && use(r.Low[i]) && use(r.High[i]) {
			a.Pts, back = append(a.Pts, Pt{X: r.X[i], Y: r.High[i]}), append(back, Pt{X: r.X[i], Y: r.Low[i]})
		}
	}
	slices.Reverse(back)
	a.Pts = append(a.Pts, back...)
	return a, len(back) > 1
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
