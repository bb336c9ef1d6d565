package widget

import (
	"image/color"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/words"
)

// Keypad types numbers into the entry at hand with one thumb. It counts as
// focusable only so that touching it does not take the focus from the entry.
type Keypad struct {
	widget.BaseWidget
	target *Row
	title  *Words
	help   *Words
	units  *Choose
	tools  *Choose
	keys   []*Tap
	parts  []*Tap // pounds and ounces, typed with their word; shown where a mass is asked
	shut   *Tap
	Shut   func() // put the keypad away
}

// NewKeypad makes a keypad.
func NewKeypad() *Keypad {
	k := &Keypad{title: NewWords("", theme.Text, true, theme.Ink), help: NewWords("", theme.Small, false, theme.Muted)}
	k.title.Max, k.help.Max = 1, 2
	k.units = NewChoose(nil, "", func(u string) {
		if k.target != nil {
			k.target.SetUnit(u)
		}
	})
	k.tools = NewChoose(nil, "", func(t string) {
		if k.target != nil {
			k.target.SetTool(t)
		}
	})
	for _, t := range []string{"7", "8", "9", "", "4", "5", "6", "±", "1", "2", "3", "Back", "0", ".", "", "Next"} {
		key := NewTap(t, nil)
		key.Px = 20
		switch t {
		case "":
			key.Do = nil
		case "Next":
			key.Strong, key.Px = true, theme.Text
			key.Do = func() {
				if k.target != nil {
					k.target.End()
				}
			}
		case "Back":
			key.Px = theme.Text
			key.Do = func() { k.move(-1) }
		case "±":
			key.Do = func() {
				if k.target != nil {
					k.target.Sign()
				}
			}
		default:
			key.Do = func() {
				if k.target != nil {
					k.target.Type([]rune(key.Text)[0])
				}
			}
		}
		k.keys = append(k.keys, key)
	}
	for _, u := range []string{"lb", "oz"} {
		t := NewTap("… "+u, func() { k.part(u) }) // told from the keys of the unit
		t.Px = theme.Text
		k.parts = append(k.parts, t)
	}
	k.keys[3].Glyph = "rub"
	k.keys[3].Do = func() {
		if k.target != nil {
			k.target.Rub()
		}
	}
	k.keys[14].Text, k.keys[14].Px = "Clear", theme.Text
	k.keys[14].Do = func() {
		if k.target != nil {
			k.target.Wipe()
		}
	}
	k.shut = NewGlyphTap("more", "", func() {
		if k.Shut != nil {
			k.Shut()
		}
	})
	k.shut.Flat = true
	k.ExtendBaseWidget(k)
	return k
}

// part types the word of a part of a mass behind its figure.
func (k *Keypad) part(u string) {
	r := k.target
	if r == nil {
		return
	}
	t := " " + u
	if u == "lb" {
		t += " " // ounces follow
	}
	for _, c := range t {
		r.Type(c)
	}
}

// massed tells whether the row at hand takes pounds and ounces.
func (k *Keypad) massed() bool {
	return k.target != nil && slices.Contains(k.target.Field.Units, "lb") && slices.Contains(k.target.Field.Units, "oz")
}

func (k *Keypad) move(by int) {
	if k.target != nil && k.target.OnMove != nil {
		k.target.OnMove(k.target, by)
	}
}

// Aim points the keypad at a row; nil at none.
func (k *Keypad) Aim(r *Row) {
	k.target = r
	if r == nil {
		return
	}
	k.keys[13].Set(words.Mark(), false)
	k.title.Set(r.Field.Label)
	k.help.Set(r.Field.Help)
	if len(r.Field.Units) > 1 {
		k.units.SetOptions(r.Field.Units, r.Field.Unit)
	} else {
		k.units.SetOptions(nil, "")
	}
	if len(r.Field.Tools) > 1 {
		k.tools.SetOptions(r.Field.Tools, r.Field.Tool)
	} else {
		k.tools.SetOptions(nil, "")
	}
	k.Refresh()
}

// Target is the row the keypad types into, nil if none.
func (k *Keypad) Target() *Row { return k.target }

// FocusGained implements fyne.Focusable.
func (k *Keypad) FocusGained() {}

// FocusLost implements fyne.Focusable.
func (k *Keypad) FocusLost() {}

// TypedRune implements fyne.Focusable.
func (k *Keypad) TypedRune(rune) {}

// TypedKey implements fyne.Focusable.
func (k *Keypad) TypedKey(*fyne.KeyEvent) {}

const keyGap = 5

// HeightFor implements Tall.
func (k *Keypad) HeightFor(w float32) float32 {
	h := float32(10) + theme.Touch + 4*(50+keyGap) + 8
	for _, c := range []*Choose{k.units, k.tools} {
		if u := c.HeightFor(w - 16); u > 0 {
			h += u + keyGap
		}
	}
	if k.massed() {
		h += 50 + keyGap
	}
	return h
}

// CreateRenderer implements fyne.Widget.
func (k *Keypad) CreateRenderer() fyne.WidgetRenderer {
	r := &keypadRenderer{k: k, ground: rect(), rule: canvas.NewLine(color.Black)}
	r.Refresh()
	return r
}

type keypadRenderer struct {
	k      *Keypad
	ground *canvas.Rectangle
	rule   *canvas.Line
}

func (r *keypadRenderer) Layout(size fyne.Size) {
	k := r.k
	r.ground.Resize(size)
	r.rule.Position1, r.rule.Position2 = fyne.NewPos(0, 0), fyne.NewPos(size.Width, 0)
	w := size.Width - 16
	put(k.shut, size.Width-theme.Touch-4, 4, theme.Touch, theme.Touch)
	put(k.title, 10, 8, w-theme.Touch, k.title.line())
	hh := k.help.HeightFor(w - theme.Touch)
	if hh > k.help.line() {
		put(k.title, 10, 3, w-theme.Touch, k.title.line())
		put(k.help, 10, 23, w-theme.Touch, hh)
	} else {
		put(k.help, 10, 30, w-theme.Touch, hh)
	}
	y := float32(10) + theme.Touch
	for _, c := range []*Choose{k.units, k.tools} {
		if u := c.HeightFor(w); u > 0 {
			put(c, 8, y, w, u)
			y += u + keyGap
		}
	}
	kw := whole((w-3*keyGap)/4 - 0.5)
	rows := float32(4)
	if k.massed() {
		rows = 5
	}
	kh := whole((size.Height-y-8-(rows-1)*keyGap)/rows - 0.5)
	if k.massed() {
		half := whole((w-keyGap)/2 - 0.5)
		for i, t := range k.parts {
			put(t, 8+float32(i)*(half+keyGap), y, half, kh)
		}
		y += kh + keyGap
	}
	for i, t := range k.keys {
		put(t, 8+float32(i%4)*(kw+keyGap), y+float32(i/4)*(kh+keyGap), kw, kh)
	}
}
func (r *keypadRenderer) MinSize() fyne.Size { return fyne.NewSize(260, 300) }
func (r *keypadRenderer) Refresh() {
	r.ground.FillColor = theme.Panel.Colour()
	r.ground.StrokeColor, r.ground.StrokeWidth = theme.Frame.Colour(), 1 // it lies over other things
	r.rule.StrokeColor, r.rule.StrokeWidth = theme.Frame.Colour(), 1
	r.Layout(r.k.Size())
	for _, t := range append(slices.Clone(r.k.parts), r.k.keys...) {
		t.Refresh()
	}
	r.k.shut.Refresh()
	r.k.title.Refresh()
	r.k.help.Refresh()
	r.k.units.Refresh()
	r.k.tools.Refresh()
	canvas.Refresh(r.k)
}
func (r *keypadRenderer) Objects() []fyne.CanvasObject {
	os := []fyne.CanvasObject{r.ground, r.rule, r.k.title, r.k.help, r.k.units, r.k.tools, r.k.shut}
	if r.k.massed() {
		for _, t := range r.k.parts {
			os = append(os, t)
		}
	}
	for _, t := range r.k.keys {
		os = append(os, t)
	}
	return os
}
func (r *keypadRenderer) Destroy() {}

// Key finds a key by its word or glyph; nil if there is none.
func (k *Keypad) Key(word string) *Tap {
	for _, t := range append(slices.Clone(k.parts), k.keys...) {
		if t.Text == word && word != "" || t.Glyph == word && word != "" {
			return t
		}
	}
	return nil
}
