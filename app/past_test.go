package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// A finger held on a field's label, or a touch of its note, shows who typed what there,
// when, and what stood there before: that taken back too, newest first.
func TestPastOfAField(t *testing.T) {
	if testing.Short() {
		t.Skip("short: the toolkit's stand-in opens the sheet on the clock's thread, not its own")
	}
	b, w := bench(t, filled(t))
	b.SetPerson("T-31")
	b.Go(stepIndex(record.Running))
	b.Enter(record.SuctionTemp, "61", "F", "clamp A")
	b.Enter(record.SuctionTemp, "66", "F", "clamp A")
	b.SetPerson("T-40")
	b.Back(false)
	b.Enter(record.SuctionTemp, "sixty", "F", "")
	b.Leave()
	r := find(t, b, record.SuctionTemp)
	if w.Canvas().Overlays().Top() != nil {
		t.Fatal("a sheet stands open")
	}
	r.MouseDown(&desktop.MouseEvent{Button: desktop.MouseButtonPrimary})
	waitFor(t, "the sheet", func() bool { return w.Canvas().Overlays().Top() != nil })
	r.MouseUp(nil)
	r.Tapped(&fyne.PointEvent{}) // the finger leaves
	if r.Lit() {
		t.Error("holding went into the field as well")
	}
	cards := visible[*widget.Card](w.Canvas().Overlays().Top())
	want := []struct{ title, word, why string }{
		{"sixty °F", "not entered", "Typed by T-40"},
		{"66 °F", "taken back", "Typed by T-31"},
		{"61 °F", "stands", "Before it stood 57 F."},
		{"57 °F", "earlier", "Nothing stood here before."},
	}
	if len(cards) != len(want) {
		t.Fatalf("%d entries", len(cards))
	}
	for i, c := range cards {
		if strings.TrimPrefix(c.Title, "\x00") != want[i].title || c.Word != want[i].word || !strings.Contains(c.Why, want[i].why) {
			t.Errorf("%d: %q, %q, %q", i, c.Title, c.Word, c.Why)
		}
	}
	if !strings.Contains(cards[1].Why, "Taken back by T-40") || !strings.Contains(cards[1].Why, "read with clamp A") || !strings.Contains(cards[1].Why, "Before it stood 61 F") {
		t.Errorf("of what was taken back: %q", cards[1].Why)
	}
	test.Tap(tap(w.Canvas().Overlays().Top(), "Back to the field"))

	// A short press and one that moved on open nothing.
	r = find(t, b, record.LiquidTemp)
	r.MouseDown(&desktop.MouseEvent{Button: desktop.MouseButtonPrimary})
	r.MouseUp(nil)
	r.Tapped(&fyne.PointEvent{})
	if w.Canvas().Overlays().Top() != nil || !r.Lit() {
		t.Error("a short press does not go into the field")
	}
	// The note of when it was read leads there too.
	b.Leave()
	for _, q := range visible[*widget.Words](r) {
		if q.Text == r.Note {
			r.Tapped(&fyne.PointEvent{Position: q.Position().AddXY(2, 2)})
		}
	}
	if w.Canvas().Overlays().Top() == nil {
		t.Errorf("the note %q leads nowhere", r.Note)
	}
}
