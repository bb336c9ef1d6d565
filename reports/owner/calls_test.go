package owner

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// The setting is one line that can be seen, kept where window and verbs find it; what
// the job says outranks it, and what is given with the call outranks both.
func TestCalls(t *testing.T) {
	dir := t.TempDir()
	if s, err := Calls(dir); s != "" || err != nil {
		t.Errorf("none made: %q %v", s, err)
	}
	if err := SetCalls(dir, "  The office, 555 0100 "); err != nil {
		t.Fatal(err)
	}
	if s, err := Calls(dir); s != "The office, 555 0100" || err != nil {
		t.Errorf("%q %v", s, err)
	}
	for _, bad := range []string{"two\nlines", "back\u202ewards", "\x00", strings.Repeat("x", 201)} {
		if err := SetCalls(dir, bad); err == nil {
			t.Errorf("%q is kept", bad)
		}
	}
	if s, _ := Calls(dir); s != "The office, 555 0100" {
		t.Errorf("after refusals: %q", s)
	}
	if err := os.WriteFile(filepath.Join(dir, callsFile), bytes.Repeat([]byte("x"), 1<<20), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Calls(dir); err == nil {
		t.Error("a megabyte is a line")
	}
	if err := SetCalls(dir, ""); err != nil {
		t.Fatal(err)
	}
	if s, err := Calls(dir); s != "" || err != nil {
		t.Errorf("taken back: %q %v", s, err)
	}
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	rep, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	whom := func(j *record.Job, call, setting string) string {
		for _, p := range words(j, rep, Whom(j, call, setting)) {
			if p.Title == "Whom to call" {
				return strings.Join(p.Lines, " ")
			}
		}
		return "nobody"
	}
	if got := whom(j, "", "the setting"); got != "the setting" {
		t.Errorf("by the setting: %q", got)
	}
	if err := j.Set(record.Entry{Key: record.OwnerCall, Value: "the job"}); err != nil {
		t.Fatal(err)
	}
	if got := whom(j, "", "the setting"); got != "the job" {
		t.Errorf("by the job: %q", got)
	}
	if got := whom(j, "given", "the setting"); got != "given" {
		t.Errorf("given: %q", got)
	}
}
