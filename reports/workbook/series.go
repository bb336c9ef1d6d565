package workbook

import (
	"fmt"
	"math"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/units"

	"github.com/xuri/excelize/v2"
)

// chartRows of rowPoints each are as high as a chart.
const chartRows = 17

// curvedRows of them are as high as a chart with a fit.
const curvedRows = 12

// maxSeriesRows is how many rows of a log the sheet shows; a longer log is
// thinned to every nth row. The record keeps them all.
const maxSeriesRows = 600

// charted is a log with the rows that its chart is drawn from.
type charted struct {
	sheet       string
	at          int // row of the chart beside its numbers, 0 if it stands elsewhere
	first, last int
	fit         [2]int // first and last row of what was fitted, 0 without
	log         seriesLog
}

// seriesPage lists logged readings, pull-down and vacuum rise, each log with a chart of
// the spreadsheet program's own; those of the vacuum are given back, for a page that is
// printed. There is none without such readings.
func (b *book) seriesPage() (*page, []charted) {
	logs := b.logs()
	if len(logs) == 0 {
		return nil, nil
	}
	p := newPage("Series", "Logged readings", 10, 14, 14, 14, 14, 14, 14)
	row := b.banner(p, 7)
	var charts, vacuum []charted
	for _, l := range logs {
		p.text(row, 1, section, l.name)
		p.span(row, 1, 7)
		p.heights[row] = 20
		row++
		c := charted{sheet: p.name, log: l}
		if !l.vacuum {
			c.at = row
			for range chartRows {
				p.text(row, 1, note, "")
				p.heights[row] = rowPoints
				row++
			}
			p.together(c.at, row+2)
		}
		c.first, c.last = l.numbers(p, row)
		row = c.last + 2
		if l.curve != nil {
			c.fit[0], c.fit[1] = seriesLog{xLabel: l.xLabel, x: l.curve.x, heads: l.curve.heads, y: l.curve.y}.numbers(p, row)
			row = c.fit[1] + 2
		}
		if l.vacuum {
			vacuum = append(vacuum, c)
			continue
		}
		charts = append(charts, c)
	}
	p.finish = func(f *excelize.File, p *page) error {
		for _, c := range charts {
			if err := b.addChart(f, p, c.at, 1, wideChart, c); err != nil {
				return err
			}
		}
		return nil
	}
	return p, vacuum
}

// numbers lays the table of a log, its limits beside it, and gives its rows.
func (l seriesLog) numbers(p *page, row int) (first, last int) {
	p.text(row, 1, head, l.xLabel)
	for i, h := range l.heads {
		p.set(row, i+2, cell{value: h, look: look{head, "0"}})
		p.fit(row, i+2, i+2, h, head)
	}
	row++
	first = row
	for i, x := range l.x {
		p.number(row, 1, figure, x, "0.0")
		for k, col := range l.y {
			if !math.IsNaN(col[i]) {
				p.number(row, k+2, figure, col[i], "0.0")
			}
		}
		row++
	}
	return first, row - 1
}

// seriesLog is one log in the units that the workbook shows.
type seriesLog struct {
	name, xLabel string
	x            []float64
	heads        []string
	y            [][]float64 // readings, then limits
	limits       int         // how many of y are limits
	vacuum       bool
	curve        *curve // what was fitted to it
	byDecades    bool   // drawn on a logarithmic axis
	says         string // what it shows, in the words of its finding
}

// limit draws a line at what a finding is held against, SI.
func (l *seriesLog) limit(name string, u units.Unit, site float64, x *float64) {
	if x == nil || len(l.y) >= 6 {
		return
	}
	col := make([]float64, len(l.x))
	for i := range col {
		col[i] = u.FromSI(*x, site)
	}
	l.heads, l.y = append(l.heads, name+", "+u.Label), append(l.y, col)
	l.limits++
}

// limited draws the limits of the findings that are one reading of the log as read.
func (b *book) limited(l *seriesLog, key record.Key, dim units.Dimension) {
	for _, f := range b.rep.Findings {
		if f.Dim != dim || len(f.Inputs) != 1 || f.Inputs[0].Key != key.String() {
			continue
		}
		l.limit(f.Label+": at least", b.unit(dim), b.rep.Site, f.Band.Low)
		l.limit(f.Label+": at most", b.unit(dim), b.rep.Site, f.Band.High)
	}
}

func (b *book) logs() []seriesLog {
	var out []seriesLog
	for _, s := range b.job.Series {
		l := seriesLog{name: s.Name, xLabel: "min"}
		step := max(1, (len(s.Seconds)+maxSeriesRows-1)/maxSeriesRows)
		for i := 0; i < len(s.Seconds); i += step {
			l.x = append(l.x, s.Seconds[i]/60)
		}
		if step > 1 {
			l.name += fmt.Sprintf(" (one row in %d)", step)
		}
		for _, c := range s.Columns {
			f, err := record.ByKey(c.Key)
			if err != nil || len(l.y) == 6 {
				continue
			}
			from, err := units.Lookup(f.Dim, c.Unit)
			if err != nil {
				continue
			}
			to := b.unit(f.Dim)
			var col []float64
			for i := 0; i < len(c.Values); i += step {
				col = append(col, to.FromSI(from.ToSI(c.Values[i], b.rep.Site), b.rep.Site))
			}
			l.heads, l.y = append(l.heads, f.Label+", "+to.Label), append(l.y, col)
		}
		if len(l.x) > 1 && len(l.y) > 0 {
			for _, c := range s.Columns {
				if f, err := record.ByKey(c.Key); err == nil {
					b.limited(&l, c.Key, f.Dim)
				}
			}
			out = append(out, l)
		}
	}
	if l, ok := b.pull(); ok {
		out = append(out, l)
	}
	if l, ok := b.rise(); ok {
		out = append(out, l)
	}
	return out
}

// riseAsNoted reads the vacuum rise as it was noted: one line each, minutes and
// microns. Lines that are not two numbers are left out.
func (b *book) riseAsNoted() (seriesLog, bool) {
	u := b.unit(units.Vacuum)
	micron, err := units.Lookup(units.Vacuum, "micron")
	if err != nil {
		return seriesLog{}, false
	}
	l := seriesLog{name: "Vacuum rise, valved off", vacuum: true, xLabel: "min", heads: []string{"Pressure, " + u.Label}, y: make([][]float64, 1)}
	for _, line := range strings.Split(b.job.Text(record.VacuumRise), "\n") {
		fs := strings.FieldsFunc(line, func(r rune) bool { return r == ' ' || r == '\t' || r == ';' || r == ',' })
		if len(fs) != 2 {
			continue
		}
		t, err1 := units.Number(fs[0])
		v, err2 := units.Number(fs[1])
		if err1 != nil || err2 != nil {
			continue
		}
		l.x = append(l.x, t)
		l.y[0] = append(l.y[0], u.FromSI(micron.ToSI(v, 0), 0))
	}
	if f, ok := b.rep.Find("vacuum_hold"); ok {
		l.limit("Limit at the end of the hold", u, 0, f.Band.High)
	}
	return l, len(l.x) > 1
}

type stroke struct {
	color string
	dash  excelize.LineDashType
}

// limitLine is how a limit is drawn.
var limitLine = stroke{"A11D1D", excelize.LineDashLgDashDotDot}

// lines are told apart by dash as well as by colour.
var lines = []stroke{{"1D4E5F", excelize.LineDashSolid}, {"B4532A", excelize.LineDashDash}, {"5B7F2B", excelize.LineDashSysDot}, {"6B4E9B", excelize.LineDashLgDash}, {"8A6D1F", excelize.LineDashLgDashDot}, {"52606D", excelize.LineDashSysDash}}

// Widths of a chart in pixels: over the page, and of two beside each other on the page
// of what is continued.
const (
	wideChart  = 680
	leftChart  = 342
	rightChart = 436
)

// addChart draws a log at a cell. One with a fit has its readings as marks and the fit
// with its band and limits as lines.
func (b *book) addChart(f *excelize.File, p *page, at, col int, width uint, c charted) error {
	l := c.log
	var ss []excelize.ChartSeries
	series := func(i int, rows [2]int, s stroke, width float64) {
		n, err := excelize.ColumnNumberToName(i + 2)
		if err != nil {
			panic(err) // a column that this package computed is out of range
		}
		ss = append(ss, excelize.ChartSeries{
			Name:       fmt.Sprintf("'%s'!$%s$%d", c.sheet, n, rows[0]-1),
			Categories: fmt.Sprintf("'%s'!$A$%d:$A$%d", c.sheet, rows[0], rows[1]),
			Values:     fmt.Sprintf("'%s'!$%s$%d:$%s$%d", c.sheet, n, rows[0], n, rows[1]),
			Fill:       solid(s.color), // of the line: the library takes no other colour for it
			Line:       excelize.LineOptions{Type: excelize.LineSolid, Dash: s.dash, Width: width},
			Marker:     excelize.ChartMarker{Symbol: "none"},
		})
	}
	for i := range l.y {
		s := lines[i%len(lines)]
		if i >= len(l.y)-l.limits {
			s = limitLine
		}
		series(i, [2]int{c.first, c.last}, s, 1.75)
		if l.curve != nil {
			last := &ss[len(ss)-1]
			last.Line = excelize.LineOptions{Type: excelize.LineNone}
			last.Marker = excelize.ChartMarker{Symbol: "circle", Size: 5, Fill: solid(s.color)}
		}
	}
	if l.curve != nil {
		for i := range l.curve.y {
			switch {
			case i == 0:
				series(i, c.fit, stroke{ink, excelize.LineDashSolid}, 1.5)
			case i < 3:
				series(i, c.fit, stroke{muted, excelize.LineDashSysDash}, 0.75)
			case i == 3:
				series(i, c.fit, limitLine, 1.5)
			default:
				series(i, c.fit, lines[2], 1.5)
			}
		}
	}
	y := excelize.ChartAxis{MajorGridLines: true, Font: excelize.Font{Size: 9, Color: ink}}
	if l.byDecades {
		y.LogBase = 10
	}
	chart := &excelize.Chart{
		Type: excelize.Scatter, Series: ss,
		Title:     excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: l.name, Font: &excelize.Font{Size: 11, Family: fontName, Color: ink}}}},
		Legend:    excelize.ChartLegend{Position: "bottom"},
		XAxis:     excelize.ChartAxis{Title: axisTitle("minutes"), Font: excelize.Font{Size: 9, Color: ink}},
		YAxis:     y,
		Dimension: excelize.ChartDimension{Width: width, Height: 330},
		Format:    excelize.GraphicOptions{AltText: "Chart of " + l.name + " over time; the numbers stand on the sheet " + c.sheet + ".", Positioning: "oneCell"},
	}
	if l.curve != nil { // what the lines are is said below it
		chart.Legend.Position = "none"
		chart.Dimension.Height = curvedRows * rowPoints * 4 / 3
	}
	return f.AddChart(p.name, ref(at, col), chart)
}

func axisTitle(s string) excelize.ChartTitle {
	return excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: s, Font: &excelize.Font{Size: 9, Family: fontName, Color: muted}}}}
}
