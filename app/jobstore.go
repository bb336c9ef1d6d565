package app

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"retrostage/reports/archive"
	"retrostage/reports/record"
)

// jobStore keeps the job at hand: in the folder of jobs, in the file it was
// opened from, or nowhere (pictures on paper).
type jobStore struct {
	store *archive.Store
	path  string // a job opened by its file is kept in that file
	dir   string
}

func (k jobStore) save(j *record.Job) error {
	switch {
	case k.path != "":
		return archive.WriteJob(k.path, j)
	case k.store != nil:
		return k.store.Save(j)
	}
	return errors.New("there is no folder to keep it in")
}

// saved is when the job was last written, the zero time if it never was.
func (k jobStore) saved(j *record.Job) time.Time {
	path := k.path
	if path == "" && k.store != nil {
		path, _ = k.store.Path(j.ID)
	}
	if s, err := os.Stat(path); err == nil {
		return s.ModTime()
	}
	return time.Time{}
}

// open finds the job to begin with: the file named, else the one changed last,
// else a new one. A file that cannot be read is an error that leaves it as it
// is; a damaged job in the folder is passed over and named in the note.
func open(path, dir string) (k jobStore, j *record.Job, note string, err error) {
	if path != "" {
		k = jobStore{path: path, dir: filepath.Dir(path)}
		j, err = archive.ReadJob(path)
		if errors.Is(err, fs.ErrNotExist) {
			return k, nil, "", fmt.Errorf("there is no job file %s", path)
		}
		return k, j, "", err
	}
	if dir == "" {
		if dir, err = archive.Dir(); err != nil {
			return k, nil, "", err
		}
	}
	store, err := archive.Open(dir)
	if err != nil {
		return k, nil, "", err
	}
	k = jobStore{store: store, dir: dir}
	list, err := store.List()
	if err != nil {
		return k, nil, "", err
	}
	for _, l := range list {
		if l.Err != nil {
			note = fmt.Sprintf("The file of job %s cannot be read and was left alone: %v", l.ID, l.Err)
			continue
		}
		if j, err = store.Load(l.ID); err == nil {
			return k, j, note, nil
		}
	}
	return k, record.New(freeID(store, time.Now())), note, nil
}

// freeID is a name for a new job: the day and a number.
func freeID(s *archive.Store, now time.Time) string {
	for n := 1; ; n++ {
		id := fmt.Sprintf("job-%s-%d", now.Format("2006-01-02"), n)
		if s == nil || !s.Exists(id) {
			return id
		}
	}
}
