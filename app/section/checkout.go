package section

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/planner"
)

// checkout is the check-out by meter: an entry beside each predicted reading, and
// what the readings leave to look at.
type checkout struct {
	w      *wiringView
	tests  []planner.Test
	rows   []*widget.Row
	found  *fyne.Container // beside the list, where the eye is while typing
	last   meterWords
	more   *widget.Tap // to the readings that only narrow down, which wait until one is out
	all    bool        // and are shown all the same
	heads  []listHead
	missed fyne.CanvasObject // over what no reading shows; nil where there is nothing
}

// listHead is what stands over the readings of one state, from one of them on.
type listHead struct {
	over []fyne.CanvasObject
	from int
}

// suspectsShown is how many are named; more than that tell that readings are
// wanted, not where to look.
const suspectsShown = 8

// meterWords is what the readings say.
type meterWords struct {
	of    *planned // the plan that predicted them
	key   string   // and its key
	taken []plan.Taken
	left  []planner.Suspect
	next  planner.Choice
	mute  int // of the readings, those that fit every fault too
	err   error
}

func newCheckout(w *wiringView) *checkout {
	c := &checkout{w: w, found: widget.NewColumn(6, 0)}
	c.found.Hide()
	return c
}

// checkoutAnswer is what the readings of the check-out leave to look at. It
// stands beside the list while that is open.
func checkoutAnswer(p *Pane) *Section {
	w := wiringOf(p)
	return newSection("check-out", []fyne.CanvasObject{w.meter.found},
		func(in Input) string { return planKey(in.Job) + meterKey(in.Job) },
		func(ctx context.Context, in Input) (m meterWords) {
			m.key = planKey(in.Job)
			m.of = w.made.of(ctx, m.key, in.Job)
			if m.of.Plan == nil || m.of.Checkout == nil {
				return m
			}
			r := m.of.Result
			m.taken = plan.Readings(in.Job, r.Checkout)
			if len(m.taken) == 0 {
				return m
			}
			if m.left, m.err = plan.Suspects(ctx, r, m.taken); m.err != nil {
				return m
			}
			values := map[int]float64{}
			for _, t := range m.taken {
				values[t.N] = t.Value
			}
			if m.next, m.err = planner.Next(ctx, r, values); m.err != nil {
				return m
			}
			mute, err := planner.Mute(ctx, r, values)
			m.mute, m.err = len(mute), err
			return m
		},
		func(m meterWords) {
			if m.of.Plan != nil && m.of.Checkout != nil {
				if list := plan.Asks(p.Job(), m.of.Checkout); list != "" && list != p.Job().Text(record.CheckoutList) && planKey(p.Job()) == m.key {
					p.Enter(record.CheckoutList, list, "", "") // what the list asks for is part of the record
				}
			}
			w.meter.last = m
			w.meter.fill()
			w.meter.say()
		})
}

// meterKey is every reading of the check-out that the job holds or drafts.
func meterKey(j *record.Job) string {
	key := ""
	for _, e := range j.Entries {
		if record.IsMeter(e.Key) {
			key += "|" + e.Key.String() + e.Value + e.Unit
		}
	}
	for _, d := range j.Drafts {
		key += "|" + d.Key.String() + d.Value
	}
	return key
}

// clear forgets the list; the readings are in the record.
func (c *checkout) clear() {
	c.tests, c.rows, c.more, c.heads, c.missed = nil, nil, nil, nil, nil
	c.found.RemoveAll()
	c.found.Hide()
}

func (c *checkout) list(r *planner.Result) {
	k, body := r.Checkout, c.w.body
	if k == nil {
		return
	}
	body.Add(widget.NewWords(fmt.Sprintf("%d readings find every fault they can, %d more narrow it down. Of %d harmful single faults %d show in the list.", k.Find, len(k.Tests)-k.Find, k.Harmful, k.Detected), theme.Small+0.5, false, theme.Ink))
	head := ""
	for _, t := range k.Tests {
		h := "Live list, part of the Running check: " + t.State
		if t.List == planner.Dead {
			h = "Dead list, ends the Wiring step: locked out, every switch in place"
			if t.State != "no call" {
				h = "Dead list: locked out, " + t.State + " (taken off its conductors)"
			}
		} else if !strings.HasPrefix(head, "Live") {
			body.Add(widget.NewNotice("caution", theme.Warning, append([]string{"Before power comes on:"}, append(k.Gate, k.GateNote)...), nil))
		}
		if h != head {
			head = h
			over := []fyne.CanvasObject{widget.NewHeading(h), widget.NewNotice("caution", theme.Warning, []string{t.Caution}, nil)}
			body.Add(over[0])
			body.Add(over[1])
			c.heads = append(c.heads, listHead{over, len(c.rows)})
		}
		row := c.row(t)
		c.tests, c.rows = append(c.tests, t), append(c.rows, row)
		body.Add(row)
	}
	c.more = widget.NewTap("", func() {
		c.all = !c.all
		c.fold()
	})
	c.more.Px = theme.Small + 0.5
	body.Add(c.more)
	if len(k.Missed) > 0 {
		c.missed = widget.NewHeading("What no reading of the list would show")
		body.Add(c.missed)
		body.Add(widget.NewWords("Nothing was found here: only look and pull at each of these.", theme.Small+0.5, false, theme.Muted))
		for _, m := range k.Missed {
			body.Add(widget.NewWords(Sentence(m)+".", theme.Small+0.5, false, theme.Ink))
		}
	}
	body.Add(widget.NewWords("Tolerances: "+k.Source, theme.Small, false, theme.Muted))
	c.found.Show()
	c.fill()
	c.say()
}

func (c *checkout) row(t planner.Test) *widget.Row {
	key := plan.TestKey(t)
	f, err := record.ByKey(key)
	if err != nil {
		return widget.NewRow(widget.Field{Key: key.String(), Label: t.Words, Kind: widget.TextField})
	}
	pf := presenter{system: c.w.p.System()}.field(f)
	pf.Label = fmt.Sprintf("%d  %s: %s", t.N, t.Where, expected(t))
	if u, err := units.Lookup(f.Dim, f.Unit); err == nil {
		pf.Unit = u.Label
	}
	row := widget.NewRow(pf)
	row.Page = func() *widget.Scroller { return c.w.p.Middle }
	row.OnCommit = func(_ *widget.Row, text, unit string) error {
		err := refusal(c.w.p.Enter(key, text, unitName(f, unit), ""))
		c.fill()
		if err == nil && row.Wrong() != "" {
			return fmt.Errorf("%s", row.Wrong()) // out of tolerance: entered, and said so
		}
		return err
	}
	row.OnFocus = func(r *widget.Row, got bool) {
		c.w.p.Focus(r, got)
		if got {
			c.w.p.Middle.Reveal(r)
		}
	}
	row.OnMove = c.move
	row.OnNext, row.OnChosen = c.onward, c.chosen
	row.OnPast = func(*widget.Row) { c.w.p.Past(key) }
	row.OnResize = c.w.p.reflow
	return row
}

// expected says what the sound circuit reads, and how close a reading must be.
func expected(t planner.Test) string {
	switch {
	case t.Open:
		return record.OpenLine
	case t.Shows == "continuity":
		return t.Shows
	}
	unit := map[string]string{"ohms": "Ω", "volts": "V", "amps": "A"}[t.Meter]
	return fmt.Sprintf("%s ± %s %s", limit(t.Expect), limit(t.Tolerance), unit)
}

// move goes to the next or the previous reading that is shown.
func (c *checkout) move(from *widget.Row, by int) {
	i := slices.Index(c.rows, from)
	for k := i + by; i >= 0 && k >= 0 && k < len(c.rows); k += by {
		if c.rows[k].Visible() && c.rows[k].Focus() {
			c.ahead(k)
			return
		}
	}
	c.w.p.Leave()
}

// ahead brings the reading that follows into view with the one at a place, as far as there
// is room.
func (c *checkout) ahead(at int) {
	for _, r := range c.rows[at+1:] {
		if r.Visible() {
			c.w.p.Middle.Reveal(r)
			c.w.p.Middle.Reveal(c.rows[at])
			return
		}
	}
}

// onward goes to the next reading that is shown, of the same list.
func (c *checkout) onward(from *widget.Row) {
	i := slices.Index(c.rows, from)
	for k := i + 1; i >= 0 && k < len(c.rows) && c.tests[k].List == c.tests[i].List; k++ {
		if c.rows[k].Visible() {
			c.move(from, 1)
			return
		}
	}
	c.w.p.Leave()
	switch {
	case i < 0 || c.w.plan == nil || c.w.plan.Result == nil:
	case c.tests[i].List == planner.Live && c.sound(planner.Live):
		c.w.p.GoOn()
	case c.tests[i].List == planner.Dead && c.missed != nil && c.sound(planner.Dead):
		c.w.p.Middle.Reveal(c.missed) // what only looking shows, before anyone goes on
	}
}

// chosen goes on from a reading whose word was touched, if the next is in view: nothing
// moves under a finger that touches one key after another.
func (c *checkout) chosen(from *widget.Row) {
	i := slices.Index(c.rows, from)
	for k := i + 1; i >= 0 && k < len(c.rows) && c.tests[k].List == c.tests[i].List; k++ {
		if r := c.rows[k]; r.Visible() {
			if c.w.p.Middle.InView(r) && r.Text() == "" {
				r.Focus()
			}
			return
		}
	}
}

// sound tells whether every reading of a list that finds was taken and is as predicted.
func (c *checkout) sound(list string) bool {
	fits := map[int]bool{}
	for _, t := range plan.Readings(c.w.p.Job(), c.w.plan.Result.Checkout) {
		if !t.Fits {
			return false
		}
		fits[t.N] = true
	}
	return !slices.ContainsFunc(c.tests, func(t planner.Test) bool { return t.List == list && t.Role == "find" && !fits[t.N] })
}

// out tells whether a reading is out of tolerance.
func (c *checkout) out() bool {
	return slices.ContainsFunc(plan.Readings(c.w.p.Job(), c.w.plan.Result.Checkout), func(t plan.Taken) bool { return !t.Fits })
}

// fold shows the readings that only narrow down once one is out, where they hold something,
// or where they are asked for: so that what is typed in a run goes down what is shown.
func (c *checkout) fold() {
	out, hidden, changed := c.out(), 0, false
	for i, r := range c.rows {
		on := c.tests[i].Role == "find" || out || c.all || r.Text() != "" || r.Lit()
		if !on {
			hidden++
		}
		changed = changed || on != r.Visible()
		show(r, on)
	}
	for i, h := range c.heads { // none stands over nothing
		to := len(c.rows)
		if i+1 < len(c.heads) {
			to = c.heads[i+1].from
		}
		for _, o := range h.over {
			show(o, slices.ContainsFunc(c.rows[h.from:to], (*widget.Row).Visible))
		}
	}
	c.more.Set(fmt.Sprintf("Show the %d readings that only narrow down", hidden), false)
	if c.all {
		c.more.Set("Show the readings that find alone", false)
	}
	show(c.more, hidden > 0 || c.all && !out)
	if changed {
		c.w.p.reflow()
	}
}

// leadOn puts the cursor where the readings go on; into the live list only once it is
// charged.
func (c *checkout) leadOn() {
	if !c.seek(0, planner.Dead) && c.w.p.Job().Text(record.ChargedWith) != "" {
		c.seek(0, planner.Live)
	}
}

func (c *checkout) seek(at int, list string) bool {
	for i := at; i < len(c.rows); i++ {
		if c.tests[i].List == list && c.rows[i].Visible() && c.rows[i].Text() == "" && c.rows[i].Focus() {
			return true
		}
	}
	return false
}

// fill puts what the record holds beside the predictions.
func (c *checkout) fill() {
	if c.rows == nil || c.more == nil || c.w.plan == nil || c.w.plan.Plan == nil {
		return
	}
	j, r := c.w.p.Job(), c.w.plan.Result
	taken := plan.Readings(j, r.Checkout)
	by := map[int]plan.Taken{}
	for _, t := range taken {
		by[t.N] = t
	}
	for i, t := range c.tests {
		key, row := plan.TestKey(t), c.rows[i]
		f, err := record.ByKey(key)
		if err != nil {
			continue
		}
		idle := "to be read" // a line from the first, so that nothing moves when there is more to say
		if t.Role == "narrow" {
			idle = "only when another is out"
		}
		if d, ok := j.Draft(key); ok {
			row.SetValue(d.Value, unitLabel(f, d.Unit), Sentence(d.Reason), "not entered")
			continue
		}
		e, ok := j.Entry(key)
		switch k := by[t.N]; {
		case !ok:
			row.SetValue("", "", "", idle)
		case k.Fits && coarse(t):
			row.SetValue(e.Value, unitLabel(f, e.Unit), "", "within its tolerance, and so would a short be, "+e.Time.Format("15:04"))
		case k.Fits:
			row.SetValue(e.Value, unitLabel(f, e.Unit), "", "as predicted, "+e.Time.Format("15:04"))
		default:
			row.SetValue(e.Value, unitLabel(f, e.Unit), "Not as predicted", e.Time.Format("15:04"))
		}
	}
	c.fold()
}

// coarse tells of a winding or coil so low that this meter does not tell it from a short.
func coarse(t planner.Test) bool {
	return t.Meter == "ohms" && !t.Open && t.Shows != "continuity" && t.Expect > 0 && t.Expect <= t.Tolerance
}

// lead is a key to the reading that tells most of those left.
func (c *checkout) lead(n int) {
	for i, t := range c.tests {
		if t.N == n {
			c.found.Add(widget.NewTap(fmt.Sprintf("Go to reading %d", n), func() {
				if show(c.rows[i], true); c.rows[i].Focus() {
					c.fold() // with what stands over it
				}
			}))
		}
	}
}

// say names what fits the readings, if they are still those of the plan shown.
func (c *checkout) say() {
	m := c.last
	if c.rows == nil || m.of == nil || m.of != c.w.plan {
		return
	}
	widget.Refill(c.found, func() { c.tell(m.of.Result, m) })
	c.w.p.reflow()
}

func (c *checkout) tell(r *planner.Result, m meterWords) {
	taken, ss, next, err := m.taken, m.left, m.next, m.err
	c.found.Add(widget.NewHeading("What the readings say"))
	note := func(shape string, tone theme.Tone, lines ...string) {
		c.found.Add(widget.NewNotice(shape, tone, lines, nil))
	}
	out, find, want := 0, map[int]bool{}, 0
	for _, t := range r.Checkout.Tests {
		find[t.N] = t.Role == "find"
	}
	left := r.Checkout.Find
	for _, t := range taken {
		if !t.Fits {
			out++
		}
		if find[t.N] {
			left--
		}
	}
	for _, t := range r.Checkout.Tests { // the one that tells most where it is still to be taken, else the first that is
		if find[t.N] && !slices.ContainsFunc(taken, func(k plan.Taken) bool { return k.N == t.N }) && (want == 0 || t.N == next.Test) {
			want = t.N
		}
	}
	sound, faults := false, ss[:0:0]
	for _, s := range ss {
		if s.Fault == "" {
			sound = true
		} else {
			faults = append(faults, s)
		}
	}
	mute := ""
	if m.mute > 0 {
		mute = fmt.Sprintf(" %d of %d tell nothing apart: as read they fit every single fault too.", m.mute, len(taken))
	}
	switch {
	case err != nil:
		note("outside", theme.Bad, Sentence(err.Error()))
	case len(taken) == 0:
		c.found.Add(widget.NewWords("Enter what the meter shows beside what is predicted. A reading out of tolerance narrows down which conductor or device to look at.", theme.Small+0.5, false, theme.Muted))
	case sound && left == 0 && mute != "":
		note("close", theme.Warning, fmt.Sprintf("All %d readings that find are as predicted.", r.Checkout.Find)+mute)
	case sound && left == 0:
		note("within", theme.Good, fmt.Sprintf("All %d readings that find are as predicted. That is what was checked; damaged parts and faults that no reading shows are not excluded.", r.Checkout.Find))
	case sound && out > 0:
		note("close", theme.Warning, fmt.Sprintf("%d of %d readings are at the edge of their tolerance; the circuit as planned still fits them. Read them again.", out, len(taken)))
	case sound:
		note("close", theme.Warning, fmt.Sprintf("%d entered, all as predicted. %d more readings that find are still to be taken; next: reading %d.", len(taken), left, want)+mute)
		c.lead(want)
	case len(faults) == 0:
		note("outside", theme.Bad, fmt.Sprintf("%d of %d readings are not as predicted, and no single fault explains them all. Read those again; then it is more than one fault, or a unit not wired as planned.", out, len(taken)))
	default:
		lines := []string{fmt.Sprintf("%d of %d readings are not as predicted. Lock out before looking.", out, len(taken))}
		if len(faults) > 2 {
			l := fmt.Sprintf("%d faults fit", len(faults))
			if next.Test > 0 {
				l += fmt.Sprintf(": further readings narrow it down; next: reading %d", next.Test)
			}
			lines = append(lines, l+".")
		}
		note("outside", theme.Bad, lines...)
		c.lead(next.Test)
		if len(faults) > suspectsShown {
			return
		}
		c.found.Add(widget.NewHeading("Look here"))
		for _, s := range faults {
			c.found.Add(widget.NewCard(Sentence(s.Words), s.Part, "", theme.Bad))
		}
	}
}
