package app

import (
	"strings"
	"testing"

	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// badJob has a breaker outside, a capacitor of too low a voltage, an open winding of the
// outdoor fan and an undercharge.
var badJob = variant{breaker: "40", voltsNeeded: "440", capVolts: "370", weighed: "70", suctionTemp: "66",
	reads: map[string]string{"CL.L2-FC.1": record.OpenLine}}

// reserve enters a step's reservation as a person does, its fold opened first.
func (h *hand) reserve(step record.Step, text string) {
	h.t.Helper()
	key, _ := step.Reservation()
	h.touches++
	h.b.Go(stepIndex(step))
	if !find(h.t, h.b, key).Visible() {
		for _, k := range visible[*widget.Tap](h.b.pane().Side) {
			if strings.Contains(k.Text, " more: ") && !find(h.t, h.b, key).Visible() {
				h.touch(k)
			}
		}
	}
	h.into(find(h.t, h.b, key), text)
	for range 40 { // one touch for each thing that it is about
		r := reasonAt(h.b, step)
		if r == nil || len(r.Other) == 0 {
			return
		}
		k := tap(h.b.pane().Side, r.Other[0])
		if k == nil {
			h.t.Fatalf("%s: no key says that the reason is about %q", step, r.Other[0])
		}
		h.touch(k)
	}
	h.t.Fatalf("%s: its reason never covers all: %+v", step, reasonAt(h.b, step))
}

// reasonAt is the reason that stands in a step, nil for none.
func reasonAt(b *Bench, step record.Step) *assess.Reason {
	for _, s := range b.report.Steps {
		if s.Step == step {
			return s.Reason
		}
	}
	return nil
}

// The bad job, gone through at the window: every step shows what is bad in it, the first
// thing that Hand-over says is what stands against signing, a signature alone hands
// nothing over, and only a reservation at each step by a named person does, which the
// sheet names.
func TestBadJobAtTheWindow(t *testing.T) {
	if testing.Short() {
		t.Skip("short: a whole job is long")
	}
	h, _ := wholeJob(t, badJob)
	b := h.b
	if h.read != 1 {
		t.Fatalf("%d readings of the fan's winding were taken", h.read)
	}
	h.next()
	h.enter(record.WorkDone, "Single-stage compressor, capacitor and drier fitted; second stage taken out.")
	h.enter(record.SignedBy, "T-31")

	word := func(s record.Step) (assess.Progress, string) {
		r, err := assess.Run(b.job)
		if err != nil {
			t.Fatal(err)
		}
		for _, st := range r.Steps {
			if st.Step == s {
				return st.Word, st.Why
			}
		}
		t.Fatalf("no step %s", s)
		return "", ""
	}
	bad := map[record.Step][]string{
		record.Wiring:     {"CL.L2"},
		record.Electrical: {"Breaker", "volts marked"},
		record.Charge:     {"Charge weighed, of the plate's"},
		record.Running:    {"Superheat"},
	}
	for s, says := range bad {
		w, why := word(s)
		if w == assess.Done || w == assess.DoneReserved || w == assess.Ready {
			t.Errorf("%s is %s", s, w)
		}
		h.b.Go(stepIndex(s))
		shown := shownWords(b.pane().Side) + shownWords(b.pane().Middle) + why
		for _, x := range says {
			if !strings.Contains(strings.ToLower(shown), strings.ToLower(x)) && s != record.Wiring {
				t.Errorf("%s does not show %q: %s", s, x, why)
			}
		}
	}
	if w, why := word(record.HandOver); w != assess.Held {
		t.Fatalf("signed with all of that, hand-over is %s: %s", w, why)
	}
	b.Go(stepIndex(record.HandOver))
	if w := find(t, b, record.SignedBy).Note; !strings.Contains(w, "hands nothing over") {
		t.Errorf("signed while held, the signature says %q", w)
	}
	against := shownWords(b.pane().Middle) + shownWords(b.pane().Side)
	for _, x := range []string{"Breaker or fuse", "volts marked", "Superheat"} {
		if !strings.Contains(against, x) {
			t.Errorf("Hand-over does not say that %q stands against signing", x)
		}
	}

	// Reservations that nobody answers for, or that miss one step, do not do.
	steps := []record.Step{record.Wiring, record.Electrical, record.Charge, record.Running}
	b.SetPerson("")
	for _, s := range steps {
		h.reserve(s, "left as it is until the part comes")
	}
	if w, why := word(record.HandOver); w != assess.Held {
		t.Errorf("reservations by nobody: hand-over is %s: %s", w, why)
	}
	b.SetPerson("T-31")
	for i, s := range steps {
		if w, _ := word(record.HandOver); w != assess.Held {
			t.Errorf("%d of %d reservations: hand-over is %s", i, len(steps), w)
		}
		h.reserve(s, "left as it is until the part comes, owner told, unit left off")
		key, _ := s.Reservation()
		b.Go(stepIndex(s)) // its last entry may have led on
		if r := reasonAt(b, s); r == nil || !strings.HasPrefix(find(t, b, key).Note, "covers: "+r.About[0]) {
			t.Errorf("%s: beside the reason stands %q", s, find(t, b, key).Note)
		}
	}
	b.Go(stepIndex(record.HandOver))
	if w, why := word(record.HandOver); w != assess.Open || !strings.Contains(why, "changed since") {
		t.Errorf("signed before the reservations: hand-over is %s: %s", w, why)
	}
	again := tap(b.pane().Side, "sign again: T-31") // typing the same name once more is no entry
	if again == nil {
		t.Fatalf("nothing to sign again with: %s", find(t, b, record.SignedBy).Wrong())
	}
	h.touch(again)
	w, why := word(record.HandOver)
	if w != assess.DoneReserved {
		t.Fatalf("hand-over is %s: %s", w, why)
	}
	r, err := assess.Run(b.job)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range r.Against {
		if m.Stand != assess.Reservation || m.Reserved == nil || m.Reserved.By != "T-31" {
			t.Errorf("%s stands as %s, by %+v", m.Label, m.Stand, m.Reserved)
		}
	}
	for _, s := range steps {
		if w, _ := word(s); w != assess.DoneReserved {
			t.Errorf("%s is %s", s, w)
		}
	}
	// Anything that is entered afterwards opens both again.
	b.Go(stepIndex(record.Intake))
	h.enter(record.Breaker, "50")
	if w, why := word(record.HandOver); w != assess.Held {
		t.Errorf("another breaker, as bad: hand-over is %s: %s", w, why)
	}
}
