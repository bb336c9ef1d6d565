package section

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/wiring/ladder"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
	"retrostage/wiring/proof"
)

// planned is a plan with the unit it starts from and its drawings.
type planned struct {
	old *netlist.Unit
	*plan.Plan
	err           string
	before, after drawing
}

// makePlan plans, proves and draws. A job without a unit has none, which is no
// error.
func makePlan(ctx context.Context, j *record.Job) *planned {
	old, err := plan.Unit(j)
	if errors.Is(err, plan.ErrNoUnit) {
		return &planned{}
	}
	if err != nil {
		return &planned{err: Sentence(err.Error())}
	}
	p, err := plan.Proved(ctx, j, nil)
	out := &planned{old: old, Plan: p}
	if err != nil {
		out.err = Sentence(err.Error())
	}
	if p != nil && p.Result != nil && p.Refused == "" {
		marks := ladder.Changes(marksOf(p.Result))
		out.before = draw(old, marks)
		if p.New != nil {
			out.after = draw(p.New, marks)
		}
	}
	return out
}

func marksOf(r *planner.Result) map[string]string {
	marks := map[string]string{}
	for _, d := range r.Devices {
		marks[d.ID] = d.Action
	}
	for _, c := range r.Conductors {
		marks[c.ID] = c.Action
	}
	return marks
}

// planKey is what a plan depends on: the unit, the answers, and what the plan
// reads of the record.
func planKey(j *record.Job) string {
	key := fmt.Sprint(plan.Answers(j), string(j.Unit))
	for _, k := range plan.Reads() {
		e, _ := j.Entry(k)
		key += "|" + e.Value + " " + e.Unit
	}
	return key
}

// plans keeps the plan of one key for the sections that need it: it takes the
// better part of a second.
type plans struct {
	mu   sync.Mutex
	key  string
	made *planned
}

func (c *plans) of(ctx context.Context, key string, j *record.Job) *planned {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.made != nil && c.key == key {
		return c.made
	}
	made := makePlan(ctx, j)
	if ctx.Err() == nil { // else it is not the plan
		c.key, c.made = key, made
	}
	return made
}

// actionTones: what goes or is new stands out from what stays.
var actionTones = map[string]theme.Tone{
	"keep": theme.Good, "move": theme.Warning, "set": theme.Warning, "reuse": theme.Warning, "cap": theme.Warning,
	"replace": theme.Accent, "add": theme.Accent, "new": theme.Accent, "remove": theme.Bad,
}

var tabs = []string{"Unit", "Controls", "Decisions", "Work list", "Proof", "Check-out", "Drawing"}

// wiringView is the middle of the wiring pane.
type wiringView struct {
	p     *Pane
	body  *fyne.Container
	tab   string
	plan  *planned // nil until one was made
	made  plans
	would plans // with what comes from an earlier job, were it confirmed
	view  *widget.View
	bar   *widget.Choose
	unit  unitEditor

	choosing bool   // another unit of the catalogue
	after    bool   // the drawing shows the new wiring
	followed string // the conductor or part followed in it, "" for none
	lead     bool   // and to be brought to the middle
	drawn    *netlist.Unit
	meter    *checkout
}

// wiringOf is the wiring of a pane, shared by its sections.
func wiringOf(p *Pane) *wiringView {
	if p.wiring == nil {
		w := &wiringView{p: p, body: widget.NewColumn(6, 0), tab: tabs[1]}
		w.unit.w, w.meter = w, newCheckout(w)
		w.view = p.newView(0.8)
		w.body.Add(widget.NewWords("Planning and proving", theme.Small+0.5, false, theme.Muted))
		p.wiring = w
	}
	return p.wiring
}

// wiringPlan is the plan with its proof, made anew when what it rests on changes.
func wiringPlan(p *Pane) *Section {
	w := wiringOf(p)
	return newSection("wiring plan", []fyne.CanvasObject{w.body},
		func(in Input) string { return planKey(in.Job) + "|" + strings.Join(plan.Contradicts(in.Job), "|") },
		func(ctx context.Context, in Input) *planned { return w.made.of(ctx, planKey(in.Job), in.Job) },
		func(made *planned) {
			w.plan = made
			w.show()
		})
}

// show builds the page of the plan.
func (w *wiringView) show() {
	w.p.LeaveFor(func(r *widget.Row) bool { return slices.Contains(w.p.Rows, r) })
	w.p.once(func() {
		w.meter.clear()
		widget.Refill(w.body, w.build)
		w.p.reflow()
	})
}

func (w *wiringView) build() {
	if w.plan == nil {
		w.body.Add(widget.NewWords("Planning and proving", theme.Small+0.5, false, theme.Muted))
		return
	}
	if w.plan.err != "" {
		w.body.Add(widget.NewNotice("outside", theme.Bad, []string{w.plan.err}, nil))
	}
	if w.plan.old == nil || w.choosing {
		w.choose()
		return
	}
	var r *planner.Result
	if w.plan.Plan != nil {
		r = w.plan.Result
	}
	w.body.Add(widget.NewWords(w.plan.old.Title, theme.Text, true, theme.Ink))
	if r == nil || r.Refused != "" {
		if r != nil {
			w.body.Add(widget.NewNotice("outside", theme.Bad, []string{"No plan: " + r.Refused}, nil))
		}
		w.unit.fill(w.body) // what can be mended
		return
	}
	w.verdict(r)
	bar := widget.NewChoose(nil, "", w.turn)
	w.bar = bar
	bar.Px = theme.Small + 0.5
	bar.SetOptions(tabs, w.tab)
	w.body.Add(bar)
	switch w.tab {
	case "Unit":
		w.unit.fill(w.body)
	case "Decisions":
		w.decisions(r)
	case "Work list":
		w.steps(r)
	case "Proof":
		w.proof(r)
	case "Check-out":
		w.meter.list(r)
	case "Drawing":
		w.drawing()
	default:
		w.controls(r)
	}
	if i := slices.Index(tabs, w.tab) + 1; i < len(tabs) {
		w.body.Add(widget.NewTap("Next: "+tabs[i], func() { w.turn(tabs[i]) }))
	}
}

// turn shows another part of the plan, from its top.
func (w *wiringView) turn(tab string) {
	w.tab = tab
	w.p.Alone = tab == "Drawing"
	w.p.Relayout(w.p)
	w.show()
	w.p.Middle.Lead(w.bar)
	w.meter.leadOn()
}

// leadToReading opens the check-out with the cursor in a reading, and tells whether that
// is there.
func (w *wiringView) leadToReading(key string) bool {
	if w.plan == nil || w.plan.Plan == nil || w.plan.Result == nil {
		return false
	}
	if w.tab != "Check-out" || w.meter.rows == nil {
		w.turn("Check-out")
	}
	for _, r := range w.meter.rows {
		if r.Field.Key == key && r.Visible() {
			return r.Focus()
		}
	}
	return false
}

func (w *wiringView) choose() {
	j := w.p.Job()
	head := "The old unit's controls: which of these is nearest?"
	if j.Text(record.Staging) != "" || j.Text(record.IndoorControl) != "" {
		head += " Likeliest first, by what is entered"
	}
	w.body.Add(widget.NewHeading(head))
	if j.Text(record.Staging) == "" {
		k := widget.NewTap("Say in Intake how it stages: the likeliest then come first", func() { w.p.LeadAway(record.Intake, record.Staging.String()) })
		k.Flat, k.Px = true, theme.Small+0.5
		w.body.Add(k)
	}
	us, err := plan.Likeliest(j)
	if err != nil {
		w.body.Add(widget.NewNotice("outside", theme.Bad, []string{Sentence(err.Error())}, nil))
	}
	apart := false
	for _, u := range us {
		if len(u.Against) > 0 && !apart {
			apart = true
			w.body.Add(widget.NewHeading("Not as entered"))
		}
		n := u.Name
		t := widget.NewTap(u.Title, func() {
			w.choosing = false
			if j := w.p.Job(); len(j.Unit) > 0 && n != j.Text(record.OldControls) {
				w.unit.set(nil) // the edited unit was of another kind
			}
			w.p.Enter(record.OldControls, n, "", "")
			w.show()
			w.p.Middle.Lead(w.body)
		})
		t.Px = theme.Small + 0.5 // whole words
		t.On = n == j.Text(record.OldControls)
		w.body.Add(t)
		tells := "Told by: " + strings.Join(u.Tells[:min(3, len(u.Tells))], "; ")
		if len(u.Against) > 0 {
			tells += ". " + Sentence(strings.Join(u.Against, "; "))
		}
		w.body.Add(widget.NewWords(tells+".", theme.Small, false, theme.Muted))
	}
	w.body.Add(widget.NewWords("Each is a generic unit of our own making. Compare it with the unit in front of you before anything is moved.", theme.Small+0.5, false, theme.Muted))
}

// verdict says in one notice what was checked and how it came out. It never says
// that a circuit is safe.
func (w *wiringView) verdict(r *planner.Result) {
	if r.Proof == nil {
		return
	}
	shape, tone := "within", theme.Good
	lines := r.Banner()
	switch {
	case !r.Proved():
		shape, tone = "outside", theme.Bad
	case r.Verdict == proof.Reserved: // not green: a person's word is in it
		shape, tone = "close", theme.Warning
	}
	open := 0
	for _, key := range planner.Asked {
		if slices.Contains(r.Open, key) {
			open++
		}
	}
	switch open {
	case 0:
	case 1:
		lines = append(lines, "1 decision is to be answered; until then the plan takes its default.")
	default:
		lines = append(lines, fmt.Sprintf("%d decisions are to be answered; until then the plan takes their defaults.", open))
	}
	if len(w.plan.Assumed) > 0 {
		lines = append(lines, "Stand-in figures are used for: "+strings.Join(w.plan.Assumed, ", ")+".")
		if r.Verdict == proof.Holds {
			shape, tone = "close", theme.Warning
		}
	}
	for _, o := range r.Omitted {
		shape, tone = "outside", theme.Bad
		lines = append(lines, fmt.Sprintf("Left out: %s. Stated reason: %s. %s", o.Label, o.Reason, o.Caution))
	}
	compared, against := plan.Compared(w.p.Job()), plan.Contradicts(w.p.Job())
	if (!compared || len(against) > 0) && tone == theme.Good {
		shape, tone = "close", theme.Warning
	}
	lines = append(against, lines...)
	if !compared {
		lines = append([]string{"This is said of the drawing. Nobody says yet that the drawing was compared with the unit in front of you: every part, every conductor."}, lines...)
	}
	w.body.Add(widget.NewNotice(shape, tone, lines, nil))
	if !compared && len(against) > 0 { // not to be accepted before one of the two is put right
		w.whichIsRight()
		return
	}
	if !compared {
		w.body.Add(widget.NewTap(comparedKey, func() {
			if m, err := plan.DrawingMark(w.p.Job()); err == nil {
				w.p.Enter(record.UnitCompared, m, "", "")
				w.show()
			}
		}))
	}
}

// whichIsRight asks, of a drawing that Intake contradicts, which of the two is to be put
// right, and leads there.
func (w *wiringView) whichIsRight() {
	w.body.Add(widget.NewHeading("Which is right? Look at the unit. The drawing is compared after that"))
	key := func(text string, do func()) {
		t := widget.NewTap(text, do)
		t.Px = theme.Small + 0.5
		w.body.Add(t)
	}
	for _, c := range plan.Contradictions(w.p.Job()) {
		key("The drawing is right: put right \""+c.Key.Label()+"\" in Intake", func() { w.p.LeadAway(record.Intake, c.Key.String()) })
	}
	key("Intake is right: change the drawing, part by part", func() { w.turn(tabs[0]) })
	key("Intake is right: another unit of the catalogue", func() {
		w.choosing = true
		w.show()
	})
}

// comparedKey is what a person says of the drawing.
const comparedKey = "I compared it: the unit is as drawn"

func (w *wiringView) controls(r *planner.Result) {
	for _, d := range r.Devices {
		var small []string
		if d.Caution != "" {
			small = append(small, "Caution: "+d.Caution)
		}
		if d.Source != "" {
			small = append(small, "Source: "+d.Source)
		}
		title := Sentence(d.Label) + "  " + d.ID
		if d.Marked {
			title += " (departs from the unit as built: to be signed for)"
		}
		w.body.Add(widget.NewCard(title, d.Action, Sentence(strings.TrimSuffix(d.Reason, "."))+".", actionTones[d.Action], small...))
	}
}

func (w *wiringView) decisions(r *planner.Result) {
	for _, d := range r.Decisions {
		w.body.Add(widget.NewHeading(d.Question))
		// One line either way, so that nothing moves under the finger.
		taken := d.Chosen
		for _, o := range d.Options {
			if o.Value == d.Chosen {
				taken = o.Words
			}
		}
		said := widget.NewWords("Not answered; taken: "+taken+".", theme.Small, false, theme.Warning)
		now, given := plan.Answers(w.p.Job())[d.Key]
		switch {
		case d.Answered && given && now == d.Chosen:
			said = widget.NewWords("Answered.", theme.Small, false, theme.Muted)
		case given:
			said = widget.NewWords("Answered; the plan follows.", theme.Small, false, theme.Muted)
		}
		w.body.Add(said)
		var words []string
		chosen, reason := "", false
		for _, o := range d.Options {
			if o.Value == "reason" {
				reason = true
				continue
			}
			words = append(words, o.Words)
			if given && o.Value == now {
				chosen = o.Words
			}
		}
		w.body.Add(widget.NewChoose(words, chosen, func(word string) {
			for _, o := range d.Options {
				if o.Words == word {
					w.answer(d.Key, o.Value)
				}
			}
		}))
		if reason {
			row := widget.NewRow(widget.Field{Key: d.Key, Label: "or leave it out, for this stated reason", Kind: widget.TextField})
			row.Page = func() *widget.Scroller { return w.p.Middle }
			row.OnCommit = func(_ *widget.Row, text, _ string) error {
				if err := plan.Reason(text); text != "" && err != nil {
					w.p.Draft(record.PlanKey(d.Key), text, err.Error())
					return err
				}
				w.answer(d.Key, text)
				return nil
			}
			row.OnResize = w.p.reflow
			row.OnFocus = w.p.Focus
			if v := plan.Answers(w.p.Job())[d.Key]; v != "" && v != "keep" {
				row.SetValue(v, "", "", "")
			}
			if t, ok := w.p.Job().Draft(record.PlanKey(d.Key)); ok {
				row.SetValue(t.Value, "", Sentence(t.Reason), "not entered")
			}
			w.body.Add(row)
		}
		if d.Caution != "" {
			w.body.Add(widget.NewNotice("caution", theme.Warning, []string{d.Caution}, []string{d.Source}))
		}
	}
}

func (w *wiringView) answer(key, value string) {
	w.p.Enter(record.PlanKey(key), value, "", "")
}

func (w *wiringView) steps(r *planner.Result) {
	if r.Mark != "" {
		w.body.Add(widget.NewNotice("outside", theme.Bad, append([]string{r.Mark}, r.Banner()...), nil))
	}
	last := ""
	for _, s := range r.Steps {
		var small []string
		if s.Caution != "" && s.Caution != last {
			small = append(small, "Caution: "+s.Caution)
		}
		last = s.Caution
		if s.Source != "" && s.Reason != "" {
			small = append(small, "Source: "+s.Source)
		}
		c := widget.NewCard(s.Words, fmt.Sprintf("%d", s.N), Sentence(s.Reason), theme.Accent, small...)
		if w.shows(s.Item) {
			c.Do = func() { w.lookAt(s.Item) }
		}
		w.body.Add(c)
	}
	if len(r.Lost) > 0 {
		w.body.Add(widget.NewHeading("What the old board did that nothing does now, unless it is said"))
	}
	for _, l := range r.Lost {
		now, tone := "nothing now", theme.Warning
		if l.Now != "" {
			now, tone = "now: "+l.Now, theme.Good
		}
		w.body.Add(widget.NewCard(Sentence(l.What), now, "Usual for it: "+l.Part+".", tone, "Source: "+l.Source))
	}
}

func (w *wiringView) proof(r *planner.Result) {
	if r.Proof == nil {
		return
	}
	for _, c := range r.Proof.Checks {
		word, tone := "holds", theme.Good
		why := c.Source
		if c.Verdict != proof.Holds {
			word, tone = c.Verdict, theme.Bad
			why = fmt.Sprintf("In this state: %s. %s. Path: %s. %s", c.State, c.Detail, strings.Join(c.Path, " < "), c.Source)
		}
		w.body.Add(widget.NewCard(Sentence(c.Words), word, why, tone))
	}
	w.body.Add(widget.NewWords(r.Proof.Note, theme.Small+0.5, false, theme.Muted))
	harmless, danger := 0, 0
	for _, f := range r.Faults {
		if f.Harmless {
			harmless++
		}
		if f.Dangerous {
			danger++
		}
	}
	w.body.Add(widget.NewHeading(fmt.Sprintf("Single faults: %d tried, %d change nothing, %d dangerous", len(r.Faults), harmless, danger)))
	for _, f := range r.Faults {
		if f.Dangerous {
			w.body.Add(widget.NewCard(Sentence(f.Words), "danger", Sentence(f.Effect)+". "+Sentence(f.State), theme.Bad))
		}
	}
}
