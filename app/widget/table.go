package widget

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/words"
)

// TableRow is one line of a Table. The last cell may carry a verdict's shape.
type TableRow struct {
	Cells []string
	Glyph string     // before the last cell, "" for none
	Tone  theme.Tone // of the last cell and its glyph
	Small string     // below the line, over its whole width
	More  string     // the same, once the line is touched
	open  bool
}

// Table is a small table: the first and the last column hold words that wrap,
// those between hold figures.
type Table struct {
	widget.BaseWidget
	Head     []string
	Rows     []TableRow
	OnResize func()
}

// Tapped implements fyne.Tappable: the line touched opens or closes.
func (t *Table) Tapped(e *fyne.PointEvent) {
	for i, y := range t.shape(t.Size().Width).rules[1:] {
		if e.Position.Y > y {
			continue
		}
		if t.Rows[i].More == "" {
			return
		}
		t.Rows[i].open = !t.Rows[i].open
		if t.OnResize != nil {
			t.OnResize()
		}
		t.Refresh()
		return
	}
}

// NewTable makes a table.
func NewTable(head []string, rows []TableRow) *Table {
	t := &Table{Head: head, Rows: rows}
	t.ExtendBaseWidget(t)
	return t
}

const (
	tablePx  = theme.Small + 0.5
	tableGap = 8
)

type tableCell struct {
	words      *Words
	x, y, w, h float32
}

type tableShape struct {
	cells  []tableCell
	rules  []float32
	glyphs []tableGlyph
	height float32
}

type tableGlyph struct {
	name string
	tone theme.Tone
	x, y float32
}

// shape places everything at a width.
func (t *Table) shape(w float32) (s tableShape) {
	n := len(t.Head)
	if n < 2 {
		return s
	}
	widths := t.widths(w, false)
	if least := t.longestWord(0); widths[0] < least {
		widths = t.widths(w, true)
	}
	line := func(cells []string, head bool, r TableRow, y float32) float32 {
		x, tall := float32(0), float32(0)
		for i, c := range cells {
			word := NewWords(c, tablePx, head || (i == n-1), theme.Ink)
			at, cw := x, widths[i]
			if head {
				word.Tone = theme.Accent
			}
			if i > 0 && i < n-1 {
				word.Align = fyne.TextAlignTrailing
			}
			if i == n-1 && !head {
				word.Tone = r.Tone
				if r.Glyph != "" {
					s.glyphs = append(s.glyphs, tableGlyph{r.Glyph, r.Tone, at, y + 6})
					at, cw = at+22, cw-22
				}
			}
			h := word.HeightFor(cw)
			s.cells = append(s.cells, tableCell{word, at, y + 6, cw, h})
			tall = fyne.Max(tall, h)
			x += widths[i] + tableGap
		}
		return tall
	}
	y := line(t.Head, true, TableRow{}, 0) + 10
	s.rules = append(s.rules, y)
	for _, r := range t.Rows {
		h := line(r.Cells, false, r, y)
		for i, t := range []string{r.Small, r.More} {
			if t == "" || i == 1 && !r.open {
				continue
			}
			small := NewWords(t, theme.Small, false, theme.Muted)
			sh := small.HeightFor(w)
			s.cells = append(s.cells, tableCell{small, 0, y + 6 + h + 2, w, sh})
			h += sh + 2
		}
		y += h + 12
		if r.More != "" {
			y += fyne.Max(0, theme.Touch-h-12) // it can be touched
		}
		s.rules = append(s.rules, y)
	}
	s.height = y + 1
	return s
}

// widths shares a width out: figures get what the widest needs, the words the rest. No
// word of the last column is broken, and where it is tight the heads of figures wrap.
func (t *Table) widths(w float32, tight bool) []float32 {
	n := len(t.Head)
	out := make([]float32, n)
	rest := w - float32(n-1)*tableGap
	for i := 1; i < n-1; i++ {
		out[i] = measure(t.Head[i], tablePx, fyne.TextStyle{Bold: true})
		if tight {
			out[i] = longest(t.Head[i], true)
		}
		for _, r := range t.Rows {
			if i < len(r.Cells) {
				out[i] = fyne.Max(out[i], measure(r.Cells[i], tablePx, fyne.TextStyle{}))
			}
		}
		out[i] = fyne.Min(out[i], w*0.2) + 2
		rest -= out[i]
	}
	for _, r := range append([]TableRow{{Cells: t.Head}}, t.Rows...) {
		if len(r.Cells) == n {
			out[n-1] = fyne.Max(out[n-1], measure(r.Cells[n-1], tablePx, fyne.TextStyle{Bold: true})+26)
		}
	}
	out[n-1] = fyne.Min(fyne.Max(fyne.Min(out[n-1], rest*0.5), t.longestWord(n-1)), rest*0.7)
	out[0] = rest - out[n-1]
	return out
}

// longestWord is the width that no word of the first or the last column is broken at.
func (t *Table) longestWord(i int) float32 {
	last := i == len(t.Head)-1
	w := longest(t.Head[i], true)
	for _, r := range t.Rows {
		if i >= len(r.Cells) {
			continue
		}
		c := longest(r.Cells[i], last)
		if last && r.Glyph != "" {
			c += 22
		}
		w = fyne.Max(w, c)
	}
	return w + 1
}

// longest is the width of a text's longest word.
func longest(text string, bold bool) (w float32) {
	for _, word := range strings.Fields(words.Say(text)) {
		w = fyne.Max(w, measureSaid(word, tablePx, fyne.TextStyle{Bold: bold}))
	}
	return w
}

// HeightFor implements Tall.
func (t *Table) HeightFor(w float32) float32 { return t.shape(w).height }

// CreateRenderer implements fyne.Widget.
func (t *Table) CreateRenderer() fyne.WidgetRenderer {
	r := &tableRenderer{t: t}
	r.build(t.Size())
	return r
}

type tableRenderer struct {
	t     *Table
	objs  []fyne.CanvasObject
	words []*Words
	signs []*canvas.Image
	lines []*canvas.Rectangle
	width float32 // for which they were made
}

// Layout makes everything anew only for another width: the toolkit lays out what
// it has not seen before and paints once more, which would never end.
func (r *tableRenderer) Layout(size fyne.Size) {
	if size.Width != r.width {
		r.build(size)
	}
}

func (r *tableRenderer) build(size fyne.Size) {
	r.objs, r.width = nil, size.Width
	if size.Width < 40 {
		return
	}
	s := r.t.shape(size.Width)
	var words []*Words
	for _, c := range s.cells {
		words = append(words, c.words)
	}
	r.words = again(r.words, words)
	for i, c := range s.cells {
		put(r.words[i], c.x, c.y, c.w, c.h)
		r.objs = append(r.objs, r.words[i])
	}
	for i, g := range s.glyphs {
		if i == len(r.signs) {
			r.signs = append(r.signs, newGlyph())
		}
		im := r.signs[i]
		setGlyph(im, g.name, g.tone, theme.Paper)
		put(im, g.x, g.y, 16, 16)
		r.objs = append(r.objs, im)
	}
	for i, y := range s.rules {
		if i == len(r.lines) {
			r.lines = append(r.lines, canvas.NewRectangle(nil))
		}
		l := r.lines[i]
		l.FillColor = theme.Line.Colour()
		put(l, 0, y, size.Width, 1)
		r.objs = append(r.objs, l)
	}
}
func (r *tableRenderer) MinSize() fyne.Size {
	return fyne.NewSize(200, r.t.HeightFor(fyne.Max(200, r.t.Size().Width)))
}
func (r *tableRenderer) Refresh() {
	r.build(r.t.Size())
	canvas.Refresh(r.t)
}
func (r *tableRenderer) Objects() []fyne.CanvasObject { return r.objs }
func (r *tableRenderer) Destroy()                     {}
