package store

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"retrostage/reports/record"
)

// Archive puts a job away, with the reason.
func (l *Local) Archive(job, who, reason string) error {
	if reason = strings.TrimSpace(reason); reason == "" {
		return errors.New("say why the job is archived")
	}
	return l.act(job, who, change{kind: Archived, p: payload{Reason: reason}})
}

// Unarchive brings it back.
func (l *Local) Unarchive(job, who string) error {
	return l.act(job, who, change{kind: Unarchived})
}

// act writes what was done to a job that is there. What was loaded goes on from it.
func (l *Local) act(job, who string, c change) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.takeOver(); err != nil {
		return err
	}
	s, err := l.state(job)
	if err != nil {
		return err
	}
	if s.Events == 0 {
		return fmt.Errorf("%s: %w", job, ErrNone)
	}
	if err := l.appendChanges(job, who, []change{c}, s.base(nil)); err != nil {
		return err
	}
	if c.kind == Undo {
		delete(l.bases, job) // it has to be loaded anew
	}
	return nil
}

// Listed is a job in the list.
type Listed struct {
	ID      string    `json:"id"`
	Owner   string    `json:"owner"`
	Serial  string    `json:"serial"`
	Begun   time.Time `json:"begun"`
	Changed time.Time `json:"changed"` // by the tablet's clock; the list is in event order
	State   string    `json:"state"`
	Events  int       `json:"events"`
	Aside   int       `json:"set_aside"`
	Demo    bool      `json:"demo,omitempty"`

	Archived bool   `json:"archived,omitempty"`
	FollowUp string `json:"follow_up,omitempty"` // what another visit is to do
	Due      string `json:"due,omitempty"`       // by when, a date
	Overdue  bool   `json:"overdue,omitempty"`   // it was due before today
}

// List are the jobs in which every word of the search is found, the one that an event
// came to last first. Archived ones only where they are asked for.
func (l *Local) List(search string, archived bool) ([]Listed, error) {
	l.mu.Lock()
	heads, err := l.jobHeads()
	l.mu.Unlock()
	if err != nil {
		return nil, err
	}
	list := []Listed{}
	for _, h := range heads {
		if h, err = l.headOf(h); err != nil {
			return list, err
		}
		h.of.Overdue = h.of.Due != "" && h.of.Due < l.now().Format(time.DateOnly)
		if h.of.Archived && !archived || !h.of.matches(search) {
			continue
		}
		list = append(list, h.of)
	}
	return list, nil
}

// headOf is what the list says of a job, from the last time where nothing happened to
// it since. Between two jobs others may write.
func (l *Local) headOf(h listedJob) (listedJob, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if was, ok := l.heads[h.job]; ok && was.n == h.n && was.last == h.last {
		return was, nil
	}
	var err error
	if h.of, err = l.listed(h.job); err == nil {
		l.heads[h.job] = h
	}
	return h, err
}

// listedJob is a job in the list, as it was after so many events, the last in its place.
type listedJob struct {
	job     string
	n, last int64
	of      Listed
}

func (l *Local) jobHeads() (heads []listedJob, err error) {
	rows, err := l.db.Query("SELECT job, count(*), max(seq) FROM events GROUP BY job ORDER BY max(ord) DESC, job")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var h listedJob
		if err := rows.Scan(&h.job, &h.n, &h.last); err != nil {
			return heads, err
		}
		heads = append(heads, h)
	}
	return heads, rows.Err()
}

func (n Listed) matches(search string) bool {
	due := ""
	if n.Due != "" {
		due = "due " + n.Due
	}
	if n.Overdue {
		due = "overdue, " + due
	}
	in := strings.ToLower(strings.Join([]string{due, n.FollowUp, n.ID, n.Owner, n.Serial, n.Begun.Format(time.DateOnly), n.Changed.Format(time.DateOnly), n.State}, "\n"))
	for _, w := range strings.Fields(strings.ToLower(search)) {
		if !strings.Contains(in, w) {
			return false
		}
	}
	return true
}

func (l *Local) listed(id string) (Listed, error) {
	kept := l.states[id] != nil
	s, err := l.state(id)
	if err != nil {
		return Listed{}, err
	}
	if !kept {
		delete(l.states, id) // a list is no reason to hold every job
	}
	n := Listed{ID: id, Owner: s.Job.Text(record.OwnerRef), Serial: s.Job.Text(record.OldUnitSerial), Begun: s.Last.When, Changed: s.Last.When,
		State: "open", Events: s.Events, Aside: len(s.Aside), Demo: s.Job.Demo}
	n.FollowUp, n.Due = s.Job.Text(record.FollowUp), s.Job.Text(record.FollowUpDue)
	if !s.begun.IsZero() {
		n.Begun = s.begun
	}
	if sig, ok := s.Job.Signed(); ok {
		if n.State = "signed"; !sig.Stands {
			n.State = "changed since signing"
		}
	}
	if len(s.Aside) > 0 && n.State == "signed" {
		n.State = "open" // what was signed cannot be told
	}
	if n.Archived = s.Archived; s.Archived {
		n.State = "archived: " + s.Reason
	}
	return n, nil
}

func amount(value, unit string) string { return strings.TrimSpace(value + " " + unit) }
