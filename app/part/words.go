package part

import (
	"image/color"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/skin"
)

// Tone names a colour of the palette in use; it is looked up at each repaint, so
// that a change of theme needs no rebuilding.
type Tone int

// The tones, as in skin.Palette.
const (
	Ink Tone = iota
	Muted
	Accent
	OnAccent
	Good
	Bad
	Doubt
	Absent
	PaperTone
	PanelTone
	InputTone
	CautionTone
	ChosenTone
	Line
	Frame
	BandTone
	BandEdge
	PressTone
	Clear
)

func (t Tone) colour() color.NRGBA {
	p := skin.Now()
	switch t {
	case Muted:
		return p.Muted
	case Accent:
		return p.Accent
	case OnAccent:
		return p.OnAccent
	case Good:
		return p.Good
	case Bad:
		return p.Bad
	case Doubt:
		return p.Doubt
	case Absent:
		return p.Absent
	case PaperTone:
		return p.Paper
	case PanelTone:
		return p.Panel
	case InputTone:
		return p.Input
	case CautionTone:
		return p.Caution
	case ChosenTone:
		return p.Chosen
	case Line:
		return p.Line
	case Frame:
		return p.Frame
	case BandTone:
		return p.Band
	case BandEdge:
		return p.BandEdge
	case PressTone:
		return p.Press
	case Clear:
		return color.NRGBA{}
	}
	return p.Ink
}

type fyneRect = canvas.Rectangle

func rect() *canvas.Rectangle { return canvas.NewRectangle(color.Transparent) }

// Words is text that wraps at the width it is given.
type Words struct {
	widget.BaseWidget
	Text  string
	Px    float32 // height of the letters
	Bold  bool
	Tone  Tone
	Max   int // most lines, 0 for no limit; the last then ends in "..."
	Align fyne.TextAlign
}

// NewWords makes wrapped text.
func NewWords(text string, size float32, bold bool, tone Tone) *Words {
	w := &Words{Text: text, Px: size, Bold: bold, Tone: tone}
	w.ExtendBaseWidget(w)
	return w
}

// Set changes the text.
func (w *Words) Set(text string) {
	if w.Text != text {
		w.Text = text
		w.Refresh()
	}
}

func (w *Words) style() fyne.TextStyle { return fyne.TextStyle{Bold: w.Bold} }
func (w *Words) line() float32         { return lineHeight(w.Px) }

// lineHeight is tighter than the font's own, which leaves room for accents on
// capitals in every line.
func lineHeight(size float32) float32 { return size * 1.28 }

// HeightFor implements Tall.
func (w *Words) HeightFor(width float32) float32 {
	return float32(len(wrap(w.Text, width, w.Px, w.style(), w.Max))) * w.line()
}

// MinSize is one line; the width is for the layout to give.
func (w *Words) MinSize() fyne.Size {
	return fyne.NewSize(0, w.line())
}

// Width is the length of the text on one line.
func (w *Words) Width() float32 { return measure(w.Text, w.Px, w.style()) }

// CreateRenderer implements fyne.Widget.
func (w *Words) CreateRenderer() fyne.WidgetRenderer {
	r := &wordsRenderer{w: w}
	r.build(w.Size())
	return r
}

type wordsRenderer struct {
	w     *Words
	top   float32
	lines []fyne.CanvasObject
}

func (r *wordsRenderer) build(size fyne.Size) {
	got := wrap(r.w.Text, size.Width, r.w.Px, r.w.style(), r.w.Max)
	for len(r.lines) < len(got) {
		r.lines = append(r.lines, canvas.NewText("", color.Black))
	}
	r.lines = r.lines[:len(got)]
	for i, t := range got {
		c := r.lines[i].(*canvas.Text)
		c.Text, c.TextSize, c.TextStyle, c.Color, c.Alignment = t, r.w.Px, r.w.style(), r.w.Tone.colour(), r.w.Align
		h := c.MinSize().Height
		put(c, 0, r.top+float32(i)*r.w.line()+(r.w.line()-h)/2, size.Width, h)
	}
}

func (r *wordsRenderer) Layout(size fyne.Size) { r.build(size) }
func (r *wordsRenderer) MinSize() fyne.Size    { return r.w.MinSize() }
func (r *wordsRenderer) Refresh() {
	r.build(r.w.Size())
	canvas.Refresh(r.w)
}
func (r *wordsRenderer) Objects() []fyne.CanvasObject { return r.lines }
func (r *wordsRenderer) Destroy()                     {}

func measure(t string, size float32, style fyne.TextStyle) float32 {
	return fyne.MeasureText(t, size, style).Width
}

// wrap breaks text at spaces, and a word longer than a line where it must.
func wrap(text string, width, size float32, style fyne.TextStyle, most int) []string {
	if width <= 4 {
		width = 4
	}
	var out []string
	for _, para := range strings.Split(text, "\n") {
		line := ""
		for _, word := range strings.Fields(para) {
			try := word
			if line != "" {
				try = line + " " + word
			}
			if measure(try, size, style) <= width {
				line = try
				continue
			}
			if line != "" {
				out = append(out, line)
			}
			for measure(word, size, style) > width && len([]rune(word)) > 1 {
				rs := []rune(word)
				n := len(rs) - 1
				for n > 1 && measure(string(rs[:n]), size, style) > width {
					n--
				}
				out = append(out, string(rs[:n]))
				word = string(rs[n:])
			}
			line = word
		}
		out = append(out, line)
	}
	if most > 0 && len(out) > most {
		out = out[:most]
		out[most-1] = Fit(out[most-1]+" ...", width, size, style.Bold)
	}
	return out
}

// Fit shortens text to a width, ending it in "...".
func Fit(t string, width, size float32, bold bool) string {
	style := fyne.TextStyle{Bold: bold}
	if measure(t, size, style) <= width {
		return t
	}
	rs := []rune(strings.TrimSuffix(t, " ..."))
	for len(rs) > 0 && measure(string(rs)+"...", size, style) > width {
		rs = rs[:len(rs)-1]
	}
	return strings.TrimRight(string(rs), " ") + "..."
}
