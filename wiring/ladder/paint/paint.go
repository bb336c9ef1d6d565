// Package paint turns a ladder drawing into a picture file, for paper and for the
// workbook. The screen paints the drawing itself.
package paint

import (
	"fmt"
	"image"
	"image/png"
	"io"

	"git.sr.ht/~sbinet/gg"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"

	"retrostage/wiring/ladder"
)

// Encode writes a picture as PNG. A ladder is mostly white and compresses well
// at any level.
func Encode(w io.Writer, m image.Image) error {
	e := png.Encoder{CompressionLevel: png.BestSpeed}
	return e.Encode(w, m)
}

// Image paints a drawing on white, scale pixels to a point (0.25 to 4).
func Image(d ladder.Drawing, scale float64) (image.Image, error) {
	if !(scale >= 0.25 && scale <= 4) {
		return nil, fmt.Errorf("ladder picture: scale %v, allowed 0.25 to 4", scale)
	}
	wide, high := int(d.W*scale)+1, int(d.H*scale)+1
	if wide > 20000 || high > 40000 {
		return nil, fmt.Errorf("ladder picture: %d x %d pixels is too large", wide, high)
	}
	c := gg.NewContext(wide, high)
	c.SetRGB(1, 1, 1)
	c.Clear()
	for _, l := range d.Lines {
		c.SetHexColor(l.Colour)
		c.SetLineWidth(l.Width * scale)
		c.DrawLine(l.X1*scale, l.Y1*scale, l.X2*scale, l.Y2*scale)
		c.Stroke()
	}
	c.SetHexColor("#202020")
	c.SetLineWidth(1.5 * scale)
	for _, q := range d.Circles {
		c.DrawCircle(q.X*scale, q.Y*scale, q.R*scale)
		if q.Filled {
			c.Fill()
		} else {
			c.Stroke()
		}
	}
	faces := map[ladder.Label]font.Face{}
	for _, t := range d.Labels {
		key := ladder.Label{Size: t.Size, Bold: t.Bold}
		if faces[key] == nil {
			f, err := face(t.Bold, t.Size*scale)
			if err != nil {
				return nil, err
			}
			defer f.Close()
			faces[key] = f
		}
		c.SetFontFace(faces[key])
		c.DrawStringAnchored(t.Text, t.X*scale, t.Y*scale, map[string]float64{"middle": 0.5, "end": 1}[t.Anchor], 0)
	}
	return c.Image(), nil
}

func face(bold bool, size float64) (font.Face, error) {
	ttf := goregular.TTF
	if bold {
		ttf = gobold.TTF
	}
	f, err := opentype.Parse(ttf)
	if err != nil {
		return nil, err
	}
	return opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72})
}
