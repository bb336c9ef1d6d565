package app

import (
	"fyne.io/fyne/v2"
	"github.com/go-gl/glfw/v3.3/glfw"
)

// frameHigh is what a window's own frame takes of a display's height, about.
const frameHigh = 36

// seenWhole is the size of a window that wants one and has to be seen whole: no larger than
// what a display leaves for it, in the units of the window.
func seenWhole(want, area fyne.Size) fyne.Size {
	if want.Width <= area.Width && want.Height <= area.Height || area.Width <= 0 || area.Height <= frameHigh {
		return want
	}
	if area.Height > area.Width && want.Width > want.Height { // a tablet held upright
		want.Width, want.Height = want.Height, want.Width
	}
	return fyne.NewSize(fyne.Min(want.Width, area.Width), fyne.Min(want.Height, area.Height-frameHigh))
}

// keepInSight makes a window smaller that its display does not hold: what a display is
// like is known only once the toolkit has begun.
func keepInSight(w fyne.Window) {
	defer func() { recover() }() // a system that does not tell: it stays as it is
	m := glfw.GetPrimaryMonitor()
	if m == nil {
		return
	}
	_, _, wide, high := m.GetWorkarea()
	k := w.Canvas().Scale()
	if k <= 0 {
		k = 1
	}
	is := w.Canvas().Size()
	if to := seenWhole(is, fyne.NewSize(float32(wide)/k, float32(high)/k)); to != is {
		w.Resize(to)
	}
}
