package app

import (
	"testing"

	"fyne.io/fyne/v2/test"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

func benchJob(b *testing.B) *record.Job {
	var t testing.T
	return filled(&t)
}

// The work behind one keystroke.
func BenchmarkKeystroke(b *testing.B) {
	j := benchJob(b)
	for b.Loop() {
		r, err := assess.Run(j)
		if err != nil {
			b.Fatal(err)
		}
		plane(r, shown{site: r.Site, fluid: "R-410A"})
	}
}

// One repaint of the pressure-enthalpy picture, at the size it has on a tablet
// and as large as the window.
func BenchmarkPlaneRepaint(b *testing.B) {
	j := benchJob(b)
	r, err := assess.Run(j)
	if err != nil {
		b.Fatal(err)
	}
	p := plane(r, shown{site: r.Site, fluid: "R-410A"})
	for _, c := range []struct {
		name string
		w, h int
	}{{"600x290", 600, 290}, {"1280x800", 1280, 800}} {
		b.Run(c.name, func(b *testing.B) {
			s := chart.Style{W: c.w, H: c.h, Scale: 1, Palette: theme.Light}
			for b.Loop() {
				chart.Render(p, p.Whole(), s)
			}
		})
	}
}

// What the toolkit's thread does itself: the rest is done beside the finger. At
// most one frame of a screen, 16 ms, is wanted on a tablet.
func BenchmarkToolkitThread(b *testing.B) {
	a := test.NewApp()
	defer a.Quit()
	a.Settings().SetTheme(theme.Theme{Palette: theme.Light})
	n := newBench(keeper{}, benchJob(b), true)
	w := test.NewWindow(n.desk)
	defer w.Close()
	w.SetPadded(false)
	w.Resize(sizes[0])
	n.canvas = w.Canvas
	s := n.show
	for _, g := range []record.Step{record.Intake, record.Wiring, record.Electrical, record.Running, record.HandOver} {
		i := stepIndex(g)
		// Made and shown. It counts too what a window does beside the finger: the
		// plan (wiring), the causes and the map (running). With -benchtime 1x nothing
		// was measured or broken into lines before.
		b.Run("first/"+string(g), func(b *testing.B) {
			for b.Loop() {
				delete(n.panes, i)
				n.open(i)
			}
		})
		n.Go(i)
		b.Run("key/"+string(g), func(b *testing.B) { // one key typed: what is found is painted
			for b.Loop() {
				n.apply(n.report, n.pics, s, nil)
			}
		})
		b.Run("open/"+string(g), func(b *testing.B) { // a step that was seen before
			for b.Loop() {
				n.open(i)
			}
		})
		b.Run("make/"+string(g), func(b *testing.B) { // one that was not
			for b.Loop() {
				n.newPane(n.step())
			}
		})
	}
	n.Go(stepIndex(record.Wiring))
	p := n.pane().plan
	for _, tab := range tabs {
		b.Run("tab/"+tab, func(b *testing.B) {
			for b.Loop() {
				p.turn(tab)
			}
		})
	}
}
