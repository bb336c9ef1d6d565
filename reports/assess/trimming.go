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

// Trim of a valve's unit, before it was seen to answer: about a kelvin of subcooling
// for 60 g a few hundred grams short of the target (from this program's model of a
// machine, not measured on a unit), known to a factor of two.
const (
	trimSlope = 16.0      // K/kg
	trimRel   = 0.35      // standard, of its logarithm
	trimShort = 0.5       // kg that may be missing before subcooling shows
	trimMost  = 0.25      // kg in one step
	trimNoise = 0.5       // K, of a settled reading
	trimBand  = 3.0 / 1.8 // K, the band of the finding on subcooling
)

// TrimStep is what is to be done next.
type TrimStep struct {
	charge.Step
	Steps int // readings so far
}

// trimmed reads the steps and reckons the next one. ok is false while there are none
// or the unit is not trimmed by subcooling here.
func (c *context) trimmed() (s TrimStep, ok bool, err error) {
	text, target := c.job.Text(record.TrimSteps), c.reading(record.TagSubcooling)
	if text == "" || target == nil || c.job.Text(record.Metering) == record.MeterFixed {
		return s, false, nil
	}
	added, read, err := trimReadings(text)
	if err != nil {
		return s, true, err
	}
	t := charge.Trim{Target: target.si, Band: trimBand, Noise: trimNoise, Most: trimMost,
		Answer: charge.Answer{Slope: trimSlope, Rel: trimRel, Flat: true, Short: trimShort}}
	for i := range added {
		if err := t.Read(added[i], read[i]); err != nil {
			return s, true, err
		}
	}
	s.Step, err = t.Next()
	s.Steps = len(added)
	return s, true, err
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
			if x[i], err = units.Number(w); err != nil {
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
	s, ok, err := c.trimmed()
	if !ok {
		return nil
	}
	return &reading{key: "trim/next", label: "Trim steps", si: s.Add, err: err, given: true, unit: units.Preferred(units.Mass, units.IP), doubt: "an answer of this kind of unit, weighed by the steps read so far"}
}, missing: record.TrimSteps.Label()}

// trimNext is the next amount. It judges nothing: whether the charge is right is told
// by subcooling in the running check.
var trimNext = definition{key: "trim_next", label: "Trim: next amount", step: record.Charge, group: "Trim", dim: units.Mass,
	applies:  entered(record.TrimSteps),
	advice:   func(c *context, _ Finding) string { return trimWords(c) },
	relation: relation{words: "the amount most likely to end within the band, with at most 1 % to go beyond it", from: []source{said("Bayes over slope, bend and level of this unit's answer; first guess from a model of a machine")}, inputs: []input{trimAdd}, eval: func(x *values) (float64, error) { return x.at(trimAdd), nil }}}

func trimWords(c *context) string {
	s, ok, err := c.trimmed()
	if !ok || err != nil {
		return ""
	}
	if w := c.job.Text(record.CoilWashed); w == "washed, still wet" {
		return "Wait: the outdoor coil is still wet, which lowers the head and invites overcharge."
	}
	oz := units.Preferred(units.Mass, units.IP)
	after := fmt.Sprintf(" Subcooling then: %.1f to %.1f °F.", s.Expect*1.8, s.Expect2*1.8)
	switch {
	case s.Done:
		return fmt.Sprintf("Stop trimming: the reading lies in the band with a likelihood of %.0f %%. The running check judges it.", 100*s.Before)
	case s.Held:
		return "Add nothing: no amount is safe enough with these readings. Let it settle, read again, enter it."
	case s.Add < 0:
		return fmt.Sprintf("Recover %s, let it settle, read again.%s", amount(oz.FromSI(-s.Add, 0), oz), after)
	case s.Steps > 3:
		return fmt.Sprintf("More than three steps: look for what else changed before adding %s.%s", amount(oz.FromSI(s.Add, 0), oz), after)
	}
	return fmt.Sprintf("Add %s slowly, let it settle, read again.%s", amount(oz.FromSI(s.Add, 0), oz), after)
}
