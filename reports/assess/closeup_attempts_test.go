package assess

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// attempts are jobs that were made to earn a word they do not deserve: none of the
// findings named may be within. testdata/attempts/closeup.md lists the same.
var attempts = []struct {
	name    string
	set     []entry
	finding string
}{
	{"240 to 237 psig at one temperature", []entry{{record.TestT2, "78", "F"}, {record.TestP2, "237", "psig"}}, "pressure_hold"},
	{"hold of one minute", []entry{{record.TestTime, "1", "min"}}, "pressure_hold"},
	{"hold of fourteen minutes", []entry{{record.TestTime, "14", "min"}}, "pressure_hold"},
	{"hold without a time", []entry{{record.TestTime, "", ""}}, "pressure_hold"},
	{"hold time alone too short", []entry{{record.TestTime, "10", "min"}}, "hold_time"},
	{"no second pressure", []entry{{record.TestP2, "", ""}}, "pressure_hold"},
	{"no second temperature", []entry{{record.TestT2, "", ""}}, "pressure_hold"},
	{"copied pressure while the gas warmed", []entry{{record.TestT2, "98", "F"}, {record.TestP2, "240", "psig"}}, "pressure_hold"},
	{"pressure followed a cooling gas not at all", []entry{{record.TestT2, "60", "F"}, {record.TestP2, "242.4", "psig"}}, "pressure_hold"},
	{"loss hidden behind 20 F of sun", []entry{{record.TestT2, "103", "F"}, {record.TestP2, "241", "psig"}}, "pressure_hold"},
	{"tested at 20 psig, where nothing leaks", []entry{{record.LeakSearch, "", ""}, {record.TestP1, "20", "psig"}, {record.TestP2, "20.3", "psig"}}, "pressure_hold"},
	{"tested above the lowest design pressure", []entry{{record.TestP1, "300", "psig"}, {record.TestP2, "302.9", "psig"}}, "pressure_hold"},
	{"a loss in a short hold stays one", []entry{{record.TestTime, "5", "min"}, {record.TestP2, "200", "psig"}}, "pressure_hold"},
	{"vacuum by its end alone", []entry{{record.VacuumRise, "", ""}}, "vacuum_word"},
	{"vacuum at the end after one minute", []entry{{record.VacuumTime, "1", "min"}}, "vacuum_hold"},
	{"vacuum fell with the pump valved off", []entry{{record.VacuumFinal, "900", "micron"}}, "vacuum_hold"},
	{"two rise readings", []entry{{record.VacuumRise, "0 290\n20 343", ""}}, "vacuum_word"},
	{"four minutes of rise", []entry{{record.VacuumRise, "0 290\n1 292\n2 294\n3 295\n4 296", ""}, {record.VacuumEnd, "296", "micron"}}, "vacuum_word"},
	{"one number copied eleven times", []entry{{record.VacuumRise, rising(300, 0, 0), ""}, {record.VacuumEnd, "300", "micron"}}, "vacuum_word"},
	{"rise of another gauge or day", []entry{{record.VacuumEnd, "900", "micron"}}, "vacuum_word"},
	{"leak of 10 micron a minute", []entry{{record.VacuumRise, rising(300, 10, 0), ""}, {record.VacuumEnd, "500", "micron"}}, "vacuum_word"},
	{"leak of 25 micron a minute below the limit", []entry{{record.VacuumRise, rising(300, 25, 0), ""}, {record.VacuumEnd, "800", "micron"}}, "vacuum_word"},
	{"water that flattens below the limit", []entry{{record.VacuumRise, rising(300, 0, 500), ""}, {record.VacuumEnd, "782", "micron"}}, "vacuum_word"},
	{"leak and water", []entry{{record.VacuumRise, rising(300, 15, 300), ""}, {record.VacuumEnd, "889", "micron"}}, "vacuum_word"},
	{"gauge that sinks while valved off", []entry{{record.VacuumRise, rising(400, -5, 0), ""}, {record.VacuumEnd, "300", "micron"}}, "vacuum_word"},
	{"times typed backwards", []entry{{record.VacuumRise, "20 343\n10 328\n0 290", ""}}, "vacuum_word"},
	{"tight after a hold that showed a loss", []entry{{record.TestP2, "228", "psig"}}, "vacuum_word"},
	{"above the limit in a short hold", []entry{{record.VacuumTime, "5", "min"}, {record.VacuumEnd, "1500", "micron"}}, "vacuum_hold"},
	{"charge with compressors not known", nil, "charge_balance"},
	{"charge of half the build-up", []entry{{record.WeighedIn, "70", "oz"}}, "charge_balance"},
	{"charge without a line set", []entry{{record.LineLength, "", ""}}, "charge_balance"},
	{"charge without a plate", []entry{{record.TagCharge, "", ""}}, "charge_balance"},
	{"little recovered, nothing searched", []entry{{record.LeakSearch, "", ""}, {record.Recovered, "60", "oz"}}, "recovered_part"},
	{"scale's zero moved by 20 oz", []entry{{record.CylinderStart, "400", "oz"}, {record.ScaleZeroStart, "0", "oz"}, {record.CylinderStop, "258", "oz"}, {record.ScaleZeroStop, "20", "oz"}}, "weighed_scale"},
	{"scale's zero not read", []entry{{record.ScaleZeroStart, "", ""}, {record.ScaleZeroStop, "", ""}, {record.CylinderStart, "400", "oz"}, {record.CylinderStop, "258", "oz"}}, "weighed_scale"},
	{"recovery cylinder overfilled", []entry{{record.RecoveryWater, "26.2", "lb"}, {record.RecoveryBefore, "15", "lb"}}, "recovery_fill"},
	{"recovery cylinder, what was in it not weighed", []entry{{record.RecoveryBefore, "", ""}, {record.RecoveryWater, "47.6", "lb"}}, "recovery_fill"},
	{"recovery stopped at atmosphere by a field gauge", []entry{{record.RecoveryLevel, "0", "psig"}}, "recovery_level"},
	{"recovery stopped at 20 psig", []entry{{record.RecoveryLevel, "20", "psig"}}, "recovery_level"},
	{"recovery level without the gauge's sign", []entry{{record.RecoveryLevel, "10", "psig"}}, "recovery_level"},
	{"leak of 25 micron a minute, the last reading copied", []entry{{record.VacuumRise, rising(300, 25, 0) + "\n21 800\n22 800\n23 800\n24 800", ""}, {record.VacuumEnd, "800", "micron"}}, "vacuum_word"},
	{"rise typed in minutes for seconds", []entry{{record.VacuumRise, strings.ReplaceAll(rising(300, 10, 0), " ", "00 "), ""}, {record.VacuumEnd, "500", "micron"}}, "vacuum_word"},
	{"rise read while the pump ran and held at its floor", []entry{{record.VacuumRise, "0 120\n2 119\n4 120\n6 120\n8 119\n10 120\n12 120\n14 119\n16 120\n18 120\n20 120", ""}, {record.VacuumEnd, "120", "micron"}}, "vacuum_word"},
	{"ice: a cold circuit that gives nothing off", []entry{{record.VacuumColdest, "-30", "F"}}, "vacuum_word"},
	{"charge of a coil that was never stated, weighed to the plate", []entry{{record.NewCoil, "900", "in3"}, {record.OldCoil, "200", "in3"}}, "charge_balance"},
	{"hold read by two gauges", []entry{{record.TestP2, "16.71", "bar"}, {record.TestP1, "220", "psig"}, {record.TestT2, "60", "F"}}, "pressure_hold"},
	{"leak sought, volume not known", []entry{{record.LeakSought, "10", "g/a"}, {record.TestTime, "5", "min"}}, "hold_time"},
	{"pump holds it, gauge drifts upward by 4 %", []entry{{record.PumpValved, "", ""}, {record.VacuumRise, rising(300, 0.6, 0), ""}, {record.VacuumEnd, "312", "micron"}}, "vacuum_word"},
	{"pump holds it and its gauge drifts, low in its range", []entry{{record.PumpValved, "", ""}, {record.VacuumRise, "0 40\n2 40\n4 40\n6 41\n8 41\n10 41\n12 41\n14 41\n16 42\n18 42\n20 42", ""}, {record.VacuumEnd, "42", "micron"}}, "vacuum_word"},
	{"pump holds it, gauge drifts upward by 8 %, as far as that", []entry{{record.PumpValved, "", ""}, {record.VacuumRise, rising(300, 1.2, 0), ""}, {record.VacuumEnd, "324", "micron"}}, "vacuum_word"},
	{"pump holds it, gauge drifts upward by 15 %", []entry{{record.PumpValved, "", ""}, {record.VacuumRise, rising(200, 1.5, 0), ""}, {record.VacuumEnd, "230", "micron"}}, "vacuum_word"},
	{"pump holds it, gauge drifts upward by 24 % and settles", []entry{{record.PumpValved, "", ""}, {record.VacuumRise, "0 100\n2 105\n4 109\n6 112\n8 115\n10 117\n12 119\n14 121\n16 122\n18 123\n20 124", ""}, {record.VacuumEnd, "124", "micron"}}, "vacuum_word"},
	{"pump holds it, gauge drifts by 20 % late", []entry{{record.PumpValved, "", ""}, {record.VacuumRise, "0 150\n2 150\n4 150\n6 151\n8 151\n10 153\n12 157\n14 163\n16 169\n18 175\n20 180", ""}, {record.VacuumEnd, "180", "micron"}}, "vacuum_word"},
	{"rise of 1,500 micron read as 1.5", []entry{{record.VacuumRise, "0 1,500\n2 1,520\n4 1,540\n6 1,560\n8 1,580\n10 1,600\n12 1,610\n14 1,620\n16 1,630\n18 1,640\n20 1,700", ""}, {record.VacuumEnd, "", ""}, {record.PumpValved, record.PumpShut, ""}}, "vacuum_word"},
	{"pump said to draw while the rise was read", []entry{{record.PumpValved, record.PumpDraws, ""}}, "vacuum_word"},
	{"pump said to be shut, no rise at all", []entry{{record.PumpValved, record.PumpShut, ""}, {record.VacuumRise, "0 120\n2 119\n4 120\n6 120\n8 119\n10 120\n12 120\n14 119\n16 120\n18 120\n20 120", ""}, {record.VacuumEnd, "120", "micron"}}, "vacuum_word"},
	{"flammable, the largest charge not read", []entry{{record.Refrigerant, "R-454B", ""}}, "flammable_charge"},
	{"flammable, a limit and no word of where it was read", []entry{{record.Refrigerant, "R-454B", ""}, {record.FlammableMost, "400", "oz"}}, "flammable_charge"},
	{"flammable, read: yes", []entry{{record.Refrigerant, "R-454B", ""}, {record.FlammableMost, "400", "oz"}, {record.FlammableRead, "yes - 12345678", ""}}, "flammable_charge"},
	{"flammable, limit below the charge", []entry{{record.Refrigerant, "R-454B", ""}, {record.FlammableMost, "120", "oz"}, {record.FlammableRead, "instructions of the unit, table for the room", ""}}, "flammable_charge"},
	{"flammable, limit kept by the label alone", []entry{{record.Refrigerant, "R-454B", ""}, {record.FlammableMost, "130", "oz"}, {record.FlammableRead, "instructions of the unit, table for the room", ""}, {record.LabelCharge, "100", "oz"}}, "flammable_charge"},
	{"breaks alone make nothing dry", []entry{{record.EvacuationWay, record.TripleBreaks, ""}, {record.EvacuationBreaks, "1000 2 10\n1000 2 10", ""}}, "evacuation_thinned"},
	{"label not what was weighed", []entry{{record.LabelCharge, "128", "oz"}}, "label_error"},
}

// rising is a rise of 20 minutes: start, slope a minute and what tends to an end with
// six minutes' time constant, micron.
func rising(start, slope, water float64) string {
	var lines []string
	for m := 0.0; m <= 20; m += 2 {
		lines = append(lines, fmt.Sprintf("%.0f %.0f", m, start+slope*m-water*math.Expm1(-m/6)))
	}
	return strings.Join(lines, "\n")
}

func TestCloseUpEarnsNothingFalsely(t *testing.T) {
	t.Parallel()
	list, err := os.ReadFile("../../testdata/attempts/closeup.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range attempts {
		j := demo(t)
		for _, e := range a.set {
			set(t, j, e.key, e.value, e.unit)
		}
		f := find(t, run(t, j), a.finding)
		if f.Verdict == Within {
			t.Errorf("%s: %s is within: %.4g ± %.2g, %s", a.name, a.finding, f.Value, f.Expanded(), f.Next)
		}
		if f.Verdict == NotMeasured && f.Reason == "" || f.Verdict == NotJudged && f.Reason == "" {
			t.Errorf("%s: %s is %s and does not say why", a.name, a.finding, f.Verdict)
		}
		if !strings.Contains(string(list), a.name) {
			t.Errorf("%q is not in the list of attempts", a.name)
		}
		t.Logf("| %s | %s | %s |", a.name, a.finding, f.Verdict)
	}
}

// The untouched job earns its words, or the attempts above would show nothing.
func TestCloseUpCanBeEarned(t *testing.T) {
	j := demo(t)
	for _, e := range []entry{{record.CylinderStart, "400", "oz"}, {record.ScaleZeroStart, "0", "oz"}, {record.CylinderStop, "258", "oz"}, {record.ScaleZeroStop, "0", "oz"},
		{record.RecoveryWater, "47.6", "lb"}, {record.RecoveryBefore, "0", "lb"}} {
		set(t, j, e.key, e.value, e.unit)
	}
	r := run(t, j)
	for _, k := range []string{"pressure_hold", "hold_time", "vacuum_hold", "vacuum_word", "weighed_scale", "recovery_fill", "recovered_part", "label_error"} {
		if f := find(t, r, k); f.Verdict != Within {
			t.Errorf("%s: %s %s %s", k, f.Verdict, f.Reason, f.Next)
		}
	}
	// A rise as small as a gauge drifts, with the valve said to be shut.
	for _, e := range []entry{{record.VacuumRise, rising(300, 0.6, 0), ""}, {record.VacuumEnd, "312", "micron"}, {record.PumpValved, record.PumpShut, ""},
		{record.FlammableMost, "200", "oz"}, {record.FlammableRead, "instructions of the unit, table for the room", ""}} {
		set(t, j, e.key, e.value, e.unit)
	}
	r = run(t, j)
	for _, k := range []string{"vacuum_word", "flammable_charge"} {
		if f := find(t, r, k); f.Verdict != Within {
			t.Errorf("%s: %s %s %s", k, f.Verdict, f.Reason, f.Next)
		}
	}
}

// A barometer reduced to sea level does not go with the altitude.
func TestBarometerAgainstAltitude(t *testing.T) {
	j := demo(t)
	set(t, j, record.Barometer, "29.92", "inHg")
	said := false
	for _, p := range run(t, j).Problems {
		said = said || p.Key == record.Barometer
	}
	if !said {
		t.Error("29.92 inHg at 1600 m went through")
	}
}

// One name for finding and picture, and the trim's next amount with its stop.
func TestTrimFinding(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.TrimSteps, "0 2\n4 5", "")
	if f := find(t, run(t, j), "trim_next"); !f.Measured || f.Value <= 0 || !strings.HasPrefix(f.Next, "Add ") {
		t.Errorf("5 F of %q: %v %.3g %s", j.Text(record.TagSubcooling), f.Measured, f.Value, f.Next)
	}
	r := run(t, j)
	if r.Trim == nil || len(r.Trim.Steps) != 2 || r.Trim.Steps[1].High <= r.Trim.Steps[1].Low || r.Trim.Steps[1].Low != r.Trim.Steps[0].Expect {
		t.Errorf("table %+v", r.Trim)
	}
	if r.BuildUp == nil || math.Abs(sumOf(r.BuildUp)-find(t, r, "charge_expected").Value) > 1e-9 {
		t.Errorf("parts %+v", r.BuildUp)
	}
	set(t, j, record.CoilWashed, "washed, still wet", "")
	if f := find(t, run(t, j), "trim_next"); !strings.HasPrefix(f.Next, "Wait") {
		t.Errorf("wet coil: %s", f.Next)
	}
	set(t, j, record.CoilWashed, "washed and dry", "")
	set(t, j, record.OutdoorTemp, "45", "F")
	if f := find(t, run(t, j), "trim_next"); !strings.HasPrefix(f.Next, "Do not trim") {
		t.Errorf("45 F outdoors: %s", f.Next)
	}
	for _, bad := range []string{"soon", "0 2 3", "1e9 2", "0 NaN"} {
		set(t, j, record.TrimSteps, bad, "")
		if f := find(t, run(t, j), "trim_next"); f.Measured {
			t.Errorf("%q gave %g", bad, f.Value)
		}
	}
}

func sumOf(parts []Part) (m float64) {
	for _, p := range parts {
		m += p.M
	}
	return m
}

// A fixed bore is trimmed towards its superheat: too much of it asks for refrigerant,
// too little for recovery, and the target follows the weather where none is stated.
func TestTrimFixedBore(t *testing.T) {
	j := demo(t)
	set(t, j, record.Metering, record.MeterFixed, "")
	for _, c := range []struct{ steps, begins string }{{"0 25\n3 19", "Add "}, {"0 1", "Recover "}} {
		set(t, j, record.TrimSteps, c.steps, "")
		r := run(t, j)
		if f := find(t, r, "trim_next"); r.Trim == nil || r.Trim.By != "superheat" || !strings.HasPrefix(f.Next, c.begins) {
			t.Errorf("%q: %+v %s", c.steps, r.Trim, f.Next+f.Reason)
		}
	}
	warm := run(t, j).Trim.Target
	set(t, j, record.OutdoorTemp, "80", "F")
	if cool := run(t, j).Trim.Target; cool == warm {
		t.Errorf("target %.2f K at both outdoor temperatures", cool)
	}
	set(t, j, record.TagCharge, "", "")
	set(t, j, record.WeighedIn, "", "")
	if f := find(t, run(t, j), "trim_next"); f.Measured || !strings.Contains(f.Reason+f.Next, "plate") {
		t.Errorf("no size of unit, yet %v %s", f.Value, f.Reason)
	}
}

// A part of another volume moves the build-up by that volume, and only where both were
// entered: a new coil alone says nothing of what it replaced.
func TestChangedPartsAreBuiltUp(t *testing.T) {
	j := demo(t)
	before := find(t, run(t, j), "charge_expected")
	set(t, j, record.NewCoil, "200", "in3")
	if f := find(t, run(t, j), "charge_expected"); f.Value != before.Value {
		t.Errorf("a new coil alone moves it by %g kg", f.Value-before.Value)
	}
	set(t, j, record.OldCoil, "200", "in3")
	if f := find(t, run(t, j), "charge_expected"); math.Abs(f.Value-before.Value) > 1e-9 || f.U <= before.U {
		t.Errorf("the same coil moves it by %g kg, doubt %g after %g", f.Value-before.Value, f.U, before.U)
	}
	set(t, j, record.NewCoil, "260", "in3")
	f := find(t, run(t, j), "charge_expected")
	if d := f.Value - before.Value; d < 60*1.6387e-5*100 || d > 60*1.6387e-5*1100 { // between all gas and all liquid
		t.Errorf("sixty cubic inches more: %g kg", d)
	}
	set(t, j, record.NewAccumulator, "0", "in3")
	set(t, j, record.OldAccumulator, "100", "in3")
	if g := find(t, run(t, j), "charge_expected"); g.Value >= f.Value {
		t.Error("an accumulator taken out takes nothing with it")
	}
}

// Stop trimming is not said of readings that do not show the band: none near it, none
// that answers, one that comes and goes, one on the wrong side.
func TestTrimStopsOnlyInTheBand(t *testing.T) {
	for _, c := range []struct{ name, steps string }{
		{"nothing answers", "0 3\n8 3\n16 3"}, {"at the band's lower edge", "0 7"}, {"at its upper edge", "0 13"},
		{"came and went", "0 4\n4 10\n8 4"}, {"far above", "0 25"}, {"below nought", "0 -4"},
		{"falls while it is added", "0 9\n4 7\n8 4"}, {"counted from nought again", "0 4\n4 6\n0 6"},
	} {
		j := demo(t)
		set(t, j, record.TrimSteps, c.steps, "")
		f := find(t, run(t, j), "trim_next")
		if strings.HasPrefix(f.Next, "Stop trimming") || f.Verdict == Within {
			t.Errorf("%s: %s", c.name, f.Next)
		}
		t.Logf("%s: %s%s", c.name, f.Reason, f.Next)
	}
}

// A line of the list is within only where every finding of it is, and never by entries.
func TestWorkListIsNotGreenByEntries(t *testing.T) {
	j := demo(t)
	for _, k := range []record.Key{record.GroundBack, record.PartsBack} {
		set(t, j, k, record.Yes, "")
	}
	set(t, j, record.TestP2, "228", "psig")
	seen := 0
	for _, task := range run(t, j).Tasks {
		if task.Title == "Hold nitrogen" {
			seen++
			if task.Stand != TaskOutside || task.Finding == "" {
				t.Errorf("a loss shown: %s %q", task.Stand, task.Finding)
			}
		}
		if len(task.Missing) > 0 && task.Stand == TaskWithin {
			t.Errorf("%s: within, and %v is missing", task.Title, task.Missing)
		}
		if strings.Contains(task.Title, "ground") && task.Stand != TaskEntered {
			t.Errorf("%s: %s", task.Title, task.Stand)
		}
	}
	if seen != 1 {
		t.Errorf("%d lines of the hold", seen)
	}
}

// A clock runs from a time that can be read, from no other.
func TestClocksRunFromTheRecord(t *testing.T) {
	t.Parallel()
	j := demo(t)
	at := j.Entries[len(j.Entries)-1].Time
	for value, runs := range map[string]bool{"": false, "soon": false, "2026-08-14": false, Stamp(at): true} {
		set(t, j, record.HoldStarted, value, "")
		for _, k := range run(t, j).Clocks {
			if k.Key == record.HoldStarted && k.Runs() != runs {
				t.Errorf("%q: runs %v", value, k.Runs())
			}
			if k.Key == record.HoldStarted && runs {
				if got := k.Past(at.Add(7 * time.Minute)); got != 7*time.Minute || k.Due(at.Add(14*time.Minute)) || !k.Due(at.Add(15*time.Minute)) || !k.Back(at.Add(-time.Minute)) || k.Past(at.Add(-time.Minute)) != 0 {
					t.Errorf("after seven minutes: %v", got)
				}
			}
		}
	}
	// A longer wait is asked for where the rise is too short to tell, and for a leak sought.
	goal := func(key record.Key) time.Duration {
		for _, k := range run(t, j).Clocks {
			if k.Key == key {
				return k.Goal
			}
		}
		return 0
	}
	if g := goal(record.DecayStarted); g != 10*time.Minute {
		t.Errorf("vacuum: %v", g)
	}
	set(t, j, record.PumpedFor, "", "") // known, it decides this one
	set(t, j, record.VacuumRise, "0 290\n1 300\n2 322\n3 333\n4 345\n5 351\n6 363\n7 370\n8 381\n9 388\n10 398", "")
	if g := goal(record.DecayStarted); g <= 10*time.Minute {
		t.Errorf("a rise that does not tell: %v", g)
	}
	set(t, j, record.FreeVolume, "8", "L")
	set(t, j, record.LeakSought, "200000", "g/a")
	if g := goal(record.HoldStarted); g <= 15*time.Minute || g > 24*time.Hour {
		t.Errorf("for the leak sought: %v", g)
	}
}

// A line that is within names those before it that are not entered.
func TestALineNamesWhatIsOpenBeforeIt(t *testing.T) {
	t.Parallel()
	seen := false
	j := demo(t)
	set(t, j, record.HeaterHours, "", "")
	for _, x := range run(t, j).Tasks {
		if x.Stand != TaskWithin && len(x.Before) > 0 {
			t.Errorf("%s is %s and names %v", x.Title, x.Stand, x.Before)
		}
		seen = seen || x.Title == "Write the label" && x.Stand == TaskWithin && slices.Contains(x.Before, 1)
	}
	if !seen {
		t.Error("the label's line is within and names nothing before it, or is not within")
	}
}
