package workbook

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"retrostage/reports/assess"
)

// OnePage writes the first page of a workbook as PDF: the same cells at the same
// places, for whom a sheet is too much. countersigned, if not nil, is told below it.
func OnePage(w io.Writer, a *assess.Assessment, o Options, countersigned *Countersignature) error {
	b, _, err := build(a, o)
	if err != nil {
		return err
	}
	defer b.file.Close()
	return b.onePage(w, countersigned)
}

// OnePage writes the first page of a workbook that was read back, with what its
// signature block holds.
func (out *Reading) OnePage(w io.Writer) error {
	o := out.options()
	o.Sign = out.Signature
	return OnePage(w, assess.New(out.Job), o, out.Countersigned)
}

func (b *book) onePage(w io.Writer, c *Countersignature) error {
	p := b.pages[0]
	size := "Letter"
	if b.opts.Paper == A4 {
		size = "A4"
	}
	pdf := fpdf.New("P", "pt", size, "")
	pdf.SetCreationDate(b.opts.Time) // the same workbook gives the same bytes
	pdf.SetModificationDate(b.opts.Time)
	pdf.SetCatalogSort(true)
	pdf.SetTitle("Hand-over of job "+b.job.ID, true)
	pdf.SetLang("en")
	pdf.SetCreator(b.opts.Software, true)
	pdf.AddUTF8FontFromBytes("go", "", goregular.TTF)
	pdf.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddPage()
	wide, _ := b.printable(p)
	across := 0.0
	for _, x := range p.widths {
		across += x
	}
	d := painter{pdf: pdf, page: p, scale: min(1, b.room(p)/b.total(p)), unit: wide / across}
	// Printed from a spreadsheet the page is as much smaller as it is wider than the paper.
	d.points = min(1, wide/(across*6)) * d.scale
	d.cells()
	pdf.SetFont("go", "", 7)
	pdf.SetTextColor(0x52, 0x60, 0x6D)
	_, high := pdf.GetPageSize()
	foot := fmt.Sprintf("Job %s. Record %s. Written by %s.", b.job.ID, b.digest[:12], b.opts.Software)
	if b.job.Demo {
		foot = "DEMONSTRATION, INVENTED DATA. " + foot
	}
	if c != nil {
		foot = fmt.Sprintf("Countersigned by %s on %s, %s, with the key %s. ", c.Name, c.Time.Format("2006-01-02 15:04 UTC"), c.Decision, c.Key) + foot
	}
	pdf.SetXY(pageMargin*72, high-pageMargin*72)
	pdf.MultiCell(wide, 8.5, foot, "", "L", false)
	if pdf.PageCount() != 1 {
		return fmt.Errorf("the page of job %s took %d pages", b.job.ID, pdf.PageCount())
	}
	return pdf.Output(w)
}

func (b *book) total(p *page) (high float64) {
	for r := range p.rows {
		high += p.height(r + 1)
	}
	return high
}

// painter draws the cells of a page.
type painter struct {
	pdf    *fpdf.Fpdf
	page   *page
	unit   float64 // points for each unit of a column's width
	scale  float64
	points float64 // of sizes of type and heights of rows
}

func (d *painter) cells() {
	const margin = pageMargin * 72
	merged := map[[2]int][4]int{}
	inside := map[[2]int]bool{}
	for _, m := range d.page.merges {
		merged[[2]int{m[0], m[1]}] = m
		for r := m[0]; r <= m[2]; r++ {
			for c := m[1]; c <= m[3]; c++ {
				inside[[2]int{r, c}] = r != m[0] || c != m[1]
			}
		}
	}
	y := margin
	for r := range d.page.rows {
		x := margin
		for c, cell := range d.page.rows[r] {
			w := d.page.widths[c] * d.unit
			at := [2]int{r + 1, c + 1}
			if cell.look.kind != blank && !inside[at] {
				box := [4]float64{x, y, w, d.page.height(r+1) * d.points}
				if m, ok := merged[at]; ok {
					box[2] = d.page.width(m[1], m[3]) * d.unit
					box[3] = 0
					for i := m[0]; i <= m[2]; i++ {
						box[3] += d.page.height(i) * d.points
					}
				}
				d.cell(cell, box)
			}
			x += w
		}
		y += d.page.height(r+1) * d.points
	}
}

func rgb(s string) (r, g, b int) {
	n, err := strconv.ParseUint(s, 16, 32)
	if err != nil {
		return 0, 0, 0
	}
	return int(n >> 16), int(n >> 8 & 255), int(n & 255)
}

func (d *painter) cell(c cell, box [4]float64) {
	s := c.look.style()
	pdf := d.pdf
	x, y, w, h := box[0], box[1], box[2], box[3]
	ground := ""
	if len(s.Fill.Color) > 0 {
		ground = s.Fill.Color[0]
	}
	text := shownText(c)
	if c.look.kind == verdict { // as the rule of the sheet shades it
		ground = map[string]string{string(assess.Within): paleOK, string(assess.Outside): paleOut, string(assess.TooClose): paleNear}[text]
	}
	if ground != "" {
		pdf.SetFillColor(rgb(ground))
		pdf.Rect(x, y, w, h, "F")
	}
	pdf.SetLineWidth(0.4)
	for _, e := range s.Border {
		pdf.SetDrawColor(rgb(e.Color))
		switch e.Type {
		case "bottom":
			pdf.Line(x, y+h, x+w, y+h)
		case "top":
			pdf.Line(x, y, x+w, y)
		case "left":
			pdf.Line(x, y, x, y+h)
		case "right":
			pdf.Line(x+w, y, x+w, y+h)
		}
	}
	if text == "" {
		return
	}
	if c.look.kind == shape {
		d.shape(text, x+w/2, y+h/2)
		return
	}
	bold := ""
	if s.Font.Bold {
		bold = "B"
	}
	size := s.Font.Size * d.points
	pdf.SetTextColor(rgb(s.Font.Color))
	align := "L"
	if s.Alignment.Horizontal == "right" {
		align = "R"
	}
	const pad = 2
	var lines []string
	for ; size > 4; size *= 0.95 { // another type than the sheet's: what is too long is set smaller
		pdf.SetFont("go", bold, size)
		lines = d.wrap(text, w-2*pad)
		if float64(len(lines))*size*1.17 <= h+1 {
			break
		}
	}
	top := y + (h-float64(len(lines))*size*1.17)/2
	if s.Alignment.Vertical == "top" {
		top = y + 1
	}
	for _, l := range lines {
		pdf.SetXY(x+pad, top)
		pdf.CellFormat(w-2*pad, size*1.17, l, "", 0, align, false, 0, "")
		top += size * 1.17
	}
}

func (d *painter) wrap(text string, w float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if next := strings.TrimSpace(line + " " + word); line == "" || d.pdf.GetStringWidth(next) <= w {
			line = next
			continue
		}
		lines, line = append(lines, line), word
	}
	return append(lines, line)
}

// shape draws what stands beside a verdict; the type has not all of them.
func (d *painter) shape(s string, x, y float64) {
	const r = 3.2
	pdf := d.pdf
	pdf.SetFillColor(rgb(ink))
	pdf.SetDrawColor(rgb(ink))
	pdf.SetLineWidth(0.8)
	at := func(dx, dy float64) fpdf.PointType { return fpdf.PointType{X: x + dx, Y: y + dy} }
	switch s {
	case shapes[assess.Within]:
		pdf.Circle(x, y, r, "F")
	case shapes[assess.NotMeasured]:
		pdf.Circle(x, y, r, "D")
	case shapes[assess.Outside]:
		pdf.Polygon([]fpdf.PointType{at(0, -r), at(r, r), at(-r, r)}, "F")
	case shapes[assess.TooClose]:
		pdf.Polygon([]fpdf.PointType{at(0, -r), at(r, 0), at(0, r), at(-r, 0)}, "F")
	default:
		pdf.Line(x-r, y, x+r, y)
	}
}

// shownText is a cell as a spreadsheet shows it, for the formats of the first page.
func shownText(c cell) string {
	var x float64
	switch v := c.value.(type) {
	case string:
		return v
	case int:
		if c.look.kind == fillDate {
			return epoch1900.AddDate(0, 0, v).Format("2006-01-02")
		}
		x = float64(v)
	case float64:
		x = v
	default:
		return ""
	}
	digits, unit, _ := strings.Cut(c.look.num, " ")
	_, frac, _ := strings.Cut(digits, ".")
	return strings.TrimSpace(strconv.FormatFloat(x, 'f', len(frac), 64) + " " + strings.Trim(unit, `"`))
}

// Text is the first page in lines of text, for a terminal.
func (out *Reading) Text() (string, error) {
	o := out.options()
	o.Sign = out.Signature
	b, _, err := build(assess.New(out.Job), o)
	if err != nil {
		return "", err
	}
	defer b.file.Close()
	var s bytes.Buffer
	for _, row := range b.pages[0].rows {
		var words []string
		for _, c := range row {
			if t := shownText(c); t != "" && c.look.kind != blank {
				words = append(words, t)
			}
		}
		if len(words) > 0 {
			fmt.Fprintln(&s, strings.Join(words, "   "))
		}
	}
	return s.String(), nil
}
