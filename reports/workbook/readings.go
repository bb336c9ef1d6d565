package workbook

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/reports/like"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// fields are those of the table and then those that only this job has, in the
// order in which they were first entered: decisions about the wiring, readings
// of the check-out.
func fields(j *record.Job) []record.Field {
	fs := slices.Clone(record.Fields)
	seen := map[record.Key]bool{}
	for _, f := range fs {
		seen[f.Key] = true
	}
	for _, e := range j.Entries {
		if f, err := record.ByKey(e.Key); err == nil && !seen[e.Key] {
			seen[e.Key] = true
			fs = append(fs, f)
		}
	}
	return fs
}

// numbers are the fields of a job that hold a number, in the order in which they
// are asked.
func numbers(j *record.Job) (fs []record.Field) {
	for _, f := range fields(j) {
		if _, ok := j.Number(f.Key); ok {
			fs = append(fs, f)
		}
	}
	return fs
}

// instrument is what a reading was taken with, as people name it.
func instrument(j *record.Job, f record.Field, e record.Entry) string {
	if i, ok := j.Instrument(e.Instrument); ok {
		return i.Name
	}
	if e.Instrument == "" && f.Origin == record.Stated {
		return "stated"
	}
	return e.Instrument
}

// readingsPage lists every number as typed, and beside it the same number in
// the workbook's unit: that second cell carries the name which formulas use.
func (b *book) readingsPage() *page {
	p := newPage("Readings", "Readings", 12, 33, 11, 11, 11, 11, 9, 25, 25, 9)
	p.landscape = true
	row := b.banner(p, 10)
	p.text(row, 1, note, "As entered: the number and unit as typed. In use: the same in this workbook's units ("+b.opts.System.String()+"); formulas call this cell by its name. ±: half-width of the instrument's accuracy. Times are those of the entry by the tablet, with their distance from UTC.")
	p.span(row, 1, 10)
	p.fit(row, 1, 10, p.at(row, 1).value.(string), note)
	row++
	for i, h := range []string{"Step", "Reading", "As entered", "Unit", "In use", "Unit", "±", "Time", "Instrument", "By"} {
		num := ""
		switch i {
		case 2, 4, 6:
			num = "0"
		case 3, 5, 7:
			num = "@"
		}
		p.set(row, i+1, cell{value: h, look: look{head, num}})
	}
	p.repeat, p.freeze = [2]int{row, row}, row
	row = b.siteRow(p, row+1)

	half := b.halfWidths()
	for _, f := range numbers(b.job) {
		e, _ := b.job.Entry(f.Key)
		a, _ := b.job.Number(f.Key)
		from := a.Unit
		info, _ := f.Step.Info()
		to := b.unit(f.Dim)
		num := typedFormat(e.Value)
		p.text(row, 1, label, info.Title)
		p.text(row, 2, wrapped, f.Label)
		p.fit(row, 2, 2, f.Label, wrapped)
		p.number(row, 3, figure, a.Typed, num)
		p.text(row, 4, unit, from.Label)
		if from.Name != to.Name {
			num = decimals(b.places(f.Dim))
		}
		p.live(row, 5, figure, convert(ref(row, 3), from, to), to.FromSI(a.SI(b.rep.Site), b.rep.Site), num)
		p.text(row, 6, unit, to.Label)
		if u, ok := half[f.Key.String()]; ok && u > 0 {
			p.number(row, 7, faint, to.Span(u), decimals(b.places(f.Dim)+1))
		} else {
			p.text(row, 7, faint, "")
		}
		when := e.Time.Format("2006-01-02 15:04 -07:00")
		if b.job.Later(f.Key) {
			when += enteredLater
			p.text(row, 8, wrapped, when)
			p.fit(row, 8, 8, when, wrapped)
		} else {
			p.text(row, 8, unit, when)
		}
		p.text(row, 9, label, instrument(b.job, f, e))
		p.text(row, 10, label, e.By)
		b.nameReading(f.Key, p, row, 5)
		row++
	}
	row = b.writtenRows(p, row+1)
	b.draftRows(p, row+1)
	return p
}

// enteredLater marks a reading that was entered later than it was measured.
const enteredLater = " (entered later than measured)"

// nameReading names the cell of a reading by its key. Keys of the check-out are
// no names: those cells are meter_1, meter_2 and so on.
func (b *book) nameReading(key record.Key, p *page, row, col int) {
	name := key.String()
	if strings.Contains(name, "/") {
		name = fmt.Sprintf("meter_%d", len(b.meters)+1)
		b.meters[key] = name
	}
	b.name(name, p, row, col)
}

// siteRow is the air pressure of the site in the unit of the circuit's
// pressures: live from the barometer or the altitude where it came from there.
func (b *book) siteRow(p *page, row int) int {
	u := absolute(b.unit(units.Pressure))
	from, formula := "sea level assumed", ""
	if _, ok := b.job.Entry(record.Barometer); ok {
		from = "barometer"
		formula = convert("barometer", b.unit(units.Barometric), u)
	} else if z, ok := b.job.SI(record.Altitude, 0); ok {
		from = "standard atmosphere at the altitude"
		// ASHRAE Handbook Fundamentals 2017, chapter 1, equation 3.
		if p := 101325 * math.Pow(1-2.25577e-5*z, 5.2559); math.Abs(p-b.rep.Site) < 1e-6*p {
			formula = fmt.Sprintf("%s*(1-0.0000225577*altitude*%s)^5.2559", constant(101325/u.Scale), constant(b.unit(units.Length).Scale))
		}
	}
	label1 := map[units.System]string{units.IP: "psia", units.SI: "kPa abs"}[b.opts.System]
	p.text(row, 1, label, "Site")
	p.text(row, 2, plain, "Air pressure of the site")
	p.text(row, 3, figure, "")
	p.text(row, 4, plain, "")
	p.live(row, 5, figure, formula, b.rep.Site/u.Scale, "0.000")
	p.text(row, 6, unit, label1)
	for c := 7; c <= 10; c++ {
		p.text(row, c, label, "")
	}
	p.text(row, 9, label, from)
	b.name("site_abs", p, row, 5)
	return row + 1
}

// halfWidths is the accuracy with which each reading entered the findings, SI:
// the findings carry the standard uncertainty of a rectangular distribution.
func (b *book) halfWidths() map[string]float64 {
	m := map[string]float64{}
	for _, f := range b.rep.Findings {
		for _, in := range f.Inputs {
			m[in.Key] = in.U * math.Sqrt(3)
		}
	}
	return m
}

// writtenRows lists everything that is not a number.
func (b *book) writtenRows(p *page, row int) int {
	p.text(row, 1, section, "As written")
	p.span(row, 1, 10)
	p.heights[row] = 20
	row++
	for _, f := range fields(b.job) {
		t := b.job.Text(f.Key)
		if t == "" {
			continue
		}
		if _, ok := b.job.SI(f.Key, 0); f.Kind == record.Number && ok {
			continue // has a line among the readings, a plate's range too
		}
		info, _ := f.Step.Info()
		p.text(row, 1, label, info.Title)
		p.text(row, 2, wrapped, f.Label)
		p.fit(row, 2, 2, f.Label, wrapped)
		p.text(row, 3, wrapped, t)
		p.span(row, 3, 10)
		p.fit(row, 3, 10, t, wrapped)
		if f.Kind == record.Number { // an open line
			b.nameReading(f.Key, p, row, 3)
		}
		row++
	}
	return row
}

// draftRows lists what was typed and could not be accepted.
func (b *book) draftRows(p *page, row int) {
	if len(b.job.Drafts) == 0 {
		return
	}
	p.text(row, 1, section, "Typed, but not accepted as readings")
	p.span(row, 1, 10)
	for _, d := range b.job.Drafts {
		row++
		f, err := record.ByKey(d.Key)
		if err != nil {
			continue
		}
		info, _ := f.Step.Info()
		p.text(row, 1, label, info.Title)
		p.text(row, 2, plain, f.Label)
		value := d.Value + " " + d.Unit
		if like.Is(d.Key) {
			value = "as there"
		}
		p.text(row, 3, wrapped, value)
		p.span(row, 3, 5)
		p.text(row, 6, wrapped, d.Reason)
		p.span(row, 6, 10)
		p.fit(row, 6, 10, d.Reason, wrapped)
	}
}

// saturationPage is the hidden table with the two live temperatures.
func (b *book) saturationPage() *page {
	p := newPage("Saturation", "Saturation", 12, 18, 18, 18, 18, 18)
	p.secret = true
	t, u := b.unit(units.Temperature), absolute(b.unit(units.Pressure))
	p.text(1, 1, title, "Saturation temperatures of "+b.sat.fluid+": cubic pieces over ln p")
	p.text(2, 1, note, b.satWords())
	p.text(4, 1, label, "ln p, first node")
	p.number(4, 2, figure, b.sat.x0-math.Log(u.Scale), "0.000000")
	p.text(5, 1, label, "distance")
	p.number(5, 2, figure, b.sat.h, "0.000000")
	b.name("sat_x0", p, 4, 2)
	b.name("sat_h", p, 5, 2)
	const top = 12
	for i := range satNodes {
		for k, x := range []float64{math.Exp(b.sat.x0+float64(i)*b.sat.h) / u.Scale,
			t.FromSI(b.sat.dew[i].T, 0), t.Span(b.sat.dew[i].slope), t.FromSI(b.sat.bub[i].T, 0), t.Span(b.sat.bub[i].slope)} {
			p.number(top+i, k+1, figure, x, "0.000000")
		}
	}
	for k, h := range []string{"p, " + u.Name + " abs", "T dew", "slope", "T bubble", "slope"} {
		p.text(top-1, k+1, head, h)
	}
	for i, s := range []struct {
		key   string
		press record.Key
		col   int
	}{{"evaporating", record.SuctionPressure, 2}, {"condensing", record.LiquidPressure, 4}} {
		f, ok := b.rep.Find(s.key)
		if _, there := b.names[s.press.String()]; !there || !ok || !f.Measured {
			continue
		}
		abs, _ := b.job.SI(s.press, b.rep.Site)
		x := (math.Log(abs) - b.sat.x0) / b.sat.h
		if !(x >= 0 && x < satNodes-1) {
			continue
		}
		// x in pieces; which piece; how far into it; its two nodes.
		row := 6 + i
		at := func(c int) string { return ref(row, c) }
		node := func(c, up int) string {
			return fmt.Sprintf("INDEX(%s:%s,%s+%d)", absRef(top, c), absRef(top+satNodes-1, c), at(3), 1+up)
		}
		a, c, ma, mc := node(s.col, 0), node(s.col, 1), node(s.col+1, 0), node(s.col+1, 1)
		p.text(row, 1, label, s.key)
		p.live(row, 2, figure, "(LN("+s.press.String()+"+site_abs)-sat_x0)/sat_h", x, "0.000000")
		p.live(row, 3, figure, fmt.Sprintf("IF(AND(%s>=0,%s<%d),INT(%s),NA())", at(2), at(2), satNodes-1, at(2)), math.Floor(x), "0")
		p.live(row, 4, figure, at(2)+"-"+at(3), x-math.Floor(x), "0.000000")
		p.live(row, 5, figure, fmt.Sprintf("%[1]s+%[5]s*(%[3]s+%[5]s*(3*(%[2]s-%[1]s)-2*%[3]s-%[4]s+%[5]s*(2*(%[1]s-%[2]s)+%[3]s+%[4]s)))", a, c, ma, mc, at(4)),
			b.show(units.Temperature, f.Value), "0.000000")
		b.name("sat_"+s.key, p, row, 5)
	}
	return p
}

func (b *book) satWords() string {
	u, t := b.unit(units.Pressure), b.unit(units.TempDiff)
	return fmt.Sprintf("Good from %.4g to %.4g %s; within %.1g %s of the equation of state at every point tried (five inside each of %d pieces, dew and bubble).",
		u.FromSI(b.sat.pMin, b.rep.Site), u.FromSI(b.sat.pMax, b.rep.Site), u.Label, t.Span(b.sat.bound), t.Label, satNodes-1)
}
