package part

import (
	"image/color"
	"strings"
	"sync"

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

// measure is the length of a text on one line, by the toolkit.
func measure(t string, size float32, style fyne.TextStyle) float32 {
	return fyne.MeasureText(t, size, style).Width
}

// letters names how words are set, for what was measured of them.
type letters struct {
	px   float32
	bold bool
}

type wordKey struct {
	letters
	word string
}

type wrapKey struct {
	letters
	text  string
	width float32
	most  int
}

// measured keeps how long words are and how texts broke: the same few words stand
// in every list, and shaping letters is most of what building one costs.
var measured struct {
	sync.Mutex
	font  fyne.Resource // by which it was measured
	words map[wordKey]float32
	wraps map[wrapKey][]string
}

// Most words and texts kept; then they are measured anew.
const (
	mostWords = 20000
	mostWraps = 4000
)

// wordLength is the length of one word, measured once. Called with measured held.
func wordLength(word string, l letters) float32 {
	k := wordKey{l, word}
	w, ok := measured.words[k]
	if !ok {
		w = measure(word, l.px, fyne.TextStyle{Bold: l.bold})
		if len(measured.words) >= mostWords {
			clear(measured.words)
		}
		measured.words[k] = w
	}
	return w
}

// wrap breaks text at spaces, and a word longer than a line where it must. The
// result is shared: not to be changed.
func wrap(text string, width, size float32, style fyne.TextStyle, most int) []string {
	if text == "" {
		return []string{""}
	}
	l := letters{size, style.Bold}
	k := wrapKey{l, text, max(width, 4), most}
	measured.Lock()
	defer measured.Unlock()
	if f := fyne.CurrentApp().Settings().Theme().Font(style); measured.words == nil || !style.Bold && f != measured.font {
		measured.font = f
		measured.words, measured.wraps = map[wordKey]float32{}, map[wrapKey][]string{}
	}
	out, ok := measured.wraps[k]
	if !ok {
		out = breakLines(k)
		if len(measured.wraps) >= mostWraps {
			clear(measured.wraps)
		}
		measured.wraps[k] = out
	}
	return out
}

func breakLines(k wrapKey) []string {
	var out []string
	space := wordLength(" ", k.letters)
	for _, para := range strings.Split(k.text, "\n") {
		line, long := "", float32(0)
		for _, word := range strings.Fields(para) {
			w := wordLength(word, k.letters)
			if line != "" && long+space+w <= k.width {
				line += " " + word
				long += space + w
				continue
			}
			if line != "" {
				out = append(out, line)
			}
			for rs := []rune(word); w > k.width && len(rs) > 1; rs = []rune(word) {
				n := len(rs) - 1
				for n > 1 && wordLength(string(rs[:n]), k.letters) > k.width {
					n--
				}
				out = append(out, string(rs[:n]))
				word = string(rs[n:])
				w = wordLength(word, k.letters)
			}
			line, long = word, w
		}
		out = append(out, line)
	}
	if k.most > 0 && len(out) > k.most {
		out = out[:k.most]
		out[k.most-1] = Fit(out[k.most-1]+" ...", k.width, k.px, k.bold)
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
