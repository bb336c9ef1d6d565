package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
)

// Notice is words that must be seen, behind a shape: cautions, an error. A tap
// shows the small print, where there is some.
type Notice struct {
	widget.BaseWidget
	Lines    []string
	Small    []string   // small print of each line
	Shape    string     // "caution" or "outside"
	Tone     theme.Tone // of the shape
	Open     bool
	OnResize func()
}

// NewNotice makes a notice.
func NewNotice(shape string, tone theme.Tone, lines, small []string) *Notice {
	n := &Notice{Lines: lines, Small: small, Shape: shape, Tone: tone}
	n.ExtendBaseWidget(n)
	return n
}

// Tapped implements fyne.Tappable.
func (n *Notice) Tapped(*fyne.PointEvent) {
	if len(n.Small) == 0 {
		return
	}
	n.Open = !n.Open
	if n.OnResize != nil {
		n.OnResize()
	}
	n.Refresh()
}

const noticePx = theme.Small + 0.5

func (n *Notice) lines() (out []*Words) {
	for i, t := range n.Lines {
		out = append(out, NewWords(t, noticePx, false, theme.Ink))
		if n.Open && i < len(n.Small) && n.Small[i] != "" {
			out = append(out, NewWords(n.Small[i], theme.Small-1, false, theme.Muted))
		}
	}
	return out
}

// HeightFor implements Tall.
func (n *Notice) HeightFor(w float32) float32 {
	h := float32(16)
	for _, l := range n.lines() {
		h += l.HeightFor(w-52) + 3
	}
	if len(n.Small) > 0 {
		return fyne.Max(h, theme.Touch) // it can be touched
	}
	return fyne.Max(h, 40)
}

// CreateRenderer implements fyne.Widget.
func (n *Notice) CreateRenderer() fyne.WidgetRenderer {
	r := &noticeRenderer{n: n, ground: rect(), bar: rect(), glyph: newGlyph()}
	r.Refresh()
	return r
}

type noticeRenderer struct {
	n           *Notice
	ground, bar *canvas.Rectangle
	glyph       *canvas.Image
	words       []*Words
}

func (r *noticeRenderer) Layout(size fyne.Size) {
	r.ground.Resize(size)
	put(r.bar, 0, 0, 4, size.Height)
	put(r.glyph, 12, 8, 22, 22)
	y := float32(9)
	for _, l := range r.words {
		h := l.HeightFor(size.Width - 52)
		put(l, 44, y, size.Width-52, h)
		y += h + 3
	}
}
func (r *noticeRenderer) MinSize() fyne.Size {
	return fyne.NewSize(120, r.n.HeightFor(fyne.Max(120, r.n.Size().Width)))
}
func (r *noticeRenderer) Refresh() {
	ground := theme.Caution
	switch r.n.Tone {
	case theme.Good:
		ground = theme.Chosen
	case theme.Muted:
		ground = theme.Panel
	}
	r.ground.FillColor = ground.Colour()
	r.bar.FillColor = r.n.Tone.Colour()
	setGlyph(r.glyph, r.n.Shape, r.n.Tone, ground)
	r.words = again(r.words, r.n.lines())
	r.Layout(r.n.Size())
	canvas.Refresh(r.n)
}
func (r *noticeRenderer) Objects() []fyne.CanvasObject {
	os := []fyne.CanvasObject{r.ground, r.bar, r.glyph}
	for _, l := range r.words {
		os = append(os, l)
	}
	return os
}
func (r *noticeRenderer) Destroy() {}

// Card is one decision with its reason: what it is about, the word for what is
// done with it, and why.
type Card struct {
	widget.BaseWidget
	Title, Word, Why string
	Tone             theme.Tone
	Detail           []string // small print
	Do               func()   // on touch, nil for a card that only tells
}

// NewCard makes a card.
func NewCard(title, word, why string, tone theme.Tone, detail ...string) *Card {
	c := &Card{Title: title, Word: word, Why: why, Tone: tone, Detail: detail}
	c.ExtendBaseWidget(c)
	return c
}

// Tapped implements fyne.Tappable.
func (c *Card) Tapped(*fyne.PointEvent) {
	if c.Do != nil {
		c.Do()
	}
}

const cardWord = 104

// HeightFor implements Tall.
func (c *Card) HeightFor(w float32) float32 {
	h := float32(15)
	for _, l := range c.lines() {
		h += l.HeightFor(w-cardWord-12) + 1
	}
	return fyne.Max(h, theme.Touch)
}

func (c *Card) lines() []*Words {
	out := []*Words{NewWords(c.Title, theme.Text, true, theme.Ink)}
	if c.Why != "" {
		out = append(out, NewWords(c.Why, noticePx, false, theme.Ink))
	}
	for _, d := range c.Detail {
		out = append(out, NewWords(d, theme.Small, false, theme.Muted))
	}
	return out
}

// CreateRenderer implements fyne.Widget.
func (c *Card) CreateRenderer() fyne.WidgetRenderer {
	r := &cardRenderer{c: c, word: canvas.NewText("", color.Black), box: rect(), rule: rect()}
	r.Refresh()
	return r
}

type cardRenderer struct {
	c         *Card
	word      *canvas.Text
	box, rule *canvas.Rectangle
	words     []*Words
}

func (r *cardRenderer) Layout(size fyne.Size) {
	tw := size.Width - cardWord - 12
	put(r.box, 0, 9, cardWord-6, 27)
	h := r.word.MinSize().Height
	put(r.word, 0, 9+(27-h)/2, cardWord-6, h)
	y := float32(8)
	for _, w := range r.words {
		h := w.HeightFor(tw)
		put(w, cardWord+6, y, tw, h)
		y += h + 1
	}
	put(r.rule, 0, size.Height-1, size.Width, 1)
}
func (r *cardRenderer) MinSize() fyne.Size {
	return fyne.NewSize(200, r.c.HeightFor(fyne.Max(200, r.c.Size().Width)))
}
func (r *cardRenderer) Refresh() {
	write(r.word, r.c.Word, noticePx, true, r.c.Tone, fyne.TextAlignCenter)
	r.box.FillColor, r.box.StrokeColor, r.box.StrokeWidth, r.box.CornerRadius = theme.Clear.Colour(), r.c.Tone.Colour(), 1.6, 3
	r.rule.FillColor = theme.Line.Colour()
	r.words = again(r.words, r.c.lines())
	r.Layout(r.c.Size())
	canvas.Refresh(r.c)
}
func (r *cardRenderer) Objects() []fyne.CanvasObject {
	os := []fyne.CanvasObject{r.box, r.word, r.rule}
	for _, w := range r.words {
		os = append(os, w)
	}
	return os
}
func (r *cardRenderer) Destroy() {}
