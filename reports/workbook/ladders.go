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
	limit     float64 // units of the drawing on a page
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
	leastType, mostType = 8.75, 9.2
)

// fitted finds orientation and scale so that the smallest words can be read and no
// page is nearly empty.
func fitted(wide, high float64) fit {
	least := leastType / ladder.Smallest
	f := fit{landscape: across/wide < least}
	w, h := across, long-headings
	if f.landscape {
		w, h = long, across-headings
	}
	f.scale = min(w/wide, mostType/ladder.Smallest)
	const cutting = 0.94 // of a page: the rest is kept for cutting between rungs
	pages := high * f.scale / (h * cutting)
	if s := f.scale * math.Floor(pages) / pages; pages > 1 && s >= least {
		f.scale = s
	}
	f.limit = h / f.scale
	return f
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

func (d *drawn) paint(changes []ladder.Change) {
	m, err := paint.Image(ladder.Layout(d.unit, changes...), 1)
	if err != nil {
		d.err = err
		return
	}
	few := fewColours(m)
	r := few.Bounds()
	d.fit = fitted(float64(r.Dx()), float64(r.Dy()))
	for _, y := range cuts(few, int(d.fit.limit)) {
		c := piece{high: y - r.Min.Y}
		if d.err = paint.Encode(&c.png, few.SubImage(image.Rect(r.Min.X, r.Min.Y, r.Max.X, y))); d.err != nil {
			return
		}
		d.pieces = append(d.pieces, c)
		r.Min.Y = y
	}
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
	var dark [256]int
	for i, c := range m.Palette {
		if red, green, blue, _ := c.RGBA(); min(red, green, blue) < 0xf000 {
			dark[i] = 1
		}
	}
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
