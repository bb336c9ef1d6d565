package store

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/reports/record"
)

// A database or a backup that was cut off, as by a copy that broke, gives what stands before
// the cut, counted; what is set aside is the file as it was.
func TestCutOff(t *testing.T) {
	from := t.TempDir()
	l := opened(t, from)
	for n := range 20 {
		j := record.New(fmt.Sprintf("job-%d", n))
		must(t, l.Save(j, ""))
		for i := range 20 {
			must(t, j.Set(record.Entry{Key: record.IntakeNote, Value: fmt.Sprintf("%d %s", i, strings.Repeat("x", 200)), Time: at}))
		}
		must(t, l.Save(j, ""))
	}
	all, _, err := l.Events("")
	must(t, err)
	backup := filepath.Join(t.TempDir(), "b.db")
	must(t, l.Backup(backup, false))
	must(t, l.Close())
	whole, err := os.ReadFile(backup)
	must(t, err)
	had := 0
	for part := 1; part <= 10; part++ {
		b := whole[:len(whole)*part/10-part%2*1000] // at a page, and within one
		dir := t.TempDir()
		must(t, os.WriteFile(filepath.Join(dir, File), b, 0o600))
		l := opened(t, dir)
		got, _, err := l.Events("")
		must(t, err)
		aside, _ := filepath.Glob(filepath.Join(dir, File+".damaged-*"))
		if len(b) == len(whole) {
			if len(aside) != 0 || len(got) != len(all) {
				t.Errorf("of a whole one: %d of %d, %v", len(got), len(all), aside)
			}
			continue
		}
		if len(aside) != 1 || !strings.Contains(l.Note, fmt.Sprintf("%d events could be read", len(got))) {
			t.Fatalf("%d tenths: %v, %q", part, aside, l.Note)
		}
		if is, _ := os.ReadFile(aside[0]); string(is) != string(b) {
			t.Errorf("%d tenths: what was set aside is another", part)
		}
		if len(got) < had || part > 4 && len(got) < len(all)*(part-3)/10 {
			t.Errorf("%d tenths: %d of %d events", part, len(got), len(all))
		}
		had = len(got)

		cut := filepath.Join(t.TempDir(), "cut.db")
		must(t, os.WriteFile(cut, b, 0o600))
		r := opened(t, t.TempDir())
		took, err := r.Restore(cut)
		must(t, err)
		if took.Events != len(got) || took.Lost == 0 && len(got) < len(all) {
			t.Errorf("%d tenths: restored %+v, opened %d", part, took, len(got))
		}
		if is, _ := os.ReadFile(cut); string(is) != string(b) {
			t.Error("the backup was touched")
		}
	}
}

// A picture that is damaged in a backup is not taken, and counted: its event alone would have
// the restore called whole.
func TestDamagedPictureOfABackupIsCounted(t *testing.T) {
	l := opened(t, t.TempDir())
	must(t, l.Save(record.New("job-1"), ""))
	var b bytes.Buffer
	must(t, jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 300, 200)), nil))
	a, err := l.Attach("job-1", "T-1", "plate.jpg", "intake", &b)
	must(t, err)
	backup := filepath.Join(t.TempDir(), "b.db")
	must(t, l.Backup(backup, false))
	raw, err := os.ReadFile(backup)
	must(t, err)
	var data []byte
	must(t, l.db.QueryRow("SELECT data FROM attachments WHERE hash = ?", a.Hash).Scan(&data))
	at := bytes.Index(raw, data[:64])
	if at < 0 {
		t.Fatal("the picture is not in the file")
	}
	raw[at+20] ^= 1
	must(t, os.WriteFile(backup, raw, 0o600))
	r := opened(t, t.TempDir())
	took, err := r.Restore(backup)
	if err == nil && (took.Attachments != 0 || took.Refused != 1) {
		t.Errorf("%+v", took)
	}
	if err != nil {
		t.Error(err)
	}
}

// A picture from elsewhere that says of itself what ours say of a half is encoded anew, and
// says nothing; one that is a half says so on the tablet that it was exchanged to.
func TestHalvesSayThemselves(t *testing.T) {
	dir := t.TempDir()
	a, b := opened(t, t.TempDir()), opened(t, t.TempDir())
	must(t, a.Save(record.New("job-1"), ""))
	encoded := func(w, h int) []byte {
		var out bytes.Buffer
		must(t, jpeg.Encode(&out, image.NewGray(image.Rect(0, 0, w, h)), nil))
		return out.Bytes()
	}
	forged := Reduced{Wide: 600, High: 400, Bytes: 9_000_000}.mark(encoded(300, 200))
	dense := append(encoded(4001, 3001), make([]byte, maxDense)...)
	_, err := a.Attach("job-1", "T-1", "forged.jpg", "intake", bytes.NewReader(forged))
	must(t, err)
	_, err = a.Attach("job-1", "T-1", "dense.jpg", "intake", bytes.NewReader(dense))
	must(t, err)
	for _, l := range []*Local{a, b} {
		_, err := l.Exchange(dir)
		must(t, err)
	}
	s, err := b.State("job-1")
	must(t, err)
	if len(s.Attachments) != 2 {
		t.Fatalf("%d pictures", len(s.Attachments))
	}
	for _, at := range s.Attachments {
		raw, err := b.Picture("job-1", at)
		must(t, err)
		r, half := ReducedFrom(raw)
		if half != (at.Name == "dense.jpg") || half && (r != Reduced{4001, 3001, len(dense)}) {
			t.Errorf("%s: %v %+v", at.Name, half, r)
		}
	}
}
