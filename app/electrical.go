package app

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/supply"
)

// gated are the groups of fields that stay shut until their cautions are
// acknowledged, and the field that keeps by whom and when. It holds for the day:
// who comes back on another day finds another machine, and is asked again.
var gated = map[string]struct {
	key   record.Key
	words string
}{
	"Dead checks": {record.AckDead, "Locked out, proved dead, discharged"},
	"Live checks": {record.AckLive, "Allowed here; rated meter, leads, gloves"},
}

// stamp is what the record keeps of an acknowledgement.
func stamp(by string, at time.Time) string {
	if by == "" {
		by = "no reference given"
	}
	return by + ", " + at.Format("2006-01-02 15:04")
}

// gate is what stands before such a group.
type gate struct {
	p      *pane
	group  string
	notice *widget.Notice
	tap    *widget.Tap
	said   *widget.Words
	rows   []*widget.Row
	fold   *fold // of its seldom fields; nil without
}

func (p *pane) gate(group string) *gate {
	if gated[group].words == "" || p.info.Step != record.Electrical {
		return nil
	}
	g := &gate{p: p, group: group}
	var lines, small []string
	for _, c := range p.info.Cautions {
		own := ""
		for k := range gated {
			if strings.HasPrefix(c.Text, k) {
				own = k
			}
		}
		if own == group || own == "" && group == "Dead checks" {
			lines, small = append(lines, c.Text), append(small, c.Source)
		}
	}
	g.notice = widget.NewNotice("caution", theme.Warning, lines, small)
	g.notice.OnResize = p.reflow
	g.said = widget.NewWords("", theme.Small-0.5, false, theme.Muted)
	g.tap = widget.NewTap(gated[group].words, func() { p.b.Acknowledge(group) })
	g.tap.Strong, g.tap.Px = true, theme.Small+0.5
	return g
}

// apply opens or shuts the group. Nothing that was acknowledged goes unsaid.
func (g *gate) apply() {
	show := func(o fyne.CanvasObject, on bool) {
		if on {
			o.Show()
		} else {
			o.Hide()
		}
	}
	b, ask := g.p.b, gated[g.group]
	e, ever := b.job.Entry(ask.key)
	open := ever && sameDay(e.Time, b.now())
	show(g.notice, !open)
	show(g.tap, !open)
	show(g.said, ever)
	if ever {
		text := "Acknowledged by " + e.Value + ": " + strings.ToLower(ask.words[:1]) + ask.words[1:] + "."
		if !open {
			text += " That was another day; acknowledge again before touching anything."
		}
		g.said.Set(text)
	}
	for _, r := range g.rows {
		show(r, open)
	}
	if f := g.fold; f != nil && f.shut == open { // else it stands as it is
		f.shut = !open
		f.apply()
	}
}

// Acknowledge opens a group of fields after its cautions were read.
func (b *Bench) Acknowledge(group string) {
	by := b.person
	if by == "" {
		by = b.job.Text(record.TechnicianRef)
	}
	b.commit(gated[group].key, stamp(by, b.now()), "", "")
	p := b.pane()
	for _, g := range p.gates {
		g.apply()
	}
	p.reflow()
}

// electric is what the electrical pane shows besides strips.
type electric struct {
	leads  *supply.Phasors
	closes string
	tone   theme.Tone
	rows   []widget.TableRow
	err    error
}

// makeElectric reckons the picture and the table of a job.
func makeElectric(j *record.Job, s shown) (e electric) {
	si := func(key record.Key) float64 {
		x, _ := j.SI(key, s.site)
		return x
	}
	amps := units.Preferred(units.Current, s.system)
	a := func(x float64) string { return limit(math.Round(amps.FromSI(x, 0)*100)/100) + " " + amps.Label }
	if run, start, common := si(record.RunLeadCurrent), si(record.CapCurrent), si(record.RunCurrent); run > 0 && start > 0 && common > 0 {
		if p, err := supply.LeadPhasors(run, start, common, 0); err == nil {
			e.leads = &p
		}
		if c, err := supply.LeadClosure(run, start, common); err != nil {
			e.err = err
		} else if c.Gap > 0 {
			e.closes = fmt.Sprintf("The three currents do not close: with run %s and start %s, common can only be %s to %s, and reads %s. Read them again, one after another, on an unchanged machine.", a(run), a(start), a(c.Low), a(c.High), a(common))
			e.tone = theme.Bad
		} else {
			e.closes = fmt.Sprintf("The three currents close: start is %.0f° ahead of run, and common, %s, is their sum. Drawn against the common lead.", c.Angle*180/math.Pi, a(common))
			e.tone = theme.Muted
		}
	}
	rows, err := assess.OldNew(j)
	if err != nil {
		e.err = err
		return e
	}
	for _, r := range rows {
		if r.Old == 0 && r.New == 0 && r.Fitted == 0 {
			continue // nothing known of it yet
		}
		e.rows = append(e.rows, s.oldNew(r))
	}
	return e
}

var supplyDims = map[string]units.Dimension{"A": units.Current, "V": units.Voltage, "F": units.Capacitance, "1": units.Percent}

// oldNew is one line of the table as shown.
func (s shown) oldNew(r supply.Row) widget.TableRow {
	num := func(x float64) string {
		d, ok := supplyDims[r.Unit]
		if x == 0 || !ok {
			return ""
		}
		u := units.Preferred(d, s.system)
		v := u.FromSI(x, 0)
		v = math.Round(v*10) / 10
		return limit(v) + " " + u.Label
	}
	out := widget.TableRow{Cells: []string{sentence(r.Part) + ": " + r.What, num(r.Old), num(r.New), num(r.Fitted), ""}, Tone: theme.Muted}
	if r.Fitted == 0 && r.Unit == "circular mils" {
		out.Cells[3] = r.Note
	}
	small, more := []string{r.Note}, []string{"As read off the old and the new plate"}
	if k := r.Check; k != nil {
		last := len(out.Cells) - 1
		out.Cells[last] = sentence(string(k.Outcome))
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
			out = append(out, sentence(t)+".")
		}
	}
	return strings.Join(out, " ")
}

// electricPart shows it.
type electricPart struct {
	p    *pane
	body *fyne.Container
	view *widget.View
	work widget.Latest
	made string
}

func (p *pane) electrical(body *fyne.Container) {
	p.electric = &electricPart{p: p, body: widget.NewColumn(6, 0), view: p.newView(0.34)}
	p.electric.view.Still, p.electric.work.Now = true, p.b.assessing.Now
	body.Add(p.electric.body)
}

func (w *electricPart) update() {
	j, s := w.p.b.job, w.p.b.show
	key := fmt.Sprint(w.p.b.entered, s.system, s.site)
	if key == w.made {
		return
	}
	w.made = key
	c := j.Clone()
	w.work.Ask(func() func() {
		e := makeElectric(c, s)
		return func() { w.show(e) }
	})
}

func (w *electricPart) show(e electric) {
	widget.Refill(w.body, func() { w.fill(e) })
	w.p.reflow()
}

func (w *electricPart) fill(e electric) {
	if e.err != nil {
		w.body.Add(widget.NewNotice("outside", theme.Bad, []string{sentence(e.err.Error())}, nil))
	}
	if e.leads != nil {
		amps := units.Preferred(units.Current, w.p.b.show.system)
		name := func(n string, key record.Key) string {
			x, _ := w.p.b.job.SI(key, w.p.b.show.site)
			return n + " " + limit(amps.FromSI(x, 0)) + " " + amps.Label
		}
		w.body.Add(widget.NewHeading("The three lead currents"))
		w.view.Set(chart.Phasors([]chart.Phasor{
			{Name: name("run", record.RunLeadCurrent), Value: e.leads.Run, Tone: theme.Ink},
			{Name: name("start", record.CapCurrent), Value: e.leads.Start, Tone: theme.Warning},
			{Name: name("common", record.RunCurrent), Value: e.leads.Common, Tone: theme.Accent},
		}))
		w.body.Add(w.view)
		w.body.Add(widget.NewWords(e.closes, theme.Small+0.5, false, e.tone))
	}
	if len(e.rows) > 0 {
		w.body.Add(widget.NewHeading("Old against new: what the new compressor asks of the parts"))
		t := widget.NewTable([]string{"Part", "old", "new", "fitted", "Verdict"}, e.rows)
		t.OnResize = w.p.reflow
		w.body.Add(t)
		w.body.Add(widget.NewWords("Touch a line: by which rule, and whose. A verdict says what was compared, never that the circuit is safe. The code adopted locally and the nameplate govern.", theme.Small-0.5, false, theme.Muted))
	}
}
