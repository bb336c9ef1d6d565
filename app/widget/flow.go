package widget

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
)

// Tall is anything whose height follows from its width.
type Tall interface{ HeightFor(w float32) float32 }

type tallLayout interface {
	heightFor(objs []fyne.CanvasObject, w float32) float32
}

// HeightAt is the height an object wants at a width.
func HeightAt(o fyne.CanvasObject, w float32) float32 {
	if t, ok := o.(Tall); ok {
		return t.HeightFor(w)
	}
	if c, ok := o.(*fyne.Container); ok {
		if t, ok := c.Layout.(tallLayout); ok {
			return t.heightFor(c.Objects, w)
		}
	}
	return o.MinSize().Height
}

// Columns stacks its objects and, where the width allows, in several columns
// filled in order, evenly by height. An object stays whole. Min is the least
// width of a column; 0 keeps a single column.
type Columns struct {
	Min, Gap, Pad float32
	width         float32
	held          bool
	breaks        map[float32][]fyne.CanvasObject // what begins the further columns, by width
}

// Rebalance shares the objects among the columns anew; otherwise an object stays in
// the column where it was first seen, whatever grows about it.
func Rebalance(c *fyne.Container) { c.Layout.(*Columns).breaks = nil }

// Refill empties a stack and lays out once what fill adds to it: the toolkit
// would place everything anew for each thing added.
func Refill(c *fyne.Container, fill func()) {
	l := c.Layout.(*Columns)
	l.held = true
	c.Objects = nil
	fill()
	l.held = false
	l.Layout(c.Objects, c.Size())
	canvas.Refresh(c)
}

// Extend adds to a stack what fill adds, laid out by whoever lays out the page.
func Extend(c *fyne.Container, fill func()) {
	l := c.Layout.(*Columns)
	l.held = true
	fill()
	l.held = false
}

// NewColumn is a single stack.
func NewColumn(gap, pad float32, objs ...fyne.CanvasObject) *fyne.Container {
	return container.New(&Columns{Gap: gap, Pad: pad}, objs...)
}

// NewColumns is a stack that breaks into columns of at least min.
func NewColumns(min, gap, pad float32, objs ...fyne.CanvasObject) *fyne.Container {
	return container.New(&Columns{Min: min, Gap: gap, Pad: pad}, objs...)
}

// Heading is a Words that stays with what follows it.
type Heading struct{ Words }

// NewHeading makes the heading of a group.
func NewHeading(text string) *Heading {
	h := &Heading{Words{Text: text, Px: theme.Small + 0.5, Bold: true, Tone: theme.Accent}}
	h.ExtendBaseWidget(h)
	return h
}

// HeightFor implements Tall: a little room above sets the group apart.
func (h *Heading) HeightFor(w float32) float32 { return h.Words.HeightFor(w) + 8 }

// CreateRenderer implements fyne.Widget.
func (h *Heading) CreateRenderer() fyne.WidgetRenderer {
	return &wordsRenderer{w: &h.Words, top: 8}
}

func heads(o fyne.CanvasObject) bool { _, ok := o.(*Heading); return ok }

type placed struct {
	o          fyne.CanvasObject
	x, y, w, h float32
}

func (c *Columns) place(objs []fyne.CanvasObject, w float32) (out []placed, total float32) {
	inner := w - 2*c.Pad
	n := 1
	colGap := c.Gap * 3
	if c.Min > 0 {
		for n < 3 && (inner-float32(n)*colGap)/float32(n+1) >= c.Min {
			n++
		}
	}
	cw := (inner - float32(n-1)*colGap) / float32(n)
	var seen []fyne.CanvasObject
	var hs []float32
	var stay []float32 // height that must fit below: a heading keeps what it heads
	var sum float32
	for _, o := range objs {
		if !o.Visible() {
			continue
		}
		h := HeightAt(o, cw)
		seen, hs, stay = append(seen, o), append(hs, h), append(stay, h)
		if k := len(seen) - 2; k >= 0 && heads(seen[k]) {
			stay[k] += c.Gap + h
		}
		sum += h + c.Gap
	}
	if len(seen) == 0 {
		return nil, 2 * c.Pad
	}
	// The least column height that fits everything in n columns in order.
	fits := func(limit float32) bool {
		col, y := 1, float32(0)
		for i, h := range hs {
			if y > 0 && y+stay[i] > limit {
				col++
				y = 0
			}
			y += h + c.Gap
		}
		return col <= n
	}
	column := c.column(objs, w)
	limit := sum
	if n > 1 && column == nil {
		for limit = sum / float32(n); !fits(limit); limit += 8 {
		}
	}
	col, y := 0, float32(0)
	var starts []fyne.CanvasObject
	for i, o := range seen {
		next := col
		switch {
		case column != nil:
			next = column[o]
		case n > 1 && y > 0 && y+stay[i] > limit && col < n-1:
			next = col + 1
		}
		if next != col {
			col, y = next, 0
			starts = append(starts, o)
		}
		out = append(out, placed{o, c.Pad + float32(col)*(cw+colGap), c.Pad + y, cw, hs[i]})
		y += hs[i] + c.Gap
		if y-c.Gap > total {
			total = y - c.Gap
		}
	}
	if n > 1 && column == nil {
		if c.breaks == nil || len(c.breaks) > 8 {
			c.breaks = map[float32][]fyne.CanvasObject{}
		}
		c.breaks[w] = starts
	}
	return out, total + 2*c.Pad
}

// column is where the objects were shared out to before at this width; nil where
// they were not, or one that began a column is gone.
func (c *Columns) column(objs []fyne.CanvasObject, w float32) map[fyne.CanvasObject]int {
	starts, ok := c.breaks[w]
	if !ok {
		return nil
	}
	out, col := map[fyne.CanvasObject]int{}, 0
	for _, o := range objs {
		if col < len(starts) && o == starts[col] {
			col++
		}
		out[o] = col
	}
	if col < len(starts) {
		return nil
	}
	return out
}

// Layout implements fyne.Layout.
func (c *Columns) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	if c.held {
		return
	}
	c.width = size.Width
	if size.Width == 0 {
		return // not on the window yet
	}
	ps, _ := c.place(objs, size.Width)
	for _, p := range ps {
		was := p.o.Size()
		put(p.o, whole(p.x), whole(p.y), p.w, p.h)
		// Of several columns one can grow and the whole be as tall as before: the toolkit
		// then lays out nothing, and what grew would lie over what is below it.
		if n, ok := p.o.(*fyne.Container); ok && n.Size() == was {
			if l, ok := n.Layout.(*Columns); ok && l.Min > 0 {
				l.Layout(n.Objects, was)
			}
		}
	}
}

// MinSize implements fyne.Layout; the height is that of the last width.
func (c *Columns) MinSize(objs []fyne.CanvasObject) fyne.Size {
	w := c.width
	if w == 0 {
		w = 400
	}
	return fyne.NewSize(0, c.heightFor(objs, w))
}

func (c *Columns) heightFor(objs []fyne.CanvasObject, w float32) float32 {
	_, h := c.place(objs, w)
	return h
}

// Scroller scrolls one Tall thing up and down, by wheel, bar or finger. The
// toolkit's own scroller follows a finger only on phones.
type Scroller struct {
	widget.BaseWidget
	Content fyne.CanvasObject
	Foot    float32 // room left free below the content
	Covered float32 // how much at the lower end lies under something else,
	CoverX  float32 // from here
	CoverW  float32 // as wide as this

	OnScroll func() // wheel, bar or finger moved the content

	scroll *container.Scroll
	sheet  *sheet
	resume float32 // where to scroll to once the content reaches so far
}

// NewScroller makes a scroller about content.
func NewScroller(content fyne.CanvasObject) *Scroller {
	s := &Scroller{Content: content}
	s.sheet = &sheet{content: content}
	s.sheet.ExtendBaseWidget(s.sheet)
	s.scroll = container.NewVScroll(s.sheet)
	s.sheet.scroll = s.scroll
	s.scroll.OnScrolled = func(fyne.Position) {
		noHover()
		if s.OnScroll != nil {
			s.OnScroll()
		}
	}
	s.ExtendBaseWidget(s)
	return s
}

// CreateRenderer implements fyne.Widget.
func (s *Scroller) CreateRenderer() fyne.WidgetRenderer {
	return &scrollerRenderer{s}
}

type scrollerRenderer struct{ s *Scroller }

func (r *scrollerRenderer) Layout(size fyne.Size) {
	r.s.sheet.min = fyne.NewSize(0, HeightAt(r.s.Content, size.Width)+r.s.Foot)
	r.s.scroll.Move(fyne.NewPos(0, 0))
	if r.s.scroll.Size() == size {
		r.s.scroll.Refresh()
	} else {
		r.s.scroll.Resize(size)
	}
	// The toolkit's scroller keeps a sheet no smaller than before; make it exact.
	want := fyne.NewSize(size.Width, fyne.Max(size.Height, r.s.sheet.min.Height))
	if r.s.sheet.Size() != want {
		r.s.sheet.Resize(want)
		r.s.scroll.Refresh()
	}
}
func (r *scrollerRenderer) MinSize() fyne.Size           { return fyne.NewSize(80, 48) }
func (r *scrollerRenderer) Refresh()                     { r.Layout(r.s.Size()) }
func (r *scrollerRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.s.scroll} }
func (r *scrollerRenderer) Destroy()                     {}

// Reflow lays the content out again after something in it changed height.
func (s *Scroller) Reflow() {
	if s.Size().IsZero() {
		return
	}
	w := s.Size().Width
	s.sheet.min = fyne.NewSize(0, HeightAt(s.Content, w)+s.Foot)
	want := fyne.NewSize(w, fyne.Max(s.Size().Height, s.sheet.min.Height))
	if s.sheet.Size() != want {
		s.sheet.Resize(want)
	} else {
		s.sheet.relayout()
	}
	s.sheet.still = true // the bars follow; what was laid out is painted as it is
	s.scroll.Refresh()
	s.sheet.still = false
	s.goOn()
	canvas.Refresh(s.sheet)
}

// Wheel moves the page as the wheel over it does.
func (s *Scroller) Wheel(e *fyne.ScrollEvent) { s.scroll.Scrolled(e) }

// Offset is how far the content is scrolled.
func (s *Scroller) Offset() float32 { return s.scroll.Offset.Y }

// Resume scrolls to where an earlier scroller of like content stood, as soon as the
// content, which may still be filled in, reaches so far.
func (s *Scroller) Resume(y float32) {
	s.resume = y
	s.goOn()
}

func (s *Scroller) goOn() {
	if s.resume > 0 && s.sheet.Size().Height >= s.resume+s.Size().Height {
		s.scroll.ScrollToOffset(fyne.NewPos(0, s.resume))
		s.resume = 0
	}
}

// ReflowAbout lays the content out again and keeps an object where the eye and the
// finger have it.
func (s *Scroller) ReflowAbout(o fyne.CanvasObject) {
	_, before, ok := within(s.Content, o)
	s.Reflow()
	if _, after, still := within(s.Content, o); ok && still && after != before {
		s.scroll.ScrollToOffset(fyne.NewPos(0, fyne.Max(0, s.scroll.Offset.Y+after-before)))
	}
}

// Top scrolls to the start.
func (s *Scroller) Top() { s.scroll.ScrollToTop() }

// Lead scrolls so that the object is the first thing seen.
func (s *Scroller) Lead(o fyne.CanvasObject) {
	s.scroll.ScrollToOffset(fyne.NewPos(0, fyne.Max(0, s.depth(o)-6)))
}

// depth is how far below the start of the sheet an object lies. The driver knows
// that only of what it has painted once.
func (s *Scroller) depth(o fyne.CanvasObject) float32 {
	if _, y, ok := within(s.Content, o); ok {
		return y
	}
	d := fyne.CurrentApp().Driver()
	return d.AbsolutePositionForObject(o).Y - d.AbsolutePositionForObject(s.sheet).Y
}

func within(in, o fyne.CanvasObject) (x, y float32, ok bool) {
	if in == o {
		return 0, 0, true
	}
	c, ok := in.(*fyne.Container)
	if !ok {
		return 0, 0, false
	}
	for _, q := range c.Objects {
		if x, y, ok := within(q, o); ok {
			return x + q.Position().X, y + q.Position().Y, true
		}
	}
	return 0, 0, false
}

// RevealPart scrolls as little as needed for a part of an object to be seen, from y
// below its upper end.
func (s *Scroller) RevealPart(o fyne.CanvasObject, y, part float32) {
	y += s.depth(o)
	top, h := s.scroll.Offset.Y, s.Size().Height-s.over(o)
	switch {
	case y < top+8:
		s.scroll.ScrollToOffset(fyne.NewPos(0, fyne.Max(0, y-8)))
	case y+part > top+h-8:
		s.scroll.ScrollToOffset(fyne.NewPos(0, y+part-h+8))
	}
}

// InView tells whether the whole of an object is seen without scrolling.
func (s *Scroller) InView(o fyne.CanvasObject) bool {
	y, top := s.depth(o), s.scroll.Offset.Y
	return y >= top && y+o.Size().Height <= top+s.Size().Height-s.over(o)
}

// Shows tells whether the middle of an object is seen.
func (s *Scroller) Shows(o fyne.CanvasObject) bool {
	y, top := s.depth(o)+o.Size().Height/2, s.scroll.Offset.Y
	return y >= top && y <= top+s.Size().Height-s.over(o)
}

// Reveal scrolls as little as needed for the object to be seen whole.
func (s *Scroller) Reveal(o fyne.CanvasObject) {
	s.RevealPart(o, 0, fyne.Min(o.Size().Height, s.Size().Height-s.over(o)-16))
}

// over is how much at the lower end is out of sight for an object.
func (s *Scroller) over(o fyne.CanvasObject) float32 {
	x, _, ok := within(s.Content, o)
	if ok && (x >= s.CoverX+s.CoverW || x+o.Size().Width <= s.CoverX) {
		return 0
	}
	return s.Covered
}

// sheet is what is scrolled: it takes the drag of a finger.
type sheet struct {
	widget.BaseWidget
	content fyne.CanvasObject
	scroll  *container.Scroll
	min     fyne.Size
	still   bool
}

func (s *sheet) CreateRenderer() fyne.WidgetRenderer { return &sheetRenderer{s} }
func (s *sheet) MinSize() fyne.Size                  { return s.min }
func (s *sheet) Dragged(e *fyne.DragEvent) {
	slid(e.Dragged.DY)
	s.scroll.ScrollToOffset(fyne.NewPos(0, s.scroll.Offset.Y-e.Dragged.DY))
	if f := s.scroll.OnScrolled; f != nil { // the toolkit tells it of the wheel and the bar alone
		f(s.scroll.Offset)
	}
}
func (s *sheet) DragEnd() {}
func (s *sheet) relayout() {
	if c, ok := s.content.(*fyne.Container); ok && c.Layout != nil {
		c.Layout.Layout(c.Objects, s.Size())
	}
}

type sheetRenderer struct{ s *sheet }

func (r *sheetRenderer) Layout(size fyne.Size) {
	r.s.content.Move(fyne.NewPos(0, 0))
	r.s.content.Resize(size)
}
func (r *sheetRenderer) MinSize() fyne.Size { return r.s.min }
func (r *sheetRenderer) Refresh() {
	if !r.s.still {
		r.s.content.Refresh()
	}
}
func (r *sheetRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.s.content} }
func (r *sheetRenderer) Destroy()                     {}
