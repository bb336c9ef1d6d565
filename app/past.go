package app

import (
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/reports/record"
	"retrostage/reports/store"
	"retrostage/thermo/units"
)

// Past shows who typed what into a field, when, and what stood there before, the
// newest first.
func (b *Bench) Past(key record.Key) {
	f, err := record.ByKey(key)
	if err != nil {
		return
	}
	b.pageSheetTo("Back to the field", 600, 560, func(shut func()) (fyne.CanvasObject, func()) {
		rows := widget.NewColumn(6, 0)
		page := widget.NewScroller(widget.NewColumn(6, 12, widget.NewWords(f.Label, theme.Figure, true, theme.Ink), rows))
		k, job := b.keep, b.job.Clone()
		b.saving.Ask(func() func() { // after what was entered last
			var lines []store.Line
			var err error
			if k.jobs != nil {
				lines, err = k.jobs.History(job.ID, key)
			} else {
				lines = fromEntries(job, key)
			}
			return func() {
				b.fillPast(rows, f, lines, err, shut)
				page.Reflow()
			}
		})
		return page, nil
	})
}

func (b *Bench) fillPast(rows *fyne.Container, f record.Field, lines []store.Line, err error, shut func()) {
	switch {
	case err != nil:
		rows.Add(widget.NewNotice("outside", theme.Bad, []string{"What stood here cannot be read: " + err.Error()}, nil))
	case len(lines) == 0:
		rows.Add(widget.NewWords("Nothing was entered here yet.", theme.Text, false, theme.Muted))
	}
	stands := true
	for _, n := range slices.Backward(lines) {
		value, word, tone := amountOf(f, n.Value, n.Unit), "earlier", theme.Muted
		switch {
		case n.Undone:
			word = "taken back"
		case n.Reason != "":
			word, tone = "not entered", theme.Warning
		case stands:
			word, tone, stands = "stands", theme.Accent, false
		}
		rows.Add(widget.NewCard(words.Own(value), word, told(n), tone))
		if open := b.apart[f.Key]; slices.Contains(open, strings.TrimSpace(n.Value+" "+n.Unit)) && !n.Undone && n.Reason == "" && b.readOnly == nil {
			rows.Add(widget.NewTap("This one stands: "+value, func() {
				shut()
				b.Enter(f.Key, n.Value, n.Unit, n.Instrument)
				b.Remake(b.pane())
			}))
		}
	}
}

// told is one entry of the history in sentences.
func told(n store.Line) string {
	var say []string
	say = append(say, by("Typed", n.Who)+" on "+n.When.Format("2006-01-02 at 15:04:05"))
	if n.Typed != "" {
		say = append(say, "as "+n.Typed)
	}
	if n.Instrument != "" {
		say = append(say, "read with "+n.Instrument)
	}
	t := strings.Join(say, ", ") + "."
	switch {
	case n.Reason != "":
		t += " " + n.Reason + "."
	case n.Before == "":
		t += " Nothing stood here before."
	default:
		t += fmt.Sprintf(" Before it stood %s.", n.Before)
	}
	if n.Undone {
		t += " " + by("Taken back", n.UndoneBy) + " on " + n.UndoneWhen.Format("2006-01-02 at 15:04:05") + "."
	}
	return t
}

func by(what, who string) string {
	if who == "" {
		return what + " by nobody named"
	}
	return what + " by " + who
}

func amountOf(f record.Field, value, unit string) string {
	switch {
	case value == "":
		return "cleared"
	case unit == "" || f.Kind != record.Number:
		return value
	}
	if u, err := units.Lookup(f.Dim, unit); err == nil {
		unit = u.Label
	}
	return value + " " + unit
}

// fromEntries is the history of a field as far as the job itself has it.
func fromEntries(j *record.Job, key record.Key) (lines []store.Line) {
	was := ""
	for _, e := range j.History(key) {
		lines = append(lines, store.Line{Who: e.By, When: e.Time, Value: e.Value, Unit: e.Unit, Typed: e.Typed, Instrument: e.Instrument, Before: was})
		was = strings.TrimSpace(e.Value + " " + e.Unit)
	}
	return lines
}
