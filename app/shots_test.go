package app

import (
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"

	"retrostage/reports/archive"
	"retrostage/reports/record"
)

func TestShotsDrawEveryPane(t *testing.T) {
	paths, err := Shots(t.TempDir(), filled(t))
	if err != nil {
		t.Fatal(err)
	}
	if want := 10 * len(sizes) * 2; len(paths) != want {
		t.Errorf("%d pictures, want %d", len(paths), want)
	}
}

// With RETROSTAGE_TALL set to a folder, every pane is drawn there so tall that
// nothing of it is scrolled away, to be looked at; RETROSTAGE_JOB names the job.
func TestTallShots(t *testing.T) {
	dir := os.Getenv("RETROSTAGE_TALL")
	if dir == "" {
		t.Skip("RETROSTAGE_TALL names no folder")
	}
	j := filled(t)
	if p := os.Getenv("RETROSTAGE_JOB"); p != "" {
		var err error
		if j, err = archive.ReadJob(p); err != nil {
			t.Fatal(err)
		}
	}
	b, w := bench(t, j)
	for _, size := range []fyne.Size{{Width: 1280, Height: 3800}} {
		w.Resize(size)
		for i, s := range record.Steps {
			b.open(i)
			b.desk.Refresh()
			if err := writePNG(filepath.Join(dir, shotName(string(s.Step), size, false)), w.Canvas().Capture()); err != nil {
				t.Fatal(err)
			}
		}
	}
}
