package assess

import (
	"testing"

	"retrostage/reports/record"
)

// The wiring step is done when a person answered what only a person can; a safety
// that stays needs no answer.
func TestWiringAsksForDecisions(t *testing.T) {
	j := demo(t)
	state := func() State {
		for _, s := range run(t, j).Steps {
			if s.Step == record.Wiring {
				return s
			}
		}
		t.Fatal("no wiring step")
		return State{}
	}
	if s := state(); s.Word != Done {
		t.Fatalf("demo job: %s, %s", s.Word, s.Why)
	}
	set(t, j, record.PlanKey("airflow"), "", "")
	if s := state(); s.Word != Open || s.Why != "missing: 1 decision" {
		t.Errorf("one answer taken back: %s, %s", s.Word, s.Why)
	}
	set(t, j, record.PlanKey("hard-start"), "", "")
	if s := state(); s.Word != Open || s.Why != "missing: 2 decisions" {
		t.Errorf("two answers taken back: %s, %s", s.Word, s.Why)
	}
}
