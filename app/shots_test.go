package app

import (
	"os"
	"testing"

	"fyne.io/fyne/v2"
)

func TestShotsDrawEveryPane(t *testing.T) {
	dir := os.Getenv("RETROSTAGE_SHOTS")
	if dir == "" {
		dir = t.TempDir()
	}
	paths, err := Shots(dir, filled(t))
	if err != nil {
		t.Fatal(err)
	}
	if want := 10 * len(sizes) * 2; len(paths) != want {
		t.Errorf("%d pictures, want %d", len(paths), want)
	}
	_ = fyne.Size{}
}
