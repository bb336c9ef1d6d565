package assess

import (
	"fmt"
	"strings"

	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/wiring/planner"
)

// problems lists readings that are acceptable by themselves yet cannot be
// used together with the rest of the record.
func (c *context) problems() []Problem {
	ps := []Problem{}
	abs := func(key record.Key) (float64, bool) {
		r := c.reading(key)
		if r == nil {
			return 0, false
		}
		if r.gauge {
			return r.si + c.site.si, true
		}
		return r.si, true
	}
	say := func(key record.Key, err error) {
		if err != nil {
			ps = append(ps, Problem{key, err.Error()})
		}
	}
	for _, key := range []record.Key{record.SuctionPressure, record.LiquidPressure, record.DischargePressure} {
		p, ok := abs(key)
		switch {
		case !ok:
		case p <= 0:
			say(key, fmt.Errorf("this is below a perfect vacuum at the site's air pressure of %.1f kPa", c.site.si/1e3))
		case c.fluid != nil && key == record.SuctionPressure:
			_, err := c.fluid.DewT(p)
			say(key, err)
		case c.fluid != nil:
			_, err := c.fluid.BubbleT(p)
			say(key, err)
		}
	}
	if lo, ok := abs(record.SuctionPressure); ok {
		if hi, ok := abs(record.LiquidPressure); ok && hi <= lo {
			say(record.LiquidPressure, fmt.Errorf("not above the suction pressure: is the unit running, are the hoses swapped?"))
		}
	}
	if r, s := c.reading(record.ReturnDB), c.reading(record.ReturnWB); r != nil && s != nil && s.si > r.si {
		say(record.ReturnWB, fmt.Errorf("a wet bulb cannot be above the dry bulb"))
	}
	if r, s := c.reading(record.SupplyDB), c.reading(record.SupplyWB); r != nil && s != nil && s.si > r.si {
		say(record.SupplyWB, fmt.Errorf("a wet bulb cannot be above the dry bulb"))
	}
	if _, err := c.compMap(); err != nil {
		say(record.MapMassFlow, err)
	}
	if r := c.input(riseLeak); r != nil {
		say(record.VacuumRise, r.err)
	}
	return ps
}

// holds says what has to stand in the record before a step makes sense. A
// held step can still be opened and typed in: it says what holds it.
var holds = []struct {
	step record.Step
	key  record.Key
	want string // "" means any value
	why  string
}{
	{record.Choice, record.FailureKind, "", "say what failed first (Cause)"},
	{record.Match, record.Decision, "convert to single stage", "decide to convert first (Choice)"},
	{record.Wiring, record.Decision, "convert to single stage", "decide to convert first (Choice)"},
	{record.Electrical, record.NewRLA, "", "enter the new compressor's data first (Match)"},
	{record.Charge, record.VacuumEnd, "", "hold the vacuum first (Close-up)"},
	{record.Running, record.WeighedIn, "", "weigh the charge in first (Charge)"},
	{record.HandOver, record.SuctionPressure, "", "take the running readings first (Running check)"},
}

// states tells how far each step is.
func (c *context) states(r *Report) []State {
	var out []State
	for _, info := range record.Steps {
		s := State{Step: info.Step}
		entered, missing := false, []string{}
		for _, f := range record.Of(info.Step) {
			_, draft := c.job.Draft(f.Key)
			_, ok := c.job.Entry(f.Key)
			entered = entered || ok || draft
			if draft || f.Need && !ok {
				missing = append(missing, f.Label)
			}
		}
		if info.Step == record.Wiring {
			entered, missing = c.wiring(entered, missing)
		}
		for _, h := range holds {
			if v := c.job.Text(h.key); h.step == info.Step && (v == "" || h.want != "" && v != h.want) {
				s.Why = h.why
			}
		}
		switch {
		case s.Why != "":
			s.Word = Held
		case len(missing) == 0 && entered:
			s.Word = Done
			if n := outside(r, info.Step); n > 0 {
				s.Why = fmt.Sprintf("%d outside", n)
			}
		case entered:
			s.Word, s.Why = Open, "missing: "+strings.Join(missing, ", ")
		default:
			s.Word = Ready
		}
		out = append(out, s)
	}
	return out
}

// wiring adds to what is missing the questions of the wiring plan that nobody but a
// person at the unit can answer, and the readings of the dead check-out, which ends
// the step.
func (c *context) wiring(entered bool, missing []string) (bool, []string) {
	raised, err := plan.Raised(c.job)
	if err != nil {
		raised = planner.Asked // no unit yet, or one that cannot be read: all stand open
	}
	open := 0
	for _, key := range raised {
		if c.job.Text(record.PlanKey(key)) == "" {
			open++
		} else {
			entered = true
		}
	}
	switch open {
	case 0:
	case 1:
		missing = append(missing, "1 decision")
	default:
		missing = append(missing, fmt.Sprintf("%d decisions", open))
	}
	if !plan.ReadDead(c.job) {
		missing = append(missing, "readings of the dead check-out")
	}
	return entered, missing
}

func outside(r *Report, s record.Step) (n int) {
	for _, f := range r.Findings {
		if f.Step == s && f.Verdict == Outside {
			n++
		}
	}
	return n
}
