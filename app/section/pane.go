package section

import (
	"fmt"
	"slices"

	"fyne.io/fyne/v2"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// Pane is one step on the page: its sections, beside (the entries, where the
// thumb is) and in the middle (findings and pictures).
type Pane struct {
	Host
	Info     record.StepInfo
	Side     *widget.Scroller
	Middle   *widget.Scroller // nil while the step has nothing to show there
	Wide     bool             // the middle needs the room, the entries are few
	Alone    bool             // the middle has all the room for now: a drawing is shown
	Rows     []*widget.Row    // the fields in their order
	Sections []*Section

	entries  *entries
	body     *fyne.Container // of the fields
	sift     sift
	wiring   *wiringView
	awaited  string // the field or finding to be led to once it is there
	pictures int    // views made
	held     int    // changes under way, after which it is laid out
	asked    bool   // one of them wants it
}

// New makes the pane of a step.
func New(h Host, info record.StepInfo) *Pane {
	p := &Pane{Host: h, Info: info}
	l := layoutOf(info.Step)
	p.Wide = l.wide
	add := func(c *fyne.Container, makers []maker) {
		for _, m := range makers {
			s := m(p)
			p.Sections = append(p.Sections, s)
			for _, o := range s.Objects {
				c.Add(o)
			}
		}
	}
	middle := l.pictures || h.Report() != nil && len(h.Report().Of(info.Step)) > 0
	if !middle {
		side := widget.NewColumns(350, 9, 0)
		p.body = side
		top := widget.NewColumn(6, 14)
		add(top, []maker{header})
		add(side, append(slices.Clone(l.side), foot))
		top.Add(side)
		p.Side = widget.NewScroller(top)
		p.Sections = append(p.Sections, firstFinding(p))
		return p
	}
	// Middle first: what is filled in first is what is looked at.
	body, side := widget.NewColumn(10, 14), widget.NewColumns(350, 9, 12)
	p.body = side
	p.Middle = widget.NewScroller(body)
	add(body, append([]maker{header}, l.middle...))
	add(side, append(slices.Clone(l.side), foot))
	p.Side = widget.NewScroller(side)
	return p
}

// Offer hands a revision of the job to every section.
func (p *Pane) Offer(in Input) {
	for _, s := range p.Sections {
		s.offer(p, in)
	}
}

// ResumeFrom scrolls to where another pane of the same step stood; nil is none.
func (p *Pane) ResumeFrom(was *Pane) {
	if was == nil {
		return
	}
	p.Side.Resume(was.Side.Offset())
	if p.Middle != nil && was.Middle != nil {
		p.Middle.Resume(was.Middle.Offset())
	}
}

// once does what changes several things of the pane, and lays it out once at the
// end if any of them asked for it.
func (p *Pane) once(do func()) {
	p.held++
	do()
	if p.held--; p.held == 0 && p.asked {
		p.reflow()
	}
	if key := p.awaited; key != "" && p.held == 0 {
		p.awaited = ""
		p.LeadToWhenThere(key)
	}
}

// reflow lays the pane out again after something in it changed height.
func (p *Pane) reflow() {
	if p.asked = p.held > 0; p.asked {
		return
	}
	if p.Side == nil {
		return // being made
	}
	p.Side.ReflowAbout(p.anchor())
	if p.Middle != nil {
		p.Relayout(p)
		p.Middle.Reflow()
	}
}

// anchor is what stays where it is as the page is laid out anew: the row below the one
// that has the cursor, for what is said of that one comes under it, and the finger is on
// its way down. Where the entries stand in several columns it is the row itself: to move
// the page would move the columns beside it.
func (p *Pane) anchor() fyne.CanvasObject {
	lit := p.lit()
	if lit == nil {
		return nil
	}
	x, past := lit.Position().X, false
	var next fyne.CanvasObject
	for _, r := range p.Rows {
		switch {
		case !r.Visible():
			continue
		case past && next == nil && r.Position().X == x:
			next = r
		}
		past = past || fyne.CanvasObject(r) == lit
	}
	if r, ok := lit.(*widget.Row); next == nil || ok && r.Field.Kind == widget.NoteField {
		return lit
	}
	return next
}

// rebalance lets the fields be shared among the columns anew, where many have come
// or gone at once.
func (p *Pane) rebalance() {
	if p.body != nil {
		widget.Rebalance(p.body)
	}
}

// lit is the row that has the cursor, nil if none.
func (p *Pane) lit() fyne.CanvasObject {
	for _, r := range p.Rows {
		if r.Lit() {
			return r
		}
	}
	return nil
}

// Lit tells whether a field of the pane has the cursor.
func (p *Pane) Lit() bool { return p.lit() != nil }

// newView makes a view of a picture in the middle, its height by its width.
func (p *Pane) newView(ratio float32) *widget.View {
	v := widget.NewView(nil)
	v.Ratio, v.Work.Now = ratio, p.Inline()
	v.Page = func() *widget.Scroller { return p.Middle }
	p.pictures++
	p.paper(v, fmt.Sprintf("%s-picture-%d", p.Info.Step, p.pictures))
	return v
}

// Move goes from an entry to the next or the previous; past the last it stays and
// is entered.
func (p *Pane) move(from *widget.Row, by int) {
	defer func() {
		if from.Meanings() != nil { // what is asked of it is to be seen
			p.Side.Reveal(from)
		}
	}()
	i := 0
	for k, r := range p.Rows {
		if r == from {
			i = k
		}
	}
	for i += by; i >= 0 && i < len(p.Rows); i += by {
		if p.Rows[i].Visible() && p.Rows[i].Focus() {
			p.ahead(p.Rows[i])
			return
		}
	}
	p.Leave()
}

// Reveal brings an entry into view, and beside it the first strip that depends on
// it: the eye need not look for what the finger moves.
func (p *Pane) Reveal(r *widget.Row) {
	p.Side.Reveal(r)
	if p.Middle == nil || p.Report() == nil {
		return
	}
	for _, f := range p.Report().Findings {
		for _, i := range f.Inputs {
			if s := p.sift.strips[f.Key]; i.Key == r.Field.Key && s != nil && s.Visible() {
				p.Middle.Reveal(s)
				return
			}
		}
	}
}
