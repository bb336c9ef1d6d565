package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"retrostage/reports/archive"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/workbook"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"retrostage": func() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// Each script under testdata/script shows a terminal session.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			// Never a window: the scripts are about the verbs without one.
			e.Setenv("DISPLAY", "")
			e.Setenv("WAYLAND_DISPLAY", "")
			if g := os.Getenv("GOGC"); g != "" {
				e.Setenv("GOGC", g)
			}
			return nil
		},
	})
}

// A signed workbook is never written over.
func TestExportKeepsWhatWasSigned(t *testing.T) {
	dir := t.TempDir()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	first, err := export(j, dir, workbook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if again, err := export(j, dir, workbook.Options{}); err != nil || again != first {
		t.Errorf("an untouched workbook became %s, %v", again, err)
	}
	err = exportTo(j, first, workbook.Options{Sign: workbook.Signature{Name: "S-1", Date: "2026-08-20", Decision: "accept"}})
	if err != nil {
		t.Fatal(err)
	}
	signed, err := os.ReadFile(first)
	if err != nil {
		t.Fatal(err)
	}
	second, err := export(j, dir, workbook.Options{})
	if err != nil || second == first {
		t.Fatalf("the signed workbook was written over: %s, %v", second, err)
	}
	if b, err := os.ReadFile(first); err != nil || !bytes.Equal(b, signed) {
		t.Error("the signed workbook changed")
	}
}

// The exit status of plan tells a proof that holds from one that fails, from a
// refusal, and from a line that was not understood.
func TestPlanStatus(t *testing.T) {
	for _, c := range []struct {
		args []string
		want int
	}{
		{[]string{"plan", "two-contactor-conventional"}, 0},
		{[]string{"plan", "--no-such-flag"}, 2},
		{[]string{"plan", "no-such-unit"}, 1},
		{[]string{"plan", "wiring/planner/testdata/refused/single-stage.json"}, 5},
	} {
		var out, errs bytes.Buffer
		if got := run(c.args, &out, &errs); got != c.want {
			t.Errorf("%v: status %d, want %d: %s", c.args, got, c.want, errs.String())
		}
	}
}

// The page that the verb writes is noted in the job's file, and the owner's yes is held to
// it: one that was given before is to be given anew. A file that changed meanwhile is left.
func TestConsentIsNotedInTheFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.job.json")
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 8, 15, 9, 0, 0, 0, time.UTC)
	set := func(k record.Key, v string) {
		t.Helper()
		at = at.Add(time.Minute)
		if err := j.Set(record.Entry{Key: k, Value: v, Time: at, By: "T-07", Again: true}); err != nil {
			t.Fatal(err)
		}
		if err := archive.WriteJob(path, j); err != nil {
			t.Fatal(err)
		}
	}
	write := func() string {
		t.Helper()
		var out, said bytes.Buffer
		if code := run([]string{"consent", path, "-o", filepath.Join(dir, "page.pdf"), "--force"}, &out, &said); code != 0 {
			t.Fatalf("exit %d: %s", code, said.String())
		}
		if j, err = archive.ReadJob(path); err != nil {
			t.Fatal(err)
		}
		return said.String()
	}
	problem := func() string {
		t.Helper()
		r, err := assess.Run(j)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range r.Problems {
			if p.Key == record.ConsentSigned {
				return p.Text
			}
		}
		return ""
	}
	set(record.ConsentSigned, record.Yes)
	if said := write(); said != "" {
		t.Fatalf("said %q", said)
	}
	if _, ok := j.Entry(record.ConsentPage); !ok {
		t.Fatal("the page is not noted")
	}
	if p := problem(); !strings.Contains(p, "before the page") {
		t.Errorf("yes before the page: %q", p)
	}
	set(record.ConsentSigned, record.Yes)
	if p := problem(); p != "" {
		t.Errorf("yes after the page: %q", p)
	}
	set(record.ConsentCeiling, "9999")
	if p := problem(); !strings.Contains(p, "changed since") {
		t.Errorf("another ceiling after the page: %q", p)
	}
	// A page that could not be written is not noted.
	n := len(j.Entries)
	var out, said bytes.Buffer
	if code := run([]string{"consent", path, "-o", filepath.Join(dir, "nowhere", "page.pdf")}, &out, &said); code == 0 {
		t.Error("written into no folder")
	}
	if j, err = archive.ReadJob(path); err != nil || len(j.Entries) != n {
		t.Errorf("noted without a page: %d entries of %d, %v", len(j.Entries), n, err)
	}
	// One that somebody changed while the page was made.
	old := assess.New(j.Clone())
	set(record.RunningNote, "read again")
	n = len(j.Entries)
	if err := noteConsent(path, old, at); err == nil {
		t.Error("noted in a file that had changed")
	}
	if j, err = archive.ReadJob(path); err != nil || len(j.Entries) != n {
		t.Errorf("%d entries of %d, %v", len(j.Entries), n, err)
	}
}
