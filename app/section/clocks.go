package section

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// clockLine is one wait as shown.
type clockLine struct {
	clock assess.Clock
	words string
	tone  theme.Tone
}

// clocks are the waits of the step: each starts from an instant in the record, and is
// shown on every step while it runs.
func clocks(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	return newSection("clocks", []fyne.CanvasObject{body},
		func(in Input) string {
			k := in.entered()
			if anyRuns(in.Job) {
				k += in.Now.Format(" 15:04:05")
			}
			return k
		},
		func(_ context.Context, in Input) (out []clockLine) {
			r, err := in.Entered.Report()
			if err != nil {
				return nil
			}
			for _, c := range r.Clocks {
				if c.Step == p.Info.Step {
					words, tone := clockSays(c, in.Now)
					out = append(out, clockLine{c, words, tone})
				}
			}
			return out
		},
		func(lines []clockLine) {
			widget.Refill(body, func() {
				if len(lines) > 0 {
					body.Add(widget.NewHeading("Clocks"))
				}
				for _, l := range lines {
					p.addClock(body, l)
				}
			})
			p.reflow()
		}).alone()
}

// clockKeys are where starts are kept.
var clockKeys = []record.Key{record.HoldStarted, record.DecayStarted, record.SettleStarted}

func anyRuns(j *record.Job) bool {
	for _, k := range clockKeys {
		if j.Text(k) != "" {
			return true
		}
	}
	return false
}

// clockSays is a wait in words.
func clockSays(c assess.Clock, now time.Time) (string, theme.Tone) {
	switch {
	case !c.Runs():
		return fmt.Sprintf("%s: %s (%s).", c.Label, lasting(c.Goal), c.Why), theme.Muted
	case c.Back(now):
		return fmt.Sprintf("%s: started at %s, which is later than the time of this tablet: its clock was set back, and what has passed cannot be told.", c.Label, c.Started.Format("2006-01-02 15:04")), theme.Bad
	case c.Due(now):
		return fmt.Sprintf("%s: %s, the %s are over (%s): %s.", c.Label, running(c.Past(now)), lasting(c.Goal), c.Why, c.Ends), theme.Ink
	}
	return fmt.Sprintf("%s: %s of %s, until %s (%s).", c.Label, running(c.Past(now)), lasting(c.Goal), c.Started.Add(c.Goal).In(now.Location()).Format("15:04"), c.Why), theme.Ink
}

// ClockStatus is the waits that run, for the line that is on every step; "" without.
func ClockStatus(r *assess.Report, now time.Time) string {
	if r == nil {
		return ""
	}
	var out []string
	for _, c := range r.Clocks {
		switch {
		case !c.Runs():
		case c.Back(now):
			out = append(out, c.Label+": the tablet's clock was set back")
		case c.Due(now):
			out = append(out, fmt.Sprintf("%s %s: over", c.Label, running(c.Past(now))))
		default:
			out = append(out, fmt.Sprintf("%s %s of %s", c.Label, running(c.Past(now)), lasting(c.Goal)))
		}
	}
	return strings.Join(out, "; ")
}

func lasting(d time.Duration) string {
	if d >= 2*time.Hour {
		return fmt.Sprintf("%.1f h", d.Hours())
	}
	return strconv.Itoa(int(math.Ceil(d.Minutes()))) + " min"
}

// running is a time that runs, to the second.
func running(d time.Duration) string {
	s := int(d.Seconds())
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

func (p *Pane) addClock(body *fyne.Container, l clockLine) {
	c := l.clock
	body.Add(widget.NewWords(l.words, theme.Small+0.5, c.Runs(), l.tone))
	if !c.Runs() {
		start := func() {
			p.Enter(c.Key, assess.Stamp(p.Now()), "", "")
			if c.Read != (record.Key{}) { // what is entered next of it
				p.LeadTo(c.Read.String())
			}
		}
		body.Add(widget.NewTap("Start: "+c.Label, start))
		if c.Key == record.DecayStarted {
			// One touch says both, at the moment when both are so.
			body.Add(widget.NewTap("Start: pump valved off and stopped", func() {
				if p.Enter(record.PumpValved, record.PumpShut, "", "") == nil {
					start()
				}
			}))
		}
		return
	}
	stop := "Stop"
	if c.Fills.String() != "" {
		stop = "Stop, and enter the time"
	}
	k := widget.NewTap(stop, func() { p.stopClock(c) })
	k.Strong = c.Due(p.Now())
	body.Add(k)
}

// stopClock enters how long it ran, in whole minutes that passed, and lets it go. A
// time that the field refuses is kept as any such entry is, and the clock runs on.
func (p *Pane) stopClock(c assess.Clock) {
	if now := p.Now(); c.Fills.String() != "" && !c.Back(now) {
		if m := int(c.Past(now).Minutes()); m > 0 && p.Enter(c.Fills, strconv.Itoa(m), "min", "") != nil {
			return
		}
	}
	p.Enter(c.Key, "", "", "")
	if c.Read != (record.Key{}) {
		p.LeadTo(c.Read.String())
	}
}
