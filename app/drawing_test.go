package app

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/record"
)

// drawingView is the view of the wiring drawing, on show.
func drawingView(t *testing.T, b *Bench) *widget.View {
	t.Helper()
	turnTo(t, b, "Drawing")
	for _, v := range visible[*widget.View](body(t, b, "wiring plan")) {
		return v
	}
	t.Fatal("no drawing")
	return nil
}

// As first shown a drawing fills the width, or has letters of 12 pixels and is moved
// sideways, at every size and for the demo's unit, old and new. With RETROSTAGE_LOOK
// set to a folder, pictures of it are written there.
func TestDrawingIsLegible(t *testing.T) {
	for _, dark := range []bool{false, true} {
		for _, size := range sizes {
			j, err := record.Demo()
			if err != nil {
				t.Fatal(err)
			}
			j.Step = record.Wiring
			b, w := bench(t, j)
			b.SetDark(dark)
			w.Resize(size)
			v := drawingView(t, b)
			for _, words := range []string{"Before: what goes", "After: what is new or moved"} {
				test.Tap(tap(body(t, b, "wiring plan"), words))
				p := v.Picture()
				smallest := 99.0
				for _, it := range p.Items {
					if x, ok := it.(chart.Text); ok {
						smallest = min(smallest, x.Size)
					}
				}
				if px := smallest * v.Unit(); px < 12 {
					t.Errorf("%v, %s: letters of %.1f pixels", size, words, px)
				}
				f := v.Frame()
				if wide := (f.X1 - f.X0) * v.Unit(); wide < 0.98*float64(v.Size().Width) {
					t.Errorf("%v, %s: %.0f of %.0f pixels across are used", size, words, wide, v.Size().Width)
				}
				if f.X0 != 0 || f.Y0 != 0 {
					t.Errorf("%v, %s: begins at %v", size, words, f)
				}
				if p.Y.Max <= f.Y1 {
					t.Errorf("%v: the whole height is in view, nothing tried", size)
				}
				if dir := os.Getenv("RETROSTAGE_LOOK"); dir != "" {
					name := fmt.Sprintf("drawing-%.0fx%.0f-%v-%c.png", size.Width, size.Height, dark, words[0])
					if err := writePNG(filepath.Join(dir, name), w.Canvas().Capture()); err != nil {
						t.Error(err)
					}
				}
			}
			fyne.CurrentApp().Settings().SetTheme(theme.Theme{Palette: theme.Light})
		}
	}
}

// word is where a word of a drawing lies on its view.
func word(t *testing.T, v *widget.View, text string) fyne.Position {
	t.Helper()
	for _, it := range v.Picture().Items {
		if x, ok := it.(chart.Text); ok && x.Text == text {
			f, u := v.Frame(), v.Unit()
			at := chart.Pt{X: x.At.X + 8*(0.5-x.AX), Y: x.At.Y - 4}
			w, h := float64(v.Size().Width), float64(v.Size().Height)
			return fyne.NewPos(float32((at.X-f.X0)*u+(w-(f.X1-f.X0)*u)/2), float32((at.Y-f.Y0)*u+(h-(f.Y1-f.Y0)*u)/2))
		}
	}
	t.Fatalf("the drawing has no %s", text)
	return fyne.Position{}
}

// A touched conductor is told and broad at both ends; keys enlarge about the middle, old
// and new change places with it in view, and where the drawing ends a finger moves the page.
func TestDrawingFollowed(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	j.Step = record.Wiring
	b, _ := bench(t, j)
	v := drawingView(t, b)
	broad := func() (n int) {
		for _, it := range v.Picture().Items {
			if l, ok := it.(chart.Line); ok && l.Width == 5 {
				n++
			}
		}
		return n
	}
	said := func() string { return shownWords(body(t, b, "wiring plan")) }
	if broad() != 0 {
		t.Error("something is followed before anything was touched")
	}
	v.Tapped(&fyne.PointEvent{Position: word(t, v, "w03")})
	if !strings.Contains(said(), "w03 ") || !strings.Contains(said(), "Planned: ") {
		t.Errorf("w03 was touched, said is: %s", said())
	}
	if n := broad(); n != 2 {
		t.Errorf("%d broad strokes, not one at each end", n)
	}
	v.Tapped(&fyne.PointEvent{Position: fyne.NewPos(5, v.Size().Height-5)})
	if broad() != 0 {
		t.Error("nothing was touched, and something is followed")
	}

	// Old and new: the conductor stays in view though its rung lies elsewhere.
	v.Tapped(&fyne.PointEvent{Position: word(t, v, "w03")})
	f := v.Frame()
	v.Dragged(&fyne.DragEvent{Dragged: fyne.NewDelta(0, -700)})
	if v.Frame().Y0 <= f.Y0 {
		t.Error("a finger does not move the drawing")
	}
	test.Tap(tap(body(t, b, "wiring plan"), "After: what is new or moved"))
	if at := word(t, v, "w03"); at.Y < 0 || at.Y > v.Size().Height || at.X < 0 || at.X > v.Size().Width {
		t.Errorf("the followed conductor is at %v, out of view", at)
	}

	// The keys keep what is in the middle.
	middle := func() chart.Pt {
		s := v.Size()
		return v.Frame().At(float64(s.Width)/2, float64(s.Height)/2, float64(s.Width), float64(s.Height))
	}
	v.Dragged(&fyne.DragEvent{Dragged: fyne.NewDelta(0, -500)})
	was, unit := middle(), v.Unit()
	for _, k := range visible[*widget.Tap](v) {
		if k.Glyph == "plus" {
			test.Tap(k)
		}
	}
	if v.Unit() < 1.4*unit {
		t.Error("the key does not enlarge")
	}
	if now := middle(); math.Hypot(now.X-was.X, now.Y-was.Y) > 2 {
		t.Errorf("the middle went from %v to %v", was, now)
	}

	// At its lower end the page goes on.
	for range 40 {
		v.Dragged(&fyne.DragEvent{Dragged: fyne.NewDelta(0, -400)})
	}
	if end := v.Frame(); math.Abs(end.Y1-v.Picture().Y.Max) > 1 {
		t.Errorf("the drawing ends at %g, not %g", end.Y1, v.Picture().Y.Max)
	}
	top := b.pane().Middle.Offset()
	b.pane().Middle.Top()
	v.Dragged(&fyne.DragEvent{Dragged: fyne.NewDelta(0, -60)})
	if b.pane().Middle.Offset() == 0 {
		t.Errorf("the page does not move below the drawing's end (it stood at %g)", top)
	}

	// From the work list to the drawing.
	turnTo(t, b, "Work list")
	for _, c := range visible[*widget.Card](body(t, b, "wiring plan")) {
		if c.Do != nil {
			c.Do()
			break
		}
	}
	if strings.Contains(said(), "Touch a conductor") || !strings.Contains(said(), "Planned: ") {
		t.Errorf("the work list does not lead to its part: %s", said())
	}
}

// A picture is written for paper, a drawing on as many pages as it needs.
func TestPrint(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	j.Step = record.Wiring
	b, _ := bench(t, j)
	v := drawingView(t, b)
	for _, k := range visible[*widget.Tap](v) {
		if k.Glyph == "print" {
			test.Tap(k)
		}
	}
	found, _ := filepath.Glob(filepath.Join(b.keep.dir, "*-wiring-before.pdf"))
	if len(found) != 1 {
		t.Fatalf("written: %v; the bar says %q", found, b.notice+b.note)
	}
	pdf, err := os.ReadFile(found[0])
	if err != nil || !bytes.HasPrefix(pdf, []byte("%PDF")) || bytes.Count(pdf, []byte("/Type /Page\n")) < 3 {
		t.Errorf("%d bytes, %d pages, %v", len(pdf), bytes.Count(pdf, []byte("/Type /Page\n")), err)
	}
	if !strings.Contains(b.notice, found[0]) {
		t.Errorf("the bar does not say where: %q", b.notice)
	}
}
