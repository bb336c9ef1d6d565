package section

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/match"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// matchWords is the candidates, ready to be shown.
type matchWords struct {
	refused      string
	wrong        []string
	cards        []matchCard
	order, bring []widget.TableRow
	pic          *chart.Picture
	says         string
	plane        *chart.Picture
	planeSays    string
	later        string // what the running unit says of it
	off          bool
}

type matchCard struct {
	title, word, says string
	tone              theme.Tone
	rows              []widget.TableRow
	candidate         match.Candidate
	chosen            bool
}

// candidatesShown is how many candidates get a card.
const candidatesShown = 4

// matches holds the candidates against the unit.
func matches(p *Pane) *Section {
	body, views := widget.NewColumn(6, 0), [2]*widget.View{p.newView(0.5), p.newView(0.5)}
	return newSection("matches", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) matchWords {
			m, err := in.Entered.Matches()
			if err != nil {
				return matchWords{refused: Sentence(err.Error())}
			}
			return matchesSaid(m, in.System)
		},
		func(w matchWords) {
			views[0].Set(w.pic)
			views[1].Set(w.plane)
			widget.Refill(body, func() { fillMatches(p, body, views, w) })
			p.reflow()
		})
}

func matchesSaid(m *assess.Matches, system units.System) (w matchWords) {
	if m.Refused != "" {
		w.refused = Sentence(m.Refused) + "."
		return w
	}
	for _, x := range m.Wrong {
		w.wrong = append(w.wrong, fmt.Sprintf("Line %d, %s: %s", x.Row, x.Heading, x.Why))
	}
	for i, j := range m.Ranked {
		if i >= candidatesShown && i != m.Chosen {
			continue
		}
		w.cards = append(w.cards, cardOf(j, i == m.Chosen))
	}
	lines := func(ls []match.Line) (out []widget.TableRow) {
		for _, l := range ls {
			word := ""
			if l.Provisional {
				word = "provisional"
			}
			out = append(out, widget.TableRow{Cells: []string{Sentence(l.What), l.Spec, word}, Small: l.Why})
		}
		return out
	}
	w.order, w.bring = lines(m.Order), lines(m.Bring)
	w.pic, w.says = balancePicture(m, system)
	w.plane, w.planeSays = operatingPicture(m, system)
	if l := m.Later; l != nil {
		q := units.Preferred(units.Capacity, system)
		s := presenter{system: system}
		w.off = l.Off()
		w.later = fmt.Sprintf("Running check: %s measured %s, %s expected here", strings.ToLower(l.By[:1])+l.By[1:], s.value(q, l.Measured, 0), s.value(q, l.Expected, 2*l.U))
		if w.off {
			w.later += ": they contradict each other. Look at charge and air flow first, then at the compressor's data."
		} else {
			w.later += ": no contradiction."
		}
	}
	return w
}

func cardOf(j match.Judged, chosen bool) matchCard {
	c := matchCard{title: j.Candidate.Name, says: Sentence(j.Says()) + ".", candidate: j.Candidate, chosen: chosen}
	switch {
	case j.Misfits() > 0:
		c.word, c.tone = "does not fit", theme.Bad
	case j.Opens() > 0:
		c.word, c.tone = fmt.Sprintf("%d not known", j.Opens()), theme.Warning
	default:
		c.word, c.tone = "fits", theme.Good
	}
	for _, v := range []match.Verdict{match.Misfit, match.Open, match.Note, match.Fits} {
		for _, r := range j.Reasons {
			if r.Verdict != v {
				continue
			}
			row := widget.TableRow{Cells: []string{Sentence(r.Topic), string(r.Verdict)}, Tone: theme.Muted, Small: sentences([]string{r.Words, r.Next}), More: r.Source}
			switch v {
			case match.Fits:
				row.Glyph, row.Tone = "within", theme.Good
			case match.Misfit:
				row.Glyph, row.Tone = "outside", theme.Bad
			case match.Open:
				row.Glyph = "absent"
			}
			c.rows = append(c.rows, row)
		}
	}
	return c
}

// balancePicture is the cooling of the first candidate, or of the one chosen, with the
// coils that stay, beside both old stages on the design day.
func balancePicture(m *assess.Matches, system units.System) (*chart.Picture, string) {
	i := max(m.Chosen, 0)
	b := m.Ranked[i].Balance
	if b == nil {
		return nil, ""
	}
	q, t := units.Preferred(units.Capacity, system), units.Preferred(units.Temperature, system)
	line := chart.Series{Name: "new", Tone: theme.Accent}
	for _, a := range b.Over {
		line.X, line.Y = append(line.X, t.FromSI(a.Outdoor, 0)), append(line.Y, q.FromSI(a.Cooling, 0))
	}
	at := func(a match.At, name string, tone theme.Tone) chart.Series {
		return chart.Series{Name: name, X: []float64{t.FromSI(a.Outdoor, 0)}, Y: []float64{q.FromSI(a.Cooling, 0)}, Marks: true, Tone: tone}
	}
	by := "by its one rating point"
	if b.ByMap {
		by = "by its map"
	}
	return chart.XY{XLabel: "outdoor air, " + t.Label, YLabel: "cooling with the coils that stay, " + q.Label, Beside: true,
			Series: []chart.Series{line, at(b.OldHigh, "old high stage", theme.Ink), at(b.OldLow, "old low stage", theme.Muted)}}.Picture(),
		fmt.Sprintf("%s, %s, give or take %.0f %% on the design day.", m.Ranked[i].Candidate.Name, by, 200*b.UShare)
}

func fillMatches(p *Pane, body *fyne.Container, views [2]*widget.View, w matchWords) {
	body.Add(widget.NewHeading("Candidates against the unit that stays"))
	body.Add(widget.NewTap("Import a list of compressors", func() { importList(p) }))
	if len(w.wrong) > 0 {
		body.Add(widget.NewNotice("caution", theme.Warning, append([]string{"Not taken from the list:"}, w.wrong[:min(len(w.wrong), 6)]...), nil))
	}
	if w.refused != "" {
		body.Add(widget.NewWords(w.refused, theme.Small+0.5, false, theme.Ink))
		return
	}
	table := func(head []string, rows []widget.TableRow) {
		if len(rows) == 0 {
			return
		}
		t := widget.NewTable(head, rows)
		t.OnResize = p.reflow
		body.Add(t)
	}
	if w.pic != nil {
		body.Add(views[0])
		body.Add(widget.NewWords(w.says, theme.Small+0.5, false, theme.Ink))
	}
	if w.plane != nil {
		body.Add(views[1])
		body.Add(widget.NewWords(w.planeSays, theme.Small+0.5, false, theme.Ink))
	}
	switch {
	case w.off:
		body.Add(widget.NewNotice("outside", theme.Bad, []string{"What runs contradicts what was matched.", w.later}, nil))
	case w.later != "":
		body.Add(widget.NewWords(w.later, theme.Small+0.5, false, theme.Ink))
	}
	for i, c := range w.cards {
		body.Add(widget.NewCard(c.title, c.word, c.says, c.tone))
		if !c.chosen {
			body.Add(widget.NewTap("Take "+c.title, func() { takeCandidate(p, c.candidate) }))
		}
		if i == 0 || c.chosen {
			table([]string{"Asked", "answer"}, c.rows)
		}
	}
	table([]string{"To order", "which", ""}, w.order)
	table([]string{"To bring", "which", ""}, w.bring)
	body.Add(p.provenance("Touch an answer for its source. What the coils make of a compressor is by a typical machine. Where from?", matchFrom))
}

const matchFrom = "Formula: the machine model of this program with coils of a usual unit of the old one's capacity; the compressor by its map of ten coefficients (AHRI 540 form), or a usual one scaled to its rating point. " +
	"Electrical parts by the rules named at each line. Limits without a source are common practice and say so."

// takeCandidate enters a candidate as the new compressor; what its data do not hold is
// left as it is.
func takeCandidate(p *Pane, c match.Candidate) {
	var wrong []error
	enter := func(k record.Key, text, unit string) {
		if text != "" {
			wrong = append(wrong, p.Enter(k, text, unit, ""))
		}
	}
	number := func(k record.Key, x float64) {
		if x > 0 {
			f := k.Field()
			u, err := units.Lookup(f.Dim, f.Unit)
			if err != nil {
				wrong = append(wrong, err)
				return
			}
			enter(k, figure(u.FromSI(x, 0), 1e-3*u.FromSI(x, 0)), f.Unit)
		}
	}
	enter(record.NewCompressorModel, c.Name, "")
	enter(record.NewRefrigerants, strings.Join(c.Refrigerants, ", "), "")
	number(record.NewCapacity, c.Capacity)
	number(record.NewPower, c.Power)
	number(record.NewRatedEvap, c.Rating.Evaporating)
	number(record.NewRatedCond, c.Rating.Condensing)
	number(record.NewRLA, c.RLA)
	number(record.NewLRA, c.LRA)
	number(record.NewBCSC, c.BCSC)
	number(record.CapRating, c.Capacitor)
	number(record.CapVoltageNeeded, c.CapacitorVolts)
	number(record.NewMaxHigh, c.MaxHigh)
	number(record.NewMaxLow, c.MaxLow)
	if c.Volts > 0 {
		v := fmt.Sprintf("%g", c.Volts)
		if c.VoltsLow > 0 && c.VoltsLow != c.Volts {
			v = fmt.Sprintf("%g-%g", c.VoltsLow, c.Volts)
		}
		enter(record.NewVoltage, v, "V")
	}
	for _, o := range record.NewOil.Field().Options {
		if strings.EqualFold(strings.TrimSpace(c.Oil), o) || strings.EqualFold(c.Oil, "mineral") && strings.HasPrefix(o, "mineral") {
			enter(record.NewOil, o, "")
		}
	}
	if c.Stages > 0 {
		enter(record.NewStages, fmt.Sprint(c.Stages), "")
	}
	if c.Kind != "" {
		enter(record.NewKind, string(c.Kind), "")
	}
	if err := errors.Join(wrong...); err != nil {
		p.Sheet(520, 320, func(shut func()) fyne.CanvasObject {
			return widget.NewColumn(8, 14, widget.NewNotice("outside", theme.Bad, []string{"Not everything could be taken over: " + err.Error()}, nil), widget.NewTap("Close", shut))
		})
	}
}
