package workbook

import (
	"fmt"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/cause"
	"retrostage/reports/match"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// chainPage is what failed, what was chosen and which compressor, nil where nothing of
// it was entered. What is arithmetic is live; what takes a model or a table of
// likelihoods stands as it was found when the file was written, and says so.
func (b *book) chainPage() (*page, error) {
	x, err := b.all.Failure()
	if err != nil {
		x = nil // evidence that cannot be: said in the findings
	}
	c, err := b.all.Choices()
	if err != nil {
		return nil, err
	}
	m, err := b.all.Matches()
	if err != nil {
		return nil, err
	}
	if (x == nil || len(x.Found) == 0) && c.Refused != "" && m.Refused != "" {
		return nil, nil
	}
	p := newPage("Cause, choice, match", "Cause, choice, match", 3.5, 40, 13, 13, 13, 20)
	row := b.banner(p, 6)
	if x != nil && len(x.Found) > 0 {
		row = b.chainCause(p, row, x)
	}
	row = b.chainChoice(p, row+1, c)
	b.chainMatch(p, row+1, m)
	return p, nil
}

func (p *page) heading(row int, words string) int {
	p.text(row, 1, section, words)
	p.span(row, 1, 6)
	p.heights[row] = 20
	return row + 1
}

func (p *page) line(row int, k lookKind, words string) int {
	p.text(row, 1, k, words)
	p.span(row, 1, 6)
	p.fit(row, 1, 6, words, k)
	return row + 1
}

// pair is a name with words beside it.
func (p *page) pair(row int, name, words string) int {
	p.text(row, 1, plain, "")
	p.text(row, 2, wrapped, name)
	p.text(row, 3, wrapped, words)
	p.span(row, 3, 6)
	p.fit(row, 2, 2, name, wrapped)
	h := p.heights[row]
	p.fit(row, 3, 6, words, wrapped)
	p.heights[row] = max(h, p.heights[row])
	return row + 1
}

func (b *book) chainCause(p *page, row int, x *cause.Examination) int {
	row = p.heading(row, "Cause: what failed")
	said := upper(x.Call.String()) + "."
	if x.Named() {
		said += " Most likely: " + x.First().Kind.String() + "."
	}
	row = p.line(row, wrapped, said+" "+upper(strings.Join(x.Why, "; "))+".")
	for i, r := range x.Ranking {
		if i == 4 || r.P < 0.01 {
			break
		}
		var words []string
		for _, w := range r.For {
			words = append(words, w.Found.Category.Words)
		}
		row = p.pair(row, upper(r.Kind.String()), fmt.Sprintf("%.0f %%. For it: %s", 100*r.P, strings.Join(words[:min(3, len(words))], "; ")))
	}
	row = p.pair(row, "Contamination", x.Grade.String())
	for _, f := range x.Follows {
		what := "What follows"
		switch {
		case f.Days > 0:
			what = fmt.Sprintf("%d days after it runs again", f.Days)
		case f.Provisional:
			what = "What follows, provisional"
		}
		row = p.pair(row, what, f.Do)
	}
	for _, r := range x.Roots {
		row = p.pair(row, "Root cause: "+r.Words, r.Evidence+". Shown gone by: "+r.Answer)
	}
	return p.line(row, note, "Likelihoods were found when this file was written; how often each finding goes with each failure is common practice, no source.")
}

func (b *book) chainChoice(p *page, row int, c *assess.Choices) int {
	row = p.heading(row, "Choice: cost per year of service")
	if c.Refused != "" {
		return p.line(row, wrapped, upper(c.Refused)+".")
	}
	for i, h := range []string{"", "Option", "To buy", "Worth, years", "To run, a year", "Together, a year"} {
		num := "@"
		if i >= 2 {
			num = "0"
		}
		p.set(row, i+1, cell{value: h, look: look{head, num}})
	}
	row++
	first := row
	for _, k := range c.Ranking.Costs {
		run := k.Energy + k.Refill + k.Upkeep
		p.text(row, 1, plain, "")
		p.text(row, 2, wrapped, c.Options[k.Option].Name)
		p.number(row, 3, figure, k.Capital, "#,##0.00")
		p.number(row, 4, figure, k.Worth, "0.0000")
		p.number(row, 5, figure, run, "#,##0.00")
		p.live(row, 6, figure, fmt.Sprintf("%s/%s+%s", ref(row, 3), ref(row, 4), ref(row, 5)), k.Capital/k.Worth+run, "#,##0.00")
		row++
	}
	last := row - 1
	if last > first {
		row = b.breakEvens(p, row, c, first, last)
	}
	for i, o := range c.Options {
		var words []string
		if w := o.Wait.Likely; w > 0 || o.Waited {
			words = append(words, fmt.Sprintf("until it cools again, days: %.0f", w))
		}
		if w := o.Warranty.Parts; w > 0 || o.Warranty.Known {
			words = append(words, fmt.Sprintf("warranty, years: %.0f", w))
		}
		if len(o.Lost) > 0 {
			words = append(words, "lost: "+strings.Join(o.Lost, "; "))
		}
		if len(o.Missing) > 0 {
			words = append(words, "not compared, lacks: "+strings.Join(o.Missing, ", "))
		}
		if len(words) > 0 {
			row = p.pair(row, c.Options[i].Name, strings.Join(words, ". "))
		}
	}
	if c.Judged {
		row = b.leads(p, row, c)
	}
	for _, l := range c.Parts {
		row = p.pair(row, "Life: "+l.Kind, fmt.Sprintf("63 of 100 failed after %.4g years, Weibull shape %.3g, %s", l.Life.Scale, l.Life.Shape, l.Life.Source))
	}
	if len(c.Assumed) > 0 {
		row = p.line(row, note, "Taken because nothing is entered: "+strings.Join(c.Assumed, "; ")+".")
	}
	for _, s := range c.Supply {
		row = p.line(row, note, s)
	}
	return p.line(row, note, "Live: together = to buy / worth + to run, and the prices up to which each is the cheapest. Fixed, with why: worth is the present value of 1 a year over the years an option serves, an integral over Weibull lives; "+
		"running costs take bins of the season and average curves. Draws are on the tablet only: they would come out anew here.")
}

// breakEvens are the prices at which each option costs as much a year as the best
// other one.
func (b *book) breakEvens(p *page, row int, c *assess.Choices, first, last int) int {
	for i, k := range c.Ranking.Costs {
		other := ref(first, 6)
		if i == 0 {
			other = ref(first+1, 6)
		}
		o := c.Options[k.Option]
		part, name := o.Part.Mean(), "Cheapest up to this price: "+o.Name
		if o.Labour.High > 0 {
			name = "Cheapest up to this price of the compressor alone: " + o.Name
		}
		p.text(row, 1, plain, "")
		p.text(row, 2, wrapped, name)
		p.fit(row, 2, 2, name, wrapped)
		p.number(row, 3, faint, part, "#,##0.00")
		at := first + i
		value := part + (costAt(c, i)-k.PerYear)*k.Worth
		p.live(row, 6, figure, fmt.Sprintf("%s+(%s-%s)*%s", ref(row, 3), other, ref(at, 6), ref(at, 4)), value, "#,##0.00")
		row++
	}
	return row
}

// costAt is the cost per year of the best option beside the i-th.
func costAt(c *assess.Choices, i int) float64 {
	if i == 0 {
		return c.Ranking.Costs[1].PerYear
	}
	return c.Ranking.Costs[0].PerYear
}

func (b *book) leads(p *page, row int, c *assess.Choices) int {
	for _, l := range c.Verdict.Leads {
		words := fmt.Sprintf("by %.0f a year, give or take %.0f: ", l.By, 2*l.Doubt)
		switch {
		case l.Clear():
			words += "beyond the doubt of what was entered"
		case len(l.Turns) > 0:
			words += "too close to call, turned alone by " + strings.Join(l.Turns[:min(2, len(l.Turns))], " or by ")
		default:
			words += "too close to call"
		}
		row = p.pair(row, c.Options[c.Verdict.First].Name+" before "+c.Options[l.Over].Name, words)
	}
	if len(c.Verdict.Recalled) > 0 {
		row = p.pair(row, "Rests on lives from memory", strings.Join(c.Verdict.Recalled, ", "))
	}
	return row
}

func (b *book) chainMatch(p *page, row int, m *assess.Matches) int {
	row = p.heading(row, "Match: candidates, order, what to bring")
	if m.Refused != "" {
		return p.line(row, wrapped, upper(m.Refused)+".")
	}
	for i, j := range m.Ranked {
		name := j.Candidate.Name
		if i == m.Chosen {
			name += " (entered as new compressor)"
		}
		row = p.pair(row, name, upper(j.Says()))
		if i != max(m.Chosen, 0) {
			continue
		}
		for _, r := range j.Reasons {
			if r.Verdict == match.Fits {
				continue
			}
			row = p.pair(row, "    "+r.Topic+": "+string(r.Verdict), r.Words)
		}
	}
	if len(m.Order) == 0 {
		row = p.line(row, wrapped, "Nothing is to be ordered here: decided otherwise in Choice.")
	}
	for _, l := range []struct {
		what  string
		lines []match.Line
	}{{"To order: ", m.Order}, {"To bring: ", m.Bring}} {
		for _, x := range l.lines {
			words := x.Spec
			if words == "" {
				words = x.Why
			}
			if x.Provisional {
				words += " (provisional)"
			}
			row = p.pair(row, l.what+x.What, words)
		}
	}
	if l := m.Later; l != nil {
		u := b.unit(units.Capacity)
		word := "no contradiction"
		if l.Off() {
			word = "they contradict each other"
		}
		row = p.pair(row, "What the running unit says", fmt.Sprintf("%s measured %.*f, expected %.*f ± %.*f %s: %s", l.By, b.places(units.Capacity), u.FromSI(l.Measured, 0), b.places(units.Capacity), u.FromSI(l.Expected, 0),
			b.places(units.Capacity), u.Span(2*l.U), u.Label, word))
	}
	var parts []string
	for _, k := range []record.Key{record.OrderSupplier, record.OrderInvoice, record.OrderDate, record.OrderReceived} {
		if t := b.job.Text(k); t != "" {
			parts = append(parts, k.Label()+" "+t)
		}
	}
	if len(parts) > 0 {
		row = p.pair(row, "Order", strings.Join(parts, "; "))
	}
	return p.line(row, note, "Found by the machine model when this file was written. Limits without a source are common practice.")
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
