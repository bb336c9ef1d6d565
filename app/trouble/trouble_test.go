package trouble

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"step opened: wiring": "step opened: wiring",
		"open /home/someone/jobs/R 2041 Elm Street.xlsx: gone": "open <path>",
		`open C:\Users\Some One\jobs\a b.json: no such file`:   "open <path>",
		`cannot read "Elm Street 12"`:                          "cannot read <text>",
		"owner R-2041 asked at a@b.example":                    "owner <reference> asked at <address>",
		"serial 1234567, 12 minutes":                           "serial <number>, 12 minutes",
		"postgres://t1@HOST/jobs failed":                       "<address> failed",
		"one\ntwo":                                             "one | two",
	} {
		if got := Clean(in); got != want {
			t.Errorf("%q became %q, not %q", in, got, want)
		}
	}
}

// A process that breaks down leaves a report; the next start finds it once, one that
// ended well leaves nothing.
func TestBreakdownLeavesAReport(t *testing.T) {
	if dir := os.Getenv("TROUBLE_DIR"); dir != "" {
		k, _, err := Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		switch os.Getenv("TROUBLE_HOW") {
		case "panic":
			done := make(chan bool)
			go func() { m := map[string]map[string]int{}; m["a"]["b"] = 1; close(done) }()
			<-done
		case "kill":
			p, _ := os.FindProcess(os.Getpid())
			p.Kill()
			time.Sleep(time.Minute)
		}
		k.Close()
		return
	}
	for how, want := range map[string]bool{"panic": true, "kill": false, "well": false} {
		dir := t.TempDir()
		c := exec.Command(os.Args[0], "-test.run", "^TestBreakdownLeavesAReport$")
		c.Env = append(os.Environ(), "TROUBLE_DIR="+dir, "TROUBLE_HOW="+how)
		c.Run() // its status is what is tried
		k, report, err := Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		if (report != "") != want {
			t.Errorf("%s: report %q", how, report)
		}
		if want {
			b, err := os.ReadFile(report)
			if err != nil || !strings.Contains(string(b), "assignment to entry in nil map") || !strings.Contains(string(b), "retrostage") {
				t.Errorf("%s: the report says %q, %v", how, b, err)
			}
		}
		k.Close()
		if _, again, err := Open(dir); err != nil || again != "" {
			t.Errorf("%s: told a second time: %q, %v", how, again, err)
		}
		left, _ := filepath.Glob(filepath.Join(dir, "running-*"))
		if how == "well" && len(left) != 1 { // the one just opened
			t.Errorf("left behind: %v", left)
		}
	}
}

func TestLogIsBounded(t *testing.T) {
	dir := t.TempDir()
	k, _, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	for range 3000 {
		k.Say(strings.Repeat("word ", 60))
	}
	list, _ := os.ReadDir(dir)
	size := int64(0)
	for _, e := range list {
		if i, err := e.Info(); err == nil {
			size += i.Size()
		}
	}
	if size > 2*full+4096 {
		t.Errorf("%d bytes of log", size)
	}
}

// Nothing is said where nothing can be kept.
func TestWithoutAFolder(t *testing.T) {
	var k *Keeper
	k.Say("word")
	k.Close()
	if k.Dir() != "" {
		t.Error("a folder")
	}
}
