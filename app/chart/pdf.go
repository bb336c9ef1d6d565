package chart

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"

	"codeberg.org/go-pdf/fpdf"

	"retrostage/app/theme"
)

// bare takes the ground of a picture away: paper has its own.
func bare(img *image.RGBA) {
	r, g, b, _ := theme.Light.Of(theme.Paper).RGBA()
	for i := 0; i < len(img.Pix); i += 4 {
		p := img.Pix[i : i+4 : i+4]
		if p[0] == uint8(r>>8) && p[1] == uint8(g>>8) && p[2] == uint8(b>>8) {
			p[0], p[1], p[2] = 255, 255, 255
		}
	}
}

// WritePDF writes a picture for Letter paper, on a light ground: a chart on one page; a
// drawing as wide as the page, on as many pages as it is high, each beginning with the
// last lines of the one before.
func WritePDF(w io.Writer, p *Picture, title, foot string) error {
	if p.Empty() {
		return fmt.Errorf("there is no picture to write")
	}
	const (
		edge, head, tail = 36.0, 30.0, 24.0 // points
		fine             = 200.0 / 72       // pixels a point
		across, down     = 612 - 2*edge, 792 - 2*edge - head - tail
		again            = 0.06 // of a page
	)
	pdf := fpdf.New("P", "pt", "Letter", "")
	pdf.SetMargins(edge, edge, edge)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetTitle(title, true)
	latin := pdf.UnicodeTranslatorFromDescriptor("") // the page's own letters have no more
	frames, height := []Frame{p.Whole()}, math.Min(down, across*0.7)
	if !p.Axes {
		all := p.Whole()
		part := (all.X1 - all.X0) * down / across // units of a page
		frames, height = nil, down
		for y := all.Y0; ; y += part * (1 - again) {
			frames = append(frames, Frame{all.X0, all.X1, y, y + part})
			if y+part >= all.Y1 {
				break
			}
		}
	}
	for i, f := range frames {
		img := Render(p, f, Style{W: int(across * fine), H: int(height * fine), Scale: fine, Palette: theme.Light})
		bare(img)
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			return err
		}
		pdf.AddPage()
		pdf.SetFont("Helvetica", "B", 12)
		pdf.SetXY(edge, edge)
		pdf.CellFormat(across, 14, latin(title), "", 0, "L", false, 0, "")
		name := fmt.Sprint("p", i)
		pdf.RegisterImageOptionsReader(name, fpdf.ImageOptions{ImageType: "PNG"}, &b)
		pdf.ImageOptions(name, edge, edge+head, across, height, false, fpdf.ImageOptions{}, 0, "")
		pdf.SetFont("Helvetica", "", 8)
		pdf.SetXY(edge, 792-edge-10)
		pdf.CellFormat(across, 10, latin(fmt.Sprintf("%s. Page %d of %d", foot, i+1, len(frames))), "", 0, "L", false, 0, "")
	}
	return pdf.Output(w)
}
