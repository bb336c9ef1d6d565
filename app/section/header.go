package section

import (
	"context"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
)

// stage is how far a step is, in the words of the page; "" while nothing of it
// was begun.
func stage(in assess.State) string {
	switch widgetStates[in.Word] {
	case widget.Ready:
		return ""
	case widget.NotYet:
		return "Nothing to act on yet. " + in.Why + "."
	}
	text := "This step is " + widgetStates[in.Word].Word()
	if in.Why != "" {
		text += ": " + in.Why
	}
	return text + "."
}

// keptRoom keeps the room of a line.
const keptRoom = "\u00a0"

// header names the step, says how far it is, and shows its cautions.
func header(p *Pane) *Section {
	state := widget.NewWords("", theme.Small+0.5, false, theme.Ink)
	still := p.Middle == nil // it stands over the entries
	if still {
		state.Max = 1 // its room is kept: nothing below moves as it comes and changes; the foot says it in full
		state.Text = keptRoom
	} else {
		state.Hide()
	}
	c := widget.NewColumn(4, 0, widget.NewWords(p.Info.Title, theme.Title, true, theme.Ink),
		widget.NewWords(p.Info.Purpose, theme.Small+0.5, false, theme.Muted), state)
	if len(p.Info.Cautions) > 0 {
		// Where they come from, and how far to trust it, stands on the sheet's last page.
		var lines []string
		for _, k := range p.Info.Cautions {
			lines = append(lines, k.Text)
		}
		lines = append(lines, "Local code, the equipment's instructions and licensed practice decide.")
		n := widget.NewNotice("caution", theme.Warning, lines, nil)
		n.OnResize = p.reflow
		c.Add(n)
	}
	return newSection("header", []fyne.CanvasObject{c}, Input.typed,
		func(_ context.Context, in Input) string {
			r, err := in.Shown.Report()
			if err != nil {
				return ""
			}
			for _, s := range r.Steps {
				if s.Step == p.Info.Step {
					return stage(s)
				}
			}
			return ""
		},
		func(text string) {
			if still && text == "" {
				text = keptRoom
			}
			if text == state.Text {
				return
			}
			state.Set(text)
			if still {
				return
			}
			show(state, text != "")
			p.reflow()
		}).alone()
}

// show makes an object visible or not.
func show(o fyne.CanvasObject, on bool) {
	if on {
		o.Show()
	} else {
		o.Hide()
	}
}
