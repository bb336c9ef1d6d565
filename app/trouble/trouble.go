// Package trouble keeps what helps to mend the program and nothing of any customer: a log
// of what it did, with names, numbers and paths taken out, and a report when it breaks down.
package trouble

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"retrostage/reports/version"
)

const (
	logName = "retrostage.log"
	full    = 256 << 10 // bytes; then the log becomes the one before, of which one is kept
	running = "running-"
	crash   = "crash-"
)

// Keeper writes into one folder. A nil one does nothing.
type Keeper struct {
	dir string
	now func() time.Time

	mu  sync.Mutex
	log *os.File
	own *os.File // what a breakdown writes into
}

// Open begins the log in a folder, and sees to it that a breakdown leaves a report there.
// It returns the report of an earlier start that broke down and was not told yet, "" for none.
func Open(dir string) (k *Keeper, report string, err error) {
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, "", err
	}
	report = told(dir)
	k = &Keeper{dir: dir, now: time.Now}
	if k.log, err = os.OpenFile(filepath.Join(dir, logName), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o640); err != nil {
		return nil, report, err
	}
	// A name nobody else has: two windows may be open.
	if k.own, err = os.CreateTemp(dir, running+"*.txt"); err != nil {
		k.log.Close()
		return nil, report, err
	}
	fmt.Fprintf(k.own, "%s\n%s, %s/%s, begun %s\n", version.String(), runtime.Version(), runtime.GOOS, runtime.GOARCH, k.now().UTC().Format(time.RFC3339))
	if err := debug.SetCrashOutput(k.own, debug.CrashOptions{}); err != nil {
		k.Close()
		return nil, report, err
	}
	k.Say("begun, " + version.String() + ", " + runtime.GOOS + " " + runtime.GOARCH)
	return k, report, nil
}

var broken = [][]byte{[]byte("\npanic: "), []byte("\nfatal error: "), []byte("\nSIG"), []byte("\ngoroutine "), []byte("\nruntime: ")}

// told finds what earlier starts left: a report gets a name of its own; the rest of one
// that was ended from outside is taken away when it is a week old, for until then its
// program may still run.
func told(dir string) (report string) {
	list, err := os.ReadDir(dir)
	if err != nil {
		return ""
	}
	for _, e := range list {
		if !strings.HasPrefix(e.Name(), running) {
			continue
		}
		path := filepath.Join(dir, e.Name())
		b, err := os.ReadFile(path)
		if err != nil {
			continue
		}
		info, err := e.Info()
		if err != nil {
			continue
		}
		hit := false
		for _, w := range broken {
			hit = hit || bytes.Contains(b, w)
		}
		switch {
		case hit:
			to := filepath.Join(dir, crash+info.ModTime().Format("2006-01-02-150405")+strings.TrimPrefix(strings.TrimSuffix(e.Name(), ".txt"), running)+".txt")
			if os.Rename(path, to) == nil {
				report = to
			}
		case time.Since(info.ModTime()) > 7*24*time.Hour:
			os.Remove(path)
		}
	}
	return report
}

// Close ends the log; nothing broke down.
func (k *Keeper) Close() {
	if k == nil {
		return
	}
	k.Say("ended")
	debug.SetCrashOutput(nil, debug.CrashOptions{})
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.own != nil {
		k.own.Close()
		os.Remove(k.own.Name())
		k.own = nil
	}
	if k.log != nil {
		k.log.Close()
		k.log = nil
	}
}

// Dir is where log and reports are, "" where there are none.
func (k *Keeper) Dir() string {
	if k == nil {
		return ""
	}
	return k.dir
}

// Say writes a line into the log, cleaned.
func (k *Keeper) Say(text string) {
	if k == nil {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.log == nil {
		return
	}
	if i, err := k.log.Stat(); err == nil && i.Size() > full {
		path := k.log.Name()
		k.log.Close()
		os.Rename(path, path+".before") // else it goes on in the same file
		f, err := os.OpenFile(path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o640)
		if err != nil {
			k.log = nil
			return
		}
		k.log = f
	}
	fmt.Fprintf(k.log, "%s %s\n", k.now().UTC().Format(time.RFC3339), Clean(text))
}

// Writer passes on what the toolkit logs, and keeps it cleaned.
func (k *Keeper) Writer(w io.Writer) io.Writer { return tee{k, w} }

type tee struct {
	k *Keeper
	w io.Writer
}

func (t tee) Write(b []byte) (int, error) {
	t.k.Say(strings.TrimSpace(string(b)))
	return t.w.Write(b)
}

var (
	quoted = regexp.MustCompile(`"[^"]*"|'[^']*'|“[^”]*”`)
	// A path goes on to the end of the line: names of files may hold spaces.
	path   = regexp.MustCompile(`(?:[A-Za-z]:)?[\\/][^\n]*|[a-z]+://[^\n]*`)
	number = regexp.MustCompile(`[0-9]{3,}`)
	ref    = regexp.MustCompile(`\b[A-Z]{1,6}-[0-9A-Za-z-]+`)
	mail   = regexp.MustCompile(`\S+@\S+`)
)

// Clean takes out of a line what may be of a customer: quoted words, paths, references,
// addresses, long numbers.
func Clean(text string) string {
	var out []string
	for _, line := range strings.Split(text, "\n") {
		line = quoted.ReplaceAllString(line, "<text>")
		line = mail.ReplaceAllString(line, "<address>")
		line = ref.ReplaceAllString(line, "<reference>")
		line = path.ReplaceAllString(line, "<path>")
		line = number.ReplaceAllString(line, "<number>")
		out = append(out, strings.TrimSpace(line))
	}
	return strings.Join(out, " | ")
}
