package paint

import (
	"bytes"
	"image/png"
	"testing"

	"retrostage/wiring/ladder"
	"retrostage/wiring/netlist"
)

func TestPNG(t *testing.T) {
	u, err := netlist.Load("two-capacity-conventional")
	if err != nil {
		t.Fatal(err)
	}
	d := ladder.Layout(u)
	m, err := Image(d, 1)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := img.Bounds().Dx(), int(d.W)+1; got != want {
		t.Errorf("picture %d pixels wide, want %d", got, want)
	}
	ink := 0
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			if r, _, _, _ := img.At(x, y).RGBA(); r < 0x8000 {
				ink++
			}
		}
	}
	if ink < 2000 {
		t.Errorf("only %d dark pixels: nothing was drawn", ink)
	}
	if _, err := Image(d, 9); err == nil {
		t.Error("scale 9 was accepted")
	}
}
