package app

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"retrostage/reports/archive"
	"retrostage/reports/like"
	"retrostage/reports/record"
	"retrostage/reports/store"
	"retrostage/reports/store/office"
)

// jobs is the tablet's store as the workbench uses it (*store.Local). All of it reads
// or writes a disk: it is called beside the toolkit's thread.
type jobs interface {
	Save(j *record.Job, who string) error
	Load(job string) (*record.Job, error)
	State(job string) (store.State, error)
	Jobs() ([]string, error)
	NewJob() (*record.Job, error)
	List(search string, archived bool) ([]store.Listed, error)
	Decide(job, who, decision, remarks string) error
	Attach(job, who, name, of string, in io.Reader) (store.Attachment, error)
	Picture(job string, a store.Attachment) ([]byte, error)
	Archive(job, who, reason string) error
	Unarchive(job, who string) error
	Back(job, who string, again bool) (store.Act, error)
	History(job string, key record.Key) ([]store.Line, error)
	Exchange(dir string) (store.Exchanged, error)
	ExchangeWith(ctx context.Context, p store.Peer) (store.Exchanged, error)
	TakeFiles(who string) (store.FromFiles, error)
	Writable() error
	TakeOver() error
	Close() error
}

// jobStore keeps the job at hand: with the others as events, in the file it was
// opened from, or nowhere (pictures on paper).
type jobStore struct {
	jobs jobs
	file *fileKeeper
	dir  string
}

func (k jobStore) save(j *record.Job, who string) error {
	switch {
	case k.file != nil:
		return k.file.save(j)
	case k.jobs != nil:
		return k.jobs.Save(j, who)
	}
	return errors.New("there is no folder to keep it in")
}

// fileKeeper keeps one job in a file of its own, and writes over nobody's change.
type fileKeeper struct {
	path string

	mu  sync.Mutex
	was []byte // sum of what was read or written here; nil: there was no file
}

func (f *fileKeeper) save(j *record.Job) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	is, err := sumOf(f.path)
	if err != nil {
		return err
	}
	if !bytes.Equal(is, f.was) {
		return fmt.Errorf("%s was changed elsewhere since it was opened here, and is left as it is", f.path)
	}
	if err := archive.WriteJob(f.path, j); err != nil {
		return err
	}
	f.was, err = sumOf(f.path)
	return err
}

func sumOf(path string) ([]byte, error) {
	b, err := archive.Read(path, record.MaxFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	s := sha256.Sum256(b)
	return s[:], err
}

// opening is a job that comes to the bench, with what is said of it.
type opening struct {
	keep     jobStore
	job      *record.Job
	at       time.Time               // when it was last saved; zero: never
	fresh    bool                    // it holds something and is not kept yet
	archived string                  // why it was put away
	apart    map[record.Key][]string // fields typed on two tablets apart
	readOnly error                   // why nothing can be entered
	none     bool                    // no job was kept
	warn     string                  // what is amiss
	notice   string                  // what is not
	photos   []store.Attachment
}

// open finds the job to begin with: the file named, else the one changed last,
// else a new one. A file that cannot be read is an error that leaves it as it is.
func open(path, dir, who string) (o opening, err error) {
	if path != "" {
		return openFile(path)
	}
	if dir == "" {
		if dir, err = archive.Dir(); err != nil {
			return o, err
		}
	}
	l, err := store.Open(dir)
	if err != nil {
		return o, err
	}
	o, err = first(jobStore{jobs: l, dir: dir}, who)
	if err != nil {
		l.Close()
		return o, err
	}
	if l.Note != "" {
		o.warn = l.Note + " " + o.warn
	}
	return o, nil
}

func openFile(path string) (o opening, err error) {
	f := &fileKeeper{path: path}
	o.keep = jobStore{file: f, dir: filepath.Dir(path)}
	if f.was, err = sumOf(path); err != nil {
		return o, err
	}
	o.job, err = archive.ReadJob(path)
	if errors.Is(err, fs.ErrNotExist) {
		return o, fmt.Errorf("there is no job file %s", path)
	}
	if s, err := os.Stat(path); err == nil {
		o.at = s.ModTime()
	}
	return o, err
}

// first takes over the files of earlier versions and finds the job to begin with.
func first(k jobStore, who string) (o opening, err error) {
	from, err := k.jobs.TakeFiles(who)
	if err != nil {
		return o, err
	}
	ids, err := k.jobs.Jobs()
	if err != nil {
		return o, err
	}
	for _, id := range ids {
		s, err := k.jobs.State(id)
		if err == nil && s.Archived {
			continue
		}
		if o, err = k.load(id); err == nil {
			break
		}
	}
	if o.job == nil {
		if o, err = k.begin(); err != nil {
			return o, err
		}
		o.none = len(ids) == 0
	}
	if len(from.Damaged)+len(from.Changed) > 0 {
		o.warn = from.String() + " " + o.warn
	} else {
		o.notice = from.String()
	}
	return o, nil
}

// load opens a job of the store.
func (k jobStore) load(id string) (o opening, err error) {
	o.keep = k
	if o.job, err = k.jobs.Load(id); err != nil {
		return o, err
	}
	s, err := k.jobs.State(id)
	if err != nil {
		return o, err
	}
	o.at, o.readOnly, o.archived, o.photos = s.Last.When, k.jobs.Writable(), s.Reason, s.Attachments
	if o.apart = s.Apart(); len(o.apart) > 0 {
		var labels []string
		for key := range o.apart {
			labels = append(labels, strings.ToLower(key.Label()))
		}
		slices.Sort(labels)
		o.warn = "Typed apart on two tablets, to be decided: " + strings.Join(labels, ", ") + ". "
	}
	switch {
	case s.Discarded && s.Sealed > 0:
		o.warn += fmt.Sprintf("%d entries about people were discarded with their key; a signature over them cannot be told from a changed one. ", s.Sealed)
	case s.Sealed > 0:
		o.warn += fmt.Sprintf("%d entries cannot be read here yet: their key has not come; exchange once more. ", s.Sealed)
	}
	if n := len(s.Aside); n > 0 {
		o.warn += fmt.Sprintf("%d events of this job cannot be read or make no sense; they are kept and not shown. The first: %s", n, s.Aside[0].Reason)
	}
	return o, nil
}

// begin is a new job, which is kept from its first entry on.
func (k jobStore) begin() (o opening, err error) {
	o.keep, o.readOnly = k, k.jobs.Writable()
	o.job, err = k.jobs.NewJob()
	return o, err
}

// beginLike is a new job with what it may take from an earlier one.
func (k jobStore) beginLike(from *record.Job) (o opening, err error) {
	if o, err = k.begin(); err != nil {
		return o, err
	}
	o.fresh = true
	o.notice = "Taken from job " + from.ID + ": each group waits to be compared with what is here."
	return o, like.Begin(o.job, from)
}

// patience is how long an exchange with an office may take before it is broken off; what
// was done until then is done.
const patience = 2 * time.Minute

// exchange brings the jobs up to date with a shared folder or an office.
func (k jobStore) exchange(with string) (store.Exchanged, error) {
	if !office.Is(with) {
		return k.jobs.Exchange(with)
	}
	ctx, stop := context.WithTimeout(context.Background(), patience)
	defer stop()
	o, err := office.Open(ctx, with)
	if err != nil {
		return store.Exchanged{}, err
	}
	defer o.Close(ctx)
	return k.jobs.ExchangeWith(ctx, o)
}
