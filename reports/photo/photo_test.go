package photo

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"
)

func TestSmall(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 300, 120)) // nothing in it: all of it can be seen through
	for x := range 300 {
		img.Set(x, 60, color.NRGBA{200, 0, 0, 255})
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	out, size, err := JPEG(b.Bytes(), 150)
	if err != nil || size != image.Pt(150, 60) {
		t.Fatalf("%v, %v", size, err)
	}
	c, err := jpeg.Decode(bytes.NewReader(out))
	if err != nil || c.Bounds().Size() != size {
		t.Fatalf("%v", err)
	}
	if r, _, _, _ := c.At(5, 5).RGBA(); r < 0xf000 {
		t.Error("what can be seen through is not white")
	}
	if same, err := Small(b.Bytes(), 400); err != nil || same.Rect.Dx() != 300 {
		t.Errorf("made larger: %v", err)
	}
	for _, bad := range [][]byte{nil, []byte("hello"), out[:len(out)/3]} {
		if _, _, err := JPEG(bad, 100); err == nil {
			t.Error("a picture out of nothing")
		}
	}
	huge := bytes.Clone(b.Bytes())
	copy(huge[16:], []byte{0x7f, 0xff, 0xff, 0xff, 0x7f, 0xff, 0xff, 0xff})
	if _, err := Small(huge, 100); err == nil {
		t.Error("two thousand million points wide and shown")
	}
}
