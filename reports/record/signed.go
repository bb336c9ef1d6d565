package record

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"time"
)

// Signature is the technician's, as it stands.
type Signature struct {
	Entry
	Stands bool     // nothing was changed since
	Since  []string // what was, in the order in which it was entered
}

// Signed is the technician's signature; ok is false where there is none. It stands
// for the record of that moment: an entry, a log, the unit as drawn or an instrument
// that changed afterwards opens it again.
func (j *Job) Signed() (s Signature, ok bool) {
	if s.Entry, ok = j.Entry(SignedBy); !ok {
		return s, false
	}
	if s.Stands = j.stands(); s.Stands {
		return s, true
	}
	at := j.newest[SignedRecord].at
	if _, ok := j.Entry(SignedRecord); !ok {
		at = j.newest[SignedBy].at
	}
	for _, e := range j.Entries[at+1:] {
		if l := e.Key.Label(); !signing(e.Key) && !slices.Contains(s.Since, l) {
			s.Since = append(s.Since, l)
		}
	}
	for _, l := range j.Series {
		if l.After > at {
			s.Since = append(s.Since, "log "+l.Name)
		}
	}
	if s.Since == nil {
		s.Since = []string{"a log, the unit as drawn or an instrument"}
	}
	return s, true
}

func signing(k Key) bool { return k == SignedBy || k == SignedDate || k == SignedRecord }

// stands tells whether what was signed is what is here.
func (j *Job) stands() bool {
	was := j.Text(SignedRecord)
	return was == j.digest() || was == j.digestWith(j.Unit) // earlier versions took the unit with its spaces
}

// digest is over all that a signature stands for. Drafts are no part of the record;
// nor are the spaces in the unit as drawn, which a file lays out in its own way.
func (j *Job) digest() string {
	var unit bytes.Buffer
	if json.Compact(&unit, j.Unit) != nil {
		return j.digestWith(j.Unit)
	}
	return j.digestWith(unit.Bytes())
}

func (j *Job) digestWith(unit []byte) string {
	h := sha256.New()
	enc := json.NewEncoder(h)
	for _, e := range j.Entries {
		if !signing(e.Key) {
			enc.Encode(e) // a hash takes what it is given
		}
	}
	enc.Encode(j.Instruments)
	enc.Encode(j.Series)
	h.Write(unit)
	return hex.EncodeToString(h.Sum(nil))
}

// AddLog puts in a log, in place of the one of its name.
func (j *Job) AddLog(s Series) {
	s.After = len(j.Entries)
	j.Series = append(slices.DeleteFunc(slices.Clone(j.Series), func(o Series) bool { return o.Name == s.Name }), s)
}

// Before is the record as it stood when entry n was made, with the instruments and
// the unit of today; drafts are left out.
func (j *Job) Before(n int) *Job {
	c := *j
	c.Entries, c.Drafts = slices.Clone(j.Entries[:n]), []Draft{}
	c.Series = slices.DeleteFunc(slices.Clone(j.Series), func(s Series) bool { return s.After > n })
	c.index()
	return &c
}

// Index is where in Entries the newest entry of key stands; ok is false when there is
// none or it was cleared.
func (j *Job) Index(key Key) (n int, ok bool) {
	_, ok = j.Entry(key)
	return j.newest[key].at, ok
}

// Said is where among the entries the reason that stands in k was given: one that was
// edited since, by fewer new words than a reason wants, was given when it was first
// written. k has an entry that stands.
func (j *Job) Said(k Key) (at int) {
	had := map[string]bool{}
	for i, e := range j.Entries {
		if e.Key != k {
			continue
		}
		fresh := 0
		for w := range words(e.Value) {
			if !had[w] {
				fresh++
			}
		}
		switch {
		case e.Value == "":
			had = map[string]bool{}
			continue
		case len(had) == 0 || fresh >= k.Field().Words:
			at = i
		}
		maps.Copy(had, words(e.Value))
	}
	return at
}

// About is what the reason that stands in k was said to be about, by who gave it and since
// it was given; ok is false where nobody said.
func (j *Job) About(k Key) (labels []string, ok bool) {
	e, said := j.Entry(about[k])
	reason, given := j.Entry(k)
	if n, _ := j.Index(about[k]); !said || !given || e.By != reason.By || n < j.Said(k) {
		return nil, false
	}
	return strings.Split(e.Value, "\n"), true
}

// Covers enters what the reason that stands in k is about; none is a reason about nothing.
func (j *Job) Covers(k Key, labels []string, by string, at time.Time) error {
	return j.Set(Entry{Key: about[k], Value: cmp.Or(strings.Join(labels, "\n"), "-"), By: by, Time: at, Again: true})
}

// Reservation is the field of a step's reservation; ok is false for Hand-over, which
// has none.
func (s Step) Reservation() (k Key, ok bool) {
	k, ok = map[Step]Key{Intake: IntakeReservation, Cause: CauseReservation, Choice: ChoiceReservation, Match: MatchReservation,
		Wiring: WiringReservation, Electrical: ElectricalReservation, CloseUp: CloseUpReservation, Charge: ChargeReservation, Running: RunningReservation}[s]
	return k, ok
}
