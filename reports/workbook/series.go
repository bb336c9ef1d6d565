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

// maxSeriesRows is how many rows of a log the sheet shows; a longer log is
// thinned to every nth row. The record keeps them all.
const maxSeriesRows = 600

// charted is a log with the rows that its chart is drawn from.
type charted struct {
	sheet       string
	at          int // row of the chart beside its numbers, 0 if it stands elsewhere
	first, last int
	log         seriesLog
}

// seriesPage lists logged readings and the vacuum rise, each log with a chart of the
// spreadsheet program's own; that of the rise is given back, for a page that is
// printed. There is none without such readings.
func (b *book) seriesPage() (*page, *charted) {
	logs := b.logs()
	if len(logs) == 0 {
		return nil, nil
	}
	p := newPage("Series", "Logged readings", 10, 14, 14, 14, 14, 14, 14)
	row := b.banner(p, 7)
	var charts []charted
	var vacuum *charted
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
		if l.vacuum {
			vacuum = &c
			continue
		}
		charts = append(charts, c)
	}
	p.finish = func(f *excelize.File, p *page) error {
		for _, c := range charts {
			if err := b.addChart(f, p, c.at, c); err != nil {
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
	if l, ok := b.rise(); ok {
		out = append(out, l)
	}
	return out
}

// rise reads the vacuum rise as it was noted: one line each, minutes and
// microns. Lines that are not two numbers are left out.
func (b *book) rise() (seriesLog, bool) {
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

func (b *book) addChart(f *excelize.File, p *page, at int, c charted) error {
	l, first, last := c.log, c.first, c.last
	var ss []excelize.ChartSeries
	for i := range l.y {
		n, err := excelize.ColumnNumberToName(i + 2)
		if err != nil {
			return err
		}
		s := lines[i%len(lines)]
		if i >= len(l.y)-l.limits {
			s = limitLine
		}
		ss = append(ss, excelize.ChartSeries{
			Name:       fmt.Sprintf("'%s'!$%s$%d", c.sheet, n, first-1),
			Categories: fmt.Sprintf("'%s'!$A$%d:$A$%d", c.sheet, first, last),
			Values:     fmt.Sprintf("'%s'!$%s$%d:$%s$%d", c.sheet, n, first, n, last),
			Line:       excelize.LineOptions{Type: excelize.LineSolid, Fill: solid(s.color), Dash: s.dash, Width: 1.75},
			Marker:     excelize.ChartMarker{Symbol: "none"},
		})
	}
	return f.AddChart(p.name, ref(at, 1), &excelize.Chart{
		Type: excelize.Scatter, Series: ss,
		Title:     excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: l.name, Font: &excelize.Font{Size: 11, Family: fontName, Color: ink}}}},
		Legend:    excelize.ChartLegend{Position: "bottom"},
		XAxis:     excelize.ChartAxis{Title: axisTitle("minutes"), Font: excelize.Font{Size: 9, Color: ink}},
		YAxis:     excelize.ChartAxis{MajorGridLines: true, Font: excelize.Font{Size: 9, Color: ink}},
		Dimension: excelize.ChartDimension{Width: 680, Height: 330},
		Format:    excelize.GraphicOptions{AltText: "Chart of " + l.name + " over time; the numbers stand on the sheet " + c.sheet + ".", Positioning: "oneCell"},
	})
}

func axisTitle(s string) excelize.ChartTitle {
	return excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: s, Font: &excelize.Font{Size: 9, Family: fontName, Color: muted}}}}
}
