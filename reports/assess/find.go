package assess

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
	"retrostage/thermo/units"
	"retrostage/wiring/supply"
)

// find computes and judges one finding. The error means that the definition or
// the program's data are at fault; whatever is wrong with the readings is the
// finding's reason.
func (c *context) find(d definition) (Finding, error) {
	f := Finding{Key: d.key, Label: d.label, Step: d.step, Group: d.group, Dim: d.dim,
		Formula: d.words, Verdict: NotMeasured, K: 2, Inputs: []Input{}}
	in, missing := c.gather(d.inputs)
	if len(missing) > 0 {
		f.Reason = "needs: " + strings.Join(missing, ", ")
		f.Next = "Enter: " + strings.Join(missing, ", ") + "."
		return f, nil
	}
	row, reason, err := c.band(d, &f)
	if err != nil {
		return f, err
	}
	e := c.evaluation(d.relation, in)
	for _, r := range e.used {
		if r.err != nil {
			f.Reason, f.Next = r.err.Error(), "Check: "+r.label+"."
			return f, nil
		}
	}
	if row.Matters > 0 && f.Band.Low != nil {
		u, err := units.Lookup(d.dim, row.Unit)
		if err != nil {
			return f, err
		}
		x := u.SpanSI(row.Matters)
		f.Matters = &x
	}
	res, err := e.propagate(c.lim.Correlation.Same)
	if e.x.strange != "" {
		return f, fmt.Errorf("its relation reads %s, which is not among its inputs", e.x.strange)
	}
	if err != nil {
		f.Reason = err.Error()
		f.Next = "Check these readings: " + labels(e.used) + "."
		return f, nil
	}
	f.Measured, f.Value, f.U, f.K = true, res.Y[0], res.U[0], res.K(0)
	f.Inputs = e.told(res.Shares(0))
	f.Method = d.method(c)
	f.Sheet = d.resolve(in)
	if f.Sheet != "" && d.constants != nil {
		if f.Constants, err = d.constants(e.nominal()); err != nil {
			return f, err
		}
	}
	if reason == "" && d.valid != nil {
		reason = d.valid(c)
	}
	if reason != "" {
		f.Verdict, f.Reason, f.Next = NotJudged, reason, sentenceStart(reason)+"."
		if d.limit == "" && d.rule == "" && d.advice != nil {
			f.Next = cmp.Or(d.advice(c, f), f.Next)
		}
		return f, nil
	}
	if d.decide != nil {
		d.decide(c, &f, row)
	} else {
		c.judge(&f, row, res, e.used)
	}
	if d.only != nil && f.Verdict == Within {
		if w := d.only(c); w != "" {
			f.Verdict, f.Reason, f.Next = NotJudged, w, sentenceStart(w)+"."
		}
	}
	if w := c.uncharged(e.used); w != "" {
		f.Verdict, f.Reason, f.Next, f.Near = NotJudged, w, sentenceStart(w)+". Read it again with the charge in.", ""
	}
	if d.step == record.Running && f.Verdict == Within {
		if w := c.stands(e.used); w != "" {
			f.Verdict, f.Reason, f.Next = NotJudged, w, sentenceStart(w)+"."
		}
	}
	if d.advice != nil && f.Reason == "" {
		if w := d.advice(c, f); w != "" {
			f.Next = w
		}
	}
	return f, nil
}

// gather finds the readings of inputs; missing names those not there.
func (c *context) gather(inputs []input) (in []*reading, missing []string) {
	for _, i := range inputs {
		r := c.input(i)
		if r == nil && !i.optional {
			label := i.label()
			if len(i.fields) > 0 {
				label = c.takeAgain(i.fields[0], label)
			}
			missing = append(missing, label)
		}
		in = append(in, r)
	}
	return in, missing
}

// band gives f the band of its definition; reason is why there is none to judge
// by.
func (c *context) band(d definition, f *Finding) (row limit, reason string, err error) {
	switch {
	case d.limit != "":
		row = c.lim.byFinding[d.limit]
	case d.rule != "":
		row = citing(d.rule, d.ok)
	default:
		return row, "no limit applies", nil
	}
	f.Source, f.Confidence = row.Source, confidences[row.Confidence]
	target := math.NaN()
	if row.HighOf != nil {
		if t := c.reading(*row.HighOf); t != nil {
			f.Band.High = &t.si
		} else {
			reason = "no limit to hold it against: enter " + row.HighOf.Label()
		}
	}
	if d.target != nil {
		if target, reason = d.target(c); reason != "" {
			target = math.NaN()
		}
	}
	if row.PercentOf != nil && reason == "" {
		row.Percent, reason = c.percent(*row.PercentOf)
	}
	if d.bounds != nil {
		f.Band, reason = d.bounds(c)
	} else if row.HighOf == nil {
		f.Band, err = row.band(d.dim, target)
	}
	return row, reason, err
}

// citing is the row of limits that a rule of package supply stands for.
func citing(key, ok string) limit {
	t, err := supply.Load()
	if err != nil {
		return limit{}
	}
	r, _ := t.Rule(key)
	row := limit{Source: r.Cite(), NextLow: sentenceOf(cmp.Or(r.Next, r.Text)), NextOK: cmp.Or(ok, r.Text)}
	row.NextHigh = row.NextLow
	for k, word := range confidences {
		if string(word) == string(r.Confidence) {
			row.Confidence = k
		}
	}
	return row
}

// percent is the percentage picked for key.
func (c *context) percent(key record.Key) (float64, string) {
	text := c.job.Text(key)
	if text == "" { // the narrowest there is: nothing is within that the part's own would not let pass
		f, err := record.ByKey(key)
		if err != nil || len(f.Options) == 0 {
			return 0, "no limit to hold it against: pick " + key.Label()
		}
		text = f.Options[0]
	}
	p, err := strconv.ParseFloat(strings.TrimSuffix(text, " %"), 64)
	if err != nil {
		return 0, "no limit to hold it against: pick " + key.Label()
	}
	return p, ""
}

// narrowest tells, of a capacitor outside the narrowest class, that its own may be wider.
func narrowest(c *context, f Finding) string {
	if f.Verdict == Outside && c.job.Text(record.CapTolerance) == "" {
		return "Held against 5 %, the narrowest class: the part's own is not entered. Pick it if the part is marked wider."
	}
	return ""
}

// judge applies the guard-band rule and picks the next step.
func (c *context) judge(f *Finding, row limit, res uncertainty.Result, used []*reading) {
	lo, hi := math.Inf(-1), math.Inf(1)
	if f.Band.Low != nil {
		lo = *f.Band.Low
	}
	if f.Band.High != nil {
		hi = *f.Band.High
	}
	// A band of no width asks whether the value differs from the target at all.
	// Doubt is no agreement: that they agree is said only where a difference that
	// matters would have shown.
	if lo == hi {
		off := math.Abs(f.Value - lo)
		switch {
		case off > f.Expanded():
			f.Verdict, f.Next = Outside, row.side(f.Value < lo)
		case f.U == 0, f.Matters != nil && off+f.Expanded() <= *f.Matters:
			f.Verdict, f.Next = Within, row.NextOK
		default:
			f.Verdict = TooClose
			f.Settle = "Too coarse to tell: a difference that matters need not show in these readings." + closest(f)
			f.Next = f.Settle
		}
		f.Near = c.closer(f, used)
		return
	}
	switch uncertainty.Judge(f.Value, f.Expanded(), lo, hi) {
	case uncertainty.Within:
		f.Verdict, f.Next = Within, row.NextOK
	case uncertainty.Outside:
		f.Verdict, f.Next = Outside, row.side(f.Value < lo)
	default:
		f.Verdict = TooClose
		f.Settle = c.settle(res, lo, hi, used)
		f.Next = f.Settle
		f.Near = c.closer(f, used)
	}
}

// closest names the reading that carries most of the doubt.
func closest(f *Finding) string {
	top := Input{}
	for _, in := range f.Inputs {
		if in.U > 0 && in.Share > top.Share {
			top = in
		}
	}
	if top.Label == "" || top.Assumed {
		return ""
	}
	return " Most of the doubt is in " + strings.ToLower(top.Label[:1]) + top.Label[1:] + ": read it again, with a closer instrument if there is one."
}

// closer replaces what would settle a close call that will stay one. A joint or a
// vacuum is held longer, or with a closer gauge: there reading twice shows nothing.
func (c *context) closer(f *Finding, used []*reading) string {
	if f.Verdict != TooClose || f.Step == record.CloseUp {
		return ""
	}
	w := c.near(*f, used)
	if w != "" {
		f.Next = w
	}
	return w
}

// words are what the row says to do about f.
func (r limit) words(f Finding) string {
	switch f.Verdict {
	case Within:
		return r.NextOK
	case Outside:
		return r.side(f.Band.Low != nil && f.Value < *f.Band.Low)
	}
	return f.Next
}

func (r limit) side(low bool) string {
	if low {
		return r.NextLow
	}
	return r.NextHigh
}

// settle names the reading whose better measurement would settle a close
// call, in the unit in which it was read.
func (c *context) settle(res uncertainty.Result, lo, hi float64, used []*reading) string {
	improvable := make([]bool, len(used))
	for i, r := range used {
		improvable[i] = r.u > 0
	}
	adv, err := res.Settle(0, lo, hi, improvable)
	if err != nil || len(adv) == 0 {
		return "No single better reading would settle it: repeat the readings."
	}
	a := adv[0]
	r := used[a.Input]
	u := r.unit.In(c.system)
	have := 2 * u.Span(a.Have)
	if !a.Enough {
		return fmt.Sprintf("%s carries most of the doubt (%.0f %%; ±%s), but no single better reading settles it: repeat them all.", r.label, 100*a.Share, amount(have, u))
	}
	return fmt.Sprintf("Read %s to ±%s (now ±%.2g): that would settle it.", strings.ToLower(r.label[:1])+r.label[1:], amount(2*u.Span(a.Need), u), have) + unnamedWords(r)
}

// nameIt is what is missing where a usual instrument's doubt leaves a close call.
const nameIt = " No instrument is named for it, so that a usual one's doubt is taken: name the one it was read with, if its accuracy is stated."

// unnamedWords is nameIt for a reading that it is true of.
func unnamedWords(r *reading) string {
	if r.unnamed() {
		return nameIt
	}
	return ""
}

// Unnamed is the reading that carries most of a close call's doubt and that was taken
// with an instrument nobody named; ok is false where there is none.
func (f Finding) Unnamed() (key record.Key, ok bool) {
	if f.Verdict != TooClose {
		return key, false
	}
	top := Input{}
	for _, in := range f.Inputs {
		if in.Share > top.Share {
			top = in
		}
	}
	if !top.Unnamed {
		return key, false
	}
	field, err := record.ByName(top.Key)
	return field.Key, err == nil
}

// amount is a number in unit u as people read it; a ratio has no unit to show.
func amount(x float64, u units.Unit) string {
	if math.Abs(x) >= 99.5 { // 132, not 1.3e+02
		return strings.TrimSpace(fmt.Sprintf("%.0f %s", x, u.Label))
	}
	return strings.TrimSpace(fmt.Sprintf("%.2g %s", x, u.Label))
}

func labels(rs []*reading) string {
	var s []string
	for _, r := range rs {
		s = append(s, r.label)
	}
	return strings.Join(s, ", ")
}

func sharedWith(used []*reading, i int) string {
	for k, r := range used {
		if k != i && r.from != "" && r.from == used[i].from && r.unit.Dim == used[i].unit.Dim {
			return r.from
		}
	}
	return ""
}
