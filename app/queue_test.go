package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// The queue at the window: a signed job waits, its technician does not decide on it, a
// supervisor returns it with a reason, and nothing is called complete.
func TestQueueAtTheWindow(t *testing.T) {
	b, w := bench(t, filled(t))
	b.SetPerson("T-17")
	b.Enter(record.SignedBy, "T-17", "", "")
	open := func() fyne.CanvasObject {
		t.Helper()
		l := b.newJobList(func() {})
		test.Tap(tap(l.page, "Queue: what waits for the supervisor and the clerk"))
		return w.Canvas().Overlays().Top()
	}
	word := func(o fyne.CanvasObject) string { return visible[*widget.Card](o)[0].Word }
	sheet := open()
	if word(sheet) != "waiting" {
		t.Fatalf("it is %q", word(sheet))
	}
	test.Tap(tap(sheet, "Accept what is signed on the bench"))
	if said := shownWords(sheet); !strings.Contains(said, "does not decide on it") {
		t.Errorf("it says %s", said)
	}
	b.SetPerson("S-1")
	test.Tap(tap(sheet, "Return it to the technician"))
	if said := shownWords(sheet); !strings.Contains(said, "say why") {
		t.Errorf("it says %s", said)
	}
	for _, e := range entries(sheet) {
		e.SetText("no photo of the plate")
	}
	test.Tap(tap(sheet, "Return it to the technician"))
	sheet = w.Canvas().Overlays().Top()
	if c := visible[*widget.Card](sheet)[0]; c.Word != "returned" || !strings.Contains(c.Why, "no photo of the plate") {
		t.Errorf("%+v %q", c.Word, c.Why)
	}
	if strings.Contains(shownWords(sheet), "1 are complete") {
		t.Error("complete")
	}
}

func entries(o fyne.CanvasObject) []*toolkit.Entry { return visible[*toolkit.Entry](o) }
