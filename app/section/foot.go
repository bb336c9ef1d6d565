package section

import (
	"context"
	"fmt"
	"slices"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// lack is one thing that keeps the step from being done: words for a key, and what it
// leads to, a field or a finding.
type lack struct{ label, key string }

// lacks is what a step still wants, by how it stands.
type lacks struct {
	heads  []string
	of     [][]lack
	why    string // what holds the step, or what it wants first
	yet    bool   // it wants something first
	holds  []obstacle
	more   int    // of what holds it, beyond those
	next   string // the way on
	signed bool   // the last step, and signed
}

// standing is how the things that a step lacks are headed.
var standing = []struct {
	stand assess.Stand
	head  string
}{{assess.IsOutside, "Outside, to be put right"}, {assess.IsClose, "Too close to call"}, {assess.IsMissing, "Still missing here"}}

// foot ends the entries of a step: what it still lacks, each with a key that leads
// there, and the way on.
func foot(p *Pane) *Section {
	body := widget.NewColumn(8, 0)
	fill := func(l lacks) {
		widget.Refill(body, func() {
			if l.why != "" {
				if l.yet {
					body.Add(widget.NewHeading("Nothing to act on yet"))
				} else {
					body.Add(widget.NewHeading("This step waits"))
				}
				body.Add(widget.NewWords(Sentence(l.why)+".", theme.Small+0.5, false, theme.Ink))
				for _, o := range l.holds {
					k := widget.NewTap(o.label, func() { p.LeadAway(o.step, o.key) })
					k.Px = theme.Small + 0.5
					body.Add(k)
				}
				if l.more > 0 {
					body.Add(widget.NewWords(fmt.Sprintf("And %d more: each step names its own at its foot.", l.more), theme.Small+0.5, false, theme.Muted))
				}
			}
			for i, of := range l.of {
				body.Add(widget.NewHeading(l.heads[i]))
				body.Add(p.leads(of))
			}
			if l.next != "" {
				k := widget.NewTap("Next step: "+l.next, p.GoOn)
				k.Strong = true
				body.Add(k)
			}
			if l.signed {
				body.Add(widget.NewTap("Begin a new job like this one", p.BeginLike))
			}
		})
		p.reflow()
	}
	fill(lacks{next: p.WayOn()})
	return newSection("foot", []fyne.CanvasObject{body}, Input.typed,
		func(_ context.Context, in Input) lacks { return lacksOf(in, p.Info.Step) }, fill).alone()
}

// leads is a row of keys, each to what it names.
func (p *Pane) leads(of []lack) *widget.Choose {
	var labels []string
	for _, l := range of {
		labels = append(labels, l.label)
	}
	c := widget.NewChoose(nil, "", nil)
	c.Px = theme.Small + 0.5
	c.SetOptions(labels, "")
	c.Do = func(o string) {
		c.Select("")
		if i := slices.Index(labels, o); i >= 0 {
			p.LeadTo(of[i].key)
		}
	}
	return c
}

// lacksOf is what the assessment says a step lacks.
func lacksOf(in Input, step record.Step) (l lacks) {
	r, err := in.Shown.Report()
	if err != nil {
		r = nil
	}
	w, on := wayOn(in.Job, r, step)
	l.next = w.said
	if _, signed := in.Job.Signed(); signed && !on {
		l.signed = true
	}
	if r == nil {
		return l
	}
	for _, s := range r.Steps {
		if s.Step != step {
			continue
		}
		if s.Word == assess.Held {
			l.why = s.Why
			if step != record.HandOver { // which names them on top
				l.holds, l.more = holdsOf(r, step)
			}
		}
		if l.yet = s.Word == assess.NotYet; l.yet {
			l.why = s.Why
		}
		for _, w := range standing {
			var of []lack
			seen := map[string]bool{}
			for _, m := range s.Left {
				if m.Stand == w.stand && !seen[m.Label] {
					seen[m.Label] = true
					of = append(of, lack{m.Label, m.Key})
				}
			}
			if of != nil {
				l.heads, l.of = append(l.heads, w.head), append(l.of, of)
			}
		}
		var of []lack
		for _, m := range s.Unknown {
			of = append(of, lack{m.Label, m.Key})
		}
		if of != nil && s.Word != assess.NotYet && s.Word != assess.Ready {
			l.heads, l.of = append(l.heads, "Done without these, with reservations"), append(l.of, of)
		}
	}
	return l
}

// holdsOf are keys to what holds a step; a step of which nothing was entered is one.
func holdsOf(r *assess.Report, step record.Step) (out []obstacle, more int) {
	seen := map[string]bool{}
	for _, m := range r.Holds(step) {
		info, _ := m.Step.Info()
		o := obstacle{label: info.Title + ": " + m.Label, step: m.Step, key: m.Key}
		if i := slices.IndexFunc(r.Steps, func(s assess.State) bool { return s.Step == m.Step }); i >= 0 && (r.Steps[i].Word == assess.Ready || r.Steps[i].Word == assess.NotYet) {
			o.label, o.key = info.Title, ""
		}
		switch {
		case seen[o.label]:
		case len(out) < shownAgainst:
			out = append(out, o)
		default:
			more++
		}
		seen[o.label] = true
	}
	return out, more
}

// LeadTo brings a field before the eye with the cursor in it. One that waits behind
// its cautions leads to these, a finding to its strip, what is chosen in the middle to
// that.
func (p *Pane) LeadTo(key string) {
	p.awaited = ""
	if !p.lead(key) && p.Middle != nil {
		p.Middle.Top()
	}
}

// LeadToWhenThere is LeadTo of a pane that may still be filled in: what is not there
// yet is led to as soon as it is.
func (p *Pane) LeadToWhenThere(key string) {
	if !p.lead(key) {
		p.awaited = key
	}
}

// lead tells whether what it leads to is there.
func (p *Pane) lead(key string) bool {
	for _, r := range p.Rows {
		if r.Field.Key != key {
			continue
		}
		if p.entries != nil {
			if g := p.entries.shutting(r); g != nil {
				p.Side.Reveal(g.tap)
				return true
			}
			p.entries.unfold(r)
		}
		p.Side.Reveal(r)
		r.Focus()
		return true
	}
	if k, err := record.ByName(key); err == nil && p.wiring != nil && record.IsMeter(k.Key) {
		return p.wiring.leadToReading(key)
	}
	if s := p.sift.strips[key]; p.Middle != nil && s != nil {
		p.sift.word, p.sift.open = "", true
		p.sift.summary.Select("")
		p.once(func() {
			p.siftStrips()
			p.reflow()
		})
		p.Middle.Reveal(s)
		return true
	}
	return false
}

// shutting is the gate behind which a row waits, nil for none.
func (e *entries) shutting(r *widget.Row) *gate {
	for _, g := range e.gates {
		for _, q := range g.rows {
			if q == r && !r.Visible() {
				return g
			}
		}
	}
	return nil
}

// unfold shows the seldom fields of which a row is one.
func (e *entries) unfold(r *widget.Row) {
	for _, f := range e.folds {
		for _, q := range f.rows {
			if q == r && !r.Visible() {
				f.open = true
				f.apply()
			}
		}
	}
}
