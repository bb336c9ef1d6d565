package app

import (
	"errors"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// Bench is the workbench on one job. Its methods are called on the toolkit's
// thread; the work it starts runs beside it.
type Bench struct {
	keep    keeper
	job     *record.Job
	report  *assess.Report
	pics    map[record.Step]*chart.Picture // drawn from the report
	show    shown
	person  string
	dark    bool
	keys    bool // the keypad comes up with a number
	at      int  // index into record.Steps
	entered int  // times that something was entered, a log and an instrument included; typing does not count
	export  func(*record.Job, string, units.System) (string, error)

	assessing, saving, exporting widget.Latest
	savedAt                      time.Time
	unsaved                      int // edits not yet on disk
	saveErr, runErr              error
	note                         string // something to tell once

	panes   map[int]*pane
	active  *widget.Row
	units   []unitBefore      // the old unit before each change at this sitting
	tools   map[string]string // instrument last used, by class
	desk    *desk
	canvas  func() fyne.Canvas
	now     func() time.Time
	columns map[string]remembered        // what columns of logs were said to be, by their names
	browse  func(done func(path string)) // asks for a file; nil where there is no window
	remind  func()                       // remember person, units, theme
}

// newBench makes a bench about a job. With still set, nothing runs beside the
// caller: for tests and pictures on paper.
func newBench(k keeper, j *record.Job, still bool) *Bench {
	b := &Bench{keep: k, job: j, keys: true, panes: map[int]*pane{}, tools: map[string]string{}, columns: map[string]remembered{}, now: time.Now}
	b.assessing.Now, b.saving.Now, b.exporting.Now = still, still, still
	b.show.site = 101325
	for i, s := range record.Steps {
		if s.Step == j.Step {
			b.at = i
		}
	}
	b.savedAt = k.saved(j)
	b.desk = newDesk(b)
	b.open(b.at)
	b.recalc()
	return b
}

func (b *Bench) step() record.StepInfo { return record.Steps[b.at] }

// Go opens a step and remembers it in the job.
func (b *Bench) Go(i int) {
	if i < 0 || i >= len(record.Steps) {
		return
	}
	b.leave()
	b.open(i)
	if b.job.Step != b.step().Step {
		b.job.Step = b.step().Step
		b.save()
	}
}

func (b *Bench) open(i int) {
	b.at = i
	b.active = nil
	p := b.pane()
	p.refill()
	p.update()
	b.desk.show(p)
	b.paintRoute()
}

// leave commits whatever is being typed.
func (b *Bench) leave() {
	if b.active != nil {
		b.active.Commit()
	}
	if c := b.theCanvas(); c != nil {
		c.Unfocus()
	}
}

func (b *Bench) theCanvas() fyne.Canvas {
	if b.canvas == nil {
		return nil
	}
	return b.canvas()
}

func (b *Bench) pane() *pane {
	p := b.panes[b.at]
	if p == nil {
		p = b.newPane(b.step())
		b.panes[b.at] = p
	}
	return p
}

// openWords are what meters show for an open line.
var openWords = map[string]bool{"open": true, "ol": true, "o.l": true, "o.l.": true, "0l": true}

// commit enters what was typed. What the field refuses is kept as a draft; both
// are saved.
func (b *Bench) commit(key record.Key, text, unit, tool string) error {
	f, err := record.ByKey(key)
	if err != nil {
		return err
	}
	if openWords[strings.ToLower(text)] && slices.Contains(f.Options, record.OpenLine) {
		text = record.OpenLine
	}
	e := record.Entry{Key: key, Value: text, Time: b.now(), By: b.person}
	if f.Kind == record.Number && text != "" {
		e.Unit, e.Instrument = unitName(f, unit), tool
	}
	err = b.job.Set(e)
	b.save()
	b.recalc()
	var fe *record.FieldError
	if errors.As(err, &fe) {
		return errors.New(fe.Reason)
	}
	return err
}

// draft keeps what was typed outside the panes' own fields and cannot be entered,
// with the reason; an empty reason lets it go.
func (b *Bench) draft(key record.Key, text, why string) {
	_, had := b.job.Draft(key)
	if _, err := record.ByKey(key); err != nil || !had && why == "" {
		return
	}
	b.job.Drafts = slices.DeleteFunc(slices.Clone(b.job.Drafts), func(d record.Draft) bool { return d.Key == key })
	if why != "" {
		b.job.Drafts = append(b.job.Drafts, record.Draft{Key: key, Value: text, Reason: why})
	}
	b.save()
}

// recalc assesses the job as it stands, with entries being typed laid on top.
func (b *Bench) recalc(typing ...record.Entry) {
	if len(typing) == 0 {
		b.entered++
	}
	j := b.job.Clone()
	for _, e := range typing {
		if e.Value != "" {
			j.Set(e)
		}
	}
	s := b.show
	s.fluid = j.Text(record.Refrigerant)
	b.assessing.Ask(func() func() {
		r, err := assess.Run(j)
		pics := map[record.Step]*chart.Picture{}
		if err == nil {
			s.site = r.Site
			pics[record.Running] = plane(r, s)
			pics[record.CloseUp] = rise(r, s)
		}
		return func() { b.apply(r, pics, s, err) }
	})
}

func (b *Bench) apply(r *assess.Report, pics map[record.Step]*chart.Picture, s shown, err error) {
	b.runErr = err
	if err == nil {
		b.report, b.pics = r, pics
		b.show.site, b.show.fluid = s.site, s.fluid
	}
	b.pane().update()
	b.paintRoute()
	b.desk.paintBar()
}

func (b *Bench) save() {
	j := b.job.Clone()
	b.unsaved++
	n := b.unsaved
	keep := b.keep
	b.desk.paintBar()
	b.saving.Ask(func() func() {
		err := keep.save(j)
		return func() {
			b.saveErr = err
			if err == nil {
				b.savedAt = b.now()
				b.unsaved -= n
			}
			b.desk.paintBar()
		}
	})
}

// stages is the route as shown.
func (b *Bench) stages() []widget.Stage {
	out := make([]widget.Stage, len(record.Steps))
	for i, s := range record.Steps {
		out[i] = widget.Stage{Title: s.Title, State: widget.Ready}
		if b.report == nil {
			continue
		}
		for _, st := range b.report.Steps {
			if st.Step == s.Step {
				out[i].State, out[i].Why = states[st.Word], st.Why
			}
		}
	}
	return out
}

func (b *Bench) paintRoute() { b.desk.paintRoute(b.stages(), b.at) }

// status says whether everything is on disk; bad tells that it is not.
func (b *Bench) status() (text string, bad bool) {
	switch {
	case b.saveErr != nil:
		return "NOT SAVED: " + b.saveErr.Error() + ". Everything typed is still here; touch to try again.", true
	case b.runErr != nil:
		return "Cannot assess: " + b.runErr.Error(), true
	case b.note != "":
		return b.note, true
	case b.unsaved > 0:
		return "Saving", false
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
	return t
}

// SetSystem changes the units shown; entries keep the unit they were typed in.
func (b *Bench) SetSystem(s units.System) {
	b.leave()
	b.show.system = s
	b.panes = map[int]*pane{}
	b.open(b.at)
	b.recalc()
	b.remember()
}

// SetDark changes the palette.
func (b *Bench) SetDark(dark bool) {
	b.dark = dark
	p := theme.Light
	if dark {
		p = theme.Dark
	}
	fyne.CurrentApp().Settings().SetTheme(theme.Theme{Palette: p})
	b.desk.Refresh()
	b.remember()
}

// SetPerson says who is typing.
func (b *Bench) SetPerson(ref string) {
	b.person = strings.TrimSpace(ref)
	b.desk.paintBar()
	b.remember()
}

// SetJob puts another job on the bench.
func (b *Bench) SetJob(k keeper, j *record.Job) {
	b.leave()
	b.keep, b.job, b.report, b.pics, b.units = k, j, nil, nil, nil
	b.panes = map[int]*pane{}
	b.savedAt, b.unsaved, b.saveErr, b.note = k.saved(j), 0, nil, ""
	at := 0
	for i, s := range record.Steps {
		if s.Step == j.Step {
			at = i
		}
	}
	b.open(at)
	b.recalc()
}

func (b *Bench) remember() {
	if b.remind != nil {
		b.remind()
	}
}

// focus is told when an entry of the step gains or loses the cursor.
func (b *Bench) focus(r *widget.Row, got bool) {
	b.take(r, got)
	if got {
		b.pane().reveal(r)
	}
}

// take makes an entry the one that is typed in.
func (b *Bench) take(r *widget.Row, got bool) {
	if !got {
		return
	}
	if was := b.active; was != nil && was != r {
		was.Commit()
	}
	b.active = r
	if r.Field.Kind == widget.NumberField && b.keys {
		b.desk.aim(r)
	} else {
		b.desk.aim(nil)
	}
}

// move goes to the next or the previous entry; past the last it stays and
// commits.
func (b *Bench) move(from *widget.Row, by int) {
	rows := b.pane().rows
	i := 0
	for k, r := range rows {
		if r == from {
			i = k
		}
	}
	for i += by; i >= 0 && i < len(rows); i += by {
		if rows[i].Visible() && rows[i].Focus() {
			return
		}
	}
	b.leave()
}

// typing assesses what is being typed, without entering it.
func (b *Bench) typing(key record.Key, text, unit, tool string) {
	f, err := record.ByKey(key)
	if err != nil || f.Kind != record.Number {
		return
	}
	b.recalc(record.Entry{Key: key, Value: text, Unit: unitName(f, unit), Instrument: tool, Time: b.now()})
}

// toolsFor lists the job's instruments that read a dimension; the first stands
// for one that was not named.
func (b *Bench) toolsFor(f record.Field) []string {
	if f.Kind != record.Number || f.Origin != record.Measured {
		return nil
	}
	var out []string
	for _, i := range b.job.Instruments {
		for _, a := range i.Accuracy {
			if a.Dim == f.Dim {
				out = append(out, i.ID)
				break
			}
		}
	}
	if out == nil {
		return nil
	}
	return append([]string{anyTool}, out...)
}

const anyTool = "not named"

func toolID(word string) string {
	if word == anyTool {
		return ""
	}
	return word
}

// Export writes the workbook beside the finger and then says where it is.
func (b *Bench) Export(done func(path string, err error)) {
	if b.export == nil {
		done("", errors.New("this build has no workbook to export to"))
		return
	}
	b.leave()
	j, dir, sys := b.job.Clone(), b.keep.dir, b.show.system
	b.exporting.Ask(func() func() {
		path, err := b.export(j, dir, sys)
		return func() { done(path, err) }
	})
}
