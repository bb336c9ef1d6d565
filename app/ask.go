package app

import (
	"fmt"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/record"
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

// chooseJob lists the jobs of the folder.
func (b *Bench) chooseJob() {
	b.Sheet(620, 560, func(shut func()) fyne.CanvasObject {
		col := widget.NewColumn(6, 10, widget.NewWords("Jobs on this tablet", theme.Figure, true, theme.Ink))
		stop := widget.NewTap("Back to the job", shut)
		filed := widget.NewTap("Register of workbooks, for the clerk", func() {
			shut()
			b.openRegister()
		})
		if b.keep.store == nil {
			col.Add(widget.NewWords("This job is kept in a file of its own: "+b.keep.path, theme.Text, false, theme.Ink))
			col.Add(filed)
			col.Add(stop)
			return widget.NewScroller(col)
		}
		fresh := widget.NewTap("Begin a new job", func() {
			shut()
			b.SetJob(b.keep, record.New(freeID(b.keep.store, b.now())))
		})
		fresh.Strong = true
		col.Add(fresh)
		list, err := b.keep.store.List()
		if err != nil {
			col.Add(widget.NewNotice("outside", theme.Bad, []string{err.Error()}, nil))
		}
		for _, l := range list {
			if l.Err != nil {
				col.Add(widget.NewNotice("outside", theme.Bad, []string{fmt.Sprintf("%s cannot be read and was left alone: %v", l.ID, l.Err)}, nil))
				continue
			}
			t := widget.NewTap(l.ID+",  changed "+l.Changed.Format("2006-01-02 15:04"), func() {
				j, err := b.keep.store.Load(l.ID)
				if err != nil {
					b.note = err.Error()
					b.window.paintBar()
					return
				}
				shut()
				b.SetJob(b.keep, j)
			})
			t.On = l.ID == b.job.ID
			col.Add(t)
		}
		col.Add(filed)
		col.Add(stop)
		return widget.NewScroller(col)
	})
}
