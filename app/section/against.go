package section

import (
	"context"
	"fmt"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// shownAgainst is how many matters of one kind the hand-over names before it counts
// the rest.
const shownAgainst = 6

// obstacle is one matter that stands against signing, as shown.
type obstacle struct {
	label, why string
	step       record.Step
	key        string
}

// obstacles are those of one kind.
type obstacles struct {
	head string
	of   []obstacle
	more int
}

// against opens the hand-over with what stands against signing, the gravest first,
// each with a key to where it is put right.
func against(p *Pane) *Section {
	body := widget.NewColumn(8, 0)
	fill := func(kinds []obstacles) {
		widget.Refill(body, func() {
			if len(kinds) == 0 {
				body.Add(widget.NewWords("Nothing that was asked for stands against signing.", theme.Text, false, theme.Ink))
				return
			}
			body.Add(widget.NewWords("What stands against signing", theme.Text, true, theme.Ink))
			for _, k := range kinds {
				body.Add(widget.NewHeading(k.head))
				for _, o := range k.of {
					body.Add(widget.NewTap(o.label, func() { p.LeadAway(o.step, o.key) }))
					if o.why != "" {
						body.Add(widget.NewWords(o.why, theme.Small+0.5, false, theme.Muted))
					}
				}
				if k.more > 0 {
					body.Add(widget.NewWords(fmt.Sprintf("And %d more: each step names its own at its foot.", k.more), theme.Small+0.5, false, theme.Muted))
				}
			}
		})
		p.reflow()
	}
	return newSection("against", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) []obstacles { return obstaclesOf(in) }, fill).alone()
}

// obstaclesOf groups what an assessment finds against signing, in its order.
func obstaclesOf(in Input) (out []obstacles) {
	r, err := in.Entered.Report()
	if err != nil {
		return nil
	}
	seen := map[string]bool{}
	for _, m := range r.Against {
		title := string(m.Step)
		if i, ok := m.Step.Info(); ok {
			title = i.Title
		}
		o := obstacle{label: title + ": " + m.Label, why: Sentence(m.Why), step: m.Step, key: m.Key}
		if m.Reserved != nil {
			o.why = Sentence(string(m.Was)) + ", left so by " + m.Reserved.By + ": " + m.Reserved.Text
		}
		if seen[o.label] {
			continue
		}
		seen[o.label] = true
		if n := len(out); n == 0 || out[n-1].head != heading(m.Stand) {
			out = append(out, obstacles{head: heading(m.Stand)})
		}
		if k := &out[len(out)-1]; len(k.of) < shownAgainst {
			k.of = append(k.of, o)
		} else {
			k.more++
		}
	}
	return out
}

func heading(s assess.Stand) string {
	if s == assess.Reservation {
		return "Left as it is, by name"
	}
	return Sentence(string(s))
}
