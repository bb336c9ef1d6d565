package app

import (
	"strings"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/archive"
	"retrostage/reports/owner"
)

// Sheet shows something above the window until it is closed.
func (b *Bench) Sheet(w, h float32, fill func(close func()) fyne.CanvasObject) {
	c := b.theCanvas()
	if c == nil {
		return
	}
	b.Leave()
	var pop *toolkit.PopUp
	content := fill(func() { pop.Hide() })
	pop = toolkit.NewModalPopUp(content, c)
	pop.Resize(fyne.NewSize(fyne.Min(w, c.Size().Width-40), fyne.Min(h, c.Size().Height-40)))
	pop.Show()
}

func (b *Bench) askPerson() {
	e, call := widget.NewTextEntry(b.person, "your reference"), widget.NewTextEntry("", "name and number")
	said := widget.NewWords("", theme.Small+0.5, false, theme.Bad)
	// As it is kept, which is read beside the finger; what is typed meanwhile stays.
	was, dir := "", b.settingsDir()
	b.exporting.Ask(func() func() {
		s, err := owner.Calls(dir)
		return func() {
			if err != nil {
				said.Set(err.Error())
			} else if call.Text == "" {
				was = s
				call.SetText(s)
			}
		}
	})
	w, h := float32(460), float32(386)
	if b.own.Letters {
		w, h = 620, 680
	}
	b.Sheet(w, h, func(shut func()) fyne.CanvasObject {
		done := func() {
			b.SetPerson(e.Text)
			to := strings.TrimSpace(call.Text)
			if to == was {
				shut()
				return
			}
			b.exporting.Ask(func() func() {
				err := owner.SetCalls(dir, to)
				return func() {
					if err != nil {
						said.Set(err.Error())
						return
					}
					shut()
				}
			})
		}
		e.OnSubmitted, call.OnSubmitted = func(string) { done() }, func(string) { done() }
		ok := widget.NewTap("Done", done)
		ok.Strong = true
		more := widget.NewTap("Settings", func() {
			b.SetPerson(e.Text)
			shut()
			b.Settings(false)
		})
		keys := widget.NewLetters()
		e.OnGain, call.OnGain = func() { keys.Aim(e, done) }, func() { keys.Aim(call, done) }
		if !b.own.Letters {
			keys.Hide()
		}
		return widget.NewColumn(8, 12, widget.NewWords("Who is typing?", theme.Figure, true, theme.Ink),
			widget.NewWords("A reference, not a name. It stands beside every entry from now on.", theme.Small+0.5, false, theme.Muted), e,
			widget.NewWords("Whom the owner calls, on the owner's page of every job that names nobody of its own.", theme.Small+0.5, false, theme.Muted), call, said, keys, ok, more)
	})
	if c := b.theCanvas(); c != nil {
		c.Focus(e)
	}
}

// settingsDir is the folder whose settings hold here: that of the jobs on this tablet,
// also for a job that is kept apart from them.
func (b *Bench) settingsDir() string {
	if b.keep.jobs == nil {
		if d, err := archive.Dir(); err == nil {
			return d
		}
	}
	return b.keep.dir
}
