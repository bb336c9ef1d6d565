package section

import (
	"context"
	"fmt"
	"reflect"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/match"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// Input is one revision of the job, all that a section is computed from.
type Input struct {
	Job      *record.Job        // as entered; a copy that nobody changes
	Entered  *assess.Assessment // of Job
	Shown    *assess.Assessment // with the number being typed; Entered where none is
	Revision int                // of the job as entered
	Typed    int                // grows with each key typed too
	System   units.System
	Now      time.Time
	Apart    map[record.Key][]string // fields typed on two tablets apart, with their values
	Photos   Photos
	Person   string // who is typing
}

// entered is the key of what follows the job as entered, not each key typed.
func (in Input) entered() string { return fmt.Sprint(in.Revision, in.System) }

// typed is the key of what follows every key.
func (in Input) typed() string { return fmt.Sprint(in.Revision, in.Typed, in.System) }

// Section is one part of a pane.
type Section struct {
	Name    string
	Objects []fyne.CanvasObject // in their order on the page

	// Runs counts how often it was computed.
	Runs int

	key     func(Input) string
	compute func(context.Context, Input) any
	fill    func(any)
	made    string // the key of what is shown, or on its way
	asked   bool
	pure    bool                // what it shows depends on what was computed alone
	shown   atomic.Pointer[any] // what it shows
	cancel  context.CancelFunc
	work    widget.Latest
	rest    widget.Latest
}

// newSection joins the three parts of a section. Compute must not touch what the
// toolkit's thread owns: it has its input, and gives all that fill needs.
func newSection[T any](name string, objects []fyne.CanvasObject, key func(Input) string, compute func(context.Context, Input) T, fill func(T)) *Section {
	return &Section{Name: name, Objects: objects, key: key,
		compute: func(ctx context.Context, in Input) any { return compute(ctx, in) },
		fill:    func(v any) { fill(v.(T)) }}
}

// listed is a section that is one column, made anew from what was computed and there only
// where that comes to something.
func listed[T any](p *Pane, name string, compute func(context.Context, Input) T, add func(body *fyne.Container, v T)) *Section {
	body := widget.NewColumn(6, 0)
	body.Hide()
	return newSection(name, []fyne.CanvasObject{body}, Input.entered, compute, func(v T) {
		had := len(body.Objects)
		widget.Refill(body, func() { add(body, v) })
		show(body, len(body.Objects) > 0)
		if len(body.Objects) != had {
			p.rebalance()
		}
		p.reflow()
	}).alone()
}

// alone says that what the section shows depends on nothing but what was computed:
// the same is not filled in twice.
func (s *Section) alone() *Section {
	s.pure = true
	return s
}

// fixed is a section that depends on nothing.
func fixed(name string, objects ...fyne.CanvasObject) *Section {
	return &Section{Name: name, Objects: objects}
}

// offer hands a revision to the section. What it depends on is compared first;
// what is under way for an older revision is cancelled and never filled in.
func (s *Section) offer(p *Pane, in Input) {
	if s.key == nil {
		return
	}
	k := s.key(in)
	if s.asked && k == s.made {
		return
	}
	if s.cancel != nil {
		s.cancel()
	}
	ctx, cancel := context.WithCancel(context.Background())
	s.made, s.asked, s.cancel = k, true, cancel
	s.Runs++
	s.work.Now = p.Inline()
	s.work.Ask(func() func() {
		if ctx.Err() != nil {
			return nil
		}
		v := s.compute(ctx, in)
		if was := s.shown.Load(); s.pure && was != nil && reflect.DeepEqual(v, *was) {
			return nil // an older one that is not shown yet was cancelled
		}
		return func() {
			if ctx.Err() == nil { // else something newer is on its way
				s.shown.Store(&v)
				p.once(func() { s.fill(v) })
			}
		}
	})
}

// later does the rest of a fill as a piece of its own, so that the toolkit's
// thread can do something else before. What is filled in meanwhile makes an end of
// it.
func (s *Section) later(p *Pane, do func()) {
	made := s.made
	s.rest.Now = p.Inline()
	s.rest.Ask(func() func() {
		return func() {
			if s.made == made {
				p.once(do)
			}
		}
	})
}

// Host is the workbench as sections see it. Its methods are called on the
// toolkit's thread.
type Host interface {
	Job() *record.Job // the job at hand, not to be changed
	Report() *assess.Report
	System() units.System
	Now() time.Time
	Person() string
	Sitting() *Sitting
	Inline() bool // work is done at once, as tests and pictures on paper want it

	Enter(key record.Key, text, unit, instrument string) error // or keep as a draft, with the error
	Typing(key record.Key, text, unit, instrument string)      // assessed, not entered
	Draft(key record.Key, text, why string)                    // keep what cannot be entered; no reason lets it go
	Change(change func(j *record.Job))                         // what is no entry: the unit, logs, instruments
	Remake(p *Pane)                                            // the pane is to be built anew

	Past(key record.Key)                   // what stood in a field before is shown
	Focus(r *widget.Row, got bool)         // an entry got or lost the cursor
	Leave()                                // whatever is being typed is entered
	Onward()                               // the next step is opened
	WhenDone()                             // the way on is taken if what was entered just now was the last that the step lacked
	BeginLike()                            // a new job is begun like the one at hand
	LeadAway(step record.Step, key string) // another step is opened, at a field or finding
	LeaveFor(keep func(r *widget.Row) bool)
	Sheet(w, h float32, fill func(shut func()) fyne.CanvasObject)
	Browse() func(done func(path string)) // asks for a file; nil where that cannot be
	Export(done func(path string, err error))
	Label(done func(path string, err error))
	Print(name, title string, pic *chart.Picture) // a picture for paper
	Photos() Photos
	BrowsePicture() func(done func(path string)) // asks for a photo; nil where that cannot be
	Attach(path string, done func(err error))    // takes a photo in for the step on show
	Relayout(p *Pane)                            // the height is shared anew among the parts of the window
	Remember()                                   // what was learned of columns, for the next sitting
	OwnerPage(done func(path string, err error))
	// ConsentPage writes the page that the owner signs before work begins.
	ConsentPage(done func(path string, err error))
	OrderList(done func(path string, err error))
}

// Sitting is what is remembered between panes while the program runs.
type Sitting struct {
	Tools   map[string]string    // instrument last used, by class
	Columns map[string]LogColumn // what columns of logs were said to be, by their names
	Lists   match.Mapping        // what columns of lists of compressors were said to be
	Units   []unitBefore         // the old unit before each change
	Mine    []record.Instrument  // the person's own, for every job
}

// NewSitting is one in which nothing happened yet.
func NewSitting() *Sitting {
	return &Sitting{Tools: map[string]string{}, Columns: map[string]LogColumn{}, Lists: match.Mapping{}}
}
