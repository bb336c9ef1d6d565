package section

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/cause"
	"retrostage/reports/record"
)

// failureWords is what failed, ready to be shown.
type failureWords struct {
	wrong   string
	call    string
	shape   string
	tone    theme.Tone
	why     []string
	kinds   []failureKind
	tests   []testKey
	keys    []entryKey
	rest    []string // what else is not done, and the doubt that it would take
	grade   string
	follows []widget.TableRow
	roots   []widget.TableRow
	pic     *chart.Picture
	pics    string // key of the picture, for comparing
}

// testKey is a test to do next, and where what it shows is entered.
type testKey struct {
	words, caution string
	key            record.Key
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

// failureCall is what may be said of the compressor, what is to be removed and what to
// test next: first of all, with keys that enter it.
func failureCall(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	return newSection("failure call", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) failureWords {
			x, err := in.Entered.Failure()
			if err != nil {
				return failureWords{wrong: Sentence(err.Error())}
			}
			w := failureSaid(x)
			w.keysOf(x, in.Job)
			return w
		},
		func(w failureWords) {
			widget.Refill(body, func() { fillCall(p, body, w) })
			p.reflow()
		})
}

// failure is how likely each kind of failure is, for what reason, and what follows.
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

// asWhatFailed is a kind of failure in the words of the entry.
var asWhatFailed = map[cause.Kind]string{cause.Grounded: "grounded winding", cause.OpenStart: "open winding", cause.OpenRun: "open winding", cause.OverloadOpen: "other",
	cause.ShortedTurns: "shorted winding", cause.Seized: "seized", cause.Worn: "worn or leaking valves", cause.Flooded: "other", cause.Overheated: "other", cause.NoFault: "no fault found"}

// keysOf are the entries that the evidence points at and that do not stand yet. What
// failed is offered only where the evidence names it.
func (w *failureWords) keysOf(x *cause.Examination, j *record.Job) {
	if len(x.Found) == 0 {
		return
	}
	if f := asWhatFailed[x.First().Kind]; x.Named() && j.Text(record.FailureKind) == "" {
		w.keys = append(w.keys, entryKey{"Enter as what failed: " + f, record.FailureKind, f})
	}
	named := j.RootsOf()
	free := slices.IndexFunc(record.RootFields(), func(k record.Key) bool { return j.Text(k) == "" })
	if free < 0 {
		return
	}
	for i, r := range x.Roots {
		if i < 3 && slices.Contains(record.Roots, r.Words) && !slices.Contains(named, r.Words) {
			head := [...]string{"Enter as root cause: ", "Enter as second root cause: ", "Enter as third root cause: "}[free]
			w.keys = append(w.keys, entryKey{head + r.Words, record.RootFields()[free], r.Words})
		}
	}
}

// entryKey is a key that enters something.
type entryKey struct {
	words string
	key   record.Key
	value string
}

// testedBy is the field in which what a test shows is entered.
var testedBy = map[string]record.Key{"feed": record.CauseSupply, "capacitor": record.OldCapFound, "paths": record.OldRCS, "turns": record.OldRStart, "insulation": record.OldInsulation,
	"try": record.CauseTrial, "amps": record.CauseInrush, "contamination": record.OilState, "debris": record.OilMetal, "flood": record.CauseFlood, "heat": record.CauseHeat,
	"noise": record.CauseNoise, "charge": record.CauseRecovered, "age": record.UnitInstalled, "terminals": record.WindingsReadAt, "again": record.InsulationAgain}

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
			w.tests = append(w.tests, testKey{strings.TrimSuffix(n.Observation.Do, ".") + fmt.Sprintf(": %.0f min", n.Observation.Minutes),
				fmt.Sprintf("Left out, about %.0f %% of the doubt stays that it would take. ", 100*x.Costs(n)) + n.Caution, testedBy[n.Observation.Key]})
		} else if x.Costs(n) >= 0.02 {
			w.rest = append(w.rest, fmt.Sprintf("%s (%.0f %%)", strings.ToLower(n.Observation.Label[:1])+n.Observation.Label[1:], 100*x.Costs(n)))
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

func fillCall(p *Pane, body *fyne.Container, w failureWords) {
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
	if len(w.roots) > 0 && w.why != nil {
		t := widget.NewTable([]string{"Root causes that the evidence points at", "by"}, w.roots)
		t.OnResize = p.reflow
		body.Add(t)
	}
	for _, k := range w.keys {
		body.Add(widget.NewTap(k.words, func() {
			p.Leave()
			p.Enter(k.key, k.value, "", "")
		}))
	}
	if len(w.tests) > 0 {
		body.Add(widget.NewHeading("Next, what tells most for its time; a touch leads to its entry"))
		for _, t := range w.tests {
			k := widget.NewTap(t.words, func() {
				if f := t.key.Field(); f.Step != p.Info.Step {
					p.LeadAway(f.Step, t.key.String())
					return
				}
				p.LeadTo(t.key.String())
			})
			k.Px = theme.Small + 0.5
			body.Add(k)
			body.Add(widget.NewWords(t.caution, theme.Small, false, theme.Muted))
		}
		if len(w.rest) > 0 {
			body.Add(widget.NewWords("Not done either, with the share of the doubt that each would take: "+strings.Join(w.rest, "; ")+".", theme.Small, false, theme.Muted))
		}
	}
}

func fillFailure(p *Pane, body *fyne.Container, view, oil *widget.View, w failureWords) {
	if w.wrong != "" {
		return
	}
	if len(w.kinds) > 0 {
		body.Add(widget.NewHeading("How likely each kind of failure is"))
		body.Add(view)
	}
	table := func(head []string, rows []widget.TableRow) {
		t := widget.NewTable(head, rows)
		t.OnResize = p.reflow
		body.Add(t)
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
	body.Add(p.provenance("How often each finding goes with each failure is common practice, no source. Where from?", strings.Join([]string{
		"Formula: Bayes' rule over nine kinds of failure and none; what was not done says nothing.",
		"Dead is said only where a fault is at least 98 % likely and something final was seen, read again where a lead or a capacitor could have made it; not dead only of a compressor that ran and pumped.",
		"Tried on invented failures of another make: see README."}, " ")))
}
