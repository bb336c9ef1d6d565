package app

import (
	"testing"

	"retrostage/app/picture"
	"retrostage/app/skin"
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
			s := picture.Style{W: c.w, H: c.h, Scale: 1, Ink: skin.Light.Tone, Face: skin.Face}
			for b.Loop() {
				picture.Render(p, p.Whole(), s)
			}
		})
	}
}
