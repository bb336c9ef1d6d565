package widget

import (
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/words"
)

// Finding is one finding as it is to be shown: words ready, numbers in the unit
// on show.
type Finding struct {
	Key, Label  string
	Figure      string // "11.4"; empty when not measured
	Unit        string // "°F"
	Uncertainty string // "± 1.3"; empty when unknown
	Scale       chart.Scale
	Low, High   string // the limits in words, as they stand at the band's ends
	Target      string
	Verdict     Verdict
	Word        string      // in place of the verdict's own word
	Next        string      // the next step, one line
	From        [][2]string // heading and text of each part of "where from?"
}

// Most lines of a label and of the next step; hardly ever reached.
const (
	labelLines = 3
	nextLines  = 7
)

// Strip shows one finding on a horizontal scale. A tap opens where it comes
// from.
type Strip struct {
	widget.BaseWidget
	Finding  Finding
	Open     bool
	OnResize func() // the height changed
}

// NewStrip makes a strip.
func NewStrip(f Finding) *Strip {
	s := &Strip{Finding: f}
	s.ExtendBaseWidget(s)
	return s
}

// Set changes what is shown.
func (s *Strip) Set(f Finding) {
	s.Finding = f
	s.Refresh()
}

// Tapped opens or closes "where from?".
func (s *Strip) Tapped(*fyne.PointEvent) {
	s.Open = !s.Open
	if s.OnResize != nil {
		s.OnResize()
	}
	s.Refresh()
}

const labelPx = theme.Text - 0.5

const (
	stripPad   = 8
	stripWide  = 600 // from here on, everything stands in one row
	stripHead  = 46
	labelLine  = 19.5
	stripScale = 46
	glyphSize  = 24
)

// shape is where the parts of a strip go at a width.
type stripShape struct {
	wide                          bool
	textX, labelW, valueX, valueW float32
	labelH                        float32
	scaleX, scaleY, scaleW        float32
	nextY, nextW, moreX, moreW    float32
	fromY, height                 float32
}

func (s *Strip) shape(w float32) stripShape {
	var g stripShape
	f := s.Finding
	g.wide = w >= stripWide
	g.textX = glyphSize + 12
	bare := f.Figure == ""
	scaled := !bare && chart.Lay(f.Scale).Scaled
	g.valueW = 132
	g.valueX = w - g.valueW
	y := float32(stripPad)
	if g.wide {
		g.labelW = 206
		if bare {
			g.labelW = w - g.textX - 170
		} else if !scaled {
			g.labelW = g.valueX - g.textX - 8
		}
		g.scaleX = g.textX + g.labelW + 14
		g.scaleW = g.valueX - 14 - g.scaleX
		g.scaleY = y - 2
		y += stripHead
		if bare {
			y -= 24
		}
	} else {
		g.labelW = g.valueX - g.textX - 8
		if bare {
			g.labelW = w - g.textX - 130
		}
		y += stripHead
		if bare {
			y -= 24
		}
		g.scaleX, g.scaleW, g.scaleY = 4, w-8, y
		if scaled {
			y += stripScale
		}
	}
	g.labelH = float32(len(wrap(f.Label, g.labelW, labelPx, fyne.TextStyle{Bold: true}, labelLines))) * labelLine
	extra := g.labelH - labelLine
	y += extra
	if !g.wide {
		g.scaleY += extra
	}
	g.moreW = 104
	g.moreX = w - g.moreW
	g.nextY = y
	g.nextW = g.moreX - g.textX - 8
	y += fyne.Max(float32(len(wrap(f.Next, g.nextW, theme.Small+0.5, fyne.TextStyle{}, nextLines)))*lineHeight(theme.Small+0.5), 20)
	y += 4
	g.fromY = y
	if s.Open {
		for _, p := range f.From {
			y += lineHeight(theme.Small) + float32(len(wrap(p[1], w-g.textX-8, theme.Small, fyne.TextStyle{}, 0)))*lineHeight(theme.Small) + 4
		}
		y += 4
	}
	g.height = y + stripPad - 3
	return g
}

// HeightFor implements Tall.
func (s *Strip) HeightFor(w float32) float32 { return s.shape(w).height }

// MinSize implements fyne.CanvasObject.
func (s *Strip) MinSize() fyne.Size {
	s.ExtendBaseWidget(s)
	return fyne.NewSize(260, s.HeightFor(fyne.Max(260, s.BaseWidget.Size().Width)))
}

// CreateRenderer implements fyne.Widget.
func (s *Strip) CreateRenderer() fyne.WidgetRenderer {
	r := &stripRenderer{s: s, glyph: newGlyph(), more: newGlyph(), off: newGlyph(),
		rule: canvas.NewLine(color.Black), axis: canvas.NewLine(color.Black),
		band: rect(), edgeLow: rect(), edgeHigh: rect(), target: rect(), whisker: rect(), capLow: rect(), capHigh: rect(),
		dot: canvas.NewCircle(color.Black)}
	for _, t := range []**canvas.Text{&r.word, &r.figure, &r.uncertainty, &r.moreText, &r.low, &r.high, &r.targetText} {
		*t = canvas.NewText("", color.Black)
	}
	r.label = NewWords("", labelPx, true, theme.Ink)
	r.label.Max = labelLines
	r.next = NewWords("", theme.Small+0.5, false, theme.Ink)
	r.next.Max = nextLines
	r.Refresh()
	return r
}

type stripRenderer struct {
	s                     *Strip
	glyph, more, off      *canvas.Image
	rule, axis            *canvas.Line
	band, edgeLow         *canvas.Rectangle
	edgeHigh, target      *canvas.Rectangle
	whisker, capLow       *canvas.Rectangle
	capHigh               *canvas.Rectangle
	dot                   *canvas.Circle
	label                 *Words
	word                  *canvas.Text
	figure, uncertainty   *canvas.Text
	low, high, targetText *canvas.Text
	moreText              *canvas.Text
	next                  *Words
	ticks                 []*canvas.Rectangle
	tickTexts             []*canvas.Text
	from                  []*Words
	objects               []fyne.CanvasObject
}

func (r *stripRenderer) MinSize() fyne.Size           { return fyne.NewSize(260, 60) }
func (r *stripRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *stripRenderer) Destroy()                     {}

func (r *stripRenderer) Refresh() {
	r.Layout(r.s.Size())
	canvas.Refresh(r.s)
}

// put places an object. Words go to whole units: between two rows of pixels the
// graphics driver blurs them and cuts their tails.
func put(o fyne.CanvasObject, x, y, w, h float32) {
	switch o.(type) {
	case *canvas.Text, *canvas.Image:
		x, y, h = whole(x), whole(y), float32(math.Ceil(float64(h)))
	case *Words, *Tap, *Row, *Strip:
		x, y = whole(x), whole(y)
	}
	o.Move(fyne.NewPos(x, y))
	o.Resize(fyne.NewSize(w, h))
}

func whole(v float32) float32 { return float32(math.Round(float64(v))) }

func write(t *canvas.Text, text string, px float32, bold bool, tone theme.Tone, align fyne.TextAlign) {
	writeSaid(t, words.Say(text), px, bold, tone, align)
}

// writeSaid is write of what is shown as it is.
func writeSaid(t *canvas.Text, text string, px float32, bold bool, tone theme.Tone, align fyne.TextAlign) {
	t.Text, t.TextSize, t.TextStyle, t.Color, t.Alignment = text, px, fyne.TextStyle{Bold: bold}, tone.Colour(), align
}

func (r *stripRenderer) Layout(size fyne.Size) {
	f := r.s.Finding
	w := size.Width
	if w < 10 {
		r.objects = nil
		return
	}
	g := r.s.shape(w)
	lay := chart.Lay(f.Scale)
	bare := f.Figure == ""
	r.objects = r.objects[:0]
	show := func(os ...fyne.CanvasObject) { r.objects = append(r.objects, os...) }

	tone := f.Verdict.Tone()
	setGlyph(r.glyph, f.Verdict.glyph(), tone, theme.Paper)
	put(r.glyph, 2, stripPad+1, glyphSize, glyphSize)
	r.label.Text = f.Label
	put(r.label, g.textX, stripPad, g.labelW, g.labelH)
	r.label.Refresh()
	show(r.glyph, r.label)

	word := f.Verdict.Word()
	if f.Word != "" {
		word = f.Word
	}
	if bare {
		write(r.word, word, theme.Small+0.5, true, tone, fyne.TextAlignTrailing)
		put(r.word, w-170, stripPad, 170, 20)
	} else {
		write(r.word, word, theme.Small+0.5, true, tone, fyne.TextAlignLeading)
		put(r.word, g.textX, stripPad+g.labelH+1, g.labelW, 20)
		unit := f.Figure
		if f.Unit != "" {
			unit += " " + f.Unit
		}
		write(r.figure, unit, theme.Figure, true, theme.Ink, fyne.TextAlignTrailing)
		put(r.figure, g.valueX, stripPad-4, g.valueW, 25)
		write(r.uncertainty, f.Uncertainty, theme.Small, false, theme.Muted, fyne.TextAlignTrailing)
		put(r.uncertainty, g.valueX, stripPad+21, g.valueW, 19)
		show(r.figure, r.uncertainty)
		if lay.Scaled {
			r.scale(g, lay, show)
		}
	}
	show(r.word)

	r.next.Text = f.Next
	r.next.Tone = theme.Ink
	if f.Verdict == NotMeasured || f.Verdict == Within || f.Verdict == NotJudged {
		r.next.Tone = theme.Muted
	}
	put(r.next, g.textX, g.nextY, g.nextW, g.fromY-g.nextY)
	r.next.Refresh()
	show(r.next)

	if len(f.From) > 0 {
		write(r.moreText, "where from?", theme.Small, false, theme.Accent, fyne.TextAlignTrailing)
		put(r.moreText, g.moreX, g.nextY-1, g.moreW-22, 19)
		name := "more"
		if r.s.Open {
			name = "less"
		}
		setGlyph(r.more, name, theme.Accent, theme.Paper)
		put(r.more, w-18, g.nextY+1, 16, 16)
		show(r.moreText, r.more)
	}
	if r.s.Open {
		r.openFrom(g, w, show)
	}
	r.rule.StrokeColor, r.rule.StrokeWidth = theme.Line.Colour(), 1
	r.rule.Position1, r.rule.Position2 = fyne.NewPos(0, g.height-1), fyne.NewPos(w, g.height-1)
	show(r.rule)
}

func (r *stripRenderer) scale(g stripShape, lay chart.Geometry, show func(...fyne.CanvasObject)) {
	f := r.s.Finding
	x := func(frac float64) float32 { return g.scaleX + float32(frac)*g.scaleW }
	y := g.scaleY + 17 // the axis
	r.axis.StrokeColor, r.axis.StrokeWidth = theme.Muted.Colour(), 1.4
	r.axis.Position1, r.axis.Position2 = fyne.NewPos(g.scaleX, y+9), fyne.NewPos(g.scaleX+g.scaleW, y+9)
	if lay.HasBand {
		r.band.FillColor = theme.Band.Colour()
		put(r.band, x(lay.BandLow), y-9, fyne.Max(2, x(lay.BandHigh)-x(lay.BandLow)), 18)
		show(r.band)
	}
	show(r.axis)
	// Words under the scale: the limits first, ticks where there is room left.
	type span struct{ a, b float32 }
	var taken []span
	free := func(a, b float32) bool {
		for _, s := range taken {
			if a < s.b+6 && b > s.a-6 {
				return false
			}
		}
		return true
	}
	say := func(t *canvas.Text, text string, at float32, bold bool, tone theme.Tone) {
		if text == "" {
			return
		}
		tw := measure(text, theme.Small-0.5, fyne.TextStyle{Bold: bold})
		a := fyne.Max(g.scaleX, fyne.Min(at-tw/2, g.scaleX+g.scaleW-tw))
		if !free(a, a+tw) {
			return
		}
		taken = append(taken, span{a, a + tw})
		write(t, text, theme.Small-0.5, bold, tone, fyne.TextAlignLeading)
		put(t, a, y+11, tw, 17)
		show(t)
	}
	edge := func(rc *canvas.Rectangle, at float32) {
		rc.FillColor = theme.BandEdge.Colour()
		put(rc, at-1, y-11, 2, 21)
		show(rc)
	}
	if lay.HasBand && !lay.OpenLow {
		edge(r.edgeLow, x(lay.BandLow))
		say(r.low, f.Low, x(lay.BandLow), true, theme.Ink)
	}
	if lay.HasBand && !lay.OpenHigh {
		edge(r.edgeHigh, x(lay.BandHigh))
		say(r.high, f.High, x(lay.BandHigh), true, theme.Ink)
	}
	if lay.HasTarget {
		r.target.FillColor = theme.Ink.Colour()
		put(r.target, x(lay.Target)-1.25, y-14, 2.5, 23)
		show(r.target)
		say(r.targetText, f.Target, x(lay.Target), false, theme.Ink)
	}
	for len(r.ticks) < len(lay.Ticks) {
		r.ticks = append(r.ticks, rect())
		r.tickTexts = append(r.tickTexts, canvas.NewText("", color.Black))
	}
	for i, t := range lay.Ticks {
		r.ticks[i].FillColor = theme.Muted.Colour()
		put(r.ticks[i], x(t.At)-0.5, y+9, 1, 4)
		show(r.ticks[i])
		say(r.tickTexts[i], t.Text, x(t.At), false, theme.Muted)
	}
	if !lay.HasValue {
		return
	}
	tone := f.Verdict.Tone()
	if f.Verdict == NotJudged {
		tone = theme.Ink
	}
	if lay.OffLow || lay.OffHigh {
		name, at := "off-low", g.scaleX
		if lay.OffHigh {
			name, at = "off-high", g.scaleX+g.scaleW-18
		}
		setGlyph(r.off, name, tone, theme.Paper)
		put(r.off, at, y-9, 18, 18)
		show(r.off)
		return
	}
	for _, b := range []*canvas.Rectangle{r.whisker, r.capLow, r.capHigh} {
		b.FillColor = theme.Ink.Colour()
	}
	if wl, wh := x(lay.WhiskLow), x(lay.WhiskHigh); wh-wl > 1 {
		put(r.whisker, wl, y-1.25, wh-wl, 2.5)
		put(r.capLow, wl-1, y-5, 2, 10)
		put(r.capHigh, wh-1, y-5, 2, 10)
		show(r.whisker, r.capLow, r.capHigh)
	}
	r.dot.FillColor = tone.Colour()
	r.dot.StrokeColor, r.dot.StrokeWidth = theme.Paper.Colour(), 1.5
	put(r.dot, x(lay.Value)-6.5, y-6.5, 13, 13)
	show(r.dot)
}

func (r *stripRenderer) openFrom(g stripShape, w float32, show func(...fyne.CanvasObject)) {
	from := r.s.Finding.From
	for len(r.from) < 2*len(from) {
		r.from = append(r.from, NewWords("", theme.Small, false, theme.Ink))
	}
	y := g.fromY
	tw := w - g.textX - 8
	for i, p := range from {
		head, body := r.from[2*i], r.from[2*i+1]
		head.Text, head.Bold, head.Tone = p[0], true, theme.Muted
		put(head, g.textX, y, tw, head.line())
		y += head.line()
		body.Text = p[1]
		h := body.HeightFor(tw)
		put(body, g.textX, y, tw, h)
		y += h + 4
		head.Refresh()
		body.Refresh()
		show(head, body)
	}
}
