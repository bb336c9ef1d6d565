package app

import (
	"context"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/planner"
)

// checkoutPart is the check-out by meter: an entry beside each predicted
// reading, and what the readings leave to look at.
type checkoutPart struct {
	w     *wiringPart
	tests []planner.Test
	rows  []*widget.Row
	found *fyne.Container // beside the list, where the eye is while typing
	work  widget.Latest
	made  string // of which readings the suspects shown were made
}

// suspectsShown is how many are named; more than that tell that readings are
// wanted, not where to look.
const suspectsShown = 8

func (c *checkoutPart) init(w *wiringPart) {
	c.w, c.found = w, widget.NewColumn(6, 0)
	c.work.Now = w.p.b.assessing.Now
	c.found.Hide()
}

// clear forgets the list; the readings are in the record.
func (c *checkoutPart) clear() {
	c.tests, c.rows, c.made = nil, nil, ""
	c.found.RemoveAll()
	c.found.Hide()
}

func (c *checkoutPart) list(r *planner.Result) {
	k, body := r.Checkout, c.w.body
	if k == nil {
		return
	}
	body.Add(widget.NewWords(fmt.Sprintf("%d readings find every fault they can, %d more narrow it down. Of %d harmful single faults %d show in the list.", k.Find, len(k.Tests)-k.Find, k.Harmful, k.Detected), theme.Small+0.5, false, theme.Ink))
	head := ""
	for _, t := range k.Tests {
		h := "Live: " + t.State
		if t.Meter == "ohms" {
			h = "Dead, locked out, thermostat calling nothing"
		}
		if h != head {
			head = h
			body.Add(widget.NewHeading(h))
			body.Add(widget.NewNotice("caution", theme.Warning, []string{t.Caution}, nil))
		}
		row := c.row(t)
		c.tests, c.rows = append(c.tests, t), append(c.rows, row)
		body.Add(row)
	}
	for _, m := range k.Missed {
		body.Add(widget.NewNotice("outside", theme.Bad, []string{"No reading of the list shows: " + m}, nil))
	}
	body.Add(widget.NewWords("Tolerances: "+k.Source, theme.Small, false, theme.Muted))
	c.found.Show()
	c.fill()
}

func (c *checkoutPart) row(t planner.Test) *widget.Row {
	key := plan.TestKey(t)
	f, err := record.ByKey(key)
	if err != nil {
		return widget.NewRow(widget.Field{Key: key.String(), Label: t.Words, Kind: widget.TextField})
	}
	pf := c.w.p.b.show.field(f)
	where, _, _ := strings.Cut(t.Words, ": ")
	pf.Label = fmt.Sprintf("%d  %s: %s", t.N, strings.TrimSuffix(where, ", locked out"), expected(t))
	if u, err := units.Lookup(f.Dim, f.Unit); err == nil {
		pf.Unit = u.Label
	}
	row := widget.NewRow(pf)
	row.OnCommit = func(_ *widget.Row, text, unit string) error {
		err := c.w.p.b.commit(key, text, unit, "")
		c.fill()
		if err == nil && row.Wrong() != "" {
			return fmt.Errorf("%s", row.Wrong()) // out of tolerance: entered, and said so
		}
		return err
	}
	row.OnFocus = func(r *widget.Row, got bool) {
		c.w.p.b.take(r, got)
		if got {
			c.w.p.centre.Reveal(r)
		}
	}
	row.OnMove = c.move
	row.OnResize = c.w.p.reflow
	return row
}

// expected says what the sound circuit reads, and how close a reading must be.
func expected(t planner.Test) string {
	if t.Open {
		return record.OpenLine
	}
	unit := map[string]string{"ohms": "Ω", "volts": "V", "amps": "A"}[t.Meter]
	return fmt.Sprintf("%s ± %s %s", limit(t.Expect), limit(t.Tolerance), unit)
}

func (c *checkoutPart) move(from *widget.Row, by int) {
	for i, r := range c.rows {
		if i+by >= 0 && i+by < len(c.rows) && r == from && c.rows[i+by].Focus() {
			return
		}
	}
	c.w.p.b.leave()
}

// fill puts what the record holds beside the predictions, and asks what it
// leaves to suspect.
func (c *checkoutPart) fill() {
	if c.rows == nil || c.w.plan == nil || c.w.plan.Plan == nil {
		return
	}
	j, r := c.w.p.b.job, c.w.plan.Result
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
		idle := ""
		if t.Role == "narrow" {
			idle = "only when another is out"
		}
		if d, ok := j.Draft(key); ok {
			row.SetValue(d.Value, unitLabel(f, d.Unit), sentence(d.Reason), "not entered")
			continue
		}
		e, ok := j.Entry(key)
		switch k := by[t.N]; {
		case !ok:
			row.SetValue("", "", "", idle)
		case k.Fits:
			row.SetValue(e.Value, unitLabel(f, e.Unit), "", "as predicted, "+e.Time.Format("15:04"))
		default:
			row.SetValue(e.Value, unitLabel(f, e.Unit), "Not as predicted", e.Time.Format("15:04"))
		}
	}
	key := fmt.Sprint(taken)
	if key == c.made {
		return
	}
	c.made = key
	if len(taken) == 0 {
		c.say(r, nil, nil, planner.Choice{}, nil)
		return
	}
	c.work.Ask(func() func() {
		ss, err := plan.Suspects(context.Background(), r, taken)
		var next planner.Choice
		if err == nil {
			m := map[int]float64{}
			for _, t := range taken {
				m[t.N] = t.Value
			}
			next, err = planner.Next(context.Background(), r, m)
		}
		return func() {
			if c.rows != nil {
				c.say(r, taken, ss, next, err)
			}
		}
	})
}

// lead is a key to the reading that tells most of those left.
func (c *checkoutPart) lead(n int) {
	for i, t := range c.tests {
		if t.N == n {
			c.found.Add(widget.NewTap(fmt.Sprintf("Go to reading %d, which tells most", n), func() { c.rows[i].Focus() }))
		}
	}
}

// say names what fits the readings.
func (c *checkoutPart) say(r *planner.Result, taken []plan.Taken, ss []planner.Suspect, next planner.Choice, err error) {
	widget.Refill(c.found, func() { c.tell(r, taken, ss, next, err) })
	c.w.p.reflow()
}

func (c *checkoutPart) tell(r *planner.Result, taken []plan.Taken, ss []planner.Suspect, next planner.Choice, err error) {
	c.found.Add(widget.NewHeading("What the readings say"))
	note := func(shape string, tone theme.Tone, lines ...string) {
		c.found.Add(widget.NewNotice(shape, tone, lines, nil))
	}
	out, find := 0, map[int]bool{}
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
	sound, faults := false, ss[:0:0]
	for _, s := range ss {
		if s.Fault == "" {
			sound = true
		} else {
			faults = append(faults, s)
		}
	}
	switch {
	case err != nil:
		note("outside", theme.Bad, sentence(err.Error()))
	case len(taken) == 0:
		c.found.Add(widget.NewWords("Enter what the meter shows beside what is predicted. A reading out of tolerance narrows down which conductor or device to look at.", theme.Small+0.5, false, theme.Muted))
	case sound && left == 0:
		note("within", theme.Good, fmt.Sprintf("All %d readings that find are as predicted. That is what was checked; damaged parts and faults that no reading shows are not excluded.", r.Checkout.Find))
	case sound && out > 0:
		note("close", theme.Warning, fmt.Sprintf("%d of %d readings are at the edge of their tolerance; the circuit as planned still fits them. Read them again.", out, len(taken)))
	case sound && next.Test == 0:
		note("close", theme.Warning, fmt.Sprintf("%d entered, all as predicted. %d readings that find are not taken; %s.", len(taken), left, next.Words))
	case sound:
		note("close", theme.Warning, fmt.Sprintf("%d entered, all as predicted. %d more readings that find are still to be taken; next: reading %d.", len(taken), left, next.Test))
		c.lead(next.Test)
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
			c.found.Add(widget.NewCard(sentence(s.Words), s.Part, "", theme.Bad))
		}
	}
}
