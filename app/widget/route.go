package widget

import (
	"image/color"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/words"
)

const routePx = theme.Text - 0.5

// Stage is one step of the route.
type Stage struct {
	Title string
	State State
	Why   string // what holds it, what is missing, what is outside
}

// Route is the job's steps in the order of the work, each with the word and the
// shape of its state. A held step says what holds it.
type Route struct {
	widget.BaseWidget
	Stages []Stage
	At     int
	Go     func(i int)
	Room   float32 // the height that it is seen in: reasons give way to it, so that every step is there
	items  []*stage
	most   int // lines of a reason
}

// NewRoute makes a route.
func NewRoute(goTo func(int)) *Route {
	r := &Route{Go: goTo, most: mostReason}
	r.ExtendBaseWidget(r)
	return r
}

// Set changes what is shown.
func (r *Route) Set(stages []Stage, at int) {
	r.Stages, r.At = stages, at
	for len(r.items) < len(stages) {
		s := &stage{route: r, i: len(r.items)}
		s.ExtendBaseWidget(s)
		r.items = append(r.items, s)
	}
	r.items = r.items[:len(stages)]
	r.Refresh()
}

// mostReason is how many lines a reason may have where there is room.
const mostReason = 3

// fit finds how many lines of the reasons leave every step in sight.
func (r *Route) fit(w float32) {
	for r.most = mostReason; r.most > 0 && r.Room > 0; r.most-- {
		var h float32
		for _, s := range r.items {
			h += s.HeightFor(w)
		}
		if h <= r.Room {
			return
		}
	}
}

// HeightFor implements Tall.
func (r *Route) HeightFor(w float32) float32 {
	r.fit(w)
	var h float32
	for _, s := range r.items {
		h += s.HeightFor(w)
	}
	return h
}

// CreateRenderer implements fyne.Widget.
func (r *Route) CreateRenderer() fyne.WidgetRenderer { return &routeRenderer{r} }

type routeRenderer struct{ r *Route }

func (rr *routeRenderer) Layout(size fyne.Size) {
	y := float32(0)
	// Spare height is shared out, so that the route stands still when a reason
	// comes or goes.
	spare := fyne.Max(0, size.Height-rr.r.HeightFor(size.Width)) / fyne.Max(1, float32(len(rr.r.items)))
	spare = fyne.Min(spare, 14)
	for _, s := range rr.r.items {
		h := s.HeightFor(size.Width) + spare
		put(s, 0, y, size.Width, h)
		y += h
	}
}
func (rr *routeRenderer) MinSize() fyne.Size {
	return fyne.NewSize(150, rr.r.HeightFor(fyne.Max(150, rr.r.Size().Width)))
}
func (rr *routeRenderer) Refresh() {
	rr.Layout(rr.r.Size())
	for _, s := range rr.r.items {
		s.Refresh()
	}
	canvas.Refresh(rr.r)
}
func (rr *routeRenderer) Objects() []fyne.CanvasObject {
	os := make([]fyne.CanvasObject, len(rr.r.items))
	for i, s := range rr.r.items {
		os[i] = s
	}
	return os
}
func (rr *routeRenderer) Destroy() {}

type stage struct {
	widget.BaseWidget
	route *Route
	i     int
	hover bool
}

func (s *stage) Tapped(*fyne.PointEvent) {
	if s.route.Go != nil {
		s.route.Go(s.i)
	}
}
func (s *stage) MouseIn(*desktop.MouseEvent)    { s.hover = true; s.Refresh() }
func (s *stage) MouseMoved(*desktop.MouseEvent) {}
func (s *stage) MouseOut()                      { s.hover = false; s.Refresh() }

// why is the reason shown under the title: for a held step always, for others
// only when it is short enough not to crowd the route.
func (s *stage) why() string {
	st := s.route.Stages[s.i]
	if s.route.most == 0 {
		return ""
	}
	if st.State == Held || st.State == Done || st.State == DoneReserved {
		return st.Why
	}
	return ""
}

func (s *stage) HeightFor(w float32) float32 {
	h := theme.Touch
	if t := s.why(); t != "" {
		h += float32(len(wrap(t, w-44, theme.Small, fyne.TextStyle{}, s.route.most)))*lineHeight(theme.Small) - 2
	}
	return h
}

func (s *stage) CreateRenderer() fyne.WidgetRenderer {
	r := &stageRenderer{s: s, ground: rect(), mark: rect(), glyph: newGlyph(),
		title: canvas.NewText("", color.Black), word: canvas.NewText("", color.Black), why: NewWords("", theme.Small, false, theme.Muted)}
	r.Refresh()
	return r
}

type stageRenderer struct {
	s            *stage
	ground, mark *canvas.Rectangle
	glyph        *canvas.Image
	title, word  *canvas.Text
	why          *Words
}

func (r *stageRenderer) Layout(size fyne.Size) {
	if r.s.i >= len(r.s.route.Stages) {
		return
	}
	w := size.Width
	h := r.s.HeightFor(w)
	r.ground.Resize(size)
	st, here := r.s.route.Stages[r.s.i], r.s.i == r.s.route.At
	title, space := "", w-55-r.word.MinSize().Width // ten between title and word
	for _, t := range []string{strconv.Itoa(r.s.i+1) + "  " + words.Say(st.Title), strconv.Itoa(r.s.i+1) + " " + words.Say(st.Title)} {
		if title = t; measureSaid(t, routePx, fyne.TextStyle{Bold: here}) <= space {
			break
		}
	}
	writeSaid(r.title, Fit(words.Own(title), space, routePx, here), routePx, here, theme.Ink, fyne.TextAlignLeading)
	put(r.mark, 0, 0, 5, size.Height)
	top := (size.Height - h) / 2
	put(r.glyph, 11, top+14, 19, 19)
	ww := r.word.MinSize().Width
	put(r.title, 37, top+13, w-45-ww, 22)
	put(r.word, w-ww-8, top+15, ww, 19)
	put(r.why, 37, top+37, w-44, fyne.Max(0, h-theme.Touch+2))
}
func (r *stageRenderer) MinSize() fyne.Size { return fyne.NewSize(150, theme.Touch) }
func (r *stageRenderer) Refresh() {
	if r.s.i >= len(r.s.route.Stages) {
		return
	}
	st := r.s.route.Stages[r.s.i]
	here := r.s.i == r.s.route.At
	ground := theme.Panel
	switch {
	case here:
		ground = theme.Chosen
	case r.s.hover:
		ground = theme.Press
	}
	r.ground.FillColor = ground.Colour()
	r.mark.FillColor = theme.Clear.Colour()
	if here {
		r.mark.FillColor = theme.Accent.Colour()
	}
	setGlyph(r.glyph, st.State.Word(), st.State.tone(), ground)
	write(r.word, st.State.short(), theme.Small, false, st.State.tone(), fyne.TextAlignTrailing)
	r.why.Text, r.why.Max = r.s.why(), r.s.route.most
	r.why.Tone = theme.Muted
	if st.State == Held {
		r.why.Tone = theme.Warning
	}
	r.Layout(r.s.Size())
	r.why.Refresh()
	canvas.Refresh(r.s)
}
func (r *stageRenderer) Objects() []fyne.CanvasObject {
	os := []fyne.CanvasObject{r.ground, r.mark, r.glyph, r.title, r.word}
	if r.why.Text != "" {
		os = append(os, r.why)
	}
	return os
}
func (r *stageRenderer) Destroy() {}

// Item is what is touched to go to step i.
func (r *Route) Item(i int) fyne.CanvasObject { return r.items[i] }
