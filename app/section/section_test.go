package section

import (
	"context"
	"testing"
	"time"

	"fyne.io/fyne/v2/test"
)

// quiet is a host of which a section only asks how work is done.
type quiet struct {
	Host
	inline bool
}

func (q quiet) Inline() bool { return q.inline }

// A section is computed once for each key, whatever else changes.
func TestSectionFollowsItsKeyAlone(t *testing.T) {
	p := &Pane{Host: quiet{inline: true}}
	var filled []int
	s := newSection("s", nil, Input.entered, func(_ context.Context, in Input) int { return in.Revision }, func(v int) { filled = append(filled, v) })
	for _, in := range []Input{{Revision: 1}, {Revision: 1, Typed: 1}, {Revision: 1, Typed: 2}, {Revision: 2, Typed: 2}, {Revision: 2, Typed: 3}} {
		s.offer(p, in)
	}
	if len(filled) != 2 || filled[0] != 1 || filled[1] != 2 || s.Runs != 2 {
		t.Errorf("filled %v in %d runs, want [1 2] in 2", filled, s.Runs)
	}
}

// What is computed again and comes out the same is not filled in twice, unless
// what is shown depends on more.
func TestTheSameIsFilledInOnce(t *testing.T) {
	p := &Pane{Host: quiet{inline: true}}
	fills := map[bool]int{}
	for _, alone := range []bool{false, true} {
		s := newSection("s", nil, Input.entered, func(_ context.Context, in Input) []int { return []int{in.Revision / 2} }, func([]int) { fills[alone]++ })
		if alone {
			s = s.alone()
		}
		for i := range 6 {
			s.offer(p, Input{Revision: i})
		}
	}
	if fills[false] != 6 || fills[true] != 3 {
		t.Errorf("filled in %v times, want 6 and, alone, 3", fills)
	}
}

// What is under way for an older revision is told to stop and never filled in.
func TestSectionIsCancelledByANewerRevision(t *testing.T) {
	a := test.NewApp()
	defer a.Quit()
	p := &Pane{Host: quiet{}}
	began, stopped, filled := make(chan int, 4), make(chan int, 4), make(chan int, 4)
	both := make(chan struct{})
	s := newSection("s", nil, Input.entered,
		func(ctx context.Context, in Input) int {
			began <- in.Revision
			if in.Revision == 1 {
				<-ctx.Done() // as long as it takes
				<-both       // what comes next is offered before this one makes room
				stopped <- in.Revision
			}
			return in.Revision
		},
		func(v int) { filled <- v })
	await := func(c chan int, what string) int {
		t.Helper()
		select {
		case v := <-c:
			return v
		case <-time.After(20 * time.Second):
			t.Fatal("waited in vain for what " + what)
			return 0
		}
	}
	s.offer(p, Input{Revision: 1})
	await(began, "began")
	s.offer(p, Input{Revision: 2}) // waits for the first, which is told to stop
	s.offer(p, Input{Revision: 3}) // replaces it
	close(both)
	if v := await(stopped, "stopped"); v != 1 {
		t.Errorf("revision %d was stopped", v)
	}
	if v := await(filled, "was filled in"); v != 3 {
		t.Errorf("revision %d was filled in", v)
	}
	if v := await(began, "began"); v != 3 {
		t.Errorf("revision %d was begun, which a newer one had replaced", v)
	}
	select {
	case v := <-filled:
		t.Errorf("revision %d was filled in too", v)
	default:
	}
}
