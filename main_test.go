package main

import (
	"bytes"
	"os"
	"testing"

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
