package assess

import (
	"retrostage/reports/record"
	"retrostage/reports/series"
	"retrostage/thermo/units"
)

// steadily is what the logs of the job say, reckoned once.
type steadily struct {
	done   bool
	by     map[record.Key]logged
	longer float64 // s, the longest steady stretch; 0 for none
	logs   []Log
	any    bool // there is a log with a reading whose steadiness can be told
}

// logged is one reading over the steady stretch of a log.
type logged struct {
	reading
	sd, uMean float64 // SI
}

// logged looks key up in the steady stretch of the job's logs. A reading that was
// typed stands as typed, with the log's scatter added to its doubt; a reading that
// was only logged is the stretch's mean.
func (c *context) logged(key record.Key) (logged, bool) {
	c.readLogsOnce()
	l, ok := c.steadily.by[key]
	return l, ok
}

func (c *context) readLogsOnce() {
	if !c.steadily.done {
		c.steadily = c.readLogs()
	}
}

func (c *context) readLogs() steadily {
	out := steadily{done: true, by: map[record.Key]logged{}}
	for _, s := range c.read1.Series {
		var cols []series.Column
		var vals [][]float64
		var tests []series.Test
		var from []logged
		for _, col := range s.Columns {
			f, err := record.ByKey(col.Key)
			if err != nil || f.Kind != record.Number {
				continue
			}
			u, err := units.Lookup(f.Dim, col.Unit)
			if err != nil {
				continue
			}
			for _, sp := range c.lim.Steady.Spans {
				w, err := units.Lookup(sp.Dim, sp.Unit)
				if sp.Dim != f.Dim || err != nil {
					continue
				}
				v := make([]float64, len(col.Values))
				for i, x := range col.Values {
					v[i] = u.ToSI(x, 0)
				}
				tests = append(tests, series.Test{Column: len(cols), Drift: w.SpanSI(sp.Drift), Scatter: w.SpanSI(sp.Scatter)})
				cols, vals = append(cols, series.Column{Name: col.Key.String(), Unit: col.Unit, Dim: f.Dim, Numeric: true}), append(vals, v)
				from = append(from, logged{reading: reading{key: col.Key.String(), field: col.Key, label: f.Label, gauge: u.Gauge, unit: u, from: col.Instrument}})
			}
		}
		g, err := series.New(s.Start, s.Seconds, cols, vals)
		if err != nil {
			continue
		}
		out.any = true
		w, err := g.Steady(tests, 60*c.lim.Steady.Minutes, c.lim.Steady.Lines)
		if err != nil {
			continue
		}
		l := Log{Name: s.Name, Steady: w.Steady, From: s.Seconds[w.From], To: s.Seconds[w.To]}
		for i, st := range w.Stats {
			l.Columns = append(l.Columns, LogDrift{Key: from[i].field, Mean: st.Mean, SD: st.SD, Moved: st.Moved, Pass: st.Pass})
		}
		out.logs = append(out.logs, l)
		if !w.Steady {
			continue
		}
		out.longer = max(out.longer, g.Seconds(w.To)-g.Seconds(w.From))
		for i, st := range w.Stats {
			l := from[i]
			if len(c.spans) > 1 && inSet[l.field] && c.since(s.After-1, l.field) != "" {
				continue // logged before the unit was changed
			}
			l.si, l.sd, l.uMean = st.Mean, st.SD, st.U
			out.by[l.field] = l
		}
	}
	return out
}
