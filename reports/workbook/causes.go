package workbook

import (
	"fmt"
	"strings"

	"retrostage/reports/assess"
	"retrostage/thermo/units"
)

// ranking is what may be wrong with the running unit, ranked when the workbook
// was written: it takes the whole model of a machine and is no live formula.
type ranking struct {
	*assess.Diagnosis
	err error
}

// words is the outcome in a sentence, and whether it is a cause to look at.
func (r *ranking) words() (string, bool) {
	switch {
	case r.err != nil:
		return "Not ranked: " + r.err.Error() + ".", false
	case len(r.Missing) > 0:
		return "Not ranked without: " + strings.Join(r.Missing, ", ") + ".", false
	case len(r.Causes) == 0:
		return "Not ranked: " + r.Outcome + ".", false
	}
	return fmt.Sprintf("%s. That nothing is wrong: %s.", r.Said(), assess.Chance(r.Healthy)), r.Found
}

// causesShown is how many causes stand on the page.
const causesShown = 4

func (b *book) causes(p *page, row int) int {
	top := row
	p.text(row, 1, section, "If something is wrong: which cause fits all readings together")
	p.span(row, 1, 6)
	p.heights[row] = 20
	row++
	line := func(kind lookKind, words string) {
		p.text(row, 1, kind, words)
		p.span(row, 1, 6)
		p.fit(row, 1, 6, words, kind)
		row++
	}
	said, _ := b.ranking.words()
	line(wrapped, said)
	if b.ranking.err == nil {
		for i, c := range b.ranking.Causes {
			if i == causesShown || c.P < 0.01 {
				break
			}
			p.text(row, 2, wrapped, c.Label)
			p.text(row, 3, label, assess.Chance(c.P))
			next := "Next: " + c.Next
			p.text(row, 4, wrapped, next)
			p.span(row, 4, 6)
			p.fit(row, 2, 2, c.Label, wrapped)
			p.fit(row, 4, 6, next, wrapped)
			row++
			if e := b.evidence(c); e != "" {
				p.text(row, 2, note, e)
				p.span(row, 2, 6)
				p.fit(row, 2, 6, e, note)
				row++
			}
		}
	}
	if b.ranking.err == nil && b.ranking.Beside != "" {
		line(note, b.ranking.Beside)
	}
	line(note, "A ranking by likelihood against a typical unit in this weather, made when this file was written: a help to the eye and no proof. "+
		"Every cause is held equally likely beforehand, for no published frequency after a conversion was found.")
	p.together(top, row-1)
	return row + 1
}

// evidence is how the readings stand to a cause.
func (b *book) evidence(c assess.Cause) string {
	list := func(word string, es []assess.Evidence) string {
		var out []string
		for _, e := range es {
			dim := e.Dim
			if dim == units.Ratio {
				dim = units.Percent
			}
			u := b.unit(dim)
			out = append(out, fmt.Sprintf("%s %+.*f ± %.*f %s", strings.ToLower(e.Feature[:1])+e.Feature[1:],
				b.places(dim), u.Span(e.Off), b.places(dim), u.Span(e.Doubt), u.Label))
		}
		if len(out) == 0 {
			return ""
		}
		return word + strings.Join(out, ", ") + ". "
	}
	return strings.TrimSpace(list("For it, off a healthy unit by: ", c.For) + list("Against it: ", c.Against))
}
