package section

import (
	"context"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// measuredDims lists the dimensions that something in the job is measured in.
func measuredDims() (out []units.Dimension) {
	seen := map[units.Dimension]bool{}
	for _, f := range record.Fields {
		if f.Kind == record.Number && f.Origin == record.Measured && !seen[f.Dim] {
			seen[f.Dim] = true
			out = append(out, f.Dim)
		}
	}
	return out
}

// instruments lists what is measured with, and how well. A reading whose
// instrument is not named takes the accuracy usual for its kind.
func instruments(p *Pane) *Section {
	body := widget.NewColumn(9, 0)
	return newSection("instruments", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) []record.Instrument { return in.Job.Instruments },
		func(is []record.Instrument) {
			widget.Refill(body, func() {
				body.Add(widget.NewHeading("Instruments"))
				if len(is) == 0 {
					body.Add(widget.NewWords("None listed. A reading then takes the accuracy usual for its kind of instrument.", theme.Small+0.5, false, theme.Muted))
				}
				for _, i := range is {
					body.Add(widget.NewCard(i.Name, i.ID, accuracyWords(i), theme.Accent))
				}
				body.Add(widget.NewTap("Add an instrument", func() { askInstrument(p) }))
			})
			p.reflow()
		}).alone()
}

func accuracyWords(i record.Instrument) string {
	var out []string
	for _, a := range i.Accuracy {
		t := string(a.Dim) + " ±"
		u, err := units.Lookup(a.Dim, a.Unit)
		if err == nil && a.Plus > 0 {
			t += fmt.Sprintf(" %g %s", a.Plus, u.Label)
		}
		if a.Percent > 0 {
			if a.Plus > 0 {
				t += " plus"
			}
			t += fmt.Sprintf(" %g %% of the reading", a.Percent)
		}
		out = append(out, t)
	}
	t := strings.Join(out, "; ")
	if i.Calibrated != "" {
		t += "; calibrated " + i.Calibrated
	}
	return t
}

// AddInstrument lists an instrument. What does not fit is an error and changes
// nothing. An instrument of the same id gains the accuracy.
func AddInstrument(p *Pane, i record.Instrument) error {
	i.ID, i.Name = strings.TrimSpace(i.ID), strings.TrimSpace(i.Name)
	if i.ID == "" {
		return fmt.Errorf("an instrument needs a short id, such as the number on its label")
	}
	if i.Name == "" {
		i.Name = i.ID
	}
	j := p.Job().Clone()
	found := false
	for k, old := range j.Instruments {
		if old.ID == i.ID {
			found = true
			j.Instruments[k].Accuracy = append(append([]record.Accuracy{}, old.Accuracy...), i.Accuracy...)
		}
	}
	if !found {
		j.Instruments = append(j.Instruments, i)
	}
	// The record's own reader is the judge of what fits.
	raw, err := j.Encode()
	if err != nil {
		return err
	}
	if j, err = record.Decode(raw); err != nil {
		return err
	}
	p.Change(func(job *record.Job) { job.Instruments = j.Instruments })
	p.Remake(nil) // every row may be read with it
	return nil
}

func askInstrument(p *Pane) {
	p.Sheet(560, 620, func(shut func()) fyne.CanvasObject {
		entry := func(hint string) *toolkit.Entry {
			e := toolkit.NewEntry()
			e.SetPlaceHolder(hint)
			return e
		}
		id, name, plus, percent := entry("id, such as the number on its label"), entry("what it is"), entry("± number"), entry("± % of the reading")
		var names []string
		for _, d := range measuredDims() {
			names = append(names, string(d))
		}
		unit := toolkit.NewSelect(nil, nil)
		dim := toolkit.NewSelect(names, func(d string) {
			var us []string
			for _, u := range units.Of(units.Dimension(d)) {
				us = append(us, u.Label)
			}
			unit.SetOptions(us)
			if len(us) > 0 {
				unit.SetSelected(us[0])
			}
		})
		dim.PlaceHolder, unit.PlaceHolder = "what it reads", "unit"
		wrong := widget.NewWords("", theme.Small+0.5, false, theme.Bad)
		ok := widget.NewTap("Add", nil)
		ok.Strong = true
		col := widget.NewColumn(8, 12, widget.NewWords("An instrument and its accuracy", theme.Figure, true, theme.Ink), id, name, dim, plus, unit, percent, wrong, ok, widget.NewTap("Cancel", shut))
		scroll := widget.NewScroller(col)
		ok.Do = func() {
			err := func() error {
				if dim.Selected == "" {
					return fmt.Errorf("say what it reads")
				}
				a := record.Accuracy{Dim: units.Dimension(dim.Selected)}
				if u, err := units.Lookup(a.Dim, unit.Selected); err == nil {
					a.Unit = u.Name
				}
				var err error
				for _, n := range []struct {
					text string
					to   *float64
				}{{plus.Text, &a.Plus}, {percent.Text, &a.Percent}} {
					if strings.TrimSpace(n.text) == "" {
						continue
					}
					if *n.to, err = units.Number(n.text); err != nil {
						return err
					}
				}
				if a.Plus == 0 && a.Percent == 0 {
					return fmt.Errorf("give its accuracy: a number, a percentage of the reading, or both")
				}
				return AddInstrument(p, record.Instrument{ID: id.Text, Name: name.Text, Accuracy: []record.Accuracy{a}})
			}()
			if err != nil {
				wrong.Set(Sentence(err.Error()))
				scroll.Reflow()
				return
			}
			shut()
		}
		return scroll
	})
}
