package assess

import (
	"slices"
	"strings"
	"testing"

	"retrostage/reports/cause"
	"retrostage/reports/match"
	"retrostage/reports/record"
)

// TestChain: both invented jobs run from what failed to a choice, the first to a filled
// order list, the second to another choice; each decides what the comparison has first.
func TestChain(t *testing.T) {
	for _, c := range []struct {
		load           func() (*record.Job, error)
		kind           cause.Kind
		first, decided string
		orders         []string
	}{
		{record.Demo, cause.Grounded, "convert", "convert to single stage", []string{"compressor", "run capacitor", "contactor", "liquid-line drier", "oil", "time delay", "breaker", "suction filter-drier"}},
		{record.SecondDemo, cause.Seized, "system", "replace the whole system", nil},
	} {
		j, err := c.load()
		if err != nil {
			t.Fatal(err)
		}
		a := New(j)
		x, err := a.Failure()
		if err != nil {
			t.Fatal(err)
		}
		if x.First().Kind != c.kind || x.Call != cause.Dead {
			t.Errorf("%s: %v, first %v with %.2f", j.ID, x.Call, x.First().Kind, x.First().P)
		}
		o, err := a.Choices()
		if err != nil || o.Refused != "" || !o.Judged {
			t.Fatalf("%s: %v %+v", j.ID, err, o)
		}
		if got := o.Options[o.Verdict.First].Key; got != c.first || j.Text(record.Decision) != c.decided {
			t.Errorf("%s: first %s, decided %s", j.ID, got, j.Text(record.Decision))
		}
		for _, k := range o.Ranking.Costs {
			t.Logf("%-28s %6.0f to buy, %4.1f years, %5.0f a year", o.Options[k.Option].Name, k.Capital, k.Years, k.PerYear)
		}
		for _, l := range o.Verdict.Leads {
			t.Logf("  over %s by %.0f ± %.0f, turned by %v", o.Options[l.Over].Name, l.By, 2*l.Doubt, l.Turns)
		}
		m, err := a.Matches()
		if err != nil || m.Refused != "" {
			t.Fatal(err, m)
		}
		for _, k := range m.Ranked {
			t.Logf("%s: %s", k.Candidate.Name, k.Says())
			for _, r := range k.Reasons {
				if r.Verdict != match.Fits {
					t.Logf("    %-30s %-14s %s", r.Topic, r.Verdict, r.Words)
				}
			}
		}
		for _, w := range c.orders {
			if !slices.ContainsFunc(m.Order, func(l match.Line) bool { return l.What == w }) {
				t.Errorf("%s: no %s on the order list", j.ID, w)
			}
		}
		if c.orders != nil && (m.Chosen != 0 || m.Ranked[0].Misfits() > 0) {
			t.Errorf("%s: the compressor entered stands at %d with %d misfits", j.ID, m.Chosen, m.Ranked[0].Misfits())
		}
	}
}

// TestRootStaysOpen: a root cause named in Cause keeps Hand-over open until the reading
// that shows it gone is within; every root cause that can be named has one, or says that
// there is none.
func TestRootStaysOpen(t *testing.T) {
	keys := map[string]bool{}
	for _, d := range definitions {
		keys[d.key] = true
	}
	for _, r := range record.Roots {
		for _, k := range RootShown[r] {
			if !keys[k] {
				t.Errorf("%s: there is no finding %s", r, k)
			}
		}
		if _, ok := RootShown[r]; !ok {
			t.Errorf("%s: nothing shows it gone", r)
		}
	}
	if len(RootShown) != len(record.Roots) {
		t.Errorf("%d roots, %d with a reading", len(record.Roots), len(RootShown))
	}
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	open := func(j *record.Job) bool {
		r, err := Run(j)
		if err != nil {
			t.Fatal(err)
		}
		return slices.ContainsFunc(r.Against, func(m Matter) bool { return m.Key == record.RootKind.String() })
	}
	if open(j) {
		t.Error("the demo's capacitor reads as it should, and the root cause stands open")
	}
	if err := j.Set(record.Entry{Key: record.RootKind, Value: "too little indoor air"}); err != nil {
		t.Fatal(err)
	}
	k, _ := record.Demo()
	less := *k
	less.Entries = slices.DeleteFunc(slices.Clone(k.Entries), func(e record.Entry) bool {
		return slices.Contains([]record.Key{record.CapMeter, record.CapCurrent, record.CapVolts}, e.Key)
	})
	b, err := less.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if k, err = record.Decode(b); err != nil {
		t.Fatal(err)
	}
	if !open(k) {
		t.Error("nobody read the new capacitor, and the root cause is held for removed")
	}
}

// TestNothingEntered: an empty job is told nothing it has not shown.
func TestNothingEntered(t *testing.T) {
	a := New(&record.Job{ID: "empty"})
	x, err := a.Failure()
	if err != nil || x.Call != cause.CannotTell || len(x.Follows) == 0 && x.Named() {
		t.Errorf("%v %+v", err, x)
	}
	o, err := a.Choices()
	if err != nil || o.Refused == "" || o.Judged {
		t.Errorf("%v %+v", err, o)
	}
	m, err := a.Matches()
	if err != nil || m.Refused == "" {
		t.Errorf("%v %+v", err, m)
	}
	heat, _ := record.Demo()
	if err := heat.Set(record.Entry{Key: record.HeatPump, Value: record.Yes}); err != nil {
		t.Fatal(err)
	}
	if o, err := New(heat).Choices(); err != nil || !strings.Contains(o.Refused, "heat pump") {
		t.Errorf("a heat pump: %v %+v", err, o)
	}
}
