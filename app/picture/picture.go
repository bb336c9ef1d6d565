// Package picture is a drawing as plain data, and the one routine that turns it
// into pixels.
//
// A Picture holds lines, areas, marks and words in the coordinates of what it
// shows (kJ/kg against kPa, minutes against microns, grid squares of a ladder)
// and, for a chart, two axes of which either may be logarithmic. A Frame is the
// part of it in view. Render draws that part at a size in pixels; it holds no
// state, so it may run on any goroutine, and a picture once handed out is not
// changed.
//
// Colours are tones, resolved by the caller, so that one picture serves a light
// and a dark theme.
package picture

import "math"

// Tone is the part a colour plays.
type Tone int

const (
	Ink    Tone = iota // words and the things measured
	Muted              // secondary words, axes
	Faint              // grid lines
	Accent             // the thing to look at
	Good
	Bad
	Doubt
	Band    // fill of what is allowed
	Paper   // ground
	Caution // fill behind a caution
)

// Pt is a place in the picture's own coordinates.
type Pt struct{ X, Y float64 }

// Item is one of Line, Area, Round, Mark and Text.
type Item interface{ item() }

// Line is an open polyline. A point that is not finite breaks it.
type Line struct {
	Pts   []Pt
	Tone  Tone
	Width float64   // pixels at scale 1; 0 means 1.5
	Dash  []float64 // pixels at scale 1; nil is solid
}

// Area is a closed polygon filled with a tone.
type Area struct {
	Pts  []Pt
	Tone Tone
	Veil float64 // 0 is opaque, towards 1 fainter
}

// Round is a circle whose radius is in the picture's units.
type Round struct {
	At     Pt
	R      float64
	Filled bool
	Tone   Tone
	Width  float64 // pixels at scale 1; 0 means 1.5
}

// Shape of a Mark.
type Shape int

const (
	Disc Shape = iota
	Ring
	Square
	Diamond
	Cross
	Up // triangle pointing up
	Down
)

// Mark is a symbol of fixed size at a place.
type Mark struct {
	At    Pt
	Shape Shape
	Tone  Tone
	Size  float64 // across, pixels at scale 1; 0 means 9
}

// Text is one line of words. AX and AY say which part of the words lies at At:
// 0 left or top, 0.5 middle, 1 right or bottom.
type Text struct {
	At     Pt
	DX, DY float64 // shift in pixels at scale 1, y down
	Text   string
	Tone   Tone
	Size   float64 // pixels at scale 1, or picture units when Grow is set; 0 means 13
	Bold   bool
	AX, AY float64
	Grow   bool // grows with zoom, as the words of a drawing do; a chart's do not
	OnBase bool // At is on the baseline, whatever AY says
	Keep   bool // slides sideways to stay whole inside the plot
	Halo   bool // a rim of paper behind, for words that lie on lines
}

func (Line) item()  {}
func (Area) item()  {}
func (Mark) item()  {}
func (Round) item() {}
func (Text) item()  {}

// Axis is one direction of a chart. Min and Max bound the whole picture.
type Axis struct {
	Label    string
	Min, Max float64
	Log      bool
}

// Picture is a chart (Axes set) or a drawing (Axes not set; one unit is as long
// across as down, and y grows downward).
type Picture struct {
	X, Y  Axis
	Axes  bool
	Items []Item
	Note  string // said in place of the picture when there is nothing to draw
}

// Frame is the part in view, in mapped coordinates: logarithms (base 10) on a
// logarithmic axis.
type Frame struct{ X0, X1, Y0, Y1 float64 }

func (a Axis) to(v float64) float64 {
	if a.Log {
		return math.Log10(v)
	}
	return v
}

func (a Axis) from(m float64) float64 {
	if a.Log {
		return math.Pow(10, m)
	}
	return m
}

// Whole is the frame that shows everything.
func (p *Picture) Whole() Frame {
	return Frame{p.X.to(p.X.Min), p.X.to(p.X.Max), p.Y.to(p.Y.Min), p.Y.to(p.Y.Max)}
}

// Empty reports that there is nothing to draw.
func (p *Picture) Empty() bool { return p == nil || len(p.Items) == 0 }

// Zoom returns the frame enlarged about the place (fx, fy), fractions from the
// left and from the bottom (chart) or top (drawing). factor > 1 looks closer. The
// frame stays within the whole and within a hundredfold enlargement.
func (p *Picture) Zoom(f Frame, factor, fx, fy float64) Frame {
	if !(factor > 0) || math.IsInf(factor, 0) {
		return f
	}
	w := p.Whole()
	zx := clamp((f.X1-f.X0)/factor, (w.X1-w.X0)/100, w.X1-w.X0)
	zy := clamp((f.Y1-f.Y0)/factor, (w.Y1-w.Y0)/100, w.Y1-w.Y0)
	cx, cy := f.X0+fx*(f.X1-f.X0), f.Y0+fy*(f.Y1-f.Y0)
	return p.hold(Frame{cx - fx*zx, cx + (1-fx)*zx, cy - fy*zy, cy + (1-fy)*zy})
}

// Pan returns the frame moved by fractions of itself.
func (p *Picture) Pan(f Frame, dx, dy float64) Frame {
	x, y := dx*(f.X1-f.X0), dy*(f.Y1-f.Y0)
	return p.hold(Frame{f.X0 + x, f.X1 + x, f.Y0 + y, f.Y1 + y})
}

// hold slides a frame back inside the whole.
func (p *Picture) hold(f Frame) Frame {
	w := p.Whole()
	slide := func(lo, hi, min, max float64) (float64, float64) {
		switch {
		case hi-lo >= max-min:
			return min, max
		case lo < min:
			return min, min + hi - lo
		case hi > max:
			return max - (hi - lo), max
		}
		return lo, hi
	}
	f.X0, f.X1 = slide(f.X0, f.X1, w.X0, w.X1)
	f.Y0, f.Y1 = slide(f.Y0, f.Y1, w.Y0, w.Y1)
	return f
}

func clamp(v, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, v)) }

// Steps returns the places of the tick marks between lo and hi (values, not
// mapped), about n of them, and the words for them.
func (a Axis) Steps(lo, hi float64, n int) (at []float64, text []string) {
	if n < 2 {
		n = 2
	}
	if !(hi > lo) {
		return nil, nil
	}
	if a.Log && lo > 0 && hi/lo > 4 {
		sets := [][]float64{{1}, {1, 3}, {1, 2, 5}, {1, 1.5, 2, 3, 4, 5, 6, 8}}
		decades := math.Log10(hi / lo)
		pick := sets[0]
		for _, s := range sets {
			if float64(len(s))*decades <= float64(n)*1.2 {
				pick = s
			}
		}
		for d := math.Floor(math.Log10(lo)); d <= math.Ceil(math.Log10(hi)); d++ {
			for _, m := range pick {
				if v := m * math.Pow(10, d); v >= lo*(1-1e-9) && v <= hi*(1+1e-9) {
					at, text = append(at, v), append(text, plain(v, v/10))
				}
			}
		}
		return at, text
	}
	step := Nice((hi - lo) / float64(n))
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+1e-9*step; k++ {
		at, text = append(at, k*step), append(text, plain(k*step, step))
	}
	return at, text
}
