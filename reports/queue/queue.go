// Package queue is what waits for whom: the supervisor's signed jobs and the returned
// ones, the clerk's complete ones and what the others lack. It reads a store that the
// office's events came to; it decides nothing.
package queue

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/store"
)

// Stand is where a job is between technician and supervisor.
type Stand string

// The stands. A signature that something was changed under is none.
const (
	Unsigned Stand = "not signed"
	Waiting  Stand = "waiting for the supervisor"
	Returned Stand = "returned"
	Accepted Stand = "accepted"
)

// Row is one job.
type Row struct {
	Job      string   `json:"job"`
	Owner    string   `json:"owner,omitempty"`
	Demo     bool     `json:"demo,omitempty"`
	Stand    Stand    `json:"stand"`
	Since    string   `json:"since,omitempty"` // day of the signature, or of the decision
	By       string   `json:"by,omitempty"`    // whose that is
	Remarks  string   `json:"remarks,omitempty"`
	Complete bool     `json:"complete"` // nothing is missing and the supervisor accepted it
	Missing  []string `json:"missing,omitempty"`
	Photos   int      `json:"photos"`
}

// Store is what jobs are read from.
type Store interface {
	Jobs() ([]string, error)
	State(job string) (store.State, error)
}

// Of lists the jobs that are not put away: the returned first, then what waits for the
// supervisor, what is not signed, and the accepted; each the longest untouched first.
func Of(from Store) ([]Row, error) {
	ids, err := from.Jobs()
	if err != nil {
		return nil, err
	}
	rows := []Row{}
	for _, id := range slices.Backward(ids) {
		s, err := from.State(id)
		if err != nil {
			return rows, err
		}
		if s.Archived {
			continue
		}
		r, err := row(s)
		if err != nil {
			return rows, fmt.Errorf("%s: %w", id, err)
		}
		rows = append(rows, r)
	}
	order := []Stand{Returned, Waiting, Unsigned, Accepted}
	slices.SortStableFunc(rows, func(a, b Row) int { return slices.Index(order, a.Stand) - slices.Index(order, b.Stand) })
	return rows, nil
}

func row(s store.State) (r Row, err error) {
	r = Row{Job: s.Job.ID, Owner: s.Job.Text(record.OwnerRef), Demo: s.Job.Demo, Stand: Unsigned, Photos: len(s.Attachments)}
	sig, signed := s.Job.Signed()
	if signed && sig.Stands {
		r.Stand, r.Since, r.By = Waiting, day(sig.Time), sig.Value
	}
	if v := s.Review; v != nil && v.Decision == store.Return && !(r.Stand == Waiting && later(s, v)) {
		r.Stand, r.Since, r.By, r.Remarks = Returned, day(v.When), v.Who, v.Remarks
	} else if v != nil && r.Stand == Waiting && v.Decision == store.Accept && v.Record == s.Job.Text(record.SignedRecord) {
		r.Stand, r.Since, r.By, r.Remarks = Accepted, day(v.When), v.Who, v.Remarks
	}
	report, err := assess.Run(s.Job)
	if err != nil {
		return r, err
	}
	for _, m := range report.Against {
		if m.Stand != assess.Reservation { // a named person answers for that, and the supervisor accepts it
			r.Missing = append(r.Missing, m.Label)
		}
	}
	for _, st := range report.Steps {
		if st.Step != record.HandOver {
			continue
		}
		for _, m := range st.Left {
			if !slices.Contains(r.Missing, m.Label) {
				r.Missing = append(r.Missing, m.Label)
			}
		}
	}
	lacks := func(when bool, words string) {
		if when {
			r.Missing = append(r.Missing, words)
		}
	}
	lacks(!signed, "the technician's signature")
	lacks(signed && !sig.Stands, "a signature over what was changed since: "+strings.Join(sig.Since, ", "))
	lacks(r.Stand == Waiting, "the supervisor's decision")
	lacks(r.Stand == Returned, "what the supervisor returned it for: "+r.Remarks)
	lacks(len(s.Aside) > 0, fmt.Sprintf("%d events that cannot be read", len(s.Aside)))
	lacks(s.Sealed > 0, fmt.Sprintf("%d entries of which the key is not here", s.Sealed))
	lacks(s.Job.Unconfirmed() > 0, fmt.Sprintf("%d values of an earlier job that were not confirmed", s.Job.Unconfirmed()))
	var apart []string
	for key := range s.Apart() {
		apart = append(apart, key.Label())
	}
	slices.Sort(apart)
	lacks(len(apart) > 0, "a decision on what was typed apart: "+strings.Join(apart, ", "))
	r.Complete = r.Stand == Accepted && len(r.Missing) == 0
	return r, nil
}

// later tells whether what is signed now is another record than the one that was
// returned, so that it waits anew.
func later(s store.State, v *store.Verdict) bool { return v.Record != s.Job.Text(record.SignedRecord) }

func day(t time.Time) string { return t.Format(time.DateOnly) }

// Words are where the job is, since when and by whom.
func (r Row) Words() string {
	w := string(r.Stand)
	if r.Since != "" {
		w += " since " + r.Since + " (" + r.By + ")"
	}
	if r.Remarks != "" {
		w += ": " + r.Remarks
	}
	return w
}

// Lacks is what is missing, no more than most of it by name.
func (r Row) Lacks(most int) string {
	switch n := len(r.Missing); {
	case r.Complete:
		return "complete"
	case n > most:
		return "incomplete: " + strings.Join(r.Missing[:most], ", ") + fmt.Sprintf(" and %d more", n-most)
	}
	return "incomplete: " + strings.Join(r.Missing, ", ")
}
