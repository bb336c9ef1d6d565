package store

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"retrostage/reports/record"
)

// A disk of a megabyte that fills up, by the store itself and by somebody else: the
// message says so, what was acknowledged is there, nothing lies about, and work goes
// on when there is room again.
func TestSmallDisk(t *testing.T) {
	disk := t.TempDir()
	if err := syscall.Mount("none", disk, "tmpfs", 0, "size=1m"); err != nil {
		t.Skipf("no disk of a megabyte can be made here (%v): TestDiskFull and TestWritesFail stand alone", err)
	}
	defer syscall.Unmount(disk, syscall.MNT_DETACH)
	filler := filepath.Join(disk, "somebody-elses")
	must(t, os.WriteFile(filler, make([]byte, 400<<10), 0o600))
	dir := filepath.Join(disk, "jobs")
	l := opened(t, dir)
	j := record.New("job-1")
	saved, err := fillUp(l, j)
	if err == nil || !strings.Contains(err.Error(), "full") {
		t.Fatalf("after %d entries: %v", saved, err)
	}
	t.Logf("%d entries, then: %v", saved, err)
	if err := l.Close(); err == nil {
		t.Error("a copy of the day was kept on a full disk")
	}
	left, _ := filepath.Glob(filepath.Join(dir, copies, "*"))
	hidden, _ := filepath.Glob(filepath.Join(dir, copies, ".*"))
	if len(left)+len(hidden) > 0 {
		t.Errorf("left behind: %v %v", left, hidden)
	}
	must(t, os.Remove(filler))
	l = opened(t, dir)
	got, err := l.Load("job-1")
	must(t, err)
	if l.Note != "" || len(got.Entries) != saved {
		t.Errorf("%d of %d entries. %s", len(got.Entries), saved, l.Note)
	}
	must0(got.Set(record.Entry{Key: record.OwnerRef, Value: "R-1", Time: at}))
	must(t, l.Save(got, ""))
	must(t, l.Close())
	if c, _ := filepath.Glob(filepath.Join(dir, copies, "*.db")); len(c) != 1 {
		t.Errorf("with room again there are %d copies", len(c))
	}
}

// fillUp enters notes until one cannot be saved.
func fillUp(l *Local, j *record.Job) (saved int, err error) {
	for i := range 5000 {
		must0(j.Set(record.Entry{Key: record.IntakeNote, Value: fmt.Sprint(i) + strings.Repeat("x", 700), Time: at}))
		if err = l.Save(j, ""); err != nil {
			return saved, err
		}
		saved = len(j.Entries)
	}
	return saved, nil
}

const limitDir = "RETROSTAGE_TEST_LIMITED_DIR"

// A file layer that fails: past a size no file takes another byte, as the system
// refuses it to the process. What cannot be written is an error and changes nothing;
// once it can be written, all of it is.
func TestWritesFail(t *testing.T) {
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), limitDir+"="+t.TempDir())
	out, err := c.CombinedOutput()
	if err != nil || !strings.HasSuffix(strings.TrimSpace(string(out)), "all is there") {
		t.Fatalf("%v\n%s", err, out)
	}
	t.Logf("%s", out)
}

func writeAgainstLimit(dir string) error {
	signal.Ignore(syscall.SIGXFSZ)
	l, err := Open(dir)
	if err != nil {
		return err
	}
	var was syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &was); err != nil {
		return err
	}
	limit := func(n uint64) error {
		return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: n, Max: was.Max})
	}
	if err := limit(300 << 10); err != nil {
		return err
	}
	j := record.New("job-1")
	saved, failed := fillUp(l, j)
	if failed == nil {
		return errors.New("no write failed")
	}
	fmt.Printf("%d entries, then: %v\n", saved, failed)
	for range 3 { // it does not get worse by trying
		if l.Save(j, "") == nil {
			return errors.New("it was called saved")
		}
	}
	if s, err := l.State("job-1"); err != nil || len(s.Job.Entries) != saved {
		return fmt.Errorf("while it fails %d of %d entries are there, %v", len(s.Job.Entries), saved, err)
	}
	if err := limit(was.Cur); err != nil {
		return err
	}
	if err := errors.Join(l.Save(j, ""), l.Close()); err != nil {
		return err
	}
	if l, err = Open(dir); err != nil {
		return err
	}
	defer l.Close()
	s, err := l.State("job-1")
	if err != nil || l.Note != "" || len(s.Job.Entries) != len(j.Entries) {
		return fmt.Errorf("%d of %d entries, %v %s", len(s.Job.Entries), len(j.Entries), err, l.Note)
	}
	fmt.Println("all is there")
	return nil
}

func init() {
	if dir := os.Getenv(limitDir); dir != "" {
		if err := writeAgainstLimit(dir); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		os.Exit(0)
	}
}
