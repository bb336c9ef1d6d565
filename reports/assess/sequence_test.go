package assess

import (
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// stampAt moves the newest entries of keys to an hour and minute of the day of the demo job,
// as a person does who alters the file.
func stampAt(t testing.TB, j *record.Job, clock string, keys ...record.Key) {
	t.Helper()
	for _, k := range keys {
		n, ok := j.Index(k)
		if !ok {
			t.Fatalf("%s is not entered", k)
		}
		at, err := time.Parse("2006-01-02T15:04:05Z07:00", "2026-08-14T"+clock+"-06:00")
		if err != nil {
			t.Fatal(err)
		}
		j.Entries[n].Time = at
	}
}

// enteredAt adds an entry at an hour of that day.
func enteredAt(t testing.TB, j *record.Job, clock string, k record.Key, value, unit string) {
	t.Helper()
	at, err := time.Parse("2006-01-02T15:04:05Z07:00", "2026-08-14T"+clock+"-06:00")
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Set(record.Entry{Key: k, Value: value, Unit: unit, Time: at, By: "T-07", Again: true}); err != nil {
		t.Fatal(err)
	}
}

// TestWorkOutOfOrder: what the record says was done the other way round, or was timed
// otherwise than its clock says, is asked about where it stands, and its step is not done.
func TestWorkOutOfOrder(t *testing.T) {
	t.Parallel()
	for _, a := range []struct {
		name  string
		asked record.Key
		does  func(j *record.Job)
	}{
		{"hold dated after the charge", record.VacuumEnd, func(j *record.Job) {
			stampAt(t, j, "13:00:00", record.TestP1, record.TestT1)
			stampAt(t, j, "14:01:00", record.TestP2, record.TestT2)
		}},
		{"vacuum before the hold", record.VacuumEnd, func(j *record.Job) {
			stampAt(t, j, "09:50:00", record.VacuumFinal)
			stampAt(t, j, "10:11:00", record.VacuumEnd)
		}},
		{"brazed again after the charge", record.TestP2, func(j *record.Job) {
			enteredAt(t, j, "13:50:00", record.NitrogenFlow, record.Yes, "")
		}},
		{"brazed after the hold", record.TestP2, func(j *record.Job) { stampAt(t, j, "11:30:00", record.NitrogenFlow, record.DrierFitted) }},
		{"vacuum broken before it was pulled", record.VacuumBroken, func(j *record.Job) { stampAt(t, j, "11:00:00", record.VacuumBroken) }},
		{"started in a vacuum", record.FirstSeconds, func(j *record.Job) { stampAt(t, j, "12:30:00", record.FirstSeconds) }},
		{"label before anything was weighed", record.LabelCharge, func(j *record.Job) { stampAt(t, j, "12:10:00", record.LabelCharge) }},
		{"label before the trim", record.LabelCharge, func(j *record.Job) { stampAt(t, j, "12:58:00", record.LabelCharge) }},
		{"label on the unit before it was written", record.LabelDone, func(j *record.Job) { stampAt(t, j, "12:10:00", record.LabelDone) }},
		{"searched running before it ever ran", record.LeakSearch, func(j *record.Job) { stampAt(t, j, "12:54:10", record.LeakSearch) }},
		{"coil washed after the trim", record.TrimSteps, func(j *record.Job) { stampAt(t, j, "14:00:00", record.CoilWashed) }},
		{"scale read backwards in time", record.CylinderStop, func(j *record.Job) {
			enteredAt(t, j, "12:52:30", record.CylinderStart, "400", "oz")
			enteredAt(t, j, "12:51:00", record.CylinderStop, "258", "oz")
		}},
		{"clock of the hold ran three minutes", record.TestTime, func(j *record.Job) {
			enteredAt(t, j, "11:12:00", record.HoldStarted, "2026-08-14T11:12:00-06:00", "")
		}},
		{"clock of the vacuum ran one minute", record.VacuumTime, func(j *record.Job) {
			enteredAt(t, j, "12:26:00", record.DecayStarted, "2026-08-14T12:26:00-06:00", "")
		}},
		{"clock of the settling ran fifty seconds", record.TrimSteps, func(j *record.Job) {
			enteredAt(t, j, "13:35:30", record.SettleStarted, "2026-08-14T13:35:30-06:00", "")
		}},
		{"clock started after the end", record.TestTime, func(j *record.Job) {
			enteredAt(t, j, "10:13:00", record.HoldStarted, "2026-08-14T23:00:00-06:00", "")
		}},
		{"clock of the vacuum older than the hold", record.VacuumTime, func(j *record.Job) {
			enteredAt(t, j, "12:06:00", record.DecayStarted, "2026-08-14T08:00:00-06:00", "")
		}},
		{"cylinder lighter than empty", record.ChargeTare, func(j *record.Job) {
			enteredAt(t, j, "12:50:00", record.ChargeTare, "20", "lb")
			enteredAt(t, j, "12:51:00", record.CylinderStart, "342", "oz")
			enteredAt(t, j, "12:52:00", record.CylinderStop, "200", "oz")
		}},
		{"steps of the trim end elsewhere", record.TrimSteps, func(j *record.Job) {
			enteredAt(t, j, "13:36:21", record.TrimSteps, "0.0 8.3\n3.0 10.4\n-8.0 10.2", "")
		}},
		{"trimmed by subcooling on a fixed bore", record.TrimSteps, func(j *record.Job) {
			enteredAt(t, j, "09:00:00", record.Metering, record.MeterFixed, "")
			enteredAt(t, j, "13:40:00", record.SuctionTemp, "66", "F") // its superheat is another number
		}},
		{"the recovery cylinder by another spelling", record.ChargeCylinder, func(j *record.Job) {
			enteredAt(t, j, "12:00:00", record.ChargeCylinder, "demo rc 3", "")
			enteredAt(t, j, "12:00:00", record.RecoveryTo, record.ToReclaim, "")
		}},
		{"charged from the recovery cylinder, in words", record.ChargeCylinder, func(j *record.Job) {
			enteredAt(t, j, "12:00:00", record.ChargeSource, "DEMO-RC-3 recovery cylinder", "")
			enteredAt(t, j, "12:00:00", record.RecoveryTo, record.ToReclaim, "")
		}},
		{"no heater, and the wiring keeps one", record.HeaterHours, func(j *record.Job) {
			enteredAt(t, j, "12:54:00", record.PlanKey("crankcase-heater"), "keep", "")
			enteredAt(t, j, "12:54:00", record.HeaterHours, "no heater", "")
		}},
		{"oil far beyond what was drained", record.OilAdded, func(j *record.Job) {
			enteredAt(t, j, "10:00:00", record.OilDrained, "5", "floz")
			enteredAt(t, j, "10:00:00", record.OilAdded, "250", "floz")
		}},
	} {
		j := demo(t)
		before := run(t, j)
		if slices.ContainsFunc(before.Problems, func(p Problem) bool { return p.Key == a.asked }) {
			t.Fatalf("%s: asked about as it stands", a.asked)
		}
		a.does(j)
		r := run(t, j)
		if !slices.ContainsFunc(r.Problems, func(p Problem) bool { return p.Key == a.asked }) {
			t.Errorf("%s: %s is not asked about: %v", a.name, a.asked, r.Problems)
		}
		if s := state(t, r, a.asked.Field().Step); s.Word == Done || s.Word == DoneReserved {
			t.Errorf("%s: %s is %s", a.name, s.Step, s.Word)
		}
	}
}

// TestOrderCanBeAnswered: a hold typed from paper after the vacuum is asked about, and no
// more once it is said that it was entered later.
func TestOrderCanBeAnswered(t *testing.T) {
	t.Parallel()
	j := demo(t)
	enteredAt(t, j, "13:50:00", record.NitrogenFlow, record.Yes, "")
	asked := func(k record.Key) bool {
		return slices.ContainsFunc(run(t, j).Problems, func(p Problem) bool { return p.Key == k })
	}
	if !asked(record.TestP2) {
		t.Fatal("brazed after the charge, and nobody asks")
	}
	enteredAt(t, j, "13:51:00", record.BrazingNoted, record.NotedLater, "")
	if asked(record.TestP2) {
		t.Error("asked about though said to be entered later")
	}
}

// TestNothingCameOutAndNoLeak: a unit that had lost nearly all is not explained by a search
// that found nothing.
func TestNothingCameOutAndNoLeak(t *testing.T) {
	t.Parallel()
	j := demo(t)
	for _, k := range []record.Key{record.Recovered, record.CauseRecovered} {
		set(t, j, k, "5", "oz")
	}
	r := run(t, j)
	if f := find(t, r, "recovered_part"); f.Verdict != Outside {
		t.Errorf("nothing came out: %s, %s", f.Verdict, f.Reason)
	}
	set(t, j, record.LeakSearch, record.LeakMended, "")
	if f := find(t, run(t, j), "recovered_part"); f.Verdict == Outside || !strings.Contains(f.Reason, "leak") {
		t.Errorf("found and mended: %s, %s", f.Verdict, f.Reason)
	}
}

// TestHoldWithoutTheOutdoorUnit: with the service valves shut and no test of the outdoor unit
// the new joints were in no hold.
func TestHoldWithoutTheOutdoorUnit(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.TestValves, record.ValvesShut, "")
	r := run(t, j)
	if f := find(t, r, "pressure_hold"); f.Verdict == Within {
		t.Error("within, though the joints at the compressor were not in it")
	}
	if s := state(t, r, record.CloseUp); s.Word == Done || s.Word == DoneReserved {
		t.Errorf("Close-up is %s", s.Word)
	}
}
