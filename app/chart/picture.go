package chart

import (
	"math"

	"retrostage/app/theme"
)

// Pt is a place in the picture's own coordinates.
type Pt struct{ X, Y float64 }

// Item is one of Line, Area, Round, Mark and Text.
type Item interface{ item() }

// Line is an open polyline. A point that is not finite breaks it.
type Line struct {
	Pts   []Pt
	Tone  theme.Tone
	Width float64   // pixels at scale 1; 0 means 1.5
	Dash  []float64 // pixels at scale 1; nil is solid
}

// Area is a closed polygon filled with a tone.
type Area struct {
	Pts  []Pt
	Tone theme.Tone
	Veil float64 // 0 is opaque, towards 1 fainter
}

// Round is a circle whose radius is in the picture's units.
type Round struct {
	At     Pt
	R      float64
	Filled bool
	Tone   theme.Tone
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
	Tone  theme.Tone
	Size  float64 // across, pixels at scale 1; 0 means 9
}

// Text is one line of words. AX and AY say which part of the words lies at At:
// 0 left or top, 0.5 middle, 1 right or bottom.
type Text struct {
	At     Pt
	DX, DY float64 // shift in pixels at scale 1, y down
	Text   string
	Tone   theme.Tone
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
	Bare     bool // no figures beside it: what lies along it is named
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

// Unit is how many pixels one unit of a drawing takes in a view of w by h pixels.
func (f Frame) Unit(w, h float64) float64 {
	return math.Min(w/(f.X1-f.X0), h/(f.Y1-f.Y0))
}

// Scale returns the frame of a drawing that shows it at so many pixels a unit in a view
// of w by h pixels, with the place (fx, fy), fractions of the view, kept where it is.
// It shows no less than a hundredth of the whole and no more than all of it.
func (p *Picture) Scale(f Frame, unit, fx, fy, w, h float64) Frame {
	if !(unit > 0) || math.IsInf(unit, 0) || !(w > 0) || !(h > 0) {
		return f
	}
	all := p.Whole()
	least := all.Unit(w, h)
	unit = clamp(unit, least, 100*least)
	at := f.At(fx*w, fy*h, w, h)
	zx, zy := math.Min(w/unit, all.X1-all.X0), math.Min(h/unit, all.Y1-all.Y0)
	return p.hold(Frame{at.X - fx*zx, at.X + (1-fx)*zx, at.Y - fy*zy, at.Y + (1-fy)*zy})
}

// Move returns the frame of a drawing moved by so many units.
func (p *Picture) Move(f Frame, dx, dy float64) Frame {
	return p.hold(Frame{f.X0 + dx, f.X1 + dx, f.Y0 + dy, f.Y1 + dy})
}

// At is the place of a drawing at a pixel of a view of w by h.
func (f Frame) At(x, y, w, h float64) Pt {
	u := f.Unit(w, h)
	return Pt{f.X0 + (x-(w-(f.X1-f.X0)*u)/2)/u, f.Y0 + (y-(h-(f.Y1-f.Y0)*u)/2)/u}
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
