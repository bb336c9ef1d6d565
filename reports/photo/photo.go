// Package photo brings pictures down to a size: for a screen, for a sheet.
package photo

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	_ "image/png" // the other kind that jobs keep

	scaling "golang.org/x/image/draw"
)

// MaxPixels is the number of points beyond which a picture is refused.
const MaxPixels = 24_000_000

// ErrNone is that bytes are no picture that can be shown.
var ErrNone = errors.New("it is no photo that can be shown")

// Small is a picture brought down so that no side is longer than most.
func Small(b []byte, most int) (*image.RGBA, error) {
	c, _, err := image.DecodeConfig(bytes.NewReader(b))
	if err != nil || c.Width < 1 || c.Height < 1 || c.Width > MaxPixels/c.Height {
		return nil, ErrNone
	}
	img, _, err := image.Decode(bytes.NewReader(b))
	if err != nil {
		return nil, err
	}
	w, h := c.Width, c.Height
	if long := max(w, h); long > most {
		w, h = max(1, w*most/long), max(1, h*most/long)
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	scaling.ApproxBiLinear.Scale(out, out.Bounds(), img, img.Bounds(), scaling.Src, nil)
	return out, nil
}

// JPEG is Small, encoded anew: nothing that is no picture comes along. What can be seen
// through is white.
func JPEG(b []byte, most int) (out []byte, size image.Point, err error) {
	img, err := Small(b, most)
	if err != nil {
		return nil, size, err
	}
	paper := image.NewRGBA(img.Rect)
	draw.Draw(paper, paper.Rect, image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.Draw(paper, paper.Rect, img, image.Point{}, draw.Over)
	var w bytes.Buffer
	err = jpeg.Encode(&w, paper, &jpeg.Options{Quality: 70})
	return w.Bytes(), img.Rect.Size(), err
}
