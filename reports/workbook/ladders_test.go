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

// No drawing goes on paper with words below 7 points or beside the page, no part of it
// is lost or covered, and one of parts that a page takes goes on one.
func TestArranged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 7).Draw(t, "parts")
		var sizes []image.Point
		wide, high := 0, 0
		for range n {
			p := image.Pt(rapid.IntRange(50, 1150).Draw(t, "wide"), rapid.IntRange(20, 1500).Draw(t, "high"))
			sizes = append(sizes, p)
			wide, high = max(wide, p.X), high+p.Y+60
		}
		m := image.NewPaletted(image.Rect(0, 0, wide+40, high), color.Palette{color.White, color.Black})
		y, ink := 20, 0
		for _, p := range sizes {
			for i := range p.Y {
				for k := range p.X {
					m.SetColorIndex(20+k, y+i, 1)
				}
			}
			y, ink = y+p.Y+40, ink+p.X*p.Y
		}
		f, parts := arrange(m)
		if pt := f.scale * ladder.Smallest; pt < 7 {
			t.Errorf("words of %.1f points", pt)
		}
		room, told := f.room(), 0
		for i, p := range parts {
			told += p.from.Dx() * p.from.Dy()
			at := image.Rectangle{Min: p.at, Max: p.at.Add(p.from.Size())}
			if !at.In(image.Rectangle{Max: room}) {
				t.Errorf("%v on a page of %v", at, room)
			}
			for _, o := range parts[:i] {
				if o.page == p.page && at.Overlaps(image.Rectangle{Min: o.at, Max: o.at.Add(o.from.Size())}) {
					t.Errorf("%v covers another part", at)
				}
			}
		}
		if told != ink {
			t.Errorf("%d of %d points drawn", told, ink)
		}
		if high*15 < 10*room.Y && wide < room.X && pagesOf(parts) != 1 {
			t.Errorf("%d pages", pagesOf(parts))
		}
	})
}
