package register

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"retrostage/reports/workbook"

	"github.com/xuri/excelize/v2"
)

// The looks of the register's workbook, kin to those of a job's.
type looks struct {
	title, note, head, text, number, wrap, section int
	standing                                       []int // by Standing
}

const (
	ink    = "1F2933"
	muted  = "52606D"
	rule   = "CBD2D9"
	accent = "1D4E5F"
)

// grounds are the colours behind the standings, in their order. The word stands in each
// cell: no meaning hangs on the colour.
var grounds = []string{"FADCD3", "FADCD3", "FADCD3", "F6D9E6", "FFF0C2", "FFF0C2", "FFF0C2", "E4E9ED", "E4E9ED", "DDEFE8"}

func newLooks(f *excelize.File) (l looks, err error) {
	fill := excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"E4E9ED"}}
	line := []excelize.Border{{Type: "bottom", Color: rule, Style: 4}}
	asText := "@"
	for _, s := range []struct {
		to *int
		st excelize.Style
	}{
		{&l.title, excelize.Style{Font: &excelize.Font{Family: "Arial", Size: 16, Bold: true, Color: accent}}},
		{&l.note, excelize.Style{Font: &excelize.Font{Family: "Arial", Size: 9, Color: muted}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}}},
		{&l.section, excelize.Style{Font: &excelize.Font{Family: "Arial", Size: 12, Bold: true, Color: accent}, Border: []excelize.Border{{Type: "bottom", Color: accent, Style: 2}}}},
		{&l.head, excelize.Style{Font: &excelize.Font{Family: "Arial", Size: 9, Bold: true, Color: ink}, Fill: fill, Alignment: &excelize.Alignment{WrapText: true, Vertical: "center", Indent: 1, Horizontal: "left"}, Border: []excelize.Border{{Type: "bottom", Color: accent, Style: 1}}}},
		{&l.text, excelize.Style{Font: &excelize.Font{Family: "Arial", Size: 9, Color: ink}, Border: line, CustomNumFmt: &asText, Alignment: &excelize.Alignment{Vertical: "top"}}},
		{&l.wrap, excelize.Style{Font: &excelize.Font{Family: "Arial", Size: 9, Color: ink}, Border: line, CustomNumFmt: &asText, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top", Indent: 1, Horizontal: "left"}}},
		{&l.number, excelize.Style{Font: &excelize.Font{Family: "Arial", Size: 9, Color: ink}, Border: line, NumFmt: 1, Alignment: &excelize.Alignment{Vertical: "top", Horizontal: "right"}}},
	} {
		if *s.to, err = f.NewStyle(&s.st); err != nil {
			return l, err
		}
	}
	for _, ground := range grounds {
		id, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Family: "Arial", Size: 9, Bold: true, Color: ink}, Border: line, CustomNumFmt: &asText,
			Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{ground}}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}})
		if err != nil {
			return l, err
		}
		l.standing = append(l.standing, id)
	}
	return l, nil
}

// out is a workbook in the making; the first error stays.
type out struct {
	f    *excelize.File
	l    looks
	size int // of paper, as ECMA-376 numbers it: 1 Letter, 9 A4
	err  error
}

func (o *out) try(err error) {
	if o.err == nil {
		o.err = err
	}
}

// sheet is one sheet, written row by row.
type sheet struct {
	o    *out
	name string
	sw   *excelize.StreamWriter
	row  int
	wide int     // printed pages side by side
	high float64 // height of the next row in points, 0 for the program's choice
}

// readable is how many characters of width a landscape page takes before its
// print is too small to read.
const readable = 170

func (o *out) sheet(name string, landscape bool, widths ...float64) *sheet {
	s := &sheet{o: o, name: name, row: 1}
	if o.err != nil {
		return s
	}
	_, err := o.f.NewSheet(name)
	o.try(err)
	total := 0.0
	for _, w := range widths {
		total += w
	}
	s.wide = max(1, int(math.Ceil(total/readable)))
	on, off, many, orient := true, false, 0, "portrait"
	if landscape {
		orient = "landscape"
	}
	o.try(o.f.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: &on}))
	o.try(o.f.SetPageLayout(name, &excelize.PageLayoutOptions{Orientation: &orient, FitToWidth: &s.wide, FitToHeight: &many, Size: &o.size}))
	o.try(o.f.SetHeaderFooter(name, &excelize.HeaderFooterOptions{OddFooter: "&L&8" + name + "&R&8Page &P of &N"}))
	o.try(o.f.SetSheetView(name, 0, &excelize.ViewOptions{ShowGridLines: &off}))
	s.sw, err = o.f.NewStreamWriter(name)
	o.try(err)
	if o.err != nil {
		return s
	}
	for i, w := range widths {
		o.try(s.sw.SetColWidth(i+1, i+1, w))
	}
	return s
}

// put writes one row; a string is guarded text, an int a number.
func (s *sheet) put(style int, values ...any) {
	if s.o.err != nil {
		return
	}
	cells := make([]any, len(values))
	for i, v := range values {
		switch v := v.(type) {
		case string:
			cells[i] = excelize.Cell{StyleID: style, Value: workbook.Guard(Clean(v))}
		case int:
			id := style
			if id == s.o.l.text || id == s.o.l.wrap {
				id = s.o.l.number
			}
			cells[i] = excelize.Cell{StyleID: id, Value: v}
		}
	}
	var opts []excelize.RowOpts
	if s.high > 0 {
		opts = append(opts, excelize.RowOpts{Height: s.high})
	}
	s.high = 0
	s.o.try(s.sw.SetRow("A"+strconv.Itoa(s.row), cells, opts...))
	s.row++
}

// painted writes one row whose cells have styles of their own.
func (s *sheet) painted(styles []int, values []string) {
	cells := make([]any, len(values))
	for i, v := range values {
		cells[i] = excelize.Cell{StyleID: styles[i], Value: workbook.Guard(Clean(v))}
	}
	s.o.try(s.sw.SetRow("A"+strconv.Itoa(s.row), cells, excelize.RowOpts{Height: s.high}))
	s.high = 0
	s.row++
}

// across writes text over the first so many columns.
func (s *sheet) across(style, columns int, height float64, words string) {
	values := make([]any, columns)
	values[0] = words
	s.high = height
	s.put(style, values...)
	if s.o.err == nil {
		end, err := excelize.CoordinatesToCellName(columns, s.row-1)
		s.o.try(err)
		s.o.try(s.sw.MergeCell("A"+strconv.Itoa(s.row-1), end))
	}
}

// heads writes column headings, two lines high.
func (s *sheet) heads(values ...any) {
	s.high = 27
	s.put(s.o.l.head, values...)
}

// blank writes an empty row of a height in points.
func (s *sheet) blank(points float64) {
	if s.o.err == nil {
		s.o.try(s.sw.SetRow("A"+strconv.Itoa(s.row), nil, excelize.RowOpts{Height: points}))
	}
	s.row++
}

func (s *sheet) flush() {
	if s.o.err == nil {
		s.o.try(s.sw.Flush())
	}
}

// freeze keeps the first column and the rows above the present one in view and
// on each page.
func (s *sheet) freeze() {
	if s.o.err != nil {
		return
	}
	s.o.try(s.sw.SetPanes(&excelize.Panes{Freeze: true, XSplit: 1, YSplit: s.row, TopLeftCell: "B" + strconv.Itoa(s.row+1), ActivePane: "bottomRight"}))
	titles := fmt.Sprintf("'%s'!$%d:$%d", s.name, s.row, s.row)
	if s.wide > 1 { // the file's name on each page, so that a row can be followed
		titles = fmt.Sprintf("'%s'!$A:$A,%s", s.name, titles)
	}
	s.o.try(s.o.f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", Scope: s.name, RefersTo: titles}))
}

// WriteXLSX writes the register as a workbook: the table with filters,
// summaries with charts, altered cells, files not read.
func (reg *Register) WriteXLSX(w io.Writer) error {
	o := &out{f: excelize.NewFile(), size: 1}
	if reg.Paper == workbook.A4 {
		o.size = 9
	}
	defer o.f.Close()
	o.try(o.f.SetDefaultFont("Arial"))
	var err error
	o.l, err = newLooks(o.f)
	o.try(err)
	reg.clerkSheet(o)
	reg.summarySheet(o)
	reg.alteredSheet(o)
	reg.everySheet(o)
	reg.tableSheet(o)
	o.try(o.f.SetCustomProps(excelize.CustomProperty{Name: registerMark, Value: reg.Today.Format(time.DateOnly)}))
	if o.err == nil {
		o.try(o.f.DeleteSheet("Sheet1"))
		o.f.SetActiveSheet(0)
	}
	if o.err != nil {
		return fmt.Errorf("register: %w", o.err)
	}
	return o.f.Write(w)
}

func (reg *Register) headline() string {
	return fmt.Sprintf("%d workbooks and %d other files, read on %s. Signatures are due %d days after the visit. Decisions and names are as typed by the supervisor. Printed is what is not complete.",
		len(reg.Rows), len(reg.Other), reg.Today.Format(time.DateOnly), reg.Term)
}

func (reg *Register) tableSheet(o *out) {
	var widths []float64
	var heads []any
	for _, c := range columns {
		widths, heads = append(widths, c.width), append(heads, c.head)
	}
	s := o.sheet("All columns", true, widths...)
	if o.err != nil {
		return
	}
	const top = 4 // the row of the headings
	s.row = top
	s.freeze() // before the first row is streamed
	s.row = 1
	s.across(o.l.title, 3, 24, "All that was read, a row for each file")
	s.across(o.l.note, 3, 26, reg.headline())
	s.row = top
	s.heads(heads...)
	line := make([]any, len(columns))
	for k := range reg.Rows {
		lines := 1
		for i, c := range columns {
			v := c.get(&reg.Rows[k])
			line[i] = v
			lines = max(lines, c.lines(v))
			if c.number {
				n, err := strconv.Atoi(v)
				o.try(err)
				line[i] = n
			}
		}
		s.high = 12*float64(min(lines, 30)) + 3
		s.put(o.l.wrap, line...)
	}
	if o.err != nil {
		return
	}
	last, err := excelize.CoordinatesToCellName(len(columns), max(top+1, s.row-1))
	o.try(err)
	o.try(o.f.AutoFilter(s.name, fmt.Sprintf("A%d:%s", top, last), nil))
	// To be searched and filtered, not printed: an empty cell below.
	o.try(o.f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Area", Scope: s.name, RefersTo: fmt.Sprintf("'%s'!$A$%d", s.name, s.row+20)}))
	s.flush()
}

// summaries are the columns that are summed up, and whether with a chart.
var summaries = []struct {
	column, head string
	chart        bool
}{
	{"standing", "What to do", false}, {"state", "By state", false},
	{"month", "By month of the visit", true}, {"failure", "By kind of failure", true}, {"technician", "By technician reference", true},
}

// meanings are the states in a clerk's words.
var meanings = [][2]string{
	{string(workbook.AsExported), "nobody has signed; nothing was touched"},
	{string(workbook.PartSigned), "the supervisor began to sign; name, date or decision is missing or is none"},
	{string(workbook.Signed), "name, date and decision are there, and no other cell was touched"},
	{string(workbook.Altered), "something besides the signature was changed; the sheet Altered has old and new"},
	{string(workbook.Damaged), "not read; the sheet Every file has the reason"},
}

const (
	chartRows   = 17
	summaryPage = 1080 // pixels of the sheet that go on a printed page
)

func (reg *Register) summarySheet(o *out) {
	s := o.sheet("Summary", false, 46, 9, 10, 9, 9, 9, 9, 11, 12)
	s.across(o.l.title, 9, 24, "Summary")
	s.across(o.l.note, 9, 26, reg.headline())
	for _, m := range meanings {
		s.put(o.l.text, m[0], m[1])
	}
	high := 20 * len(meanings) // pixels used on the printed page
	for _, sum := range summaries {
		groups := reg.Summary(sum.column)
		need := 20 * (len(groups) + 4)
		if sum.chart && len(groups) > 0 {
			need += chartRows * 20
		}
		if high+need > summaryPage && o.err == nil {
			o.try(s.sw.InsertPageBreak("A" + strconv.Itoa(s.row+1)))
			high = 0
		}
		high += need
		s.row++
		s.put(o.l.section, sum.head, "", "", "", "", "", "", "", "")
		s.heads("", "Files", "Complete", "Signed", "Altered", "Not read", "Overdue", "In two jobs", "With findings outside")
		first := s.row
		for _, g := range groups {
			s.put(o.l.text, g.Name, g.Files, g.Complete, g.Signed, g.Altered, g.NotRead, g.Overdue, g.Duplicate, g.WithOutside)
		}
		if sum.chart && len(groups) > 0 {
			o.chart(s, sum.head, first, s.row-1)
			for range chartRows { // as high as the chart in every program
				s.blank(15)
			}
		}
	}
	s.flush()
}

// chart draws files, complete ones and overdue ones per group; the three differ
// in darkness and carry their names.
func (o *out) chart(s *sheet, title string, first, last int) {
	if o.err != nil {
		return
	}
	series := func(col, color string) excelize.ChartSeries {
		return excelize.ChartSeries{
			Name:       fmt.Sprintf("'%s'!$%s$%d", s.name, col, first-1),
			Categories: fmt.Sprintf("'%s'!$A$%d:$A$%d", s.name, first, last),
			Values:     fmt.Sprintf("'%s'!$%s$%d:$%s$%d", s.name, col, first, col, last),
			Fill:       excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{color}},
		}
	}
	gap := uint(60)
	o.try(o.f.AddChart(s.name, "A"+strconv.Itoa(s.row+1), &excelize.Chart{
		Type:      excelize.Col,
		Series:    []excelize.ChartSeries{series("B", "B8C4CE"), series("C", "1D4E5F"), series("G", "B4532A")},
		Title:     excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: title, Font: &excelize.Font{Size: 11, Family: "Arial", Color: ink}}}},
		Legend:    excelize.ChartLegend{Position: "bottom"},
		XAxis:     excelize.ChartAxis{Font: excelize.Font{Size: 9, Color: ink}},
		YAxis:     excelize.ChartAxis{Font: excelize.Font{Size: 9, Color: ink}, MajorGridLines: true},
		GapWidth:  &gap,
		Dimension: excelize.ChartDimension{Width: 720, Height: 300},
		Format:    excelize.GraphicOptions{AltText: title + ": files, complete files and overdue signatures per group; the numbers stand in the table above."},
	}))
}

func (reg *Register) alteredSheet(o *out) {
	s := o.sheet("Altered", true, 54, 14, 8, 38, 21, 21, 12)
	s.across(o.l.title, 3, 24, "Cells altered after the export")
	s.across(o.l.note, 3, 15, "A calculated cell may follow from another change of the same file.")
	s.row++
	s.heads("File", "Sheet", "Cell", "Reading", "As exported", "Now", "Kind")
	for i := range reg.Rows {
		r := &reg.Rows[i]
		for _, c := range r.Changes {
			kind := "entered"
			if c.Derived {
				kind = "calculated"
			}
			s.put(o.l.text, r.File, c.Sheet, c.Cell, c.Label, c.Old, c.New, kind)
		}
		if r.More > 0 {
			s.put(o.l.text, r.File, "", "", fmt.Sprintf("%d more", r.More), "", "", "")
		}
	}
	s.flush()
}
