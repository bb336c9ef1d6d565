package section

import (
	"context"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/cause"
)

// failureWords is what failed, ready to be shown.
type failureWords struct {
	wrong   string
	call    string
	shape   string
	tone    theme.Tone
	why     []string
	kinds   []failureKind
	next    []widget.TableRow
	grade   string
	follows []widget.TableRow
	roots   []widget.TableRow
	pic     *chart.Picture
	pics    string // key of the picture, for comparing
}

type failureKind struct {
	title, word, says string
	rows              []widget.TableRow
}

// kindsShown is how many kinds get a card, testsShown how many tests a line.
const (
	kindsShown = 3
	testsShown = 4
)

// failure is what failed in the old compressor: said, ranked, and what follows.
func failure(p *Pane) *Section {
	body, view, oil := widget.NewColumn(6, 0), p.newView(0.62), p.newView(0.26)
	oil.Set(chart.Patches(chart.OilPatches))
	return newSection("failure", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) failureWords {
			x, err := in.Entered.Failure()
			if err != nil {
				return failureWords{wrong: Sentence(err.Error())}
			}
			return failureSaid(x)
		},
		func(w failureWords) {
			view.Set(w.pic)
			widget.Refill(body, func() { fillFailure(p, body, view, oil, w) })
			p.reflow()
		})
}

func failureSaid(x *cause.Examination) (w failureWords) {
	first := x.First()
	w.why = x.Why
	switch x.Call {
	case cause.Dead:
		w.call, w.shape, w.tone = Sentence(x.Call.String()), "outside", theme.Bad
		if x.Named() {
			w.call += ": " + first.Kind.String()
		} else {
			w.call += ", most likely " + first.Kind.String() + ", which is not certain"
		}
	case cause.NotDead:
		w.call, w.shape, w.tone = Sentence(x.Call.String()), "within", theme.Good
	default:
		w.call, w.shape, w.tone = "Cannot tell yet whether the compressor has failed", "close", theme.Warning
	}
	if len(x.Found) == 0 {
		w.call, w.why = "Nothing examined yet", nil
	}
	bars := chart.Bars{XLabel: "likelihood, %"}
	for i, r := range x.Ranking {
		if r.P >= 0.005 && len(bars.Bars) < 6 {
			tone := theme.Frame
			if i == 0 {
				tone = theme.Accent
			}
			bars.Bars = append(bars.Bars, chart.Bar{Name: r.Kind.String(), From: 0, To: 100 * r.P, Mid: 1e9, Tone: tone, Says: fmt.Sprintf("%.0f", 100*r.P)})
		}
		if i >= kindsShown || r.P < 0.01 || len(x.Found) == 0 {
			continue
		}
		k := failureKind{title: Sentence(r.Kind.String()), word: fmt.Sprintf("%.0f %%", 100*r.P)}
		add := func(ws []cause.Weight, word, glyph string, tone theme.Tone) {
			for j, e := range ws {
				if j < 4 {
					k.rows = append(k.rows, widget.TableRow{Cells: []string{Sentence(e.Found.Category.Words), word}, Glyph: glyph, Tone: tone})
				}
			}
		}
		add(r.For, "for", "within", theme.Ink)
		add(r.Against, "against", "outside", theme.Muted)
		w.kinds = append(w.kinds, k)
	}
	w.pic, w.pics = bars.Picture(), fmt.Sprint(bars.Bars)
	for i, n := range x.Next {
		if i < testsShown {
			w.next = append(w.next, widget.TableRow{Cells: []string{n.Observation.Do, fmt.Sprintf("%.0f min", n.Observation.Minutes)}, Small: n.Caution})
		}
	}
	w.grade = "Contamination: " + x.Grade.String()
	for _, f := range x.Follows {
		word := "with the work"
		switch {
		case f.Days > 0:
			word = fmt.Sprintf("%d days after", f.Days)
		case f.Provisional:
			word = "provisional"
		}
		w.follows = append(w.follows, widget.TableRow{Cells: []string{f.Do, word}, Small: Sentence(f.Why) + "."})
	}
	for _, r := range x.Roots {
		w.roots = append(w.roots, widget.TableRow{Cells: []string{Sentence(r.Words), r.Evidence}, Small: "Shown gone by: " + r.Answer + "."})
	}
	return w
}

func fillFailure(p *Pane, body *fyne.Container, view, oil *widget.View, w failureWords) {
	body.Add(widget.NewHeading("What failed, as far as the evidence goes"))
	if w.wrong != "" {
		body.Add(widget.NewNotice("outside", theme.Bad, []string{w.wrong}, nil))
		return
	}
	lines := []string{w.call + "."}
	for _, y := range w.why {
		lines = append(lines, Sentence(y)+".")
	}
	if len(lines) == 1 {
		body.Add(widget.NewWords(lines[0], theme.Small+0.5, false, theme.Ink))
	} else {
		body.Add(widget.NewNotice(w.shape, w.tone, lines, nil))
	}
	if len(w.kinds) > 0 {
		body.Add(view)
	}
	table := func(head []string, rows []widget.TableRow) {
		t := widget.NewTable(head, rows)
		t.OnResize = p.reflow
		body.Add(t)
	}
	if len(w.next) > 0 {
		table([]string{"Next, what tells most for its time", "takes"}, w.next)
	}
	for _, k := range w.kinds {
		body.Add(widget.NewCard(k.title, k.word, k.says, theme.Accent))
		if len(k.rows) > 0 {
			table([]string{"Found", "speaks"}, k.rows)
		}
	}
	if len(w.follows) > 0 {
		table([]string{w.grade + "; what follows", "when"}, w.follows)
	}
	body.Add(widget.NewWords("Oil from the old compressor on a white cloth, beside these. Drawn by this program: how dense, not which colour. It may be acid: gloves and eyes.", theme.Small+0.5, false, theme.Ink))
	body.Add(oil)
	if len(w.roots) > 0 {
		table([]string{"Root causes that the evidence points at", "by"}, w.roots)
	}
	body.Add(p.provenance("How often each finding goes with each failure is common practice, no source. Where from?", strings.Join([]string{
		"Formula: Bayes' rule over nine kinds of failure and none; what was not done says nothing.",
		"Dead is said only where a fault is at least 98 % likely and something final was seen, read again where a lead or a capacitor could have made it; not dead only of a compressor that ran and pumped.",
		"Tried on invented failures of another make: see README."}, " ")))
}
