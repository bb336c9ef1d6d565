package section

import (
	"context"
	"fmt"
	"math"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/choice"
	"retrostage/thermo/units"
)

// optionWords is the choice, ready to be shown.
type optionWords struct {
	refused, said string
	shape         string
	tone          theme.Tone
	owner, costs  []widget.TableRow
	bands         *chart.Picture
	tornado       *chart.Picture
	house         *chart.Picture
	houseSays     string
	swings        string
	assumed       []string
	supply        []string
	key           string
	lives         []widget.TableRow // Weibull parameters as taken
	leads         [][]lack          // to where they are changed
}

// options lays what can be done side by side: for the owner first, the figures
// behind it below.
func options(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	views := []*widget.View{p.newView(0.5), p.newView(0.62), p.newView(0.5)}
	return newSection("options", []fyne.CanvasObject{body}, Input.entered,
		func(ctx context.Context, in Input) optionWords {
			c, err := in.Entered.Choices()
			if err != nil {
				return optionWords{refused: Sentence(err.Error())}
			}
			drawn, err := c.Draw(ctx)
			if err != nil { // something newer is on its way
				return optionWords{refused: Sentence(err.Error())}
			}
			return optionsSaid(c, drawn, in.System)
		},
		func(w optionWords) {
			for i, pic := range []*chart.Picture{w.bands, w.tornado, w.house} {
				views[i].Set(pic)
			}
			widget.Refill(body, func() { fillOptions(p, body, views, w) })
			p.reflow()
		})
}

func money(x float64) string {
	s := fmt.Sprintf("%.0f", math.Abs(x))
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	if x < -0.5 {
		return "-" + s
	}
	return s
}

func optionsSaid(c *assess.Choices, drawn choice.Outcome, system units.System) (w optionWords) {
	w.assumed, w.supply = c.Assumed, c.Supply
	var change []lack
	for _, l := range c.Parts {
		w.lives = append(w.lives, widget.TableRow{Cells: []string{Sentence(l.Kind), limit(l.Life.Scale), limit(l.Life.Shape), l.Life.Source}, Tone: theme.Ink})
		change = append(change, lack{"Change " + l.Kind + ": years", l.Key.String()}, lack{"shape", l.Shape.String()})
	}
	for i := 0; i+1 < len(change); i += 2 {
		w.leads = append(w.leads, []lack{change[i], {change[i+1].label + " of " + c.Parts[i/2].Kind, change[i+1].key}})
	}
	w.house, w.houseSays = houseLine(c, system)
	if c.Refused != "" {
		w.refused = Sentence(c.Refused) + "."
		return w
	}
	w.said, w.shape, w.tone = verdictSaid(c)
	bands := chart.Bars{XLabel: "price, from least to greatest"}
	for i, o := range c.Options {
		if o.Part.High == 0 && len(o.Missing) > 0 {
			w.owner = append(w.owner, widget.TableRow{Cells: []string{o.Name, "", "", "", "not compared"}, Glyph: "absent", Tone: theme.Muted, Small: "Lacks: " + strings.Join(o.Missing, ", ") + "."})
			continue
		}
		w.owner = append(w.owner, ownerRow(c, i))
		lo, hi := o.Part.Low+o.Labour.Low+o.Other.Low+o.Disposal.Low, o.Part.High+o.Labour.High+o.Other.High+o.Disposal.High
		bands.Bars = append(bands.Bars, chart.Bar{Name: o.Name, From: lo, To: hi, Mid: (lo + hi) / 2, Tone: theme.Accent, Faint: true, Says: money(lo) + " to " + money(hi)})
	}
	w.bands = bands.Picture()
	for _, k := range c.Ranking.Costs {
		row := widget.TableRow{Cells: []string{c.Options[k.Option].Name, fmt.Sprintf("%.1f", k.Years), money(k.Capital / k.Worth), money(k.Energy + k.Refill + k.Upkeep), money(k.PerYear)}, Tone: theme.Ink}
		for _, d := range drawn.Options {
			if d.Option == k.Option {
				row.Small = fmt.Sprintf("In nine of ten draws %s to %s a year; the cheapest in hindsight in %.0f %% of them, luck of lives included.", money(d.PerYear.Low), money(d.PerYear.High), 100*d.Cheapest)
			}
		}
		w.costs = append(w.costs, row)
	}
	if c.Judged {
		w.tornado, w.swings = tornadoPicture(c)
	}
	w.key = fmt.Sprint(bands.Bars, w.swings)
	return w
}

// verdictSaid is no bare cheapest: it names what it rests on.
func verdictSaid(c *assess.Choices) (said, shape string, tone theme.Tone) {
	if !c.Judged {
		return "Only one option has all that a comparison needs.", "close", theme.Warning
	}
	first := c.Options[c.Verdict.First].Name
	var close, clear []string
	for _, l := range c.Verdict.Leads {
		t := fmt.Sprintf("%s by %s a year, give or take %s", c.Options[l.Over].Name, money(l.By), money(2*l.Doubt))
		if l.Clear() {
			clear = append(clear, t)
		} else {
			if len(l.Turns) > 0 {
				t += " (turned by " + strings.Join(l.Turns[:min(2, len(l.Turns))], " or ") + " alone)"
			}
			close = append(close, t)
		}
	}
	said = first + " is expected to cost least a year of service"
	shape, tone = "close", theme.Warning
	switch {
	case len(close) == 0:
		said += ", beyond the doubt of what was entered: less than " + strings.Join(clear, "; ") + "."
		shape, tone = "within", theme.Ink
	case len(clear) > 0:
		said += ", too close to call against " + strings.Join(close, "; ") + "; clear of " + strings.Join(clear, "; ") + "."
	default:
		said += ", too close to call: against " + strings.Join(close, "; ") + "."
	}
	if n := c.Verdict.Recalled; len(n) > 0 {
		said += " It rests on lives from memory: " + strings.Join(n, ", ") + "."
	}
	if !c.Energy {
		said += " Energy is not counted."
	}
	return said, shape, tone
}

func plural(n float64, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%.0f %ss", n, what)
}

func ownerRow(c *assess.Choices, i int) widget.TableRow {
	o := c.Options[i]
	days := func(s choice.Spread) string {
		if !o.Waited {
			return ""
		}
		return plural(s.Likely, "day")
	}
	years := ""
	if o.Warranty.Known {
		years = plural(o.Warranty.Parts, "year")
	}
	row := widget.TableRow{Cells: []string{o.Name, money(o.Part.Likely + o.Labour.Likely + o.Other.Likely + o.Disposal.Likely), days(o.Wait), years, ""}, Tone: theme.Ink}
	for _, k := range c.Ranking.Costs {
		if k.Option != i || k.BreakEven.Alone {
			continue
		}
		what := "up to a price of "
		if o.Labour.High > 0 {
			what = "with its compressor up to "
		}
		if row.Cells[4] = what + money(k.BreakEven.Price); k.BreakEven.Never {
			row.Cells[4] = "at no price"
		}
	}
	if len(o.Lost) > 0 {
		row.Small = "Lost: " + strings.Join(o.Lost, "; ") + "."
	}
	if len(o.Missing) > 0 {
		row.Small += " Lacks: " + strings.Join(o.Missing, ", ") + "."
	}
	return row
}

func tornadoPicture(c *assess.Choices) (*chart.Picture, string) {
	zero := 0.0
	b := chart.Bars{XLabel: "lead over " + c.Options[c.Verdict.Leads[0].Over].Name + ", money a year; below 0 it is behind", Zero: &zero}
	for i, s := range c.Verdict.Swings {
		if i >= 8 || s.Width() < 1 {
			break
		}
		name := s.Name
		if s.Recalled {
			name += ", from memory"
		}
		b.Bars = append(b.Bars, chart.Bar{Name: name, From: s.Low, To: s.High, Mid: c.Verdict.Leads[0].By, Tone: theme.Frame, Faint: !s.Turns()})
	}
	return b.Picture(), fmt.Sprint(b.Bars)
}

// houseLine is the load of the house with both stages and the one over the season.
func houseLine(c *assess.Choices, system units.System) (*chart.Picture, string) {
	if len(c.Lines) == 0 {
		return nil, ""
	}
	q, t := units.Preferred(units.Capacity, system), units.Preferred(units.Temperature, system)
	house := "house"
	if !c.Housed {
		house = "house, assumed"
	}
	series := []chart.Series{{Name: house, Tone: theme.Accent}, {Name: "high stage", Tone: theme.Ink}, {Name: "low stage", Tone: theme.Muted, Dash: true}, {Name: "one stage", Tone: theme.Warning, Dash: true}}
	unmet, apart := 0.0, 0.0
	for _, l := range c.Lines {
		apart = math.Max(apart, math.Abs(l.One-l.High)/l.High)
		for i, y := range []float64{l.Load, l.High, l.Low, l.One} {
			series[i].X, series[i].Y = append(series[i].X, t.FromSI(l.Outdoor, 0)), append(series[i].Y, q.FromSI(y, 0))
		}
		unmet += l.Share * l.OneUnmet
	}
	if apart < 0.03 { // two lines on one another tell nothing
		series[1].Name, series = "high, or one stage", series[:3]
	}
	says := "The low stage meets the house in mild weather without going off; one stage goes on and off there."
	if !c.Housed {
		says = "Assumed: a house that asks for " + presenter{system: system}.value(q, c.House, 0) + " at 95 °F (35 °C), as the standard sizes it for this unit; nobody entered what this one asks for. Were it so: " + strings.ToLower(says[:1]) + says[1:]
	}
	if unmet > 0 {
		says += " In the hottest hours one stage does not reach the load."
	}
	return chart.XY{XLabel: "outdoor air, " + t.Label, YLabel: "cooling, " + q.Label, Series: series, Beside: true}.Picture(), says
}

func fillOptions(p *Pane, body *fyne.Container, views []*widget.View, w optionWords) {
	body.Add(widget.NewHeading("What can be done, side by side"))
	table := func(head []string, rows []widget.TableRow) {
		t := widget.NewTable(head, rows)
		t.OnResize = p.reflow
		body.Add(t)
	}
	if w.refused != "" {
		body.Add(widget.NewWords(w.refused, theme.Small+0.5, false, theme.Ink))
	} else {
		table([]string{"Option", "price", "until it cools", "warranty", "is the cheapest"}, w.owner)
		body.Add(views[0])
		body.Add(widget.NewHeading("Behind it: cost per year of service"))
		body.Add(widget.NewNotice(w.shape, w.tone, []string{w.said}, nil))
		table([]string{"Option", "years it serves", "to buy, a year", "to run, a year", "together"}, w.costs)
		if w.tornado != nil {
			body.Add(widget.NewWords("What moves the lead, each alone from end to end of its doubt; the diamond is the lead as it stands.", theme.Small+0.5, false, theme.Ink))
			body.Add(views[1])
		}
	}
	if w.house != nil {
		body.Add(widget.NewHeading("The house over the season"))
		body.Add(views[2])
		body.Add(widget.NewWords(w.houseSays, theme.Small+0.5, false, theme.Ink))
	}
	if len(w.lives) > 0 {
		table([]string{"How long parts last", "years until 63 of 100 failed", "shape", "from"}, w.lives)
		for _, l := range w.leads {
			body.Add(p.leads(l))
		}
	}
	small := func(head string, ts []string) {
		if len(ts) > 0 {
			body.Add(widget.NewWords(head+": "+strings.Join(ts, "; ")+".", theme.Small, false, theme.Muted))
		}
	}
	small("Taken because nothing is entered", w.assumed)
	small("Refrigerant", w.supply)
	body.Add(p.provenance("Warranty is shown and not priced. Where from?", choiceFrom))
}

const choiceFrom = "Formula: capital over the present value of the years it serves, plus running costs; lives by Weibull, conditional on age, the first part to fail ends the option. " +
	"Season: bins of AHRI 210/240 as a second place restates them; average curves of NREL/TP-5500-56354 as an open project carries them, neither text read. " +
	"Doubt: each quantity a triangle; a lead counts where it exceeds 1.645 standard doubts and no quantity alone turns it. Draws: 20,000 from one seed."
