package app

import (
	"math"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/owner"
	"retrostage/reports/record"
)

// glass is a window that is touched: pressed, dragged and released at places, as the
// desktop's toolkit turns a finger into a mouse. No wheel, no keyboard, and nothing is
// reached that is not to be seen where it is pressed.
type glass struct {
	t       *testing.T
	w       fyne.Window
	presses int
	drags   int
}

// spot is what lies at a place, and where in it the place is.
type spot struct {
	o  fyne.CanvasObject
	at fyne.Position
}

// under lists what is drawn at a place, what lies on top last.
func (g *glass) under(at fyne.Position) (out []spot) {
	var down func(o fyne.CanvasObject, off fyne.Position)
	down = func(o fyne.CanvasObject, off fyne.Position) {
		if !o.Visible() {
			return
		}
		p, s := off.Add(o.Position()), o.Size()
		inside := at.X >= p.X && at.Y >= p.Y && at.X < p.X+s.Width && at.Y < p.Y+s.Height
		if _, clips := o.(*container.Scroll); clips && !inside {
			return
		}
		if inside {
			out = append(out, spot{o, at.Subtract(p)})
		}
		switch o := o.(type) {
		case *fyne.Container:
			for _, c := range o.Objects {
				down(c, p)
			}
		case fyne.Widget:
			for _, c := range test.WidgetRenderer(o).Objects() {
				down(c, p)
			}
		}
	}
	root := g.w.Canvas().Content()
	if top := g.w.Canvas().Overlays().Top(); top != nil {
		root = top
	}
	down(root, fyne.Position{})
	return out
}

// top is the topmost thing at a place that one of the toolkit's kinds takes.
func (g *glass) top(at fyne.Position, takes func(fyne.CanvasObject) bool) (spot, bool) {
	for _, s := range slices.Backward(g.under(at)) {
		if takes(s.o) {
			return s, true
		}
	}
	return spot{}, false
}

// pressed tells what takes a press, as the desktop's toolkit has it.
func pressed(o fyne.CanvasObject) bool {
	switch o.(type) {
	case fyne.Tappable, fyne.SecondaryTappable, fyne.DoubleTappable, fyne.Focusable, desktop.Mouseable:
		return true
	}
	return false
}

// press is a finger that comes down and goes up at one place.
func (g *glass) press(at fyne.Position) {
	g.t.Helper()
	g.presses++
	if s := g.w.Canvas().Size(); at.X < 0 || at.Y < 0 || at.X >= s.Width || at.Y >= s.Height {
		g.t.Fatalf("%v is beside the window", at)
	}
	s, ok := g.top(at, pressed)
	if !ok {
		g.w.Canvas().Unfocus()
		return
	}
	e := &desktop.MouseEvent{Button: desktop.MouseButtonPrimary, PointEvent: fyne.PointEvent{Position: s.at, AbsolutePosition: at}}
	if m, ok := s.o.(desktop.Mouseable); ok {
		m.MouseDown(e)
	}
	if f, ok := s.o.(fyne.Focusable); !ok || f != g.w.Canvas().Focused() {
		// Within something that may have the focus, it stays where it is.
		if _, keeps := g.top(at, func(o fyne.CanvasObject) bool { _, ok := o.(fyne.Focusable); return ok }); !keeps {
			g.w.Canvas().Unfocus()
		}
	}
	if m, ok := s.o.(desktop.Mouseable); ok {
		m.MouseUp(e)
	}
	if t, ok := s.o.(fyne.Tappable); ok {
		t.Tapped(&e.PointEvent)
	}
}

// drag is a finger that comes down, moves and goes up.
func (g *glass) drag(at fyne.Position, dy float32) {
	g.drags++
	s, ok := g.top(at, func(o fyne.CanvasObject) bool { _, ok := o.(fyne.Draggable); return ok })
	if !ok {
		return
	}
	d := s.o.(fyne.Draggable)
	for range 4 { // as a finger does, in pieces
		d.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: s.at, AbsolutePosition: at}, Dragged: fyne.NewDelta(0, dy/4)})
	}
	d.DragEnd()
}

// where is the middle of an object on the window, by what is drawn.
func (g *glass) where(want fyne.CanvasObject) (at fyne.Position, page *widget.Scroller, pageAt fyne.Position, ok bool) {
	var down func(o fyne.CanvasObject, off fyne.Position, in *widget.Scroller, inAt fyne.Position)
	down = func(o fyne.CanvasObject, off fyne.Position, in *widget.Scroller, inAt fyne.Position) {
		if ok || !o.Visible() {
			return
		}
		p := off.Add(o.Position())
		if o == want {
			s := o.Size()
			at, page, pageAt, ok = p.AddXY(s.Width/2, s.Height/2), in, inAt, true
			return
		}
		if s, is := o.(*widget.Scroller); is {
			in, inAt = s, p
		}
		switch o := o.(type) {
		case *fyne.Container:
			for _, c := range o.Objects {
				down(c, p, in, inAt)
			}
		case fyne.Widget:
			for _, c := range test.WidgetRenderer(o).Objects() {
				down(c, p, in, inAt)
			}
		}
	}
	root := g.w.Canvas().Content()
	if top := g.w.Canvas().Overlays().Top(); top != nil {
		root = top
	}
	down(root, fyne.Position{}, nil, fyne.Position{})
	return at, page, pageAt, ok
}

// clear tells that a press at a place meets an object or what it is made of.
func (g *glass) clear(o fyne.CanvasObject, at fyne.Position) bool {
	for _, s := range g.under(at) {
		if s.o == o {
			hit, _ := g.top(at, pressed)
			return hit.o == o || within(o, hit.o)
		}
	}
	return false
}

func within(in, o fyne.CanvasObject) (found bool) {
	walk(in, func(x fyne.CanvasObject) { found = found || x == o })
	return found
}

// touch drags the page until the object is to be seen and presses its middle.
func (g *glass) touch(o fyne.CanvasObject) {
	g.t.Helper()
	g.touchIn(o, o)
}

// touchIn presses the middle of o, met where what lies on top belongs to in.
func (g *glass) touchIn(o, in fyne.CanvasObject) {
	g.t.Helper()
	for try := range 40 {
		at, page, pageAt, ok := g.where(o)
		if !ok {
			g.t.Fatalf("%T %v is not on the window", o, textOf(o))
		}
		size := g.w.Canvas().Size()
		if at.X >= 0 && at.Y >= 0 && at.X < size.Width && at.Y < size.Height && g.clear(in, at) {
			g.press(at)
			return
		}
		if page == nil {
			g.t.Fatalf("%T at %v cannot be pressed and stands on no page", o, at)
		}
		// Dragged at the page's edge, or over whatever lies there.
		z := page.Size()
		aim := pageAt.Y + z.Height*0.2 + float32(try%5)*z.Height*0.1
		dy := aim - at.Y
		if m := z.Height * 0.8; dy > m || dy < -m {
			dy = float32(math.Copysign(float64(m), float64(dy)))
		}
		finger := pageAt.AddXY(z.Width*0.5, z.Height*0.5)
		if try%2 == 1 {
			finger = pageAt.AddXY(8, z.Height*0.3)
		}
		was, _, _, _ := g.where(o)
		g.drag(finger, dy)
		if is, _, _, _ := g.where(o); is == was && try > 8 {
			break
		}
	}
	at, _, _, _ := g.where(o)
	var names []string
	for _, s := range g.under(at) {
		names = append(names, typeName(s.o))
	}
	g.t.Fatalf("%T at %v cannot be brought to where it can be pressed; there lies %s", o, at, strings.Join(names, " > "))
}

// TestDragScrollsOverEverything: on each page of the demo job, a finger put down on every
// kind of thing that a page has moves the page.
func TestDragScrollsOverEverything(t *testing.T) {
	b, w := bench(t, filled(t))
	g := &glass{t: t, w: w}
	tried := map[string]int{}
	for i := range record.Steps {
		b.Go(i)
		for _, page := range []*widget.Scroller{b.pane().Side, b.pane().Middle} {
			if page == nil {
				continue
			}
			at, _, _, ok := g.where(page)
			if !ok {
				t.Fatal("no page")
			}
			pageAt := at.SubtractXY(page.Size().Width/2, page.Size().Height/2)
			for y := float32(20); y < page.Size().Height-20; y += 37 {
				page.Top()
				finger := pageAt.AddXY(page.Size().Width*0.45, y)
				s, ok := g.top(finger, func(o fyne.CanvasObject) bool { _, ok := o.(fyne.Tappable); return ok })
				kind := "the page"
				if ok {
					kind = typeName(s.o)
				}
				g.drag(finger, -120)
				moved := page.Offset()
				g.drag(finger, 120) // at the end of a short page nothing moves either way
				g.drag(pageAt.AddXY(3, 5), -120)
				could := page.Offset() > 0
				if could && moved == 0 {
					t.Errorf("%s: a finger on %s at %v does not move the page", b.step().Step, kind, finger)
				}
				if could {
					tried[kind]++
				}
			}
		}
	}
	t.Logf("tried on %v", tried)
	for _, k := range []string{"*widget.Row", "*widget.veil", "*widget.Tap", "*widget.View"} {
		if tried[k] == 0 {
			t.Errorf("no finger came down on %s", k)
		}
	}
}

// firstStart answers what is asked before the first job.
func (h *hand) firstStart() {
	h.t.Helper()
	pref := fyne.CurrentApp().Preferences()
	for _, k := range []string{"own", "person"} {
		pref.RemoveValue(k)
	}
	export := h.b.export
	h.b.none = true
	closed := make(chan struct{})
	close(closed)
	h.b.furnish(h.w, pref, false, Opts{}, closed)
	h.b.export = export
	top := h.w.Canvas().Overlays().Top()
	if top == nil {
		h.t.Fatal("nothing is asked at the first start")
	}
	keys := visible[*widget.Letters](top)[0]
	for _, k := range []string{"ABC", "T", "-", "3", "1", "Next", "o", "f", "f", "i", "c", "e"} {
		h.touch(keys.Key(k))
	}
	h.touch(tap(top, "for numbers and words"))
	h.touch(tap(top, "Begin with a job"))
	if call, err := owner.Calls(h.b.settingsDir()); h.b.person != "T-31" || call != "office" || err != nil || !h.b.own.Letters {
		h.t.Fatalf("the first start: %q, %q, %v, %+v", h.b.person, call, err, h.b.own)
	}
}

func textOf(o fyne.CanvasObject) string {
	if k, ok := o.(*widget.Tap); ok && k != nil {
		return k.Text + k.Glyph
	}
	return ""
}
