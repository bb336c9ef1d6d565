package archive

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

func job(t *testing.T, id, ref string) *record.Job {
	t.Helper()
	j := record.New(id)
	if err := j.Set(record.Entry{Key: record.OwnerRef, Value: ref, Time: time.Unix(1.8e9, 0).UTC()}); err != nil {
		t.Fatal(err)
	}
	return j
}

func TestSaveLoadList(t *testing.T) {
	s, err := Open(filepath.Join(t.TempDir(), "deep", "jobs"))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Save(job(t, "a", "first")); err != nil {
		t.Fatal(err)
	}
	if err := s.Save(job(t, "a", "second")); err != nil {
		t.Fatal(err)
	}
	j, err := s.Load("a")
	if err != nil || j.Text(record.OwnerRef) != "second" {
		t.Fatalf("%v %v", j, err)
	}
	bad, _ := s.Path("bad")
	if err := os.WriteFile(bad, []byte("{\n\"kind\": 3}"), 0o600); err != nil {
		t.Fatal(err)
	}
	ls, err := s.List()
	if err != nil || len(ls) != 2 {
		t.Fatalf("%v %v", ls, err)
	}
	for _, l := range ls {
		if (l.Err != nil) != (l.ID == "bad") {
			t.Errorf("%s: %v", l.ID, l.Err)
		}
	}
	es, _ := os.ReadDir(s.dir)
	for _, e := range es {
		if strings.HasPrefix(e.Name(), ".") {
			t.Errorf("left behind: %s", e.Name())
		}
	}
}

func TestFailedWriteLeavesTheOldFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "f")
	if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	boom := errors.New("boom")
	err := Replace(path, func(w io.Writer) error { io.WriteString(w, "half"); return boom })
	if !errors.Is(err, boom) {
		t.Fatalf("error %v", err)
	}
	if b, _ := os.ReadFile(path); string(b) != "old" {
		t.Fatalf("the file became %q", b)
	}
}

func TestReplaceRefusesAFolder(t *testing.T) {
	err := Replace(t.TempDir(), func(io.Writer) error { t.Error("written all the same"); return nil })
	if err == nil || !strings.Contains(err.Error(), "it is a folder") {
		t.Fatalf("error %v", err)
	}
}

func TestNoPathOutside(t *testing.T) {
	s, err := Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"", "..", "../x", "a/b", `a\b`, "/etc/x", ".hidden", "a\x00b"} {
		if p, err := s.Path(id); err == nil {
			t.Errorf("%q became %s", id, p)
		}
	}
}

func TestUnwritableFolder(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(filepath.Join(file, "jobs")); err == nil || !strings.Contains(err.Error(), "jobs cannot be kept in") {
		t.Fatalf("error %v", err)
	}
}
