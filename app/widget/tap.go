package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
)

// Tap is a plain key: words or a glyph on a ground. Unlike the toolkit's button
// it never takes the focus, so that an entry being typed in keeps it.
type Tap struct {
	widget.BaseWidget
	Text   string
	Glyph  string // drawn before the text, or alone
	Tail   string // a small glyph after the text
	Strong bool   // the one to press next
	On     bool   // chosen, of several
	Flat   bool   // no ground until touched
	Mark   bool   // the one that a keyboard takes, of several: underlined, for a ring looks like a choice
	Whole  bool   // in as many lines as its words take: they are read, not known
	Px     float32
	Do     func()

	hover bool
}

// NewTap makes a key.
func NewTap(text string, do func()) *Tap {
	t := &Tap{Text: text, Do: do, Px: theme.Text}
	t.ExtendBaseWidget(t)
	return t
}

// NewGlyphTap makes a key with a glyph.
func NewGlyphTap(glyph, text string, do func()) *Tap {
	t := NewTap(text, do)
	t.Glyph = glyph
	return t
}

// Tapped implements fyne.Tappable.
func (t *Tap) Tapped(*fyne.PointEvent) {
	if t.Do != nil {
		t.Do()
	}
}

// MouseIn implements desktop.Hoverable.
func (t *Tap) MouseIn(*desktop.MouseEvent) { t.hover, hovered = true, t; t.Refresh() }

// hovered is the key that the pointer came to last.
var hovered *Tap

// noHover takes the shade off a key that was scrolled away under the pointer: the
// toolkit does not tell it, and a shaded key looks like a chosen one.
func noHover() {
	if t := hovered; t != nil && t.hover {
		t.MouseOut()
	}
}

// MouseMoved implements desktop.Hoverable.
func (t *Tap) MouseMoved(*desktop.MouseEvent) {}

// MouseOut implements desktop.Hoverable.
func (t *Tap) MouseOut() { t.hover = false; t.Refresh() }

// Set changes text and state.
func (t *Tap) Set(text string, on bool) {
	if t.Text != text || t.On != on {
		t.Text, t.On = text, on
		t.Refresh()
	}
}

// MinSize implements fyne.CanvasObject.
func (t *Tap) MinSize() fyne.Size {
	t.ExtendBaseWidget(t)
	w := float32(20)
	if t.Text != "" {
		w += measure(t.Text, t.Px, fyne.TextStyle{Bold: t.Strong || t.On})
	}
	if t.Glyph != "" {
		w += 20
		if t.Text != "" {
			w += 6
		}
	}
	if t.Tail != "" {
		w += 18
	}
	return fyne.NewSize(fyne.Max(theme.Touch, w), theme.Touch)
}

// lines are the words of a key that shows them whole, at a width.
func (t *Tap) lines(w float32) []string {
	return wrap(t.Text, w-10, theme.Small+0.5, fyne.TextStyle{Bold: t.Strong || t.On}, 0)
}

// HeightFor implements Tall.
func (t *Tap) HeightFor(w float32) float32 {
	h := t.MinSize().Height
	if t.Whole {
		h = fyne.Max(h, float32(len(t.lines(w)))*lineHeight(theme.Small+0.5)+12)
	}
	return h
}

// wide is its width were it chosen, so that choosing among several moves none.
func (t *Tap) wide() float32 {
	m := t.MinSize().Width
	if t.Text == "" || t.Strong || t.On {
		return m
	}
	return m + fyne.Max(0, measure(t.Text, t.Px, fyne.TextStyle{Bold: true})-measure(t.Text, t.Px, fyne.TextStyle{}))
}

// CreateRenderer implements fyne.Widget.
func (t *Tap) CreateRenderer() fyne.WidgetRenderer {
	r := &tapRenderer{t: t, ground: rect(), text: canvas.NewText("", color.Black), below: canvas.NewText("", color.Black), glyph: newGlyph(), tail: newGlyph(), mark: rect()}
	r.Refresh()
	return r
}

type tapRenderer struct {
	t      *Tap
	ground *canvas.Rectangle
	text   *canvas.Text
	below  *canvas.Text // what is too long for one line
	glyph  *canvas.Image
	tail   *canvas.Image
	mark   *canvas.Rectangle
	whole  []*canvas.Text // the lines of one that shows its words whole
}

func (r *tapRenderer) tones() (ground, ink, edge theme.Tone) {
	switch {
	case r.t.Strong:
		return theme.Accent, theme.OnAccent, theme.Accent
	case r.t.On:
		return theme.Chosen, theme.Accent, theme.Accent
	case r.t.hover:
		return theme.Press, theme.Ink, theme.Frame
	case r.t.Flat:
		return theme.Clear, theme.Ink, theme.Clear
	}
	return theme.Input, theme.Ink, theme.Frame
}

func (r *tapRenderer) Layout(size fyne.Size) {
	r.ground.Resize(size)
	put(r.mark, 8, size.Height-6, fyne.Max(0, size.Width-16), 2)
	bold := r.t.Strong || r.t.On
	gw := float32(0)
	if r.t.Glyph != "" {
		gw = 20
		if r.t.Text != "" {
			gw = 26
		}
	}
	lw := float32(0)
	if r.t.Tail != "" {
		lw = 17
	}
	_, ink, _ := r.tones()
	room, px := size.Width-gw-lw-6, r.t.Px
	write(r.below, "", px, bold, ink, fyne.TextAlignCenter)
	r.whole = r.whole[:0]
	if r.t.Whole {
		write(r.text, "", px, bold, ink, fyne.TextAlignCenter)
		px = theme.Small + 0.5
		ls := r.t.lines(size.Width)
		for i, l := range ls {
			t := canvas.NewText("", color.Black)
			writeSaid(t, l, px, bold, ink, fyne.TextAlignCenter)
			h := letterHeight(px, bold)
			put(t, 0, size.Height/2+(float32(i)-float32(len(ls)-1)/2)*lineHeight(px)-h/2, size.Width, h)
			r.whole = append(r.whole, t)
		}
		return
	}
	if ls := wrap(r.t.Text, room-4, theme.Small+0.5, fyne.TextStyle{Bold: bold}, 2); gw+lw == 0 && len(ls) == 2 && measure(r.t.Text, px, fyne.TextStyle{Bold: bold}) > room {
		px = theme.Small + 0.5
		for i, t := range []*canvas.Text{r.text, r.below} {
			writeSaid(t, ls[i], px, bold, ink, fyne.TextAlignCenter)
			h := letterHeight(px, bold)
			put(t, 0, size.Height/2+(float32(i)-0.5)*lineHeight(px)-h/2, size.Width, h)
		}
		return
	}
	text := Fit(r.t.Text, room, px, bold)
	tw := measureSaid(text, px, fyne.TextStyle{Bold: bold})
	writeSaid(r.text, text, px, bold, ink, fyne.TextAlignLeading)
	h := letterHeight(px, bold)
	x := (size.Width - tw - gw - lw) / 2
	put(r.tail, x+gw+tw+4, size.Height/2-5, 12, 12)
	put(r.glyph, x, (size.Height-20)/2, 20, 20)
	put(r.text, x+gw, (size.Height-h)/2, tw, h)
}

func (r *tapRenderer) MinSize() fyne.Size { return r.t.MinSize() }
func (r *tapRenderer) Refresh() {
	ground, ink, edge := r.tones()
	r.ground.FillColor = ground.Colour()
	r.ground.StrokeColor, r.ground.StrokeWidth, r.ground.CornerRadius = edge.Colour(), 1, 4
	r.mark.FillColor = ink.Colour()
	if r.t.Glyph != "" {
		setGlyph(r.glyph, r.t.Glyph, ink, ground)
	}
	if r.t.Tail != "" {
		setGlyph(r.tail, r.t.Tail, theme.Muted, ground)
	}
	r.Layout(r.t.Size())
	canvas.Refresh(r.t)
}
func (r *tapRenderer) Objects() []fyne.CanvasObject {
	os := []fyne.CanvasObject{r.ground}
	if r.t.Glyph != "" {
		os = append(os, r.glyph)
	}
	if r.t.Tail != "" {
		os = append(os, r.tail)
	}
	if r.t.Mark {
		os = append(os, r.mark)
	}
	if r.below.Text != "" {
		os = append(os, r.below)
	}
	for _, t := range r.whole {
		os = append(os, t)
	}
	return append(os, r.text)
}
func (r *tapRenderer) Destroy() {}

// Choose is a row of keys of which one is on.
type Choose struct {
	widget.BaseWidget
	Options []string
	Chosen  string
	Glyphs  []string // one for each option, or none
	Px      float32  // height of the letters, 0 for the usual
	Toggle  bool     // a second touch on the one that is on turns it off
	Do      func(string)
	taps    []*Tap
}

// NewChoose makes a row of keys.
func NewChoose(options []string, chosen string, do func(string)) *Choose {
	c := &Choose{Chosen: chosen, Do: do}
	c.ExtendBaseWidget(c)
	c.SetOptions(options, chosen)
	return c
}

// SetOptions changes the keys.
func (c *Choose) SetOptions(options []string, chosen string) {
	c.Options, c.Chosen = options, chosen
	c.taps = nil
	for i, o := range options {
		t := NewTap(o, nil)
		if i < len(c.Glyphs) {
			t.Glyph = c.Glyphs[i]
		}
		t.Px = theme.Text - 1
		if c.Px > 0 {
			t.Px = c.Px
		}
		t.On = o == chosen
		t.Do = func() {
			pick := o
			if c.Toggle && c.Chosen == o {
				pick = ""
			}
			c.Select(pick)
			if c.Do != nil {
				c.Do(pick)
			}
		}
		c.taps = append(c.taps, t)
	}
	c.Refresh()
}

// Select marks one key without calling Do.
func (c *Choose) Select(o string) {
	c.Chosen = o
	for i, t := range c.taps {
		t.Set(t.Text, c.Options[i] == o)
	}
}

// CreateRenderer implements fyne.Widget.
func (c *Choose) CreateRenderer() fyne.WidgetRenderer { return &chooseRenderer{c} }

// rows packs the keys with their words whole, in as few rows as will do and as
// evenly as the words allow.
func (c *Choose) rows(w float32) (rows [][]*Tap) {
	pack := func(most int) (rows [][]*Tap) {
		var row []*Tap
		var need float32
		for _, t := range c.taps {
			m := t.wide() + 4
			if len(row) > 0 && (need+m-4 > w || len(row) >= most) {
				rows = append(rows, row)
				row, need = nil, 0
			}
			row = append(row, t)
			need += m
		}
		if len(row) > 0 {
			rows = append(rows, row)
		}
		return rows
	}
	rows = pack(len(c.taps))
	if n := len(rows); n > 1 {
		if even := pack((len(c.taps) + n - 1) / n); len(even) == n {
			return even
		}
	}
	return rows
}

// HeightFor implements Tall.
func (c *Choose) HeightFor(w float32) float32 {
	n := len(c.rows(w))
	if n == 0 {
		return 0
	}
	return float32(n)*(theme.Touch+4) - 4
}

type chooseRenderer struct{ c *Choose }

func (r *chooseRenderer) Layout(size fyne.Size) {
	y := float32(0)
	for _, row := range r.c.rows(size.Width) {
		var need float32
		for _, t := range row {
			need += t.wide()
		}
		spare := (size.Width - need - 4*float32(len(row)-1)) / float32(len(row))
		x := float32(0)
		for _, t := range row {
			w := fyne.Min(t.wide()+fyne.Max(0, spare), size.Width)
			put(t, x, y, w, theme.Touch)
			x += w + 4
		}
		y += theme.Touch + 4
	}
}
func (r *chooseRenderer) MinSize() fyne.Size {
	return fyne.NewSize(theme.Touch, r.c.HeightFor(r.c.Size().Width))
}
func (r *chooseRenderer) Refresh() {
	r.Layout(r.c.Size())
	for _, t := range r.c.taps {
		t.Refresh()
	}
	canvas.Refresh(r.c)
}
func (r *chooseRenderer) Objects() []fyne.CanvasObject {
	os := make([]fyne.CanvasObject, len(r.c.taps))
	for i, t := range r.c.taps {
		os[i] = t
	}
	return os
}
func (r *chooseRenderer) Destroy() {}
