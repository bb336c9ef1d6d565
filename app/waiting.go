package app

import (
	"sync"

	"retrostage/reports/record"
)

// waiting holds the jobs that are not on disk yet, the newest state of each, so that
// another job on the bench drops none of them.
type waiting struct {
	mu   sync.Mutex
	jobs []unwritten
}

type unwritten struct {
	keep jobStore
	job  *record.Job
	who  string
}

func (u unwritten) is(o unwritten) bool {
	return u.keep == o.keep && u.job.ID == o.job.ID
}

// put adds a state in place of the earlier one of its job.
func (w *waiting) put(u unwritten) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for i, o := range w.jobs {
		if o.is(u) {
			w.jobs[i] = u
			return
		}
	}
	w.jobs = append(w.jobs, u)
}

// list is what waits, the first to have come first.
func (w *waiting) list() []unwritten {
	w.mu.Lock()
	defer w.mu.Unlock()
	return append([]unwritten(nil), w.jobs...)
}

// done takes a state off the list, unless a newer one stands there.
func (w *waiting) done(u unwritten) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for i, o := range w.jobs {
		if o.job == u.job {
			w.jobs = append(w.jobs[:i:i], w.jobs[i+1:]...)
			return
		}
	}
}

// write saves all that waits. What fails waits on; the error is that of the first.
func (w *waiting) write() error {
	var first error
	for _, u := range w.list() {
		if err := u.keep.save(u.job, u.who); err != nil {
			if first == nil {
				first = err
			}
			continue
		}
		w.done(u)
	}
	return first
}

// of is the state of a job that waits; nil where none does.
func (w *waiting) of(k jobStore, id string) *record.Job {
	for _, u := range w.list() {
		if u.keep == k && u.job.ID == id {
			return u.job.Clone()
		}
	}
	return nil
}
