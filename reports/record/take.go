package record

import (
	"errors"
	"fmt"
	"slices"
	"time"
	"unicode/utf8"

	"retrostage/wiring/netlist"
)

// Times that a record can hold. A tablet whose clock was lost stands at 1970, and
// what is typed on it is not refused for that.
var (
	earliest = time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC)
	latest   = time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)
)

func checkTime(t time.Time) error {
	switch {
	case t.IsZero():
		return errors.New("has no time")
	case t.Before(earliest) || !t.Before(latest):
		return fmt.Errorf("the time %s is outside %d to %d", t.Format(time.RFC3339), earliest.Year(), latest.Year())
	}
	return nil
}

// check tells whether a record can hold e; listed says which instruments there are.
func (e Entry) check(listed func(id string) bool) error {
	f, err := ByKey(e.Key)
	if err == nil {
		err = f.Check(e.Value, e.Unit)
	}
	switch {
	case err != nil:
		return err
	case e.Instrument != "" && !listed(e.Instrument):
		return fmt.Errorf("instrument %q is not listed", e.Instrument)
	case len(e.Typed) > MaxText || len(e.By) > MaxText:
		return fmt.Errorf("longer than %d bytes", MaxText)
	case !utf8.ValidString(e.Typed + e.By):
		return errors.New("the text is not valid UTF-8")
	}
	if e.Visit != "" {
		if _, err := readVisit(e.Visit); err != nil {
			return err
		}
	}
	return checkTime(e.Time)
}

func (d Draft) check() error {
	_, err := ByKey(d.Key)
	switch {
	case err != nil:
		return err
	case len(d.Value) > MaxText || len(d.Reason) > 2*MaxText:
		return fmt.Errorf("longer than %d bytes", MaxText)
	case !utf8.ValidString(d.Value + d.Unit + d.Reason):
		return errors.New("the text is not valid UTF-8")
	case d.From != "":
		return CheckID(d.From)
	}
	return nil
}

// checkUnit tells whether raw is a unit; none is allowed.
func checkUnit(raw []byte) error {
	if len(raw) == 0 {
		return nil
	}
	_, err := netlist.Parse(raw)
	return err
}

// What follows puts in what was understood earlier: by this program, and read back.
// Each takes the whole of it or leaves the job as it was. The limits are the file's,
// so that a job that took something can be written and read.

// Take appends an entry as it stands.
func (j *Job) Take(e Entry) error {
	if len(j.Entries) >= MaxEntries {
		return fmt.Errorf("the job has %d entries and takes no more", MaxEntries)
	}
	if err := e.check(func(id string) bool { _, ok := j.Instrument(id); return ok }); err != nil {
		return fmt.Errorf("%v: %w", e.Key, err)
	}
	j.dropDraft(e.Key)
	j.add(e)
	return nil
}

// TakeDraft keeps a draft in place of the field's earlier one; one without a reason
// only lets that go.
func (j *Job) TakeDraft(d Draft) error {
	if err := d.check(); err != nil {
		return fmt.Errorf("%v: %w", d.Key, err)
	}
	j.dropDraft(d.Key)
	if d.Reason != "" {
		j.Drafts = append(j.Drafts, d)
	}
	return nil
}

// TakeInstruments puts in the list of instruments. One that an entry names stays.
func (j *Job) TakeInstruments(list []Instrument) error {
	seen := map[string]bool{}
	for _, in := range list {
		if err := in.validate(); err != nil {
			return fmt.Errorf("instrument %q: %w", in.ID, err)
		}
		if seen[in.ID] {
			return fmt.Errorf("instrument %q is listed twice", in.ID)
		}
		seen[in.ID] = true
	}
	for _, old := range j.Instruments {
		if !seen[old.ID] && slices.ContainsFunc(j.Entries, func(e Entry) bool { return e.Instrument == old.ID }) {
			return fmt.Errorf("instrument %q took a reading of this job and cannot be left out", old.ID)
		}
	}
	if j.Instruments = list; list == nil {
		j.Instruments = []Instrument{}
	}
	return nil
}

// TakeUnit puts in the unit as drawn; none is the unit of the catalogue.
func (j *Job) TakeUnit(raw []byte) error {
	if err := checkUnit(raw); err != nil {
		return fmt.Errorf("unit: %w", err)
	}
	j.Unit = raw
	return nil
}

// TakeLog puts in a log, in place of the one of its name, with its After as given.
func (j *Job) TakeLog(s Series) error {
	if err := s.validate(); err != nil {
		return fmt.Errorf("log %s: %w", s.Name, err)
	}
	j.DropLog(s.Name)
	j.Series = append(j.Series, s)
	return nil
}

// DropLog takes a log out.
func (j *Job) DropLog(name string) {
	j.Series = slices.DeleteFunc(slices.Clone(j.Series), func(o Series) bool { return o.Name == name })
}

// TakeStep remembers the step last open.
func (j *Job) TakeStep(s Step) error {
	if _, ok := s.Info(); !ok {
		return fmt.Errorf("%q is not a step", s)
	}
	j.Step = s
	return nil
}
