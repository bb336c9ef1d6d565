package main

import (
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"retrostage/reports/archive"
	"retrostage/reports/record"
)

// The office in five lines, as README has them: each is run as it stands there, only that the
// server is one of the test's own, which is local and so needs no certificate, and that the
// logins are those of its machine. A job typed by the reference of the fourth line then goes
// from one tablet to the other.
func TestOfficeInFiveLines(t *testing.T) {
	if testing.Short() {
		t.Skip("short: a server is started")
	}
	bin := ""
	if found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb"); len(found) > 0 {
		bin = filepath.Dir(found[len(found)-1])
	}
	if _, err := exec.LookPath("psql"); err != nil || bin == "" {
		t.Skip("PostgreSQL is not installed (package postgresql): the office is not tried")
	}
	b, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	at := regexp.MustCompile(`(?s)An office in five lines[^\n]*\n\n((?:    [^\n]+\n)+)`).FindSubmatch(b)
	if at == nil {
		t.Fatal("README has no office in five lines")
	}
	lines := strings.Split(strings.TrimSpace(string(at[1])), "\n")
	if len(lines) != 5 {
		t.Fatalf("%d lines", len(lines))
	}

	dir, err := os.MkdirTemp("", "lines-*")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	run := func(name string, args ...string) {
		t.Helper()
		c := exec.Command(filepath.Join(bin, name), args...)
		if os.Getuid() == 0 { // the server does not run as root
			c = exec.Command("runuser", append([]string{"-u", "postgres", "--", filepath.Join(bin, name)}, args...)...)
		}
		c.Dir = dir
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", name, err, out)
		}
	}
	if os.Getuid() == 0 {
		u, err := user.Lookup("postgres")
		if err != nil {
			t.Fatal(err)
		}
		uid, _ := strconv.Atoi(u.Uid)
		gid, _ := strconv.Atoi(u.Gid)
		if err := os.Chown(dir, uid, gid); err != nil {
			t.Fatal(err)
		}
	}
	data := filepath.Join(dir, "data")
	run("initdb", "-D", data, "-A", "trust", "-U", "boss", "--no-sync", "--locale=C.UTF-8", "-E", "UTF8")
	run("pg_ctl", "-D", data, "-l", filepath.Join(dir, "log"), "-w", "-t", "120", "-o", "-k "+dir+" -c listen_addresses='' -c fsync=off", "start")
	t.Cleanup(func() {
		c := exec.Command(filepath.Join(bin, "pg_ctl"), "-D", data, "-m", "immediate", "stop")
		if os.Getuid() == 0 {
			c = exec.Command("runuser", "-u", "postgres", "--", filepath.Join(bin, "pg_ctl"), "-D", data, "-m", "immediate", "stop")
		}
		c.Run()
	})

	program := filepath.Join(t.TempDir(), "retrostage")
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(self, program); err != nil {
		t.Fatal(err)
	}
	home := t.TempDir()
	shell := func(line string) string {
		t.Helper()
		for _, c := range []struct{ of, to string }{{"OWNER@HOST", "boss@"}, {"tech1@HOST", "tech1@"}, {"?sslmode=verify-full", "?host=" + dir}} {
			line = strings.ReplaceAll(line, c.of, c.to)
		}
		c := exec.Command("sh", "-c", line)
		c.Dir = home
		c.Env = append(os.Environ(), "PATH="+filepath.Dir(program)+":"+os.Getenv("PATH"), "PGHOST="+dir, "PGUSER=boss", "HOME="+home, "XDG_DATA_HOME="+filepath.Join(home, "tablet"), "XDG_CONFIG_HOME="+home)
		out, err := c.CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v\n%s", line, err, out)
		}
		return string(out)
	}
	for _, l := range lines[:4] {
		shell(strings.TrimSpace(l))
	}
	j := record.New("job-2026-08-14-1")
	for k, v := range map[record.Key]string{record.OwnerRef: "R-3307", record.OldUnitSerial: "V-20117", record.SignedBy: "T-17"} {
		if err := j.Set(record.Entry{Key: k, Value: v, By: "T-17", Time: time.Date(2026, 8, 14, 10, 0, 0, 0, time.UTC)}); err != nil {
			t.Fatal(err)
		}
	}
	if err := archive.WriteJob(filepath.Join(home, "made.job.json"), j); err != nil {
		t.Fatal(err)
	}
	shell("retrostage jobs import made.job.json")
	if said := shell(strings.TrimSpace(lines[4])); strings.Contains(said, "refused") || !regexp.MustCompile(`^[1-9][0-9]* events sent`).MatchString(said) {
		t.Errorf("the tablet says %q", said)
	}
	other := strings.Replace(lines[4], "jobs sync", "jobs sync --dir other", 1)
	if said := shell(strings.TrimSpace(other)); !strings.Contains(said, "0 events sent") || strings.Contains(said, " 0 taken") {
		t.Errorf("another tablet says %q", said)
	}
	if here, there := shell("retrostage jobs list"), shell("retrostage jobs list --dir other"); here != there || !strings.Contains(here, "R-3307") {
		t.Errorf("the lists are\n%s\n%s", here, there)
	}
}
