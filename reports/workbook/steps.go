package workbook

import (
	"fmt"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/record"

	"github.com/xuri/excelize/v2"
)

// stepPage gathers what belongs to some steps: what was written, the readings
// and the findings, the last two by reference to their own sheets.
func (b *book) stepPage(name, heading string, steps ...record.Step) *page {
	p := newPage(name, heading, 3.5, 40, 13, 11, 13, 20)
	row := b.banner(p, 6)
	var shade []int
	for _, s := range steps {
		info, _ := s.Info()
		p.text(row, 1, section, info.Title)
		p.span(row, 1, 6)
		p.heights[row] = 20
		row++
		p.text(row, 1, note, info.Purpose)
		p.span(row, 1, 6)
		p.fit(row, 1, 6, info.Purpose, note)
		row++
		row = b.stepTexts(p, row, s)
		row = b.stepReadings(p, row, s)
		var at int
		row, at = b.stepFindings(p, row, s)
		if at > 0 {
			shade = append(shade, at, row-2)
		}
		if s == record.Running {
			row = b.causes(p, row)
			row = b.sets(p, row)
		}
	}
	p.finish = func(f *excelize.File, p *page) error {
		for i := 0; i+1 < len(shade); i += 2 {
			if err := verdictColours(f, p.name, fmt.Sprintf("%s:%s", ref(shade[i], 6), ref(shade[i+1], 6)), ref(shade[i], 6)); err != nil {
				return err
			}
		}
		return nil
	}
	return p
}

func (b *book) stepTexts(p *page, row int, s record.Step) int {
	line := func(name, t string) {
		p.text(row, 1, plain, "")
		p.text(row, 2, label, name)
		p.text(row, 3, wrapped, t)
		p.span(row, 3, 6)
		p.fit(row, 3, 6, t, wrapped)
		row++
	}
	reservation, _ := s.Reservation()
	for _, f := range record.Of(s) {
		t := b.job.Text(f.Key)
		if f.Kind == record.Number || t == "" || f.Key == record.Candidates || f.Key == record.TrimSets { // the list stands judged on a sheet of its own
			continue
		}
		line(f.Label, t)
		if f.Key == reservation {
			line("What that reason is about", b.about(s))
		}
	}
	return row
}

// about is what the reason of a step covers, in words.
func (b *book) about(s record.Step) string {
	if r := b.state(s).Reason; r != nil && len(r.About) > 0 {
		return strings.Join(r.About, "; ")
	}
	return "nothing: it was not said to be about anything that stands"
}

func (b *book) stepReadings(p *page, row int, s record.Step) int {
	group := ""
	for _, f := range record.Of(s) {
		if _, ok := b.names[f.Key.String()]; !ok {
			continue
		}
		if group != f.Group {
			group = f.Group
			for i, h := range []string{group, "", "Reading", "Unit", "", ""} {
				num := ""
				switch i {
				case 2:
					num = "0"
				case 3:
					num = "@"
				}
				p.set(row, i+1, cell{value: h, look: look{head, num}})
			}
			p.span(row, 1, 2)
			p.span(row, 4, 6)
			row++
		}
		var shown any = b.job.Text(f.Key) // an open line
		if x, ok := b.job.SI(f.Key, b.rep.Site); ok {
			shown = b.show(f.Dim, x)
		}
		p.text(row, 1, plain, "")
		p.text(row, 2, plain, f.Label)
		p.live(row, 3, figure, f.Key.String(), shown, decimals(b.places(f.Dim)))
		p.text(row, 4, unit, b.unit(f.Dim).Label)
		p.text(row, 5, plain, "")
		p.text(row, 6, plain, "")
		row++
	}
	return row
}

// stepFindings returns the next row and the first row with a verdict, 0 if
// there is none.
func (b *book) stepFindings(p *page, row int, s record.Step) (int, int) {
	fs := b.rep.Of(s)
	if len(fs) == 0 {
		return row + 1, 0
	}
	for i, h := range []string{"Finding", "", "Value", "Unit", "±", "Verdict"} {
		num := ""
		switch i {
		case 2, 4:
			num = "0"
		case 3, 5:
			num = "@"
		}
		p.set(row, i+1, cell{value: h, look: look{head, num}})
	}
	p.span(row, 1, 2)
	row++
	first := row
	for _, f := range fs {
		b.findingLine(p, row, f)
		row++
	}
	return row + 1, first
}

// findingLine refers to a finding's row on its own sheet.
func (b *book) findingLine(p *page, row int, f assess.Finding) {
	p.text(row, 2, plain, f.Label)
	p.text(row, 4, unit, b.unit(f.Dim).Label)
	if !f.Measured {
		p.text(row, 1, shape, shapes[f.Verdict])
		p.text(row, 3, figure, "")
		p.text(row, 5, faint, "")
		p.text(row, 6, verdict, string(f.Verdict))
		return
	}
	num := decimals(b.places(f.Dim))
	p.live(row, 3, figure, "f_"+f.Key, b.show(f.Dim, f.Value), num)
	p.number(row, 5, faint, b.unit(f.Dim).Span(f.Expanded()), decimals(b.places(f.Dim)+1))
	p.live(row, 6, verdict, "f_"+f.Key+"_verdict", string(f.Verdict), "")
	p.live(row, 1, shape, shapeFormula(ref(row, 6)), shapes[f.Verdict], "")
}
