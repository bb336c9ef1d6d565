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
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"

	"retrostage/reports/record"
)

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

// ReadJob reads a job file from anywhere, refusing one too large to be a job.
func ReadJob(path string) (*record.Job, error) {
	b, err := Read(path, record.MaxFile)
	if err != nil {
		return nil, err
	}
	j, err := record.Decode(b)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return j, nil
}

// Read reads a file that has no more than most bytes. A pipe is not waited for.
func Read(path string, most int64) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is not a file", path)
	case info.Size() > most:
		return nil, fmt.Errorf("%s: it has more than %d bytes", path, most)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(b)) > most { // it grew
		err = fmt.Errorf("%s: it has more than %d bytes", path, most)
	}
	return b, err
}
