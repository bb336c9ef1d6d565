package store

import (
	"errors"
	"slices"
	"time"

	"retrostage/reports/record"
)

// Undo takes back an event of a job; of an undo, it does it again.
func (l *Local) Undo(job, event, who string) error {
	return l.act(job, who, change{kind: Undo, answers: event})
}

// Undoable is the newest event of a job that Undo takes back and whose going shows;
// redo is the newest undo to be taken back, as long as nothing was done since.
func (l *Local) Undoable(job string) (undo, redo string, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	s, err := l.state(job)
	if err != nil {
		return "", "", err
	}
	undo, redo = s.undoable()
	return undo, redo, nil
}

// undoable looks for both from the newest event on. What was typed on the way to an
// entry goes with it, and what the program itself entered would only come back.
func (s *State) undoable() (undo, redo string) {
	since, gone := true, map[string]bool{} // from here on, as fold has it
	left := map[record.Key]bool{}          // fields of which a draft has no effect any more
	for _, m := range slices.Backward(s.marks) {
		undone := gone[m.id]
		switch {
		case m.kind == Undo && !undone:
			gone[m.answers] = true
			n, ok := s.known[m.answers]
			if again := ok && s.marks[n].kind == Undo; since && redo == "" && !again {
				redo = m.id
			}
		case m.kind == Undo, !undoable(m.kind), m.kind == "", m.sealed, programs(m.key):
		case m.kind == Drafted && left[m.key]:
		case !undone:
			return m.id, redo
		}
		if isEntry(m.kind) || m.kind == Drafted && !undone {
			left[m.key] = true
		}
		since = since && (m.kind == Undo || m.kind == Stepped || undone || programs(m.key))
	}
	return "", redo
}

// programs tells whether a field is the program's own.
func programs(k record.Key) bool { return k != record.Key{} && k.Field().Program }

// Act is what was done once, as far as it can be told in a line.
type Act struct {
	Kind  Kind
	Key   record.Key // of an entry or a draft
	Value string     // with its unit; of a log, its name
	Who   string
	When  time.Time
}

// What tells what an event did.
func (l *Local) What(event string) (Act, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	e, p, err := l.read(event)
	a := Act{Kind: e.Kind, Who: e.Who, When: e.When}
	switch {
	case err != nil:
		return a, err
	case p.Entry != nil:
		a.Key, a.Value = p.Entry.Key, amount(p.Entry.Value, p.Entry.Unit)
	case p.Draft != nil:
		a.Key, a.Value = p.Draft.Key, amount(p.Draft.Value, p.Draft.Unit)
	case p.Log != nil:
		a.Value = p.Log.Name
	case p.Drop != "":
		a.Value = p.Drop
	case p.Attachment != nil:
		a.Value = p.Attachment.Name
	}
	return a, nil
}

// Back takes back what was done last to a job, or again does what was taken back
// last, and tells what that was. The job has to be loaded anew.
func (l *Local) Back(job, who string, again bool) (Act, error) {
	undo, redo, err := l.Undoable(job)
	if err != nil {
		return Act{}, err
	}
	event := undo
	if again {
		event = redo
	}
	if event == "" {
		return Act{}, ErrNothing
	}
	if err := l.Undo(job, event, who); err != nil {
		return Act{}, err
	}
	for range 1000 { // of a redo, what was done and not its undo
		a, err := l.What(event)
		if err != nil || a.Kind != Undo {
			return a, err
		}
		if event, err = l.answered(event); err != nil {
			return a, err
		}
	}
	return Act{}, errors.New("an undo of undos without end")
}

// ErrNothing is that there is nothing to take back, or to do again.
var ErrNothing = errors.New("there is nothing to take back")

func (l *Local) answered(event string) (id string, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	err = l.db.QueryRow("SELECT answers FROM events WHERE id = ?", event).Scan(&id)
	return id, err
}
