package widget

import (
	"sync"

	"fyne.io/fyne/v2"
)

// Latest runs work beside the finger, the newest request winning: while one is
// under way further ones replace each other, and only the last is done. What a
// piece of work returns is then run on the toolkit's own thread.
//
// With Now set, everything is done at once by the caller, as tests and pictures
// on paper want it.
type Latest struct {
	Now  bool
	mu   sync.Mutex
	busy bool
	next func() func()
}

// Inline is how work is done with Now set. A measurement of what the toolkit's
// thread does puts its clock here.
var Inline = func(work func() func()) (apply func()) { return work() }

// Ask requests work.
func (l *Latest) Ask(work func() func()) {
	if l.Now {
		if apply := Inline(work); apply != nil {
			apply()
		}
		return
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.busy {
		l.next = work
		return
	}
	l.busy = true
	go l.run(work)
}

func (l *Latest) run(work func() func()) {
	for {
		apply := work()
		l.mu.Lock()
		next := l.next
		l.next = nil
		if next == nil {
			l.busy = false
		}
		l.mu.Unlock()
		// A result that something newer is about to replace is not shown.
		if apply != nil && next == nil {
			fyne.Do(apply)
		}
		if next == nil {
			return
		}
		work = next
	}
}

// Busy tells whether work is under way.
func (l *Latest) Busy() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.busy
}
