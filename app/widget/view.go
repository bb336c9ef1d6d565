package widget

import (
	"image"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/chart"
	"retrostage/app/theme"
)

// View shows a picture and lets it be enlarged and moved: wheel, drag, double
// tap for the whole, and three keys for gloves. On a page, wheel and drag move
// the page as long as the whole picture is seen, so that it holds nobody up.
// Drawing is done beside the
// finger; until it is ready the earlier drawing stays.
type View struct {
	widget.BaseWidget
	Work  Latest
	Ratio float32          // height over width it asks for; 0 means 0.6
	Still bool             // a small picture of which nothing is enlarged
	Page  func() *Scroller // what it stands on, nil where nothing else moves
	Least float64          // of a drawing: pixels a unit as first shown, at least; it fills the width. 0 shows the whole
	High  func() float32   // the height it asks for; nil by Ratio
	Print func()           // writes the picture for paper; nil where it cannot
	pic   *chart.Picture
	frame chart.Frame
	whole bool
	first bool // a drawing as first shown: fitted anew when the size changes
	aim   *chart.Pt
	image *canvas.Image
	keys  []*Tap
	print *Tap
	drawn drawnAt
	// OnTap tells where, in the picture's coordinates, it was tapped.
	OnTap func(at chart.Pt)
}

type drawnAt struct {
	pic   *chart.Picture
	frame chart.Frame
	w, h  int
	dark  bool
}

// NewView makes a view of a picture; nil shows nothing.
func NewView(p *chart.Picture) *View {
	v := &View{image: &canvas.Image{FillMode: canvas.ImageFillStretch, ScaleMode: canvas.ImageScaleFastest}}
	v.keys = []*Tap{
		NewGlyphTap("plus", "", func() { v.zoom(1.5, 0.5, 0.5) }),
		NewGlyphTap("minus", "", func() { v.zoom(1/1.5, 0.5, 0.5) }),
		NewGlyphTap("whole", "", func() { v.All() }),
	}
	v.print = NewGlyphTap("print", "", func() {
		if v.Print != nil {
			v.Print()
		}
	})
	v.ExtendBaseWidget(v)
	v.Set(p)
	return v
}

// Set changes the picture. The part in view stays if it was chosen and still
// makes sense.
func (v *View) Set(p *chart.Picture) {
	keep := v.pic != nil && p != nil && !v.whole && v.pic.Axes == p.Axes && !v.pic.Empty() && !p.Empty()
	v.pic = p
	if p != nil {
		if keep {
			v.frame = p.Pan(v.frame, 0, 0)
		} else {
			v.frame, v.whole = p.Whole(), true
			v.first = v.Least > 0
		}
	}
	v.draw()
}

// Centre brings a place of a drawing to the middle of the view, as far as the drawing
// reaches; one that has no size yet does it when it has.
func (v *View) Centre(at chart.Pt) {
	v.aim = &at
	v.draw()
}

// settle fits a drawing as first shown, and brings to the middle what is to be there.
func (v *View) settle() {
	if v.pic.Empty() || v.pic.Axes || v.Least <= 0 {
		return
	}
	w, h := float64(v.Size().Width), float64(v.Size().Height)
	if v.first {
		all := v.pic.Whole()
		v.frame = v.pic.Scale(chart.Frame{X1: w, Y1: h}, math.Max(v.Least, w/(all.X1-all.X0)), 0, 0, w, h)
		v.whole = v.frame == all
	}
	if at := v.aim; at != nil {
		v.aim = nil
		v.frame = v.pic.Move(v.frame, at.X-(v.frame.X0+v.frame.X1)/2, at.Y-(v.frame.Y0+v.frame.Y1)/2)
		v.first = false
	}
}

// Picture is what it shows.
func (v *View) Picture() *chart.Picture { return v.pic }

// Frame is the part in view.
func (v *View) Frame() chart.Frame { return v.frame }

// Unit is how many pixels one unit of a drawing takes now.
func (v *View) Unit() float64 {
	return v.frame.Unit(float64(v.Size().Width), float64(v.Size().Height))
}

// All shows the whole picture.
func (v *View) All() {
	if v.pic != nil {
		v.frame, v.whole, v.first = v.pic.Whole(), true, false
		v.draw()
	}
}

func (v *View) zoom(f, fx, fy float64) {
	if v.pic.Empty() || v.Still {
		return
	}
	if w, h := float64(v.Size().Width), float64(v.Size().Height); v.Least > 0 && !v.pic.Axes {
		v.frame = v.pic.Scale(v.frame, f*v.Unit(), fx, fy, w, h)
		v.first = false
	} else {
		v.frame = v.pic.Zoom(v.frame, f, fx, fy)
	}
	v.whole = v.frame == v.pic.Whole()
	v.draw()
}

func (v *View) style(w, h int, scale float32) chart.Style {
	s := chart.Style{W: w, H: h, Scale: float64(scale), Palette: theme.Now()}
	if !v.Still {
		s.Keys = float64(v.keysWide())
	}
	return s
}

// keysWide is how much of the width the keys lie over.
func (v *View) keysWide() float32 {
	n := len(v.keys)
	if v.Print != nil {
		n++
	}
	return float32(n)*(theme.Touch+4) + 2
}

// Named tells how far the name of a chart's y axis reaches to the right and up from the
// plot, and where the keys begin; for a chart without keys or name all are 0.
func (v *View) Named() (right, high, keys float32) {
	if v.pic.Empty() || v.Still || !v.pic.Axes || v.pic.Y.Label == "" {
		return 0, 0, 0
	}
	w, h := v.pic.NameRoom(v.style(int(v.Size().Width), int(v.Size().Height), 1))
	return float32(w), float32(h), v.Size().Width - v.keysWide()
}

func (v *View) scale() float32 {
	if c := fyne.CurrentApp().Driver().CanvasForObject(v); c != nil && c.Scale() > 0 {
		return c.Scale()
	}
	return 1
}

func (v *View) draw() {
	size := v.Size()
	if v.pic == nil || size.Width < 8 || size.Height < 8 {
		return
	}
	v.settle()
	scale := v.scale()
	w, h := int(size.Width*scale+0.5), int(size.Height*scale+0.5)
	now := drawnAt{v.pic, v.frame, w, h, theme.Now().Dark}
	if now == v.drawn {
		return
	}
	v.drawn = now
	p, f, s := v.pic, v.frame, v.style(w, h, scale)
	v.Work.Ask(func() func() {
		var img image.Image = chart.Render(p, f, s)
		return func() {
			v.image.Image = img
			v.image.Refresh()
		}
	})
}

// fractions turns a place on the widget into fractions of the plot, from the
// left and from the bottom (chart) or the top (drawing).
func (v *View) fractions(at fyne.Position) (fx, fy float64) {
	s := v.style(int(v.Size().Width), int(v.Size().Height), 1)
	x, y, w, h := v.pic.Plot(s)
	fx, fy = (float64(at.X)-x)/w, (float64(at.Y)-y)/h
	if v.pic.Axes {
		fy = 1 - fy
	}
	return min(max(fx, 0), 1), min(max(fy, 0), 1)
}

// page is what moves in the picture's place, nil when the picture does.
func (v *View) page() *Scroller {
	if v.Page == nil || !v.whole && !v.Still && !v.pic.Empty() {
		return nil
	}
	return v.Page()
}

// Scrolled implements fyne.Scrollable: the wheel enlarges about the pointer.
func (v *View) Scrolled(e *fyne.ScrollEvent) {
	if p := v.page(); p != nil {
		p.scroll.Scrolled(e)
		return
	}
	if v.pic.Empty() {
		return
	}
	if v.Least > 0 && !v.pic.Axes { // the wheel moves a drawing, its keys enlarge it
		v.slide(&fyne.DragEvent{Dragged: e.Scrolled})
		return
	}
	fx, fy := v.fractions(e.Position)
	f := 1.15
	if e.Scrolled.DY < 0 {
		f = 1 / f
	}
	v.zoom(f, fx, fy)
}

// Dragged implements fyne.Draggable.
func (v *View) Dragged(e *fyne.DragEvent) {
	if p := v.page(); p != nil {
		p.sheet.Dragged(e)
		return
	}
	if v.pic.Empty() {
		return
	}
	if v.Least > 0 && !v.pic.Axes {
		v.slide(e)
		return
	}
	s := v.style(int(v.Size().Width), int(v.Size().Height), 1)
	_, _, w, h := v.pic.Plot(s)
	dy := float64(e.Dragged.DY) / h
	if !v.pic.Axes {
		dy = -dy
	}
	v.frame = v.pic.Pan(v.frame, -float64(e.Dragged.DX)/w, dy)
	v.draw()
}

// slide moves a drawing; at its upper and lower end the finger moves the page.
func (v *View) slide(e *fyne.DragEvent) {
	u := v.Unit()
	was := v.frame
	v.frame = v.pic.Move(v.frame, -float64(e.Dragged.DX)/u, -float64(e.Dragged.DY)/u)
	v.first = false
	if v.Page != nil && v.frame.Y0 == was.Y0 && e.Dragged.DY != 0 {
		if p := v.Page(); p != nil {
			p.sheet.Dragged(e)
		}
	}
	v.draw()
}

// DragEnd implements fyne.Draggable.
func (v *View) DragEnd() {}

// Tapped implements fyne.Tappable.
func (v *View) Tapped(e *fyne.PointEvent) {
	if v.OnTap != nil && !v.pic.Empty() && !v.pic.Axes {
		v.OnTap(v.frame.At(float64(e.Position.X), float64(e.Position.Y), float64(v.Size().Width), float64(v.Size().Height)))
	}
}

// DoubleTapped implements fyne.DoubleTappable.
func (v *View) DoubleTapped(*fyne.PointEvent) { v.All() }

// HeightFor implements Tall.
func (v *View) HeightFor(w float32) float32 {
	if v.High != nil {
		return fyne.Max(v.High(), 290)
	}
	r := v.Ratio
	if r == 0 {
		r = 0.6
	}
	if v.Still {
		return fyne.Max(w*r, 170)
	}
	return fyne.Max(w*r, 290)
}

// CreateRenderer implements fyne.Widget.
func (v *View) CreateRenderer() fyne.WidgetRenderer {
	return &viewRenderer{v}
}

type viewRenderer struct{ v *View }

func (r *viewRenderer) Layout(size fyne.Size) {
	r.v.image.Resize(size)
	put(r.v.print, size.Width-4*(theme.Touch+4)-2, 4, theme.Touch, theme.Touch)
	for i, k := range r.v.keys {
		put(k, size.Width-float32(3-i)*(theme.Touch+4)-2, 4, theme.Touch, theme.Touch)
	}
	r.v.draw()
}
func (r *viewRenderer) MinSize() fyne.Size { return fyne.NewSize(240, 180) }
func (r *viewRenderer) Refresh() {
	r.v.draw()
	for _, k := range append(r.v.keys, r.v.print) {
		k.Refresh()
	}
	canvas.Refresh(r.v)
}
func (r *viewRenderer) Objects() []fyne.CanvasObject {
	os := []fyne.CanvasObject{r.v.image}
	if !r.v.pic.Empty() && !r.v.Still {
		for _, k := range r.v.keys {
			os = append(os, k)
		}
		if r.v.Print != nil {
			os = append(os, r.v.print)
		}
	}
	return os
}
func (r *viewRenderer) Destroy() {}
