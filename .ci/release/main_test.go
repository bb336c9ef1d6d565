package main

import (
	"bytes"
	"encoding/binary"
	"image/png"
	"os"
	"path/filepath"
	"testing"
)

// The directory of the icon file leads to pictures of the sizes it says.
func TestIconFileLeadsToItsPictures(t *testing.T) {
	dir := t.TempDir()
	if err := icons(dir); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(filepath.Join(dir, "retrostage.ico"))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range sizes {
		e := b[6+16*i:]
		n, at := binary.LittleEndian.Uint32(e[8:]), binary.LittleEndian.Uint32(e[12:])
		img, err := png.Decode(bytes.NewReader(b[at : at+n]))
		if err != nil {
			t.Fatalf("picture %d: %v", i, err)
		}
		if img.Bounds().Dx() != want || int(e[0]) != want%256 {
			t.Errorf("picture %d is %v and said to be %d, not %d", i, img.Bounds(), e[0], want)
		}
	}
}

func TestModuleWithoutLicenceIsRefused(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "README.md"), []byte("free"), 0o600); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := texts(&b, "m", dir); err == nil {
		t.Error("no licence file, and no error")
	}
	if err := os.WriteFile(filepath.Join(dir, "LICENSE"), []byte("terms"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := texts(&b, "m", dir); err != nil || !bytes.Contains(b.Bytes(), []byte("terms")) {
		t.Errorf("%v, %q", err, b.String())
	}
}
