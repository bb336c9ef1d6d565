package widget

import (
	"unicode"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/words"
)

// Typed is what letters are typed into.
type Typed interface {
	Type(c rune)
	Rub()
}

// Letters types short texts where the system's own keyboard does not come up. Like the
// keypad it counts as focusable only so that touching it does not take the focus away.
type Letters struct {
	widget.BaseWidget
	Shut   func() // put away; nil where it always stands there
	target Typed
	done   func() // the last key: on to the next entry
	keys   [][]*Tap
	caps   bool
	lines  bool // what is typed into has several
	ground *canvas.Rectangle
}

// signs stand in the place of the figures with the capitals.
const signs = ":;%()+=?!&"

var letterRows = []string{"1234567890", "qwertyuiop", "asdfghjkl'", "zxcvbnm,.-"}

// NewLetters makes the keys.
func NewLetters() *Letters {
	k := &Letters{ground: rect()}
	key := func(text string, do func()) *Tap {
		t := NewTap(text, do)
		t.Px = 18
		return t
	}
	for _, row := range letterRows {
		var keys []*Tap
		for _, c := range row {
			var t *Tap
			t = key(string(c), func() { k.typed([]rune(t.Text)[0]) })
			keys = append(keys, t)
		}
		k.keys = append(k.keys, keys)
	}
	rub := NewGlyphTap("rub", "", func() {
		if k.target != nil {
			k.target.Rub()
		}
	})
	next := key("Next", func() {
		if k.done != nil {
			k.done()
		}
	})
	next.Strong, next.Px = true, theme.Text
	caps := key("ABC", func() { k.shift(!k.caps) })
	caps.Px = theme.Text
	space := key("space", func() { k.typed(' ') })
	space.Px = theme.Text
	line := key("line", func() { k.typed('\n') })
	line.Px = theme.Text
	shut := NewGlyphTap("more", "", func() {
		if k.Shut != nil {
			k.Shut()
		}
	})
	k.keys = append(k.keys, []*Tap{caps, key("/", func() { k.typed('/') }), space, line, rub, next, shut})
	k.ExtendBaseWidget(k)
	return k
}

// Aim points the keys at what is typed into, and at what the last key does; nil is nothing.
func (k *Letters) Aim(t Typed, done func()) {
	k.target, k.done = t, done
	r, ok := t.(*Row)
	k.lines = ok && r.Field.Kind == NoteField
	k.shift(false)
}

// typed puts a letter; a capital is followed by small ones.
func (k *Letters) typed(c rune) {
	if k.target != nil {
		k.target.Type(c)
	}
	if k.caps && unicode.IsLetter(c) {
		k.shift(false)
	}
}

func (k *Letters) shift(on bool) {
	k.caps = on
	for i, row := range k.keys[:len(letterRows)] {
		for j, t := range row {
			text := []rune(letterRows[i])[j]
			switch {
			case on && i == 0:
				text = []rune(signs)[j]
			case on:
				text = unicode.ToUpper(text)
			}
			t.Set(string(text), false)
		}
	}
	k.last()[0].Set("ABC", on)
	k.Refresh()
}

func (k *Letters) last() []*Tap { return k.keys[len(k.keys)-1] }

// Key finds a key by its word or glyph; nil if there is none.
func (k *Letters) Key(word string) *Tap {
	for _, row := range k.keys {
		for _, t := range row {
			if word != "" && (t.Text == word || t.Glyph == word) {
				return t
			}
		}
	}
	return nil
}

// FocusGained implements fyne.Focusable.
func (k *Letters) FocusGained() {}

// FocusLost implements fyne.Focusable.
func (k *Letters) FocusLost() {}

// TypedRune implements fyne.Focusable.
func (k *Letters) TypedRune(rune) {}

// TypedKey implements fyne.Focusable.
func (k *Letters) TypedKey(*fyne.KeyEvent) {}

// HeightFor implements Tall.
func (k *Letters) HeightFor(float32) float32 {
	return 12 + float32(len(k.keys))*(theme.Touch+keyGap)
}

// CreateRenderer implements fyne.Widget.
func (k *Letters) CreateRenderer() fyne.WidgetRenderer { return &lettersRenderer{k} }

type lettersRenderer struct{ k *Letters }

func (r *lettersRenderer) Layout(s fyne.Size) {
	r.k.ground.Resize(s)
	y := float32(8)
	for i, row := range r.k.keys {
		share := make([]float32, len(row))
		sum := float32(0)
		for j := range row {
			share[j] = 1
			if i == len(r.k.keys)-1 {
				share[j] = []float32{1.4, 1, 2.4, 1.2, 1.2, 1.8, 1}[j]
			}
			sum += share[j]
		}
		one := (s.Width - 12 - keyGap*float32(len(row)-1)) / sum
		x := float32(6)
		for j, t := range row {
			put(t, x, y, one*share[j], theme.Touch)
			x += one*share[j] + keyGap
		}
		y += theme.Touch + keyGap
	}
}
func (r *lettersRenderer) MinSize() fyne.Size { return fyne.NewSize(480, r.k.HeightFor(480)) }
func (r *lettersRenderer) Destroy()           {}
func (r *lettersRenderer) Refresh() {
	r.k.ground.FillColor = theme.Panel.Colour()
	r.k.ground.StrokeColor, r.k.ground.StrokeWidth = theme.Frame.Colour(), 1
	r.Layout(r.k.Size())
	for _, row := range r.k.keys {
		for _, t := range row {
			t.Refresh()
		}
	}
	canvas.Refresh(r.k)
}
func (r *lettersRenderer) Objects() []fyne.CanvasObject {
	os := []fyne.CanvasObject{r.k.ground}
	for _, row := range r.k.keys {
		for _, t := range row {
			if (t.Glyph != "more" || r.k.Shut != nil) && (t.Text != "line" || r.k.lines) {
				os = append(os, t)
			}
		}
	}
	return os
}

// TextEntry is a line of text on a sheet, which letters can be typed into.
type TextEntry struct {
	widget.Entry
	OnGain func() // it got the cursor
}

// NewTextEntry makes an entry.
func NewTextEntry(text, hint string) *TextEntry {
	e := &TextEntry{}
	e.ExtendBaseWidget(e)
	e.SetText(text)
	e.SetPlaceHolder(words.Say(hint))
	return e
}

// FocusGained implements fyne.Focusable.
func (e *TextEntry) FocusGained() {
	e.Entry.FocusGained()
	if e.OnGain != nil {
		e.OnGain()
	}
}

// Type implements Typed: touching the keys may have taken the cursor away.
func (e *TextEntry) Type(c rune) { e.back(); e.TypedRune(c) }

// Rub implements Typed.
func (e *TextEntry) Rub() { e.back(); e.TypedKey(&fyne.KeyEvent{Name: fyne.KeyBackspace}) }

func (e *TextEntry) back() {
	if c := fyne.CurrentApp().Driver().CanvasForObject(e); c != nil && c.Focused() != fyne.Focusable(e) {
		c.Focus(e)
	}
}
