package section

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/app/words"
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
	return newSection("instruments", []fyne.CanvasObject{body}, func(in Input) string { return in.entered() + in.Now.Format(time.DateOnly) },
		func(_ context.Context, in Input) []record.Instrument { return in.Job.Instruments },
		func(is []record.Instrument) {
			widget.Refill(body, func() {
				body.Add(widget.NewHeading("Instruments"))
				if len(is) == 0 {
					body.Add(widget.NewWords("None listed. A reading then takes the accuracy usual for its kind of instrument.", theme.Small+0.5, false, theme.Muted))
				}
				for _, i := range is {
					body.Add(ToolCard(i, p.Now()))
				}
				if own := lacking(p.Sitting().Mine, is); len(own) > 0 {
					var names []string
					for _, i := range own {
						names = append(names, i.Name)
					}
					body.Add(widget.NewTap("Take my own: "+strings.Join(names, ", "), func() {
						p.Change(func(j *record.Job) {
							j.Instruments = append(slices.Clone(j.Instruments), lacking(p.Sitting().Mine, j.Instruments)...)
						})
						p.Remake(nil) // every row may be read with them
					}))
				}
				body.Add(widget.NewTap("Add an instrument", func() { askInstrument(p, "", nil) }))
			})
			p.reflow()
		}).alone()
}

// lacking are those of a person's own that a job does not list.
func lacking(own, is []record.Instrument) (out []record.Instrument) {
	for _, i := range own {
		if !slices.ContainsFunc(is, func(j record.Instrument) bool { return j.ID == i.ID }) {
			out = append(out, i)
		}
	}
	return out
}

// ToolCard shows an instrument, and warns of a calibration whose date is past.
func ToolCard(i record.Instrument, now time.Time) *widget.Card {
	tone, words := theme.Accent, accuracyWords(i)
	if i.Overdue(now) {
		tone = theme.Warning
		words += ". Its calibration was due " + i.Due + ": until it is done, the accuracy is as stated and not as shown."
	}
	return widget.NewCard(i.Name, i.ID, words, tone)
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
		if a.Step > 0 {
			t += fmt.Sprintf(", in steps of %g %s", a.Step, u.Label)
		}
		out = append(out, t)
	}
	t := strings.Join(out, "; ")
	if i.Calibrated != "" {
		t += "; calibrated " + i.Calibrated
	}
	if i.Due != "" {
		t += "; next by " + i.Due
	}
	return t
}

var errNoID = errors.New("an instrument needs a short id, such as the number on its label")

// AddInstrument lists an instrument. What does not fit is an error and changes
// nothing. An instrument of the same id gains the accuracy.
func AddInstrument(p *Pane, i record.Instrument) error {
	i.ID, i.Name = strings.TrimSpace(i.ID), strings.TrimSpace(i.Name)
	if i.ID == "" {
		return errNoID
	}
	if i.Name == "" {
		i.Name = i.ID
	}
	list, err := WithInstrument(p.Job().Instruments, i)
	if err != nil {
		return err
	}
	p.Change(func(job *record.Job) { job.Instruments = list })
	p.Remake(nil) // every row may be read with it
	return nil
}

// WithInstrument is a list with one more, or with the accuracy that one of the same id
// gains. What does not fit is an error.
func WithInstrument(list []record.Instrument, i record.Instrument) ([]record.Instrument, error) {
	j := record.New("instruments")
	j.Instruments = slices.Clone(list)
	found := false
	for k, old := range j.Instruments {
		if old.ID == i.ID {
			found = true
			j.Instruments[k].Accuracy = append(slices.Clone(old.Accuracy), i.Accuracy...)
			if i.Calibrated != "" {
				j.Instruments[k].Calibrated = i.Calibrated
			}
			if i.Due != "" {
				j.Instruments[k].Due = i.Due
			}
		}
	}
	if !found {
		j.Instruments = append(j.Instruments, i)
	}
	// The record's own reader is the judge of what fits.
	raw, err := j.Encode()
	if err != nil {
		return nil, err
	}
	if j, err = record.Decode(raw); err != nil {
		return nil, err
	}
	return j.Instruments, nil
}

// askInstrument asks for one that reads a dimension, any where that is ""; then, if not
// nil, is told the id of what was added.
func askInstrument(p *Pane, reads units.Dimension, then func(id string)) {
	AskInstrument(p, reads, func(i record.Instrument, own bool) error {
		if own {
			mine, err := WithInstrument(p.Sitting().Mine, i)
			if err != nil {
				return err
			}
			p.Sitting().Mine = mine
			p.Remember()
		}
		err := AddInstrument(p, i)
		if err == nil && then != nil {
			then(i.ID)
		}
		return err
	})
}

// sheeter shows something above the window.
type sheeter interface {
	Sheet(w, h float32, fill func(shut func()) fyne.CanvasObject)
}

// AskInstrument asks for an instrument, one that reads a dimension if that is not "";
// add is handed it, and whether it is the person's own, kept for every job.
func AskInstrument(p sheeter, reads units.Dimension, add func(i record.Instrument, own bool) error) {
	p.Sheet(560, 700, func(shut func()) fyne.CanvasObject {
		entry := func(hint string) *toolkit.Entry {
			e := toolkit.NewEntry()
			e.SetPlaceHolder(words.Say(hint))
			return e
		}
		calibrated, due := entry("calibrated on, such as 2026-08-14"), entry("next calibration by")
		own := widget.NewTap("Keep it among my own", nil)
		own.Do = func() { own.Set(own.Text, !own.On) }
		id, name, plus, percent, step := entry("id, such as the number on its label"), entry("what it is"), entry("± number"), entry("± % of the reading"), entry("smallest step that it shows, in that unit; empty if not known")
		var names []string
		for _, d := range measuredDims() {
			names = append(names, string(d))
		}
		unit := toolkit.NewSelect(nil, nil)
		dim := toolkit.NewSelect(words.All(names), func(said string) {
			if said == "" {
				unit.SetOptions(nil)
				unit.ClearSelected()
				return
			}
			d := names[slices.Index(words.All(names), said)]
			var us []string
			for _, u := range units.Of(units.Dimension(d)) {
				us = append(us, u.Label)
			}
			unit.SetOptions(us)
			if len(us) > 0 {
				unit.SetSelected(us[0])
			}
		})
		dim.PlaceHolder, unit.PlaceHolder = words.Say("what it reads"), words.Say("unit")
		if i := slices.Index(names, string(reads)); i >= 0 {
			dim.SetSelectedIndex(i)
		}
		wrong := widget.NewWords("", theme.Small+0.5, false, theme.Bad)
		ok := widget.NewTap("Add", nil)
		ok.Strong = true
		more := widget.NewTap("Add, and go on: it reads something else too", nil)
		col := widget.NewColumn(8, 12, widget.NewWords("An instrument and its accuracy", theme.Figure, true, theme.Ink), id, name, dim, plus, unit, percent, step, calibrated, due, own, wrong, ok, more, widget.NewTap("Cancel", shut))
		scroll := widget.NewScroller(col)
		put := func() error {
			return func() error {
				if dim.Selected == "" {
					return fmt.Errorf("say what it reads")
				}
				a := record.Accuracy{Dim: units.Dimension(names[dim.SelectedIndex()])}
				if u, err := units.Lookup(a.Dim, unit.Selected); err == nil {
					a.Unit = u.Name
				}
				var err error
				for _, n := range []struct {
					text string
					to   *float64
				}{{plus.Text, &a.Plus}, {percent.Text, &a.Percent}, {step.Text, &a.Step}} {
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
				i := record.Instrument{ID: strings.TrimSpace(id.Text), Name: strings.TrimSpace(name.Text), Accuracy: []record.Accuracy{a},
					Calibrated: strings.TrimSpace(calibrated.Text), Due: strings.TrimSpace(due.Text)}
				if i.ID == "" { // a calibration is asked by its number; where none is, the name tells it apart
					if i.Calibrated != "" || i.Due != "" {
						return errNoID
					}
					i.ID = i.Name
				}
				if i.ID == "" {
					return errors.New("say what it is, or give the number on its label")
				}
				if i.Name == "" {
					i.Name = i.ID
				}
				return add(i, own.On)
			}()
		}
		ok.Do = func() {
			if err := put(); err != nil {
				wrong.Set(Sentence(err.Error()))
				scroll.Reflow()
				return
			}
			shut()
		}
		more.Do = func() {
			said := "Added. Say what else it reads, and its accuracy there."
			if err := put(); err != nil {
				said = Sentence(err.Error())
			} else {
				dim.ClearSelected()
				plus.SetText("")
				percent.SetText("")
				step.SetText("")
			}
			wrong.Set(said)
			scroll.Reflow()
		}
		return scroll
	})
}
