package widget

import (
	"image/color"
	"strings"
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/words"
)

func rect() *canvas.Rectangle { return canvas.NewRectangle(color.Transparent) }

// Words is text that wraps at the width it is given.
type Words struct {
	widget.BaseWidget
	Text  string
	Px    float32 // height of the letters
	Bold  bool
	Tone  theme.Tone
	Max   int // most lines, 0 for no limit; the last then ends in "..."
	Align fyne.TextAlign
}

// again puts what words are to say into those that are there already. New ones each time
// would stay behind: the toolkit keeps what was drawn for a widget for a minute.
func again(there, want []*Words) []*Words {
	for i := range min(len(there), len(want)) {
		w, n := there[i], want[i]
		w.Text, w.Px, w.Bold, w.Tone, w.Max, w.Align = n.Text, n.Px, n.Bold, n.Tone, n.Max, n.Align
		w.Refresh()
		want[i] = w
	}
	return want
}

// NewWords makes wrapped text.
func NewWords(text string, size float32, bold bool, tone theme.Tone) *Words {
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
	h := letterHeight(r.w.Px, r.w.Bold)
	for i, t := range got {
		c := r.lines[i].(*canvas.Text)
		c.Text, c.TextSize, c.TextStyle, c.Color, c.Alignment = t, r.w.Px, r.w.style(), r.w.Tone.Colour(), r.w.Align
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

// measure is the length of a text on one line: the sum of its letters' advances,
// each asked of the toolkit once. Shaping whole texts is most of what a page costs
// that was not shown before. Letters set closer in pairs make the text drawn a
// little shorter, so what fits here fits there.
func measure(t string, size float32, style fyne.TextStyle) float32 {
	return measureSaid(words.Say(t), size, style)
}

// measureSaid is measure of what is shown as it is.
func measureSaid(t string, size float32, style fyne.TextStyle) float32 {
	measured.Lock()
	defer measured.Unlock()
	fresh()
	return length(t, size, style.Bold)
}

type wrapKey struct {
	text  string
	px    float32
	bold  bool
	width float32
	most  int
}

// setting is how letters are set.
type setting struct {
	px   float32
	bold bool
}

// measured keeps what was asked of the toolkit and how texts broke.
var measured struct {
	sync.Mutex
	font     fyne.Resource // by which it was measured
	advances [2]map[rune]float32
	sizes    map[setting]fyne.Size // what one em of advances is at a size, and the height of a line
	wraps    map[wrapKey][]string
}

// mostWraps is how many broken texts are kept; then they are broken anew.
const mostWraps = 4000

// emPx is the size at which letters are measured. At another they are all larger
// or smaller by one factor, which is not quite that of the sizes: the toolkit
// rounds them.
const emPx = 64

const sample = "MMMMMMMM"

// fresh forgets what was measured by another font. Called with measured held, as
// are the functions that read it.
func fresh() {
	f := fyne.CurrentApp().Settings().Theme().Font(fyne.TextStyle{})
	if f == measured.font && measured.wraps != nil {
		return
	}
	measured.font, measured.wraps, measured.sizes = f, map[wrapKey][]string{}, map[setting]fyne.Size{}
	for i := range measured.advances {
		measured.advances[i] = map[rune]float32{}
	}
}

func weight(bold bool) int {
	if bold {
		return 1
	}
	return 0
}

// ems is the sum of the letters' advances at emPx.
func ems(t string, bold bool) (w float32) {
	known := measured.advances[weight(bold)]
	for _, r := range t {
		a, ok := known[r]
		if !ok {
			a = fyne.MeasureText(string(r), emPx, fyne.TextStyle{Bold: bold}).Width
			known[r] = a
		}
		w += a
	}
	return w
}

func sizeOf(s setting) fyne.Size {
	size, ok := measured.sizes[s]
	if !ok {
		size = fyne.MeasureText(sample, s.px, fyne.TextStyle{Bold: s.bold})
		size.Width /= ems(sample, s.bold)
		measured.sizes[s] = size
	}
	return size
}

func length(t string, px float32, bold bool) float32 {
	return ems(t, bold) * sizeOf(setting{px, bold}).Width
}

// letterHeight is what the toolkit makes a line of text high.
func letterHeight(px float32, bold bool) float32 {
	measured.Lock()
	defer measured.Unlock()
	fresh()
	return sizeOf(setting{px, bold}).Height
}

// wrap breaks text at spaces, and a word longer than a line where it must. The
// result is shared: not to be changed.
func wrap(text string, width, size float32, style fyne.TextStyle, most int) []string {
	if text == "" {
		return []string{""}
	}
	k := wrapKey{words.Say(text), size, style.Bold, max(width, 4), most}
	measured.Lock()
	defer measured.Unlock()
	fresh()
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
	long := func(t string) float32 { return length(t, k.px, k.bold) }
	var out []string
	space := long(" ")
	for _, para := range strings.Split(k.text, "\n") {
		line, sum := "", float32(0)
		for _, word := range strings.Fields(para) {
			w := long(word)
			if line != "" && sum+space+w <= k.width {
				line += " " + word
				sum += space + w
				continue
			}
			if line != "" {
				out = append(out, line)
			}
			for rs := []rune(word); w > k.width && len(rs) > 1; rs = []rune(word) {
				n := len(rs) - 1
				for n > 1 && long(string(rs[:n])) > k.width {
					n--
				}
				out = append(out, string(rs[:n]))
				word = string(rs[n:])
				w = long(word)
			}
			line, sum = word, w
		}
		out = append(out, line)
	}
	if k.most > 0 && len(out) > k.most {
		out = out[:k.most]
		out[k.most-1] = fit(out[k.most-1]+" ...", k.width, k.px, k.bold)
	}
	return out
}

// Fit is a text as it is shown, shortened to a width and then ending in "...".
func Fit(t string, width, size float32, bold bool) string {
	t = words.Say(t)
	measured.Lock()
	defer measured.Unlock()
	fresh()
	return fit(t, width, size, bold)
}

func fit(t string, width, px float32, bold bool) string {
	if length(t, px, bold) <= width {
		return t
	}
	rs := []rune(strings.TrimSuffix(t, " ..."))
	for len(rs) > 0 && length(string(rs)+"...", px, bold) > width {
		rs = rs[:len(rs)-1]
	}
	return strings.TrimRight(string(rs), " ") + "..."
}
