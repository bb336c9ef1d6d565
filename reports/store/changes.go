package store

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"time"

	"retrostage/reports/record"
)

// change is an event in the making: it has no id and no place yet.
type change struct {
	kind    Kind
	who     string
	when    time.Time // zero: now
	answers string
	visit   string
	key     string // it is encrypted with; "" where that is still to be said
	p       payload
}

// kindOf is the kind of event that an entry is.
func kindOf(e record.Entry) Kind {
	switch _, plan := record.PlanName(e.Key); {
	case plan:
		return Decision
	case e.Key == record.AckDead || e.Key == record.AckLive:
		return Caution
	case e.Key == record.SignedBy || e.Key == record.SignedDate || e.Key == record.SignedRecord:
		return Signature
	}
	return Entered
}

// changes is what was done to old to make it j; old may be nil, for a new job. It is
// an error where j does not go on from old: entries only grow.
func changes(old, j *record.Job) ([]change, error) {
	var cs []change
	add := func(k Kind, p payload) { cs = append(cs, change{kind: k, p: p}) }
	if old == nil {
		old = record.New(j.ID)
		add(Created, payload{Demo: j.Demo})
		if len(j.Entries) > 0 { // one that comes from a file was begun when it was
			cs[0].when = j.Entries[0].Time
		}
	}
	switch {
	case old.ID != j.ID || old.Demo != j.Demo && len(cs) == 0:
		return nil, fmt.Errorf("job %s is not job %s", j.ID, old.ID)
	case len(j.Entries) < len(old.Entries):
		return nil, errors.New("entries are gone that were saved")
	}
	if n := len(old.Entries); n > 0 && !sameEntry(old.Entries[n-1], j.Entries[n-1]) {
		return nil, errors.New("an entry is another than was saved")
	}
	if j.Step != old.Step {
		add(Stepped, payload{Step: j.Step})
	}
	if !reflect.DeepEqual(old.Instruments, j.Instruments) && len(old.Instruments)+len(j.Instruments) > 0 {
		list := slices.Clone(j.Instruments)
		add(Instrument, payload{Instruments: &list})
	}
	if !bytes.Equal(old.Unit, j.Unit) {
		add(UnitEdit, payload{Unit: j.Unit})
	}
	entered := entriesAndLogs(old, j, func(c change) { cs = append(cs, c) })
	for _, d := range old.Drafts {
		if _, still := j.Draft(d.Key); !still && !entered[d.Key] {
			add(Drafted, payload{Draft: &record.Draft{Key: d.Key}})
		}
	}
	for _, d := range j.Drafts {
		if was, had := old.Draft(d.Key); !had || was != d || entered[d.Key] {
			add(Drafted, payload{Draft: &d})
		}
	}
	return cs, nil
}

// entriesAndLogs adds them in the order in which they came, and tells which fields
// were entered.
func entriesAndLogs(old, j *record.Job, add func(change)) map[record.Key]bool {
	var logs []record.Series
	for _, s := range j.Series {
		if !slices.ContainsFunc(old.Series, func(o record.Series) bool { return sameLog(o, s) }) {
			logs = append(logs, s)
		}
	}
	for _, o := range old.Series {
		if !slices.ContainsFunc(j.Series, func(s record.Series) bool { return s.Name == o.Name }) {
			add(change{kind: Logged, p: payload{Drop: o.Name}})
		}
	}
	entered := map[record.Key]bool{}
	for i := len(old.Entries); ; i++ {
		for len(logs) > 0 && (logs[0].After <= i || i == len(j.Entries)) {
			add(change{kind: Logged, p: payload{Log: &logs[0]}})
			logs = logs[1:]
		}
		if i == len(j.Entries) {
			return entered
		}
		e := j.Entries[i]
		entered[e.Key] = true
		add(change{kind: kindOf(e), who: e.By, when: e.Time, p: payload{Entry: &e}})
	}
}

func sameEntry(a, b record.Entry) bool {
	t := a.Time.Equal(b.Time)
	a.Time = b.Time
	return t && a == b
}

func sameLog(a, b record.Series) bool {
	return a.Name == b.Name && a.Start.Equal(b.Start) && a.After == b.After && slices.Equal(a.Seconds, b.Seconds) &&
		slices.EqualFunc(a.Columns, b.Columns, func(a, b record.SeriesColumn) bool {
			return a.Key == b.Key && a.Unit == b.Unit && a.Instrument == b.Instrument && slices.Equal(a.Values, b.Values)
		})
}
