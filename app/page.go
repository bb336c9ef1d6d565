package app

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/widget"
)

// pageSheet is a sheet that is read: the way back stands above what scrolls and never
// leaves the sight, and Escape takes it. leave is what both do; nil is to shut it.
func (b *Bench) pageSheet(w, h float32, fill func(shut func()) (page fyne.CanvasObject, leave func())) {
	b.pageSheetTo("Back to the job", w, h, fill)
}

// pageSheetTo is one whose way back says where it leads.
func (b *Bench) pageSheetTo(word string, w, h float32, fill func(shut func()) (page fyne.CanvasObject, leave func())) {
	c := b.theCanvas()
	if c == nil {
		return
	}
	var mine fyne.CanvasObject // what of a menu over it Escape shuts is the menu's
	b.Sheet(w, h, func(hide func()) fyne.CanvasObject {
		was := c.OnTypedKey()
		shut := func() {
			c.SetOnTypedKey(was)
			hide()
		}
		page, leave := fill(shut)
		if leave == nil {
			leave = shut
		}
		c.SetOnTypedKey(func(e *fyne.KeyEvent) {
			if e.Name == fyne.KeyEscape && c.Overlays().Top() == mine {
				leave()
			}
		})
		back := widget.NewTap(word, leave)
		back.Strong = true
		return container.NewBorder(widget.NewColumn(0, 10, back), nil, nil, nil, page)
	})
	mine = c.Overlays().Top()
}

// searched is the toolkit's entry that leaves Escape to the sheet it stands on.
type searched struct {
	toolkit.Entry
	leave func()
}

func newSearched(leave func()) *searched {
	e := &searched{leave: leave}
	e.ExtendBaseWidget(e)
	return e
}

// TypedKey implements fyne.Focusable.
func (e *searched) TypedKey(k *fyne.KeyEvent) {
	if k.Name == fyne.KeyEscape {
		e.leave()
		return
	}
	e.Entry.TypedKey(k)
}
