package section

import (
	"context"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// causesWords is the ranking, or why there is none.
type causesWords struct {
	found  *assess.Diagnosis
	wrong  string
	system units.System
	beside string // what of the step is outside, which no word of the ranking undoes
	unread int    // findings of the step that are not measured
}

// causes lists what may be wrong, of what was entered.
func causes(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	return newSection("causes", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) causesWords {
			d, err := in.Entered.Causes()
			if err != nil {
				return causesWords{wrong: Sentence(err.Error())}
			}
			w := causesWords{found: d, system: in.System}
			if r, err := in.Entered.Report(); err == nil {
				for _, f := range r.Of(record.Running) {
					if f.Verdict == assess.Outside && w.beside == "" {
						w.beside = f.Label
					}
					if f.Verdict == assess.NotMeasured {
						w.unread++
					}
				}
			}
			return w
		},
		func(w causesWords) {
			widget.Refill(body, func() { fillCauses(p, body, w) })
			p.reflow()
		}).alone()
}

// causesShown is how many causes get a card; the rest are named in a line.
const causesShown = 3

func fillCauses(p *Pane, body *fyne.Container, w causesWords) {
	d := w.found
	body.Add(widget.NewHeading("If something is wrong: which cause fits the whole pattern"))
	if d == nil {
		body.Add(widget.NewNotice("outside", theme.Bad, []string{w.wrong}, nil))
		return
	}
	if len(d.Missing) > 0 {
		body.Add(widget.NewWords("No ranking without: "+fieldLabels(d.Missing)+".", theme.Small+0.5, false, theme.Muted))
		return
	}
	said := d.Said()
	shape, tone := "within", theme.Good
	if d.Found && len(d.Causes) > 0 {
		shape, tone = "outside", theme.Bad
	} else if !d.Clear {
		shape, tone = "close", theme.Warning
	}
	if shape == "within" && w.unread > 0 { // green is only for a check without gaps
		shape, tone = "unjudged", theme.Ink
	}
	lines := []string{said + ".", "Nothing wrong: " + assess.Chance(d.Healthy) + "."}
	if shape != "outside" && w.unread > 0 {
		lines = append(lines, fmt.Sprintf("%d findings of this step are not measured: of what they would show this says nothing.", w.unread))
	}
	if (shape == "within" || shape == "unjudged") && w.beside != "" { // a red finding above, and green here, would be two answers
		shape, tone = "close", theme.Warning
		lines = append(lines, "But outside: "+within(w.beside)+". That comes first.")
	}
	body.Add(widget.NewNotice(shape, tone, lines, nil))
	var rest []string
	for i, c := range d.Causes {
		if i >= causesShown {
			if i < causesShown+4 && c.P >= 0.005 {
				rest = append(rest, c.Label+" "+assess.Chance(c.P))
			}
			continue
		}
		if c.P < 0.005 {
			continue
		}
		next := "Next: " + strings.TrimSuffix(c.Next, ".")
		if c.Minutes > 0 {
			next += fmt.Sprintf(", about %.0f min", c.Minutes)
		}
		body.Add(widget.NewCard(Sentence(c.Label), assess.Chance(c.P), next+".", theme.Accent))
		if len(c.For)+len(c.Against) > 0 {
			body.Add(evidence(c, w.system))
		}
	}
	if len(rest) > 0 {
		body.Add(widget.NewWords("Behind these: "+strings.Join(rest, ", ")+".", theme.Small, false, theme.Muted))
	}
	if len(d.Helpful) > 0 {
		body.Add(widget.NewWords("Not taken yet, and would sharpen it: "+fieldLabels(d.Helpful)+".", theme.Small, false, theme.Muted))
	}
	if d.Beside != "" {
		body.Add(widget.NewWords(d.Beside, theme.Small, false, theme.Muted))
	}
	body.Add(p.provenance("A ranking by likelihood against a typical unit in this weather: a help to the eye, no proof. Where from?", assess.RankedBy))
}

// evidence is how the readings stand to one cause, what speaks for it first.
func evidence(c assess.Cause, system units.System) *widget.Table {
	var rows []widget.TableRow
	add := func(es []assess.Evidence, word, glyph string, tone theme.Tone) {
		for _, e := range es {
			dim := e.Dim
			if dim == units.Ratio {
				dim = units.Percent
			}
			u := units.Preferred(dim, system)
			half := u.Span(e.Doubt)
			rows = append(rows, widget.TableRow{Glyph: glyph, Tone: tone, Cells: []string{e.Feature,
				signed(u.Span(e.Off), half) + " " + u.Label, "± " + figure(half, half), signed(u.Span(e.Pattern), half), word}})
		}
	}
	add(c.For, "For", "within", theme.Good)
	add(c.Against, "Against", "outside", theme.Bad)
	return widget.NewTable([]string{"Read, less a healthy unit's", "off by", "±", "this cause", "Speaks"}, rows)
}

func signed(v, half float64) string {
	t := figure(v, half)
	if v > 0 && t != "0" {
		t = "+" + t
	}
	return t
}

// fieldLabels turns field keys into their labels; what is no key stays.
func fieldLabels(keys []string) string {
	out := make([]string, len(keys))
	for i, k := range keys {
		out[i] = k
		if f, err := record.ByName(k); err == nil {
			out[i] = strings.ToLower(f.Label[:1]) + f.Label[1:]
		}
	}
	return strings.Join(out, ", ")
}
