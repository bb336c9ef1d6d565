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
		{"a whole vacuum after the charge", record.WeighedIn, func(j *record.Job) {
			enteredAt(t, j, "15:31:00", record.VacuumFinal, "290", "micron")
			enteredAt(t, j, "15:51:00", record.VacuumEnd, "343", "micron")
		}},
		{"recovered after the charge", record.WeighedIn, func(j *record.Job) { stampAt(t, j, "13:10:00", record.Recovered) }},
		{"recovery level read after the charge", record.WeighedIn, func(j *record.Job) { stampAt(t, j, "13:00:00", record.RecoveryLevel) }},
		{"trimmed before it was weighed in", record.Trimmed, func(j *record.Job) { stampAt(t, j, "12:00:00", record.Trimmed) }},
		{"a second opening and nothing after it", record.VacuumEnd, func(j *record.Job) {
			at, _ := time.Parse(time.RFC3339, "2026-08-28T09:00:00-06:00")
			if err := j.BeginVisit(record.VisitSecondOpening, "2026-08-28", "T-07", at); err != nil {
				t.Fatal(err)
			}
		}},
		{"pull-down ends at ten times of it", record.VacuumFinal, func(j *record.Job) {
			enteredAt(t, j, "12:05:00", record.VacuumPull, "1, 374000\n2, 200000\n8, 50000\n20, 10000\n45, 3000", "")
			enteredAt(t, j, "12:05:30", record.PumpedFor, "45", "min")
		}},
		{"the rise begins elsewhere", record.VacuumFinal, func(j *record.Job) { enteredAt(t, j, "12:06:00", record.VacuumFinal, "200", "micron") }},
		{"fifteen times the plate's charge came out", record.Recovered, func(j *record.Job) { enteredAt(t, j, "09:00:00", record.Recovered, "119", "lb") }},
		{"the trim ended far from what runs", record.TrimSteps, func(j *record.Job) {
			enteredAt(t, j, "13:36:21", record.TrimSteps, "0 0.5", "")
			enteredAt(t, j, "13:36:21", record.Trimmed, "0", "oz")
		}},
		{"broken to 400 psig", record.EvacuationBreaks, func(j *record.Job) {
			enteredAt(t, j, "11:50:00", record.EvacuationBreaks, "1500 400 10\n1000 400 10", "")
		}},
		{"broken after the rise", record.VacuumRise, func(j *record.Job) {
			enteredAt(t, j, "12:40:00", record.EvacuationBreaks, "1500 2 10\n1000 2 10", "")
		}},
		{"read of a flammable charge after it", record.WeighedIn, func(j *record.Job) {
			enteredAt(t, j, "14:20:00", record.FlammableMost, "200", "oz")
		}},
		{"three pulls, and one break", record.EvacuationBreaks, func(j *record.Job) {
			enteredAt(t, j, "11:50:00", record.EvacuationWay, record.TripleBreaks, "")
			enteredAt(t, j, "11:50:00", record.EvacuationBreaks, "1500 2 10", "")
		}},
		{"three pulls, and no break", record.EvacuationBreaks, func(j *record.Job) {
			enteredAt(t, j, "11:50:00", record.EvacuationWay, record.TripleBreaks, "")
		}},
		{"oxygen while brazing", record.NitrogenRate, func(j *record.Job) {
			enteredAt(t, j, "10:05:00", record.NitrogenRate, "oxygen from the torch, none of nitrogen", "")
		}},
		{"the end's temperature read two minutes after the beginning", record.TestT2, func(j *record.Job) { stampAt(t, j, "10:15:00", record.TestT2) }},
		{"a pull-down that cannot be read", record.VacuumPull, func(j *record.Job) { enteredAt(t, j, "12:05:00", record.VacuumPull, "abc", "") }},
		{"steps of a trim that cannot be read", record.TrimSteps, func(j *record.Job) { enteredAt(t, j, "13:36:30", record.TrimSteps, "abc def", "") }},
		{"a visit of six years ago", record.VisitDate, func(j *record.Job) { enteredAt(t, j, "09:00:00", record.VisitDate, "2020-01-01", "") }},
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

// TestHeldAtNothing: a leak search stands for what a hold could not reach, not for one that
// was hardly made.
func TestHeldAtNothing(t *testing.T) {
	t.Parallel()
	for _, es := range [][]entry{
		{{record.TestP1, "0", "psig"}, {record.TestP2, "0", "psig"}},
		{{record.TestP1, "100", "psig"}, {record.TestP2, "100.9", "psig"}},
		{{record.TestValves, record.ValvesShut, ""}, {record.TestOutdoor, "1", "psig"}},
	} {
		j := demo(t)
		for _, e := range es {
			set(t, j, e.key, e.value, e.unit)
		}
		for _, k := range []record.Key{record.HoldNoted, record.VacuumNoted, record.BrazingNoted} {
			set(t, j, k, record.NotedLater, "")
		}
		r := run(t, j)
		if f := find(t, r, "pressure_hold"); f.Verdict == Within {
			t.Errorf("%v: within, %s", es, f.Next)
		}
		if s := state(t, r, record.CloseUp); s.Word == Done || s.Word == DoneReserved {
			t.Errorf("%v: Close-up is %s", es, s.Word)
		}
	}
}

// TestChargeHeldAgainstNothing: a build-up that cannot be made, and a plate without a charge,
// leave a weighed charge that nothing speaks for.
func TestChargeHeldAgainstNothing(t *testing.T) {
	t.Parallel()
	for name, es := range map[string][]entry{
		"a wall that fills the line": {{record.LineWall, "0.19", "in"}, {record.WeighedIn, "400", "oz"}, {record.LabelCharge, "403", "oz"}},
		"no plate":                   {{record.TagCharge, "", ""}, {record.WeighedIn, "400", "oz"}, {record.LabelCharge, "403", "oz"}},
	} {
		j := demo(t)
		for _, e := range es {
			set(t, j, e.key, e.value, e.unit)
		}
		set(t, j, record.ChargeNoted, record.NotedLater, "")
		s := state(t, run(t, j), record.Charge)
		if s.Word == Done || s.Word == DoneReserved && !strings.Contains(s.Why, "what the charge is held against") {
			t.Errorf("%s: Charge is %s, %s", name, s.Word, s.Why)
		}
	}
}

// TestNoRiseIsNotTight: a pressure that sank with the pump valved off and came back was drawn,
// or its gauge drifts.
func TestNoRiseIsNotTight(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.VacuumRise, "0, 290\n2, 288\n4, 286\n6, 285\n8, 284\n10, 284\n12, 285\n14, 286\n16, 287\n18, 289\n20, 290", "")
	set(t, j, record.VacuumEnd, "290", "micron")
	set(t, j, record.VacuumNoted, record.NotedLater, "")
	if f := find(t, run(t, j), "vacuum_word"); f.Verdict == Within {
		t.Errorf("within: %s", f.Next)
	}
}

// TestNotStartedOnIt: what of the charge keeps a compressor from being started holds the
// start, and a vacuum holds the insulation test too.
func TestNotStartedOnIt(t *testing.T) {
	t.Parallel()
	cold := demo(t) // charged, and not started
	for _, k := range []record.Key{record.SuctionPressure, record.SuctionTemp, record.LiquidPressure, record.LiquidTemp, record.DischargeTemp, record.RunCurrent, record.SupplyVoltage,
		record.LeakSearch, record.Trimmed, record.TrimSteps, record.TrimSets, record.LabelCharge, record.FirstSeconds} {
		set(t, cold, k, "", "")
	}
	set(t, cold, record.ChargeNoted, record.NotedLater, "")
	set(t, cold, record.VacuumNoted, record.NotedLater, "")
	if g := run(t, cold).Gate(Energising); !g.Open && len(g.By) > 0 && slices.ContainsFunc(g.By, func(s string) bool { return strings.Contains(s, "Charge") }) {
		t.Fatalf("held as it stands: %v", g.By)
	}
	for name, e := range map[string]entry{
		"vacuum not broken":     {record.VacuumBroken, record.No, ""},
		"liquid in the oil":     {record.HeaterHours, record.No, ""},
		"another refrigerant":   {record.ChargedWith, "R-22", ""},
		"a tenth of the charge": {record.WeighedIn, "10", "oz"},
		"three charges":         {record.WeighedIn, "400", "oz"},
	} {
		j := cold.Clone()
		set(t, j, e.key, e.value, e.unit)
		g := run(t, j).Gate(Energising)
		if g.Open || !slices.ContainsFunc(g.By, func(s string) bool { return strings.Contains(s, "Charge") }) {
			t.Errorf("%s: the start is open, or held by something else: %v", name, g.By)
		}
	}
	j := demo(t)
	enteredAt(t, j, "15:31:00", record.VacuumFinal, "290", "micron")
	enteredAt(t, j, "15:51:00", record.VacuumEnd, "343", "micron")
	for _, n := range []GateName{InsulationTest, Energising} {
		if r := run(t, j); r.Gate(n).Open {
			t.Errorf("a vacuum was pulled after the charge: %s is open", n)
		}
	}
}

// TestLeakSoughtNotShown: an hour that could not have shown the leak sought has not shown
// that there is none.
func TestLeakSoughtNotShown(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.FreeVolume, "10", "L")
	if f := find(t, run(t, j), "pressure_hold"); f.Verdict != Within {
		t.Fatalf("without a leak sought: %s, %s", f.Verdict, f.Reason)
	}
	set(t, j, record.LeakSought, "100", "g/a")
	r := run(t, j)
	for _, k := range []string{"hold_time", "pressure_hold"} {
		if f := find(t, r, k); f.Verdict == Within {
			t.Errorf("%s is within: %s", k, f.Next)
		}
	}
}

// TestReasonThatOnlyNames: the name of a thing is no reason why it is left as it is.
func TestReasonThatOnlyNames(t *testing.T) {
	t.Parallel()
	j := demo(t)
	by(t, j, "T-07", record.PartsBack, record.No, "")
	label := record.PartsBack.Label()
	by(t, j, "T-07", record.CloseUpReservation, label+", "+label, "")
	if s := state(t, run(t, j), record.CloseUp); s.Word == Done || s.Word == DoneReserved {
		t.Errorf("a reason that only names what is left: %s", s.Word)
	}
	by(t, j, "T-07", record.CloseUpReservation, "one grommet is on order, the line is tied off until Monday", "")
	if s := state(t, run(t, j), record.CloseUp); s.Word != DoneReserved {
		t.Errorf("with a reason: %s, %s", s.Word, s.Why)
	}
}

// TestLabelTwoOunces: a label that says two ounces more than was weighed is not excused by
// a second look at the scale.
func TestLabelTwoOunces(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.LabelCharge, "147", "oz")
	enteredAt(t, j, "12:54:00", record.WeighedIn, "142", "oz")
	set(t, j, record.LabelDone, record.Yes, "")
	r := run(t, j)
	if f := find(t, r, "label_error"); f.Verdict == Within || f.Near != "" {
		t.Errorf("%s, %q", f.Verdict, f.Near)
	}
	if s := state(t, r, record.Charge); s.Word == Done || s.Word == DoneReserved {
		t.Errorf("Charge is %s", s.Word)
	}
}
