package section

import (
	"context"
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

// logWords is one log as shown: what it is, how it keeps still, its pictures.
type logWords struct {
	title, drift string
	tone         theme.Tone
	pictures     []*chart.Picture
}

// logs shows the logs of the job, each with the stretch that was looked at.
func logs(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	return newSection("logs", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) []logWords {
			r, err := in.Entered.Report()
			if err != nil {
				return nil
			}
			return logsOf(in.Job, r, presenter{system: in.System, site: r.Site})
		},
		func(ls []logWords) {
			widget.Refill(body, func() { fillLogs(p, body, ls) })
			p.reflow()
		}).alone()
}

// importKey opens the import of a log.
func importKey(p *Pane) *Section {
	return fixed("import", widget.NewTap("Import a log", func() { importLog(p, readingsAim()) }))
}

func logsOf(j *record.Job, r *assess.Report, s presenter) (out []logWords) {
	used := 0 // logs that were looked at stand in the report in their order
	for _, l := range j.Series {
		var found *assess.Log
		if used < len(r.Logs) && r.Logs[used].Name == l.Name {
			found = &r.Logs[used]
			used++
		}
		w := logWords{title: fmt.Sprintf("%s: %d lines over %s min", l.Name, len(l.Seconds), minutes(l)), pictures: logPictures(l, found, s)}
		w.drift, w.tone = drift(found, s)
		out = append(out, w)
	}
	return out
}

func fillLogs(p *Pane, body *fyne.Container, ls []logWords) {
	body.Add(widget.NewHeading("Logged readings"))
	for i, l := range ls {
		body.Add(widget.NewWords(l.title, theme.Text, true, theme.Ink))
		body.Add(widget.NewWords(l.drift, theme.Small+0.5, false, l.tone))
		for _, q := range l.pictures {
			v := p.newView(0.4)
			v.Set(q)
			body.Add(v)
		}
		body.Add(widget.NewTap("Take this log out", func() { dropLog(p, i) }))
	}
	if len(ls) == 0 {
		body.Add(widget.NewWords("None. A logger's file shows when the machine ran steadily; the readings are then taken from that stretch.", theme.Small+0.5, false, theme.Muted))
	}
	body.Add(widget.NewTap("Import a log", func() { importLog(p, readingsAim()) }))
}

// logTones are the ways in which lines are told apart without colour: width
// stays, dash and tone change, and each carries its name.
var logTones = []theme.Tone{theme.Accent, theme.Ink, theme.Warning, theme.Good, theme.Muted}

// logPictures draws a log, one picture for each dimension, in minutes.
func logPictures(l record.Series, found *assess.Log, s presenter) (out []*chart.Picture) {
	min, err := units.Lookup(units.Duration, "min")
	if err != nil {
		return nil
	}
	at := map[units.Dimension]int{}
	var charts []chart.XY
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
			charts = append(charts, chart.XY{XLabel: "minutes since the log's first line", YLabel: Sentence(string(f.Dim)) + ", " + to.Label})
		}
		n := len(charts[k].Series)
		line := chart.Series{Name: f.Label, Tone: logTones[n%len(logTones)], Dash: n%2 == 1}
		for i, x := range c.Values {
			line.X, line.Y = append(line.X, min.FromSI(l.Seconds[i], 0)), append(line.Y, to.FromSI(from.ToSI(x, s.site), s.site))
		}
		charts[k].Series = append(charts[k].Series, line)
	}
	for _, c := range charts {
		if found != nil {
			c.Window = &chart.Window{From: min.FromSI(found.From, 0), To: min.FromSI(found.To, 0), Name: "steady", Firm: found.Steady}
			if !found.Steady {
				c.Window.Name = "not steady"
			}
		}
		out = append(out, c.Picture())
	}
	return out
}

// drift says in words how a log keeps still.
func drift(found *assess.Log, s presenter) (text string, tone theme.Tone) {
	if found == nil {
		return "Nothing in it tells whether the machine ran steadily: too short, or no pressure or temperature.", theme.Muted
	}
	min, err := units.Lookup(units.Duration, "min")
	if err != nil {
		return "", theme.Muted
	}
	span := fmt.Sprintf("%s to %s min", limit(min.FromSI(found.From, 0)), limit(min.FromSI(found.To, 0)))
	if found.Steady {
		return "Steady from " + span + ". A field that is left empty takes its mean over that stretch; one that is typed takes its scatter as uncertainty.", theme.Muted
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

func minutes(l record.Series) string {
	min, err := units.Lookup(units.Duration, "min")
	if err != nil || len(l.Seconds) == 0 {
		return "0"
	}
	return limit(min.FromSI(l.Seconds[len(l.Seconds)-1], 0))
}

// addLog keeps a log with the job, in place of one of the same name.
func addLog(h Host, l record.Series) {
	h.Change(func(j *record.Job) { j.AddLog(l) })
}

// dropLog takes a log out.
func dropLog(h Host, i int) {
	h.Change(func(j *record.Job) {
		if i >= 0 && i < len(j.Series) {
			j.Series = slices.Delete(slices.Clone(j.Series), i, i+1)
		}
	})
}
