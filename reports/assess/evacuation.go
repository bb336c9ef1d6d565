package assess

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/thermo/vacuum"
)

// Break is one pull that was broken with dry nitrogen.
type Break struct {
	Low     float64 `json:"low_Pa"`        // what the pull reached
	Broken  float64 `json:"broken_Pa"`     // absolute
	Minutes float64 `json:"stood_min"`     // how long the nitrogen stood
	Short   string  `json:"but,omitempty"` // what of the plan it does not meet
}

// unitWords are the units of the three columns, which may be written out.
var unitWords = regexp.MustCompile(`(?i)([0-9])\s*(?:microns?|psig?|min(?:utes?)?)\b\.?`)

// breaks reads the lines of the breaks: microns, psig, minutes.
func (c *context) breaks() ([]Break, error) {
	micron, err := units.Lookup(units.Vacuum, "micron")
	if err != nil {
		return nil, err
	}
	psig, err := units.Lookup(units.Pressure, "psig")
	if err != nil {
		return nil, err
	}
	q := c.lim.Evacuation
	var out []Break
	for n, line := range strings.Split(c.job.Text(record.EvacuationBreaks), "\n") {
		words := strings.FieldsFunc(unitWords.ReplaceAllString(line, "$1 "), func(r rune) bool { return r == ' ' || r == '\t' || r == ';' })
		for i, w := range words {
			words[i] = strings.TrimSuffix(w, ",")
		}
		words = slices.DeleteFunc(words, func(w string) bool { return w == "" })
		if len(words) == 0 {
			continue
		}
		if len(words) == 1 {
			words = strings.Split(line, ",")
		}
		if len(words) != 3 || n >= 20 {
			return nil, fmt.Errorf("breaks, line %d: not microns, psig and minutes, as in 1000 2 10; one break a line, 20 lines at most", n+1)
		}
		var x [3]float64
		for i, w := range words {
			if x[i], err = noted(w); err != nil {
				return nil, fmt.Errorf("breaks, line %d: %w", n+1, err)
			}
		}
		if !(x[0] > 0 && x[0] <= 300000 && x[1] >= -14 && x[1] <= 700 && x[2] >= 0 && x[2] <= 10000) {
			return nil, fmt.Errorf("breaks, line %d: allowed above 0 to 300000 micron, -14 to 700 psig, 0 to 10000 min", n+1)
		}
		b := Break{Low: micron.ToSI(x[0], 0), Broken: psig.ToSI(x[1], c.site.si), Minutes: x[2]}
		switch {
		case x[0] > q.Pull:
			b.Short = fmt.Sprintf("pulled to %.0f micron, the plan is %.0f", x[0], q.Pull)
		case x[1] < q.Break:
			b.Short = fmt.Sprintf("broken to %.3g psig, the plan is %.3g", x[1], q.Break)
		case x[2] < q.Minutes:
			b.Short = fmt.Sprintf("stood for %.0f min, the plan is %.0f", x[2], q.Minutes)
		}
		if r := c.lowestDesign(); r != nil && x[1] > psig.FromSI(r.si+c.site.si, c.site.si) {
			b.Short = "STOP: broken to more than the lowest design pressure of what was connected"
		}
		out = append(out, b)
	}
	return out, nil
}

// lacksBreaks is what the plan of breaks still lacks, "" for nothing.
func lacksBreaks(c *context) string {
	bs, err := c.breaks()
	if err != nil {
		return err.Error()
	}
	good := 0
	for i, b := range bs {
		if b.Short != "" {
			return fmt.Sprintf("break %d: %s", i+1, b.Short)
		}
		good++
	}
	if n := c.lim.Evacuation.Breaks; good < n {
		return fmt.Sprintf("%d of %d breaks", good, n)
	}
	return ""
}

var thinnedBy = input{name: "evacuation/thinned", take: func(c *context) *reading {
	if c.job.Text(record.EvacuationBreaks) == "" {
		return nil
	}
	r := &reading{key: "evacuation/thinned", label: "Breaks", unit: units.Preferred(units.Count, units.IP), given: true, doubt: "gas evenly mixed at each break; not of what is liquid, frozen or bound"}
	bs, err := c.breaks()
	if err == nil {
		var low, broken []float64
		for _, b := range bs {
			low, broken = append(low, b.Low), append(broken, b.Broken)
		}
		var s float64
		if s, err = vacuum.Thinned(low, broken); err == nil {
			r.si = 1 / s
		}
	}
	r.err = err
	return r
}, missing: record.EvacuationBreaks.Label()}

// evacuationThinned is what the breaks did. It judges nothing: whether the circuit is
// dry is told by the isolated vacuum after the last pull.
var evacuationThinned = definition{key: "evacuation_thinned", label: "Gas that was in it, thinned by the breaks to one part in", step: record.CloseUp, group: "Vacuum", dim: units.Count,
	applies: entered(record.EvacuationBreaks),
	advice: func(c *context, _ Finding) string {
		if w := lacksBreaks(c); w != "" {
			return sentenceStart(w) + ". " + c.planOfBreaks()
		}
		return "As planned. Pull for the hold now; the isolated vacuum judges it, and what is liquid, frozen or bound shows only there."
	},
	relation: relation{words: "product of break over pull, absolute", from: []source{said("ideal gases, evenly mixed")}, inputs: []input{thinnedBy},
		eval: func(x *values) (float64, error) { return x.at(thinnedBy), nil }}}

// planOfBreaks is the plan in words.
func (c *context) planOfBreaks() string {
	q := c.lim.Evacuation
	return fmt.Sprintf("Plan: pull to %.0f micron or less, break to %.3g psig with dry nitrogen through a regulator, let it stand %.0f min, let it down; %d times, then pull for the hold (%s).", q.Pull, q.Break, q.Minutes, q.Breaks, q.Source)
}

// flammableCharge holds the charge against what somebody read for the room: this
// program knows no room and works no limit out.
var flammableCharge = definition{key: "flammable_charge", label: "Flammable refrigerant: charge, against the largest that was read for this room", step: record.Charge, group: "Flammable refrigerant", dim: units.Mass,
	limit: "flammable_charge",
	applies: func(c *context) bool {
		return c.fluid != nil && c.fluid.Info().Flammable || c.job.Text(record.FlammableMost) != ""
	},
	bounds: func(c *context) (Band, string) {
		high, ok := c.job.SI(record.FlammableMost, 0)
		if !ok {
			return Band{}, "no limit to hold it against: read the unit's instructions and the adopted standard (UL 60335-2-40, ASHRAE 15), and enter " + strings.ToLower(record.FlammableMost.Label())
		}
		return Band{High: &high}, ""
	},
	only: func(c *context) string {
		if letters(c.job.Text(record.FlammableRead)) < 8 { // a title, not a tick
			return "where the largest charge was read is not entered"
		}
		return ""
	},
	relation: relation{words: "the larger of weighed in + trimmed and label", from: []source{arithmetic},
		inputs: []input{is(record.WeighedIn), maybe(record.Trimmed), maybe(record.LabelCharge)},
		eval: func(x *values) (float64, error) {
			m := x.of(record.WeighedIn) + x.or(record.Trimmed, 0)
			return math.Max(m, x.or(record.LabelCharge, m)), nil
		},
		sheet: "MAX({weighed_in}+{?trimmed},{?label_charge})"}}

// letters counts the letters that can be seen.
func letters(s string) (n int) {
	for _, r := range s {
		if unicode.IsLetter(r) {
			n++
		}
	}
	return n
}
