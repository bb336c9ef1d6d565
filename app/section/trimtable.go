package section

import (
	"context"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/thermo/units"
)

// trimWords is the table of the trim's steps.
type trimWords struct {
	head []string
	rows []widget.TableRow
	next string // what is to be done now, as the finding says it
	note string
}

// trimTable is the steps of the trim: what was added, what was expected, what was read.
func trimTable(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	return newSection("trim steps", []fyne.CanvasObject{body}, Input.typed,
		func(_ context.Context, in Input) trimWords {
			r, err := in.Shown.Report()
			if err != nil || r.Trim == nil {
				return trimWords{}
			}
			w := in.present(r).trim(r.Trim)
			for _, f := range r.Of(p.Info.Step) {
				if f.Key == "trim_next" {
					w.next = Sentence(f.Next)
				}
			}
			return w
		},
		func(w trimWords) {
			widget.Refill(body, func() {
				if len(w.rows) == 0 {
					return
				}
				body.Add(widget.NewHeading("Trim, step by step"))
				body.Add(widget.NewTable(w.head, w.rows))
				if w.next != "" {
					body.Add(widget.NewWords(w.next, theme.Text, true, theme.Ink))
				}
				body.Add(widget.NewWords(w.note, theme.Small-0.5, false, theme.Muted))
			})
			p.reflow()
		}).alone()
}

// trim lays the steps out.
func (s presenter) trim(t *assess.Trim) (w trimWords) {
	m, d := units.Preferred(units.Mass, s.system), units.Preferred(units.TempDiff, s.system)
	show := func(k float64) string { return figureTo(d.FromSI(k, 0), 1) }
	w.head = []string{"Reading", "added, " + m.Label, "expected, " + d.Label, "read, " + d.Label, "In the band"}
	w.note = fmt.Sprintf("Towards a %s of %s %s, band ± %s; expected: 95 %% of what this unit may do by what it did before. Amounts count from the first reading. The likelihood is of this reading's place; the running check judges the charge.", t.By, show(t.Target), d.Label, show(t.Band))
	for i, k := range t.Steps {
		row := widget.TableRow{Cells: []string{fmt.Sprintf("%d", i+1), figureTo(m.FromSI(k.Added, 0), 1), "", show(k.Read), assess.Chance(k.In)}, Tone: theme.Muted}
		if i > 0 {
			row.Cells[2] = show(k.Low) + " to " + show(k.High)
		}
		if i > 0 && (k.Read < k.Low || k.Read > k.High) {
			row.Small = "Not as expected: it may not have settled, or something else changed."
		}
		if w := k.Set.Words(s.system, s.site); w != "" {
			row.Small = strings.TrimSpace(row.Small + " Read " + w)
		}
		w.rows = append(w.rows, row)
	}
	return w
}
