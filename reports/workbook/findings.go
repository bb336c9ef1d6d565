package workbook

import (
	"fmt"
	"math"

	"retrostage/reports/assess"

	"github.com/xuri/excelize/v2"
)

// The columns of the findings page. A strip is stripCells narrow columns; the
// columns behind it hold its geometry and are hidden.
const (
	colShape = iota + 1
	colFinding
	colValue
	colDoubt
	colUnit
	colLow
	colHigh
	colTarget
	colMargin
	colVerdict
	colStrip
	stripCells = 25
)

const (
	colAx0 = colStrip + stripCells + iota
	colAx1
	colPos
	colFrom
	colTo
	colAim
	colMark
	colBandLo
	colBandHi
	colWords // on the screen beside the strip, and not printed
)

// findingsPage draws every finding as a row with its strip, and below it in
// words what to do.
func (b *book) findingsPage() *page {
	widths := []float64{3.5, 44, 9, 8, 11, 9, 9, 9, 9, 17}
	for range stripCells {
		widths = append(widths, 1.35)
	}
	for range 9 {
		widths = append(widths, 9)
	}
	widths = append(widths, 95)
	p := newPage("Findings", "Findings", widths...)
	p.landscape, p.margin = true, 0.4
	last := colStrip + stripCells - 1
	p.printed = last
	row := b.banner(p, last)
	words := "Within: the value and its doubt ± lie inside the limits. Outside: the value and its doubt lie beyond a limit. Too close to call: a limit lies within the doubt. " +
		"± is the expanded uncertainty (about 95 %). Room is the distance to the nearer limit. The strip shows band ░, target ┃, value ● and doubt ─."
	p.text(row, 1, note, words)
	p.span(row, 1, last)
	p.fit(row, 1, last, words, note)
	row++
	for i, h := range []string{"Finding", "", "Value", "±", "Unit", "Low", "High", "Target", "Room", "Verdict", "Strip"} {
		num := ""
		switch {
		case i == 2 || i == 3 || i >= 5 && i <= 8:
			num = "0"
		case i == 4 || i == 9:
			num = "@"
		}
		p.set(row, i+1, cell{value: h, look: look{head, num}})
	}
	p.span(row, colShape, colFinding)
	p.span(row, colStrip, last)
	p.text(row, colWords, head, "In words")
	for i, h := range []string{"axis from", "axis to", "at", "doubt from", "doubt to", "target at", "mark", "band from", "band to"} {
		p.text(row, colAx0+i, head, h)
		p.hidden[colAx0+i] = true
	}
	p.repeat, p.freeze = [2]int{row, row}, row
	row++
	first := row
	group := ""
	for _, f := range b.rep.Findings {
		info, _ := f.Step.Info()
		if g := info.Title + ": " + f.Group; g != group {
			group = g
			p.text(row, 1, section, g)
			p.span(row, 1, last)
			p.heights[row] = 15
			row++
		}
		b.findingRow(p, row, f)
		row++
		switch {
		case f.Verdict == assess.Within:
			p.text(row-1, colWords, label, f.Next)
		case f.Verdict == assess.NotJudged && !beyond(f):
			p.text(row-1, colWords, label, f.Reason)
		default:
			words := f.Next
			if f.Verdict == assess.NotMeasured || f.Verdict == assess.NotJudged {
				words = f.Reason
			}
			p.text(row, 2, note, words)
			p.span(row, 2, last)
			p.fit(row, 2, last, words, note)
			row++
		}
	}
	b.names["verdicts"] = fmt.Sprintf("'%s'!%s:%s", p.name, absRef(first, colVerdict), absRef(max(first, row-1), colVerdict))
	b.order = append(b.order, "verdicts")
	p.finish = func(f *excelize.File, p *page) error {
		return b.colour(f, p, first, row-1)
	}
	return p
}

func absRef(row, col int) string {
	n, err := excelize.CoordinatesToCellName(col, row, true)
	if err != nil {
		panic(err)
	}
	return n
}

func (b *book) findingRow(p *page, row int, f assess.Finding) {
	places := decimals(b.places(f.Dim))
	p.text(row, colFinding, plain, f.Label)
	p.text(row, colUnit, unit, b.unit(f.Dim).Label)
	p.heights[row] = 13
	if float64(len([]rune(f.Label))) > 1.2*p.width(colFinding, colFinding) { // more than the widest type cuts
		p.text(row, colFinding, wrapped, f.Label)
		p.fit(row, colFinding, colFinding, f.Label, wrapped)
	}
	for c := colLow; c <= colMargin; c++ {
		p.set(row, c, cell{look: look{faint, places}})
	}
	word := string(f.Verdict)
	b.liveOf[f.Key] = fixed
	y, u := ref(row, colValue), ref(row, colDoubt)
	if !f.Measured {
		p.set(row, colValue, cell{look: look{figure, places}})
		p.set(row, colDoubt, cell{look: look{faint, places}})
		p.text(row, colVerdict, verdict, word)
		p.text(row, colShape, shape, shapes[f.Verdict])
		b.strip(p, row, f, false)
		return
	}
	value := b.show(f.Dim, f.Value)
	if formula, words, ok := b.formula(f); ok {
		p.live(row, colValue, figure, formula, value, places)
		b.liveOf[f.Key] = words
	} else {
		p.number(row, colValue, figure, value, places)
	}
	b.name("f_"+f.Key, p, row, colValue)
	p.number(row, colDoubt, faint, b.unit(f.Dim).Span(f.Expanded()), decimals(b.places(f.Dim)+1))
	lo, hi := "", ""
	margin := math.Inf(1)
	point := f.Band.Low != nil && f.Band.High != nil && *f.Band.Low == *f.Band.High
	matters := 0.0 // shown about a point: what differs by less agrees
	if point && f.Matters != nil {
		matters = b.unit(f.Dim).Span(*f.Matters)
	}
	if f.Band.Low != nil {
		lo = ref(row, colLow)
		p.number(row, colLow, faint, b.show(f.Dim, *f.Band.Low)-matters, places)
		margin = value - b.show(f.Dim, *f.Band.Low) + matters
	}
	if f.Band.High != nil {
		hi = ref(row, colHigh)
		p.number(row, colHigh, faint, b.show(f.Dim, *f.Band.High)+matters, places)
		margin = min(margin, b.show(f.Dim, *f.Band.High)+matters-value)
	}
	if f.Band.Target != nil {
		p.number(row, colTarget, faint, b.show(f.Dim, *f.Band.Target), places)
	}
	switch {
	case lo != "" && hi != "":
		p.live(row, colMargin, faint, fmt.Sprintf("MIN(%s-%s,%s-%s)", y, lo, hi, y), margin, places)
	case lo != "":
		p.live(row, colMargin, faint, y+"-"+lo, margin, places)
	case hi != "":
		p.live(row, colMargin, faint, hi+"-"+y, margin, places)
	}
	if f.Verdict == assess.NotJudged || lo == "" && hi == "" {
		p.text(row, colVerdict, verdict, word)
		p.text(row, colShape, shape, shapes[f.Verdict])
	} else {
		p.live(row, colVerdict, verdict, verdictFormula(y, u, lo, hi, point, matters), word, "")
		p.live(row, colShape, shape, shapeFormula(ref(row, colVerdict)), shapes[f.Verdict], "")
	}
	b.name("f_"+f.Key+"_verdict", p, row, colVerdict)
	b.strip(p, row, f, true)
}

// strip draws the scale of a finding: the axis is fixed when the file is made,
// value and doubt move with the readings.
func (b *book) strip(p *page, row int, f assess.Finding, there bool) {
	for k := range stripCells {
		p.set(row, colStrip+k, cell{look: look{kind: bar}, open: true})
	}
	if !there {
		return
	}
	value, doubt := b.show(f.Dim, f.Value), b.unit(f.Dim).Span(f.Expanded())
	lo, hi := value-doubt, value+doubt
	for _, x := range []*float64{f.Band.Low, f.Band.High, f.Band.Target} {
		if x != nil {
			lo, hi = min(lo, b.show(f.Dim, *x)), max(hi, b.show(f.Dim, *x))
		}
	}
	pad := 0.12 * (hi - lo)
	if pad == 0 {
		pad = 0.1*math.Abs(value) + 1
	}
	lo, hi = lo-pad, hi+pad
	const end = stripCells - 1
	place := func(x float64) float64 { return min(end, max(0, math.Round((x-lo)/(hi-lo)*end))) }
	y, u := ref(row, colValue), ref(row, colDoubt)
	x0, x1 := absCol(row, colAx0), absCol(row, colAx1)
	formula := func(x string) string {
		return fmt.Sprintf("IF(ISNUMBER(%s),MIN(%d,MAX(0,ROUND((%s-%s)/(%s-%s)*%d,0))),-1)", y, end, x, x0, x1, x0, end)
	}
	put := func(c int, x float64, f string) {
		p.set(row, c, cell{value: x, formula: f, look: look{faint, "0.###"}, open: true})
	}
	put(colAx0, lo, "")
	put(colAx1, hi, "")
	pos, from, to := place(value), place(value-doubt), place(value+doubt)
	put(colPos, pos, formula(y))
	put(colFrom, from, formula(y+"-"+u))
	put(colTo, to, formula(y+"+"+u))
	aim, bandLo, bandHi := -1.0, -1.0, -1.0
	if f.Band.Target != nil {
		aim = place(b.show(f.Dim, *f.Band.Target))
	}
	if f.Band.Low != nil || f.Band.High != nil {
		bandLo, bandHi = 0, end
		if f.Band.Low != nil {
			bandLo = place(b.show(f.Dim, *f.Band.Low))
		}
		if f.Band.High != nil {
			bandHi = place(b.show(f.Dim, *f.Band.High))
		}
	}
	put(colAim, aim, "")
	p.set(row, colMark, cell{value: "●", formula: fmt.Sprintf(`IF(%[1]s<%[2]s,"◀",IF(%[1]s>%[3]s,"▶","●"))`, y, x0, x1), look: look{kind: bar}, open: true})
	put(colBandLo, bandLo, "")
	put(colBandHi, bandHi, "")
	for k := range stripCells {
		mark := ""
		switch c := float64(k); {
		case c == pos:
			mark = "●"
		case c == aim:
			mark = "┃"
		case c >= from && c <= to:
			mark = "─"
		}
		p.set(row, colStrip+k, cell{value: mark, look: look{kind: bar}, open: true,
			formula: fmt.Sprintf(`IF(%[1]d=%[2]s,%[6]s,IF(%[1]d=%[3]s,"┃",IF(AND(%[1]d>=%[4]s,%[1]d<=%[5]s),"─","")))`,
				k, absCol(row, colPos), absCol(row, colAim), absCol(row, colFrom), absCol(row, colTo), absCol(row, colMark))})
	}
}

// stripMarks are the characters that a strip is drawn with.
const stripMarks = "●┃─◀▶"

func absCol(row, col int) string {
	n, err := excelize.ColumnNumberToName(col)
	if err != nil {
		panic(err)
	}
	return fmt.Sprintf("$%s%d", n, row)
}

// colour shades verdict words and bands by rule, so that they follow the
// formulas.
func (b *book) colour(f *excelize.File, p *page, first, last int) error {
	if err := verdictColours(f, p.name, fmt.Sprintf("%s:%s", ref(first, colVerdict), ref(last, colVerdict)), ref(first, colVerdict)); err != nil {
		return err
	}
	id, err := f.NewConditionalStyle(&excelize.Style{Fill: solid(bandFill)})
	if err != nil {
		return err
	}
	col := fmt.Sprintf("(COLUMN()-%d)", colStrip)
	return f.SetConditionalFormat(p.name, fmt.Sprintf("%s:%s", ref(first, colStrip), ref(last, colStrip+stripCells-1)), []excelize.ConditionalFormatOptions{{
		Type: "formula", Format: &id,
		Criteria: fmt.Sprintf(`AND(ISNUMBER(%[1]s),%[1]s>=0,%[3]s>=%[1]s,%[3]s<=%[2]s)`, absCol(first, colBandLo), absCol(first, colBandHi), col),
	}})
}

// verdictColours shades cells that hold verdict words; cell is the first of
// area.
func verdictColours(f *excelize.File, sheet, area, cell string) error {
	var rules []excelize.ConditionalFormatOptions
	for _, v := range []struct {
		word  assess.Verdict
		color string
	}{{assess.Within, paleOK}, {assess.Outside, paleOut}, {assess.TooClose, paleNear}} {
		id, err := f.NewConditionalStyle(&excelize.Style{Fill: solid(v.color)})
		if err != nil {
			return err
		}
		rules = append(rules, excelize.ConditionalFormatOptions{Type: "formula", Format: &id, Criteria: fmt.Sprintf(`%s="%s"`, cell, v.word)})
	}
	return f.SetConditionalFormat(sheet, area, rules)
}
