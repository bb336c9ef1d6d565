// Package archive keeps jobs on the tablet so that an entry is durable when
// the finger leaves it.
//
// A save writes the whole job to a temporary file in the same folder, syncs
// it, renames it over the old one and syncs the folder: after a crash or a
// power cut there is either the old file or the new one, never half of one.
// POSIX promises that rename replaces atomically; the two syncs order it on
// disk.
package archive

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sort"
	"strings"
	"time"

	"retrostage/reports/record"
)

const ext = ".job.json"

// Dir is the default folder for jobs: beside a portable program, else below the
// user's data directory, by the rules of the operating system (XDG_DATA_HOME on
// Linux).
func Dir() (string, error) {
	if exe, err := os.Executable(); err == nil {
		if d, ok := portable(exe); ok {
			return d, nil
		}
	}
	if d := os.Getenv("XDG_DATA_HOME"); d != "" && filepath.IsAbs(d) {
		return filepath.Join(d, "retrostage"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("no home folder for jobs: %w", err)
	}
	switch runtime.GOOS {
	case "windows", "darwin":
		d, err := os.UserConfigDir()
		if err != nil {
			return "", fmt.Errorf("no data folder for jobs: %w", err)
		}
		return filepath.Join(d, "retrostage"), nil
	}
	return filepath.Join(home, ".local", "share", "retrostage"), nil
}

// Store is a folder of jobs, one file each, named by the job's id.
type Store struct{ dir string }

// Open makes the folder if need be and checks that it can be written.
func Open(dir string) (*Store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("jobs cannot be kept in %s: %w", dir, err)
	}
	f, err := os.CreateTemp(dir, ".probe-*")
	if err != nil {
		return nil, fmt.Errorf("jobs cannot be kept in %s: %w", dir, err)
	}
	f.Close()
	os.Remove(f.Name())
	return &Store{dir}, nil
}

// Path is where the job called id is kept. The id is checked, so that no job
// can name a file outside the folder.
func (s *Store) Path(id string) (string, error) {
	if err := record.CheckID(id); err != nil {
		return "", err
	}
	return filepath.Join(s.dir, id+ext), nil
}

// Save writes the job durably. On error the earlier file is untouched.
func (s *Store) Save(j *record.Job) error {
	path, err := s.Path(j.ID)
	if err != nil {
		return err
	}
	return WriteJob(path, j)
}

// WriteJob writes j to path by atomic replacement. What could not be read again is
// not written.
func WriteJob(path string, j *record.Job) error {
	b, err := j.Encode()
	if err != nil {
		return err
	}
	if _, err := record.Decode(b); err != nil {
		return fmt.Errorf("%s is not written, for it could not be read again: %w", path, err)
	}
	return Replace(path, func(w io.Writer) error { _, err := w.Write(b); return err })
}

// Replace writes a file by atomic, synced replacement: write fills it, and an
// error from write leaves the earlier file as it was.
func Replace(path string, write func(io.Writer) error) (err error) {
	dir := filepath.Dir(path)
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return fmt.Errorf("cannot write %s: it is a folder", path)
	}
	f, err := os.CreateTemp(dir, ".writing-*")
	if err != nil {
		return fmt.Errorf("cannot write in %s: %w", dir, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err = write(f); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	if err = f.Sync(); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	if err = f.Chmod(0o640 &^ umask()); err != nil && runtime.GOOS != "windows" {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	if err = f.Close(); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	if err = os.Rename(f.Name(), path); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return syncDir(dir)
}

func syncDir(dir string) error {
	if runtime.GOOS == "windows" { // folders cannot be opened for syncing there
		return nil
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}

// Load reads the job called id.
func (s *Store) Load(id string) (*record.Job, error) {
	path, err := s.Path(id)
	if err != nil {
		return nil, err
	}
	return ReadJob(path)
}

// ReadJob reads a job file from anywhere, refusing one too large to be a job.
func ReadJob(path string) (*record.Job, error) {
	// A pipe would be waited for until somebody writes to it.
	if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is not a file", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, record.MaxFile+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	j, err := record.Decode(b)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return j, nil
}

// Listed is one job of the folder: Err tells why a file could not be read.
type Listed struct {
	ID      string
	Changed time.Time
	Err     error
}

// List names the jobs of the folder, the one changed last first. A damaged
// file is listed with its error and left alone.
func (s *Store) List() ([]Listed, error) {
	es, err := os.ReadDir(s.dir)
	if err != nil {
		return nil, err
	}
	var ls []Listed
	for _, e := range es {
		id, ok := strings.CutSuffix(e.Name(), ext)
		if !ok || e.IsDir() {
			continue
		}
		l := Listed{ID: id}
		if info, err := e.Info(); err == nil {
			l.Changed = info.ModTime()
		}
		if _, err := s.Load(id); err != nil {
			l.Err = err
		}
		ls = append(ls, l)
	}
	sort.SliceStable(ls, func(a, b int) bool { return ls[a].Changed.After(ls[b].Changed) })
	return ls, nil
}

// Exists tells whether the folder holds a file for id, readable or not.
func (s *Store) Exists(id string) bool {
	path, err := s.Path(id)
	if err != nil {
		return false
	}
	_, err = os.Stat(path)
	return !errors.Is(err, fs.ErrNotExist)
}
