package section

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// setsWords are the sets of readings side by side, and what can be done with them.
type setsWords struct {
	read   bool // there are readings that a set could be made of
	head   []string
	rows   []widget.TableRow
	done   []string // what was done after each
	handed string
	choose []string
	note   string
	trend  *chart.Picture
}

// setDone are the things that can be done after a set, in the order of the keys.
var setDone = []string{record.SetChargeIn, record.SetChargeOut, record.SetAir, record.SetOutdoor, record.SetIndoor, record.SetOther, record.SetAgain}

// setsOf closes sets of readings and shows them side by side.
func setsOf(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	trend := p.newView(0.42)
	trend.Hide()
	return newSection("sets of readings", []fyne.CanvasObject{body, trend}, Input.entered,
		func(_ context.Context, in Input) setsWords {
			r, err := in.Entered.Report()
			if err != nil {
				return setsWords{}
			}
			return in.present(r).sets(r, in.Job)
		},
		func(w setsWords) {
			widget.Refill(body, func() { p.addSets(body, w) })
			trend.Set(w.trend)
			show(trend, w.trend != nil)
			p.reflow()
		}).alone()
}

func (p *Pane) addSets(body *fyne.Container, w setsWords) {
	if !w.read {
		return
	}
	body.Add(widget.NewHeading("Sets of readings"))
	if len(w.rows) > 0 {
		body.Add(widget.NewTable(w.head, w.rows))
		for _, d := range w.done {
			body.Add(widget.NewWords(d, theme.Small, false, theme.Ink))
		}
		body.Add(widget.NewWords("Handed over is set:", theme.Small+0.5, true, theme.Ink))
		body.Add(widget.NewChoose(w.choose, w.handed, func(n string) { p.Enter(record.HandedSet, n, "n", "") }))
	}
	body.Add(widget.NewWords("Something is done to the unit now: close this set with it, then read again.", theme.Small+0.5, false, theme.Ink))
	body.Add(widget.NewChoose(setDone, "", func(done string) { p.Enter(record.SetDone, done, "", "") }))
	if w.note != "" {
		body.Add(widget.NewWords(w.note, theme.Small-0.5, false, theme.Muted))
	}
}

// sets lays the sets of a report out, a column each; of many the first and the last
// ones.
func (s presenter) sets(r *assess.Report, j *record.Job) (w setsWords) {
	_, w.read = j.Entry(record.SuctionPressure)
	if len(r.Sets) == 0 {
		return w
	}
	const most = 4
	shown := r.Sets
	if len(shown) > most {
		shown = append([]assess.Set{r.Sets[0]}, r.Sets[len(r.Sets)-most+1:]...)
		w.note = fmt.Sprintf("Of %d sets the first and the last %d are shown; the sheet has all. ", len(r.Sets), most-1)
	}
	w.head = []string{""}
	for _, x := range shown {
		h := strconv.Itoa(x.Number)
		if x.Handed {
			h += " (handed over)"
			w.handed = strconv.Itoa(x.Number)
		}
		w.head = append(w.head, h)
	}
	w.head = append(w.head, "Last")
	for _, x := range r.Sets {
		w.choose = append(w.choose, strconv.Itoa(x.Number))
		if x.Done != "" {
			w.done = append(w.done, fmt.Sprintf("After set %d: %s", x.Number, strings.TrimSuffix(x.Done+": "+x.Detail, ": ")))
		}
	}
	var order []assess.SetValue
	seen := map[string]bool{}
	for _, x := range r.Sets {
		for _, v := range x.Values {
			if v.Measured && !seen[v.Key] {
				seen[v.Key] = true
				order = append(order, v)
			}
		}
	}
	for _, v := range order {
		u := units.Preferred(v.Dim, s.system)
		row := widget.TableRow{Cells: []string{strings.TrimSuffix(v.Label+", "+u.Label, ", ")}, Tone: theme.Muted}
		last := ""
		for _, x := range shown {
			cell := "–"
			for _, y := range x.Values {
				if y.Key == v.Key && y.Measured {
					cell = setCell(u.FromSI(y.Value, r.Site), u.Span(y.U), setPlaces(v.Dim))
					last = string(y.Moved)
				}
			}
			row.Cells = append(row.Cells, cell)
		}
		row.Cells = append(row.Cells, last)
		w.rows = append(w.rows, row)
	}
	w.trend = s.trendPicture(r.Sets)
	w.note += "Up and down are said where a value moved by more than the doubt of both sets together. What a change can have moved is to be read again after it."
	return w
}

// trendOf are the findings whose way from set to set is drawn: what charge, air and
// coils move, all of them differences of temperature.
var trendOf = []struct {
	key, name string
	tone      theme.Tone
}{{"superheat", "superheat", theme.Accent}, {"subcooling", "subcooling", theme.Ink}, {"condensing_over_ambient", "over outdoor air", theme.Warning}, {"temp_split", "air split", theme.Muted}}

// trendPicture is how the sets went, with the doubt of each value as a band, and what was
// done between them below.
func (s presenter) trendPicture(sets []assess.Set) *chart.Picture {
	u := units.Preferred(units.TempDiff, s.system)
	c := chart.XY{YLabel: "Difference, " + u.Label, XLabel: "Set of readings", Beside: true}
	var way []string
	for _, x := range sets {
		way = append(way, strconv.Itoa(x.Number))
		if x.Done != "" {
			way = append(way, x.Done)
		}
	}
	c.XLabel += ": " + strings.Join(way, " – ")
	for _, q := range trendOf {
		line, marks, band := chart.Series{Tone: q.tone}, chart.Series{Tone: q.tone, Marks: true}, chart.Ribbon{Tone: theme.Band}
		for _, x := range sets {
			for _, v := range x.Values {
				if v.Key != q.key || !v.Measured {
					continue
				}
				line.Name = q.name
				at, y, half := float64(x.Number), u.FromSI(v.Value, 0), u.Span(v.U)
				line.X, line.Y = append(line.X, at), append(line.Y, y)
				band.X, band.Low, band.High = append(band.X, at), append(band.Low, y-half), append(band.High, y+half)
			}
		}
		if len(line.X) < 2 {
			continue // one value has no trend
		}
		marks.X, marks.Y = line.X, line.Y
		c.Series, c.Ribbons = append(c.Series, line, marks), append(c.Ribbons, band)
	}
	if len(c.Series) == 0 {
		return nil
	}
	return c.Picture()
}

// setCell writes a value and its doubt with the decimals of its column, or as many more as
// the doubt takes: none is written as ±0 that is not.
func setCell(v, half float64, places int) string {
	if half > 0 {
		places = max(places, decimals(half))
	}
	return figureTo(v, places) + " ±" + figureTo(half, places)
}

func setPlaces(d units.Dimension) int {
	switch d {
	case units.Airflow, units.AirPerCap, units.Power, units.Capacity:
		return 0
	case units.DuctPressure, units.Ratio:
		return 2
	}
	return 1
}
