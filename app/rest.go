package app

import (
	"time"

	"fyne.io/fyne/v2"
	"github.com/go-gl/glfw/v3.3/glfw"
)

// The toolkit asks the system sixty times a second whether anything happened, whether or
// not. On a tablet that is most of what an open window costs while nobody touches it.
const (
	awake = 3 * time.Second        // how long after the last event it goes on as it does
	nap   = 400 * time.Millisecond // then it sleeps so long at a time; an event wakes it at once
	short = 150 * time.Millisecond // the same while a clock runs in the bar
	frame = 20 * time.Millisecond  // and one picture may be painted between two naps
)

// rest lets the toolkit's thread sleep in the system's own wait for events, until the
// window is closed. What comes from beside that thread while it sleeps waits for the end
// of the nap: longest a nap, and only where nobody has touched anything for a while.
func (b *Bench) rest(closed <-chan struct{}) {
	t := time.NewTimer(awake)
	defer t.Stop()
	for {
		select {
		case <-closed:
			return
		case <-t.C:
		}
		next := frame
		fyne.DoAndWait(func() {
			if b.ended.Load() {
				return
			}
			defer b.over()
			long, from := nap, time.Now()
			if b.ticked != "" {
				long = short
			}
			glfw.WaitEventsTimeout(long.Seconds())
			if time.Since(from) < long-frame {
				next = awake
			}
		})
		if b.ended.Load() {
			return
		}
		t.Reset(next)
	}
}

// over takes it that the program ends where the toolkit has ended already: told to by the
// system, nobody closes the window first. Any other breakdown stays one.
func (b *Bench) over() {
	r := recover()
	if r == nil {
		return
	}
	if e, ok := r.(*glfw.Error); !ok || e.Code.String() != "NotInitialized" {
		panic(r)
	}
	b.ended.Store(true)
}
