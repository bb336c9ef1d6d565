package assess

import (
	"fmt"
	"strings"

	"retrostage/reports/record"
	"retrostage/wiring/planner"
)

// problems lists readings that are acceptable by themselves yet cannot be
// used together with the rest of the record.
func (c *context) problems() []Problem {
	ps := []Problem{}
	abs := func(key string) (float64, bool) {
		r := c.reading(key)
		if r == nil {
			return 0, false
		}
		if r.gauge {
			return r.si + c.site.si, true
		}
		return r.si, true
	}
	say := func(key string, err error) {
		if err != nil {
			ps = append(ps, Problem{key, err.Error()})
		}
	}
	for _, key := range []string{"suction_pressure", "liquid_pressure", "discharge_pressure"} {
		p, ok := abs(key)
		switch {
		case !ok:
		case p <= 0:
			say(key, fmt.Errorf("this is below a perfect vacuum at the site's air pressure of %.1f kPa", c.site.si/1e3))
		case c.fluid != nil && key == "suction_pressure":
			_, err := c.fluid.DewT(p)
			say(key, err)
		case c.fluid != nil:
			_, err := c.fluid.BubbleT(p)
			say(key, err)
		}
	}
	if lo, ok := abs("suction_pressure"); ok {
		if hi, ok := abs("liquid_pressure"); ok && hi <= lo {
			say("liquid_pressure", fmt.Errorf("not above the suction pressure: is the unit running, are the hoses swapped?"))
		}
	}
	if r, s := c.reading("return_db"), c.reading("return_wb"); r != nil && s != nil && s.si > r.si {
		say("return_wb", fmt.Errorf("a wet bulb cannot be above the dry bulb"))
	}
	if r, s := c.reading("supply_db"), c.reading("supply_wb"); r != nil && s != nil && s.si > r.si {
		say("supply_wb", fmt.Errorf("a wet bulb cannot be above the dry bulb"))
	}
	if _, err := c.compMap(); err != nil {
		say("map_mass_flow", err)
	}
	if r := c.reading(riseLeak); r != nil {
		say("vacuum_rise", r.err)
	}
	return ps
}

// holds says what has to stand in the record before a step makes sense. A
// held step can still be opened and typed in: it says what holds it.
var holds = []struct {
	step record.Step
	key  string
	want string // "" means any value
	why  string
}{
	{record.Choice, "failure_kind", "", "say what failed first (Cause)"},
	{record.Match, "decision", "convert to single stage", "decide to convert first (Choice)"},
	{record.Wiring, "decision", "convert to single stage", "decide to convert first (Choice)"},
	{record.Electrical, "new_rla", "", "enter the new compressor's data first (Match)"},
	{record.Charge, "vacuum_end", "", "hold the vacuum first (Close-up)"},
	{record.Running, "weighed_in", "", "weigh the charge in first (Charge)"},
	{record.HandOver, "suction_pressure", "", "take the running readings first (Running check)"},
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
			entered, missing = c.decisions(entered, missing)
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

// decisions adds to what is missing the questions of the wiring plan that nobody
// but a person at the unit can answer.
func (c *context) decisions(entered bool, missing []string) (bool, []string) {
	open := 0
	for _, key := range planner.Asked {
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
