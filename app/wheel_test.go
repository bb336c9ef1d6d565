package app

import (
	"testing"

	"fyne.io/fyne/v2"

	"retrostage/reports/record"
)

// The wheel over an entry moves the page, as it does over a note and beside them: of
// what lies under the pointer the last that can be scrolled gets it.
func TestTheWheelOverAnEntryMovesThePage(t *testing.T) {
	b, w := bench(t, record.New("j"))
	w.Resize(fyne.NewSize(1280, 800))
	b.Go(stepIndex(record.Intake))
	r := find(t, b, record.NominalCapacity)
	for _, cursor := range []bool{false, true} {
		if cursor {
			r.Focus()
		}
		var last fyne.Scrollable
		walk(r, func(o fyne.CanvasObject) {
			if s, ok := o.(fyne.Scrollable); ok {
				last = s
			}
		})
		if last == nil {
			t.Fatal("nothing in an entry takes the wheel: this test is about another toolkit")
		}
		was := b.pane().Side.Offset()
		last.Scrolled(&fyne.ScrollEvent{Scrolled: fyne.Delta{DY: -60}})
		if b.pane().Side.Offset() <= was {
			t.Errorf("cursor in it %v: the page stays where it is", cursor)
		}
	}
}
