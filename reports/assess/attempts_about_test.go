package assess

import (
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// Attempts to have a reason cover what it is not about, or to have a word by what stands
// beside the readings. Each was made against the program as it is; testdata/attempts/states.md
// lists them.
func TestAttemptsAtReasons(t *testing.T) {
	t.Parallel()
	at := time.Unix(1.79e9, 0)
	const reason = "The line is buried, the owner was told and takes it so."
	key, parts := record.CloseUpReservation, record.PartsBack.Label()
	two := func() *record.Job {
		j := demo(t)
		set(t, j, record.RecoveryLevel, "20", "psig")
		set(t, j, record.PartsBack, record.No, "")
		return j
	}
	cover := func(j *record.Job, k record.Key, who string, labels ...string) {
		t.Helper()
		if err := j.Covers(k, labels, who, at); err != nil {
			t.Fatal(err)
		}
	}
	stands := func(what string, j *record.Job, s record.Step, label string) {
		t.Helper()
		st := state(t, run(t, j), s)
		if st.Word == Done || st.Word == DoneReserved || !slices.ContainsFunc(st.Left, func(m Matter) bool { return m.Label == label }) {
			t.Errorf("%s: %s is %s: %s", what, s, st.Word, st.Why)
		}
	}

	j := two()
	cover(j, key, "T-07", parts, "Evacuation level reached, above the air outside")
	by(t, j, "T-07", key, reason, "")
	stands("named before there was a reason", j, record.CloseUp, parts)

	j = two()
	by(t, j, "T-07", key, reason, "")
	covers(t, j, "T-07", key)
	set(t, j, record.RecoveryLevel, "40", "psig")
	stands("named, and worse since", j, record.CloseUp, "Evacuation level reached, above the air outside")

	j = two()
	by(t, j, "T-07", key, reason, "")
	covers(t, j, "T-07", key)
	by(t, j, "T-31", key, reason+".", "")
	stands("taken over by another with a full stop", j, record.CloseUp, parts)

	j = two()
	by(t, j, "T-07", key, reason, "")
	cover(j, key, "T-07", strings.ToUpper(parts), parts+" ", "*", "all")
	stands("named by something like its name", j, record.CloseUp, parts)

	j = demo(t) // two things of one name: what the drawing contradicts, and that nobody compared it
	set(t, j, record.WiringReservation, "", "")
	poles := "3"
	set(t, j, record.OldPoles, poles, "")
	set(t, j, record.UnitCompared, "", "")
	by(t, j, "T-07", record.WiringReservation, "The drawing is compared tomorrow by daylight.", "")
	r := state(t, run(t, j), record.Wiring).Reason
	var nobody, wrong string
	for _, l := range r.Other {
		if strings.Contains(l, "nobody says") {
			nobody = l
		}
		if strings.Contains(l, "one of them is wrong") {
			wrong = l
		}
	}
	if nobody == "" || wrong == "" {
		t.Fatalf("two of one name are not told apart: %q", r.Other)
	}
	cover(j, record.WiringReservation, "T-07", nobody)
	stands("one of two that are called alike", j, record.Wiring, "drawing of the old unit")
	if r = state(t, run(t, j), record.Wiring).Reason; len(r.About) != 1 || !slices.Contains(r.Other, wrong) {
		t.Errorf("it covers %q, and not %q", r.About, r.Other)
	}
	cover(j, record.WiringReservation, "T-07", "drawing of the old unit")
	stands("both by what they are called", j, record.Wiring, "drawing of the old unit")

	j = demo(t)
	by(t, j, "T-07", record.SignedBy, "T-07", "")
	cover(j, record.ElectricalReservation, "T-07", "Breaker or fuse, against MCA and MOCP")
	if s := state(t, run(t, j), record.HandOver); s.Word != Open || !strings.Contains(s.Why, "changed since") {
		t.Errorf("named after the signature: %s, %s", s.Word, s.Why)
	}

	j = demo(t) // the demo's own reason, about nothing any more
	cover(j, record.ElectricalReservation, "T-07")
	stands("said to be about nothing", j, record.Electrical, "Breaker or fuse, against MCA and MOCP")

	// The capacitor found, typed again after its successor's reading, is what stands.
	j = demo(t)
	for _, k := range append(record.RootFields(), record.RootCause, record.CapVolts, record.CapCurrent) {
		set(t, j, k, "", "")
	}
	set(t, j, record.OldCapFound, "", "")
	set(t, j, record.OldCapFound, "12", "uF")
	if f := find(t, run(t, j), "old_cap"); f.Verdict != Outside {
		t.Errorf("the new one read before the old one was found weak: %s, %s", f.Verdict, f.Reason)
	}

	// Steps of a display that cannot be.
	for _, step := range []float64{-1, 1e12} {
		i := record.Instrument{ID: "X", Name: "X", Accuracy: []record.Accuracy{{Dim: "pressure", Plus: 1, Unit: "psig", Step: step}}}
		j := record.New("x")
		j.Instruments = append(j.Instruments, i)
		raw, err := j.Encode()
		if err == nil {
			_, err = record.Decode(raw)
		}
		if err == nil {
			t.Errorf("steps of %g are taken", step)
		}
	}
}
