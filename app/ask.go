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
	e := toolkit.NewEntry()
	e.SetText(b.person)
	e.SetPlaceHolder("your reference")
	b.Sheet(460, 210, func(shut func()) fyne.CanvasObject {
		done := func() { b.SetPerson(e.Text); shut() }
		e.OnSubmitted = func(string) { done() }
		ok := widget.NewTap("Done", done)
		ok.Strong = true
		return widget.NewColumn(8, 12, widget.NewWords("Who is typing?", theme.Figure, true, theme.Ink),
			widget.NewWords("A reference, not a name. It stands beside every entry from now on.", theme.Small+0.5, false, theme.Muted), e, ok)
	})
	if c := b.theCanvas(); c != nil {
		c.Focus(e)
	}
}
