package assess

import (
	"os"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// notPlain passes where the step is not simply done: open, held, or done with what is
// said against it named.
func notPlain(s record.Step) func(*testing.T, *record.Job, *Report) (string, bool) {
	return func(t *testing.T, _ *record.Job, r *Report) (string, bool) {
		st := state(t, r, s)
		return strings.Join(strings.Fields(string(s)+" "+string(st.Word)+": "+st.Why), " "), st.Word != Done
	}
}

// saying passes where the step is not simply done and names what is lacking.
func saying(s record.Step, what string) func(*testing.T, *record.Job, *Report) (string, bool) {
	return func(t *testing.T, j *record.Job, r *Report) (string, bool) {
		w, ok := notPlain(s)(t, j, r)
		return w, ok && strings.Contains(w, what)
	}
}

// signedWith enters and signs afterwards.
func signedWith(es ...entry) func(*testing.T, *record.Job) {
	return func(t *testing.T, j *record.Job) {
		sets(es...)(t, j)
		by(t, j, "T-07", record.SignedBy, "T-07", "")
	}
}

// backAttempts are the last attempts at a green word of Close-up, Charge and Hand-over.
var backAttempts = []stateAttempt{
	{"equipment ground: no", sets(entry{record.GroundBack, record.No, ""}), notDone(record.CloseUp)},
	{"brackets and grommets: no", sets(entry{record.PartsBack, record.No, ""}), notDone(record.CloseUp)},
	{"brazed without nitrogen", sets(entry{record.NitrogenFlow, "no", ""}), notDone(record.CloseUp)},
	{"no drier after a burn-out", sets(entry{record.DrierFitted, "no", ""}, entry{record.DrierVolume, "", ""}), notDone(record.CloseUp)},
	{"a filter asked for by burnt oil, not fitted", sets(entry{record.SuctionFilter, "no", ""}), notDone(record.CloseUp)},
	{"drier's direction not looked at", sets(entry{record.DrierDirection, "not looked at", ""}), notDone(record.CloseUp)},
	{"coil washed, still wet, and trimmed", sets(entry{record.CoilWashed, "washed, still wet", ""}), notDone(record.Charge)},
	{"burnt refrigerant back into this unit", sets(entry{record.RecoveryTo, "back into this unit", ""}), notDone(record.CloseUp)},
	{"recovery cylinder past its retest", sets(entry{record.RecoveryRetest, "2019-05", ""}), notDone(record.CloseUp)},
	{"hold of a day by a gauge of 0.001 psi", func(t *testing.T, j *record.Job) {
		j.Instruments = append(j.Instruments, record.Instrument{ID: "G9", Name: "gauge", Accuracy: []record.Accuracy{{Dim: "pressure", Plus: 0.001, Unit: "psig"}}})
		for _, k := range []record.Key{record.TestP1, record.TestP2} {
			was, _ := j.Entry(k)
			was.Instrument, was.Value = "G9", "240"
			if err := j.Set(was); err != nil {
				t.Fatal(err)
			}
		}
	}, notWithin("pressure_hold")},
	{"vacuum gauge that repeats to 0.1 %, on readings that scatter", sets(entry{record.GaugeRepeats, "0.1", "%"}, entry{record.VacuumRise, levelling(20, 120, 0.02), ""}, entry{record.VacuumEnd, "", ""}), notWithin("vacuum_word")},
	{"vacuum gauge that repeats to 20 %, on a leak of 10 micron a minute", sets(entry{record.GaugeRepeats, "20", "%"}, entry{record.VacuumRise, rising(300, 10, 0), ""}, entry{record.VacuumEnd, "500", "micron"}), notWithin("vacuum_word")},
	{"vacuum gauge that repeats to 0.1 %, on a leak of 4 micron a minute", sets(entry{record.GaugeRepeats, "0.1", "%"}, entry{record.VacuumRise, rising(300, 6, 0), ""}, entry{record.VacuumEnd, "420", "micron"}), notWithin("vacuum_word")},
	{"deep vacuum never read, only its rise", sets(entry{record.VacuumFinal, "", ""}), notPlain(record.CloseUp)},
	{"vacuum begun at 5,000 micron", sets(entry{record.VacuumFinal, "5000", "micron"}), notDone(record.CloseUp)},
	{"pumped for a minute, and pull-down readings of 45", sets(entry{record.PumpedFor, "1", "min"}), notDone(record.CloseUp)},
	{"rise begun at 20,000 micron", sets(entry{record.VacuumRise, rising(20000, 0.5, 0), ""}, entry{record.VacuumEnd, "20010", "micron"}, entry{record.VacuumFinal, "20000", "micron"}), notDone(record.CloseUp)},
	{"recovered nothing, and more weighed in than plate and lines hold", sets(entry{record.Recovered, "0", "oz"}, entry{record.WeighedIn, "300", "oz"}, entry{record.LabelCharge, "303", "oz"}), notDone(record.Charge)},
	{"another refrigerant in the cylinder", sets(entry{record.ChargedWith, "R-22", ""}), notDone(record.Charge)},
	{"vacuum broken: no", sets(entry{record.VacuumBroken, record.No, ""}), notDone(record.Charge)},
	{"crankcase heater not on for its hours", sets(entry{record.HeaterHours, record.No, ""}), notDone(record.Charge)},
	{"leak search not done", sets(entry{record.LeakSearch, record.LeakNotDone, ""}), notDone(record.CloseUp)},
	{"label and scale agree on twice the charge by a trim", sets(entry{record.Trimmed, "140", "oz"}, entry{record.LabelCharge, "282", "oz"}), notDone(record.Charge)},
	{"trimmed by steps that are not those entered as trimmed", sets(entry{record.Trimmed, "9", "oz"}, entry{record.LabelCharge, "151", "oz"}), notPlain(record.Charge)},
	{"scale of 10 oz, charge just at the limit", func(t *testing.T, j *record.Job) {
		j.Instruments = append(j.Instruments, record.Instrument{ID: "S9", Name: "scale", Accuracy: []record.Accuracy{{Dim: "mass", Plus: 10, Unit: "oz"}}})
		was, _ := j.Entry(record.WeighedIn)
		was.Instrument = "S9"
		if err := j.Set(was); err != nil {
			t.Fatal(err)
		}
	}, notWithin("charge_balance")},
	{"line set of no length, none covered", sets(entry{record.LineLength, "0", "ft"}, entry{record.LineIncluded, "0", "ft"}), notWithin("charge_balance")},
	{"what was done: x", try(record.WorkDone, "x"), refused(record.WorkDone)},
	{"what was done: one word, three times", try(record.WorkDone, "done done done"), refused(record.WorkDone)},
	{"new label on the unit: no", signedWith(entry{record.LabelDone, "no", ""}), saying(record.HandOver, "new label on the unit")},
	{"new label on the unit: not entered", signedWith(entry{record.LabelDone, "", ""}), saying(record.HandOver, "new label on the unit")},
	{"signed by another than who was here, with a date of next year", signedWith(entry{record.SignedDate, "2027-08-14", ""}), notDone(record.HandOver)},
	{"a visit due before this one", signedWith(entry{record.FollowUpDue, "2026-08-01", ""}), notDone(record.HandOver)},
	{"no serial number of the unit", signedWith(entry{record.OldUnitSerial, "", ""}), notDone(record.HandOver)},
	{"the new compressor has the old one's serial number", signedWith(entry{record.NewCompressorSerial, "DEMO-C-0001", ""}), notDone(record.HandOver)},
	{"temporary filter said away without a visit", signedWith(entry{record.SuctionFilter, "not needed", ""}, entry{record.FollowUp, "", ""}, entry{record.FollowUpDue, "", ""}), notDone(record.HandOver)},
	{"refrigerant added after the set, none weighed", func(t *testing.T, j *record.Job) {
		set(t, j, record.SetDone, record.SetChargeIn, "")
		by(t, j, "T-07", record.SignedBy, "T-07", "")
	}, notDone(record.HandOver)},
	{"refrigerant added after the set, everything read anew, no amount", func(t *testing.T, j *record.Job) {
		set(t, j, record.SetDone, record.SetChargeIn, "")
		rereadAll(t, j)
		set(t, j, record.HandedSet, "2", "n")
	}, func(t *testing.T, _ *record.Job, r *Report) (string, bool) {
		w := howMuch(state(t, r, record.Running))
		return "running: " + w, w != ""
	}},
	{"label of a charge that was never trimmed to", sets(entry{record.Trimmed, "", ""}), notDone(record.Charge)},
}

func TestBackEarnsNothingFalsely(t *testing.T) {
	t.Parallel()
	list, err := os.ReadFile("../../testdata/attempts/closeup.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range backAttempts {
		j := demo(t)
		a.do(t, j)
		r := run(t, j)
		says, ok := a.says(t, j, r)
		if !ok {
			t.Errorf("%s: %s", a.name, says)
		}
		if !strings.Contains(string(list), a.name) {
			t.Errorf("%q is not in the list of attempts", a.name)
		}
		t.Logf("| %s | %s |", a.name, says)
	}
}

// rereadAll enters every reading of the running unit once more, as it was.
func rereadAll(t *testing.T, j *record.Job) {
	t.Helper()
	for _, f := range record.Fields {
		if e, ok := j.Entry(f.Key); ok && inSet[f.Key] {
			if err := j.Set(record.Entry{Key: f.Key, Value: e.Value, Unit: e.Unit, Instrument: e.Instrument, Again: true, By: "T-07", Time: e.Time.Add(3 * time.Hour)}); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// The same, with the amount, is done: the attempt fails for what it lacks alone.
func TestAmountOfWhatWasAdded(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.SetDetail, "2 oz of liquid, unit running", "")
	set(t, j, record.SetDone, record.SetChargeIn, "")
	rereadAll(t, j)
	set(t, j, record.HandedSet, "2", "n")
	if w := howMuch(state(t, run(t, j), record.Running)); w != "" {
		t.Error(w)
	}
}

// howMuch is what a step asks of an amount of refrigerant.
func howMuch(s State) string {
	for _, m := range s.Left {
		if m.Key == record.Trimmed.String() {
			return m.Why
		}
	}
	return ""
}
