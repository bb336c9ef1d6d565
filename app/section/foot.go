package section

import (
	"context"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/record"
)

// lacks is what a step still wants, and what comes after it.
type lacks struct {
	labels []string
	keys   []record.Key
	why    string // what no field of the step would end
}

// foot ends the entries of a step: what it still lacks, each with a key that leads
// there, and the way on.
func foot(p *Pane) *Section {
	body := widget.NewColumn(8, 0)
	next := ""
	for i, s := range record.Steps {
		if s.Step == p.Info.Step && i+1 < len(record.Steps) {
			next = record.Steps[i+1].Title
		}
	}
	fill := func(l lacks) {
		widget.Refill(body, func() {
			if len(l.labels) > 0 || l.why != "" {
				body.Add(widget.NewHeading("This step still lacks"))
			}
			if l.why != "" {
				body.Add(widget.NewWords(Sentence(l.why)+".", theme.Small+0.5, false, theme.Ink))
			}
			if len(l.labels) > 0 {
				c := widget.NewChoose(nil, "", nil)
				c.Px = theme.Small + 0.5
				c.SetOptions(l.labels, "")
				c.Do = func(o string) {
					c.Select("")
					for i, label := range l.labels {
						if label == o {
							p.LeadTo(l.keys[i])
							return
						}
					}
				}
				body.Add(c)
			}
			if next != "" {
				k := widget.NewTap("Next step: "+next, p.Onward)
				k.Strong = true
				body.Add(k)
			}
		})
		p.reflow()
	}
	fill(lacks{})
	return newSection("foot", []fyne.CanvasObject{body}, Input.typed,
		func(_ context.Context, in Input) lacks { return lacksOf(in, p.Info.Step) }, fill).alone()
}

// lacksOf lists the needed fields of a step that hold nothing, those with something
// that cannot be entered, and what else stands against it.
func lacksOf(in Input, step record.Step) (l lacks) {
	for _, f := range record.Of(step) {
		_, entered := in.Job.Entry(f.Key)
		_, draft := in.Job.Draft(f.Key)
		if draft || f.Need && !entered {
			l.labels, l.keys = append(l.labels, f.Label), append(l.keys, f.Key)
		}
	}
	r, err := in.Shown.Report()
	if err != nil {
		return l
	}
	for _, s := range r.Steps {
		if s.Step != step || s.Why == "" {
			continue
		}
		if w := widgetStates[s.Word]; w == widget.Held || len(l.labels) == 0 || step == record.Wiring {
			l.why = s.Why
		}
	}
	return l
}

// LeadTo brings a field before the eye with the cursor in it. One that waits behind
// its cautions leads to these, one that is chosen in the middle to that.
func (p *Pane) LeadTo(key record.Key) {
	for _, r := range p.Rows {
		if r.Field.Key != key.String() {
			continue
		}
		if p.entries != nil {
			if g := p.entries.shutting(r); g != nil {
				p.Side.Reveal(g.tap)
				return
			}
			p.entries.unfold(r)
		}
		p.Side.Reveal(r)
		r.Focus()
		return
	}
	if p.Middle != nil {
		p.Middle.Top()
	}
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
