package workbook

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/wiring/ladder"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
	"retrostage/wiring/proof"
)

// controls is what the job says about its controls.
type controls struct {
	plan       *plan.Plan // nil if there is none
	why        string     // why there is none
	open       bool       // because no unit was chosen yet
	old        *netlist.Unit
	departures []string
	readings   []plan.Metered
	suspects   []planner.Suspect
	mute       []record.Key // of the readings, those that tell nothing apart
}

// wire makes the plan and holds the check-out against it.
func (b *book) wire(ctx context.Context) error {
	w := &b.wiring
	made, err := plan.Checked(ctx, b.job)
	switch {
	case errors.Is(err, plan.ErrNoUnit):
		w.why, w.open = "No old unit was chosen: there is no plan.", true
	case err != nil:
		w.why = "No plan could be made: " + err.Error()
	case made.Refused != "":
		w.why = "No plan: " + made.Refused
	default:
		w.plan = made
	}
	if w.departures, err = plan.Departures(b.job); err != nil {
		w.departures = []string{"the unit kept with this job cannot be held against the catalogue's: " + err.Error()}
	}
	if w.plan == nil {
		made = &plan.Plan{Result: &planner.Result{}}
	} else if w.old, err = plan.Unit(b.job); err != nil {
		return err
	}
	if w.readings, w.suspects, err = plan.Meter(ctx, b.job, made); err != nil {
		return err
	}
	w.mute, err = plan.Mute(ctx, b.job, w.plan)
	return err
}

// outside counts the check-out readings that are not as predicted.
func (w *controls) outside() (n int) {
	for _, m := range w.readings {
		if !m.Fits && !m.Elsewhere {
			n++
		}
	}
	return n
}

// attention is what a supervisor should know of the wiring before signing.
func (w *controls) attention() (out []string) {
	if w.plan == nil {
		if !w.open {
			out = append(out, w.why)
		}
		return out
	}
	for _, o := range w.plan.Omitted {
		out = append(out, omitted(o))
	}
	if w.plan.Verdict != proof.Holds {
		out = append(out, w.plan.Banner()...)
	}
	if n := w.outside(); n > 0 {
		out = append(out, fmt.Sprintf("Of %s of the check-out %d outside what the circuit as planned reads.", readings(len(w.readings)), n))
	}
	if n := len(w.departures); n > 0 {
		out = append(out, fmt.Sprintf("The wiring found in the unit differs in %s from the drawing that the plan began with; the plan is for the unit as found: %s", count(n, "point"), strings.Join(w.departures, "; ")))
	}
	return out
}

// flow lays a page of text and tables, one line below the other.
type flow struct {
	*page
	row, last int
	mark      string // stands on every heading of a plan that is not proved
}

func (l *flow) line(k lookKind, s string) {
	l.text(l.row, 1, k, s)
	l.span(l.row, 1, l.last)
	l.fit(l.row, 1, l.last, s, k)
	l.row++
}

func (l *flow) title(s string) {
	l.row++
	if l.mark != "" {
		s += " — " + l.mark
	}
	l.text(l.row, 1, section, s)
	l.span(l.row, 1, l.last)
	l.heights[l.row] = 20
	l.row++
}

// heads sets column headings; the last of them goes on to the last column.
func (l *flow) heads(hs ...string) {
	for i, h := range hs {
		l.text(l.row, i+1, head, h)
	}
	if len(hs) < l.last {
		l.span(l.row, len(hs), l.last)
	}
	l.row++
}

// rest sets text from a column to the last.
func (l *flow) rest(col int, k lookKind, s string) {
	l.text(l.row, col, k, s)
	if col < l.last {
		l.span(l.row, col, l.last)
	}
	l.fit(l.row, col, l.last, s, k)
}

// The columns of the wiring page.
const (
	wiringLast = 8
	colLeads   = 2
	colRead    = 3
	colExpect  = 4
	colWithin  = 5
	colMeter   = 6
	colJudged  = 8
)

// wiringPage is the plan for the controls: what was decided, how the unit
// differs from the catalogue's, what becomes of each device, the work list
// conductor by conductor, what was checked, and what the meter read at the
// check-out; and, where there is a plan, a page with the ladder before and
// after.
func (b *book) wiringPages() (_, check *page, ladders []*page, err error) {
	l := &flow{page: newPage("Wiring plan", "Wiring plan", 7, 24, 10, 15, 15, 10, 7, 76), last: wiringLast}
	l.landscape = true
	l.row = b.banner(l.page, wiringLast)
	w, made := &b.wiring, b.wiring.plan
	b.verdict(l)
	if t := b.job.Text(record.WiringNote); t != "" {
		l.line(wrapped, t)
	}
	if made != nil {
		for _, o := range made.Omitted {
			l.line(warn, omitted(o)+" "+o.Caution)
		}
		if len(made.Assumed) > 0 {
			l.line(note, "Not in the record, assumed for this plan: "+strings.Join(made.Assumed, ", ")+".")
		}
		if len(made.Open) > 0 {
			l.line(note, "Not answered, the default stands: "+strings.Join(askedWords(made), " "))
		}
	} else if w.open {
		l.line(note, w.why)
	} else {
		l.line(warn, w.why)
	}
	b.departed(l)
	if made != nil {
		devices(l, made)
		workList(l, w.old, made)
	}
	check = b.checkPage(l.mark)
	if made == nil {
		l.evidence = len(b.wiring.departures) == 0 && b.job.Text(record.WiringNote) == ""
		return l.page, check, nil, nil
	}
	marks := map[string]string{}
	for _, d := range made.Devices {
		marks[d.ID] = d.Action
	}
	for _, c := range made.Conductors {
		marks[c.ID] = c.Action
	}
	after := "Ladder after"
	if made.Mark != "" {
		after += " — " + made.Mark
	}
	ladders, err = b.ladderPages([]*drawn{{title: after, unit: made.New}, {title: "Ladder before", unit: w.old}}, ladder.Changes(marks))
	return l.page, check, ladders, err
}

// checkPage is what the plan was tried for and what the meter read.
func (b *book) checkPage(mark string) *page {
	l := &flow{page: newPage("Wiring check", "Wiring check", 7, 24, 10, 15, 15, 10, 7, 76), last: wiringLast, mark: mark}
	l.landscape = true
	l.row = b.banner(l.page, wiringLast)
	if made := b.wiring.plan; made != nil {
		lostParts(l, made)
		proved(l, made)
	}
	b.checkOut(l)
	return l.page
}

// verdict opens the page: holds, fails or not decided, why, and how much was
// tried.
func (b *book) verdict(l *flow) {
	made := b.wiring.plan
	if made == nil {
		return
	}
	look := label
	if made.Verdict != proof.Holds {
		look = warn
	}
	for i, s := range made.Banner() {
		if i > 0 && made.Proved() {
			look = note
		}
		l.line(look, s)
	}
	for _, k := range made.Proof.Failed() {
		l.line(warn, failed(k))
	}
	l.mark = made.Mark
}

// failed words a check that does not hold.
func failed(k proof.Check) string {
	s := k.Verdict + ": " + k.Words
	for _, t := range []string{k.State, k.Detail} {
		if t != "" {
			s += "; " + t
		}
	}
	return s
}

func omitted(o planner.Omission) string {
	return fmt.Sprintf("LEFT OUT, TO BE SIGNED FOR: %s. Reason stated: %s.", o.Label, o.Reason)
}

// departed lists how the unit at hand differs from the catalogue's.
func (b *book) departed(l *flow) {
	if len(b.wiring.departures) == 0 {
		return
	}
	l.title("How the unit at hand differs from the catalogue's")
	for _, d := range b.wiring.departures {
		l.text(l.row, 1, shape, "≠")
		l.rest(2, wrapped, d)
		l.row++
	}
	l.line(note, "The plan, its check and the ladders are for the unit at hand.")
}

func devices(l *flow, made *plan.Plan) {
	l.title("What becomes of each device")
	l.heads("Changed", "Device", "Action", "Reason")
	for _, d := range made.Devices {
		reason := d.Reason
		if d.Caution != "" {
			reason += ". Caution: " + d.Caution
		}
		l.text(l.row, 1, shape, mark(d.Marked))
		l.text(l.row, 2, wrapped, d.Label)
		l.text(l.row, 3, wrapped, d.Action)
		l.fit(l.row, 2, 2, d.Label, wrapped)
		l.rest(4, wrapped, reason)
		l.row++
	}
}

func mark(departs bool) string {
	if departs {
		return shapes["outside"]
	}
	return ""
}

// lostParts lists what the old board did, and what does it now.
func lostParts(l *flow, made *plan.Plan) {
	if len(made.Lost) == 0 {
		return
	}
	l.title("What the old board did that nothing does now, unless it is said")
	l.heads("No.", "What", "Now", "Usual for it, and source")
	for _, o := range made.Lost {
		now := "nothing"
		if o.Now != "" {
			now = o.Now
		}
		l.text(l.row, 1, shape, "")
		l.text(l.row, 2, wrapped, o.What)
		l.text(l.row, 3, wrapped, now)
		l.fit(l.row, 2, 2, o.What, wrapped)
		l.fit(l.row, 3, 3, now, wrapped)
		l.rest(4, wrapped, o.Part+". Source: "+o.Source)
		l.row++
	}
}

func workList(l *flow, old *netlist.Unit, made *plan.Plan) {
	if len(made.Steps) == 0 {
		return
	}
	l.title("Work list, in this order")
	l.heads("Step", "Conductor or device", "Action", "From", "To", "Colour", "AWG", "Words and cautions")
	for _, s := range made.Steps {
		words := s.Words
		if s.Caution != "" {
			words += " CAUTION: " + s.Caution
		}
		l.set(l.row, 1, cell{value: s.N, look: look{kind: unit}})
		from, to := spot(made.New, s.From), spot(made.New, s.To)
		if from == "" && to == "" {
			from, to = spot(old, s.WasFrom), spot(old, s.WasTo)
		}
		gauge := ""
		if s.Gauge > 0 {
			gauge = fmt.Sprint(s.Gauge)
		}
		if from == "" && to == "" && s.Colour == "" && gauge == "" { // no conductor: the words go across
			for i, t := range []string{s.Item, s.Action} {
				l.text(l.row, i+2, wrapped, t)
				l.fit(l.row, i+2, i+2, t, wrapped)
			}
			l.rest(4, wrapped, words)
			l.row++
			continue
		}
		for i, t := range []string{s.Item, s.Action, from, to, s.Colour, gauge, words} {
			l.text(l.row, i+2, wrapped, t)
			l.fit(l.row, i+2, i+2, t, wrapped)
		}
		l.row++
	}
}

// spot is an end of a conductor in words; "" for none.
func spot(u *netlist.Unit, end string) string {
	if end == "" {
		return ""
	}
	return planner.Spot(u, end)
}

func proved(l *flow, made *plan.Plan) {
	l.title("What was checked on the planned circuit")
	l.heads("No.", "Holds", "Proof", "Check")
	for _, c := range made.Proof.Checks {
		word, words := "yes", c.Words
		switch c.Verdict {
		case proof.Holds:
		case proof.Fails:
			word, words = "NO", failed(c)
		default:
			word, words = "not decided", failed(c)
		}
		l.text(l.row, 2, wrapped, word)
		l.text(l.row, 3, wrapped, "")
		l.rest(4, wrapped, words)
		l.row++
	}
	for _, v := range made.Proof.Live {
		var at []string
		for _, e := range v.Terminals {
			at = append(at, planner.Spot(made.New, e))
		}
		l.line(warn, fmt.Sprintf("Stays live with %s open, fed from %s, %.0f V: %s.", v.Open, v.From, v.Volts, strings.Join(at, "; ")))
	}
	for _, n := range append(made.Proof.Notes, made.Proof.Note) {
		l.line(note, n)
	}
}

// askedWords are the questions that stand unanswered, each with what was taken.
func askedWords(made *plan.Plan) (out []string) {
	for _, key := range made.Open {
		words := strings.ReplaceAll(key, "-", " ") + ":"
		for _, d := range made.Decisions {
			if d.Key != key {
				continue
			}
			words = d.Question
			for _, o := range d.Options {
				if o.Value == d.Chosen {
					words += " " + sentenceStart(o.Words) + "."
				}
			}
		}
		out = append(out, words)
	}
	return out
}

func sentenceStart(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
