package app

import (
	"strings"
	"testing"

	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// The hand-over opens with what stands against signing, the gravest first, and each
// leads to where it is put right.
func TestHandOverOpensWithWhatStandsAgainstSigning(t *testing.T) {
	b, _ := bench(t, filled(t))
	if err := b.Enter(record.SuctionTemp, "41", "F", ""); err != nil {
		t.Fatal(err)
	}
	b.Go(stepIndex(record.HandOver))
	if len(b.report.Against) == 0 {
		t.Fatal("a suction line colder than its saturation stands against nothing")
	}
	first := b.pane().Sections[0]
	for i, s := range b.pane().Sections {
		if s.Name == "against" {
			first = b.pane().Sections[i]
			break
		}
		if s.Name != "header" {
			t.Errorf("%s comes before what stands against signing", s.Name)
		}
	}
	if first.Name != "against" {
		t.Fatal("the hand-over does not say what stands against signing")
	}
	order := map[assess.Stand]int{assess.IsOutside: 0, assess.IsClose: 1, assess.IsMissing: 2, assess.Reservation: 3}
	for i := 1; i < len(b.report.Against); i++ {
		if order[b.report.Against[i].Stand] < order[b.report.Against[i-1].Stand] {
			t.Errorf("%s stands after %s", b.report.Against[i].Stand, b.report.Against[i-1].Stand)
		}
	}
	m := b.report.Against[0]
	b.LeadAway(m.Step, m.Key)
	if b.step().Step != m.Step {
		t.Errorf("%s leads to %s, not %s", m.Label, b.step().Step, m.Step)
	}
	if strings.TrimSpace(m.Label) == "" {
		t.Error("a matter without a name")
	}
}

// What holds the running check is a key each, that leads to where it is put right.
func TestKeysLeadToWhatHoldsAStep(t *testing.T) {
	b, w := bench(t, demoJob(t))
	for _, k := range []record.Key{record.SafeStart, record.VacuumEnd, record.PartsBack} {
		v := ""
		if k == record.PartsBack {
			v = record.No
		}
		if err := b.Enter(k, v, "", ""); err != nil {
			t.Fatal(err)
		}
	}
	for _, size := range sizes {
		w.Resize(size)
		b.Go(stepIndex(record.Running))
		for key, label := range map[record.Key]string{record.VacuumEnd: "Close-up: " + record.VacuumEnd.Label(), record.SafeStart: "Electrical: " + record.SafeStart.Label()} {
			k := tap(b.pane().Side, label)
			if k == nil {
				t.Fatalf("%v: no key %q: %s", size, label, shownWords(b.pane().Side))
			}
			k.Tapped(nil)
			if b.step().Step != key.Field().Step || !find(t, b, key).Lit() {
				t.Errorf("%v: %q leads to %s", size, label, b.step().Step)
			}
			b.Go(stepIndex(record.Running))
		}
	}
}
