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

func TestWriteAndRead(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.job.json")
	for _, ref := range []string{"first", "second"} {
		if err := WriteJob(path, job(t, "a", ref)); err != nil {
			t.Fatal(err)
		}
	}
	j, err := ReadJob(path)
	if err != nil || j.Text(record.OwnerRef) != "second" {
		t.Fatalf("%v %v", j, err)
	}
	bad := filepath.Join(dir, "bad.job.json")
	if err := os.WriteFile(bad, []byte("{\n\"kind\": 3}"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := ReadJob(bad); err == nil || !strings.Contains(err.Error(), bad) {
		t.Errorf("a damaged file: %v", err)
	}
	es, _ := os.ReadDir(dir)
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

// No job can name a file outside its folder.
func TestNoPathOutside(t *testing.T) {
	for _, id := range []string{"", "..", "../x", "a/b", `a\b`, "/etc/x", ".hidden", "a\x00b"} {
		if err := record.CheckID(id); err == nil {
			t.Errorf("%q is an id", id)
		}
	}
}

func TestUnwritableFolder(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := WriteJob(filepath.Join(file, "a.job.json"), job(t, "a", "x")); err == nil || !strings.Contains(err.Error(), "cannot write in") {
		t.Fatalf("error %v", err)
	}
}
