package assess

import (
	"bufio"
	"fmt"
	"math"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/charge"
	"retrostage/thermo/units"
)

// Bands about the target, of the findings on subcooling and on superheat, K.
const (
	trimValveBand = 3.0 / 1.8
	trimBoreBand  = 5.0 / 1.8
)

// Trim is the trim step by step, for the table. SI.
type Trim struct {
	By     string    `json:"by"` // subcooling or superheat
	Target float64   `json:"target_K"`
	Band   float64   `json:"band_K"`
	Steps  []Trimmed `json:"steps"`
}

// Trimmed is one settled reading with what was expected of it when the step before
// it was reckoned, and what was to be done next.
type Trimmed struct {
	Added     float64 `json:"added_kg"` // since the first reading
	Read      float64 `json:"read_K"`
	Low, High float64 `json:"-"` // expected, 95 %, K; both 0 before the first step
	In        float64 `json:"in_band"`

	// Set is the readings that were kept with the step; nil where it was typed by hand,
	// or changed since. The set before a step is that of the step before.
	Set *TrimSet `json:"set,omitempty"`
	charge.Step
}

// trim reckons every step from what was read up to it, once for a job; nil while no
// step was read.
func (c *context) trim() (*Trim, error) {
	if c.job.Text(record.TrimSteps) == "" {
		return nil, nil
	}
	return remember(c, memoKey{kind: memoTrim}, c.trimOnce)
}

// trimmed keeps the last steps.
var trimmed lately[trimKey, charge.Step]

type trimKey struct {
	read                            string
	target, band, noise, most, risk float64
	answer                          charge.Answer
}

func (c *context) trimOnce() (*Trim, error) {
	t, by, err := c.trimToward()
	if err != nil {
		return nil, err
	}
	added, read, err := trimReadings(c.job.Text(record.TrimSteps))
	if err != nil {
		return nil, err
	}
	sets, err := trimSets(c.job.Text(record.TrimSets))
	if err != nil {
		return nil, err
	}
	out := &Trim{By: by, Target: t.Target, Band: t.Band}
	for i := range added {
		if err := t.Read(added[i], read[i]); err != nil {
			return nil, err
		}
		row := Trimmed{Added: added[i], Read: read[i], Set: setOf(sets, added[i], read[i])}
		if i > 0 {
			row.Low, row.High = out.Steps[i-1].Expect, out.Steps[i-1].Expect2
		}
		k := trimKey{fmt.Sprint(added[:i+1], read[:i+1]), t.Target, t.Band, t.Noise, t.Most, t.Risk, t.Answer}
		if row.Step, err = trimmed.of(k, t.Next); err != nil {
			return nil, err
		}
		row.In = row.Before
		out.Steps = append(out.Steps, row)
	}
	return out, nil
}

// trimBand is the half-width of the band in which trimming stops: that by which the
// running check judges, where it is narrower.
func (c *context) trimBand(key string, usual float64) float64 {
	row := c.lim.byFinding[key]
	u, err := units.Lookup(units.TempDiff, row.Unit)
	half := row.PlusMinus
	if half == nil {
		half = row.High
	}
	if err != nil || half == nil {
		return usual
	}
	return math.Min(usual, u.SpanSI(*half))
}

// trimToward is the target of this kind of unit, and what it is read by.
func (c *context) trimToward() (t *charge.Trim, by string, err error) {
	whole := c.value(record.TagCharge)
	if whole == 0 {
		whole = c.value(record.WeighedIn)
	}
	if whole == 0 {
		return nil, "", fmt.Errorf("needs the plate's charge or what was weighed in: how a unit answers goes with its size")
	}
	if c.job.Text(record.Metering) != record.MeterFixed {
		target := c.reading(record.TagSubcooling)
		if target == nil {
			return nil, "", fmt.Errorf("needs %s", record.TagSubcooling.Label())
		}
		return charge.BySubcooling(target.si, c.trimBand("subcooling", trimValveBand), whole), "subcooling", nil
	}
	if r := c.reading(record.TagSuperheat); r != nil {
		return charge.BySuperheat(r.si, c.trimBand("superheat_error", trimBoreBand), whole), "superheat", nil
	}
	wb, odb := c.reading(record.ReturnWB), c.reading(record.OutdoorTemp)
	if wb == nil || odb == nil {
		return nil, "", fmt.Errorf("needs %s, or %s and %s", record.TagSuperheat.Label(), record.ReturnWB.Label(), record.OutdoorTemp.Label())
	}
	target, err := targetSuperheat(wb.si, odb.si)
	if err != nil {
		return nil, "", err
	}
	return charge.BySuperheat(target.Value, c.trimBand("superheat_error", trimBoreBand), whole), "superheat", nil
}

// trimReadings reads lines of ounces added and °F, into kg and K.
func trimReadings(text string) (added, read []float64, err error) {
	sc := bufio.NewScanner(strings.NewReader(text))
	for n := 1; sc.Scan(); n++ {
		words := strings.FieldsFunc(sc.Text(), func(r rune) bool { return r == ' ' || r == '\t' || r == ',' || r == ';' })
		if len(words) == 0 {
			continue
		}
		if len(words) != 2 || n > 50 {
			return nil, nil, fmt.Errorf("trim steps, line %d: not ounces and degrees, or more than 50 lines", n)
		}
		var x [2]float64
		for i, w := range words {
			if x[i], err = noted(w); err != nil {
				return nil, nil, fmt.Errorf("trim steps, line %d: %w", n, err)
			}
		}
		if math.Abs(x[0]) > 500 || math.Abs(x[1]) > 100 {
			return nil, nil, fmt.Errorf("trim steps, line %d: allowed to 500 oz and 100 °F", n)
		}
		added, read = append(added, x[0]*0.45359237/16), append(read, x[1]/1.8)
	}
	return added, read, sc.Err()
}

var trimAdd = input{name: "trim/next", take: func(c *context) *reading {
	t, err := c.trim()
	if t == nil && err == nil {
		return nil
	}
	r := &reading{key: "trim/next", label: "Trim steps", err: err, given: true, unit: units.Preferred(units.Mass, c.system), doubt: "an answer of this kind of unit, weighed by the steps read so far"}
	if err == nil {
		r.si = t.Steps[len(t.Steps)-1].Add
	}
	return r
}, missing: record.TrimSteps.Label()}

// trimNext is the next amount. It judges nothing: whether the charge is right is told
// by subcooling or superheat in the running check.
var trimNext = definition{key: "trim_next", label: "Trim: next amount", step: record.Charge, group: "Trim", dim: units.Mass,
	applies:  entered(record.TrimSteps),
	advice:   func(c *context, _ Finding) string { return trimWords(c) },
	relation: relation{words: "the amount most likely to end within the band, with at most 1 % (fixed bore: 0.3 %) to go beyond it", from: []source{said("Bayes over slope, bend and level of this unit's answer; first guess from a model of a machine")}, inputs: []input{trimAdd}, eval: func(x *values) (float64, error) { return x.at(trimAdd), nil }}}

func trimWords(c *context) string {
	t, err := c.trim()
	if t == nil || err != nil {
		return ""
	}
	if w := c.job.Text(record.CoilWashed); w == "washed, still wet" {
		return "Wait: the outdoor coil is still wet, which lowers the head and invites overcharge."
	}
	if c.tooCold() {
		return "Do not trim in this cold: leave the charge as weighed; the label says weighed, not verified, and a return visit becomes due."
	}
	s := t.Steps[len(t.Steps)-1]
	oz, deg := units.Preferred(units.Mass, c.system), units.Preferred(units.TempDiff, c.system)
	after := fmt.Sprintf(" %s then: %.1f to %.1f %s.", sentenceStart(t.By), deg.Span(s.Expect), deg.Span(s.Expect2), deg.Label)
	places := 1 // to the tenth of an ounce, or the gram, that a scale shows
	if c.system == units.SI {
		places = 3
	}
	weigh := func(x float64) string { return fmt.Sprintf("%.*f %s", places, oz.FromSI(x, 0), oz.Label) }
	switch {
	case s.Done:
		return fmt.Sprintf("Stop trimming: the reading lies in the band with a likelihood of %s. The running check judges it.", Chance(s.Before))
	case s.Held:
		return "Add nothing: no amount is safe enough with these readings. Let it settle, read again, enter it."
	case s.Add < 0:
		return fmt.Sprintf("Recover %s, let it settle, read again.%s", weigh(-s.Add), after)
	case t.steps() >= 3:
		return fmt.Sprintf("Three steps did not do: look for what else changed before adding %s.%s", weigh(s.Add), after)
	}
	return fmt.Sprintf("Add %s slowly, let it settle, read again.%s", weigh(s.Add), after)
}

// steps is how often refrigerant went in or out.
func (t *Trim) steps() (n int) {
	for i := 1; i < len(t.Steps); i++ {
		if t.Steps[i].Added != t.Steps[i-1].Added {
			n++
		}
	}
	return n
}

// tooCold tells whether it is colder outdoors than the check of a charge means
// something.
func (c *context) tooCold() bool {
	row, r := c.lim.byFinding["outdoor_window"], c.reading(record.OutdoorTemp)
	u, err := units.Lookup(units.Temperature, row.Unit)
	return err == nil && r != nil && row.Low != nil && u.FromSI(r.si, 0) < *row.Low
}
