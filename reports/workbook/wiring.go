package workbook

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"retrostage/reports/plan"
	"retrostage/wiring/ladder"
)

// wiringPage is the plan for the controls: what was decided, what becomes of
// each device, the work list conductor by conductor and what was checked; and,
// where there is a plan, a page with the ladder before and after.
func (b *book) wiringPage() (_, ladders *page, err error) {
	p := newPage("Wiring plan", "Wiring plan", 5, 24, 10, 15, 15, 10, 7, 76)
	p.landscape = true
	const last = 8
	row := b.banner(p, last)
	line := func(k lookKind, s string) {
		p.text(row, 1, k, s)
		p.span(row, 1, last)
		p.fit(row, 1, last, s, k)
		row++
	}
	title := func(s string) {
		p.text(row, 1, section, s)
		p.span(row, 1, last)
		p.heights[row] = 20
		row++
	}
	if t := b.job.Text("wiring_note"); t != "" {
		line(wrapped, t)
	}
	made, err := plan.Checked(context.Background(), b.job)
	switch {
	case errors.Is(err, plan.ErrNoUnit):
		line(note, "No old unit was chosen: there is no plan.")
		return p, nil, nil
	case err != nil:
		line(warn, "No plan could be made: "+err.Error())
		return p, nil, nil
	case made.Refused != "":
		line(warn, "No plan: "+made.Refused)
		return p, nil, nil
	}
	for _, o := range made.Omitted {
		line(warn, fmt.Sprintf("LEFT OUT, TO BE SIGNED FOR: %s. Reason stated: %s. %s", o.Label, o.Reason, o.Caution))
	}
	if len(made.Assumed) > 0 {
		line(note, "Not in the record, assumed for this plan: "+strings.Join(made.Assumed, ", ")+".")
	}
	if len(made.Open) > 0 {
		line(note, "Not answered, the default stands: "+strings.Join(made.Open, ", ")+".")
	}

	row++
	title("What becomes of each device")
	heads := func(hs ...string) {
		for i, h := range hs {
			p.text(row, i+1, head, h)
		}
		row++
	}
	heads("", "Device", "Action", "Reason")
	p.span(row-1, 4, last)
	for _, d := range made.Devices {
		reason := d.Reason
		if d.Caution != "" {
			reason += ". Caution: " + d.Caution
		}
		p.text(row, 1, shape, mark(d.Marked))
		p.text(row, 2, wrapped, d.Label)
		p.text(row, 3, wrapped, d.Action)
		p.text(row, 4, wrapped, reason)
		p.span(row, 4, last)
		p.fit(row, 4, last, reason, wrapped)
		p.fit(row, 2, 2, d.Label, wrapped)
		row++
	}

	row++
	title("Work list, in this order")
	heads("", "Conductor or device", "Action", "From", "To", "Colour", "AWG", "Words and cautions")
	for _, s := range made.Steps {
		words := s.Words
		if s.Caution != "" {
			words += " CAUTION: " + s.Caution
		}
		p.set(row, 1, cell{value: s.N, look: look{kind: unit}})
		from, to := s.From, s.To
		if from == "" && to == "" {
			from, to = s.WasFrom, s.WasTo
		}
		gauge := ""
		if s.Gauge > 0 {
			gauge = fmt.Sprint(s.Gauge)
		}
		for i, t := range []string{s.Item, s.Action, from, to, s.Colour, gauge, words} {
			p.text(row, i+2, wrapped, t)
			p.fit(row, i+2, i+2, t, wrapped)
		}
		row++
	}

	row++
	title("What was checked on the planned circuit")
	heads("", "Holds", "", "Check")
	p.span(row-1, 4, last)
	for _, c := range made.Proof.Checks {
		word, words := "yes", c.Words
		if !c.Holds {
			word = "NO"
			words += fmt.Sprintf(": %s; %s", c.State, c.Detail)
		}
		p.text(row, 2, wrapped, word)
		p.text(row, 3, wrapped, "")
		p.text(row, 4, wrapped, words)
		p.span(row, 4, last)
		p.fit(row, 4, last, words, wrapped)
		row++
	}
	line(note, made.Proof.Note)

	old, err := plan.Unit(b.job)
	if err != nil {
		return nil, nil, err
	}
	marks := map[string]string{}
	for _, d := range made.Devices {
		marks[d.ID] = d.Action
	}
	for _, c := range made.Conductors {
		marks[c.ID] = c.Action
	}
	ladders, err = b.ladderPage([]*drawn{{title: "Ladder before", unit: old}, {title: "Ladder after", unit: made.New}}, ladder.Changes(marks))
	return p, ladders, err
}

func mark(departs bool) string {
	if departs {
		return shapes["outside"]
	}
	return ""
}
