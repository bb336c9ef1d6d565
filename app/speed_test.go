package app

import (
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/section"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/record"
)

func benchJob(b *testing.B) *record.Job {
	j, err := record.Demo() // full: nothing is left to be entered
	if err != nil {
		b.Fatal(err)
	}
	return j
}

// blocks measures what the toolkit's thread does: each piece that it does in one
// go, and the work that goes on beside it, which is not its own.
type blocks struct {
	at      time.Duration // when the clock was last read
	now     int           // the piece under way, -1 beside the thread
	each    []time.Duration
	longest []time.Duration // of each call
	sum     time.Duration
	aside   time.Duration
}

func (k *blocks) to(next int) {
	t := threadTime()
	if k.now < 0 {
		k.aside += t - k.at
	} else {
		k.each[k.now] += t - k.at
	}
	k.at, k.now = t, next
}

// inline runs work beside the thread, as far as the clock is concerned, and what
// it hands back as a piece of its own.
func (k *blocks) inline(work func() func()) func() {
	was := k.now
	k.to(-1)
	apply := work()
	k.to(was)
	if apply == nil {
		return nil
	}
	return func() {
		was := k.now
		k.each = append(k.each, 0)
		k.to(len(k.each) - 1)
		apply()
		k.to(was)
	}
}

// of measures one call.
func (k *blocks) of(do func()) {
	k.each, k.now, k.at = append(k.each[:0], 0), 0, threadTime()
	do()
	k.to(0)
	for _, d := range k.each {
		k.sum += d
	}
	k.longest = append(k.longest, slices.Max(k.each))
}

// measured runs a benchmark of the toolkit's thread, in processor time: the
// longest piece it did in one go (the median over the calls: now and then the
// collector of memory takes its share), all it did for one call, and what was done
// beside it.
func measured(b *testing.B, name string, before, do func()) {
	b.Run(name, func(b *testing.B) {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		k := &blocks{}
		was := widget.Inline
		widget.Inline = k.inline
		defer func() { widget.Inline = was }()
		for b.Loop() {
			if before != nil {
				before()
			}
			k.of(do)
		}
		ms := func(d time.Duration) float64 { return d.Seconds() * 1000 }
		slices.Sort(k.longest)
		b.ReportMetric(ms(k.longest[len(k.longest)/2]), "ms-longest")
		b.ReportMetric(ms(k.sum)/float64(b.N), "ms-thread")
		b.ReportMetric(ms(k.aside)/float64(b.N), "ms-beside")
	})
}

// benchInWindow is a bench on the job of the benchmarks, in a window.
func benchInWindow(b *testing.B) *Bench {
	a := test.NewApp()
	b.Cleanup(a.Quit)
	a.Settings().SetTheme(theme.Theme{Palette: theme.Light})
	n := newBench(jobStore{}, benchJob(b), true)
	w := test.NewWindow(n.window)
	b.Cleanup(w.Close)
	w.SetPadded(false)
	w.Resize(sizes[0])
	n.canvas = w.Canvas
	return n
}

// What the toolkit's thread does itself. At most one frame of a screen, 16 ms, is
// wanted of any piece on a tablet.
func BenchmarkToolkitThread(b *testing.B) {
	n := benchInWindow(b)
	for i, s := range record.Steps {
		// Made and shown. With -benchtime 1x nothing was measured or broken into
		// lines before.
		measured(b, "first/"+string(s.Step), func() { delete(n.panes, i) }, func() { n.open(i) })
		n.Go(i)
		measured(b, "key/"+string(s.Step), nil, func() { // one key typed: what is found is painted
			n.typed++
			n.offer(n.input.Entered)
		})
		measured(b, "enter/"+string(s.Step), nil, n.recalc) // a reading entered
		measured(b, "open/"+string(s.Step), nil, func() { n.open(i) })
	}
	for i, s := range record.Steps {
		n.Go(i)
		measured(b, "palette/"+string(s.Step), nil, func() { n.SetDark(!n.dark) })
		measured(b, "units/"+string(s.Step), nil, func() { n.SetSystem(n.system) })
	}
	// A key typed into a note of 20,000 characters: at its end, and in its middle.
	n.Go(stepIndex(record.Cause))
	for _, q := range n.pane().Rows {
		if q.Field.Key != record.RootCause.String() {
			continue
		}
		f := q.Input().(fyne.Focusable)
		n.canvas().Focus(f)
		f.(fyne.Shortcutable).TypedShortcut(&fyne.ShortcutSelectAll{})
		for _, r := range strings.Repeat("The contactor's points were pitted. ", 556) {
			f.TypedRune(r)
		}
		letter := func() { f.TypedRune('e') }
		measured(b, "note/end", nil, letter)
		for range 9000 {
			f.TypedKey(&fyne.KeyEvent{Name: fyne.KeyLeft})
		}
		measured(b, "note/middle", nil, letter)
		measured(b, "note/line", nil, func() { f.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn}) })
		f.(fyne.Shortcutable).TypedShortcut(&fyne.ShortcutSelectAll{})
		f.TypedRune('x')
	}
	n.Go(stepIndex(record.Wiring))
	var t testing.T
	for _, tab := range []string{"Unit", "Controls", "Decisions", "Work list", "Proof", "Check-out", "Drawing"} {
		measured(b, "tab/"+tab, nil, func() { turnTo(&t, n, tab) })
	}
}

// From a reading entered to the strips that show what it changed: what else the
// pane shows is computed apart and comes later.
func BenchmarkCommitToStrip(b *testing.B) {
	n := benchInWindow(b)
	n.Go(stepIndex(record.Running))
	p := n.pane()
	p.Sections = slices.DeleteFunc(p.Sections, func(s *section.Section) bool { return s.Name != "findings" && s.Name != "header" })
	for b.Loop() {
		n.recalc()
	}
}
