package section

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

// enteredElsewhere are fields without a row of their own: one is chosen from the
// list in the middle, the others are entered by acknowledging cautions.
func enteredElsewhere(f record.Field) bool {
	return f.Key == record.OldControls || f.Key == gates[f.Group].key
}

// said are fields whose options are said at more length in the list.
var said = map[record.Key]func(options []string) []string{record.Refrigerant: fluidBriefs}

// rowState is what a row is to show.
type rowState struct {
	text, unit, wrong, note, tool string
	kept                          bool             // a note that was being typed
	means                         []record.Meaning // of what was typed, where it has more than one
	noted                         record.Key       // asked beside this field, if not zero
	again                         string           // who may sign again, a signature that no longer stands
	sign                          string           // who is typing, and may sign with a touch
	unnamed                       bool             // its instrument is what a close call lacks
}

// fieldsState is what the entries of a step are to show.
type fieldsState struct {
	rows  map[string]rowState // by the name of the field
	holds map[string]bool     // fields with an entry or a draft
	gates map[string]gateState
	says  map[string][]string // of the options of a field
	opens map[string]bool     // seldom fields that this job asks for now
	gone  map[string]bool     // fields that this job has no use for, or none yet
}

// entries are the fields of a step on the page.
type entries struct {
	p       *Pane
	gates   []*gate
	folds   []*fold
	heads   []groupHead
	objects []fyne.CanvasObject
}

// groupHead is the heading of a group with its rows: it is not shown over none.
type groupHead struct {
	head *widget.Heading
	rows []*widget.Row
}

// fields are the entries of the step, group by group.
func fields(p *Pane) *Section {
	e := &entries{p: p}
	p.entries = e
	e.make()
	return newSection("fields", e.objects,
		func(in Input) string { return in.typed() + in.Now.Format(" 2006-01-02 ") + in.Person }, // an acknowledgement holds for the day
		e.state, e.fill)
}

func (e *entries) add(os ...fyne.CanvasObject) { e.objects = append(e.objects, os...) }

func (e *entries) make() {
	group := ""
	var shut *gate
	var rare []*widget.Row
	ends := func() { // the group's seldom fields wait behind one key
		if len(rare) > 0 {
			f := newFold(e.p, rare)
			e.add(f.tap)
			e.folds = append(e.folds, f)
			if shut != nil {
				shut.fold = f
			}
		}
		rare = nil
	}
	for _, f := range record.Of(e.p.Info.Step) {
		if f.Group != group {
			ends()
			group = f.Group
			e.heads = append(e.heads, groupHead{head: widget.NewHeading(group)})
			e.add(e.heads[len(e.heads)-1].head)
			if shut = newGate(e.p, group); shut != nil {
				e.gates = append(e.gates, shut)
				e.add(shut.notice, shut.tap, shut.said)
			}
		}
		if enteredElsewhere(f) {
			continue
		}
		r := e.row(f)
		e.add(r)
		h := &e.heads[len(e.heads)-1]
		h.rows = append(h.rows, r)
		switch {
		case f.Seldom:
			rare = append(rare, r)
		case shut != nil:
			shut.rows = append(shut.rows, r)
		}
	}
	ends()
	// Before anything is known of the job, as it is at hand.
	e.fill(e.rows(Input{Job: e.p.Job(), Now: e.p.Now()}))
}

func (e *entries) row(f record.Field) *widget.Row {
	p := e.p
	pf := presenter{system: p.System()}.field(f)
	pf.Tools = toolsFor(p.Job(), f)
	pf.Tool = anyTool
	if t := p.Sitting().Tools[f.Class]; slices.Contains(pf.Tools, t) {
		pf.Tool = t
	} else if len(pf.Tools) == 2 && oneClass(f.Dim) {
		pf.Tool = pf.Tools[1] // the only one that reads this; "not named" can be said
	}
	r := widget.NewRow(pf)
	r.Page = func() *widget.Scroller { return p.Side }
	r.OnCommit = func(r *widget.Row, text, unit string) error {
		text, unit = below(text, unit)
		err := p.Enter(f.Key, text, unitName(f, unit), toolID(r.Field.Tool))
		if ms := meanings(err); ms != nil { // what stood there is taken away as the row is filled
			e.offer(r, f, ms)
		}
		return refusal(err)
	}
	r.OnTyping = func(r *widget.Row, text, unit string) {
		text, unit = below(text, unit)
		p.Typing(f.Key, text, unitName(f, unit), toolID(r.Field.Tool))
	}
	r.OnKeep = func(_ *widget.Row, text string) { p.Draft(f.Key, text, beingTyped) }
	r.OnCursor = func(r *widget.Row, y, h float32) { p.Side.RevealPart(r, y, h) }
	r.OnTool = func(r *widget.Row, tool string) {
		if f.Class != "" {
			p.Sitting().Tools[f.Class] = tool
		}
		if was, ok := p.Job().Entry(f.Key); ok {
			p.Enter(f.Key, was.Value, was.Unit, toolID(tool))
		}
	}
	r.OnFocus = func(r *widget.Row, got bool) {
		p.Focus(r, got)
		if got {
			p.Reveal(r)
		}
	}
	r.OnMove = p.move
	r.OnNext, r.OnChosen = p.onward, p.chosen
	r.OnPast = func(*widget.Row) { p.Past(f.Key) }
	r.OnResize = p.reflow
	p.Rows = append(p.Rows, r)
	return r
}

// oneClass tells that all readings of a dimension are taken with one class of instrument: of
// temperatures or pressures a clamp is no wet bulb, and a low-side gauge no test gauge.
func oneClass(d units.Dimension) bool {
	class := ""
	for _, f := range record.Fields {
		if f.Kind != record.Number || f.Origin != record.Measured || f.Dim != d {
			continue
		}
		if class != "" && f.Class != class {
			return false
		}
		class = f.Class
	}
	return class != ""
}

// offer shows the ways in which what was typed can be meant, each as a key that
// takes it.
func (e *entries) offer(r *widget.Row, f record.Field, ms []record.Meaning) {
	var out []widget.Meaning
	for _, m := range ms {
		out = append(out, widget.Meaning{Words: m.Words, Take: func() {
			e.p.Enter(f.Key, plainly(f, m, e.p.Now()), m.Unit, toolID(r.Field.Tool))
		}})
	}
	r.SetMeanings(out)
}

// ask offers the answers of another field as keys under a row whose entry raised the
// question.
func (e *entries) ask(r *widget.Row, k record.Key) {
	var out []widget.Meaning
	for _, o := range k.Field().Options {
		out = append(out, widget.Meaning{Words: o, Take: func() { e.p.Enter(k, o, "", "") }})
	}
	r.SetMeanings(out)
}

// name offers, under a reading whose instrument is what a close call lacks, the job's
// own that read it, and to add the one it was read with.
func (e *entries) name(r *widget.Row, f record.Field) {
	with := func(id string) {
		if was, ok := e.p.Job().Entry(f.Key); ok {
			e.p.Enter(f.Key, was.Value, was.Unit, id)
		}
	}
	var out []widget.Meaning
	for _, t := range toolsFor(e.p.Job(), f) {
		if t != anyTool {
			out = append(out, widget.Meaning{Words: "read with " + t, Take: func() { with(t) }})
		}
	}
	out = append(out, widget.Meaning{Words: "name its instrument", Take: func() { askInstrument(e.p, f.Dim, with) }})
	r.SetMeanings(out)
}

// beingTyped is why a note is kept and not entered.
const beingTyped = "typed, and not entered yet: that happens when the field is left"

// meanings are the ways in which a refused entry can be meant.
func meanings(err error) []record.Meaning {
	var fe *record.FieldError
	if errors.As(err, &fe) {
		return fe.Meanings
	}
	return nil
}

// refusal is an error without the name of its field, beside which it is shown.
func refusal(err error) error {
	var fe *record.FieldError
	if errors.As(err, &fe) {
		return errors.New(Sentence(fe.Reason))
	}
	return err
}

// plainly writes a meaning so that it can be read in no other way: three digits
// behind a point might be thousands.
func plainly(f record.Field, m record.Meaning, now time.Time) string {
	if _, _, err := f.Understand(m.Value, m.Unit, now); len(meanings(err)) > 0 && strings.Contains(m.Value, ".") {
		return m.Value + "0"
	}
	return m.Value
}

// state is what the entries are to show of a revision, the refrigerant's data
// included, which take their time.
func (e *entries) state(_ context.Context, in Input) fieldsState {
	s := e.rows(in)
	s.says = map[string][]string{}
	if f, err := fluid.Get(in.Job.Text(record.Refrigerant)); err == nil && f.Data().Flammable {
		for _, k := range forFlammable {
			delete(s.gone, k.String())
		}
	}
	for _, f := range record.Of(e.p.Info.Step) {
		if say := said[f.Key]; say != nil {
			s.says[f.Key.String()] = say(f.Options)
		}
	}
	return s
}

// rows is what the rows are to show.
func (e *entries) rows(in Input) fieldsState {
	j := in.Job
	s := fieldsState{rows: map[string]rowState{}, holds: map[string]bool{}, gates: map[string]gateState{}, opens: map[string]bool{}, gone: map[string]bool{}}
	for _, k := range forFlammable {
		s.gone[k.String()] = true // until the refrigerant is known to be one: see state
	}
	if _, charged := j.Entry(record.WeighedIn); !charged {
		s.gone[record.LeakSearch.String()] = true // at whose pressure?
	}
	if _, run := j.Entry(record.SuctionPressure); run {
		s.opens[record.Trimmed.String()] = true // by these readings
	}
	problems, unnamed := map[record.Key]string{}, map[record.Key]bool{}
	if in.Shown != nil {
		if r, err := in.Shown.Report(); err == nil {
			for _, q := range r.Problems {
				if problems[q.Key] == "" {
					problems[q.Key] = Sentence(q.Text)
				}
			}
			s.unfold(r, e.p.Info.Step)
			for _, f := range r.Findings {
				if k, ok := f.Unnamed(); ok {
					unnamed[k] = true
				}
			}
		}
	}
	again := assess.ToReadAgain(j)
	for _, f := range record.Of(e.p.Info.Step) {
		problem := problems[f.Key]
		if vs := in.Apart[f.Key]; len(vs) > 1 {
			problem = "Typed apart on two tablets: " + strings.Join(vs, " or ") + ". Hold the label to say which stands."
		}
		s.rows[f.Key.String()], s.holds[f.Key.String()] = rowOf(j, f, problem, in.Now, in.System)
		if r := s.rows[f.Key.String()]; unnamed[f.Key] && r.wrong == "" && r.means == nil {
			r.unnamed = true
			s.rows[f.Key.String()] = r
		}
		if w, outdated := again[f.Key]; outdated && s.rows[f.Key.String()].wrong == "" {
			was, _ := j.Entry(f.Key)
			s.rows[f.Key.String()], s.holds[f.Key.String()] = rowState{note: "was " + strings.TrimSpace(was.Value+" "+unitLabel(f, was.Unit)) + "; read again after: " + w}, false
		}
	}
	if k, ok := e.p.Info.Step.Reservation(); ok {
		if r := reasonOf(in.Entered, e.p.Info.Step); r != nil && s.rows[k.String()].note == "" {
			row := s.rows[k.String()]
			row.note = "covers nothing"
			if len(r.About) > 0 {
				row.note = "covers: " + strings.Join(r.About, "; ")
			}
			s.rows[k.String()] = row
		}
	}
	for _, span := range record.Spans {
		if r, ok := s.rows[span.Held.String()]; ok && r.wrong != "" && problems[span.Held] != "" {
			r.noted = span.Noted
			s.rows[span.Held.String()] = r
			// What was answered of earlier readings is no answer for these.
			if was := j.Text(span.Noted); was == record.NotedLater {
				s.rows[span.Noted.String()] = rowState{note: "was " + was + ", of what stood then"}
				s.holds[span.Noted.String()] = true
			}
		}
	}
	if r, ok := s.rows[record.SignedBy.String()]; ok {
		if by := in.Person; r.text == "" && r.wrong == "" && record.Said(by) && j.Unconfirmed() == 0 {
			r.sign = by
			s.rows[record.SignedBy.String()] = r
		}
		if is, signed := j.Signed(); signed && !is.Stands {
			r.again = is.Value
			r.wrong = "Signed, and changed since: " + strings.Join(is.Since, ", ") + ". It stands for nothing until it is signed again."
			s.rows[record.SignedBy.String()] = r
		}
	}
	if r, ok := s.rows[record.SignedBy.String()]; ok && r.wrong == "" && r.text != "" {
		if heldBy(in.Entered, record.HandOver) {
			r.note = "signed, and hands nothing over while the step is held"
			s.rows[record.SignedBy.String()] = r
		}
	}
	for _, g := range e.gates {
		s.gates[g.group] = gateOf(j, g.group, in.Now)
	}
	return s
}

// forFlammable are the fields that only a flammable refrigerant asks for.
var forFlammable = []record.Key{record.FlammableRead, record.FlammableMost}

// unfold opens the seldom fields that a report asks for: the ways out of a pressure test
// that no one pressure passes, and the reservation where something stands against a step.
func (s *fieldsState) unfold(r *assess.Report, step record.Step) {
	for _, f := range r.Of(step) {
		if f.Verdict == assess.Outside && (f.Key == "test_limit" || f.Key == "test_reach") {
			for _, k := range []record.Key{record.TestValves, record.TestOutdoor, record.LeakSearch} {
				s.opens[k.String()] = true
			}
		}
	}
	for _, f := range r.Of(step) {
		if f.Key == "vacuum_word" && f.Verdict == assess.TooClose {
			s.opens[record.GaugeRepeats.String()] = true
		}
	}
	k, ok := step.Reservation()
	for _, st := range r.Steps {
		if ok && st.Step == step && slices.ContainsFunc(st.Left, func(m assess.Matter) bool { return m.Stand != assess.IsMissing }) {
			s.opens[k.String()] = true
		}
	}
}

// rowOf is what the job holds of a field, and whether it holds anything.
func rowOf(j *record.Job, f record.Field, problem string, now time.Time, shown units.System) (rowState, bool) {
	e, entered := j.Entry(f.Key)
	if d, ok := j.Draft(f.Key); ok {
		if d.From != "" {
			return rowState{text: d.Value, unit: unitLabel(f, d.Unit), note: "from " + d.From + ": not confirmed"}, true
		}
		note := "not entered"
		if entered {
			note = "not entered; " + strings.TrimSpace(e.Value+" "+unitLabel(f, e.Unit)) + " stands"
		}
		s := rowState{text: d.Value, unit: unitLabel(f, d.Unit), wrong: Sentence(d.Reason), note: note, kept: d.Reason == beingTyped}
		_, _, err := f.Understand(d.Value, d.Unit, now)
		s.means = meanings(err)
		return s, true
	}
	if !entered {
		if was := before(j, f); was != "" {
			return rowState{note: "taken back; was " + was}, true
		}
		return rowState{}, false
	}
	note := ""
	if f.Kind == record.Number && f.Origin == record.Measured {
		note = e.Time.Format("15:04") // by the clock of where it was read
		if j.Later(f.Key) {
			note = "entered later than measured, " + note
		}
		if e.Instrument != "" {
			note += ", " + e.Instrument
		} else if e.By != "" {
			note += ", " + e.By
		}
	}
	if a, ok := j.Number(f.Key); ok {
		if u := a.Unit.In(shown); u != a.Unit && u.Gauge == a.Unit.Gauge { // every reading can be read in one system
			in := "= " + limit(u.FromSI(a.SI(0), 0)) + " " + u.Label
			if note != "" {
				in += "; "
			}
			note = in + note
		}
	}
	if inches, ok := strings.CutSuffix(e.Typed, " inHg"); ok && f.Key == record.RecoveryLevel && strings.HasPrefix(e.Value, "-") && !strings.HasPrefix(inches, "-") {
		if note != "" {
			note = "; " + note
		}
		return rowState{text: inches, unit: vacuumSide, wrong: problem, note: "= " + e.Value + " " + unitLabel(f, e.Unit) + note, tool: e.Instrument}, true // as the gauge has it
	}
	if e.Typed != "" {
		if note != "" {
			note += "; "
		}
		note += "typed: " + e.Typed
	}
	return rowState{text: e.Value, unit: unitLabel(f, e.Unit), wrong: problem, note: note, tool: e.Instrument}, true
}

// before is what stood in a field that was emptied, "" where nothing ever did.
func before(j *record.Job, f record.Field) string {
	for n := len(j.Entries) - 1; n >= 0; n-- {
		if e := j.Entries[n]; e.Key == f.Key && e.Value != "" {
			return strings.TrimSpace(e.Value + " " + unitLabel(f, e.Unit))
		}
	}
	return ""
}

func (e *entries) fill(s fieldsState) {
	for _, r := range e.p.Rows {
		q, ok := s.rows[r.Field.Key]
		if !ok {
			continue
		}
		r.SetSays(s.says[r.Field.Key])
		if q.text == "" && q.note == "" && q.wrong == "" && r.Field.Tool != "" && r.Field.Tool != anyTool {
			q.note = "to be read with " + r.Field.Tool
		}
		r.SetValue(q.text, q.unit, q.wrong, q.note)
		if q.kept {
			r.SetKept()
		}
		if f, err := record.ByName(r.Field.Key); err == nil {
			if q.unnamed {
				e.name(r, f)
			} else {
				e.offer(r, f, q.means)
			}
		}
		if q.noted != (record.Key{}) {
			e.ask(r, q.noted)
		}
		if q.again != "" { // the same text typed again is no entry of a row
			r.SetMeanings([]widget.Meaning{{Words: "sign again: " + q.again, Take: func() { e.p.Enter(record.SignedBy, q.again, "", "") }}})
		}
		if q.sign != "" {
			r.SetMeanings([]widget.Meaning{{Words: "sign as " + q.sign, Take: func() { e.p.Enter(record.SignedBy, q.sign, "", "") }}})
		}
		if q.tool != "" {
			r.Field.Tool = q.tool
		}
	}
	for _, f := range e.folds {
		f.holds, f.opens, f.gone = s.holds, s.opens, s.gone
		f.apply()
	}
	for _, h := range e.heads {
		show(h.head, len(h.rows) == 0 || slices.ContainsFunc(h.rows, func(r *widget.Row) bool { return !s.gone[r.Field.Key] }))
	}
	for _, g := range e.gates {
		g.apply(s.gates[g.group])
	}
}

const anyTool = "not named"

func toolID(word string) string {
	if word == anyTool {
		return ""
	}
	return word
}

// toolsFor lists the job's instruments that read a dimension; the first stands
// for one that was not named.
func toolsFor(j *record.Job, f record.Field) []string {
	if f.Kind != record.Number || f.Origin != record.Measured {
		return nil
	}
	var out []string
	for _, i := range j.Instruments {
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
