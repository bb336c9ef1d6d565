package widget

import (
	"regexp"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"
)

// Page is a text with headings, lists and bold words, from markdown.
type Page struct {
	widget.BaseWidget
	rich   *widget.RichText
	width  float32
	height float32
}

// NewPage makes a page.
func NewPage(markdown string) *Page {
	p := &Page{rich: widget.NewRichTextFromMarkdown(plainer(markdown))}
	p.rich.Wrapping = fyne.TextWrapWord
	p.ExtendBaseWidget(p)
	return p
}

// Set shows another text.
func (p *Page) Set(markdown string) {
	p.width = 0
	p.rich.ParseMarkdown(plainer(markdown))
	p.Refresh()
}

// HeightFor implements Tall.
func (p *Page) HeightFor(w float32) float32 {
	if w != p.width {
		p.rich.Resize(fyne.NewSize(w, 10))
		p.width, p.height = w, p.rich.MinSize().Height
	}
	return p.height
}

// CreateRenderer implements fyne.Widget.
func (p *Page) CreateRenderer() fyne.WidgetRenderer { return &pageRenderer{p} }

type pageRenderer struct{ p *Page }

func (r *pageRenderer) Layout(s fyne.Size)           { r.p.rich.Resize(s) }
func (r *pageRenderer) MinSize() fyne.Size           { return fyne.NewSize(120, 20) }
func (r *pageRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.p.rich} }
func (r *pageRenderer) Destroy()                     {}
func (r *pageRenderer) Refresh() {
	r.Layout(r.p.Size())
	canvas.Refresh(r.p)
}

// leaning is a word between single asterisks.
var leaning = regexp.MustCompile(`(^|[^*\w])\*([^*\s]|[^*\s][^*\n]*[^*\s])\*([^*\w]|$)`)

// plainer takes slanted words as plain ones: the toolkit breaks the line that follows one
// wrongly, down to a letter a line.
func plainer(markdown string) string {
	for {
		once := leaning.ReplaceAllString(markdown, "$1$2$3")
		if once == markdown {
			return once
		}
		markdown = once
	}
}
