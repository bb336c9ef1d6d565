package section

import (
	"errors"
	"fmt"
	"slices"
	"strconv"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/record"
	"retrostage/reports/series"
	"retrostage/thermo/units"
)

// importVacuum opens the import of a vacuum gauge's log.
func importVacuum(p *Pane) *Section {
	return fixed("import vacuum", widget.NewTap("Import a vacuum gauge's log", func() { importLog(p, vacuumAim()) }))
}

// valvedWords are the ways in which a log may be parted, as they are offered.
var valvedWords = []struct {
	at   series.Valved
	word string
}{{series.ValvedLowest, "valved off at the lowest reading"}, {series.ValvedBefore, "the rise alone"}, {series.ValvedNever, "the pull-down alone"}}

// vacuumAim takes a log in as the readings of a pull-down and of an isolated vacuum.
func vacuumAim() logAim {
	gauge := record.VacuumFinal.Field()
	gauge.Label = "Vacuum gauge, at the system"
	chosen := -1 // nothing is taken for granted: a pump that still ran looks like a tight circuit
	return logAim{title: "Import a vacuum gauge's log", what: "a column with the time and one of a vacuum gauge", fields: []record.Field{gauge},
		guess: func(c series.Column) record.Key {
			if c.Dim == units.Vacuum {
				return record.VacuumFinal
			}
			return record.Key{}
		},
		ask: func(m *importer) {
			var words []string
			for _, w := range valvedWords {
				words = append(words, w.word)
			}
			chosen = -1
			m.ask.Add(widget.NewWords("The pump in this log (a rise read while it ran shows nothing)", theme.Small+0.5, false, theme.Muted))
			m.ask.Add(widget.NewChoose(words, "", func(word string) { chosen = slices.Index(words, word) }))
			m.ask.Add(widget.NewWords("What is there of pull-down and rise takes the place of what is entered; that stays in the history.", theme.Small, false, theme.Muted))
		},
		keepWords: "Enter these readings",
		keep: func(m *importer) {
			if chosen < 0 {
				m.refuse(errors.New("say when the pump was valved off"))
				return
			}
			m.keepVacuum(valvedWords[chosen].at)
		}}
}

// keepVacuum reads the log as confirmed, beside the finger, and enters its parts.
func (m *importer) keepVacuum(at series.Valved) {
	column, unit, n := -1, "", 0
	for k, u := range m.uses {
		if u.Key == record.VacuumFinal {
			column, unit = k, u.Unit
			n++
		}
	}
	if n != 1 {
		m.refuse(fmt.Errorf("say of one column that it is the vacuum gauge"))
		return
	}
	for _, r := range m.rows {
		r.SetValue(r.Text(), "", "", "")
	}
	raw, l := m.raw, m.layout
	m.work.Ask(func() func() {
		v, err := series.ReadVacuum(raw, l, column, unit, at)
		return func() {
			if err == nil {
				err = enterVacuum(m.h, v)
			}
			if err != nil {
				m.refuse(err)
				return
			}
			m.learn()
			m.shut()
		}
	})
}

// enterVacuum enters what a log has, one field after another.
func enterVacuum(h Host, v series.Vacuum) error {
	number := func(x float64, places int) string { return strconv.FormatFloat(x, 'f', places, 64) }
	type entry struct {
		key         record.Key
		value, unit string
	}
	var es []entry
	if v.Pull != "" {
		es = append(es, entry{record.VacuumPull, v.Pull, ""})
		if v.Pumped >= 1 {
			es = append(es, entry{record.PumpedFor, number(v.Pumped, 0), "min"})
		}
	}
	if v.Rise != "" {
		es = append(es, entry{record.VacuumFinal, number(v.Off, 1), "micron"}, entry{record.VacuumEnd, number(v.End, 1), "micron"}, entry{record.VacuumRise, v.Rise, ""})
		if v.Held >= 1 {
			es = append(es, entry{record.VacuumTime, number(v.Held, 1), "min"})
		}
	}
	if v.Rise != "" {
		es = append(es, entry{record.VacuumNoted, record.NotedLater, ""})
	}
	for _, e := range es {
		if err := h.Enter(e.key, e.value, e.unit, ""); err != nil {
			return err
		}
	}
	return nil
}
