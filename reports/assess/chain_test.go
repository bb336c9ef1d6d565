package assess

import (
	"testing"

	"retrostage/reports/record"
)

func TestChainDemo(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	a := New(j)
	x, err := a.Failure()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range x.Ranking[:3] {
		t.Logf("%v %.3f", r.Kind, r.P)
	}
	t.Log(x.Call, x.Why, x.Grade)
	for _, f := range x.Follows {
		t.Logf("%+v", f)
	}
	for _, n := range x.Next[:min(4, len(x.Next))] {
		t.Logf("next %s %.3f", n.Observation.Label, n.Bits)
	}
	c, err := a.Choices()
	if err != nil {
		t.Fatal(err)
	}
	t.Log(c.Refused, c.Assumed)
	for _, k := range c.Ranking.Costs {
		t.Logf("%-30s capital %.0f years %.1f energy %.0f per year %.0f break-even %+v", c.Options[k.Option].Name, k.Capital, k.Years, k.Energy, k.PerYear, k.BreakEven)
	}
	for _, l := range c.Verdict.Leads {
		t.Logf("lead over %s %.0f ± %.0f turns %v clear %v", c.Options[l.Over].Name, l.By, l.Doubt, l.Turns, l.Clear())
	}
	for _, s := range c.Verdict.Swings {
		t.Logf("%-50s %.0f %.0f", s.Name, s.Low, s.High)
	}
	for _, d := range c.Drawn.Options {
		t.Logf("%s %.2f %+v", c.Options[d.Option].Name, d.Cheapest, d.PerYear)
	}
	m, err := a.Matches()
	if err != nil {
		t.Fatal(err)
	}
	t.Log(m.Refused, m.Chosen)
	for _, k := range m.Ranked {
		t.Log(k.Candidate.Name, k.Says())
		for _, r := range k.Reasons {
			t.Logf("   %-30s %-12s %s", r.Topic, r.Verdict, r.Words)
		}
	}
	for _, l := range m.Order {
		t.Logf("%+v", l)
	}
}
