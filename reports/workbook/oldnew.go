package workbook

import (
	"fmt"
	"strings"

	"retrostage/reports/assess"
	"retrostage/wiring/supply"
)

// oldNew is what the new compressor changes, part by part, from a row on; full says
// of what fits too why.
func (b *book) oldNew(p *page, row int, full bool) error {
	rows, err := b.all.OldAgainstNew()
	if err != nil {
		return err
	}
	p.text(row, 1, section, "Old against new")
	p.span(row, 1, 6)
	p.heights[row] = 20
	row++
	for i, h := range []string{"Part", "", "Old", "New asks", "Fitted", "Verdict"} {
		num := "@"
		if i >= 2 && i <= 4 {
			num = "0"
		}
		p.set(row, i+1, cell{value: h, look: look{head, num}})
	}
	p.span(row, 1, 2)
	row++
	for _, r := range rows {
		scale, label, num := shownUnit(r.Unit)
		word, why := "", r.Note
		if c := r.Check; c != nil {
			word, why = string(c.Outcome), c.Why+" ("+trusted(c.Rule)+")"
			if c.Outcome == supply.Misfit && c.Rule.Next != "" {
				why += ". Next: " + c.Rule.Next
			}
		}
		name := r.Part + ": " + r.What
		if label != "" {
			name += ", " + label
		}
		p.text(row, 1, shape, fitShapes[word])
		p.text(row, 2, wrapped, name)
		p.fit(row, 2, 2, name, wrapped)
		for i, x := range []float64{r.Old, r.New, r.Fitted} {
			if x == 0 { // not known
				p.text(row, 3+i, faint, "")
				continue
			}
			p.number(row, 3+i, figure, x*scale, num)
		}
		p.text(row, 6, verdict, word)
		row++
		if why != "" && (full || word != string(supply.Fits)) {
			p.text(row, 1, plain, "")
			p.text(row, 2, note, why)
			p.span(row, 2, 6)
			p.fit(row, 2, 6, why, note)
			row++
		}
	}
	p.text(row, 1, note, "Rules as the sources restate them; the adopted local code and the equipment's own instructions decide.")
	p.span(row, 1, 6)
	return nil
}

// notKnown names the parts of which nothing tells whether they fit; "" before any is known
// to fit or not, for then they all are and the steps say so.
func (b *book) notKnown() string {
	rows, err := b.all.OldAgainstNew()
	if err != nil {
		return err.Error()
	}
	var names []string
	known := false
	for _, r := range rows {
		if r.Check == nil {
			continue
		}
		if known = known || r.Check.Outcome != supply.Unknown; r.Check.Outcome == supply.Unknown {
			names = append(names, r.Part+", "+r.What)
		}
	}
	if !known || len(names) == 0 {
		return ""
	}
	const most = 4
	if n := len(names) - most; n > 1 {
		names = append(names[:most], fmt.Sprintf("%d more", n))
	}
	return strings.Join(names, "; ") + ": see Old against new."
}

// trusted is where a rule comes from and how far to trust that.
func trusted(r supply.Rule) string {
	s, c := r.Cite(), string(r.Confidence)
	if strings.HasPrefix(c, s) {
		return c
	}
	return s + "; " + c
}

// fitShapes go with the words of package supply, as shapes do with verdicts.
var fitShapes = map[string]string{
	string(supply.Fits): shapes[assess.Within], string(supply.Misfit): shapes[assess.Outside], string(supply.Unknown): shapes[assess.NotMeasured],
}

// shownUnit is how a supply row's unit is shown.
func shownUnit(unit string) (scale float64, label, num string) {
	switch unit {
	case "F":
		return 1e6, "µF", "0.0"
	case "1":
		return 100, "%", "0.0"
	case "circular mils":
		return 1, unit, "0"
	}
	return 1, unit, "0.0"
}

// asked is what the new compressor asks for in one row of old against new, in
// words for the label; "" if it is not known.
func (b *book) asked(key string) string {
	rows, err := b.all.OldAgainstNew()
	if err != nil {
		return ""
	}
	for _, r := range rows {
		if r.Key == key && r.New > 0 {
			return fmt.Sprintf("%.3g %s", r.New, r.Unit)
		}
	}
	return ""
}
