package assess

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/reports/plan"
	"retrostage/reports/record"
)

func state(t testing.TB, r *Report, s record.Step) State {
	t.Helper()
	for _, st := range r.Steps {
		if st.Step == s {
			return st
		}
	}
	t.Fatalf("no step %s", s)
	return State{}
}

// by enters as a named person.
func by(t testing.TB, j *record.Job, who string, key record.Key, value, unit string) {
	t.Helper()
	if err := j.Set(record.Entry{Key: key, Value: value, Unit: unit, By: who, Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Fatal(err)
	}
}

// covers says of the reason that stands in a step's field that it is about all that stood.
func covers(t testing.TB, j *record.Job, who string, key record.Key) {
	t.Helper()
	r := state(t, run(t, j), key.Field().Step).Reason
	if r == nil {
		t.Fatalf("%s: no reason stands", key)
	}
	if err := j.Covers(key, append(slices.Clone(r.About), r.Other...), who, time.Unix(1.79e9, 0)); err != nil {
		t.Fatal(err)
	}
}

// The demo job is what it is: one breaker left as it was, by name, no page of this program
// that the owner signed, three things in Match that it does not know or that are to be
// changed, and no signature.
func TestDemoStates(t *testing.T) {
	r := run(t, demo(t))
	for _, s := range r.Steps {
		want := Done
		switch s.Step {
		case record.Choice, record.Match, record.Electrical:
			want = DoneReserved
		case record.HandOver:
			want = Open
		}
		if s.Word != want {
			t.Errorf("%s: %s, %s; want %s", s.Step, s.Word, s.Why, want)
		}
	}
	if len(r.Against) != 1 || r.Against[0].Stand != Reservation || r.Against[0].Reserved.By != "T-07" {
		t.Errorf("against signing: %+v", r.Against)
	}
	for _, g := range r.Gates {
		if !g.Open {
			t.Errorf("%s held by %v", g.Name, g.By)
		}
	}
}

// An empty job holds charging, energising and handing over; entering is never held.
func TestEmptyJobHolds(t *testing.T) {
	r := run(t, record.New("empty"))
	for _, s := range r.Steps {
		want := NotYet
		switch s.Step {
		case record.Intake:
			want = Ready
		case record.Charge, record.Running, record.HandOver:
			want = Held
		}
		if s.Word != want || s.Word == NotYet && s.Why == "" {
			t.Errorf("%s: %s, %s; want %s", s.Step, s.Word, s.Why, want)
		}
	}
	if !r.Gate(InsulationTest).Open || r.Gate(Energising).Open {
		t.Errorf("gates: %+v", r.Gates)
	}
}

// A step is ready once there is something to act on, and not before.
func TestReadyWhereThereIsSomethingToActOn(t *testing.T) {
	j := record.New("ready")
	is := func(step record.Step, want Progress) {
		t.Helper()
		if s := state(t, run(t, j), step); s.Word != want {
			t.Errorf("%s: %s, %s; want %s", step, s.Word, s.Why, want)
		}
	}
	intake := [][3]string{{"refrigerant", "R-22"}, {"metering", record.MeterFixed}, {"nominal_capacity", "2.5", "ton"}, {"old_unit_serial", "V-1"}, {"rated_voltage", "230", "V"}, {"breaker", "30", "A"}, {"owner_ref", "R-1"}}
	for _, e := range intake {
		is(record.Cause, NotYet)
		k, err := record.ByName(e[0])
		if err != nil {
			t.Fatal(err)
		}
		set(t, j, k.Key, e[1], e[2])
	}
	is(record.Cause, Ready)
	is(record.Choice, NotYet)
	set(t, j, record.FailureKind, "open winding", "")
	is(record.Choice, Ready)
	is(record.Match, NotYet)
	set(t, j, record.Decision, "convert to single stage", "")
	is(record.Match, Ready)
	is(record.Wiring, Ready)
	is(record.Electrical, NotYet)
	is(record.CloseUp, NotYet)
	set(t, j, record.NewCompressorSerial, "K-1", "")
	set(t, j, record.NewRLA, "13.5", "A")
	is(record.Electrical, Ready)
	is(record.CloseUp, Ready)
}

// agreed is the demo job with the page that the owner signed written by this program.
func agreed(t testing.TB) *record.Job {
	j := demo(t)
	for _, e := range []entry{{record.ConsentSigned, "not yet", ""}, {record.ConsentPage, "page 1", ""}, {record.ConsentSigned, record.Yes, ""}} {
		set(t, j, e.key, e.value, e.unit)
	}
	return j
}

// Intake without phases, MCA and the rest is done only with these named, choice only with
// choice, reason and consent.
func TestDoneNamesWhatIsNotKnown(t *testing.T) {
	for _, u := range unknowns {
		j := agreed(t)
		want := Done
		if u.step == record.HandOver { // which stands on a signature, and on the demo's one reservation
			by(t, j, "T-07", record.SignedBy, "T-07", "")
			want = DoneReserved
		}
		if s := state(t, run(t, j), u.step); s.Word != want || len(s.Unknown) > 0 {
			t.Fatalf("%s: %s, %s", u.step, s.Word, s.Why)
		}
		set(t, j, u.key, "", "")
		if u.step == record.HandOver {
			by(t, j, "T-07", record.SignedBy, "T-07", "")
		}
		s := state(t, run(t, j), u.step)
		if s.Word != DoneReserved || !strings.Contains(s.Why, cmp.Or(u.label, u.key.Label())) || len(s.Unknown) != 1 {
			t.Errorf("without %s: %s is %s, %s", u.key, u.step, s.Word, s.Why)
		}
	}
	j := demo(t)
	set(t, j, record.ConsentSigned, "not yet", "")
	if s := state(t, run(t, j), record.Choice); s.Word != DoneReserved || !strings.Contains(s.Why, "signature") {
		t.Errorf("not signed yet: %s, %s", s.Word, s.Why)
	}
	j = demo(t)
	set(t, j, record.Decision, "", "")
	if s := state(t, run(t, j), record.Choice); s.Word != Open {
		t.Errorf("no decision: %s, %s", s.Word, s.Why)
	}
}

// A root cause that is not on the list has to be said in words, and is answered by readings.
func TestAnotherRootCauseNeedsWords(t *testing.T) {
	j := demo(t)
	set(t, j, record.RootKind, record.RootOther, "")
	set(t, j, record.RootCause, "", "")
	if s := state(t, run(t, j), record.Cause); s.Word != Open || !strings.Contains(s.Why, record.RootCause.Label()) {
		t.Errorf("another, without words: %s, %s", s.Word, s.Why)
	}
	set(t, j, record.RootCause, "A wasp nest in the contactor.", "")
	if s := state(t, run(t, j), record.Cause); s.Word == Open {
		t.Errorf("another, in words: %s, %s", s.Word, s.Why)
	}
	for _, r := range record.Roots {
		if _, ok := RootShown[r]; !ok {
			t.Errorf("nothing shows %q gone", r)
		}
	}
}

// The wiring step is done when a person answered what only a person can; a safety
// that stays needs no answer. Without an answer the plan is another one, and its
// check-out is not that of the record.
func TestWiringAsksForDecisions(t *testing.T) {
	j := demo(t)
	if s := state(t, run(t, j), record.Wiring); s.Word != Done {
		t.Fatalf("demo job: %s, %s", s.Word, s.Why)
	}
	set(t, j, record.PlanKey("airflow"), "", "")
	s := state(t, run(t, j), record.Wiring)
	if s.Word != Open || !strings.Contains(s.Why, "airflow") || !strings.Contains(s.Why, "check-out list of this plan") {
		t.Errorf("one answer taken back: %s, %s", s.Word, s.Why)
	}
}

// Three taps and nothing measured are no close-up.
func TestThreeTapsAreNoCloseUp(t *testing.T) {
	j := record.New("taps")
	set(t, j, record.NitrogenFlow, record.Yes, "")
	set(t, j, record.DrierFitted, record.Yes, "")
	set(t, j, record.SuctionFilter, "not needed", "")
	s := state(t, run(t, j), record.CloseUp)
	if s.Word != Open || !strings.Contains(s.Why, record.TestP1.Label()) || !strings.Contains(s.Why, record.VacuumEnd.Label()) {
		t.Errorf("%s, %s", s.Word, s.Why)
	}
}

// Four of the readings, one of them bad, are no check-out, whatever is picked.
func TestFourReadingsAreNoCheckout(t *testing.T) {
	j, n := demo(t), 0
	for _, e := range demo(t).Entries {
		if record.IsMeter(e.Key) {
			if n++; n > 4 {
				set(t, j, e.Key, "", "")
			} else if n == 4 {
				set(t, j, e.Key, "220", "ohm")
			}
		}
	}
	r := run(t, j)
	s := state(t, r, record.Wiring)
	if s.Word != Open || !strings.Contains(s.Why, "outside") || !strings.Contains(s.Why, "dead check-out") {
		t.Errorf("%s, %s", s.Word, s.Why)
	}
	if r.Gate(Energising).Open {
		t.Error("it may be energised")
	}
}

// Nothing is handed over while steps before it are open.
func TestHandOverWaits(t *testing.T) {
	j := demo(t)
	set(t, j, record.VacuumEnd, "", "")
	set(t, j, record.FailureKind, "", "")
	by(t, j, "T-07", record.SignedBy, "T-07", "")
	r := run(t, j)
	s := state(t, r, record.HandOver)
	if s.Word != Held || !strings.Contains(s.Why, "Close-up") || !strings.Contains(s.Why, "Cause") {
		t.Errorf("%s, %s", s.Word, s.Why)
	}
	if state(t, r, record.Charge).Word != Held || r.Gate(Charging).Open || r.Gate(Energising).Open {
		t.Error("the charge does not wait for the vacuum")
	}
}

// badJob is a job with something wrong at each of these steps.
func badJob(t testing.TB) (*record.Job, map[record.Step]string) {
	j := demo(t)
	fan := record.MeterKey("ohms", "BL.L", "BL.N", "no call")
	set(t, j, fan, record.OpenLine, "") // an open fan winding
	set(t, j, record.CapVoltage, "370", "V")
	set(t, j, record.LiquidTemp, "108.5", "F") // an undercharge: little subcooling
	set(t, j, record.TestP2, "225", "psig")
	set(t, j, record.LabelCharge, "130", "oz")
	set(t, j, record.ElectricalReservation, "", "")
	return j, map[record.Step]string{record.Wiring: fan.String(), record.Electrical: "breaker_fit", record.CloseUp: "pressure_hold",
		record.Charge: "label_error", record.Running: "subcooling"}
}

// A breaker outside, a wrong capacitor voltage, an undercharge and an open fan winding:
// each shows at its step, and the job is not handed over without a name at each.
func TestBadJob(t *testing.T) {
	t.Parallel()
	j, bad := badJob(t)
	by(t, j, "T-07", record.SignedBy, "T-07", "")
	r := run(t, j)
	for s, key := range bad {
		st := state(t, r, s)
		if st.Word == Done || st.Word == DoneReserved {
			t.Errorf("%s is %s", s, st.Word)
		}
		found := false
		for _, m := range r.Against {
			found = found || m.Step == s && m.Key == key && m.Stand == IsOutside
		}
		if !found {
			t.Errorf("%s: %s does not stand against signing", s, key)
		}
	}
	volts := false
	for _, m := range r.Against {
		volts = volts || m.Key == "cap_match_volts" && m.Stand == IsOutside
	}
	if !volts {
		t.Error("the capacitor's voltage does not stand against signing")
	}
	if s := state(t, r, record.HandOver); s.Word != Held {
		t.Fatalf("hand-over is %s", s.Word)
	}

	by(t, j, "T-07", record.LabelDone, record.Yes, "") // the label was written again since

	// Reservations without a name, or for all but one step, do not do.
	reasons := []record.Key{record.WiringReservation, record.ElectricalReservation, record.CloseUpReservation, record.ChargeReservation, record.RunningReservation}
	for i, k := range reasons {
		set(t, j, k, fmt.Sprintf("left as it is for today, reason number %d", i), "")
	}
	if s := state(t, run(t, j), record.HandOver); s.Word != Held {
		t.Errorf("reservations without a name: hand-over is %s", s.Word)
	}
	for i, k := range reasons {
		if s := state(t, run(t, j), record.HandOver); s.Word != Held {
			t.Errorf("%d reservations of %d: hand-over is %s", i, len(reasons), s.Word)
		}
		by(t, j, "T-09", k, fmt.Sprintf("left as it is until Monday, reason number %d", i), "")
		covers(t, j, "T-09", k)
	}
	r = run(t, j)
	if s := state(t, r, record.HandOver); s.Word != Open || !strings.Contains(s.Why, "changed since") {
		t.Errorf("the signature was made before the reservations: %s, %s", s.Word, s.Why)
	}
	by(t, j, "T-07", record.SignedBy, "T-07", "") // signs again
	if s := state(t, run(t, j), record.HandOver); s.Word != DoneReserved || len(s.Reserved) < 6 {
		t.Errorf("signed by name, with reservations: %s, %s, %d", s.Word, s.Why, len(s.Reserved))
	}

	// What changes afterwards is under no reservation and under no signature.
	by(t, j, "T-07", record.LabelCharge, "120", "oz")
	r = run(t, j)
	if s := state(t, r, record.Charge); s.Word != Open && s.Word != Held {
		t.Errorf("another wrong label: %s, %s", s.Word, s.Why)
	}
	if s := state(t, r, record.HandOver); s.Word != Held {
		t.Errorf("another wrong label: hand-over is %s", s.Word)
	}
}

// A log that comes in after the signature opens it, and so does anything else; what was
// signed again stands again.
func TestAnyChangeReopensTheSignature(t *testing.T) {
	t.Parallel()
	signed := func() *record.Job {
		j := demo(t)
		by(t, j, "T-07", record.SignedBy, "T-07", "")
		if s := state(t, run(t, j), record.HandOver); s.Word != DoneReserved {
			t.Fatalf("signed: %s, %s", s.Word, s.Why)
		}
		return j
	}
	for name, change := range map[string]func(*record.Job){
		"log":        func(j *record.Job) { j.AddLog(record.Series{Name: "afternoon.csv", Seconds: []float64{0, 1}}) },
		"entry":      func(j *record.Job) { by(t, j, "T-07", record.OwnerAdvice, "Look after it.", "") },
		"instrument": func(j *record.Job) { j.Instruments[0].Accuracy[0].Plus = 9 },
		"unit":       func(j *record.Job) { j.Unit = []byte("{}") },
	} {
		j := signed()
		change(j)
		s, ok := j.Signed()
		if !ok || s.Stands || len(s.Since) == 0 {
			t.Errorf("%s: %+v", name, s)
		}
		if name == "log" && s.Since[0] != "log afternoon.csv" {
			t.Errorf("it does not say that a log came in: %v", s.Since)
		}
		if name == "entry" {
			if st := state(t, run(t, j), record.HandOver); st.Word != Open || !strings.Contains(st.Why, record.OwnerAdvice.Label()) {
				t.Errorf("%s, %s", st.Word, st.Why)
			}
		}
		by(t, j, "T-07", record.SignedBy, "T-07", "")
		if s, _ := j.Signed(); !s.Stands {
			t.Errorf("%s: signed again and it does not stand", name)
		}
	}
}

// A close call is settled by one repeat that says the same, some time later; not by a
// correction, by the same finger at once, or by a repeat that says something else.
func TestRepeatSettles(t *testing.T) {
	t.Parallel()
	at := time.Unix(1.79e9, 0)
	job := func(first, second string, later time.Duration) *Report {
		j := demo(t)
		for i, v := range []string{first, second} {
			e := record.Entry{Key: record.LiquidTemp, Value: v, Unit: "F", Time: at.Add(time.Duration(i) * later), Instrument: "T2", By: "T-07", Again: true}
			if v == "" {
				continue
			}
			if err := j.Set(e); err != nil {
				t.Fatal(err)
			}
		}
		return run(t, j)
	}
	for _, c := range []struct {
		first, second string
		later         time.Duration
		near          bool
	}{
		{"104.5", "104.5", 5 * time.Minute, true},
		{"104.5", "104.4", 5 * time.Minute, true},
		{"104.5", "", 0, false},
		{"104.5", "104.5", 10 * time.Second, false},
		{"99.0", "104.5", 5 * time.Minute, false},
	} {
		f := find(t, job(c.first, c.second, c.later), "subcooling")
		if f.Verdict != TooClose {
			t.Fatalf("%+v: %s, %.3g ± %.2g", c, f.Verdict, f.Value, f.Expanded())
		}
		if (f.Near != "") != c.near {
			t.Errorf("%+v: near %q", c, f.Near)
		}
	}
}

// While a vacuum is in the circuit nothing is tested or switched on.
func TestVacuumBlocks(t *testing.T) {
	j := demo(t)
	set(t, j, record.WeighedIn, "", "")
	r := run(t, j)
	if r.Gate(InsulationTest).Open || r.Gate(Energising).Open {
		t.Errorf("gates: %+v", r.Gates)
	}
	set(t, j, record.Insulation, "300", "Mohm")
	found := false
	for _, p := range run(t, j).Problems {
		found = found || p.Key == record.Insulation
	}
	if !found {
		t.Error("an insulation test in a vacuum is no problem")
	}
	set(t, j, record.WeighedIn, "142", "oz")
	if s := state(t, run(t, j), record.Electrical); s.Word == Done || s.Word == DoneReserved {
		t.Errorf("the charge makes it good: %s", s.Word)
	}
}

// A new compressor that does not fit keeps the unit off.
func TestMisfitKeepsItOff(t *testing.T) {
	j := demo(t)
	set(t, j, record.ContactorFLA, "15", "A")
	if r := run(t, j); r.Gate(Energising).Open || state(t, r, record.Running).Word != Held {
		t.Error("a contactor too small, and it may be energised")
	}
}

// Cause is not plainly done on somebody's word: what was examined must tell that the
// compressor has failed.
func TestCauseUntold(t *testing.T) {
	word := func(j *record.Job) (string, string) {
		for _, s := range run(t, j).Steps {
			if s.Step == record.Cause {
				return string(s.Word), s.Why
			}
		}
		return "", ""
	}
	if w, why := word(demo(t)); w != string(Done) {
		t.Errorf("the demo's grounded winding: %s, %s", w, why)
	}
	j := demo(t)
	for _, k := range []record.Key{record.OldInsulation, record.OilState, record.AcidTest, record.OldRCS, record.OldRCR, record.OldRSR} {
		set(t, j, k, "", "")
	}
	set(t, j, record.OldRCS, "open", "")
	set(t, j, record.OldRSR, "open", "")
	set(t, j, record.OldRCR, "0.9", "ohm")
	set(t, j, record.WindingsReadAt, "the leads", "")
	set(t, j, record.FailureKind, "open winding", "")
	set(t, j, record.OilState, "clear", "")
	if w, why := word(j); w == string(Done) || w == string(DoneReserved) && !strings.Contains(why, "do not tell") {
		t.Errorf("windings read at the leads alone: %s, %s", w, why)
	}
}

// A plan whose proof fails, or that nothing was made of, leaves the step not done, however
// well its check-out reads.
func TestAFailingProofIsNotDone(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	u, err := plan.Drawn(j)
	if err != nil {
		t.Fatal(err)
	}
	lp := u.Device("LP")
	for i := range u.Conductors { // the low-pressure switch bridged
		if c := &u.Conductors[i]; c.From == "LP.1" || c.To == "LP.1" {
			add := *c
			add.ID, add.From, add.To = "bridge", "LP.1", "LP.2"
			u.Conductors = append(u.Conductors, add)
			break
		}
	}
	if lp == nil || u.Conductor("bridge") == nil {
		t.Fatal("no low-pressure switch to bridge")
	}
	j.Unit = u.JSON()
	mark, err := plan.DrawingMark(j)
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Set(record.Entry{Key: record.UnitCompared, Value: mark, Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Fatal(err)
	}
	p, err := plan.Checked(t.Context(), j)
	if err != nil {
		t.Fatal(err)
	}
	if p.Proved() {
		t.Fatal("the bridge was proved: this test sees nothing")
	}
	r, err := Run(j)
	if err != nil {
		t.Fatal(err)
	}
	said := false
	for _, m := range r.Against {
		said = said || m.Step == record.Wiring && m.Label == "wiring plan"
	}
	for _, s := range r.Steps {
		if s.Step == record.Wiring && (s.Word == Done || s.Word == DoneReserved) {
			t.Errorf("wiring is %s over a plan that is not proved: %s", s.Word, p.Why)
		}
	}
	if !said {
		t.Error("nothing stands against signing")
	}
}
