package chart

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"strconv"
	"strings"

	"git.sr.ht/~sbinet/gg"
	"golang.org/x/image/font"

	"retrostage/app/theme"
	"retrostage/app/words"
)

// Style is what Render needs besides the picture.
type Style struct {
	W, H    int     // pixels
	Scale   float64 // pixels per unit of size; 0 means 1
	Keys    float64 // of the width at the upper right, at scale 1, that keys lie over
	Palette theme.Palette
}

// Margins of a chart, at scale 1.
const (
	marginLeft   = 58
	marginRight  = 16
	marginTop    = 56 // the y axis's name, and room for the keys of a view
	marginBottom = 44
)

// Plot is the rectangle, in pixels, in which the frame is drawn.
func (p *Picture) Plot(s Style) (x, y, w, h float64) {
	k := s.scale()
	if !p.Axes {
		return 0, 0, float64(s.W), float64(s.H)
	}
	return marginLeft * k, marginTop * k,
		math.Max(1, float64(s.W)-(marginLeft+marginRight)*k),
		math.Max(1, float64(s.H)-(marginTop+marginBottom)*k)
}

func (s Style) scale() float64 {
	if s.Scale > 0 {
		return s.Scale
	}
	return 1
}

// Render draws the part f of p. Sizes below one pixel give an empty image.
func Render(p *Picture, f Frame, s Style) *image.RGBA {
	if s.W < 1 || s.H < 1 {
		return image.NewRGBA(image.Rectangle{})
	}
	img := image.NewRGBA(image.Rect(0, 0, s.W, s.H))
	draw.Draw(img, img.Bounds(), image.NewUniform(s.Palette.Of(theme.Paper)), image.Point{}, draw.Src)
	dc := gg.NewContextForRGBA(img)
	r := renderer{p: p, f: f, s: s, k: s.scale(), faces: map[string]font.Face{}}
	if p.Empty() {
		if p != nil && p.Note != "" {
			r.words(dc, Text{Text: p.Note, Tone: theme.Muted, AX: 0.5, AY: 0.5, Size: 15}, float64(s.W)/2, float64(s.H)/2, 15*r.k)
		}
		return img
	}
	x, y, w, h := p.Plot(s)
	r.w, r.h = w, h
	if !p.Axes {
		r.fit()
		r.items(dc)
		return img
	}
	// The plot has its own image so that nothing in it can leave it: cheaper
	// than a clipping mask and exact at the edge.
	inner := image.NewRGBA(image.Rect(0, 0, int(math.Ceil(w)), int(math.Ceil(h))))
	draw.Draw(inner, inner.Bounds(), image.NewUniform(s.Palette.Of(theme.Paper)), image.Point{}, draw.Src)
	ic := gg.NewContextForRGBA(inner)
	r.grid(ic)
	r.items(ic)
	at := image.Pt(int(x), int(y))
	draw.Draw(img, inner.Bounds().Add(at), inner, image.Point{}, draw.Src)
	r.axes(dc, x, y)
	return img
}

type renderer struct {
	p      *Picture
	f      Frame
	s      Style
	k      float64 // pixels per unit of size
	w, h   float64 // plot, pixels
	ox, oy float64 // drawing: offset that centres it
	unit   float64 // drawing: pixels per picture unit
	faces  map[string]font.Face
}

// fit makes one unit as long across as down and centres the drawing.
func (r *renderer) fit() {
	fw, fh := r.f.X1-r.f.X0, r.f.Y1-r.f.Y0
	r.unit = math.Min(r.w/fw, r.h/fh)
	r.ox, r.oy = (r.w-fw*r.unit)/2, (r.h-fh*r.unit)/2
}

// far bounds pixel coordinates: the rasteriser counts in 1/64 pixel in 32 bits.
const far = 1e5

func (r *renderer) px(q Pt) (x, y float64, ok bool) {
	if r.unit > 0 {
		x, y = r.ox+(q.X-r.f.X0)*r.unit, r.oy+(q.Y-r.f.Y0)*r.unit
	} else {
		x = (r.p.X.to(q.X) - r.f.X0) / (r.f.X1 - r.f.X0) * r.w
		y = (1 - (r.p.Y.to(q.Y)-r.f.Y0)/(r.f.Y1-r.f.Y0)) * r.h
	}
	if math.IsNaN(x) || math.IsNaN(y) || math.IsInf(x, 0) || math.IsInf(y, 0) {
		return 0, 0, false
	}
	return clamp(x, -far, far), clamp(y, -far, far), true
}

func (r *renderer) items(dc *gg.Context) {
	for _, it := range r.p.Items {
		switch it := it.(type) {
		case Area:
			started := false
			for _, q := range it.Pts {
				if x, y, ok := r.px(q); ok {
					if !started {
						dc.MoveTo(x, y)
						started = true
					} else {
						dc.LineTo(x, y)
					}
				}
			}
			dc.ClosePath()
			dc.SetColor(veil(r.s.Palette.Of(it.Tone), it.Veil))
			dc.Fill()
		case Line:
			r.line(dc, it)
		case Round:
			if x, y, ok := r.px(it.At); ok && r.near(x, y) {
				radius := it.R * r.unit
				if r.unit == 0 {
					radius = it.R / (r.f.X1 - r.f.X0) * r.w
				}
				width := it.Width
				if width <= 0 {
					width = 1.5
				}
				dc.DrawCircle(x, y, math.Min(radius, far))
				dc.SetColor(r.s.Palette.Of(it.Tone))
				dc.SetLineWidth(width * r.k)
				if it.Filled {
					dc.Fill()
				} else {
					dc.Stroke()
				}
			}
		case Mark:
			if x, y, ok := r.px(it.At); ok && r.near(x, y) {
				r.mark(dc, it, x, y)
			}
		case Text:
			if x, y, ok := r.px(it.At); ok && r.near(x, y) {
				size := it.Size
				if size <= 0 {
					size = 13
				}
				if it.Grow && r.unit > 0 {
					size *= r.unit
				} else {
					size *= r.k
				}
				r.words(dc, it, x+it.DX*r.k, y+it.DY*r.k, size)
			}
		}
	}
}

// near reports that a place is in or close to the plot, so that its mark or
// words may show.
func (r *renderer) near(x, y float64) bool {
	m := 200 * r.k
	return x > -m*3 && y > -m && x < r.w+m*3 && y < r.h+m
}

func (r *renderer) line(dc *gg.Context, l Line) {
	width := l.Width
	if width <= 0 {
		width = 1.5
	}
	dc.SetLineWidth(width * r.k)
	dc.SetColor(r.s.Palette.Of(l.Tone))
	dash := make([]float64, len(l.Dash))
	for i, d := range l.Dash {
		dash[i] = d * r.k
	}
	dc.SetDash(dash...)
	dc.SetLineJoinRound()
	dc.SetLineCapButt()
	open := false
	var lx, ly float64
	for i, q := range l.Pts {
		x, y, ok := r.px(q)
		if !ok {
			open = false
			continue
		}
		// A curve of hundreds of points can have many inside one pixel.
		if open && i < len(l.Pts)-1 && math.Abs(x-lx)+math.Abs(y-ly) < 0.4 {
			continue
		}
		if open {
			dc.LineTo(x, y)
		} else {
			dc.MoveTo(x, y)
			open = true
		}
		lx, ly = x, y
	}
	dc.Stroke()
	dc.SetDash()
}

func (r *renderer) mark(dc *gg.Context, m Mark, x, y float64) {
	size := m.Size
	if size <= 0 {
		size = 9
	}
	h := size / 2 * r.k
	dc.SetColor(r.s.Palette.Of(m.Tone))
	dc.SetLineWidth(1.8 * r.k)
	poly := func(pts ...float64) {
		dc.MoveTo(x+pts[0]*h, y+pts[1]*h)
		for i := 2; i < len(pts); i += 2 {
			dc.LineTo(x+pts[i]*h, y+pts[i+1]*h)
		}
		dc.ClosePath()
		dc.Fill()
	}
	switch m.Shape {
	case Ring:
		dc.DrawCircle(x, y, h)
		dc.SetColor(r.s.Palette.Of(theme.Paper))
		dc.FillPreserve()
		dc.SetColor(r.s.Palette.Of(m.Tone))
		dc.Stroke()
	case Square:
		poly(-1, -1, 1, -1, 1, 1, -1, 1)
	case Diamond:
		poly(0, -1.2, 1.2, 0, 0, 1.2, -1.2, 0)
	case Up:
		poly(0, -1.1, 1, 0.8, -1, 0.8)
	case Down:
		poly(0, 1.1, 1, -0.8, -1, -0.8)
	case Cross:
		dc.DrawLine(x-h, y-h, x+h, y+h)
		dc.DrawLine(x-h, y+h, x+h, y-h)
		dc.Stroke()
	default:
		dc.DrawCircle(x, y, h)
		dc.Fill()
	}
}

func (r *renderer) words(dc *gg.Context, t Text, x, y, size float64) {
	if t.Text == "" || size < 2 {
		return
	}
	key := strconv.FormatFloat(size, 'f', 1, 64) + strconv.FormatBool(t.Bold)
	face := r.faces[key]
	if face == nil {
		if face = theme.Face(math.Min(size, 400), t.Bold); face == nil {
			return
		}
		r.faces[key] = face
	}
	dc.SetFontFace(face)
	m := face.Metrics()
	asc, desc := float64(m.Ascent)/64, float64(m.Descent)/64
	t.Text = words.Say(t.Text)
	w, _ := dc.MeasureString(t.Text)
	bx := x - t.AX*w
	if t.Keep {
		bx = clamp(bx, 3*r.k, math.Max(3*r.k, r.w-w-3*r.k))
	}
	// Centre on the height of capitals, not of the line: words then sit level
	// with the mark they name.
	top := asc * 0.74
	base := y + top*(1-t.AY)
	if t.AY == 1 {
		base = y - desc*0.6
	}
	if t.OnBase {
		base = y
	}
	if t.Halo {
		dc.SetColor(r.s.Palette.Of(theme.Paper))
		for _, d := range [][2]float64{{-2, 0}, {2, 0}, {0, -2}, {0, 2}, {-1.4, -1.4}, {1.4, 1.4}, {-1.4, 1.4}, {1.4, -1.4}} {
			dc.DrawString(t.Text, bx+d[0]*r.k, base+d[1]*r.k)
		}
	}
	dc.SetColor(r.s.Palette.Of(t.Tone))
	dc.DrawString(t.Text, bx, base)
}

func (r *renderer) ticks() (xs []float64, xt []string, ys []float64, yt []string) {
	p := r.p
	xs, xt = p.X.Steps(p.X.from(r.f.X0), p.X.from(r.f.X1), int(r.w/(85*r.k)))
	if !p.Y.Bare {
		ys, yt = p.Y.Steps(p.Y.from(r.f.Y0), p.Y.from(r.f.Y1), int(r.h/(48*r.k)))
	}
	return
}

func (r *renderer) grid(dc *gg.Context) {
	xs, _, ys, _ := r.ticks()
	dc.SetLineWidth(math.Max(1, r.k))
	dc.SetColor(r.s.Palette.Of(theme.Line))
	for _, v := range xs {
		if x, _, ok := r.px(Pt{v, r.p.Y.from(r.f.Y0)}); ok {
			dc.DrawLine(math.Floor(x)+0.5, 0, math.Floor(x)+0.5, r.h)
		}
	}
	for _, v := range ys {
		if _, y, ok := r.px(Pt{r.p.X.from(r.f.X0), v}); ok {
			dc.DrawLine(0, math.Floor(y)+0.5, r.w, math.Floor(y)+0.5)
		}
	}
	dc.Stroke()
}

func (r *renderer) axes(dc *gg.Context, ox, oy float64) {
	xs, xt, ys, yt := r.ticks()
	k := r.k
	dc.SetColor(r.s.Palette.Of(theme.Muted))
	dc.SetLineWidth(math.Max(1, 1.2*k))
	dc.DrawLine(ox, oy, ox, oy+r.h)
	dc.DrawLine(ox, oy+r.h, ox+r.w, oy+r.h)
	dc.Stroke()
	for i, v := range xs {
		if x, _, ok := r.px(Pt{v, r.p.Y.from(r.f.Y0)}); ok && x >= -1 && x <= r.w+1 {
			r.words(dc, Text{Text: xt[i], Tone: theme.Muted, AX: 0.5}, ox+x, oy+r.h+6*k, 13*k)
		}
	}
	for i, v := range ys {
		if _, y, ok := r.px(Pt{r.p.X.from(r.f.X0), v}); ok && y >= -1 && y <= r.h+1 {
			r.words(dc, Text{Text: yt[i], Tone: theme.Muted, AX: 1, AY: 0.5}, ox-7*k, oy+y, 13*k)
		}
	}
	r.words(dc, Text{Text: r.p.X.Label, Tone: theme.Ink, AX: 1}, ox+r.w, oy+r.h+25*k, 13*k)
	// Upright words need no tilting of the head.
	ls := r.lines(dc, r.p.Y.Label, float64(r.s.W)-(12+4+r.s.Keys)*k, 13*k)
	for i, l := range ls {
		r.words(dc, Text{Text: l, Tone: theme.Ink, Halo: true}, 12*k, oy-20*k-float64(len(ls)-1-i)*nameLine*k, 13*k)
	}
}

// nameLine is the height of a line of the y axis's name, at scale 1; three fit above a plot.
const nameLine = 17

// lines breaks a name where keys would lie over it; one whose words are wider than the room
// breaks at each.
func (r *renderer) lines(dc *gg.Context, name string, room, size float64) []string {
	name = words.Say(name)
	face := theme.Face(math.Min(size, 400), false)
	if face == nil || r.s.Keys == 0 {
		return []string{name}
	}
	dc.SetFontFace(face)
	var out []string
	for _, w := range strings.Fields(name) {
		if n := len(out); n > 0 {
			if wide, _ := dc.MeasureString(out[n-1] + " " + w); wide <= room {
				out[n-1] += " " + w
				continue
			}
		}
		out = append(out, w)
	}
	return out
}

// NameRoom is how wide and how high the name of the y axis stands above the plot, at scale
// 1, where keys lie over so much of the width.
func (p *Picture) NameRoom(s Style) (w, h float64) {
	r := renderer{p: p, s: s, k: s.scale(), faces: map[string]font.Face{}}
	dc := gg.NewContext(1, 1)
	ls := r.lines(dc, p.Y.Label, float64(s.W)-(12+4+s.Keys)*r.k, 13*r.k)
	dc.SetFontFace(theme.Face(13*r.k, false))
	for _, l := range ls {
		wide, _ := dc.MeasureString(l)
		w = math.Max(w, wide/r.k)
	}
	return 12 + w, 20 + float64(len(ls)-1)*nameLine
}

func veil(c color.Color, v float64) color.Color {
	if v <= 0 {
		return c
	}
	n := color.NRGBAModel.Convert(c).(color.NRGBA)
	n.A = uint8(float64(n.A) * (1 - math.Min(v, 1)))
	return n
}
