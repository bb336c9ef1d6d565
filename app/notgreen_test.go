package app

import (
	"strings"
	"testing"

	"retrostage/app/section"
	"retrostage/app/widget"
	"retrostage/reports/plan"
	"retrostage/reports/record"
)

// The cases that must not be green, as the route shows them to the person who tapped
// them together; the fourth of them is TestBadJobAtTheWindow.
func TestTapsAloneMakeNothingGreen(t *testing.T) {
	stage := func(b *Bench, s record.Step) widget.Stage { return section.Stages(b.report)[stepIndex(s)] }

	// Close-up with three taps and nothing measured.
	b, w := bench(t, record.New("taps"))
	b.SetPerson("T-31")
	h := &hand{t: t, b: b, w: w}
	b.Go(stepIndex(record.CloseUp))
	h.enter(record.NitrogenFlow, "yes")
	h.enter(record.DrierFitted, "yes")
	h.enter(record.SuctionFilter, "not needed")
	if s := stage(b, record.CloseUp); s.State != widget.Open || !strings.Contains(s.Why, record.TestP1.Label()) {
		t.Errorf("close-up with three taps: %v, %s", s.State, s.Why)
	}
	if foot := shownWords(b.pane().Side); !strings.Contains(foot, record.TestP1.Label()) {
		t.Error("the step's foot does not name what it lacks")
	}
	// Hand-over while the steps before it are open or held.
	if s := stage(b, record.HandOver); s.State != widget.Held {
		t.Errorf("hand-over: %v, %s", s.State, s.Why)
	}
	b.Go(stepIndex(record.HandOver))
	h.enter(record.WorkDone, "all of it")
	h.enter(record.SignedBy, "T-31")
	if s := stage(b, record.HandOver); s.State != widget.Held {
		t.Errorf("hand-over signed over open steps: %v, %s", s.State, s.Why)
	}

	// Wiring with four readings, one of them bad, and the word that it is complete.
	b, w = bench(t, firstJob(t))
	b.SetPerson("T-31")
	h = &hand{t: t, b: b, w: w}
	b.Go(stepIndex(record.Wiring))
	h.page("Check-out")
	made, err := plan.Proved(t.Context(), b.job, nil)
	if err != nil {
		t.Fatal(err)
	}
	rows := visible[*widget.Row](body(t, b, "wiring plan"))
	for i, text := range []string{"0.1", "0.1", "0.1", "300"} {
		h.enterReading(rows[i], text)
	}
	b.job.Set(record.Entry{Key: record.DeadCheckout, Value: record.DeadAsPlanned, Time: noon, By: "T-31"})
	b.recalc()
	if s := stage(b, record.Wiring); s.State != widget.Open || !strings.Contains(s.Why, "outside") || !strings.Contains(s.Why, "dead check-out") {
		t.Errorf("wiring with 4 of %d readings, one bad: %v, %s", len(made.Checkout.Tests), s.State, s.Why)
	}
	if s := stage(b, record.Running); s.State != widget.Held {
		t.Errorf("and the running check: %v, %s", s.State, s.Why)
	}
}
