package app

import (
	"fmt"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// fold keeps the fields of a group that most jobs do without out of the way until
// they are asked for. One that holds something, or a draft, always shows.
type fold struct {
	p    *pane
	rows []*widget.Row
	tap  *widget.Tap
	open bool
	shut bool // by cautions that are not acknowledged
}

func (p *pane) fold(rows []*widget.Row) *fold {
	f := &fold{p: p, rows: rows}
	f.tap = widget.NewTap("", func() {
		f.open = !f.open
		f.apply()
		p.reflow()
	})
	return f
}

// apply shows what is to be seen, and tells whether that changed.
func (f *fold) apply() (changed bool) {
	hidden := 0
	for _, r := range f.rows {
		q, _ := record.ByName(r.Field.Key)
		_, draft := f.p.b.job.Draft(q.Key)
		_, entered := f.p.b.job.Entry(q.Key)
		holds := draft || entered || r.Text() != ""
		if !holds {
			hidden++
		}
		if show := !f.shut && (f.open || holds); show != r.Visible() {
			changed = true
			if show {
				r.Show()
			} else {
				r.Hide()
			}
		}
	}
	switch {
	case f.shut || hidden == 0:
		f.tap.Hide()
	case f.open:
		f.tap.Set("Fewer fields", false)
		f.tap.Show()
	default:
		f.tap.Set(fmt.Sprintf("%d more, seldom needed", hidden), false)
		f.tap.Show()
	}
	return changed
}
