package store

import (
	"bytes"
	"image"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/reports/record"
)

const told = "Mrs. Nobody of the blue house"

// about is a job with readings, words about a person and a picture.
func about(t *testing.T, l *Local) Attachment {
	t.Helper()
	j := record.New("job-1")
	must0(j.Set(record.Entry{Key: record.OwnerRef, Value: "R-2041-" + told, Time: at}))
	must0(j.Set(record.Entry{Key: record.IntakeNote, Value: told, Time: at}))
	must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: "55", Time: at}))
	must(t, l.Save(j, "T-17"))
	var img bytes.Buffer
	must(t, png.Encode(&img, image.NewRGBA(image.Rect(0, 0, 30, 20))))
	a, err := l.Attach("job-1", "T-17", told+".png", "", &img)
	must(t, err)
	return a
}

// has tells in which files under dir the words stand.
func has(t *testing.T, dir string, words []byte) (in []string) {
	t.Helper()
	must(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		if bytes.Contains(b, words) {
			in = append(in, filepath.Base(path))
		}
		return err
	}))
	return in
}

// What was typed about a person stands nowhere on the disk but encrypted; discarded, the
// key is gone from the file, its log, the copies and the shared folder, from the other
// tablets too, and what is no person's stays.
func TestDiscard(t *testing.T) {
	shared, dir := t.TempDir(), t.TempDir()
	l, other := opened(t, dir), opened(t, t.TempDir())
	pic := about(t, l)
	must(t, l.DailyCopy())
	ks, err := keysIn(l.db)
	if err != nil || len(ks) != 1 {
		t.Fatal(ks, err)
	}
	if in := append(has(t, dir, []byte(told)), has(t, shared, []byte(told))...); len(in) > 0 {
		t.Fatalf("readable in %v", in)
	}
	both := func() {
		t.Helper()
		for _, x := range []*Local{l, other, l} {
			if _, err := x.Exchange(shared); err != nil {
				t.Fatal(err)
			}
		}
	}
	both()
	s, err := other.State("job-1")
	if err != nil || s.Job.Text(record.IntakeNote) != told || s.Sealed != 0 {
		t.Fatalf("the other tablet reads %q, %d sealed, %v", s.Job.Text(record.IntakeNote), s.Sealed, err)
	}
	if _, err := other.Picture("job-1", pic); err != nil {
		t.Error(err)
	}
	backup := filepath.Join(t.TempDir(), "backup.db")
	must(t, l.Backup(backup, false))
	if _, err := l.Discard("job-1", "S-1", ""); err == nil {
		t.Error("discarded without a reason")
	}
	d, err := l.Discard("job-1", "S-1", "asked for by the owner")
	if err != nil || d.Keys != 1 || d.Sealed != 3 || d.Plain != 0 || d.Copies != 1 {
		t.Fatalf("%+v, %v", d, err)
	}
	for _, x := range []*Local{l, other} {
		both()
		s, err := x.State("job-1")
		must(t, err)
		if s.Sealed != 3 || !s.Discarded || s.Job.Text(record.OwnerRef)+s.Job.Text(record.IntakeNote) != "" || s.Job.Text(record.SuctionTemp) != "55" || len(s.Aside) != 0 || len(s.Attachments) != 0 {
			t.Errorf("%+v, note %q", s, s.Job.Text(record.IntakeNote))
		}
		if _, err := x.Picture("job-1", pic); err == nil {
			t.Error("the picture is read")
		}
		if in := has(t, x.dir, ks[0].Key); len(in) > 0 {
			t.Errorf("the key stands in %v", in)
		}
		if undo, _, err := x.Undoable("job-1"); err != nil || undo == "" || x.Undo("job-1", s.Last.ID, "T-17") == nil {
			t.Error("the discarding is taken back")
		}
	}
	if left, _ := filepath.Glob(filepath.Join(shared, keyDir, "*")); len(left) > 0 {
		t.Errorf("in the folder: %v", left)
	}
	// A backup of before brings no key back.
	if _, err := l.Restore(backup); err != nil {
		t.Fatal(err)
	}
	if s, _ := l.State("job-1"); s.Job.Text(record.IntakeNote) != "" {
		t.Error("it came back")
	}
	if _, err := l.Discard("job-1", "S-1", "again"); err == nil || !strings.Contains(err.Error(), "discarded already") {
		t.Errorf("a second time: %v", err)
	}
	// The job goes on, under another key.
	j, err := l.Load("job-1")
	must(t, err)
	must0(j.Set(record.Entry{Key: record.IntakeNote, Value: "new", Time: at}))
	must(t, l.Save(j, "T-17"))
	if s, _ := l.State("job-1"); s.Job.Text(record.IntakeNote) != "new" {
		t.Error("it does not go on")
	}
	must(t, l.Close())
	l = opened(t, dir)
	if s, err := l.State("job-1"); err != nil || s.Job.Text(record.IntakeNote) != "new" || s.Sealed != 3 {
		t.Errorf("opened again: %v", err)
	}
}

// A restored backup has the keys, and an event under the key of another, or moved to
// another event, is refused.
func TestKeysHold(t *testing.T) {
	l := opened(t, t.TempDir())
	pic := about(t, l)
	backup := filepath.Join(t.TempDir(), "backup.db")
	must(t, l.Backup(backup, false))
	fresh := opened(t, t.TempDir())
	if _, err := fresh.Restore(backup); err != nil {
		t.Fatal(err)
	}
	if s, err := fresh.State("job-1"); err != nil || s.Job.Text(record.IntakeNote) != told {
		t.Errorf("restored: %v", err)
	}
	if _, err := fresh.Picture("job-1", pic); err != nil {
		t.Error(err)
	}
	es, _, err := l.Events("job-1")
	must(t, err)
	for _, e := range es {
		if e.JobKey == "" {
			continue
		}
		e.ID, e.Order = NewID(), e.Order+100
		if err := l.Append(e); err == nil {
			t.Errorf("%s was taken a second time", e.Kind)
		}
	}
	// A signature is never encrypted, nor an event of another kind passed off so.
	for _, e := range es {
		if e.JobKey != "" && e.Kind == Entered {
			e.ID, e.Order, e.Kind = NewID(), e.Order+200, Signature
			if err := l.Append(e); err == nil {
				t.Error("an encrypted signature was taken")
			}
			break
		}
	}
}
