package section

import (
	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/app/words"
)

// taker is a sheet that takes a file in: which, what is to be confirmed of it, and how it
// stands.
type taker struct {
	h    Host
	path *toolkit.Entry
	widget.StatusLine
	ask  *fyne.Container // what is to be confirmed
	work widget.Latest
	shut func()
}

func newTaker(h Host, shut func(), title, about, hint string, load func()) *taker {
	m := &taker{h: h, path: toolkit.NewEntry(), ask: widget.NewColumn(6, 0), shut: shut}
	m.work.Now = h.Inline()
	m.path.SetPlaceHolder(words.Say(hint))
	m.path.OnSubmitted = func(string) { load() }
	m.Said = widget.NewWords("", theme.Small+0.5, false, theme.Ink)
	read := widget.NewTap("Read it", load)
	read.Strong = true
	col := widget.NewColumn(6, 14, widget.NewWords(title, theme.Figure, true, theme.Ink), widget.NewWords(about, theme.Small+0.5, false, theme.Muted), m.path)
	if browse := h.Browse(); browse != nil {
		col.Add(widget.NewTap("Look for the file", func() {
			browse(func(p string) {
				m.path.SetText(p)
				load()
			})
		}))
	}
	for _, o := range []fyne.CanvasObject{read, m.Said, m.ask, widget.NewTap("Cancel", shut)} {
		col.Add(o)
	}
	m.Scroll = widget.NewScroller(col)
	return m
}
