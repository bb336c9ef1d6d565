package app

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"

	"fyne.io/fyne/v2"

	"retrostage/reports/record"
	"retrostage/reports/workbook"
	"retrostage/thermo/units"
)

// photoFile is a JPEG of a size, with words in it as a camera writes them.
func photoFile(t *testing.T, name string, w, h int) string {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for x := range w {
		img.Set(x, x%h, color.White)
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	exif := []byte("Exif\x00\x00LATITUDE 51.5")
	raw := append([]byte{0xff, 0xd8, 0xff, 0xe1, 0, byte(len(exif) + 2)}, exif...)
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, append(raw, b.Bytes()[2:]...), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// A photo is taken in at its step, shown small there and large on a sheet, kept without
// its place, there after a restart; what is no photo is told and nothing is kept.
func TestPhotosAtAStep(t *testing.T) {
	b, w := bench(t, filled(t))
	b.SetPerson("T-17")
	path := photoFile(t, "plate.jpg", 900, 600)
	b.pickPhoto = func(done func(string)) { done(path) }
	b.Remake(nil)
	b.Go(stepIndex(record.CloseUp))
	test.Tap(tap(b.pane().Side, "Add a photo of this step"))
	if said := shownWords(b.pane().Side); !strings.Contains(said, "Kept, without what the file said") {
		t.Fatalf("it says %s", said)
	}
	shown := func() (n int) {
		for _, o := range visible[*canvas.Image](body(t, b, "photos")) {
			if o.Image != nil && o.Image.Bounds().Dx() == 240 && o.Image.Bounds().Dy() == 160 {
				n++
			}
		}
		return n
	}
	if shown() != 1 {
		t.Errorf("%d thumbnails", shown())
	}
	test.Tap(tap(b.pane().Side, "Look at plate.jpg"))
	large := 0
	for _, o := range visible[*canvas.Image](w.Canvas().Overlays().Top()) {
		if o.Image != nil && o.Image.Bounds().Dx() == 900 {
			large++
		}
	}
	if large != 1 {
		t.Error("not shown large")
	}
	test.Tap(tap(w.Canvas().Overlays().Top(), "Back to the step"))
	b.Go(stepIndex(record.Running))
	if shown() != 0 {
		t.Error("a photo of another step")
	}
	bad := filepath.Join(t.TempDir(), "note.jpg")
	if err := os.WriteFile(bad, []byte("no photo"), 0o600); err != nil {
		t.Fatal(err)
	}
	b.dropped([]fyne.URI{storage.NewFileURI(bad)})
	if text, isBad := b.status(); !isBad || !strings.Contains(text, "Not kept") || len(b.photos) != 1 {
		t.Errorf("it says %q, %d photos", text, len(b.photos))
	}
	b.again()
	b.dropped([]fyne.URI{storage.NewFileURI(path)})
	if shown() != 1 {
		t.Error("a dropped photo is not shown")
	}
	// The workbook gets them, with who and at which step.
	var sent []workbook.Photo
	b.export = func(_ *record.Job, ps []workbook.Photo, _ string, _ units.System) (string, error) {
		sent = ps
		return "x.xlsx", nil
	}
	b.Export(func(string, error) {})
	if len(sent) != 2 || sent[0].By != "T-17" || sent[0].Step != "Close-up" || sent[0].Digest == "" || sent[0].At.IsZero() {
		t.Errorf("the workbook gets %+v", sent)
	}
	dir := b.keep.dir
	if err := b.keep.jobs.Close(); err != nil {
		t.Fatal(err)
	}
	if raw, err := os.ReadFile(filepath.Join(dir, "jobs.db")); err != nil || bytes.Contains(raw, []byte("LATITUDE")) {
		t.Error("the place is kept")
	}
	b = reopened(t, dir)
	b.Go(stepIndex(record.CloseUp))
	if shown() != 1 || len(b.photos) != 2 {
		t.Errorf("after a restart %d of %d", shown(), len(b.photos))
	}
}

// Of a photo too dense to be read in time fewer points are kept: that is said beside it, now
// and after a restart, with what was stored and that the original stays where it was.
func TestADensePhotoIsToldBesideIt(t *testing.T) {
	b, _ := bench(t, filled(t))
	plain, dense := photoFile(t, "plain.jpg", 900, 600), photoFile(t, "dense.jpg", 4200, 3001)
	raw, err := os.ReadFile(dense)
	if err != nil {
		t.Fatal(err)
	}
	raw = append(raw, make([]byte, 6<<20)...) // as large as detail makes it
	if err := os.WriteFile(dense, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	told := func(b *Bench) string {
		b.Go(stepIndex(record.CloseUp))
		return shownWords(body(t, b, "photos"))
	}
	const words = "2100 x 1501 of 4200 x 3001"
	for i, path := range []string{plain, dense} {
		b.Go(stepIndex(record.CloseUp))
		b.pickPhoto = func(done func(string)) { done(path) }
		b.Remake(nil)
		test.Tap(tap(b.pane().Side, "Add a photo of this step"))
		said := told(b)
		if strings.Contains(said, "half as many points") != (i == 1) || strings.Contains(said, words) != (i == 1) {
			t.Fatalf("of %s it says %s", filepath.Base(path), said)
		}
	}
	if again, err := os.ReadFile(dense); err != nil || !bytes.Equal(again, raw) {
		t.Errorf("the original was touched: %v", err)
	}
	id := b.job.ID
	if err := b.keep.jobs.Close(); err != nil {
		t.Fatal(err)
	}
	b = reopened(t, b.keep.dir)
	if b.job.ID != id || strings.Count(told(b), words) != 1 || !strings.Contains(told(b), "The original stays where it was") {
		t.Errorf("after a restart it says %s", told(b))
	}
}
