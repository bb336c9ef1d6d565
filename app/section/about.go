package section

import (
	"context"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// aboutWords are what the reason of a step is about, and what it might be.
type aboutWords struct {
	given   bool
	covered []string
	keys    []string // what can be touched, what it covers among them
	since   []string
	hint    string // the question, or why nothing is asked
	sole    bool   // it is about the one thing that stood: nothing to choose
}

// about names, below the reason for what is left as it is, what that reason covers. Several
// things that stood are touched one by one: a reason about one of them says nothing of the
// others.
func about(p *Pane) *Section {
	k, _ := p.Info.Step.Reservation()
	body := widget.NewColumn(6, 0)
	fill := func(w aboutWords) {
		widget.Refill(body, func() {
			if !w.given {
				return
			}
			body.Add(widget.NewHeading("What that reason is about"))
			body.Add(widget.NewWords(w.hint, theme.Small+0.5, false, theme.Ink))
			for _, l := range w.keys {
				t := widget.NewTap(l, func() { p.coverOr(k, w.covered, l) })
				t.Px, t.On = theme.Small+0.5, slices.Contains(w.covered, l)
				body.Add(t)
			}
			if len(w.since) > 0 {
				body.Add(widget.NewWords("Came or changed after it was given, and wants words of its own there: "+strings.Join(w.since, "; ")+".", theme.Small+0.5, false, theme.Ink))
			}
		})
		p.reflow()
	}
	return newSection("about", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) aboutWords { return aboutOf(in, p.Info.Step) }, fill).alone()
}

// coverOr takes one thing among what the reason covers, or out of it.
func (p *Pane) coverOr(k record.Key, covered []string, label string) {
	now := slices.DeleteFunc(slices.Clone(covered), func(l string) bool { return l == label })
	if len(now) == len(covered) {
		now = append(now, label)
	}
	p.Change(func(j *record.Job) { j.Covers(k, now, p.Person(), p.Now()) })
}

// aboutOf is what the assessment says of a step's reason.
func aboutOf(in Input, step record.Step) (w aboutWords) {
	k, _ := step.Reservation()
	e, ok := in.Job.Entry(k)
	if !ok {
		return w
	}
	r := reasonOf(in.Entered, step)
	switch {
	case r == nil && !record.Said(e.By):
		return aboutWords{given: true, hint: "Nobody answers for it, and it covers nothing: say who is typing, in the settings, and give it again."}
	case r == nil:
		return w
	}
	_, said := in.Job.About(k)
	w = aboutWords{given: true, covered: r.About, since: r.Since, sole: !said && len(r.About) > 0 && len(r.Other) == 0}
	if !w.sole {
		w.keys = append(slices.Clone(r.About), r.Other...)
		slices.Sort(w.keys)
	}
	switch {
	case w.sole:
		w.hint = "It covers the one thing that stood when it was given: " + strings.Join(r.About, "; ") + "."
	case len(w.keys) == 0:
		w.hint = "Nothing of what stood when it was given stands so now: it covers nothing."
	case len(r.About) == 0:
		w.hint = "It covers nothing yet. Touch each thing that it is about:"
	default:
		w.hint = "It covers what is lit, and nothing else:"
	}
	return w
}

// heldBy tells whether a step is held, as an assessment has it.
func heldBy(a *assess.Assessment, step record.Step) bool {
	if a == nil {
		return false
	}
	r, err := a.Report()
	return err == nil && slices.ContainsFunc(r.Steps, func(s assess.State) bool { return s.Step == step && s.Word == assess.Held })
}

// reasonOf is the reason of a step as an assessment has it, nil for none.
func reasonOf(a *assess.Assessment, step record.Step) *assess.Reason {
	if a == nil {
		return nil
	}
	r, err := a.Report()
	if err != nil {
		return nil
	}
	for _, s := range r.Steps {
		if s.Step == step {
			return s.Reason
		}
	}
	return nil
}
