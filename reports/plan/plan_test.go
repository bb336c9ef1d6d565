package plan

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
	"retrostage/wiring/planner"
)

func demo(t *testing.T) *record.Job { return demoJob(t) }

func demoJob(t testing.TB) *record.Job {
	t.Helper()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func TestDemoPlan(t *testing.T) {
	p, err := Proved(t.Context(), demo(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	if p.Refused != "" || len(p.Assumed) > 0 || p.Verdict != "holds" {
		t.Errorf("refused %q, assumed %v, proof %+v", p.Refused, p.Assumed, p.Proof)
	}
	for _, d := range p.Devices {
		if d.Reason == "" || !slices.Contains([]string{"keep", "move", "set", "replace", "remove", "add"}, d.Action) {
			t.Errorf("%s: %s because %q", d.Label, d.Action, d.Reason)
		}
		if strings.Contains(d.Label, "pressure switch") && d.Action != "keep" && d.Action != "move" {
			t.Errorf("%s: %s", d.Label, d.Action)
		}
	}
}

func TestNoUnitYet(t *testing.T) {
	if _, err := For(record.New("n")); !errors.Is(err, ErrNoUnit) {
		t.Errorf("error %v", err)
	}
}

// A safety is left out only with a stated reason, and then it is marked.
func TestOmission(t *testing.T) {
	j := demo(t)
	p, err := For(j)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(p.Decisions, func(d planner.Decision) bool { return strings.HasPrefix(d.Key, "omit:") })
	if i < 0 {
		t.Fatal("no question about a safety")
	}
	key := p.Decisions[i].Key
	set := func(v string) {
		if err := j.Set(record.Entry{Key: record.PlanKey(key), Value: v, Time: time.Unix(1.79e9, 0)}); err != nil {
			t.Fatal(err)
		}
	}
	set("no")
	if _, err := For(j); err == nil {
		t.Error("left out without a reason")
	}
	set("switch is built into the new compressor")
	p, err = For(j)
	if err != nil || len(p.Omitted) != 1 || p.Omitted[0].Caution == "" {
		t.Errorf("%v %+v", err, p)
	}
}
