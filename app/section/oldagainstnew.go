package section

import (
	"context"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/thermo/units"
	"retrostage/wiring/supply"
)

// oldNewWords is the table of the parts that the new compressor changes, or why
// there is none.
type oldNewWords struct {
	rows  []widget.TableRow
	wrong string
}

// oldAgainstNew is what the new compressor asks of the parts.
func oldAgainstNew(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	return newSection("old against new", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) (w oldNewWords) {
			rows, err := in.Entered.OldAgainstNew()
			if err != nil {
				w.wrong = Sentence(err.Error())
			}
			s := presenter{system: in.System}
			for _, r := range rows {
				if r.Old == 0 && r.New == 0 && r.Fitted == 0 {
					continue // nothing known of it yet
				}
				w.rows = append(w.rows, s.oldNew(r))
			}
			return w
		},
		func(w oldNewWords) {
			widget.Refill(body, func() { fillOldNew(p, body, w) })
			p.reflow()
		}).alone()
}

func fillOldNew(p *Pane, body *fyne.Container, w oldNewWords) {
	if w.wrong != "" {
		body.Add(widget.NewNotice("outside", theme.Bad, []string{w.wrong}, nil))
	}
	if len(w.rows) == 0 {
		return
	}
	body.Add(widget.NewHeading("Old against new: what the new compressor asks of the parts"))
	t := widget.NewTable([]string{"Part", "old", "new", "fitted", "Verdict"}, w.rows)
	t.OnResize = p.reflow
	body.Add(t)
	body.Add(widget.NewWords("Touch a line: by which rule, and whose. A verdict says what was compared, never that the circuit is safe. The code adopted locally and the nameplate govern.", theme.Small-0.5, false, theme.Muted))
}

var supplyDims = map[string]units.Dimension{"A": units.Current, "V": units.Voltage, "F": units.Capacitance, "1": units.Percent}

// oldNew is one line of the table as shown.
func (s presenter) oldNew(r supply.Row) widget.TableRow {
	num := func(x float64) string {
		d, ok := supplyDims[r.Unit]
		if x == 0 || !ok {
			return ""
		}
		u := units.Preferred(d, s.system)
		return tidy(u.FromSI(x, 0), 1) + " " + u.Label
	}
	out := widget.TableRow{Cells: []string{Sentence(r.Part) + ": " + r.What, num(r.Old), num(r.New), num(r.Fitted), ""}, Tone: theme.Muted}
	if r.Fitted == 0 && r.Unit == "circular mils" {
		out.Cells[3] = r.Note
	}
	small, more := []string{r.Note}, []string{"As read off the old and the new plate"}
	if k := r.Check; k != nil {
		last := len(out.Cells) - 1
		out.Cells[last] = Sentence(string(k.Outcome))
		switch k.Outcome {
		case supply.Fits:
			out.Glyph, out.Tone = "within", theme.Good
		case supply.Misfit:
			out.Glyph, out.Tone = "outside", theme.Bad
		default:
			out.Glyph = "absent"
		}
		if k.Why != r.Note {
			small = append(small, k.Why)
		}
		rule := []string{k.Rule.Text, "Source: " + k.Rule.Cite() + " (" + string(k.Rule.Confidence) + ")"}
		if k.Outcome == supply.Misfit { // said without being asked
			small, more = append(append(small, k.Rule.Next), rule...), nil
		} else {
			more = rule
		}
	}
	out.Small, out.More = sentences(small), sentences(more)
	return out
}

// sentences makes each text one and joins them.
func sentences(ts []string) string {
	var out []string
	for _, t := range ts {
		if t = strings.TrimSuffix(strings.TrimSpace(t), "."); t != "" {
			out = append(out, Sentence(t)+".")
		}
	}
	return strings.Join(out, " ")
}
