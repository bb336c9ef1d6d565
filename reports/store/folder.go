package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"retrostage/reports/archive"
)

// jobFile is how files of jobs end, which earlier versions kept one a job.
const jobFile = ".job.json"

// FromFiles is what became of the job files in the folder.
type FromFiles struct {
	Taken   int      // jobs taken over now
	Had     int      // files of a job that was here already; left alone
	Damaged []string // files that cannot be taken over, with the reason; left alone
	Changed []string // files that were changed since they were taken over
}

// String says it in whole sentences; "" where there is nothing to say.
func (f FromFiles) String() string {
	var say []string
	if f.Taken > 0 {
		say = append(say, fmt.Sprintf("%s of earlier jobs taken over; the files stay as they are.", files(f.Taken)))
	}
	if f.Had > 0 {
		say = append(say, fmt.Sprintf("%s of jobs that are here already left alone.", files(f.Had)))
	}
	if n := len(f.Damaged); n > 0 {
		say = append(say, fmt.Sprintf("%s cannot be read and left alone: %s.", files(n), few(f.Damaged)))
	}
	if n := len(f.Changed); n > 0 {
		say = append(say, fmt.Sprintf("%s changed elsewhere since taken over, which is not in the jobs here: %s.", files(n), few(f.Changed)))
	}
	return strings.Join(say, " ")
}

func files(n int) string {
	if n == 1 {
		return "1 file"
	}
	return fmt.Sprintf("%d files", n)
}

func few(list []string) string {
	if len(list) > 3 {
		return strings.Join(list[:3], "; ") + fmt.Sprintf("; and %d more", len(list)-3)
	}
	return strings.Join(list, "; ")
}

// TakeFiles takes over the job files in the store's folder, each once. It changes none.
func (l *Local) TakeFiles(who string) (f FromFiles, err error) {
	if l.Writable() != nil {
		return f, nil // the writer does
	}
	es, err := os.ReadDir(l.dir)
	if err != nil {
		return f, err
	}
	for _, e := range es {
		name := e.Name()
		info, err := e.Info()
		if !strings.HasSuffix(name, jobFile) || err != nil || info.IsDir() {
			continue
		}
		is := fmt.Sprint(info.Size(), " ", info.ModTime().UnixNano())
		was, err := l.meta("file:" + name)
		switch {
		case err != nil:
			return f, err
		case was == is:
			continue
		case was != "":
			f.Changed = append(f.Changed, name)
			continue
		}
		j, err := archive.ReadJob(filepath.Join(l.dir, name))
		if err == nil {
			err = l.Import(j, who)
		}
		var failed *writeError
		switch {
		case errors.Is(err, ErrThere):
			f.Had++
		case errors.As(err, &failed): // the disk, not the file: the next start tries again
			return f, err
		case err != nil:
			f.Damaged = append(f.Damaged, fmt.Sprintf("%s (%v)", name, err))
			continue
		default:
			f.Taken++
		}
		if err := l.setMeta("file:"+name, is); err != nil {
			return f, err
		}
	}
	return f, nil
}

func (l *Local) meta(name string) (value string, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	err = l.db.QueryRow("SELECT coalesce((SELECT value FROM meta WHERE name = ?), '')", name).Scan(&value)
	return value, err
}

func (l *Local) setMeta(name, value string) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	_, err := l.db.Exec("INSERT OR REPLACE INTO meta (name, value) VALUES (?, ?)", name, value)
	return err
}

// writeError is that the database could not be written.
type writeError struct {
	path string
	err  error
}

func (e *writeError) Error() string { return fmt.Sprintf("cannot write to %s: %v", e.path, e.err) }
func (e *writeError) Unwrap() error { return e.err }
