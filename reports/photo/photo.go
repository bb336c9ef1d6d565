// Package photo brings pictures down to a size: for a screen, for a sheet.
package photo

import (
	"bytes"
	"errors"
	"fmt"
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

// mostScans is how often a JPEG may go over its picture: each costs time for every point,
// and says so in as few as a hundred bytes. Ten is common.
const mostScans = 30

// Fits tells by its first bytes and marks whether a picture can be shown in the time and
// room that there are; where it is too large, what would fit.
func Fits(b []byte) error {
	c, kind, err := image.DecodeConfig(bytes.NewReader(b))
	if err != nil || c.Width < 1 || c.Height < 1 {
		return ErrNone
	}
	most, like := MaxPixels, ""
	switch c.ColorModel {
	case color.CMYKModel, color.RGBA64Model, color.NRGBA64Model, color.Gray16Model: // take more room, or time
		most, like = MaxPixels/4, " in such colours"
	}
	// Within what is packed a 0xff is followed by no mark; where a note holds one by chance
	// the picture is held for the dearer kind.
	if kind == "jpeg" && bytes.Contains(b, []byte{0xff, 0xc2}) { // all of it is held until the last scan
		most, like = min(most, MaxPixels/3), " in a JPEG that comes by degrees (progressive)"
	}
	if kind == "jpeg" && bytes.Count(b, []byte{0xff, 0xda}) > mostScans {
		return fmt.Errorf("the picture goes over itself more than %d times: save it anew as a plain JPEG", mostScans)
	}
	if c.Width > most/c.Height {
		return fmt.Errorf("the picture has %d by %d points; allowed up to %d million%s", c.Width, c.Height, most/1_000_000, like)
	}
	return nil
}

// Small is a picture brought down so that no side is longer than most.
func Small(b []byte, most int) (*image.RGBA, error) {
	if err := Fits(b); err != nil {
		return nil, err
	}
	img, _, err := image.Decode(bytes.NewReader(b))
	if err != nil {
		return nil, err
	}
	w, h := img.Bounds().Dx(), img.Bounds().Dy()
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
