package workbook

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"

	"github.com/xuri/excelize/v2"
)

// maxSuspects is how many faults are named; more than that tell that readings
// are wanted, not where to look.
const maxSuspects = 12

// checkOut holds each check-out reading against what the circuit as planned
// reads there, with a live verdict, and names what is left suspect.
func (b *book) checkOut(l *flow) {
	w := &b.wiring
	l.title("What the meter read at the check-out")
	if len(w.readings) == 0 {
		l.line(note, "No reading of the check-out was entered.")
		return
	}
	l.heads("Leads", "", "Read", "Predicted", "±", "Unit", "", "Verdict")
	l.span(l.row-1, 1, 2)
	l.span(l.row-1, colMeter, colMeter+1)
	for i, num := range map[int]string{colRead: "0", colExpect: "0", colWithin: "0", colMeter: "@", colJudged: "@"} {
		l.set(l.row-1, i, cell{value: l.at(l.row-1, i).value, look: look{head, num}})
	}
	ms := slices.Clone(w.readings)
	rank := map[string]int{"ohms": 0, "volts": 1, "amps": 2}
	slices.SortStableFunc(ms, func(a, b plan.Metered) int {
		return cmp.Or(min(rank[a.Test.Meter], 1)-min(rank[b.Test.Meter], 1), strings.Compare(a.Test.State, b.Test.State), rank[a.Test.Meter]-rank[b.Test.Meter])
	})
	first, heading := l.row, ""
	for _, m := range ms {
		h := "Live list (Running check): " + m.Test.State
		if m.Test.Meter == "ohms" {
			h = "Dead list (Wiring), locked out: " + m.Test.State
		}
		if h != heading {
			heading = h
			l.text(l.row, 1, label, "")
			l.rest(2, label, h)
			l.glue[l.row] = true
			l.row++
		}
		b.meterRow(l, m)
	}
	shade := fmt.Sprintf("%s:%s", ref(first, colJudged), ref(l.row-1, colJudged))
	l.finish = func(f *excelize.File, p *page) error {
		return verdictColours(f, p.name, shade, ref(first, colJudged))
	}
	b.suspected(l)
}

// meterRow is one reading; its verdict follows the cell on Readings.
func (b *book) meterRow(l *flow, m plan.Metered) {
	row := l.row
	f, err := record.ByKey(m.Key)
	name, named := b.meters[m.Key]
	if err != nil || !named {
		return
	}
	u := b.unit(f.Dim)
	x, num := any(u.FromSI(m.Value, 0)), decimals(b.places(f.Dim))
	if b.job.Text(m.Key) == record.OpenLine {
		x, num = record.OpenLine, "General"
	}
	var now *netlist.Unit
	if b.wiring.plan != nil {
		now = b.wiring.plan.New
	}
	where := m.Where(now)
	l.text(row, colLeads, wrapped, where)
	l.fit(row, colLeads, colLeads, where, wrapped)
	l.live(row, colRead, figure, name, x, num)
	l.text(row, colMeter, unit, u.Label)
	l.text(row, colMeter+1, plain, "")
	verdictWord, expect, tol := assess.Outside, u.FromSI(m.Test.Expect, 0), u.Span(m.Test.Tolerance)
	if m.Fits {
		verdictWord = assess.Within
	}
	at := ref(row, colRead)
	var formula string
	switch {
	case m.Elsewhere:
		l.text(row, colExpect, figure, "")
		l.text(row, colWithin, faint, "")
		l.text(row, 1, shape, shapes[assess.NotJudged])
		l.text(row, colJudged, verdict, string(assess.NotJudged)+": the circuit as planned has no such place or state")
		l.row++
		return
	case m.Test.Open:
		l.text(row, colExpect, figure, record.OpenLine)
		l.text(row, colWithin, faint, "")
		formula = fmt.Sprintf(`IF(%[1]s=%[2]q,"within",IF(NOT(ISNUMBER(%[1]s)),"not measured",IF(%[1]s>=%[3]s,"within","outside")))`, at, record.OpenLine, constant(expect-tol))
	default:
		l.number(row, colExpect, figure, expect, decimals(b.places(f.Dim)))
		l.number(row, colWithin, faint, tol, decimals(b.places(f.Dim)))
		formula = fmt.Sprintf(`IF(%[1]s=%[2]q,"outside",IF(NOT(ISNUMBER(%[1]s)),"not measured",IF(ABS(%[1]s-%[3]s)<=%[4]s*%[5]s,"within","outside")))`,
			at, record.OpenLine, ref(row, colExpect), ref(row, colWithin), constant(plan.Edge))
	}
	l.live(row, colJudged, verdict, formula, string(verdictWord), "")
	l.live(row, 1, shape, shapeFormula(ref(row, colJudged)), shapes[verdictWord], "")
	l.row++
}

// suspected says what the readings leave to look at, as found when the file was
// made.
func (b *book) suspected(l *flow) {
	w := &b.wiring
	n := 0
	for _, m := range w.readings {
		if !m.Elsewhere {
			n++
		}
	}
	out, sound := w.outside(), false
	faults := w.suspects[:0:0]
	for _, s := range w.suspects {
		if s.Fault == "" {
			sound = true
		} else {
			faults = append(faults, s)
		}
	}
	switch {
	case n == 0:
		l.line(note, "None of these readings belongs to the circuit as planned: nothing was held against them.")
		return
	case out == 0 && len(w.mute) > 0:
		l.line(warn, fmt.Sprintf("%s entered, all within what the circuit as planned reads; %d of them tell nothing apart: as read they fit every single fault too. Faults that none of the others shows are not excluded.", readings(n), len(w.mute)))
		for _, m := range w.readings {
			if slices.Contains(w.mute, m.Key) {
				l.text(l.row, 1, shape, shapes[assess.TooClose])
				l.rest(2, wrapped, "Tells nothing apart: "+m.Where(w.plan.New)+", "+m.Test.State)
				l.row++
			}
		}
	case out == 0:
		l.line(note, fmt.Sprintf("%s entered, all within what the circuit as planned reads. Faults that none of them shows are not excluded.", readings(n)))
	case sound:
		l.line(warn, fmt.Sprintf("%d of %s at the edge of their tolerance; the circuit as planned still fits them. To be read again.", out, readings(n)))
	case len(faults) == 0:
		l.line(warn, fmt.Sprintf("%d of %s outside, and no single fault explains them all: more than one fault, or a unit not wired as planned.", out, readings(n)))
	default:
		l.line(warn, fmt.Sprintf("%d of %s outside. Single faults that fit every reading: %d.", out, readings(n), len(faults)))
		for i, s := range faults {
			if i == maxSuspects {
				l.line(note, fmt.Sprintf("And %d more: further readings narrow them down.", len(faults)-i))
				break
			}
			l.text(l.row, 1, shape, shapes[assess.Outside])
			l.text(l.row, 2, wrapped, s.Part)
			l.fit(l.row, 2, 2, s.Part, wrapped)
			l.rest(3, wrapped, s.Words)
			l.row++
		}
	}
	l.line(note, "Time, instrument and person of each reading stand on the sheet Readings. The verdicts are live; what is left suspect is as found when the file was made. Tolerances: "+planner.ToleranceSource()+".")
}

func readings(n int) string { return count(n, "reading") }

// count puts a number of things into words.
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
