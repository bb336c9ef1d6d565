package workbook

import (
	"image"
	"image/color"
	"image/draw"
	"testing"

	"retrostage/wiring/ladder"

	"pgregory.net/rapid"
)

// A picture is cut between the dark bands that stand for rungs, never through
// one, and the pieces are the whole of it.
func TestCuts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const band = 40
		gap := rapid.IntRange(30, 80).Draw(t, "gap")
		n := rapid.IntRange(1, 20).Draw(t, "rungs")
		limit := rapid.IntRange(300, 700).Draw(t, "limit")
		high := n * (band + gap)
		m := image.NewRGBA(image.Rect(0, 0, 60, high))
		draw.Draw(m, m.Bounds(), image.White, image.Point{}, draw.Src)
		for i := range n {
			r := image.Rect(0, i*(band+gap)+gap/2, 60, i*(band+gap)+gap/2+band)
			draw.Draw(m, r, image.NewUniform(color.RGBA{R: 0xff, A: 0xff}), image.Point{}, draw.Src)
		}
		top := 0
		at := cuts(fewColours(m), limit)
		for i, y := range at {
			if y <= top || y-top > limit {
				t.Fatalf("piece from %d to %d, limit %d", top, y, limit)
			}
			if inside := y % (band + gap); i < len(at)-1 && inside > gap/2 && inside < gap/2+band {
				t.Fatalf("cut at %d goes through a rung", y)
			}
			top = y
		}
		if top != high {
			t.Fatalf("the pieces end at %d of %d", top, high)
		}
	})
}

// No drawing that the catalogue gives goes on paper with words below 7 points, and
// none that would fill a page leaves the last one nearly empty where a little less
// would spare it.
func TestFitted(t *testing.T) {
	for wide := 400.0; wide < 1200; wide += 50 {
		for high := 300.0; high < 4000; high += 100 {
			f := fitted(wide, high)
			if pt := f.scale * ladder.Smallest; pt < 7 {
				t.Errorf("%g x %g: words of %.1f points", wide, high, pt)
			}
			page := 10.2 * 72.0
			if !f.landscape {
				page = 7.7 * 72
			}
			if wide*f.scale > page+1e-9 {
				t.Errorf("%g x %g: %.0f points wide on a page of %.0f", wide, high, wide*f.scale, page)
			}
		}
	}
}
