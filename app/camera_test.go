package app

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// What appears in the camera's folder is offered at the step at hand once it is whole, and
// nothing is kept without a touch; what lay there before is not asked about.
func TestCameraFolder(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.SetPerson("T-17")
	dir := t.TempDir()
	bring := func(name string, part int) {
		t.Helper()
		raw, err := os.ReadFile(photoFile(t, "x.jpg", 300, 200))
		if err != nil {
			t.Fatal(err)
		}
		if part > 0 {
			raw = raw[:part]
		}
		if err := os.WriteFile(filepath.Join(dir, name), raw, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	clock := noon
	b.now = func() time.Time { return clock }
	look := func() string {
		clock = clock.Add(cameraEvery)
		b.watch()
		var keys []string
		for _, k := range visible[*widget.Tap](b.pane().Side) {
			if strings.HasPrefix(k.Text, "Keep ") || strings.HasPrefix(k.Text, "Leave ") {
				keys = append(keys, k.Text)
			}
		}
		return strings.Join(keys, "; ")
	}
	bring("before.jpg", 0)
	b.Go(stepIndex(record.CloseUp))
	if look(); b.camera.dir != "" {
		t.Error("a folder is watched that nobody named")
	}
	b.own.Camera = dir
	look()
	bring("plate.jpg", 200) // still on its way
	bring("notes.txt", 0)
	if err := os.Symlink(filepath.Join(dir, "before.jpg"), filepath.Join(dir, "link.jpg")); err != nil {
		t.Fatal(err)
	}
	look()
	bring("plate.jpg", 0)
	if said := look(); strings.Contains(said, "plate.jpg") {
		t.Error("a photo is offered while it grows")
	}
	said := look()
	if !strings.Contains(said, "plate.jpg") || strings.Contains(said, "before.jpg") || strings.Contains(said, "notes") || strings.Contains(said, "link") {
		t.Fatalf("it says %s", said)
	}
	if look(); len(b.photos) != 0 {
		t.Fatal("it was taken without a touch")
	}
	test.Tap(tap(b.pane().Side, "Keep plate.jpg with this step"))
	if said := look(); len(b.photos) != 1 || b.photos[0].For != string(record.CloseUp) || strings.Contains(said, "Keep plate.jpg") {
		t.Fatalf("%+v, it says %s", b.photos, said)
	}
	// Let go, it is not asked about again; another of its name is.
	bring("blurred.jpg", 0)
	look()
	look()
	b.Go(stepIndex(record.Running))
	test.Tap(tap(b.pane().Side, "Leave blurred.jpg"))
	if said := look(); strings.Contains(said, "blurred.jpg") || len(b.photos) != 1 {
		t.Errorf("it says %s", said)
	}
	time.Sleep(10 * time.Millisecond) // another time of the file
	bring("blurred.jpg", 0)
	look()
	if said := look(); !strings.Contains(said, "Keep blurred.jpg with this step") {
		t.Error("another photo of that name is not offered")
	}
	// What is no photo is told at its key, and kept nowhere.
	if err := os.WriteFile(filepath.Join(dir, "bad.jpg"), []byte("no photo"), 0o600); err != nil {
		t.Fatal(err)
	}
	look()
	if said := look(); !strings.Contains(said, "bad.jpg") {
		t.Fatalf("it says %s", said)
	}
	if k := tap(b.pane().Side, "Keep bad.jpg with this step"); k != nil {
		test.Tap(k)
	}
	if len(b.photos) != 1 {
		t.Error("something was kept that is no photo")
	}
	// The folder goes away, and comes back.
	if err := os.Rename(dir, dir+"-gone"); err != nil {
		t.Fatal(err)
	}
	look()
	if !strings.Contains(b.cameraSays(), "cannot be looked into") {
		t.Errorf("it says %s", b.cameraSays())
	}
	if err := os.Rename(dir+"-gone", dir); err != nil {
		t.Fatal(err)
	}
	if look(); strings.Contains(b.cameraSays(), "cannot") {
		t.Errorf("it says %s", b.cameraSays())
	}
}
