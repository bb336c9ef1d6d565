package app

import (
	"errors"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/section"
	"retrostage/app/theme"
	"retrostage/app/trouble"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/reports/archive"
	"retrostage/reports/assess"
	"retrostage/reports/consent"
	"retrostage/reports/label"
	"retrostage/reports/orderlist"
	"retrostage/reports/owner"
	"retrostage/reports/record"
	"retrostage/reports/store"
	"retrostage/reports/workbook"
	"retrostage/thermo/units"
)

// Bench is the workbench on one job. Its methods are called on the toolkit's
// thread; the work it starts runs beside it.
type Bench struct {
	keep       jobStore
	job        *record.Job
	revision   int           // of the job; grows with whatever is entered, a log or an instrument too
	typed      int           // grows with each key of a number being typed
	input      section.Input // the newest revision, as the sections have it
	report     *assess.Report
	system     units.System // of the job at hand, once it has an entry
	tablet     units.System // of a job that is begun here
	counterKey string       // file of the supervisor's key, as used last
	person     string
	dark       bool
	keys       bool // the keypad comes up with a number
	keyboard   bool // a keyboard was typed on: the keys on the glass step aside
	own        own  // what the person has set for every job
	trouble    *trouble.Keeper
	none       bool   // no job was kept when it was opened
	rescale    func() // the window takes another size of everything; nil where it cannot
	at         int    // index into record.Steps
	sitting    *section.Sitting
	export     func(*record.Job, []workbook.Photo, string, units.System) (string, error)

	assessing, exporting widget.Latest
	dressing             widget.Latest // in another palette
	saving               widget.Line   // all that reads or writes jobs
	savedAt              time.Time
	unsaved              int // edits not yet on disk
	waiting              waiting
	saveErr, runErr      error
	readOnly             error  // why nothing can be entered
	note                 string // something amiss to tell
	notice               string // something to tell until the next edit
	turn                 *turn  // an undo that is under way
	archived             string // why the job was put away
	apart                map[record.Key][]string
	shared               string // the folder that is exchanged with
	alone                byItself
	stale                bool // others have added to the job since it came to the bench
	photos               []store.Attachment
	onward               onward
	beginning            bool // a new job like the one at hand
	camera               camera
	looking              widget.Latest // into its folder

	panes                                map[int]*section.Pane
	active                               *widget.Row
	loose                                string // typed since any entry had the cursor
	window                               *window
	canvas                               func() fyne.Canvas
	now                                  func() time.Time
	browse, pickJob, pickPhoto, pickBook func(done func(path string)) // ask for a log, a job file, a photo, a workbook; nil where there is no window
	remind                               func()                       // remember person, units, theme

	ended *atomic.Bool // the window is being closed, or the program was told to end

	ring   func(what, next string) // a wait is over; nil where nothing can be heard
	rung   map[string]bool         // waits that were rung
	ticked string                  // what was said of the waits
}

// benchOn makes a bench about a job that was opened.
func benchOn(o opening, still bool) *Bench {
	b := newBench(o.keep, o.job, still)
	b.none = o.none
	b.savedAt, b.readOnly, b.archived, b.apart, b.note, b.notice = o.at, o.readOnly, o.archived, o.apart, o.warn, o.notice
	if b.photos = o.photos; len(b.apart)+len(b.photos) > 0 {
		b.recalc()
	}
	return b
}

// newBench makes a bench about a job. With still set, nothing runs beside the
// caller: for tests and pictures on paper.
func newBench(k jobStore, j *record.Job, still bool) *Bench {
	b := &Bench{keep: k, job: j, keys: true, panes: map[int]*section.Pane{}, sitting: section.NewSitting(), now: time.Now, rung: map[string]bool{}, ended: new(atomic.Bool)}
	b.assessing.Now, b.saving.Now, b.exporting.Now, b.alone.reading.Now = still, still, still, still
	b.at = stepOf(j)
	b.window = newWindow(b)
	b.recalc()
	b.open(b.at)
	return b
}

// stepOf is the step at which a job was left.
func stepOf(j *record.Job) int {
	return max(0, slices.IndexFunc(record.Steps, func(s record.StepInfo) bool { return s.Step == j.Step }))
}

func (b *Bench) step() record.StepInfo { return record.Steps[b.at] }

// Go opens a step and remembers it in the job.
func (b *Bench) Go(i int) {
	if i < 0 || i >= len(record.Steps) {
		return
	}
	b.Leave()
	b.open(i)
	if s := b.step().Step; b.job.Step != s && b.readOnly == nil {
		b.edit(func(j *record.Job) { j.Step = s })
		b.save()
	}
}

// open shows a step as the job stands now.
func (b *Bench) open(i int) {
	b.at = i
	b.active = nil
	b.trouble.Say("step opened: " + string(b.step().Step))
	p := b.pane()
	b.window.show(p)
	b.paintRoute()
	b.input.Now = b.now()
	p.Offer(b.input)
}

// Leave enters whatever is being typed.
func (b *Bench) Leave() {
	if b.active != nil {
		b.active.Commit()
	}
	if c := b.theCanvas(); c != nil {
		c.Unfocus()
	}
}

// LeaveFor enters what is being typed in an entry that is about to be built anew,
// unless it is one to keep.
func (b *Bench) LeaveFor(keep func(r *widget.Row) bool) {
	r := b.active
	if r == nil || keep(r) {
		return
	}
	b.active = nil
	r.Commit()
	if c := b.theCanvas(); c != nil {
		c.Unfocus()
	}
	b.window.aim(nil)
}

func (b *Bench) theCanvas() fyne.Canvas {
	if b.canvas == nil {
		return nil
	}
	return b.canvas()
}

func (b *Bench) pane() *section.Pane {
	p := b.panes[b.at]
	if p == nil {
		p = section.New(b, b.step())
		b.panes[b.at] = p
	}
	return p
}

// Onward opens the next step where it goes on.
func (b *Bench) Onward() {
	b.Go(b.at + 1)
	b.pane().LeadOn()
}

// LeadAway opens a step at one of its fields or findings.
func (b *Bench) LeadAway(step record.Step, key string) {
	i := slices.IndexFunc(record.Steps, func(s record.StepInfo) bool { return s.Step == step })
	if i < 0 {
		return
	}
	b.Go(i)
	b.pane().LeadToWhenThere(key)
}

// Remake builds a pane anew; nil is every pane. What is being typed is entered before.
func (b *Bench) Remake(p *section.Pane) {
	if r := b.active; r != nil && b.panes[b.at] != nil && (p == nil || p == b.panes[b.at]) {
		b.active = nil
		r.Commit()
	}
	was := b.panes[b.at]
	for i, q := range b.panes {
		if p == nil || q == p {
			delete(b.panes, i)
		}
	}
	if b.panes[b.at] == nil {
		b.open(b.at)
		b.pane().ResumeFrom(was) // whoever comes back from a sheet is where he was
	}
}

// Relayout shares the height of the window anew, if the pane is what it shows.
func (b *Bench) Relayout(p *section.Pane) {
	switch w := b.window; {
	case w.pane != p:
	case w.alone != p.Alone:
		w.alone = p.Alone
		w.Refresh()
	case upright(w.Size()):
		w.layout(w.Size())
	}
}

// Enter enters what was typed. What the field refuses is kept as a draft; both
// are saved.
func (b *Bench) Enter(key record.Key, text, unit, tool string) error {
	f, err := record.ByKey(key)
	if err != nil {
		return err
	}
	e := record.Entry{Key: key, Value: f.Understood(text), Time: b.now(), By: b.person}
	if f.Kind == record.Number && text != "" {
		e.Unit, e.Instrument = unit, tool
	}
	if b.readOnly != nil {
		return &record.FieldError{Key: key, Label: f.Label, Reason: "not entered: this window only reads"}
	}
	if _, ok := b.job.Instrument(e.Instrument); !ok && e.Instrument != "" {
		why := "not entered: the job has no instrument " + e.Instrument
		b.Draft(key, text, why)
		return &record.FieldError{Key: key, Label: f.Label, Reason: why}
	}
	if _, open := b.apart[key]; open && text != "" { // saying which stands is an entry, though it stands
		e.Again = true
		delete(b.apart, key)
	}
	if b.system == units.SI && len(b.job.Entries) == 0 && text != "" {
		b.edit(b.limitsIn(b.system))
	}
	was, had := b.job.Entry(key)
	b.edit(func(j *record.Job) { err = j.Set(e) })
	b.carryPerson(key, text)
	if had && text == "" && err == nil && !f.Program {
		b.notice = "Taken back: " + f.Label + ", was " + was.Value + ". The undo key brings it back."
	}
	if key == record.VacuumRise && err == nil {
		b.endOfRise(text, tool)
	}
	if had && text == "" && err == nil {
		told := b.notice
		b.holdFollows(key, was)
		b.notice = told
	}
	if text != "" && err == nil {
		b.beginWait(key)
		b.endWait(key)
	}
	b.changed()
	return err
}

// carryPerson enters who is typing as the technician of the job, once: what was entered
// or taken out there stands.
func (b *Bench) carryPerson(key record.Key, text string) {
	if b.person == "" || text == "" || key == record.TechnicianRef || !record.Said(b.person) {
		return
	}
	if slices.ContainsFunc(b.job.Entries, func(e record.Entry) bool { return e.Key == record.TechnicianRef }) {
		return
	}
	e := record.Entry{Key: record.TechnicianRef, Value: b.person, Time: b.now(), By: b.person}
	b.edit(func(j *record.Job) { j.Set(e) })
}

// Change makes a change of the job that is no entry.
func (b *Bench) Change(change func(j *record.Job)) {
	if b.readOnly != nil {
		b.notice = "Not done. "
		b.window.paintBar()
		return
	}
	b.edit(change)
	b.changed()
}

// endOfRise enters what rise readings say of the end of the hold, where nobody did.
func (b *Bench) endOfRise(text, tool string) {
	minutes, micron, ok := assess.RiseEnds(text)
	for _, e := range []record.Entry{{Key: record.VacuumTime, Value: minutes, Unit: "min"}, {Key: record.VacuumEnd, Value: micron, Unit: "micron", Instrument: tool}} {
		if _, there := b.job.Entry(e.Key); ok && !there {
			e.Time, e.By = b.now(), b.person
			b.edit(func(j *record.Job) { j.Set(e) }) // one that does not fit is kept as a draft, with its reason
		}
	}
}

// endWait ends the wait at whose end a reading is taken, now that it is entered and the
// goal is reached: a reading before that is a look between, and the clock runs on. The
// rise says by itself when it was read last; a pressure is read when it is typed.
func (b *Bench) endWait(key record.Key) {
	if b.report == nil {
		return
	}
	now := b.now()
	for _, c := range b.report.Clocks {
		if c.Fills == key && b.job.Text(c.Key) != "" { // how long it was is said by who types it
			b.edit(func(j *record.Job) { j.Set(record.Entry{Key: c.Key, Time: now, By: b.person}) })
		}
		if c.Read != key {
			continue
		}
		var err error // by the job, for the report may be older
		if c.Started, err = time.Parse(time.RFC3339, b.job.Text(c.Key)); err != nil || !c.Due(now) {
			continue
		}
		m := int(c.Past(now).Minutes())
		if key == record.VacuumRise {
			minutes, _, ok := assess.RiseEnds(b.job.Text(key))
			last, err := strconv.ParseFloat(minutes, 64)
			if !ok || err != nil || last < c.Goal.Minutes() || last > c.Past(now).Minutes()+1 {
				continue
			}
			m = int(last)
		}
		b.edit(func(j *record.Job) {
			if j.Set(record.Entry{Key: c.Fills, Value: strconv.Itoa(m), Unit: "min", Time: now, By: b.person}) != nil {
				return // the clock runs on
			}
			j.Set(record.Entry{Key: c.Key, Time: now, By: b.person})
		})
	}
}

// beginWait starts the clock of the nitrogen hold with the readings at its start, for it is
// from these that it counts, and again where one of them is read anew. Once the reading at
// its end is entered a change of these is a correction.
func (b *Bench) beginWait(key record.Key) {
	j := b.job
	if key != record.TestP1 && key != record.TestT1 || j.Text(record.TestP2) != "" || j.Text(record.TestTime) != "" || j.Later(key) {
		return
	}
	p, read := j.Entry(record.TestP1)
	t, too := j.Entry(record.TestT1)
	if !read || !too {
		return
	}
	at := p.Time
	if t.Time.After(at) {
		at = t.Time
	}
	b.edit(func(j *record.Job) {
		j.Set(record.Entry{Key: record.HoldStarted, Value: assess.Stamp(at), Time: at, By: b.person})
	})
	b.notice = "The clock of the nitrogen hold runs from these readings."
}

// holdFollows lets the clock go with the reading that started it, once that is no more: it
// runs from the one that stands now, if any does.
func (b *Bench) holdFollows(key record.Key, gone record.Entry) {
	clock, runs := b.job.Entry(record.HoldStarted)
	if key != record.TestP1 && key != record.TestT1 || !runs || !clock.Time.Equal(gone.Time) {
		return
	}
	b.edit(func(j *record.Job) {
		j.Set(record.Entry{Key: record.HoldStarted, Time: b.now(), By: b.person})
	})
	b.beginWait(key)
}

// edit is the one way in which the job is changed.
func (b *Bench) edit(change func(j *record.Job)) {
	change(b.job)
	b.notice = ""
	if b.turn != nil {
		b.turn.since = append(b.turn.since, change)
	}
}

// changed saves and assesses what the job has become.
func (b *Bench) changed() {
	b.save()
	b.recalc()
}

// Draft keeps what was typed outside the panes' own fields and cannot be entered,
// with the reason; an empty reason lets it go.
func (b *Bench) Draft(key record.Key, text, why string) {
	_, had := b.job.Draft(key)
	if _, err := record.ByKey(key); err != nil || !had && why == "" || b.readOnly != nil {
		return
	}
	b.edit(func(j *record.Job) {
		j.Drafts = slices.DeleteFunc(slices.Clone(j.Drafts), func(d record.Draft) bool { return d.Key == key })
		if why != "" {
			j.Drafts = append(j.Drafts, record.Draft{Key: key, Value: text, Reason: why})
		}
	})
	b.save()
}

// Typing assesses what is being typed, without entering it.
func (b *Bench) Typing(key record.Key, text, unit, tool string) {
	f, err := record.ByKey(key)
	if err != nil || f.Kind != record.Number {
		return
	}
	b.typed++
	shown := b.input.Entered
	if text != "" {
		j := b.input.Job.Clone()
		j.Set(record.Entry{Key: key, Value: text, Unit: unit, Instrument: tool, Time: b.now()})
		shown = assess.New(j)
	}
	b.offer(shown)
}

// recalc assesses the job as it was entered: once, for all that shows it.
func (b *Bench) recalc() {
	b.revision++
	j := b.job.Clone()
	b.input = section.Input{Job: j, Entered: assess.New(j), Revision: b.revision, Apart: maps.Clone(b.apart), Photos: b.Photos()}
	b.offer(b.input.Entered)
}

// offer hands the newest revision to the window and to the pane on show. Other
// panes get it when they are opened.
func (b *Bench) offer(shown *assess.Assessment) {
	b.input.Shown, b.input.Typed, b.input.System, b.input.Now, b.input.Person = shown, b.typed, b.system, b.now(), b.person
	revision, entered := b.revision, shown == b.input.Entered
	b.assessing.Ask(func() func() {
		r, err := shown.Report()
		return func() {
			b.runErr = err
			if err == nil {
				b.report = r
				if entered {
					b.onward.judged(b.job.ID, revision, r)
				}
			} else {
				b.trouble.Say("not assessed: " + err.Error())
			}
			b.paintRoute()
			b.window.paintBar()
			b.goOn()
		}
	})
	if p := b.panes[b.at]; p != nil {
		p.Offer(b.input)
	}
}

// save writes the job beside the finger. While an undo is under way that waits: what
// is written has to go on from it.
func (b *Bench) save() {
	b.unsaved++
	if b.turn != nil {
		b.window.paintBar()
		return
	}
	b.waiting.put(unwritten{b.keep, b.job.Clone(), b.person})
	b.window.paintBar()
	b.write()
}

// write saves all that waits.
func (b *Bench) write() {
	n := b.unsaved
	b.saving.Ask(func() func() {
		err := b.waiting.write()
		return func() {
			b.saveErr = err
			if err != nil {
				b.trouble.Say("not saved: " + err.Error())
			}
			if err == nil {
				b.savedAt = b.now()
				b.unsaved = max(0, b.unsaved-n) // none where another job came meanwhile
			}
			b.window.paintBar()
		}
	})
}

func (b *Bench) paintRoute() { b.window.paintRoute(section.Stages(b.report), b.at) }

// status says whether everything is on disk, bad that it is not, and before it what
// waits run.
func (b *Bench) status() (text string, bad bool) {
	text, bad = b.kept()
	if c := section.ClockStatus(b.report, b.now()); c != "" {
		text = c + "  |  " + text
	}
	if x := b.exchangeStatus(); x != "" {
		text += "  |  " + section.Sentence(x)
	}
	return text, bad
}

// kept says whether everything is on disk; bad tells that it is not.
func (b *Bench) kept() (text string, bad bool) {
	switch {
	case b.saveErr != nil:
		return "NOT SAVED: " + b.saveErr.Error() + ". Everything typed is still here; touch to try again.", true
	case b.runErr != nil:
		return "Cannot assess: " + b.runErr.Error(), true
	case b.readOnly != nil:
		return b.notice + "READ ONLY: " + b.readOnly.Error(), true
	case b.note != "":
		return b.note, true
	case b.unsaved > 0:
		return "Saving", false
	case b.notice != "":
		return b.notice, false
	case b.savedAt.IsZero():
		return "Nothing entered yet", false
	case sameDay(b.savedAt, b.now()):
		return "Saved " + b.savedAt.Format("15:04:05"), false
	}
	return "Last saved " + b.savedAt.Format("2006-01-02 15:04"), false
}

func sameDay(a, b time.Time) bool {
	return a.Format(time.DateOnly) == b.In(a.Location()).Format(time.DateOnly)
}

// title names the job.
func (b *Bench) title() string {
	t := b.job.ID
	if o := b.job.Text(record.OwnerRef); o != "" {
		t = o + "  (" + b.job.ID + ")"
	}
	if b.job.Demo {
		t = "DEMO, invented data: " + t
	}
	if b.archived != "" {
		t = "PUT AWAY (" + b.archived + "): " + t
	}
	return t
}

// SetSystem changes the units shown, and with them those in which the job's limits are
// written; entries keep the unit they were typed in. What is signed stays as it was
// judged and is shown in other units only.
func (b *Bench) SetSystem(s units.System) {
	b.Leave()
	b.system, b.tablet = s, s
	if _, signed := b.job.Signed(); !signed && b.readOnly == nil && len(b.job.Entries) > 0 && assess.System(b.job) != s {
		b.edit(b.limitsIn(s))
		b.save()
	}
	b.panes = map[int]*section.Pane{}
	b.recalc()
	b.open(b.at)
	b.Remember()
}

// limitsIn writes down the units of a job's limits.
func (b *Bench) limitsIn(s units.System) func(*record.Job) {
	e := record.Entry{Key: record.LimitUnits, Value: record.InchPound, Time: b.now(), By: b.person}
	if s == units.SI {
		e.Value = record.Metric
	}
	return func(j *record.Job) { j.Set(e) } // one of its own options
}

// follow shows the job at hand in the units of its limits; one without an entry yet in
// those of this tablet.
func (b *Bench) follow() {
	if b.system = b.tablet; len(b.job.Entries) > 0 {
		b.system = assess.System(b.job)
	}
}

// SetDark changes the palette. The toolkit repaints all that is on show in one
// go, too much for one frame: the pane is taken away first and made anew after.
func (b *Bench) SetDark(dark bool) {
	b.Leave()
	b.dark = dark
	p := theme.Light
	if dark {
		p = theme.Dark
	}
	var was *section.Pane
	if b.panes[b.at] != nil {
		was = b.pane()
	}
	b.panes = map[int]*section.Pane{}
	b.window.show(nil)
	fyne.CurrentApp().Settings().SetTheme(theme.Theme{Palette: p})
	b.window.paintBar()
	b.Remember()
	// The step comes back as a piece of its own: the toolkit has just forgotten how
	// wide every word is, and both at once take longer than a frame.
	at := b.at
	b.dressing.Now = b.assessing.Now
	b.dressing.Ask(func() func() {
		return func() {
			if b.at == at && b.panes[at] == nil { // else another step was opened meanwhile
				b.open(at)
				b.pane().ResumeFrom(was)
			}
		}
	})
}

// SetPerson says who is typing.
func (b *Bench) SetPerson(ref string) {
	b.person = aName(ref)
	b.offer(b.input.Entered)
	b.Remember()
}

// aName is a reference that can stand beside an entry: what could not be kept there would
// keep everything after it from being saved.
func aName(ref string) string {
	const most = 100
	ref = strings.TrimSpace(strings.ToValidUTF8(ref, ""))
	for n := range ref {
		if n > most {
			return strings.TrimSpace(ref[:n])
		}
	}
	return ref
}

// SetJob puts another job on the bench.
func (b *Bench) SetJob(k jobStore, j *record.Job) { b.put(opening{keep: k, job: j}) }

// put is SetJob of one that was opened.
func (b *Bench) put(o opening) {
	b.Leave()
	j := o.job
	if held := b.waiting.of(o.keep, j.ID); held != nil { // newer than what was read
		j = held
	}
	b.keep, b.job, b.report, b.sitting.Units = o.keep, j, nil, nil
	b.sitting.Tools = map[string]string{} // they were the other job's
	b.panes = map[int]*section.Pane{}
	b.savedAt, b.unsaved, b.saveErr, b.note, b.notice = o.at, 0, nil, o.warn, o.notice
	b.readOnly, b.archived, b.apart, b.turn, b.stale, b.photos = o.readOnly, o.archived, o.apart, nil, false, o.photos
	b.follow()
	b.recalc()
	b.open(stepOf(j))
	if o.fresh {
		b.pane().LeadFrom()
		b.save()
	} else if len(b.waiting.list()) > 0 { // "saved" is not said while anything waits
		b.unsaved++
		b.write()
	}
}

// Remember keeps person, units, palette and what columns of logs were said to be.
func (b *Bench) Remember() {
	if b.remind != nil {
		b.remind()
	}
}

// Focus is told when an entry gains or loses the cursor: one that gains it is the
// one typed in.
func (b *Bench) Focus(r *widget.Row, got bool) {
	if !got {
		return
	}
	b.loose = ""
	if was := b.active; was != nil && was != r {
		was.Commit()
	}
	b.active = r
	r.OnKeys, r.OnStray = b.window.aside, b.stray
	letters := r.Field.Kind == widget.TextField || r.Field.Kind == widget.NoteField || r.Field.Kind == widget.DateField
	if !b.keyboard && (r.Field.Kind == widget.NumberField && b.keys || letters && b.own.Letters) {
		b.window.aim(r)
	} else {
		b.window.aim(nil)
	}
}

// stray says that what is typed goes nowhere: r is a choice, which a touch answers, or nil
// where nothing has the cursor.
func (b *Bench) stray(r *widget.Row, typed string) {
	b.notice = "Not entered: " + typed + ". No field has the cursor; touch one first."
	if r != nil {
		b.notice = "Not entered: " + typed + ". It was typed at \"" + r.Field.Label + "\", which a touch answers."
	}
	b.window.paintBar()
}

// What sections ask of the bench.

func (b *Bench) Job() *record.Job          { return b.job }
func (b *Bench) Report() *assess.Report    { return b.report }
func (b *Bench) System() units.System      { return b.system }
func (b *Bench) Now() time.Time            { return b.now() }
func (b *Bench) Person() string            { return b.person }
func (b *Bench) Sitting() *section.Sitting { return b.sitting }
func (b *Bench) Inline() bool              { return b.assessing.Now }
func (b *Bench) Browse() func(done func(path string)) {
	return b.browse
}

// Export writes the workbook beside the finger and then says where it is.
func (b *Bench) Export(done func(path string, err error)) {
	if b.export == nil {
		done("", errors.New("this build has no workbook to export to"))
		return
	}
	b.Leave()
	j, dir, sys, from := b.job.Clone(), b.keep.dir, b.system, b.Photos()
	b.exporting.Ask(func() func() {
		var photos []workbook.Photo
		for _, a := range from.All {
			raw, err := from.Read(a)
			photos = append(photos, workbook.PhotoOf(a.Name, record.Step(a.For), a.By, a.At, raw, err))
		}
		path, err := b.export(j, photos, dir, sys)
		return func() { done(path, err) }
	})
}

// Label writes the label that goes beside the old plate, as picture and as PDF, beside
// the finger and then says where it is.
func (b *Bench) Label(done func(path string, err error)) {
	b.Leave()
	j, dir := b.job.Clone(), b.keep.dir
	b.exporting.Ask(func() func() {
		path, err := writeLabel(j, dir)
		return func() { done(path, err) }
	})
}

// Print writes a picture as PDF beside the finger, and the bar says where it is.
func (b *Bench) Print(name, title string, pic *chart.Picture) {
	b.Leave()
	j, dir := b.job, b.keep.dir
	path := filepath.Join(dir, strings.TrimSuffix(workbook.FileName(j), ".xlsx")+"-"+name+".pdf")
	foot := j.ID
	if j.Demo {
		foot += ", DEMO, invented data"
	}
	b.exporting.Ask(func() func() {
		err := archive.Replace(path, func(w io.Writer) error { return chart.WritePDF(w, pic, title, foot) })
		return func() {
			b.notice = "Written: " + path
			if err != nil {
				b.note = "Not written: " + err.Error()
			}
			b.window.paintBar()
		}
	})
}

// OwnerPage writes the page for the owner beside the finger and then says where it is.
func (b *Bench) OwnerPage(done func(path string, err error)) {
	b.Leave()
	j, dir, settings := b.job.Clone(), b.keep.dir, b.settingsDir()
	b.exporting.Ask(func() func() {
		path, err := writeOwner(j, dir, settings)
		return func() { done(path, err) }
	})
}

// ConsentPage writes the page that the owner signs before work begins beside the finger
// and then says where it is.
func (b *Bench) ConsentPage(done func(path string, err error)) {
	b.Leave()
	j, dir := b.job.Clone(), b.keep.dir
	b.exporting.Ask(func() func() {
		path := filepath.Join(dir, strings.TrimSuffix(workbook.FileName(j), ".xlsx")+"-consent.pdf")
		a := assess.New(j)
		err := archive.Replace(path, func(w io.Writer) error { return consent.Write(w, a, "Letter") })
		mark, failed := "", err
		if err == nil {
			mark, failed = consent.Mark(a)
		}
		return func() {
			// That it was written is noted of the job that it was written of, as it was.
			switch {
			case failed != nil:
			case b.job.ID != j.ID || len(b.job.Entries) != len(j.Entries):
				failed = errors.New("it was changed while the page was written: write it again")
			default:
				failed = b.Enter(record.ConsentPage, mark, "", "")
			}
			if failed != nil && err == nil {
				b.note = "The page is not noted in the job: " + failed.Error()
				b.window.paintBar()
			}
			done(path, err)
		}
	})
}

// OrderList writes what is to be ordered and brought, beside the finger.
func (b *Bench) OrderList(done func(path string, err error)) {
	b.Leave()
	j, dir := b.job.Clone(), b.keep.dir
	b.exporting.Ask(func() func() {
		path := filepath.Join(dir, strings.TrimSuffix(workbook.FileName(j), ".xlsx")+"-order.pdf")
		err := archive.Replace(path, func(w io.Writer) error { return orderlist.Write(w, assess.New(j), "Letter") })
		return func() { done(path, err) }
	})
}

// SetLanguage says everything in another language, with another decimal mark.
func (b *Bench) SetLanguage(language, mark string) {
	b.Leave()
	if err := words.Use(language, mark); err != nil {
		b.trouble.Say("words not read: " + err.Error())
		b.note = "The words of this language cannot be read."
	}
	b.own.Language, b.own.Mark = language, mark
	was := b.panes[b.at]
	b.panes = map[int]*section.Pane{}
	b.open(b.at)
	b.pane().ResumeFrom(was)
	b.window.paintBar()
	b.window.Refresh()
	b.Remember()
}

// writeOwner writes a job's page for the owner; the newest stands for the job as it is.
func writeOwner(j *record.Job, dir, settings string) (string, error) {
	setting, err := owner.Calls(settings)
	if err != nil {
		return "", err
	}
	r, err := assess.Run(j)
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, strings.TrimSuffix(workbook.FileName(j), ".xlsx")+"-owner.pdf")
	return path, archive.Replace(path, func(w io.Writer) error { return owner.Write(w, j, r, "Letter", owner.Whom(j, "", setting)) })
}

// writeLabel writes both files of a job's label; the newest stands for the job as it is.
func writeLabel(j *record.Job, dir string) (string, error) {
	r, err := assess.Run(j)
	if err != nil {
		return "", err
	}
	stem := strings.TrimSuffix(workbook.FileName(j), ".xlsx") + "-label"
	path := filepath.Join(dir, stem+".png")
	for to, write := range map[string]func(io.Writer, *record.Job, *assess.Report) error{path: label.WritePNG, filepath.Join(dir, stem+".pdf"): label.Write} {
		if err := archive.Replace(to, func(w io.Writer) error { return write(w, j, r) }); err != nil {
			return "", err
		}
	}
	return path, nil
}
