package app

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// causesPart lists, below the strips of the running check, what may be wrong.
// The ranking takes longer than an assessment, so it is made beside the finger
// and only of what was entered, not of each key.
type causesPart struct {
	p    *pane
	body *fyne.Container
	work widget.Latest
	made string
}

// causesShown is how many causes get a card; the rest are named in a line.
const causesShown = 3

func (p *pane) ranking(body *fyne.Container) {
	p.causes = &causesPart{p: p, body: widget.NewColumn(6, 0)}
	p.causes.work.Now = p.b.assessing.Now
	body.Add(p.causes.body)
}

func (w *causesPart) update() {
	key := fmt.Sprint(w.p.b.entered, w.p.b.show.system)
	if key == w.made {
		return
	}
	w.made = key
	j := w.p.b.job.Clone()
	w.work.Ask(func() func() {
		d, err := assess.Diagnose(j)
		return func() { w.show(d, err) }
	})
}

func (w *causesPart) show(d *assess.Diagnosis, err error) {
	widget.Refill(w.body, func() { w.fill(d, err) })
	w.p.reflow()
}

func (w *causesPart) fill(d *assess.Diagnosis, err error) {
	w.body.Add(widget.NewHeading("If something is wrong: which cause fits the whole pattern"))
	if err != nil {
		w.body.Add(widget.NewNotice("outside", theme.Bad, []string{sentence(err.Error())}, nil))
		return
	}
	if len(d.Missing) > 0 {
		w.body.Add(widget.NewWords("No ranking without: "+fieldLabels(d.Missing)+".", theme.Small+0.5, false, theme.Muted))
		return
	}
	said := sentence(strings.TrimSuffix(d.Outcome, "."))
	shape, tone := "within", theme.Good
	if d.Found && len(d.Causes) > 0 {
		said += ": " + strings.ToLower(d.Causes[0].Label[:1]) + d.Causes[0].Label[1:]
		shape, tone = "outside", theme.Bad
	} else if len(d.Causes) > 0 && d.Causes[0].P > d.Healthy {
		shape, tone = "close", theme.Warning
	}
	w.body.Add(widget.NewNotice(shape, tone, []string{said + ".", "Nothing wrong: " + assess.Chance(d.Healthy) + "."}, nil))
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
		w.body.Add(widget.NewCard(sentence(c.Label), assess.Chance(c.P), next+".", theme.Accent))
		if len(c.For)+len(c.Against) > 0 {
			w.body.Add(w.evidence(c))
		}
	}
	if len(rest) > 0 {
		w.body.Add(widget.NewWords("Behind these: "+strings.Join(rest, ", ")+".", theme.Small, false, theme.Muted))
	}
	if len(d.Helpful) > 0 {
		w.body.Add(widget.NewWords("Not taken yet, and would sharpen it: "+fieldLabels(d.Helpful)+".", theme.Small, false, theme.Muted))
	}
	w.body.Add(w.p.whence("A ranking by likelihood against a typical unit in this weather: a help to the eye, no proof. Where from?", rankedBy))
}

// evidence is how the readings stand to one cause, what speaks for it first.
func (w *causesPart) evidence(c assess.Cause) *widget.Table {
	var rows []widget.TableRow
	add := func(es []assess.Evidence, word, glyph string, tone theme.Tone) {
		for _, e := range es {
			dim := e.Dim
			if dim == units.Ratio {
				dim = units.Percent
			}
			u := units.Preferred(dim, w.p.b.show.system)
			half := u.Span(e.Doubt)
			rows = append(rows, widget.TableRow{Glyph: glyph, Tone: tone, Cells: []string{e.Feature,
				signed(u.Span(e.Off), half) + " " + u.Label, "± " + figure(half, half), signed(u.Span(e.Pattern), half), word}})
		}
	}
	add(c.For, "For", "within", theme.Good)
	add(c.Against, "Against", "outside", theme.Bad)
	return widget.NewTable([]string{"Read, less a healthy unit's", "off by", "doubt", "this cause", "Speaks"}, rows)
}

func signed(v, doubt float64) string {
	t := figure(v, doubt)
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
