package workbook

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"testing"

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

func TestNarrowing(t *testing.T) {
	for _, c := range []struct{ pages, want float64 }{{0.6, 1}, {1, 0.95}, {1.1, 0.95 / 1.1}, {1.5, 1}, {2.2, 1.9 / 2.2}, {2.9, 1}} {
		if got := narrowing(c.pages); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g pages: %g, want %g", c.pages, got, c.want)
		}
	}
}
