package app

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"retrostage/reports/archive"
	"retrostage/reports/record"
)

// A job that could not be saved is not dropped by another on the bench, is the one
// visible when it is chosen again, and the window asks before it closes on it.
func TestNotSavedIsKept(t *testing.T) {
	dir := t.TempDir()
	b, _ := bench(t, filled(t))
	gone := jobStore{file: &fileKeeper{path: filepath.Join(dir, "none", "a.job.json")}, dir: dir}
	b.SetJob(gone, record.New("job-a"))
	b.Enter(record.OwnerRef, "A-1", "", "")
	if b.saveErr == nil {
		t.Fatal("saved where there is no folder")
	}
	other := jobStore{file: &fileKeeper{path: filepath.Join(dir, "b.job.json")}, dir: dir}
	b.SetJob(other, record.New("job-b"))
	b.Enter(record.OwnerRef, "B-1", "", "")
	if _, bad := b.status(); !bad {
		t.Error("nothing is said of the job that is not saved")
	}
	b.SetJob(gone, record.New("job-a"))
	if got := b.job.Text(record.OwnerRef); got != "A-1" {
		t.Errorf("%q came back", got)
	}
	w := test.NewWindow(nil)
	b.closing(w)
	if w.Canvas().Overlays().Top() == nil {
		t.Error("it closed without a question")
	}
	if err := os.Mkdir(filepath.Join(dir, "none"), 0o700); err != nil {
		t.Fatal(err)
	}
	b.save()
	for path, want := range map[string]string{gone.file.path: "A-1", other.file.path: "B-1"} {
		j, err := archive.ReadJob(path)
		if err != nil || j.Text(record.OwnerRef) != want {
			t.Errorf("%s: %v", path, err)
		}
	}
	if len(b.waiting.list()) != 0 || b.saveErr != nil {
		t.Error("something still waits")
	}
}

// Whoever types is called what he likes: what is typed is saved.
func TestOddNamesAreSaved(t *testing.T) {
	b, _ := bench(t, filled(t))
	for n, name := range []string{strings.Repeat("x", 30000), "\xff\xfe", " \x1f ", strings.Repeat("é", 99) + "\xff", ""} {
		b.SetPerson(name)
		v := strconv.Itoa(60 + n)
		b.Enter(record.SuctionTemp, v, "F", "")
		if text, bad := b.status(); bad || onDisk(t, b).Text(record.SuctionTemp) != v {
			t.Errorf("%.20q: it says %q", name, text)
		}
	}
}
