package assess

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
	"retrostage/thermo/air"
	"retrostage/thermo/cycle"
	"retrostage/thermo/diagnose"
	"retrostage/thermo/units"
)

// Diagnosis ranks what may be wrong with the running unit. It is a help to the eye
// and no proof.
type Diagnosis struct {
	Outcome string   `json:"outcome"`          // in words
	Clear   bool     `json:"clear"`            // no fault stands out; where neither this nor Found, it cannot be told, or nothing fits
	Found   bool     `json:"found"`            // something is wrong, and the first cause or causes fit
	Single  bool     `json:"single"`           // the first cause may be named alone
	Set     []string `json:"set"`              // the causes that the readings do not tell apart, or that go together, if not Single
	Ask     []string `json:"ask"`              // readings not taken that would tell them apart, best first; or would tell whether anything is wrong
	Missing []string `json:"missing"`          // readings without which there is no ranking
	Helpful []string `json:"helpful"`          // readings not taken that would sharpen it
	Beside  string   `json:"beside,omitempty"` // what it is compared with, where that is not the typical unit
	Healthy float64  `json:"healthy"`          // probability that nothing is wrong
	Causes  []Cause  `json:"causes"`           // most likely first
}

// Cause is one explanation of the readings.
type Cause struct {
	Label   string     `json:"label"`
	P       float64    `json:"p"`                 // probability among all explanations, health included
	Reading string     `json:"reading,omitempty"` // the field doubted, if the cause is a wrong reading
	For     []Evidence `json:"for"`
	Against []Evidence `json:"against"`
	Next    string     `json:"next"`    // cheapest test that tells it from its rivals
	Minutes float64    `json:"minutes"` // that test takes
}

// Evidence is what one feature of the readings says, SI; a ratio as its fraction
// above or below one.
type Evidence struct {
	Feature string          `json:"feature"`
	Dim     units.Dimension `json:"dimension"`
	Off     float64         `json:"off"`     // read less expected of a healthy unit in this weather
	Doubt   float64         `json:"doubt"`   // two standard deviations among healthy units and readings
	Pattern float64         `json:"pattern"` // what the cause would do
}

// RankedBy says what stands behind the ranking.
const RankedBy = "Formula: p(readings | cause) by a normal law over all deviations at once, the mean over several severities; Bayes' rule over all causes and health. " +
	"From: the readings of this step and their doubts, the plate's capacity and target, the map where there is one; what they would be on a healthy unit by a model of one in this weather. " +
	"Method: the pattern of each cause by the program's own model of a machine; how often each cause turns up and how much healthy units differ are common practice, no source."

// The words of a diagnosis that did not rank anything.
const (
	tooFew    = "not enough readings"
	notInHere = "the conditions do not allow it"

	contradict = "not ranked while readings contradict each other"
)

// diagnosed pairs readings of package diagnose with fields. Those needed come
// first.
var diagnosed = []pairing{
	{diagnose.SuctionP, record.SuctionPressure}, {diagnose.SuctionT, record.SuctionTemp}, {diagnose.LiquidP, record.LiquidPressure}, {diagnose.LiquidT, record.LiquidTemp},
	{diagnose.OutdoorT, record.OutdoorTemp}, {diagnose.ReturnT, record.ReturnDB}, {diagnose.WetBulb, record.ReturnWB},
	{diagnose.DischargeT, record.DischargeTemp}, {diagnose.SupplyT, record.SupplyDB}, {diagnose.CondAirT, record.CondenserAirOut},
	{diagnose.ValveT, record.ValveTemp}, {diagnose.RestP, record.RestPressure}, {diagnose.RestT, record.RestTemp},
}

type pairing struct {
	q   diagnose.Quantity
	key record.Key
}

const neededReadings = 7

// check is a running check as package diagnose takes it.
type check struct {
	machine  diagnose.Machine
	readings diagnose.Readings
}

// check gathers the readings to be ranked by; nil where there is nothing to rank,
// and the diagnosis then says why.
func (c *context) check(rep *Report) (*check, *Diagnosis, error) {
	d := &Diagnosis{Outcome: tooFew, Set: []string{}, Ask: []string{}, Missing: []string{}, Helpful: []string{}, Causes: []Cause{}}
	need := func(key record.Key) *reading {
		r := c.reading(key)
		if r == nil {
			d.Missing = append(d.Missing, key.Label())
		}
		return r
	}
	if c.fluid == nil {
		need(record.Refrigerant)
	}
	capacity := c.reading(record.NewCapacity)
	if capacity == nil {
		capacity = need(record.NominalCapacity)
	}
	var rs diagnose.Readings
	for i, q := range diagnosed {
		if i >= neededReadings && c.reading(q.key) == nil {
			d.Helpful = append(d.Helpful, q.key.Label())
			continue
		}
		r := need(q.key)
		if r == nil {
			continue
		}
		x := diagnose.Reading{Value: r.si, U: r.u, Have: true, Tool: toolOf(r)}
		if r.gauge {
			x.Value += c.site.si
			x.U = uncertainty.Combine(r.u, c.site.u)
		}
		rs[q.q] = x
	}
	// The standing pressure says nothing without the coil's temperature then.
	if p, t := &rs[diagnose.RestP], &rs[diagnose.RestT]; p.Have != t.Have {
		*p, *t = diagnose.Reading{}, diagnose.Reading{}
	}
	k := diagnose.Machine{Fixed: fixed(c), Pressure: c.site.si}
	window := "subcooling"
	if k.Fixed {
		window = "superheat"
		if t := c.reading(record.TagSuperheat); t != nil {
			k.Target, k.UTarget = t.si, c.assume("setting").u
		} else if wb, odb := c.reading(record.ReturnWB), c.reading(record.OutdoorTemp); wb != nil && odb != nil {
			t, err := targetSuperheat(wb.si, odb.si)
			if err != nil {
				d.Outcome = notInHere + ": " + err.Error()
				return nil, d, nil
			}
			k.Target, k.UTarget = t.Value, uncertainty.Combine(t.U, c.assume("setting").u)
		}
	} else if t := need(record.TagSubcooling); t != nil {
		k.Target, k.UTarget = t.si, c.assume("setting").u
	}
	if len(d.Missing) > 0 {
		return nil, d, nil
	}
	why := c.conditions(window)
	if wait, _ := settling(); why == "" && c.reading(record.SettleTime) != nil && c.value(record.SettleTime) < wait.Seconds() {
		why = settled(c)
	}
	if why != "" {
		d.Outcome = notInHere + ": " + why
		return nil, d, nil
	}
	for _, p := range c.problems() {
		if p.Key == record.Barometer || p.Key == record.ChargedWith || slices.ContainsFunc(diagnosed, func(q pairing) bool { return q.key == p.Key }) {
			d.Outcome = contradict + ": " + p.Key.Label() + ": " + p.Text
			return nil, d, nil
		}
	}
	k.Capacity = capacity.si
	k.Weighed, k.UWeighed = c.weighedOver()
	var err error
	if k.Props, err = cycle.PropsOf(c.fluid); err != nil {
		return nil, nil, err
	}
	if k.Map, err = c.compMap(); err != nil {
		return nil, nil, err
	}
	if err := c.air(&k, &rs, d); err != nil {
		return nil, nil, err
	}
	// The compressor's power as its finding has it.
	if f, ok := rep.Find("power_drawn"); ok && f.Measured && f.Value > 0 {
		rs[diagnose.Power] = diagnose.Reading{Value: f.Value, U: f.U, Have: true}
	} else {
		d.Helpful = append(d.Helpful, "Compressor power, or voltage and current")
	}
	if k.Commissioned, d.Beside, err = c.commissioned(); err != nil {
		return nil, nil, err
	}
	return &check{k, rs}, d, nil
}

// Visits after which a unit is as it was left, and those that leave it another one.
var (
	looks   = []string{"cold-day return", "callback", "one-year look"}
	changes = []string{"opened", "fitted", "second opening"}
)

// commissioned is what an earlier visit read on this unit, where it was sound then by its
// own readings and was not opened since; of says which visit.
func (c *context) commissioned() (r *diagnose.Readings, of string, err error) {
	now, ok := c.job.Visit()
	if c.plain || !ok || !slices.Contains(looks, now.Kind) {
		return nil, "", nil
	}
	base, was := c.job.Baseline()
	if len(was) == 0 || base.Kind != "" && !slices.Contains(looks, base.Kind) && !slices.Contains(changes[1:], base.Kind) {
		return nil, "", nil
	}
	since := false
	for _, v := range c.job.Visits() {
		if since && slices.Contains(changes, v.Kind) {
			return nil, "", nil
		}
		since = since || v == base
	}
	n := slices.IndexFunc(c.job.Entries, func(e record.Entry) bool { return e.Key == record.VisitNow && e.Value == now.Name })
	if n < 0 {
		return nil, "", nil
	}
	old := c.job.Before(n)
	rep, err := New(old).Report()
	if err != nil {
		return nil, "", err
	}
	then, err := newContext(old)
	if err != nil {
		return nil, "", err
	}
	then.plain = true
	if slices.ContainsFunc(rep.Of(record.Running), func(f Finding) bool {
		return f.Verdict == Outside || f.Verdict == TooClose && f.Group == qCharge
	}) {
		return nil, "", nil // what it was left as was not right by its own findings
	}
	k, _, err := then.check(rep)
	if k == nil || err != nil {
		return nil, "", err
	}
	found, err := diagnose.Run(k.machine, k.readings)
	if err != nil || found.Outcome != diagnose.Fine {
		return nil, "", nil // not known to have been sound: the typical unit stands in
	}
	when := base.Date
	if when == "" {
		when = old.Entries[n-1].Time.Format(time.DateOnly)
	}
	return &k.readings, "this unit as it was read by " + when, nil
}

// rank completes the diagnosis.
func (k *check) rank(d *Diagnosis) (*Diagnosis, error) {
	rep, err := diagnose.Run(k.machine, k.readings)
	if err != nil {
		return nil, err
	}
	d.Outcome, d.Found, d.Healthy = rep.Words(), rep.Outcome == diagnose.Found, rep.Healthy
	d.Clear = rep.Outcome == diagnose.Fine
	d.Single = rep.Single()
	switch {
	case d.Beside == "":
	case rep.Fitted:
		d.Beside = "Compared with " + d.Beside + ", the model fitted to it, and not with a typical unit."
	default:
		d.Beside = "Compared with a typical unit, not with " + d.Beside + ": " + rep.Unfit + "."
	}
	if d.Found && !d.Single {
		n := rep.First
		if rep.Together {
			n = 2
		}
		for _, x := range rep.Causes[:min(n, len(rep.Causes))] {
			d.Set = append(d.Set, x.Label)
		}
	}
	if d.Found || rep.Outcome == diagnose.Unsure {
		for _, q := range rep.Ask {
			d.Ask = append(d.Ask, asked(q))
		}
	}
	for i, x := range rep.Causes {
		if i >= 1 && x.P < 0.01 || i >= 6 {
			break
		}
		y := Cause{Label: x.Label, P: x.P, For: evidence(x.For), Against: evidence(x.Against), Next: x.Next.Do, Minutes: x.Next.Minutes}
		k.weighing(&y, x)
		if x.IsProbe {
			y.Reading = x.Probe.Key()
		}
		d.Causes = append(d.Causes, y)
	}
	return d, nil
}

// weighedOver is the charge weighed in, trim included, over that built up, less one, with
// its standard uncertainty; 0, 0 where either is not known.
func (c *context) weighedOver() (over, u float64) {
	built, in := c.input(builtUp), c.reading(record.WeighedIn)
	if built == nil || built.err != nil || in == nil || built.si <= 0 {
		return 0, 0
	}
	m, um := in.si, in.u
	if t := c.reading(record.Trimmed); t != nil {
		m, um = m+t.si, um+t.u // one scale
	}
	if m <= 0 || m > 10*built.si {
		return 0, 0
	}
	return m/built.si - 1, math.Hypot(um/built.si, m*built.u/(built.si*built.si))
}

// weighing adds what the weighed charge says to a cause that is one of the charge.
func (k *check) weighing(y *Cause, x diagnose.Cause) {
	if k.machine.UWeighed == 0 || x.IsProbe || x.Fault != cycle.Undercharge && x.Fault != cycle.Overcharge {
		return
	}
	off := x.Severity
	if x.Fault == cycle.Undercharge {
		off = -off
	}
	e := Evidence{Feature: "Charge weighed, over the charge built up", Dim: units.Percent, Off: k.machine.Weighed, Doubt: 2 * k.machine.UWeighed, Pattern: off}
	switch {
	case e.Off*off > 0 && math.Abs(e.Off) > e.Doubt:
		y.For = append(y.For, e)
	case math.Abs(e.Off-off) > e.Doubt:
		y.Against = append(y.Against, e)
	}
}

// toolOf names the instrument of a reading where several may be of one: as entered, or
// for gauges, of which a unit sees one set, by their class.
func toolOf(r *reading) string {
	if r.from == "" && r.gauge {
		return "any " + r.field.Field().Class
	}
	return r.from
}

// asked is the label of the field that holds a reading.
func asked(q diagnose.Quantity) string {
	for _, x := range diagnosed {
		if x.q == q {
			return x.key.Label()
		}
	}
	return map[diagnose.Quantity]string{diagnose.IndoorAir: record.Airflow.Label(), diagnose.Power: record.InputPower.Label()}[q]
}

// Said is the outcome in a sentence without its full stop. A cause is named alone
// only where the ranking tells it from the others.
func (d *Diagnosis) Said() string {
	said := sentenceStart(strings.TrimSuffix(d.Outcome, "."))
	if d.Single && len(d.Causes) > 0 {
		said += ": " + strings.ToLower(d.Causes[0].Label[:1]) + d.Causes[0].Label[1:] + " (" + Chance(d.Causes[0].P) + ")"
	}
	return said
}

// air puts in the measured air flow and what the nominal capacity asks for.
func (c *context) air(k *diagnose.Machine, rs *diagnose.Readings, d *Diagnosis) error {
	in, err := air.FromWetBulb(rs[diagnose.ReturnT].Value, rs[diagnose.WetBulb].Value, c.site.si)
	if err != nil {
		return fmt.Errorf("return air: %w", err)
	}
	per, err := units.Lookup(units.AirPerCap, "cfm/ton")
	if err != nil {
		return err
	}
	if n := c.reading(record.NominalCapacity); n != nil {
		k.DesignAir = per.SpanSI(c.assume("design_air").si) * n.si / in.V()
	}
	r := c.reading(record.Airflow)
	if r == nil {
		d.Helpful = append(d.Helpful, "Indoor airflow")
		return nil
	}
	rs[diagnose.IndoorAir] = diagnose.Reading{Value: r.si / in.V(), U: r.u / in.V(), Have: true}
	return nil
}

// Chance writes a probability without claiming what it cannot know.
func Chance(p float64) string {
	switch {
	case p >= 0.99:
		return "> 99 %"
	case p < 0.01:
		return "< 1 %"
	}
	return fmt.Sprintf("%.0f %%", math.Round(100*p))
}

func evidence(in []diagnose.Evidence) []Evidence {
	out := []Evidence{}
	for _, e := range in {
		name := e.Feature.String()
		x := Evidence{Feature: strings.ToUpper(name[:1]) + name[1:], Dim: units.TempDiff, Off: e.Residual, Doubt: 2 * e.Sigma, Pattern: e.Pattern}
		if e.Feature == diagnose.AirRatio || e.Feature == diagnose.PowerRatio {
			x.Dim, x.Off, x.Doubt, x.Pattern = units.Percent, math.Expm1(e.Residual), 2*e.Sigma, math.Expm1(e.Pattern)
		}
		out = append(out, x)
	}
	return out
}
