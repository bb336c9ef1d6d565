//go:build !windows

package app

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"retrostage/reports/archive"
	"retrostage/reports/record"
)

// started is a bench about a job on disk whose nitrogen clock was started at noon.
func started(t *testing.T) (b *Bench, dir string) {
	t.Helper()
	dir = t.TempDir()
	j := filled(t)
	if err := archive.WriteJob(filepath.Join(dir, j.ID+".job.json"), j); err != nil {
		t.Fatal(err)
	}
	b, _ = bench(t, j)
	b.now = func() time.Time { return noon }
	b.Go(stepIndex(record.CloseUp))
	return b, dir
}

// The reading that is taken at the end of a wait ends it, once the goal is reached: a look
// between does not, and a rise that was read for a shorter time does not.
func TestAReadingEndsItsWait(t *testing.T) {
	b, _ := started(t)
	at := noon
	b.now = func() time.Time { return at }
	key := func(name string) {
		t.Helper()
		k := tap(body(t, b, "clocks"), name)
		if k == nil {
			t.Fatalf("no key %s", name)
		}
		k.Do()
	}
	enter := func(k record.Key, text, unit string) {
		t.Helper()
		if err := b.Enter(k, text, unit, ""); err != nil {
			t.Fatal(err)
		}
	}
	key("Start: Nitrogen hold")
	at = noon.Add(9 * time.Minute)
	enter(record.TestP2, "249", "psig")
	if b.job.Text(record.HoldStarted) == "" || b.job.Text(record.TestTime) != "" {
		t.Errorf("a look after 9 minutes ended the hold: %q", b.job.Text(record.TestTime))
	}
	at = noon.Add(31*time.Minute + 50*time.Second)
	enter(record.TestP2, "250", "psig")
	if b.job.Text(record.HoldStarted) != "" || b.job.Text(record.TestTime) != "31" {
		t.Errorf("after 31 min 50 s: started %q, held %q", b.job.Text(record.HoldStarted), b.job.Text(record.TestTime))
	}
	at = noon.Add(40 * time.Minute)
	enter(record.TestP2, "251", "psig") // typed again, the clock does not run
	if b.job.Text(record.TestTime) != "31" {
		t.Errorf("held for %q", b.job.Text(record.TestTime))
	}
	key("Start: pump valved off and stopped")
	at = at.Add(25 * time.Minute)
	enter(record.VacuumRise, "0 280\n4 303", "")
	if b.job.Text(record.DecayStarted) == "" {
		t.Error("a rise of 4 minutes ended the wait")
	}
	at = at.Add(time.Minute)
	enter(record.VacuumRise, "0 280\n20 303\n40 310", "")
	if b.job.Text(record.DecayStarted) == "" {
		t.Error("a rise longer than the clock ran ended the wait")
	}
}

func TestAClockIsSeenOnEveryStepAndStopsIntoItsField(t *testing.T) {
	b, _ := started(t)
	if s, _ := b.status(); strings.Contains(s, "Nitrogen hold") {
		t.Errorf("a clock that was not started runs: %s", s)
	}
	var rang []string
	b.ring = func(what, _ string) { rang = append(rang, what) }
	k := tap(body(t, b, "clocks"), "Start: Nitrogen hold")
	if k == nil {
		t.Fatal("no key that starts the hold's clock")
	}
	k.Do()
	at := noon.Add(7*time.Minute + 5*time.Second)
	b.now = func() time.Time { return at }
	b.tick()
	for i := range record.Steps {
		b.Go(i)
		if s, _ := b.status(); !strings.Contains(s, "Nitrogen hold 7:05 of 15 min") {
			t.Fatalf("%s: %s", record.Steps[i].Step, s)
		}
		if !strings.Contains(b.window.status.Text, "Nitrogen hold 7:05") {
			t.Fatalf("%s: the window says %q", record.Steps[i].Step, b.window.status.Text)
		}
	}
	at = noon.Add(23*time.Minute + 59*time.Second)
	b.tick()
	b.tick()
	if len(rang) != 1 || rang[0] != "Nitrogen hold" {
		t.Errorf("rung: %q", rang)
	}
	if s, _ := b.status(); !strings.Contains(s, "over") {
		t.Errorf("past its goal: %s", s)
	}
	b.Go(stepIndex(record.CloseUp))
	k = tap(body(t, b, "clocks"), "Stop, and enter the time")
	if k == nil {
		t.Fatal("no key that stops it")
	}
	k.Do()
	if got := b.job.Text(record.TestTime); got != "23" {
		t.Errorf("held for %q, of 23 min 59 s", got)
	}
	b.tick()
	if s, _ := b.status(); strings.Contains(s, "Nitrogen hold") || b.job.Text(record.HoldStarted) != "" {
		t.Errorf("it runs on: %s", s)
	}
}

// A clock set back says so and enters no time.
func TestAClockSetBackIsSaid(t *testing.T) {
	b, _ := started(t)
	was := b.job.Text(record.VacuumTime)
	tap(body(t, b, "clocks"), "Start: Isolated vacuum").Do()
	b.now = func() time.Time { return noon.Add(-time.Hour) }
	b.tick()
	if s, _ := b.status(); !strings.Contains(s, "set back") {
		t.Error(s)
	}
	tap(body(t, b, "clocks"), "Stop, and enter the time").Do()
	if got := b.job.Text(record.VacuumTime); got != was {
		t.Errorf("entered %q where nobody knows", got)
	}
}

// The process is killed while a clock runs, without a chance to write: opened again the
// time goes on from when it was started.
func TestAClockSurvivesAKill(t *testing.T) {
	const env = "RETROSTAGE_CLOCK_CHILD"
	if dir := os.Getenv(env); dir != "" {
		o, err := open("", dir, "")
		if err != nil {
			t.Fatal(err)
		}
		b := benchOn(o, true)
		b.now = func() time.Time { return noon }
		b.Go(stepIndex(record.CloseUp))
		tap(body(t, b, "clocks"), "Start: Nitrogen hold").Do()
		syscall.Kill(os.Getpid(), syscall.SIGKILL)
		select {}
	}
	_, dir := started(t)
	c := exec.Command(os.Args[0], "-test.run", "^TestAClockSurvivesAKill$")
	c.Env = append(os.Environ(), env+"="+dir)
	out, err := c.CombinedOutput()
	if err == nil || !strings.Contains(err.Error(), "killed") {
		t.Fatalf("the child was not killed: %v\n%s", err, out)
	}
	b := reopened(t, dir)
	b.now = func() time.Time { return noon.Add(12*time.Minute + 30*time.Second) }
	b.tick()
	if s, _ := b.status(); !strings.Contains(s, "Nitrogen hold 12:30 of 15 min") {
		t.Errorf("opened again: %s", s)
	}
}
