package section

import (
	"strings"
	"time"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/record"
)

// gates are the groups of fields that stay shut until their cautions are
// acknowledged, and the field that keeps by whom and when. It holds for the day:
// who comes back on another day finds another machine, and is asked again.
var gates = map[string]struct {
	key   record.Key
	words string
}{
	"Dead checks": {record.AckDead, "Locked out, proved dead, discharged"},
	"Live checks": {record.AckLive, "Allowed here; rated meter, leads, gloves"},
}

// Acknowledge enters that the cautions before a group were read.
func Acknowledge(h Host, group string) {
	by := h.Person()
	if by == "" {
		by = h.Job().Text(record.TechnicianRef)
	}
	h.Enter(gates[group].key, stamp(by, h.Now()), "", "")
}

// AcknowledgeAll enters in a job that the cautions before every group were read.
func AcknowledgeAll(j *record.Job, by string, at time.Time) error {
	for _, g := range gates {
		if err := j.Set(record.Entry{Key: g.key, Value: stamp(by, at), Time: at, By: by}); err != nil {
			return err
		}
	}
	return nil
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
	p      *Pane
	group  string
	notice *widget.Notice
	tap    *widget.Tap
	said   *widget.Words
	rows   []*widget.Row
	fold   *fold // of its seldom fields; nil without
	was    gateState
	set    bool

	touched bool // here, and what it opens is not led to yet
}

// gateState is whether a group is open, and what is said of it.
type gateState struct {
	open bool
	said string // by whom and when it was acknowledged, "" if it never was
}

// newGate makes the gate of a group, nil where the group has none.
func newGate(p *Pane, group string) *gate {
	if gates[group].words == "" {
		return nil
	}
	g := &gate{p: p, group: group}
	var lines, small []string
	for _, c := range p.Info.Cautions {
		own := ""
		for k := range gates {
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
	g.tap = widget.NewTap(gates[group].words, func() {
		g.touched = true
		Acknowledge(p, group)
	})
	g.tap.Strong, g.tap.Px = true, theme.Small+0.5
	return g
}

// gateOf is how the gate of a group stands in a job on a day.
func gateOf(j *record.Job, group string, now time.Time) (s gateState) {
	ask := gates[group]
	e, ever := j.Entry(ask.key)
	if !ever {
		return s
	}
	s.open = e.Time.Format(time.DateOnly) == now.In(e.Time.Location()).Format(time.DateOnly)
	s.said = "Acknowledged by " + e.Value + ": " + strings.ToLower(ask.words[:1]) + ask.words[1:] + "."
	if !s.open {
		s.said += " That was another day; acknowledge again before touching anything."
	}
	return s
}

// apply opens or shuts the group. Nothing that was acknowledged goes unsaid.
func (g *gate) apply(s gateState) {
	if g.set && s == g.was {
		return
	}
	g.was, g.set = s, true
	show(g.notice, !s.open)
	show(g.tap, !s.open)
	g.said.Set(s.said)
	show(g.said, s.said != "")
	for _, r := range g.rows {
		show(r, s.open)
	}
	if f := g.fold; f != nil {
		f.shut = !s.open
		f.apply()
	}
	g.p.rebalance()
	g.p.reflow()
	if s.open && g.touched {
		g.touched = false
		g.p.seek(g.rows)
	}
}
