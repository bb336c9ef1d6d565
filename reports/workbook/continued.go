package workbook

import (
	"cmp"
	"fmt"

	"retrostage/reports/assess"
	"retrostage/reports/record"

	"github.com/xuri/excelize/v2"
)

// chartBeside is the column in which the second of two charts begins.
const chartBeside = 3

// continuedPage holds what the first page had no room for: what else stands against
// signing, texts that were cut, what was done, the steps, the vacuum's rise and the
// parts that the compressor changes.
func (b *book) continuedPage(first *front, vacuum []charted) (*page, error) {
	l := &flow{page: newPage("Continued", "Continued from the first page", 3.5, 40, 13, 11, 13, 20), last: 6}
	l.row = b.banner(l.page, 6) - 1
	judged := [2]int{}
	if all := b.objections(); len(all) > worst {
		l.title("What stands against it, continued: " + tallyWords(all[worst:]))
		judged[0] = l.row
		for _, o := range all[worst:] {
			b.continued(l, o)
		}
		judged[1] = l.row - 1
	}
	if len(first.cut) > 0 {
		l.title("Cut short on the first page, here in full")
		for _, c := range first.cut {
			l.pair(c[0], c[1])
		}
	}
	if first.tight > 0 {
		l.title("What was done")
		for _, x := range b.doneInFull() {
			l.pair(x[0], x[1])
		}
		if open := b.openWork(); len(open) > 0 {
			l.title("Steps that are not done, or done with reservations")
			for _, x := range open {
				l.pair(x[0], x[1])
			}
		}
	}
	if b.wiring.plan == nil && b.wiring.why != "" { // its own sheet says no more
		l.title("Wiring plan")
		l.line(wrapped, b.wiring.why)
	}
	var at int
	if len(vacuum) > 0 {
		l.title("Evacuation")
		at = l.row
		for range curvedRows {
			l.text(l.row, 1, note, "")
			l.heights[l.row] = rowPoints
			l.row++
		}
		l.line(note, curveWords)
		for _, c := range vacuum {
			if c.log.says != "" {
				l.line(note, c.log.name+". "+c.log.says)
			}
		}
		l.together(at-1, l.row-1)
	}
	b.closeUpRecord(l)
	l.row++
	if err := b.oldNew(l.page, l.row, false); err != nil {
		return nil, err
	}
	l.finish = func(f *excelize.File, p *page) error {
		if judged[0] > 0 {
			if err := verdictColours(f, p.name, fmt.Sprintf("%s:%s", ref(judged[0], 6), ref(judged[1], 6)), ref(judged[0], 6)); err != nil {
				return err
			}
		}
		for i, c := range vacuum {
			col, width := 1, uint(wideChart)
			switch { // nothing but pull-down and rise is two
			case i > 0:
				col, width = chartBeside, rightChart
			case len(vacuum) > 1:
				width = leftChart
			}
			if err := b.addChart(f, p, at, col, width, c); err != nil {
				return err
			}
		}
		return nil
	}
	return l.page, nil
}

// continued is an objection of the first page's form, nothing cut.
func (b *book) continued(l *flow, o objection) {
	l.text(l.row, 1, shape, shapes[o.word])
	l.text(l.row, 2, wrapped, o.what)
	l.fit(l.row, 2, 2, o.what, wrapped)
	for c := 3; c <= 5; c++ {
		l.text(l.row, c, faint, "")
	}
	if x := o.finding; x != nil && x.Measured {
		num := decimals(b.places(x.Dim))
		if u := b.unit(x.Dim).Label; u != "" {
			num += ` "` + u + `"`
		}
		l.live(l.row, 3, figure, "f_"+x.Key, b.show(x.Dim, x.Value), num)
		l.text(l.row, 4, faint, b.limitWords(*x))
		l.span(l.row, 4, 5)
		l.live(l.row, 6, verdict, "f_"+x.Key+"_verdict", string(x.Verdict), "")
		l.live(l.row, 1, shape, shapeFormula(ref(l.row, 6)), shapes[x.Verdict], "")
	} else {
		l.text(l.row, 6, verdict, o.said())
	}
	l.row++
	l.rest(2, note, o.words)
	l.row++
}

// pair is one line of label and text.
func (l *flow) pair(name, text string) {
	l.text(l.row, 1, label, name)
	l.span(l.row, 1, 2)
	l.fit(l.row, 1, 2, name, label)
	l.rest(3, wrapped, text)
	l.row++
}

// doneInFull is what the first page has room for only now and then: names and texts.
func (b *book) doneInFull() (out [][2]string) {
	entered := func(k record.Key) string { return cmp.Or(b.job.Text(k), notEntered) }
	return [][2]string{{"Advice to the owner", entered(record.OwnerAdvice)}, {"New label on the unit", entered(record.LabelDone)},
		{"Cautions read", "dead checks: " + entered(record.AckDead) + "; live checks: " + entered(record.AckLive)}}
}

// openWork names the steps that are not done, with what holds them.
func (b *book) openWork() (out [][2]string) {
	for _, s := range b.rep.Steps {
		if s.Word == assess.Done {
			continue
		}
		info, _ := s.Step.Info()
		t := string(s.Word)
		if s.Why != "" {
			t += ": " + s.Why
		}
		out = append(out, [2]string{info.Title, t})
	}
	return out
}
