package record

import (
	"sync"
	"time"
)

// Later tells whether the newest entry of key was entered later than it was measured, as
// the person who entered it says: the field that asks so covers what stands in its group
// or step when it is answered, and nothing that is entered afterwards. The times beside
// such a reading are those of the typing.
func (j *Job) Later(key Key) bool {
	at, ok := j.Index(key)
	if !ok {
		return false
	}
	f := key.Field()
	if IsMeter(key) {
		f.Step = Wiring
	}
	for _, n := range notes()[f.Step] {
		if !n.Whole && n.Group != f.Group || n.Key == key {
			continue
		}
		if said, ok := j.Index(n.Key); ok && j.Text(n.Key) == NotedLater && said > at {
			return true
		}
	}
	return false
}

// notes are the fields of each step that ask how readings came into the record: asked
// for every reading of every assessment.
var notes = sync.OnceValue(func() map[Step][]Field {
	m := map[Step][]Field{}
	for _, f := range Fields {
		if f.Notes && !f.Program {
			m[f.Step] = append(m[f.Step], f)
		}
	}
	return m
})

// Span is a time that was entered as having passed between two readings.
type Span struct {
	Held  Key   // the time entered
	From  []Key // what was read, or started, at its beginning: the newest of them counts
	To    Key   // the reading at its end
	Noted Key   // says how they came into the record
	Clock Key   // a clock that the program ran; zero where there is none
}

// Spans are the times between readings that a job may hold.
var Spans = []Span{
	{Held: TestTime, From: []Key{TestP1}, To: TestP2, Noted: HoldNoted, Clock: HoldStarted},
	{Held: VacuumTime, From: []Key{VacuumFinal}, To: VacuumEnd, Noted: VacuumNoted, Clock: DecayStarted},
	{Held: SettleTime, From: []Key{WeighedIn, Trimmed}, To: SuctionPressure, Noted: RunningNoted},
}

// Apart is how long lies between the entries at the ends of s; ok is false where one of
// them is missing.
func (j *Job) Apart(s Span) (d time.Duration, ok bool) {
	to, there := j.Entry(s.To)
	if !there {
		return 0, false
	}
	from, first := time.Time{}, 0
	for _, k := range s.From {
		if e, ok := j.Entry(k); ok && e.Time.After(from) {
			from = e.Time
			first, _ = j.Index(k)
		}
	}
	if t, ok := j.clockBefore(s, first); ok && (from.IsZero() || t.Before(from)) {
		from = t
	}
	return to.Time.Sub(from), !from.IsZero()
}

// clockBefore is when the clock of s was last started, unless entry first, which the
// wait began with, came after the end of an earlier wait by that clock.
func (j *Job) clockBefore(s Span, first int) (at time.Time, ok bool) {
	if s.Clock == (Key{}) {
		return at, false
	}
	for i, e := range j.Entries {
		switch {
		case e.Key == s.Clock && e.Value != "":
			t, err := time.Parse(time.RFC3339, e.Value)
			at, ok = t, err == nil
		case e.Key == s.To && i < first:
			ok = false
		}
	}
	return at, ok
}
