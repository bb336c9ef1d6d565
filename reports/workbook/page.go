package workbook

import (
	"math"
	"strings"

	"github.com/xuri/excelize/v2"
)

// cell is one cell of a page: a value (string, float64, int or nil) and, where
// it is live, the formula that gives that value.
type cell struct {
	value   any
	formula string
	look    look
	open    bool // not part of the seal: strips, signature block
}

// page is one sheet in the making. Rows and columns count from 1.
type page struct {
	name      string
	title     string
	landscape bool
	widths    []float64
	hidden    map[int]bool // columns
	rows      [][]cell
	heights   map[int]float64
	merges    [][4]int // r1, c1, r2, c2
	repeat    [2]int   // first and last row repeated on each printed page
	freeze    int      // rows that stay in view
	finish    func(f *excelize.File, p *page) error
	secret    bool         // hidden sheet
	breaks    []int        // rows that begin a printed page
	single    bool         // printed on one page
	margin    float64      // inches, 0 for the usual
	one       bool         // laid out for one page, whatever it takes
	evidence  bool         // for who wants to check: not printed unless asked
	printed   int          // columns that are printed; 0 prints all
	glue      map[int]bool // rows that stay on the page of the next
	fits      []fitting    // what set the height of rows
}

// fitting is text that a row was made high enough for.
type fitting struct {
	row, c1, c2 int
	s           string
	k           lookKind
}

func ref(row, col int) string {
	n, err := excelize.CoordinatesToCellName(col, row)
	if err != nil {
		panic(err) // a row or column that this package computed is out of range
	}
	return n
}

// abs is the absolute reference to a cell of the page, for names and formulas.
func (p *page) abs(row, col int) string {
	n, err := excelize.CoordinatesToCellName(col, row, true)
	if err != nil {
		panic(err)
	}
	return "'" + p.name + "'!" + n
}

func (p *page) set(row, col int, c cell) {
	for len(p.rows) < row {
		p.rows = append(p.rows, nil)
	}
	r := &p.rows[row-1]
	for len(*r) < col {
		*r = append(*r, cell{look: look{kind: blank}})
	}
	(*r)[col-1] = c
}

// blank marks a cell that was never set.
const blank lookKind = 255

func (p *page) at(row, col int) cell {
	if row > len(p.rows) || col > len(p.rows[row-1]) {
		return cell{look: look{kind: blank}}
	}
	return p.rows[row-1][col-1]
}

func (p *page) text(row, col int, k lookKind, s string) {
	p.set(row, col, cell{value: s, look: look{kind: k}})
}

// number sets a plain number with the format num.
func (p *page) number(row, col int, k lookKind, x float64, num string) {
	p.set(row, col, cell{value: x, look: look{k, num}})
}

// live sets a formula with the value it is known to give.
func (p *page) live(row, col int, k lookKind, formula string, value any, num string) {
	if num == "" {
		num = "General" // a formula in a text cell would become text when edited
	}
	p.set(row, col, cell{value: value, formula: formula, look: look{k, num}})
}

// span merges cells of one row and gives them all the look of the first.
func (p *page) span(row, c1, c2 int) { p.block(row, c1, row, c2) }

func (p *page) block(r1, c1, r2, c2 int) {
	l := p.at(r1, c1).look
	open := p.at(r1, c1).open
	for r := r1; r <= r2; r++ {
		for c := c1; c <= c2; c++ {
			if r != r1 || c != c1 {
				p.set(r, c, cell{look: l, open: open})
			}
		}
	}
	if r1 != r2 || c1 != c2 { // a program drops what merges nothing
		p.merges = append(p.merges, [4]int{r1, c1, r2, c2})
	}
}

// next is the first row below everything set so far.
func (p *page) next() int { return len(p.rows) + 1 }

func (p *page) width(c1, c2 int) (w float64) {
	for c := c1; c <= c2; c++ {
		if c <= len(p.widths) {
			w += p.widths[c-1]
		} else {
			w += 9
		}
	}
	return w
}

// fit sets the height of row for text of the given look over columns c1 to c2:
// merged cells are not fitted by spreadsheet programs.
func (p *page) fit(row, c1, c2 int, s string, k lookKind) {
	p.fits = append(p.fits, fitting{row, c1, c2, s, k})
	p.heights[row] = math.Max(p.heights[row], p.needs(c1, c2, s, k))
}

// widen makes all columns wider, and rows that text made high only as high as it then
// needs: on paper, at the smaller scale, it has more room on a line.
func (p *page) widen(f float64) {
	high := map[int]float64{}
	for _, t := range p.fits {
		high[t.row] = math.Max(high[t.row], p.needs(t.c1, t.c2, t.s, t.k))
	}
	for i := range p.widths {
		p.widths[i] *= f
	}
	low := map[int]float64{}
	for _, t := range p.fits {
		low[t.row] = math.Max(low[t.row], p.needs(t.c1, t.c2, t.s, t.k))
	}
	for row, h := range high {
		if p.heights[row] == h { // set by nothing else
			p.heights[row] = math.Max(low[row], math.Min(h, plainRow))
		}
	}
}

// needs is the height that text takes over columns c1 to c2.
func (p *page) needs(c1, c2 int, s string, k lookKind) float64 {
	size := 10.0
	switch k {
	case note, code:
		size = 9
	case fill:
		size = 11
	}
	perLine := max(4, p.width(c1, c2)*11/size)
	if k == code {
		perLine *= 0.86
	}
	lines := 0
	for _, l := range strings.Split(s, "\n") {
		lines += max(1, int(math.Ceil(float64(len([]rune(l)))/perLine)))
	}
	return math.Min(400, float64(lines)*size*1.25+3)
}

func newPage(name, title string, widths ...float64) *page {
	return &page{name: name, title: title, widths: widths, hidden: map[int]bool{}, heights: map[int]float64{}, glue: map[int]bool{}}
}

// emit writes the page into its sheet through a stream, which is what lets a
// formula and its value stand in one cell. The sheet is set up: whatever asks
// the library about a sheet that was streamed makes it read that sheet again.
func (p *page) emit(b *book) error {
	f := b.file
	sw, err := f.NewStreamWriter(p.name)
	if err != nil {
		return err
	}
	for i, w := range p.widths {
		if err := sw.SetColWidth(i+1, i+1, w); err != nil {
			return err
		}
		if p.hidden[i+1] {
			if err := sw.SetColVisible(i+1, i+1, false); err != nil {
				return err
			}
		}
	}
	if p.freeze > 0 {
		if err := sw.SetPanes(&excelize.Panes{Freeze: true, YSplit: p.freeze, TopLeftCell: ref(p.freeze+1, 1), ActivePane: "bottomLeft"}); err != nil {
			return err
		}
	}
	for i, row := range p.rows {
		var opts []excelize.RowOpts
		if h, ok := p.heights[i+1]; ok {
			opts = append(opts, excelize.RowOpts{Height: h})
		}
		vals := make([]any, len(row))
		for k, c := range row {
			if c.look.kind == blank {
				continue
			}
			id, err := b.style(c.look)
			if err != nil {
				return err
			}
			v := c.value
			if s, ok := v.(string); ok && c.formula == "" {
				v = Guard(s)
				if s == "" {
					v = nil // blank, not an empty text
				}
			}
			vals[k] = excelize.Cell{StyleID: id, Formula: c.formula, Value: v}
		}
		if err := sw.SetRow(ref(i+1, 1), vals, opts...); err != nil {
			return err
		}
	}
	for _, m := range p.merges {
		if err := sw.MergeCell(ref(m[0], m[1]), ref(m[2], m[3])); err != nil {
			return err
		}
	}
	for _, r := range p.breaks {
		if err := sw.InsertPageBreak(ref(r, 1)); err != nil {
			return err
		}
	}
	if p.finish != nil {
		if err := p.finish(f, p); err != nil {
			return err
		}
	}
	return sw.Flush()
}
