package widget

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
)

// A key that is scrolled away under the pointer does not stay shaded, as if chosen.
func TestScrollingTakesTheShadeOff(t *testing.T) {
	test.NewTempApp(t)
	k := NewTap("yes", nil)
	s := NewScroller(NewColumn(4, 0, k, NewWords("more", 14, false, 0), NewTap("below", nil)))
	w := test.NewTempWindow(t, s)
	w.Resize(fyne.NewSize(200, 60))
	k.MouseIn(nil)
	if !k.hover {
		t.Fatal("not shaded under the pointer")
	}
	s.scroll.Scrolled(&fyne.ScrollEvent{Scrolled: fyne.Delta{DY: -30}})
	if k.hover {
		t.Error("still shaded where the pointer is no more")
	}
}
