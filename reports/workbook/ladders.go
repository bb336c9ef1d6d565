package workbook

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"slices"
	"strings"
	"sync"

	"retrostage/reports/memo"
	"retrostage/wiring/ladder"
	"retrostage/wiring/ladder/paint"
	"retrostage/wiring/netlist"

	"github.com/xuri/excelize/v2"
)

// drawn is a ladder on its way into the sheet, in pieces that each fit on a
// printed page.
type drawn struct {
	title  string
	unit   *netlist.Unit
	fit    fit
	pieces []piece
	err    error
}

type piece struct {
	row  int
	high int // pixels, before scaling
	png  bytes.Buffer
}

// fit is how a drawing is put on paper.
type fit struct {
	landscape bool
	scale     float64 // points for each unit of the drawing
}

const (
	ladderColumns = 9
	rowPoints     = 15.0 // 20 pixels
	// Letter, the squatter paper, inside the margins: along and across, less the
	// headings.
	long, across = 10.2 * 72, 7.7 * 72
	headings     = 75.0
	// The smallest words are to be of 7 points, also where a wider type stands in for
	// the workbook's: columns are then wider and the page is printed smaller.
	leastType, mostType, typeSteps = 8.75, 11.0, 15
	// Between two parts of a drawing that stand on their own, in its units: no rail, no
	// rung and no line of a list crosses so much white. So far they are kept apart.
	apartness = 24
)

// room is how much of a drawing a page takes, in its units.
func (f fit) room() image.Point {
	w, h := across, long-headings
	if f.landscape {
		w, h = long, across-headings
	}
	return image.Pt(int(w/f.scale), int(h/f.scale))
}

// placed is a part of a drawing and where it comes on its page.
type placed struct {
	from image.Rectangle
	page int
	at   image.Point
}

// arrange puts a drawing on the fewest pages on which its smallest words can be read,
// as large as these allow: part by part, beside or below each other.
func arrange(m *image.Paletted) (fit, []placed) {
	parts := partsOf(m)
	wide := 0
	for _, r := range parts {
		wide = max(wide, r.Dx())
	}
	var best fit
	var out []placed
	for _, f := range []fit{{landscape: false}, {landscape: true}} {
		for n := range typeSteps + 1 {
			f.scale = (mostType - (mostType-leastType)*float64(n)/typeSteps) / ladder.Smallest
			if f.room().X < wide {
				continue
			}
			if p := f.place(m, parts); out == nil || pagesOf(p) < pagesOf(out) || pagesOf(p) == pagesOf(out) && f.scale > best.scale {
				best, out = f, p
			}
		}
	}
	if out == nil { // wider than that
		best = fit{landscape: true, scale: min(long/float64(wide+1), leastType/ladder.Smallest)}
		out = best.place(m, parts)
	}
	return best, out
}

func pagesOf(ps []placed) (n int) {
	for _, p := range ps {
		n = max(n, p.page+1)
	}
	return n
}

// partsOf finds what stands on its own in a drawing, from top to bottom, each without
// the white around it.
func partsOf(m *image.Paletted) (parts []image.Rectangle) {
	dark := darkOf(m)
	r := m.Bounds()
	var now image.Rectangle
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := m.Pix[m.PixOffset(r.Min.X, y):m.PixOffset(r.Max.X, y)]
		first := slices.IndexFunc(row, func(p uint8) bool { return dark[p] > 0 })
		if first < 0 {
			continue
		}
		last := len(row) - 1
		for dark[row[last]] == 0 {
			last--
		}
		if !now.Empty() && y-now.Max.Y >= apartness {
			parts, now = append(parts, now), image.Rectangle{}
		}
		now = now.Union(image.Rect(r.Min.X+first, y, r.Min.X+last+1, y+1))
	}
	return append(parts, now)
}

// place puts parts on pages: on the first shelf with room for one, else on a new shelf
// below. A part that no page takes whole is cut, and its pieces follow each other.
func (f fit) place(m *image.Paletted, parts []image.Rectangle) (out []placed) {
	type shelf struct{ page, x, y, high int }
	var shelves []shelf
	var used []int // of each page, from its top
	room := f.room()
	put := func(r image.Rectangle, from int) int {
		for i := range shelves {
			if s := &shelves[i]; s.page >= from && r.Dy() <= s.high && s.x+r.Dx() <= room.X {
				out = append(out, placed{r, s.page, image.Pt(s.x, s.y)})
				s.x += r.Dx() + 2*apartness
				return s.page
			}
		}
		p := from
		for p < len(used) && used[p]+r.Dy() > room.Y {
			p++
		}
		if p == len(used) {
			used = append(used, 0)
		}
		out = append(out, placed{r, p, image.Pt(0, used[p])})
		shelves = append(shelves, shelf{p, r.Dx() + 2*apartness, used[p], r.Dy()})
		used[p] += r.Dy() + apartness
		return p
	}
	for _, r := range parts {
		page := 0
		for _, y := range cuts(m.SubImage(r).(*image.Paletted), room.Y) {
			page = put(image.Rect(r.Min.X, r.Min.Y, r.Max.X, y), page)
			r.Min.Y = y
		}
	}
	return out
}

// ladderPages holds each ladder on a sheet of its own, in pieces that each fill a
// printed page.
func (b *book) ladderPages(ds []*drawn, changes []ladder.Change) ([]*page, error) {
	var painting sync.WaitGroup
	for _, d := range ds {
		painting.Go(func() { d.paint(changes) })
	}
	painting.Wait()
	var ps []*page
	for _, d := range ds {
		if d.err != nil {
			return nil, d.err
		}
		ps = append(ps, b.ladderPage(d))
	}
	return ps, nil
}

func (b *book) ladderPage(d *drawn) *page {
	name, _, _ := strings.Cut(d.title, " —")
	w := 10.8 // a column is 7 pixels for each character of its width, and 5 besides
	if d.fit.landscape {
		w = 14.6
	}
	p := newPage(name, d.title, slices.Repeat([]float64{w}, ladderColumns)...)
	p.landscape, p.margin = d.fit.landscape, 0.4
	row := b.banner(p, ladderColumns) - 1
	s := d.fit.scale / 0.75 // points to pixels
	for k := range d.pieces {
		if k > 0 {
			p.breaks = append(p.breaks, row)
			p.text(row, 1, section, d.title+", continued")
			p.span(row, 1, ladderColumns)
			p.heights[row] = 20
			row++
		}
		c := &d.pieces[k]
		c.row = row
		// Heights are set, for programs differ in those that nobody sets.
		for range int(math.Ceil(float64(c.high)*s/20)) + 1 {
			p.text(row, 1, note, "")
			p.heights[row] = rowPoints
			row++
		}
	}
	p.finish = func(f *excelize.File, p *page) error {
		for i := range d.pieces {
			alt := fmt.Sprintf("%s: ladder diagram of %s, part %d of %d; the work list says the same in words", d.title, d.unit.Title, i+1, len(d.pieces))
			if err := f.AddPictureFromBytes(p.name, ref(d.pieces[i].row, 1), &excelize.Picture{Extension: ".png", File: d.pieces[i].png.Bytes(),
				Format: &excelize.GraphicOptions{AltText: alt, ScaleX: s, ScaleY: s, OffsetY: 3, Positioning: "oneCell", LockAspectRatio: true}}); err != nil {
				return err
			}
		}
		return nil
	}
	return p
}

// painted keeps the last few ladders by all that their pictures are made of.
var painted memo.Last[inked]

// inked is a ladder as it lies on its pages.
type inked struct {
	fit    fit
	pieces []piece
}

// paint puts the ladder on its pages.
func (d *drawn) paint(changes []ladder.Change) {
	on, err := painted.Of(fmt.Sprintf("%s %v", d.unit.JSON(), changes), func() (inked, error) { return onPages(d.unit, changes) })
	d.fit, d.pieces, d.err = on.fit, slices.Clone(on.pieces), err
}

func onPages(u *netlist.Unit, changes []ladder.Change) (out inked, err error) {
	m, err := paint.Image(ladder.Layout(u, changes...), 1)
	if err != nil {
		return out, err
	}
	few := fewColours(m)
	var parts []placed
	out.fit, parts = arrange(few)
	for page := range pagesOf(parts) {
		var size image.Rectangle
		for _, p := range parts {
			if p.page == page {
				size = size.Union(image.Rectangle{Max: p.at.Add(p.from.Size())})
			}
		}
		on := image.NewPaletted(size, few.Palette)
		white := uint8(few.Palette.Index(color.White))
		for i := range on.Pix {
			on.Pix[i] = white
		}
		for _, p := range parts {
			for y := 0; p.page == page && y < p.from.Dy(); y++ {
				copy(on.Pix[on.PixOffset(p.at.X, p.at.Y+y):], few.Pix[few.PixOffset(p.from.Min.X, p.from.Min.Y+y):few.PixOffset(p.from.Max.X, p.from.Min.Y+y)])
			}
		}
		c := piece{high: size.Dy()}
		if err := paint.Encode(&c.png, on); err != nil {
			return out, err
		}
		out.pieces = append(out.pieces, c)
	}
	return out, nil
}

// fewColours is a picture in at most 256 colours: one byte for each pixel in
// place of four, and as much less to pack. Each part of a colour keeps its
// first four bits; of more than 256 such colours, which smooth edges can give,
// the rarest go to their nearest.
func fewColours(m image.Image) *image.Paletted {
	r := m.Bounds()
	rgba, ok := m.(*image.RGBA)
	if !ok {
		rgba = image.NewRGBA(r)
		draw.Draw(rgba, r, m, r.Min, draw.Src)
	}
	const levels = 1 << 12
	var count [levels]int
	code := func(p []byte) int { return int(p[0])>>4<<8 | int(p[1])>>4<<4 | int(p[2])>>4 }
	row := func(y int) []byte { i := rgba.PixOffset(r.Min.X, y); return rgba.Pix[i : i+4*r.Dx()] }
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for p := row(y); len(p) >= 4; p = p[4:] {
			count[code(p)]++
		}
	}
	var used []int
	for c, n := range count {
		if n > 0 {
			used = append(used, c)
		}
	}
	slices.SortStableFunc(used, func(a, b int) int { return count[b] - count[a] })
	var pal color.Palette
	var at [levels]uint8
	for i, c := range used {
		full := color.RGBA{uint8(c>>8) * 17, uint8(c>>4&15) * 17, uint8(c&15) * 17, 255}
		if i < 256 {
			pal = append(pal, full)
			at[c] = uint8(i)
			continue
		}
		at[c] = uint8(pal.Index(full))
	}
	few := image.NewPaletted(r, pal)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		to := few.Pix[few.PixOffset(r.Min.X, y):]
		for i, p := 0, row(y); len(p) >= 4; i, p = i+1, p[4:] {
			to[i] = at[code(p)]
		}
	}
	return few
}

// cuts says at which rows a picture is cut so that no piece is higher than
// limit: low on each page and where there is little ink around, which is
// between two rungs. The last cut is the picture's end.
func cuts(m *image.Paletted, limit int) (at []int) {
	r := m.Bounds()
	if r.Dy() <= limit {
		return []int{r.Max.Y}
	}
	dark := darkOf(m)
	ink := make([]int, r.Dy()+1) // of all rows above
	for y := range r.Dy() {
		n := 0
		for _, p := range m.Pix[y*m.Stride : y*m.Stride+r.Dx()] {
			n += dark[p]
		}
		ink[y+1] = ink[y] + n
	}
	const around = 8 // rows above and below a cut
	top := 0
	for r.Dy()-top > limit {
		best, least := 0, math.Inf(1)
		for y := top + limit; y > top+limit/2; y-- {
			lo, hi := max(0, y-around), min(r.Dy(), y+around)
			// Twenty rows lost on a page weigh as much as one dark pixel a row.
			cost := float64(ink[hi]-ink[lo])/float64(hi-lo) + float64(top+limit-y)/20
			if cost < least {
				best, least = y, cost
			}
		}
		at = append(at, r.Min.Y+best)
		top = best
	}
	return append(at, r.Max.Y)
}

// darkOf says by its number whether a colour is ink.
func darkOf(m *image.Paletted) (dark [256]int) {
	for i, c := range m.Palette {
		if red, green, blue, _ := c.RGBA(); min(red, green, blue) < 0xf000 {
			dark[i] = 1
		}
	}
	return dark
}
