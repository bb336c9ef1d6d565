package app

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// Help, Jobs, settings and every other sheet that is read keep their way back in sight, however far they are scrolled, and
// Escape takes it, with the cursor in the search too.
func TestTheWayBackStaysInSight(t *testing.T) {
	for _, size := range sizes {
		b, w := bench(t, record.New("j"))
		w.Resize(size)
		for name, open := range map[string]func(){"help": func() { b.Help("glossary") }, "jobs": b.chooseJob, "queue": b.openQueue,
			"settings": func() { b.Settings(false) }, "about": b.About, "register": b.openRegister, "countersign": b.openCountersign, "past": func() { b.Past(record.OwnerRef) }} {
			open()
			top := w.Canvas().Overlays().Top()
			if top == nil {
				t.Fatalf("%v: %s does not open", size, name)
			}
			page := visible[*widget.Scroller](top)[0]
			page.Wheel(&fyne.ScrollEvent{Scrolled: fyne.Delta{DY: -9000}})
			back := tap(top, map[string]string{"about": "Back", "past": "Back to the field"}[name])
			if back == nil {
				back = tap(top, "Back to the job")
			}
			if back == nil {
				t.Fatalf("%v: %s has no way back", size, name)
			}
			if at, z := place(back), back.Size(); at.Y < 0 || at.Y+z.Height > place(page).Y+1 || at.X < 0 || at.X+z.Width > size.Width {
				t.Errorf("%v: the way back of %s lies at %v, %v large, its page at %v", size, name, at, z, place(page))
			}
			test.Tap(back)
			if w.Canvas().Overlays().Top() != nil {
				t.Errorf("%v: the way back leaves %s open", size, name)
			}
			open()
			escape := &fyne.KeyEvent{Name: fyne.KeyEscape}
			if f := visible[*searched](w.Canvas().Overlays().Top()); len(f) > 0 {
				w.Canvas().Focus(f[0])
				w.Canvas().Focused().TypedKey(escape)
			} else {
				w.Canvas().OnTypedKey()(escape)
			}
			if w.Canvas().Overlays().Top() != nil {
				t.Errorf("%v: Escape leaves %s open", size, name)
			}
			if w.Canvas().OnTypedKey() != nil {
				t.Errorf("%v: Escape is still taken after %s", size, name)
			}
		}
	}
}

// Whoever comes back from the settings, or from another language, is where he was.
func TestTheWayBackLeadsToTheSamePlace(t *testing.T) {
	for _, size := range sizes {
		b, w := bench(t, filled(t))
		w.Resize(size)
		b.Go(stepIndex(record.CloseUp))
		b.pane().Side.Wheel(&fyne.ScrollEvent{Scrolled: fyne.Delta{DY: -700}})
		was := b.pane().Side.Offset()
		if was < 300 {
			t.Fatalf("%v: scrolled to %v", size, was)
		}
		for name, leave := range map[string]func(){
			"settings": func() { b.Settings(false); test.Tap(tap(w.Canvas().Overlays().Top(), "Back to the job")) },
			"language": func() { b.SetLanguage("es", ","); b.SetLanguage("en", ".") },
			"help":     func() { b.Help(""); test.Tap(tap(w.Canvas().Overlays().Top(), "Back to the job")) },
		} {
			leave()
			if b.step().Step != record.CloseUp {
				t.Fatalf("%v: %s leads to %s", size, name, b.step().Step)
			}
			if is := b.pane().Side.Offset(); is < was-60 || is > was+60 { // a line more or less may stand above
				t.Errorf("%v: after %s at %v, was at %v", size, name, is, was)
			}
		}
	}
}
