package app

import (
	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
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
	e := widget.NewTextEntry(b.person, "your reference")
	w, h := float32(460), float32(266)
	if b.own.Letters {
		w, h = 620, 560
	}
	b.Sheet(w, h, func(shut func()) fyne.CanvasObject {
		done := func() { b.SetPerson(e.Text); shut() }
		e.OnSubmitted = func(string) { done() }
		ok := widget.NewTap("Done", done)
		ok.Strong = true
		more := widget.NewTap("Settings", func() {
			done()
			b.Settings(false)
		})
		keys := widget.NewLetters()
		keys.Aim(e, done)
		if !b.own.Letters {
			keys.Hide()
		}
		return widget.NewColumn(8, 12, widget.NewWords("Who is typing?", theme.Figure, true, theme.Ink),
			widget.NewWords("A reference, not a name. It stands beside every entry from now on.", theme.Small+0.5, false, theme.Muted), e, keys, ok, more)
	})
	if c := b.theCanvas(); c != nil {
		c.Focus(e)
	}
}
