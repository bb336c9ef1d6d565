package assess

import (
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// A recovery level is told from the air outside, whatever the site: at or below it by more
// than the gauge can be off is within, at it is too close, above it outside.
func TestRecoveryLevelIsGauge(t *testing.T) {
	t.Parallel()
	for _, altitude := range []string{"", "5280"} {
		for _, c := range []struct {
			value string
			want  Verdict
		}{{"-4.9", Within}, {"10 inHg", Within}, {"-12", Within}, {"20 inHg", Within}, {"0", TooClose}, {"-1", TooClose}, {"3", TooClose}, {"6", Outside}, {"20", Outside}} {
			j := demo(t)
			set(t, j, record.Barometer, "", "")
			set(t, j, record.Altitude, altitude, "ft")
			set(t, j, record.RecoveryLevel, c.value, "psig")
			f := find(t, run(t, j), "recovery_level")
			if f.Verdict != c.want {
				t.Errorf("%s at %q ft: %s, want %s: %.0f Pa ± %.0f, %s", c.value, altitude, f.Verdict, c.want, f.Value, f.Expanded(), f.Next)
			}
			if c.want == TooClose && !strings.Contains(f.Next, "or deeper") {
				t.Errorf("%s: how deep is not said: %s", c.value, f.Next)
			}
		}
	}
}

// A charge is about the plate's within a tenth of it. Beyond, where nobody says what the
// line set takes, it cannot be told, and the step is not done.
func TestChargeAgainstThePlateAlone(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		ounces string
		want   Verdict
	}{{"130", Within}, {"250", TooClose}, {"190", TooClose}, {"100", TooClose}, {"60", Outside}, {"320", Outside}} {
		j := demo(t)
		set(t, j, record.TagCharge, "132", "oz")
		for _, k := range []record.Key{record.LineLength, record.Trimmed} {
			set(t, j, k, "", "")
		}
		set(t, j, record.WeighedIn, c.ounces, "oz")
		set(t, j, record.LabelCharge, c.ounces, "oz")
		r := run(t, j)
		if f := find(t, r, "charge_plate"); f.Verdict != c.want {
			t.Errorf("%s oz of 132: %s, want %s: %s", c.ounces, f.Verdict, c.want, f.Next)
		}
		if s := state(t, r, record.Charge); c.want != Within && (s.Word == Done || s.Word == DoneReserved) {
			t.Errorf("%s oz of 132: charge is %s", c.ounces, s.Word)
		}
		// With the line set, without its wall, twice the plate's charge is told.
		set(t, j, record.LineLength, "32", "ft")
		set(t, j, record.LineWall, "", "")
		b := find(t, run(t, j), "charge_balance")
		if c.ounces == "250" && b.Verdict != Outside || b.Verdict == NotMeasured {
			t.Errorf("%s oz, wall not entered: %s %s", c.ounces, b.Verdict, b.Reason)
		}
	}
}

// The usual wall is marked, a line of a diameter without one is refused, and a drier
// whose volume nobody states adds its bounds.
func TestBuildUpWithoutWallAndDrier(t *testing.T) {
	t.Parallel()
	j := demo(t)
	with := find(t, run(t, j), "charge_expected")
	set(t, j, record.LineWall, "", "")
	f := find(t, run(t, j), "charge_expected")
	if d := f.Value - with.Value; d > 0.03 || d < -0.03 || f.U < with.U-1e-9 {
		t.Errorf("with its wall %.4f ± %.4f kg, without %.4f ± %.4f", with.Value, with.U, f.Value, f.U)
	}
	marked := false
	for _, in := range f.Inputs {
		marked = marked || strings.Contains(in.Doubt, "not entered, the usual one of")
	}
	if !marked {
		t.Errorf("the usual wall is not marked: %+v", f.Inputs)
	}
	set(t, j, record.LineOD, "0.45", "in")
	if f := find(t, run(t, j), "charge_balance"); f.Verdict == Within {
		t.Error("a wall is invented for a diameter that the table has not")
	}
	set(t, j, record.LineOD, "0.375", "in")
	set(t, j, record.DrierVolume, "", "")
	set(t, j, record.DrierFitted, record.Yes, "")
	set(t, j, record.DrierSize, "", "")
	wide := find(t, run(t, j), "charge_expected")
	set(t, j, record.DrierSize, "8 cu in, 3/8 in sweat", "")
	sized := find(t, run(t, j), "charge_expected")
	if !(wide.U > sized.U && sized.U > f.U*0.99) {
		t.Errorf("doubt without a size %.4f, with one %.4f kg", wide.U, sized.U)
	}
}

// What came out is not held against a unit whose line set nobody stated.
func TestMissingChargeNeedsTheLine(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.TagCharge, "132", "oz")
	set(t, j, record.Recovered, "129", "oz")
	set(t, j, record.LineWall, "", "")
	set(t, j, record.LineLength, "32", "ft")
	with := find(t, run(t, j), "recovered_part")
	set(t, j, record.LineLength, "", "")
	without := find(t, run(t, j), "recovered_part")
	if with.Value-without.Value < 0.15 {
		t.Errorf("17 ft of line change what was missing by %.3f kg only", with.Value-without.Value)
	}
	if without.Verdict == Within {
		t.Errorf("within, and the line is not known: %s", without.Next)
	}
}

// What draws next to nothing does not run.
func TestNothingRunsOnNothing(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		key     record.Key
		value   string
		unit    string
		finding string
	}{{record.RunCurrent, "0", "A", "run_current"}, {record.RunCurrent, "1", "A", "run_current"}, {record.FanCurrent, "0", "A", "fan_current"}, {record.SupplyVoltage, "0", "V", "supply_voltage"},
		{record.ControlVoltage, "0", "V", "control_voltage"}, {record.ControlCurrent, "0", "A", "control_load"}, {record.CapVolts, "0", "V", "cap_stress"}, {record.InrushCurrent, "0", "A", "inrush"},
		{record.InputPower, "0", "W", "power_factor"}, {record.CapCurrent, "0", "A", "cap_underload"}} {
		j := demo(t)
		set(t, j, c.key, c.value, c.unit)
		if f := find(t, run(t, j), c.finding); f.Verdict == Within {
			t.Errorf("%s %s: %s is within: %s", c.key, c.value, c.finding, f.Next)
		}
	}
}

// No hold is called long enough, and nothing held, while the question stands how its
// readings came into the record.
func TestHoldOfNoMinutesIsNotJudged(t *testing.T) {
	t.Parallel()
	j := held(t, 0)
	r := run(t, j)
	for _, k := range []string{"hold_time", "pressure_hold"} {
		if f := find(t, r, k); f.Verdict == Within {
			t.Errorf("%s is within, its entries lie 0 min apart", k)
		}
	}
	set(t, j, record.HoldNoted, record.NotedLater, "")
	if f := find(t, run(t, j), "hold_time"); f.Verdict != Within {
		t.Errorf("answered, and %s: %s", f.Verdict, f.Reason)
	}
	// A new reading asks anew, and the same answer given again counts.
	e, _ := j.Entry(record.TestP2)
	e.Again, e.Time = true, e.Time.Add(time.Minute)
	if err := j.Set(e); err != nil {
		t.Fatal(err)
	}
	if f := find(t, run(t, j), "hold_time"); f.Verdict == Within {
		t.Error("an answer covers what came after it")
	}
	set(t, j, record.HoldNoted, record.NotedLater, "")
	if f := find(t, run(t, j), "hold_time"); f.Verdict != Within {
		t.Errorf("answered once more, and %s: %s", f.Verdict, f.Reason)
	}
}

// The isolated vacuum and the settled unit are the same.
func TestOtherWaitsOfNoMinutes(t *testing.T) {
	t.Parallel()
	at := time.Unix(1.79e9, 0)
	for i, fs := range [][]string{{"vacuum_hold", "vacuum_word"}, {"settled", "superheat", "subcooling"}} {
		s := record.Spans[i+1]
		j := demo(t)
		for _, k := range append(s.From[:len(s.From):len(s.From)], s.To, s.Held) {
			e, ok := j.Entry(k)
			if !ok {
				continue
			}
			if e.Time, e.Again = at, true; k == s.Held {
				e.Value = "20"
			}
			if err := j.Set(e); err != nil {
				t.Fatal(err)
			}
		}
		r := run(t, j)
		for _, k := range fs {
			if f := find(t, r, k); f.Verdict == Within {
				t.Errorf("%s is within, the entries of %s lie 0 min apart", k, s.Held)
			}
		}
	}
}

// Where no one pressure passes, the way that is left is named, and the outdoor unit apart
// is no way round the lower marking.
func TestNoOneTestPressure(t *testing.T) {
	t.Parallel()
	job := func(lines, apart string) *Report {
		j := demo(t)
		set(t, j, record.LeakSearch, "", "")
		set(t, j, record.DesignLow, "250", "psig")
		set(t, j, record.DesignHigh, "450", "psig")
		set(t, j, record.TestP1, lines, "psig")
		set(t, j, record.TestP2, lines, "psig")
		if apart != "" {
			set(t, j, record.TestValves, record.ValvesShut, "")
			set(t, j, record.TestOutdoor, apart, "psig")
		}
		return run(t, j)
	}
	for lines, key := range map[string]string{"240": "test_reach", "350": "test_limit"} {
		if f := find(t, job(lines, ""), key); f.Verdict != Outside || !strings.Contains(f.Next, "No one test pressure") || !strings.Contains(f.Next, "250 psig or less") {
			t.Errorf("%s psig: %s %s: %s", lines, key, f.Verdict, f.Next)
		}
	}
	// The suction side of an outdoor unit tested apart is behind the same valve.
	for _, apart := range []string{"350", "480"} {
		if f := find(t, job("240", apart), "test_limit"); f.Verdict != Outside {
			t.Errorf("%s psig on the outdoor unit apart: %s", apart, f.Verdict)
		}
	}
}

// Readings that are too few say how many are wanted, and more of them move on.
func TestTooFewRiseReadingsSayHowMany(t *testing.T) {
	t.Parallel()
	last := ""
	for _, text := range []string{"0 300\n5 345\n10 370\n15 380", "0 300\n5 345\n10 370\n15 380\n16 382", "0 300\n5 345\n10 370\n15 380\n16 382\n17 384"} {
		j := demo(t)
		set(t, j, record.VacuumEnd, "", "")
		set(t, j, record.VacuumRise, text, "")
		f := find(t, run(t, j), "vacuum_word")
		if f.Verdict == Within || !strings.Contains(f.Reason, "more reading") || f.Reason == last {
			t.Errorf("%q: %s %s", text, f.Verdict, f.Reason)
		}
		last = f.Reason
	}
}

// Breaks are taken with their units written out, and refused beside the field.
func TestBreaksAsWritten(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.EvacuationBreaks, "2000 micron, 3 psig, 10 min\n1000 2 10", "")
	r := run(t, j)
	if f := find(t, r, "evacuation_thinned"); !f.Measured {
		t.Errorf("units written out: %s", f.Reason)
	}
	set(t, j, record.EvacuationBreaks, "2000 micron and 3 psig", "")
	if problemOf(run(t, j), record.EvacuationBreaks) == "" {
		t.Error("what is not understood is not said beside the field")
	}
}

// The failed compressor's three readings typed for the new one are asked about.
func TestOldWindingsForTheNew(t *testing.T) {
	t.Parallel()
	j := demo(t)
	for k, v := range map[record.Key]string{record.OldRCS: "1.8", record.RCS: "1.8", record.OldRCR: "0.7", record.RCR: "0.7", record.OldRSR: "2.5", record.RSR: "2.5"} {
		set(t, j, k, v, "ohm")
	}
	if f := find(t, run(t, j), "winding_sum"); f.Verdict == Within {
		t.Errorf("within: %s", f.Next)
	}
}

// A close-up without its recovery level and what was put back is not simply done.
func TestCloseUpNamesWhatIsNotEntered(t *testing.T) {
	t.Parallel()
	j := demo(t)
	for _, k := range []record.Key{record.RecoveryLevel, record.PartsBack, record.GroundBack} {
		set(t, j, k, "", "")
	}
	if s := state(t, run(t, j), record.CloseUp); s.Word == Done || !strings.Contains(s.Why, "evacuation level") {
		t.Errorf("close-up is %s: %s", s.Word, s.Why)
	}
}

// A signature is not dated before the visit, and a filter that is to come out has a day.
func TestHandOverDates(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.VisitDate, "2026-08-14", "")
	set(t, j, record.SignedDate, "2019-01-01", "")
	if problemOf(run(t, j), record.SignedDate) == "" {
		t.Error("signed seven years before the visit, and no word of it")
	}
	set(t, j, record.SignedDate, "2026-08-14", "")
	if w := problemOf(run(t, j), record.SignedDate); w != "" {
		t.Error(w)
	}
	set(t, j, record.SuctionFilter, record.FilterStays, "")
	set(t, j, record.FollowUpDue, "", "")
	found := false
	for _, m := range state(t, run(t, j), record.HandOver).Left {
		found = found || m.Key == record.FollowUpDue.String()
	}
	if !found {
		t.Error("a suction filter fitted to be removed, and no day for it")
	}
}

// What was read on a run capacitor has to be what its marking allows: a part marked 8.75
// does not read 34.9, whatever the compressor asks for.
func TestCapacitorReadAgainstItsMarking(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.CapRating, "35", "uF")
	set(t, j, record.CapTolerance, "6 %", "")
	for _, c := range []struct {
		mark, read string
		within     bool
	}{{"35", "34.9", true}, {"8.75", "34.9", false}, {"40", "34.9", true}, {"45", "34.9", false}} {
		set(t, j, record.CapFitted, c.mark, "uF")
		set(t, j, record.CapMeter, c.read, "uF")
		f := find(t, run(t, j), "cap_meter")
		if (f.Verdict == Within) != c.within || !c.within && !strings.Contains(f.Next, c.mark) {
			t.Errorf("marked %s, read %s: %s: %s", c.mark, c.read, f.Verdict, f.Next)
		}
	}
}
