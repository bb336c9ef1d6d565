package workbook

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// A curve is what was fitted to a log, with its band and the lines that are drawn
// across it, over times of its own.
type curve struct {
	x     []float64
	heads []string
	y     [][]float64 // the middle, low, high, then lines
}

// curveWords say what the lines of such a picture are.
const curveWords = "Marks: as read. Line: the likeliest of what explains the readings; dashes: 95 % of it. Red: the limit. Green: where water would hold it."

// curveRows is how many points of a fit the sheet shows.
const curveRows = 25

// fitted makes the curve of a fit, s and Pa, thinned.
func (b *book) fitted(t, mid, low, high []float64) *curve {
	if len(t) < 2 {
		return nil
	}
	u := b.unit(units.Vacuum)
	c := &curve{heads: []string{"Likeliest, " + u.Label, "95 %: low, " + u.Label, "95 %: high, " + u.Label}, y: make([][]float64, 3)}
	n := min(curveRows, len(t))
	for i := range n {
		k := i * (len(t) - 1) / (n - 1)
		c.x = append(c.x, t[k]/60)
		for m, col := range [][]float64{mid, low, high} {
			c.y[m] = append(c.y[m], u.FromSI(col[k], 0))
		}
	}
	return c
}

// line draws a line across the curve, Pa.
func (c *curve) line(name string, u units.Unit, p float64) {
	col := make([]float64, len(c.x))
	for i := range col {
		col[i] = u.FromSI(p, 0)
	}
	c.heads, c.y = append(c.heads, name+", "+u.Label), append(c.y, col)
}

// rise is the isolated vacuum: readings, what explains them with its band, the limit at
// the end of the hold, and water's plateau where that is near. Where nothing could be
// fitted the readings are shown as they were noted.
func (b *book) rise() (seriesLog, bool) {
	q := b.rep.Rise
	if q == nil {
		return b.riseAsNoted()
	}
	u := b.unit(units.Vacuum)
	l := b.vacuumLog("Vacuum rise, valved off", q.Seconds, q.P)
	if l.curve = b.fitted(q.CurveT, q.CurveP, q.Low, q.High); l.curve == nil {
		return b.riseAsNoted()
	}
	if f, ok := b.rep.Find("vacuum_hold"); ok && f.Band.High != nil {
		l.curve.line("Limit at the end of the hold", u, *f.Band.High)
	}
	if f, ok := b.rep.Find("vacuum_word"); ok {
		l.says = f.Label + ": " + string(f.Verdict) + ". " + f.Next
	}
	l.says = sentences(l.says, b.plateau(&l, q.Plateau, q.PlateauOf, q.Plateau <= 2*slices.Max(q.P)))
	return l, len(l.x) > 1
}

// pull is the pull-down: readings, what explains them and goes on, and the vacuum that
// starts the hold.
func (b *book) pull() (seriesLog, bool) {
	q := b.rep.Pull
	if q == nil {
		return seriesLog{}, false
	}
	l := b.vacuumLog("Pull-down", q.Seconds, q.P)
	if l.curve = b.fitted(q.CurveT, q.CurveP, q.Low, q.High); l.curve == nil {
		return l, false
	}
	l.byDecades = true
	l.curve.line("To start the hold", b.unit(units.Vacuum), q.Target)
	switch {
	case q.Reaches < 0.5:
		l.says = "Pumping on like this does not get to the vacuum that starts the hold."
	case q.LeftHigh > 0:
		l.says = fmt.Sprintf("Pump still needed: %.0f min, 95 %% from %.0f to %.0f.", q.Left/60, q.LeftLow/60, q.LeftHigh/60)
	default:
		l.says = "The vacuum that starts the hold is reached."
	}
	l.says = sentences(l.says, b.plateau(&l, q.Plateau, q.PlateauOf, q.Plateau <= slices.Max(q.P)))
	return l, true
}

func (b *book) vacuumLog(name string, t, p []float64) seriesLog {
	u := b.unit(units.Vacuum)
	l := seriesLog{name: name, vacuum: true, xLabel: "min", heads: []string{"Pressure, " + u.Label}, y: make([][]float64, 1)}
	for i := range t {
		l.x = append(l.x, t[i]/60)
		l.y[0] = append(l.y[0], u.FromSI(p[i], 0))
	}
	return l
}

// plateau draws where water would hold the pressure, or says that it lies beyond.
func (b *book) plateau(l *seriesLog, p float64, of string, near bool) string {
	u := b.unit(units.Vacuum)
	switch {
	case p <= 0:
		return ""
	case near:
		l.curve.line("Water at "+of, u, p)
		return ""
	}
	return fmt.Sprintf("Water (%s) would hold it at %s, beyond the picture.", of, rounded(u.FromSI(p, 0), u))
}

func rounded(x float64, u units.Unit) string { return fmt.Sprintf("%.3g %s", x, u.Label) }

// closeUpRecord is what stays of close-up and trim for who comes after: joints,
// nitrogen, drier, leak search, evacuation, and the trim step by step with the readings
// before and after each. Nothing of it where nothing of it was entered.
func (b *book) closeUpRecord(l *flow) {
	rows := [][2]string{}
	entered := false
	for _, x := range []struct {
		name string
		keys []record.Key
	}{
		{"Joints opened or made", []record.Key{record.JointList}},
		{"Leak search at the unit's own pressure", []record.Key{record.LeakSearch}},
		{"Nitrogen while brazing", []record.Key{record.NitrogenFlow, record.NitrogenRate}},
		{"Liquid-line drier", []record.Key{record.DrierFitted, record.DrierSize, record.DrierDirection}},
		{"Evacuation", []record.Key{record.EvacuationWay, record.EvacuationBreaks, record.PumpValved}},
		{"Largest charge for the room, as read", []record.Key{record.FlammableMost, record.FlammableRead}},
	} {
		var said []string
		for _, k := range x.keys {
			t := b.job.Text(k)
			if e, ok := b.job.Entry(k); ok && k.Field().Kind == record.Number {
				t += " " + e.Unit
			}
			if t = strings.TrimSpace(t); t != "" {
				said = append(said, strings.ReplaceAll(t, "\n", " · "))
			}
		}
		text := strings.Join(said, "; ")
		entered = entered || text != "" && len(x.keys) != 2 // nitrogen alone is asked for of everybody
		switch {
		case text == "" && (x.keys[0] == record.EvacuationWay || x.keys[0] == record.FlammableMost):
			continue
		case text == "":
			text = "not entered"
		}
		rows = append(rows, [2]string{x.name, text})
	}
	if f, ok := b.rep.Find("evacuation_thinned"); ok {
		rows = append(rows, [2]string{"Breaks", f.Next})
	}
	if entered {
		l.title("Close-up")
		first := l.row
		for _, x := range rows {
			l.pair(x[0], x[1])
		}
		l.together(first, l.row-1)
	}
	b.trimRecord(l)
}

// trimRecord is the trim step by step.
func (b *book) trimRecord(l *flow) {
	t := b.rep.Trim
	if t == nil {
		return
	}
	m, d := b.unit(units.Mass), b.unit(units.TempDiff)
	num := decimals(1)
	l.title(fmt.Sprintf("Trim by %s, towards %.1f ± %.1f %s", t.By, d.FromSI(t.Target, 0), d.FromSI(t.Band, 0), d.Label))
	first := l.row
	for i, h := range []string{"Step", "", "Added, " + m.Label, "Read, " + d.Label, "In the band", "Expected, 95 %"} {
		f := "0"
		if i < 2 || i == 5 {
			f = "@"
		}
		l.set(l.row, i+1, cell{value: h, look: look{head, f}})
	}
	l.span(l.row, 1, 2)
	l.row++
	for i, s := range t.Steps {
		name := "before"
		if i > 0 {
			name = fmt.Sprintf("after step %d", i)
		}
		l.text(l.row, 1, label, name)
		l.span(l.row, 1, 2)
		l.number(l.row, 3, figure, m.FromSI(s.Added, 0), decimals(b.places(units.Mass)))
		l.number(l.row, 4, figure, d.FromSI(s.Read, 0), num)
		l.text(l.row, 5, faint, assess.Chance(s.In))
		expected := ""
		if i > 0 {
			expected = fmt.Sprintf("%.1f to %.1f", d.FromSI(s.Low, 0), d.FromSI(s.High, 0))
		}
		l.text(l.row, 6, unit, expected)
		l.row++
		l.rest(2, note, cmp.Or(s.Set.Words(b.opts.System, b.rep.Site), "No readings were kept with it: typed by hand, or changed since."))
		l.row++
	}
	if f, ok := b.rep.Find("trim_next"); ok && f.Next != "" {
		l.line(note, f.Next)
	}
	l.together(first, l.row-1)
}
