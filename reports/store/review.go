package store

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"retrostage/reports/record"
)

// Verdict is a supervisor's decision on what a technician signed.
type Verdict struct {
	Decision string `json:"decision"` // Accept or Return
	Remarks  string `json:"remarks,omitempty"`
	Record   string `json:"record"` // digest of the record that was signed

	Who  string    `json:"-"`
	When time.Time `json:"-"`
}

// Decisions of a supervisor.
const (
	Accept = "accept"
	Return = "return"
)

func (v Verdict) check(e Event) error {
	switch {
	case v.Decision != Accept && v.Decision != Return:
		return fmt.Errorf("%.40q is no decision: %s or %s", v.Decision, Accept, Return)
	case v.Record == "" || len(v.Record) > 64:
		return errors.New("it is of no record")
	case strings.TrimSpace(e.Who) == "":
		return errors.New("a decision has a name beside it")
	case v.Decision == Return && strings.TrimSpace(v.Remarks) == "":
		return errors.New("say why it is returned")
	case len(v.Remarks) > record.MaxText:
		return fmt.Errorf("remarks of more than %d bytes", record.MaxText)
	}
	return nil
}

// Decide records what a supervisor decides on a job as it is signed now. What was not
// signed, or was changed since, is not decided on; nor does anyone decide on his own.
func (l *Local) Decide(job, who, decision, remarks string) error {
	s, err := l.State(job)
	if err != nil {
		return err
	}
	sig, ok := s.Job.Signed()
	switch {
	case !ok:
		return errors.New("the technician has not signed it")
	case !sig.Stands:
		return fmt.Errorf("it was changed since %s signed it: %s", sig.Value, strings.Join(sig.Since, ", "))
	case len(s.Aside) > 0 || s.Sealed > 0:
		return errors.New("part of the job cannot be read here: what was signed cannot be told")
	case strings.EqualFold(strings.TrimSpace(who), strings.TrimSpace(sig.Value)) || strings.EqualFold(strings.TrimSpace(who), sig.By):
		return errors.New("who signed as the technician does not decide on it")
	}
	return l.act(job, strings.TrimSpace(who), change{kind: Review, p: payload{Review: &Verdict{Decision: decision, Remarks: strings.TrimSpace(remarks), Record: s.Job.Text(record.SignedRecord)}}})
}
