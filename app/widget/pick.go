package widget

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/words"
)

// steps goes from field to field by a keyboard: Tab and Enter forward, with Shift
// back.
type steps struct {
	row   *Row
	shift bool
}

// AcceptsTab implements fyne.Tabbable: the order of the fields is ours.
func (s *steps) AcceptsTab() bool { return true }

func (s *steps) KeyDown(k *fyne.KeyEvent) {
	if k.Name == desktop.KeyShiftLeft || k.Name == desktop.KeyShiftRight {
		s.shift = true
	}
}

func (s *steps) KeyUp(k *fyne.KeyEvent) {
	if k.Name == desktop.KeyShiftLeft || k.Name == desktop.KeyShiftRight {
		s.shift = false
	}
}

func (s *steps) step() {
	by := 1
	if s.shift {
		by = -1
	}
	if s.row.OnMove != nil {
		s.row.OnMove(s.row, by)
	} else {
		s.row.Commit()
	}
}

// pick is a row of keys that Tab reaches: arrows go along it, Space takes the one
// that is marked or lets it go, Enter goes on and takes what the arrows led to: who only
// presses Enter on the way past has answered nothing.
type pick struct {
	Choose
	steps
	at  int
	led bool // by the arrows, since it has the cursor
}

func newPick(r *Row, options []string) *pick {
	p := &pick{steps: steps{row: r}}
	p.ExtendBaseWidget(p)
	p.SetOptions(options, "")
	p.Do = func(o string) {
		for i, q := range p.Options {
			if q == o {
				p.at = i
			}
		}
		// Whatever is being typed elsewhere is entered first.
		if c := fyne.CurrentApp().Driver().CanvasForObject(p); c != nil && c.Focused() != p {
			c.Focus(p)
		}
		p.take(o, p.row.choose)
		p.mark(false) // a finger needs no mark
	}
	return p
}

// take enters an option; the chosen one is let go.
func (p *pick) take(o string, hand func(string)) {
	if p.row.committed == o+"\x00" {
		o = ""
	}
	p.Select(o)
	hand(o)
}

func (p *pick) mark(on bool) {
	for i, t := range p.taps {
		if m := on && i == p.at; m != t.Mark {
			t.Mark = m
			t.Refresh()
		}
	}
}

// FocusGained implements fyne.Focusable.
func (p *pick) FocusGained() {
	for i, o := range p.Options {
		if o == p.Chosen && o != "" {
			p.at = i
		}
	}
	p.led = false
	p.mark(true)
	p.row.light(true)
}

// FocusLost implements fyne.Focusable.
func (p *pick) FocusLost() {
	p.shift = false
	p.mark(false)
	p.row.light(false)
}

// TypedRune implements fyne.Focusable.
func (p *pick) TypedRune(r rune) {
	if r == ' ' && p.at < len(p.Options) {
		p.take(p.Options[p.at], p.row.commit) // and stays: another space lets it go
		return
	}
	p.row.strayed(r)
}

// TypedKey implements fyne.Focusable.
func (p *pick) TypedKey(k *fyne.KeyEvent) {
	n := len(p.Options)
	switch k.Name {
	case fyne.KeyTab:
		p.step()
	case fyne.KeyReturn, fyne.KeyEnter:
		if p.led && p.at < n && p.Chosen != p.Options[p.at] {
			p.take(p.Options[p.at], p.row.commit)
		}
		p.step()
	case fyne.KeyLeft, fyne.KeyUp:
		p.at, p.led = max(0, p.at-1), true
		p.mark(true)
	case fyne.KeyRight, fyne.KeyDown:
		p.at, p.led = max(0, min(n-1, p.at+1)), true
		p.mark(true)
	}
}

// list is the toolkit's list, in our order of the fields.
type list struct {
	widget.Select
	steps
}

func newList(r *Row) *list {
	l := &list{steps: steps{row: r}}
	l.Options, l.PlaceHolder = r.says(), words.Say("choose")
	l.OnChanged = func(o string) { r.choose(r.option(o)) }
	l.ExtendBaseWidget(l)
	return l
}

// FocusGained implements fyne.Focusable.
func (l *list) FocusGained() {
	l.Select.FocusGained()
	l.row.light(true)
}

// FocusLost implements fyne.Focusable.
func (l *list) FocusLost() {
	l.shift = false
	l.Select.FocusLost()
	l.row.light(false)
}

// TypedRune implements fyne.Focusable.
func (l *list) TypedRune(c rune) { l.row.strayed(c) }

// TypedKey implements fyne.Focusable.
func (l *list) TypedKey(k *fyne.KeyEvent) {
	switch k.Name {
	case fyne.KeyTab, fyne.KeyReturn, fyne.KeyEnter:
		l.step()
	default:
		l.Select.TypedKey(k)
	}
}
