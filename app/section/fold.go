package section

import (
	"fmt"
	"strings"

	"retrostage/app/widget"
)

// fold keeps the fields of a group that most jobs do without out of the way until
// they are asked for. One that holds something, or a draft, always shows.
type fold struct {
	p     *Pane
	rows  []*widget.Row
	tap   *widget.Tap
	holds map[string]bool
	opens map[string]bool // asked for by how the job stands
	gone  map[string]bool // without use in this job, or not yet
	open  bool
	shut  bool // by cautions that are not acknowledged
}

func newFold(p *Pane, rows []*widget.Row) *fold {
	f := &fold{p: p, rows: rows}
	f.tap = widget.NewTap("", func() {
		f.open = !f.open
		f.apply()
	})
	f.tap.Whole = true // the names of what it hides
	return f
}

// within is a label within a sentence; what begins with two capitals keeps them.
func within(label string) string {
	if len(label) > 1 && label[1] >= 'A' && label[1] <= 'Z' {
		return label
	}
	return strings.ToLower(label[:1]) + label[1:]
}

// apply shows what is to be seen.
func (f *fold) apply() {
	hidden, changed := 0, false
	var names []string
	for _, r := range f.rows {
		holds := f.holds[r.Field.Key] || r.Text() != ""
		gone := f.gone[r.Field.Key] && !holds
		opens := f.opens[r.Field.Key] && !gone
		if !holds && !gone && !opens {
			hidden++
			names = append(names, within(r.Field.Label))
		}
		if on := !f.shut && !gone && (f.open || holds || opens); on != r.Visible() {
			changed = true
			show(r, on)
		}
	}
	text := fmt.Sprintf("%d more: %s", hidden, strings.Join(names, "; "))
	if f.open {
		text = "Fewer fields"
	}
	changed = changed || f.tap.Text != text // it is as tall as its words
	f.tap.Set(text, false)
	show(f.tap, !f.shut && hidden > 0)
	if changed {
		f.p.reflow()
	}
}
