package widget

import (
	"sync"

	"fyne.io/fyne/v2"
)

// Line runs work beside the finger, all of it in the order in which it was asked for,
// where Latest would leave some out. What a piece of work returns is then run on the
// toolkit's own thread. Now is as that of Latest.
type Line struct {
	Now  bool
	mu   sync.Mutex
	busy bool
	wait []func() func()
}

// Ask requests work.
func (l *Line) Ask(work func() func()) {
	if l.Now {
		if apply := Inline(work); apply != nil {
			apply()
		}
		return
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.wait = append(l.wait, work)
	if !l.busy {
		l.busy = true
		go l.run()
	}
}

func (l *Line) run() {
	for {
		l.mu.Lock()
		if len(l.wait) == 0 {
			l.busy = false
			l.mu.Unlock()
			return
		}
		work := l.wait[0]
		l.wait = l.wait[1:]
		l.mu.Unlock()
		if apply := work(); apply != nil {
			fyne.Do(apply)
		}
	}
}

// Busy tells whether work is under way.
func (l *Line) Busy() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.busy
}
