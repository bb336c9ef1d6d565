package assess

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"retrostage/assets"
	"retrostage/reports/record"
	"retrostage/wiring/supply"
)

// 240 psig that became 237 is no hold that showed no loss: the gauges are too coarse to
// tell; with closer ones it is a loss. What is shown is said with its size.
func TestNitrogenHold(t *testing.T) {
	hold := func(p2 string, plus float64) Finding {
		j := demo(t)
		for _, k := range []record.Key{record.TestT1, record.TestT2} {
			set(t, j, k, "80", "F")
		}
		j.Instruments = append(j.Instruments, record.Instrument{ID: "N", Name: "Test gauge", Accuracy: []record.Accuracy{{Dim: record.TestP1.Field().Dim, Plus: plus, Unit: "psig"}}})
		for _, e := range []record.Entry{{Key: record.TestP1, Value: "240"}, {Key: record.TestP2, Value: p2}} {
			e.Unit, e.Instrument, e.Time = "psig", "N", j.Entries[0].Time
			if err := j.Set(e); err != nil {
				t.Fatal(err)
			}
		}
		set(t, j, record.HoldNoted, record.NotedLater, "")
		return find(t, run(t, j), "pressure_hold")
	}
	if f := hold("237", 6); f.Verdict != TooClose || !strings.Contains(f.Next, "Too coarse to tell") {
		t.Errorf("coarse: %s, %s", f.Verdict, f.Next)
	}
	if f := hold("237", 0.5); f.Verdict != Outside {
		t.Errorf("close: %s, %s", f.Verdict, f.Next)
	}
	if f := hold("240", 1); f.Verdict != Within || !strings.Contains(f.Next, "No loss larger than") {
		t.Errorf("none: %s, %s", f.Verdict, f.Next)
	}
}

// Above the lowest marked design pressure the test is stopped and the hold not judged;
// below what the joints see at rest it is not judged either, until they were searched.
func TestPressureTest(t *testing.T) {
	j := demo(t)
	set(t, j, record.LeakSearch, "", "")
	r := run(t, j)
	if f := find(t, r, "test_reach"); f.Verdict != Outside {
		t.Errorf("tested at 242 psig, at rest 282: %s", f.Verdict)
	}
	if f := find(t, r, "pressure_hold"); f.Verdict != NotJudged || !strings.Contains(f.Reason, "search for leaks") {
		t.Errorf("hold: %s, %s", f.Verdict, f.Reason)
	}
	if s := state(t, r, record.CloseUp); s.Word != Open {
		t.Errorf("close-up: %s", s.Word)
	}
	set(t, j, record.TestP1, "300", "psig")
	set(t, j, record.TestP2, "302", "psig")
	r = run(t, j)
	if f := find(t, r, "test_limit"); f.Verdict != Outside || !strings.HasPrefix(f.Next, "STOP") {
		t.Errorf("300 psig on a side marked 250: %s, %s", f.Verdict, f.Next)
	}
	if f := find(t, r, "pressure_hold"); f.Verdict != NotJudged || !strings.HasPrefix(f.Reason, "stop") {
		t.Errorf("hold: %s, %s", f.Verdict, f.Reason)
	}
}

// Before the unit ran, and in any weather, the design day tells what the joints will see;
// a test in the cold is no test of a hot day.
func TestAtRestBeforeItRan(t *testing.T) {
	j := demo(t)
	for _, k := range []record.Key{record.LeakSearch, record.RestPressure, record.RestTemp, record.OutdoorTemp} {
		set(t, j, k, "", "")
	}
	// R-410A stands at 295 psig at 95 F, 319 at 100: published saturation tables, from memory.
	for day, want := range map[string]float64{"": 295.2, "100": 317.2} {
		set(t, j, record.DesignDay, day, "F")
		set(t, j, record.TestT1, "50", "F")
		set(t, j, record.TestT2, "50", "F")
		psi := 6894.757
		if f := find(t, run(t, j), "test_reach"); f.Band.Low == nil || math.Abs(*f.Band.Low/psi-14.4-want) > 3 || f.Verdict == Within {
			t.Errorf("%s F: %s, %+v", day, f.Verdict, f)
		}
	}
}

func TestChargeFindings(t *testing.T) {
	j := demo(t)
	set(t, j, record.LeakSearch, "", "")
	set(t, j, record.Recovered, "60", "oz")
	set(t, j, record.WeighedIn, "100", "oz")
	r := run(t, j)
	for _, k := range []string{"recovered_part", "charge_balance"} {
		if f := find(t, r, k); f.Verdict != Outside {
			t.Errorf("%s: %s, %.3g", k, f.Verdict, f.Value)
		}
	}
	// What the two compressors hold is not known: nothing agrees to a tenth.
	if f := find(t, run(t, demo(t)), "charge_balance"); f.Verdict != TooClose || f.Near == "" || f.U == 0 {
		t.Errorf("demo: %s ± %g", f.Verdict, f.U)
	}
}

// Volts too low do not hide behind microfarads that fit, nor the other way.
func TestCapacitorFindings(t *testing.T) {
	for _, c := range []struct {
		uF, volts  string
		uFV, voltV Verdict
	}{{"40", "370", Within, Outside}, {"50", "440", Outside, Within}, {"50", "370", Outside, Outside}, {"40", "440", Within, Within}} {
		j := demo(t)
		set(t, j, record.CapFitted, c.uF, "uF")
		set(t, j, record.CapVoltage, c.volts, "V")
		r := run(t, j)
		if m, v := find(t, r, "cap_match"), find(t, r, "cap_match_volts"); m.Verdict != c.uFV || v.Verdict != c.voltV {
			t.Errorf("%+v: %s, %s", c, m.Verdict, v.Verdict)
		}
	}
}

// One rule says how near the microfarads must be, for the plan and for the parts.
func TestOneRuleForMicrofarads(t *testing.T) {
	b, err := assets.FS.ReadFile("wiring-rules/rules.json")
	if err != nil {
		t.Fatal(err)
	}
	var book struct {
		Limits struct {
			Match float64 `json:"capacitor-match"`
		} `json:"limits"`
	}
	if err := json.Unmarshal(b, &book); err != nil {
		t.Fatal(err)
	}
	tables, err := supply.Load()
	if err != nil {
		t.Fatal(err)
	}
	if r, _ := tables.Rule("cap-match"); book.Limits.Match == 0 || r.Value != book.Limits.Match {
		t.Errorf("the parts are held to %g, the plan to %g", r.Value, book.Limits.Match)
	}
}

// What failed and the readings are held against each other; readings that cannot be are
// named, and an open line is not taken for an open winding.
func TestFailureAgainstReadings(t *testing.T) {
	open := record.OpenLine
	for _, c := range []struct {
		kind, cs, cr, sr, meg string
		want                  Verdict
		says                  string
	}{
		{"grounded winding", "1.61", "0.48", "2.08", "0.01", Within, "path to the case"},
		{"seized", "1.61", "0.48", "2.08", "0.01", Outside, "path to the case"},
		{"open winding", open, "0.48", open, "300", Within, "start winding open"},
		{"open winding", "1.61", open, open, "300", Within, "run winding open"},
		{"open winding", open, open, "2.08", "300", NotJudged, "cool"}, // or an overload that is open
		{"seized", open, open, "2.08", "300", Outside, "internal overload"},
		{"open winding", open, "0.48", "2.08", "300", Outside, "pair alone cannot be"},
		{"open winding", "1.61", "0.48", "2.08", "300", Outside, "both windings continuous"},
		{"seized", "1.61", "0.48", "5.0", "300", Outside, "disagree"},
		{"shorted winding", "1.61", "0.48", "2.08", "300", NotMeasured, ""},
	} {
		j := demo(t)
		set(t, j, record.FailureKind, c.kind, "")
		for k, v := range map[record.Key]string{record.OldRCS: c.cs, record.OldRCR: c.cr, record.OldRSR: c.sr} {
			set(t, j, k, v, "ohm")
		}
		set(t, j, record.OldInsulation, c.meg, "Mohm")
		f := find(t, run(t, j), "failure_told")
		if f.Verdict != c.want || !strings.Contains(f.Next, c.says) {
			t.Errorf("%+v: %s, %s %s", c, f.Verdict, f.Next, f.Reason)
		}
	}
}

// The edition is a setting, and stands beside the verdict.
func TestEditionIsNamed(t *testing.T) {
	j := demo(t)
	set(t, j, record.NewRLA, "18", "A")
	set(t, j, record.FanFLA, "", "")
	set(t, j, record.Breaker, "35", "A")
	for edition, want := range map[string]Verdict{"": Outside, record.SizeDown: Outside, record.SizeUp: Within} {
		set(t, j, record.CodeEdition, edition, "")
		if f := find(t, run(t, j), "breaker_fit"); f.Verdict != want || !strings.Contains(f.Next, "2023") {
			t.Errorf("%q: %s, %s", edition, f.Verdict, f.Next)
		}
	}
}

// A compressor for another supply keeps the unit off.
func TestWrongVoltageKeepsItOff(t *testing.T) {
	t.Parallel()
	j := demo(t)
	set(t, j, record.NewVoltage, "230", "V")
	r := run(t, j)
	found := false
	for _, m := range r.Against {
		found = found || m.Key == "fit/volts" && m.Stand == IsOutside
	}
	if !found || r.Gate(Energising).Open {
		t.Errorf("230 V on 208 V: %v", r.Gate(Energising).By)
	}
	// A plate's range is kept as one, and used as one.
	for plate, fits := range map[string]bool{"208-230": true, "200-208": true, "220-240": false, "230": false} {
		set(t, j, record.NewVoltage, plate, "V")
		if got := j.Text(record.NewVoltage); got != plate {
			t.Errorf("%s is kept as %s", plate, got)
		}
		misfit := false
		for _, m := range run(t, j).Against {
			misfit = misfit || m.Key == "fit/volts"
		}
		if misfit == fits {
			t.Errorf("a compressor marked %s V on 208 V: misfit %v", plate, misfit)
		}
	}
}

// Of a range on the old unit's plate, the supply at hand is asked about.
func TestWhichEndIsConnected(t *testing.T) {
	j := demo(t)
	err := j.Set(record.Entry{Key: record.RatedVoltage, Value: "208-230", Unit: "V"})
	var fe *record.FieldError
	if !errors.As(err, &fe) || len(fe.Meanings) != 2 {
		t.Errorf("208-230 V as the supply: %v", err)
	}
}

// Each part is tested at what it sees: with the service valves shut the outdoor unit has
// its own test or none. Without the low side's design pressure, or too close to it, no
// hold is within.
func TestEachPartIsTested(t *testing.T) {
	t.Parallel()
	job := func() *record.Job { // its plate allows 400 psig on both sides
		j := demo(t)
		set(t, j, record.LeakSearch, "", "")
		set(t, j, record.DesignLow, "400", "psig")
		set(t, j, record.DesignHigh, "450", "psig")
		set(t, j, record.TestT1, "80", "F")
		set(t, j, record.TestT2, "80", "F")
		for _, e := range []record.Entry{{Key: record.TestP1, Value: "350"}, {Key: record.TestP2, Value: "350"}} {
			was, _ := j.Entry(e.Key)
			e.Unit, e.Instrument, e.Time = "psig", was.Instrument, was.Time
			if err := j.Set(e); err != nil {
				t.Fatal(err)
			}
		}
		return j
	}
	for _, c := range []struct {
		name  string
		set   []entry
		reach Verdict
		limit Verdict
		hold  Verdict
	}{
		{"open valves", nil, Within, Within, Within},
		{"valves shut, the outdoor unit not tested", []entry{{record.TestValves, record.ValvesShut, ""}, {record.TestOutdoor, "", ""}}, NotJudged, Within, NotJudged},
		{"valves shut, the outdoor unit tested at little", []entry{{record.TestValves, record.ValvesShut, ""}, {record.TestOutdoor, "150", "psig"}}, Outside, Within, NotJudged},
		{"valves shut, both tested", []entry{{record.TestValves, record.ValvesShut, ""}, {record.TestOutdoor, "350", "psig"}}, Within, Within, Within},
		{"the outdoor unit tested above the plate", []entry{{record.TestValves, record.ValvesShut, ""}, {record.TestOutdoor, "420", "psig"}}, Within, Outside, NotJudged},
		{"no design pressure", []entry{{record.DesignLow, "", ""}, {record.DesignHigh, "", ""}}, Within, NotJudged, NotJudged},
		{"the high side's alone", []entry{{record.DesignLow, "", ""}}, Within, NotJudged, NotJudged},
		{"above the high side's, the low side's not entered", []entry{{record.DesignLow, "", ""}, {record.DesignHigh, "300", "psig"}}, Within, Outside, NotJudged},
		{"at the limit", []entry{{record.DesignLow, "350.5", "psig"}}, Within, TooClose, NotJudged},
		{"searched instead", []entry{{record.TestValves, record.ValvesShut, ""}, {record.TestOutdoor, "150", "psig"}, {record.LeakSearch, record.LeakNone, ""}}, NotJudged, Within, Within},
	} {
		j := job()
		for _, e := range c.set {
			set(t, j, e.key, e.value, e.unit)
		}
		r := run(t, j)
		reach, limit, hold := find(t, r, "test_reach"), find(t, r, "test_limit"), find(t, r, "pressure_hold")
		if reach.Verdict != c.reach || limit.Verdict != c.limit || hold.Verdict != c.hold {
			t.Errorf("%s: reach %s (%s), limit %s (%s), hold %s (%s)", c.name, reach.Verdict, reach.Reason, limit.Verdict, limit.Reason, hold.Verdict, hold.Reason)
		}
		if s := state(t, r, record.CloseUp); c.hold != Within && s.Word == Done {
			t.Errorf("%s: close-up is done", c.name)
		}
	}
}
