package store

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"time"

	"retrostage/reports/record"
)

// Aside is an event that did not go into the job, and why.
type Aside struct {
	Event  Event
	Reason string
}

// State is what the events of a job come to.
type State struct {
	Job         *record.Job
	Archived    bool
	Reason      string // why it was archived
	Attachments []Attachment
	Events      int
	Aside       []Aside
	Last        Event
	Sealed      int      // events of which the key is not here
	Discarded   bool     // a key of the job was discarded
	Review      *Verdict // the newest decision of a supervisor

	keys *ring

	bad     error // that the job's name cannot be
	created bool
	begun   time.Time
	left    int // entries that a later Series.After has to be lessened by
	size    int // of the job file, no less than it will be
	sizes   map[string]int
	stands  map[record.Key]string          // the event that stands for a field
	heads   map[record.Key][]head          // the entries of a field that none answers or settles
	through map[string]string              // what an entry that was taken back had answered
	tools   map[string][]record.Instrument // the list as each event had it
	kinds   map[Kind]string                // the newest event of the other kinds
	marks   []mark                         // every event in order
	known   map[string]int                 // the place of each in marks
	undone  map[string]bool
}

// mark is what is remembered of an event when it was folded.
type mark struct {
	id, answers string
	kind        Kind
	key         record.Key // of an entry or a draft
	sum         [16]byte
	sealed      bool
}

func newState(job string, keys *ring) *State {
	return &State{keys: keys, Job: record.New(job), bad: record.CheckID(job), sizes: map[string]int{}, stands: map[record.Key]string{}, heads: map[record.Key][]head{}, through: map[string]string{}, tools: map[string][]record.Instrument{}, kinds: map[Kind]string{},
		known: map[string]int{}, undone: map[string]bool{}}
}

// fold is the job that the events come to, whatever order and however often they are
// given. An event that is damaged or makes no sense is set aside with its reason and
// takes nothing else with it. keys open what is encrypted; nil where nothing is.
func fold(job string, events []Event, keys *ring) *State {
	if !slices.IsSortedFunc(events, before) {
		events = slices.Clone(events)
		slices.SortStableFunc(events, before)
	}
	s := newState(job, keys)
	s.marks, s.known = make([]mark, 0, len(events)), make(map[string]int, len(events))
	s.Job.Entries = make([]record.Entry, 0, len(events))
	s.undone = undone(events)
	for _, e := range events {
		if n, twice := s.known[e.ID]; twice {
			if s.marks[n].sum != e.sum() {
				s.aside(e, errors.New("another event has its id"))
			}
			continue
		}
		key, err := s.apply(e)
		if err != nil {
			s.aside(e, err)
		}
		s.note(e, key)
	}
	return s
}

func (s *State) aside(e Event, err error) {
	s.Aside = append(s.Aside, Aside{e, err.Error()})
	if isEntry(e.Kind) {
		s.left++
	}
}

// note remembers e without what it carries.
func (s *State) note(e Event, key record.Key) {
	s.known[e.ID] = len(s.marks)
	s.marks = append(s.marks, mark{e.ID, e.Answers, e.Kind, key, e.sum(), e.JobKey != "" && key == record.Key{} && e.Kind != Attached})
	s.Events++
	e.Payload = nil
	s.Last = e
}

// undone tells which events are taken back: from the last one on, for an undo that is
// itself taken back takes back nothing.
func undone(events []Event) map[string]bool {
	gone := map[string]bool{}
	for _, e := range slices.Backward(events) {
		if e.Kind == Undo && !gone[e.ID] {
			gone[e.Answers] = true
		}
	}
	return gone
}

func isEntry(k Kind) bool {
	return k == Entered || k == Decision || k == Caution || k == Signature
}

// undoable tells whether a kind can be taken back. A signature is withdrawn by
// clearing it, which leaves a line of its own; a job that was begun was begun.
func undoable(k Kind) bool {
	return k != Created && k != Signature && k != Stepped && k != Review && k != KeyDiscarded
}

// apply puts e into the job, or leaves the job as it was and says why. It tells the
// field that e is about.
func (s *State) apply(e Event) (key record.Key, err error) {
	if err := e.shape(); err != nil {
		return key, err
	}
	if s.bad != nil {
		return key, s.bad
	}
	if e.Job != s.Job.ID {
		return key, fmt.Errorf("it is of job %s", e.Job)
	}
	e, err = s.keys.opened(e)
	if errors.Is(err, errSealed) {
		s.Sealed++
		if isEntry(e.Kind) {
			s.left++
		}
		return key, nil
	}
	if err != nil {
		return key, err
	}
	p, err := decode(e.Payload)
	if err != nil {
		return key, err
	}
	switch {
	case p.Entry != nil:
		key = p.Entry.Key
	case p.Draft != nil:
		key = p.Draft.Key
	}
	if s.undone[e.ID] && undoable(e.Kind) && e.Kind != Undo {
		if isEntry(e.Kind) {
			s.left++
			s.through[e.ID] = e.Answers
			// What was typed on the way to the entry goes with it: what stood before shows.
			return key, s.Job.TakeDraft(record.Draft{Key: key})
		}
		return key, nil
	}
	return key, s.put(e, p)
}

func (s *State) put(e Event, p payload) error {
	switch {
	case e.Kind == Created:
		if s.created {
			return errors.New("the job was begun already")
		}
		s.created, s.begun, s.Job.Demo = true, e.When, p.Demo
	case isEntry(e.Kind) && p.Entry != nil:
		if kindOf(*p.Entry) != e.Kind {
			return fmt.Errorf("%v is not of the kind %s", p.Entry.Key, e.Kind)
		}
		if p.Entry.By != "" && p.Entry.By != e.Who {
			return fmt.Errorf("it says that %q entered it, and was written by %q", p.Entry.By, e.Who)
		}
		n := fileSize(e.Payload)
		if err := s.room("", n); err != nil {
			return err
		}
		if err := s.Job.Take(*p.Entry); err != nil {
			return err
		}
		s.size += n
		s.stands[p.Entry.Key] = e.ID
		s.answer(e, p)
	case e.Kind == Drafted && p.Draft != nil:
		return s.sized("draft "+p.Draft.Key.String(), e, func() error { return s.Job.TakeDraft(*p.Draft) })
	case e.Kind == Instrument && p.Instruments != nil:
		if err := newState("list", nil).Job.TakeInstruments(*p.Instruments); err != nil { // as it is, before it is merged
			return err
		}
		list := s.merged(e.Answers, *p.Instruments)
		s.tools[e.ID] = *p.Instruments
		return s.sized("instruments", e, func() error { return s.Job.TakeInstruments(list) })
	case e.Kind == UnitEdit:
		return s.sized("unit", e, func() error { return s.Job.TakeUnit(p.Unit) })
	case e.Kind == Logged && p.Log != nil:
		p.Log.After = max(0, min(p.Log.After-s.left, len(s.Job.Entries)))
		return s.sized("log "+p.Log.Name, e, func() error { return s.Job.TakeLog(*p.Log) })
	case e.Kind == Logged && p.Drop != "":
		s.Job.DropLog(p.Drop)
		s.size -= s.sizes["log "+p.Drop]
		delete(s.sizes, "log "+p.Drop)
		s.kinds[Logged] = e.ID
	case e.Kind == Stepped:
		return s.Job.TakeStep(p.Step)
	case e.Kind == Attached && p.Attachment != nil:
		if err := p.Attachment.check(); err != nil {
			return err
		}
		if p.Attachment.Key != e.JobKey {
			return errors.New("the picture is not encrypted as its event is")
		}
		p.Attachment.By, p.Attachment.At = e.Who, e.When
		s.Attachments = append(s.Attachments, *p.Attachment)
	case e.Kind == Archived && p.Reason != "", e.Kind == Unarchived:
		s.Archived, s.Reason = e.Kind == Archived, p.Reason
	case e.Kind == Review && p.Review != nil:
		if err := p.Review.check(e); err != nil {
			return err
		}
		p.Review.Who, p.Review.When = e.Who, e.When
		s.Review = p.Review
	case e.Kind == KeyDiscarded && len(p.Keys) > 0 && p.Reason != "":
		s.Discarded = true
	case e.Kind == Undo:
		n, ok := s.known[e.Answers]
		if !ok || !undoable(s.marks[n].kind) {
			return errors.New("what it would undo is not there or cannot be undone")
		}
	default:
		return fmt.Errorf("an event %q that carries nothing of its kind", e.Kind)
	}
	return nil
}

// head is an entry that none answers.
type head struct{ id, value string }

// answer keeps the entries of a field that nobody has answered: more than one where it
// was typed on two tablets apart.
func (s *State) answer(e Event, p payload) {
	key := p.Entry.Key
	s.heads[key] = append(without(s.heads[key], s.standing(e.Answers), s.standingAll(p.Settles)...), head{e.ID, amount(p.Entry.Value, p.Entry.Unit)})
}

// standing is an entry, or what it had answered if it was taken back.
func (s *State) standing(id string) string {
	for range len(s.through) {
		was, back := s.through[id]
		if !back {
			break
		}
		id = was
	}
	return id
}

func (s *State) standingAll(ids []string) (out []string) {
	for _, id := range ids {
		out = append(out, s.standing(id))
	}
	return out
}

func without(heads []head, id string, more ...string) []head {
	return slices.DeleteFunc(slices.Clone(heads), func(h head) bool { return h.id == id || slices.Contains(more, h.id) })
}

// Apart are the fields into which two tablets typed something else without knowing of
// each other, with their values in the order of fold. The newest stands, all are kept,
// and somebody has to say which it is.
func (s *State) Apart() map[record.Key][]string {
	out := map[record.Key][]string{}
	for key, hs := range s.heads {
		if key.Field().Program || key == record.AckDead || key == record.AckLive {
			continue
		}
		var values []string
		for _, h := range hs {
			if !slices.Contains(values, h.value) {
				values = append(values, h.value)
			}
		}
		if len(values) > 1 {
			out[key] = values
		}
	}
	return out
}

// merged is the list of instruments with what an event changed of the list that it
// answers: what was added elsewhere meanwhile stays.
func (s *State) merged(answers string, list []record.Instrument) []record.Instrument {
	was := s.tools[answers]
	of := func(list []record.Instrument, id string) int {
		return slices.IndexFunc(list, func(in record.Instrument) bool { return in.ID == id })
	}
	var out []record.Instrument
	for _, in := range s.Job.Instruments {
		named := slices.ContainsFunc(s.Job.Entries, func(e record.Entry) bool { return e.Instrument == in.ID })
		if n := of(list, in.ID); n >= 0 && (of(was, in.ID) < 0 || !reflect.DeepEqual(was[of(was, in.ID)], list[n])) {
			out = append(out, list[n])
		} else if n >= 0 || of(was, in.ID) < 0 || named {
			out = append(out, in)
		}
	}
	for _, in := range list {
		if of(out, in.ID) < 0 {
			out = append(out, in)
		}
	}
	return out
}

// sized is a change of a part of the job that replaces what was there.
func (s *State) sized(part string, e Event, take func() error) error {
	n := fileSize(e.Payload)
	if err := s.room(part, n); err != nil {
		return err
	}
	if err := take(); err != nil {
		return err
	}
	s.size += n - s.sizes[part]
	s.sizes[part] = n
	s.kinds[e.Kind] = e.ID
	return nil
}

// fileSize is no less than what b takes in a job file, where every member and every
// number has a line of its own.
func fileSize(b []byte) int {
	n := len(b)
	for _, c := range b {
		switch c {
		case ',', '{', '[', ':':
			n += 8
		}
	}
	return n
}

// room refuses what would make the job larger than its file can be read; more is the
// size of what comes.
func (s *State) room(part string, more int) error {
	if n := s.size - s.sizes[part] + more + 4096; n > record.MaxFile {
		return fmt.Errorf("the job is full: with this its file would be larger than can be read (%d bytes of %d)", n, record.MaxFile)
	}
	return nil
}
