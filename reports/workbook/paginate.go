package workbook

import (
	"maps"
	"slices"
)

// plainRow is the height in points of a row that asks for none. Every row gets
// a height, for programs differ in those that nobody sets.
const plainRow = 13.5

// shrink is how much too high a sheet may be to be printed smaller, on a single
// page, rather than on two.
const shrink = 1.15

// printable is the room inside the margins in points, before scaling.
func (b *book) printable(p *page) (wide, high float64) {
	wide, high = 612, 792 // Letter
	if b.opts.Paper == A4 {
		wide, high = 595.28, 841.89
	}
	if p.landscape {
		wide, high = high, wide
	}
	margins := 2 * pageMargin * 72
	if p.margin > 0 {
		margins = 2 * p.margin * 72
	}
	return wide - margins, high - margins
}

// room is how many points of rows a printed page of the sheet takes.
func (b *book) room(p *page) float64 {
	wide, high := b.printable(p)
	across := 0.0
	for i, w := range p.widths {
		if !p.hidden[i+1] && (p.printed == 0 || i < p.printed) {
			across += w * 8 * 0.75 // in characters of Arial 11, 8 pixels each
		}
	}
	return high * max(1, across/wide) * 0.97 // other programs, other roundings
}

// printScale is how much smaller than set the sheet is printed for its width.
func (b *book) printScale(p *page) float64 {
	_, high := b.printable(p)
	return high * 0.97 / b.room(p)
}

// legible is the scale below which type of 10 points is too small on paper.
const legible = 0.66

// height is that of a row, set or not.
func (p *page) height(r int) float64 {
	if h, set := p.heights[r]; set {
		return h
	}
	return plainRow
}

// paginate breaks a page between rows where nothing that belongs together is
// torn: a heading from what it heads, a note from the row above it, and what
// was glued. A program that fits the width and ignores breaks tears as it likes.
func (b *book) paginate(p *page) {
	for r := range p.rows {
		if _, set := p.heights[r+1]; !set {
			p.heights[r+1] = plainRow
		}
	}
	if len(p.breaks) > 0 { // it knows better
		return
	}
	room := b.room(p)
	all := 0.0
	for r := range p.rows {
		all += p.heights[r+1]
	}
	if p.single = p.one || all <= shrink*room; p.single {
		return
	}
	head, most := 0.0, room
	for r := p.repeat[0]; r > 0 && r <= p.repeat[1]; r++ {
		head += p.heights[r]
	}
	p.breaks = p.split(room, head)
	// All pages a little smaller rather than one more: wider, for a sheet made to fit a
	// number of pages is torn where a program likes.
	widths, heights := slices.Clone(p.widths), maps.Clone(p.heights)
	for f := 1.03; f < 1.3 && b.printScale(p)/f >= legible; f += 0.03 {
		p.widen(f)
		if less := p.split(f*room, head); len(less) < len(p.breaks) {
			p.breaks, most = less, f*room
			break
		}
		p.widths, p.heights = slices.Clone(widths), maps.Clone(heights)
	}
	// As many pages, but none with a last row to itself: the least room that will do.
	for low, high := most/2, most; high-low > plainRow; {
		mid := (low + high) / 2
		if less := p.split(mid, head); len(less) > len(p.breaks) {
			low = mid
		} else {
			high, p.breaks = mid, less
		}
	}
}

// split gives the rows that begin a page where each has room for so many points,
// head of them taken by rows that are repeated.
func (p *page) split(room, head float64) (breaks []int) {
	top, y := 1, 0.0
	for r := 1; r <= len(p.rows); r++ {
		if y+p.heights[r] > room && r > top {
			k := r
			for k > top && p.holds(k-1) {
				k--
			}
			if k == top { // one block higher than a page
				k = r
			}
			breaks = append(breaks, k)
			top, y = k, 0
			if k > p.repeat[1] {
				y = head
			}
			for i := k; i < r; i++ {
				y += p.heights[i]
			}
		}
		y += p.heights[r]
	}
	return breaks
}

// holds tells whether row r may not be parted from the next.
func (p *page) holds(r int) bool {
	switch p.kind(r) {
	case section, head, title:
		return true
	}
	return p.glue[r] || p.kind(r+1) == note && p.kind(r) != blank
}

// kind is the look of the first cell of a row that has text.
func (p *page) kind(r int) lookKind {
	if r < 1 || r > len(p.rows) {
		return blank
	}
	for _, c := range p.rows[r-1] {
		if c.look.kind != blank && c.value != nil && c.value != "" {
			return c.look.kind
		}
	}
	return blank
}

// together keeps rows from first to last on one printed page.
func (p *page) together(first, last int) {
	for r := first; r < last; r++ {
		p.glue[r] = true
	}
}
