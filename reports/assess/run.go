package assess

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
	"retrostage/thermo/units"
)

// rule says how one finding comes about.
type rule struct {
	key, label string
	step       record.Step
	group      string
	dim        units.Dimension
	formula    string

	// needs names the readings, in the order in which eval takes them.
	needs []need

	// applies tells whether the finding belongs to this job at all; nil
	// means always.
	applies func(*context) bool

	// eval computes the value in SI from the readings in SI, gauge readings
	// already absolute.
	eval func(c *context, x []float64) (float64, error)

	// target supplies what the band lies around, SI, or why there is none;
	// nil means that the band's row has its own numbers.
	target func(*context) (float64, string)

	// bounds reckons the band itself, SI, or why there is none, where it hangs
	// on other fields through a table; the row then has the words alone. nil
	// means that the row has the band.
	bounds func(*context) (Band, string)

	// valid returns why the value cannot be judged under these conditions,
	// "" if it can; nil means that it always can.
	valid func(*context) string

	// cite names the rule of package supply that stands for the row of limits,
	// and ok what to do when the value is within.
	cite, ok string

	// words, if not nil and not empty, says what the outcome means for this job
	// and what to do, instead of the row.
	words func(*context, Finding) string
}

// allRules is every rule; findings of one step stand together in the pane.
var allRules = slices.Concat(rules, delivering)

// Run assesses the job. It does not change or keep it. The error means that
// the program's own data are damaged; whatever is wrong with the job stands in
// the report.
func Run(j *record.Job) (*Report, error) {
	c, err := newContext(j)
	if err != nil {
		return nil, err
	}
	r := &Report{Job: j.ID, Demo: j.Demo, Site: c.site.si, Findings: []Finding{}, Problems: c.problems()}
	for _, ru := range allRules {
		if ru.applies != nil && !ru.applies(c) {
			continue
		}
		f, err := c.find(ru)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", ru.key, err)
		}
		r.Findings = append(r.Findings, f)
	}
	r.Cycle = c.cycle()
	r.Rise = c.riseCurve()
	c.readLogsOnce()
	r.Logs = c.steadily.logs
	r.Steps = c.states(r)
	return r, nil
}

// inputs gathers the readings that ru needs; missing names those not there.
func (c *context) inputs(ru rule) (in []*reading, missing []string) {
	for _, need := range ru.needs {
		r := c.input(need)
		if r == nil && !need.optional {
			missing = append(missing, need.label())
		}
		in = append(in, r)
	}
	return in, missing
}

func (c *context) find(ru rule) (Finding, error) {
	f := Finding{Key: ru.key, Label: ru.label, Step: ru.step, Group: ru.group, Dim: ru.dim,
		Formula: ru.formula, Verdict: NotMeasured, K: 2, Inputs: []Input{}}
	row, limited := c.lim.byFinding[ru.key]
	if ru.cite != "" {
		row, limited = citing(ru.cite, ru.ok)
	}
	in, missing := c.inputs(ru)
	if len(missing) > 0 {
		f.Reason = "needs: " + strings.Join(missing, ", ")
		f.Next = "Enter: " + strings.Join(missing, ", ") + "."
		return f, nil
	}
	reason := ""
	if limited {
		f.Source, f.Confidence = row.Source, confidences[row.Confidence]
		target := math.NaN()
		if row.HighOf != nil {
			if t := c.reading(*row.HighOf); t != nil {
				row.High = nil
				f.Band.High = &t.si
			} else {
				reason = "no limit to hold it against: enter " + row.HighOf.Label()
			}
		}
		if ru.target != nil {
			if target, reason = ru.target(c); reason != "" {
				target = math.NaN()
			}
		}
		if row.PercentOf != nil && reason == "" {
			row.Percent, reason = c.percent(*row.PercentOf)
		}
		if ru.bounds != nil {
			f.Band, reason = ru.bounds(c)
		} else if row.HighOf == nil {
			b, err := row.band(ru.dim, target)
			if err != nil {
				return f, err
			}
			f.Band = b
		}
	} else {
		reason = "no limit applies"
	}

	// The readings of one finding, then the site's pressure where a gauge
	// reading is among them.
	var used []*reading
	at := make([]int, len(in)) // where the reading of each need stands in used
	gauge := false
	for i, r := range in {
		at[i] = -1
		if r == nil {
			continue
		}
		gauge = gauge || r.gauge
		// A reading that is needed twice moves in both places at once.
		if at[i] = slices.IndexFunc(used, func(u *reading) bool { return u.key == r.key }); at[i] < 0 {
			at[i] = len(used)
			used = append(used, r)
		}
	}
	siteAt := slices.IndexFunc(used, func(r *reading) bool { return r.key == siteKey })
	if gauge && siteAt < 0 {
		siteAt = len(used)
		used = append(used, &c.site)
	}
	for _, r := range used {
		if r.err != nil {
			f.Reason, f.Next = r.err.Error(), "Check: "+r.label+"."
			return f, nil
		}
	}
	x := make([]float64, len(in))
	out := make([]float64, 1)
	eval := func(v []float64) ([]float64, error) {
		for i, r := range in {
			if x[i] = math.NaN(); r == nil {
				continue
			}
			if x[i] = v[at[i]]; r.gauge {
				x[i] += v[siteAt]
			}
		}
		y, err := ru.eval(c, x)
		if err == nil && (math.IsNaN(y) || math.IsInf(y, 0)) {
			err = fmt.Errorf("the readings give no number")
		}
		out[0] = y
		return out, err
	}
	q := uncertainty.Inputs{X: make([]float64, len(used)), U: make([]float64, len(used))}
	var pairs []uncertainty.Pair
	for i, r := range used {
		q.X[i], q.U[i] = r.si, r.u
		for k, s := range used[:i] {
			if r.from != "" && r.from == s.from && r.u > 0 && s.u > 0 && r.unit.Dim == s.unit.Dim {
				pairs = append(pairs, uncertainty.Pair{I: k, J: i, R: c.lim.Correlation.Same})
			}
		}
	}
	if pairs != nil {
		q.R = uncertainty.Correlated(len(used), pairs...)
	}
	res, err := uncertainty.Propagate(eval, q)
	if err != nil {
		f.Reason = err.Error()
		f.Next = "Check these readings: " + labels(used) + "."
		return f, nil
	}
	f.Measured, f.Value, f.U, f.K = true, res.Y[0], res.U[0], res.K(0)
	shares := res.Shares(0)
	for i, r := range used {
		v := r.si
		if r.gauge {
			v += c.site.si
		}
		f.Inputs = append(f.Inputs, Input{Key: r.key, Label: r.label, Value: v, U: r.u, Share: shares[i], Doubt: r.doubt, Shared: sharedWith(used, i)})
	}
	if reason == "" && ru.valid != nil {
		reason = ru.valid(c)
	}
	if reason != "" {
		f.Verdict, f.Reason, f.Next = NotJudged, reason, reason+"."
		f.Next = strings.ToUpper(f.Next[:1]) + f.Next[1:]
		return f, nil
	}
	c.judge(&f, row, res, used)
	if ru.words != nil {
		if w := ru.words(c, f); w != "" {
			f.Next = w
		}
	}
	return f, nil
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
	// A band of no width asks whether the value differs from the target at
	// all: with doubt around it, it can only be found to differ.
	if lo == hi {
		f.Verdict, f.Next = Within, row.NextOK
		if math.Abs(f.Value-lo) > f.Expanded() {
			f.Verdict, f.Next = Outside, row.side(f.Value < lo)
		}
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
	}
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
	have := 2 * r.unit.Span(a.Have)
	if !a.Enough {
		return fmt.Sprintf("%s carries most of the doubt (%.0f %%; ±%s), but no single better reading settles it: repeat them all.", r.label, 100*a.Share, amount(have, r.unit))
	}
	return fmt.Sprintf("Read %s to ±%s (now ±%.2g): that would settle it.", strings.ToLower(r.label[:1])+r.label[1:], amount(2*r.unit.Span(a.Need), r.unit), have)
}

// amount is a number in unit u as people read it; a ratio has no unit to show.
func amount(x float64, u units.Unit) string {
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
