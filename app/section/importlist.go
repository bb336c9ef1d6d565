package section

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/archive"
	"retrostage/reports/match"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// lister takes a list of compressors in: what the columns seem to be is shown and
// confirmed before anything is kept.
type lister struct {
	*taker
	list match.Listing
	uses match.Mapping
}

func importList(p *Pane) {
	p.Sheet(760, 720, func(shut func()) fyne.CanvasObject { return newLister(p, shut).Scroll })
}

func newLister(h Host, shut func()) *lister {
	m := &lister{}
	m.taker = newTaker(h, shut, "Import a list of compressors", "One line for each compressor, headings in the first. Nothing is kept before you have confirmed what the columns are, and in which unit.",
		"path of the list: text or .xlsx", m.load)
	return m
}

func (m *lister) load() {
	path := strings.TrimSpace(m.path.Text)
	m.Say(theme.Muted, "Reading "+path)
	m.work.Ask(func() func() {
		l, err := readList(path)
		return func() {
			m.ask.RemoveAll()
			if err != nil {
				m.Say(theme.Bad, "Not read: "+strings.TrimPrefix(err.Error(), "match: "))
				return
			}
			m.list, m.uses = l, l.Guess(m.h.Sitting().Lists)
			m.confirm()
		}
	})
}

func readList(path string) (l match.Listing, err error) {
	b, err := archive.Read(path, match.MaxBytes)
	if err != nil {
		return l, err
	}
	return match.ReadListing(b)
}

func (m *lister) confirm() {
	m.ask.Add(widget.NewHeading("What the columns are"))
	for i, h := range m.list.Headings {
		m.column(i, h)
	}
	keep := widget.NewTap("Keep this list with the job", m.keep)
	keep.Strong = true
	m.ask.Add(keep)
	m.Say(theme.Ink, fmt.Sprintf("Found %d lines and %d columns. Is it read rightly?", len(m.list.Rows), len(m.list.Headings)))
}

// column asks what one column is: field and unit.
func (m *lister) column(i int, heading string) {
	sample := ""
	if len(m.list.Rows) > 0 && i < len(m.list.Rows[0]) {
		sample = ", first " + m.list.Rows[0][i]
	}
	q := widget.Field{Key: heading, Label: heading + sample, Kind: widget.PickField, Options: []string{unused}, Says: []string{unused}}
	dims := map[string]units.Dimension{}
	for _, f := range match.Fields() {
		q.Options, q.Says = append(q.Options, f.Name), append(q.Says, f.Label)
		dims[f.Name] = f.Dim
	}
	row, unit := widget.NewRow(q), widget.NewChoose(nil, "", nil)
	unit.Px = theme.Small + 0.5
	unit.Do = func(label string) {
		c := m.uses[heading]
		for _, u := range units.Of(dims[c.Field]) {
			if u.Label == label {
				c.Unit = u.Name
			}
		}
		m.uses[heading] = c
	}
	offer := func() {
		var labels []string
		chosen := ""
		c := m.uses[heading]
		if d := dims[c.Field]; d != "" && len(units.Of(d)) > 1 {
			for _, u := range units.Of(d) {
				labels = append(labels, u.Label)
				if u.Name == c.Unit {
					chosen = u.Label
				}
			}
		}
		unit.SetOptions(labels, chosen)
		m.Scroll.Reflow()
	}
	row.OnResize = m.Scroll.Reflow
	row.OnCommit = func(_ *widget.Row, field, _ string) error {
		c := match.Column{}
		if d, ok := dims[field]; ok {
			c.Field = field
			if d != "" && len(units.Of(d)) == 1 {
				c.Unit = units.Of(d)[0].Name
			}
		}
		m.uses[heading] = c
		offer()
		return nil
	}
	shown := m.uses[heading].Field
	if shown == "" {
		shown = unused
	}
	row.SetValue(shown, "", "", "")
	m.ask.Add(row)
	m.ask.Add(unit)
	offer()
}

// keep enters the list as understood, and remembers what the columns were.
func (m *lister) keep() {
	if _, _, err := m.list.Candidates(m.uses); err != nil {
		m.Say(theme.Bad, "Not kept: "+strings.TrimPrefix(err.Error(), "match: "))
		m.Scroll.Reveal(m.Said)
		return
	}
	if err := m.h.Enter(record.Candidates, m.list.Text(m.uses), "", ""); err != nil {
		m.Say(theme.Bad, "Not kept: "+err.Error())
		return
	}
	for h, c := range m.uses {
		m.h.Sitting().Lists[h] = c
	}
	m.h.Remember()
	m.shut()
}
