package store

import (
	"fmt"
	"slices"
	"time"

	"retrostage/reports/record"
)

// Line is one entry of a field's history.
type Line struct {
	Event      string    `json:"event"`
	Order      int64     `json:"order"`
	Device     string    `json:"device"`
	Who        string    `json:"who"`
	When       time.Time `json:"when"`
	Value      string    `json:"value"`
	Unit       string    `json:"unit,omitempty"`
	Typed      string    `json:"typed,omitempty"` // as the person wrote it, where that is not the value
	Instrument string    `json:"instrument,omitempty"`
	Reason     string    `json:"reason,omitempty"` // why it could not be entered
	Before     string    `json:"before"`           // what stood there, with its unit
	Undone     bool      `json:"undone,omitempty"`
	UndoneBy   string    `json:"undone_by,omitempty"`
	UndoneWhen time.Time `json:"undone_when,omitzero"`
}

// History tells who typed what into a field of a job, when, and what stood there
// before: every entry, the undone too, oldest first, and at the end what stands
// there and could not be entered.
func (l *Local) History(job string, key record.Key) ([]Line, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	s, err := l.state(job)
	if err != nil {
		return nil, err
	}
	undos := map[string]string{} // the undo that holds, by what it took back
	gone := map[string]bool{}
	for _, m := range slices.Backward(s.marks) {
		if m.kind == Undo && !gone[m.id] {
			gone[m.answers] = true
			undos[m.answers] = m.id
		}
	}
	of := slices.DeleteFunc(slices.Clone(s.marks), func(m mark) bool { return m.key != key || !isEntry(m.kind) && m.kind != Drafted })
	var lines []Line
	values := map[string]string{}
	for i, m := range of {
		if m.kind == Drafted && i+1 < len(of) {
			continue // typed on the way to what followed
		}
		n, err := l.line(m.id, undos[m.id])
		if err != nil {
			return lines, err
		}
		if isEntry(m.kind) {
			values[m.id] = amount(n.Value, n.Unit)
			n.Before = values[m.answers]
		} else if n.Reason == "" {
			continue // a draft was let go
		}
		lines = append(lines, n)
	}
	return lines, nil
}

// line is an event of a field, and the undo of it where there is one.
func (l *Local) line(event, undo string) (n Line, err error) {
	e, p, err := l.read(event)
	if err != nil {
		return n, err
	}
	n = Line{Event: e.ID, Order: e.Order, Device: e.Device, Who: e.Who, When: e.When}
	if p.Entry != nil {
		n.Value, n.Unit, n.Typed, n.Instrument = p.Entry.Value, p.Entry.Unit, p.Entry.Typed, p.Entry.Instrument
	}
	if p.Draft != nil {
		n.Value, n.Unit, n.Reason = p.Draft.Value, p.Draft.Unit, p.Draft.Reason
	}
	if undo != "" {
		u, _, err := l.read(undo)
		if err != nil {
			return n, err
		}
		n.Undone, n.UndoneBy, n.UndoneWhen = true, u.Who, u.When
	}
	return n, nil
}

// read is an event with what it carries.
func (l *Local) read(event string) (e Event, p payload, err error) {
	e, ok, err := scan(l.db.QueryRow("SELECT "+columns+" FROM events WHERE id = ?", event))
	if err == nil && !ok {
		err = fmt.Errorf("its bytes are not those that were written")
	}
	if err == nil {
		e, err = l.keys.opened(e)
	}
	if err == nil {
		p, err = decode(e.Payload)
	}
	if err != nil {
		err = fmt.Errorf("event %s: %w", event, err)
	}
	return e, p, err
}
