package app

import (
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// logsPart shows the logs of the job with the stretch that was looked at.
type logsPart struct {
	p    *pane
	body *fyne.Container
	made string
}

func (p *pane) logging(body *fyne.Container) {
	p.logs = &logsPart{p: p, body: widget.NewColumn(6, 0)}
	body.Add(p.logs.body)
}

// logPicture is one picture of a log: the readings of one dimension.
type logPicture struct {
	title string
	pic   *chart.Picture
}

// logLines are the ways in which lines are told apart without colour: width
// stays, dash and tone change, and each carries its name.
var logTones = []theme.Tone{theme.Accent, theme.Ink, theme.Warning, theme.Good, theme.Muted}

// logPictures draws a log, one picture for each dimension, in minutes.
func logPictures(l record.Series, found *assess.Log, s shown) (out []logPicture) {
	min, err := units.Lookup(units.Duration, "min")
	if err != nil {
		return nil
	}
	at := map[units.Dimension]int{}
	var charts []chart.XY
	var dims []units.Dimension
	for _, c := range l.Columns {
		f, err := record.ByKey(c.Key)
		if err != nil {
			continue
		}
		from, err := units.Lookup(f.Dim, c.Unit)
		if err != nil {
			continue
		}
		to := units.Preferred(f.Dim, s.system)
		k, ok := at[f.Dim]
		if !ok {
			k = len(charts)
			at[f.Dim] = k
			dims = append(dims, f.Dim)
			charts = append(charts, chart.XY{XLabel: "minutes since the log's first line", YLabel: sentence(string(f.Dim)) + ", " + to.Label})
		}
		n := len(charts[k].Series)
		line := chart.Series{Name: f.Label, Tone: logTones[n%len(logTones)], Dash: n%2 == 1}
		for i, x := range c.Values {
			line.X, line.Y = append(line.X, min.FromSI(l.Seconds[i], 0)), append(line.Y, to.FromSI(from.ToSI(x, s.site), s.site))
		}
		charts[k].Series = append(charts[k].Series, line)
	}
	for k, c := range charts {
		if found != nil {
			c.Window = &chart.Window{From: min.FromSI(found.From, 0), To: min.FromSI(found.To, 0), Name: "steady", Firm: found.Steady}
			if !found.Steady {
				c.Window.Name = "not steady"
			}
		}
		out = append(out, logPicture{string(dims[k]), c.Picture()})
	}
	return out
}

// drift says in words how a log keeps still.
func drift(found *assess.Log, s shown) (text string, tone theme.Tone) {
	if found == nil {
		return "Nothing in it tells whether the machine ran steadily: too short, or no pressure or temperature.", theme.Muted
	}
	min, err := units.Lookup(units.Duration, "min")
	if err != nil {
		return "", theme.Muted
	}
	span := fmt.Sprintf("%s to %s min", limit(min.FromSI(found.From, 0)), limit(min.FromSI(found.To, 0)))
	if found.Steady {
		return "Steady from " + span + ". A field that is left empty takes its mean over that stretch; one that is typed takes its scatter as doubt.", theme.Muted
	}
	var moved []string
	for _, c := range found.Columns {
		f, err := record.ByKey(c.Key)
		if err != nil || c.Pass {
			continue
		}
		span := f.Dim
		if span == units.Temperature {
			span = units.TempDiff
		}
		u := units.Preferred(span, s.system)
		moved = append(moved, fmt.Sprintf("%s moved %s %s and scattered %s", strings.ToLower(f.Label[:1])+f.Label[1:], limit(u.Span(c.Moved)), u.Label, limit(u.Span(c.SD))))
	}
	return "Not steady: over the last stretch, " + span + ", " + strings.Join(moved, "; ") + ".", theme.Warning
}

func (w *logsPart) update() {
	j, s, r := w.p.b.job, w.p.b.show, w.p.b.report
	var logs []assess.Log
	if r != nil {
		logs = r.Logs
	}
	key := fmt.Sprint(s.system, s.site, logs)
	for _, l := range j.Series {
		key += fmt.Sprint(l.Name, len(l.Seconds), len(l.Columns))
	}
	if key == w.made {
		return
	}
	w.made = key
	widget.Refill(w.body, func() { w.fill(j, s, logs) })
	w.p.reflow()
}

func (w *logsPart) fill(j *record.Job, s shown, logs []assess.Log) {
	w.body.Add(widget.NewHeading("Logged readings"))
	used := 0 // logs that were looked at stand in the report in their order
	for i, l := range j.Series {
		var found *assess.Log
		if used < len(logs) && logs[used].Name == l.Name {
			found = &logs[used]
			used++
		}
		w.body.Add(widget.NewWords(fmt.Sprintf("%s: %d lines over %s min", l.Name, len(l.Seconds), minutes(l)), theme.Text, true, theme.Ink))
		text, tone := drift(found, s)
		w.body.Add(widget.NewWords(text, theme.Small+0.5, false, tone))
		for _, q := range logPictures(l, found, s) {
			v := w.p.newView(0.4)
			v.Set(q.pic)
			w.body.Add(v)
		}
		w.body.Add(widget.NewTap("Take this log out", func() { w.p.b.dropLog(i) }))
	}
	if len(j.Series) == 0 {
		w.body.Add(widget.NewWords("None. A logger's file shows when the machine ran steadily; the readings are then taken from that stretch.", theme.Small+0.5, false, theme.Muted))
	}
	w.body.Add(widget.NewTap("Import a log", w.p.b.importLog))
}

func minutes(l record.Series) string {
	min, err := units.Lookup(units.Duration, "min")
	if err != nil || len(l.Seconds) == 0 {
		return "0"
	}
	return limit(min.FromSI(l.Seconds[len(l.Seconds)-1], 0))
}

// addLog keeps a log with the job, in place of one of the same name.
func (b *Bench) addLog(l record.Series) {
	all := slices.DeleteFunc(slices.Clone(b.job.Series), func(o record.Series) bool { return o.Name == l.Name })
	b.job.Series = append(all, l)
	b.save()
	b.recalc()
}

// dropLog takes a log out.
func (b *Bench) dropLog(i int) {
	if i < 0 || i >= len(b.job.Series) {
		return
	}
	b.job.Series = slices.Delete(slices.Clone(b.job.Series), i, i+1)
	b.save()
	b.recalc()
}
