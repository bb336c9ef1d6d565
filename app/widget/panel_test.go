package widget

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
)

// Panel is a ground of one tone with one thing on it, as entries stand on it.
type Panel struct {
	widget.BaseWidget
	Content fyne.CanvasObject
	Tone    theme.Tone
	Pad     float32
	Edge    bool // a line about it
}

// NewPanel makes a panel.
func NewPanel(tone theme.Tone, pad float32, content fyne.CanvasObject) *Panel {
	p := &Panel{Content: content, Tone: tone, Pad: pad}
	p.ExtendBaseWidget(p)
	return p
}

// HeightFor implements Tall.
func (p *Panel) HeightFor(w float32) float32 { return HeightAt(p.Content, w-2*p.Pad) + 2*p.Pad }

// CreateRenderer implements fyne.Widget.
func (p *Panel) CreateRenderer() fyne.WidgetRenderer {
	r := &panelRenderer{p: p, ground: rect()}
	r.Refresh()
	return r
}

type panelRenderer struct {
	p      *Panel
	ground *canvas.Rectangle
}

func (r *panelRenderer) Layout(size fyne.Size) {
	r.ground.Resize(size)
	r.p.Content.Move(fyne.NewPos(r.p.Pad, r.p.Pad))
	r.p.Content.Resize(fyne.NewSize(size.Width-2*r.p.Pad, size.Height-2*r.p.Pad))
}
func (r *panelRenderer) MinSize() fyne.Size {
	m := r.p.Content.MinSize()
	return fyne.NewSize(m.Width+2*r.p.Pad, m.Height+2*r.p.Pad)
}
func (r *panelRenderer) Refresh() {
	r.ground.FillColor = r.p.Tone.Colour()
	if r.p.Edge {
		r.ground.StrokeColor, r.ground.StrokeWidth, r.ground.CornerRadius = theme.Line.Colour(), 1, 3
	}
	r.ground.Refresh()
	r.p.Content.Refresh()
}
func (r *panelRenderer) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{r.ground, r.p.Content}
}
func (r *panelRenderer) Destroy() {}
