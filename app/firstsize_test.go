package app

import (
	"testing"

	"fyne.io/fyne/v2"
)

// A window as large as a usual tablet is made smaller where its display is, and only there.
func TestTheFirstWindowIsSeenWhole(t *testing.T) {
	want := fyne.NewSize(1280, 800)
	for _, c := range []struct{ area, is fyne.Size }{
		{fyne.NewSize(1920, 1080), want},
		{want, want},
		{fyne.NewSize(800, 1280), fyne.NewSize(800, 1280-frameHigh)},
		{fyne.NewSize(1024, 768), fyne.NewSize(1024, 768-frameHigh)},
		{fyne.NewSize(1280, 720), fyne.NewSize(1280, 720-frameHigh)},
		{fyne.Size{}, want}, // a display that does not tell
	} {
		if is := seenWhole(want, c.area); is != c.is {
			t.Errorf("on %v: %v, want %v", c.area, is, c.is)
		}
	}
}
