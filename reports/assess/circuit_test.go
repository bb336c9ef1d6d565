package assess

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"retrostage/reports/record"
	"retrostage/wiring/supply"

	"pgregory.net/rapid"
)

// The electrical rules on the demo (RLA 19.2 A, LRA 112 A, fan 1.4 A, 45 ft of
// 10 AWG, 208 V, 45 uF), each pushed over its limit. MCA 25.4 A and MOCP 35 A
// by the arithmetic of the worked answers that package supply is tested with.
func TestElectricalRules(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		key         record.Key
		value, unit string
		finding     string
		want        Verdict
	}{
		{record.Breaker, "40", "A", "breaker_fit", Outside},
		{record.Breaker, "35", "A", "breaker_fit", Within},
		{record.Breaker, "30", "A", "breaker_fit", Within},
		{record.Breaker, "20", "A", "breaker_fit", Outside},
		{record.Breaker, "", "", "breaker_fit", NotMeasured},
		{record.NewRLA, "", "", "breaker_fit", NotJudged},
		{record.WireGauge, "12 AWG", "", "mca_wire", Outside},
		{record.WireGauge, "10 AWG", "", "mca_wire", Within},
		{record.WireGauge, "", "", "mca_wire", NotJudged},
		{record.NewRLA, "", "", "mca_wire", NotMeasured},
		{record.WireGauge, "", "", "branch_drop", NotMeasured},
		{record.WireLength, "150", "ft", "branch_drop", Outside},
		{record.ContactorFLA, "20", "A", "contactor_fla", Outside},
		{record.ContactorFLA, "30", "A", "contactor_fla", Within},
		{record.ContactorLRA, "100", "A", "contactor_lra", Outside},
		{record.NewLRA, "", "", "contactor_lra", NotJudged},
		{record.ContactResistance, "5", "mohm", "contact_drop", TooClose}, // an ordinary ohmmeter cannot tell
		{record.ContactResistance, "60", "mohm", "contact_drop", Outside},
		{record.SupplyVoltageStart, "180", "V", "start_voltage", Outside},
		{record.SupplyVoltageStart, "187.5", "V", "start_voltage", TooClose},
		{record.SupplyVoltageStart, "195", "V", "start_voltage", Within},
		{record.CapVolts, "460", "V", "cap_stress", Outside},
		{record.CapVolts, "437", "V", "cap_stress", TooClose},
		{record.CapVoltage, "", "", "cap_stress", NotJudged},
		{record.RunLeadCurrent, "16", "A", "lead_closure", Within},
		{record.RunLeadCurrent, "9", "A", "lead_closure", Outside},
		{record.RunLeadCurrent, "26", "A", "lead_closure", Outside},
		{record.RunLeadCurrent, "0", "A", "lead_closure", NotMeasured},
		{record.ControlCurrent, "0.6", "A", "control_load", Within},
		{record.ControlCurrent, "2", "A", "control_load", Outside},
		{record.Insulation, "2", "Mohm", "insulation_40", Outside},
	} {
		j := demo(t)
		set(t, j, c.key, c.value, c.unit)
		f := find(t, run(t, j), c.finding)
		if f.Verdict != c.want || f.Next == "" {
			t.Errorf("%s %q %s: %s is %q (%s), want %q; next %q", c.key, c.value, c.unit, c.finding, f.Verdict, f.Reason, c.want, f.Next)
		}
	}
}

// Values against the sources that package supply names: copper by 234.5,
// insulation halved per 10 C, MCA 1.25 x 19.2 + 1.4.
func TestElectricalValues(t *testing.T) {
	j := demo(t)
	set(t, j, record.WindingTemp, "140", "F") // 60 C
	set(t, j, record.Insulation, "500", "Mohm")
	set(t, j, record.RCS, "2.6", "ohm")
	r := run(t, j)
	for key, want := range map[string]float64{"winding_start_25": 2.2910, "insulation_40": 2000e6, "mca_wire": 25.4} {
		if f := find(t, r, key); math.Abs(f.Value/want-1) > 5e-5 {
			t.Errorf("%s %g, want %g", key, f.Value, want)
		}
	}
	set(t, j, record.WindingTemp, "77", "F") // 500 at 25 C is 177 at 40 C
	if f := find(t, run(t, j), "insulation_40"); math.Abs(f.Value/177e6-1) > 0.003 {
		t.Errorf("%g ohm", f.Value)
	}
	b := find(t, r, "breaker_fit").Band
	if b.Low == nil || b.High == nil || math.Abs(*b.Low-25.4) > 1e-9 || *b.High != 35 {
		t.Errorf("%+v", b)
	}
}

// The table finds the demo's breaker, and the old capacitor where it is left in.
func TestOldNew(t *testing.T) {
	j := demo(t)
	rows, err := New(j).OldAgainstNew()
	if err != nil {
		t.Fatal(err)
	}
	if bad := misfits(rows); len(bad) != 1 || bad[0].Key != "breaker" || bad[0].Old != 45 || bad[0].New != 35 || bad[0].Fitted != 40 {
		t.Errorf("%+v", bad)
	}
	set(t, j, record.CapFitted, "50", "uF")
	if rows, err = New(j).OldAgainstNew(); err != nil {
		t.Fatal(err)
	}
	bad := misfits(rows)
	if len(bad) != 2 || bad[0].Key != "capacitor" || !strings.Contains(bad[0].Check.Why, "left in") {
		t.Errorf("%+v", bad)
	}
	if _, err := json.Marshal(rows); err != nil {
		t.Error(err)
	}
	empty, err := New(record.New("e")).OldAgainstNew()
	if err != nil || len(empty) != len(rows) || len(misfits(empty)) != 0 {
		t.Errorf("%d rows, %v", len(empty), err)
	}
}

// misfits are the rows whose part does not fit the new compressor.
func misfits(rows []supply.Row) []supply.Row {
	var bad []supply.Row
	for _, r := range rows {
		if r.Check != nil && r.Check.Outcome == supply.Misfit {
			bad = append(bad, r)
		}
	}
	return bad
}

// One question has one answer: a row of old against new that a finding judges never
// says another word than the finding, whatever is fitted.
func TestOldNewFollowsTheFindings(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		j := demo(t)
		for k, q := range map[record.Key]struct {
			unit   string
			values []string
		}{
			record.CapFitted:    {"uF", []string{"35", "38", "40", "42", "45", "50", "40.01"}},
			record.Breaker:      {"A", []string{"20", "25", "30", "35", "40", "50"}},
			record.ContactorFLA: {"A", []string{"17.9", "18", "20", "25", "30"}},
		} {
			if rapid.Bool().Draw(r, k.String()) {
				set(t, j, k, rapid.SampledFrom(q.values).Draw(r, k.String()+" is"), q.unit)
			}
		}
		a := New(j)
		rows, err := a.OldAgainstNew()
		if err != nil {
			r.Fatal(err)
		}
		report, err := a.Report()
		if err != nil {
			r.Fatal(err)
		}
		n := 0
		for _, row := range rows {
			for _, f := range report.Findings {
				if f.Key != judgedBy[row.Key] || f.Verdict == NotMeasured || f.Verdict == NotJudged || row.Check == nil {
					continue
				}
				n++
				want := map[Verdict]supply.Outcome{Within: supply.Fits, Outside: supply.Misfit, TooClose: supply.Unknown}[f.Verdict]
				if row.Check.Outcome != want {
					r.Errorf("%s: the row says %s (%s), the finding %s", row.Key, row.Check.Outcome, row.Check.Why, f.Verdict)
				}
			}
		}
		if n < 4 {
			r.Errorf("only %d rows have a finding that judges", n)
		}
	})
}

// Contactor and disconnect carry the sums with the fan; the disconnect's place and the
// new compressor's own protection are findings: NEC 440.12(B), 440.14, 440.41(B), 440.52
// as read in the 2023 text.
func TestSumsPlaceAndProtection(t *testing.T) {
	t.Parallel()
	lra, _ := demo(t).SI(record.NewLRA, 0)
	fan, _ := demo(t).SI(record.FanFLA, 0)
	amps := func(x float64) string { return strconv.FormatFloat(x, 'f', 2, 64) }
	for _, c := range []struct {
		set     [][3]string
		finding string
		want    Verdict
	}{
		{[][3]string{{"contactor_lra", amps(lra + 6*fan - 0.1), "A"}}, "contactor_lra", Outside},
		{[][3]string{{"contactor_lra", amps(lra + 6*fan + 0.1), "A"}}, "contactor_lra", Within},
		{[][3]string{{"disconnect_place", record.No, ""}}, "disconnect_place", Outside},
		{[][3]string{{"disconnect_place", record.Yes, ""}}, "disconnect_place", Within},
		{nil, "overload", NotMeasured},
		{[][3]string{{"new_overload", record.OverloadUnknown, ""}}, "overload", Outside},
		{[][3]string{{"new_overload", record.OverloadInside, ""}}, "overload", Within},
		{[][3]string{{"new_overload", record.OverloadRelay, ""}}, "overload", NotMeasured},
		{[][3]string{{"new_overload", record.OverloadRelay, ""}, {"overload_trip", "26.8", "A"}}, "overload", Within}, // 1.4 x 19.2
		{[][3]string{{"new_overload", record.OverloadRelay, ""}, {"overload_trip", "27", "A"}}, "overload", Outside},
		{[][3]string{{"new_overload", record.OverloadDevice, ""}}, "overload", Outside}, // a breaker of 40 A, 1.25 x 19.2 = 24
		{[][3]string{{"new_overload", record.OverloadDevice, ""}, {"breaker", "", ""}}, "overload", NotMeasured},
		// 20.6 A with the fan: 5 hp by both columns, marked or not; 3 hp would carry 18.7.
		{[][3]string{{"new_lra", "", ""}, {"disconnect_hp", "3", ""}}, "disconnect_hp", Outside},
	} {
		j := demo(t)
		if c.finding == "overload" {
			set(t, j, record.NewOverload, "", "")
		}
		for _, e := range c.set {
			k, err := record.ByName(e[0])
			if err != nil {
				t.Fatal(err)
			}
			set(t, j, k.Key, e[1], e[2])
		}
		r := run(t, j)
		if f := find(t, r, c.finding); f.Verdict != c.want || f.Next == "" {
			t.Errorf("%v: %s, %s %s; want %s", c.set, f.Verdict, f.Next, f.Reason, c.want)
		} else if s := state(t, r, record.Electrical); f.Verdict == Outside && (s.Word == Done || s.Word == DoneReserved && !strings.Contains(s.Why, "Breaker")) {
			t.Errorf("%v: the step is %s, %s", c.set, s.Word, s.Why)
		}
	}
}

// The live checks that diagnose the old unit are findings of Cause. What they found
// stands against signing until it is answered: by the converted unit's own reading, or by
// what is said to have failed.
func TestOldUnitLive(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		set     [][3]string
		finding string
		want    Verdict
	}{
		{"low supply", [][3]string{{"cause_supply", "170", "V"}, {"supply_voltage", "", ""}}, "cause_supply", Outside},
		{"low, and low still", [][3]string{{"cause_supply", "170", "V"}, {"supply_voltage", "170", "V"}}, "cause_supply", Outside},
		{"low, put right", [][3]string{{"cause_supply", "170", "V"}, {"supply_voltage", "208", "V"}}, "cause_supply", NotJudged},
		{"right", [][3]string{{"cause_supply", "206", "V"}, {"supply_voltage", "", ""}}, "cause_supply", Within},
		{"no call", [][3]string{{"cause_call", record.No, ""}, {"control_voltage", "", ""}}, "cause_call", Outside},
		{"no call, put right", [][3]string{{"cause_call", record.No, ""}, {"control_voltage", "25", "V"}}, "cause_call", NotJudged},
		{"a call", [][3]string{{"cause_call", record.Yes, ""}, {"control_voltage", "", ""}}, "cause_call", Within},
		{"over its LRA", [][3]string{{"cause_inrush", "170", "A"}, {"old_lra", "110", "A"}, {"failure_kind", "seized", ""}}, "cause_inrush", Outside},
		{"over its LRA by shorted turns", [][3]string{{"cause_inrush", "170", "A"}, {"old_lra", "110", "A"}, {"failure_kind", "shorted winding", ""}}, "cause_inrush", NotJudged},
		{"at its LRA, which is no green word", [][3]string{{"cause_inrush", "105", "A"}, {"old_lra", "110", "A"}}, "cause_inrush", NotJudged},
		{"LRA not known", [][3]string{{"cause_inrush", "105", "A"}, {"old_lra", "", ""}}, "cause_inrush", NotMeasured},
	} {
		j := demo(t)
		for _, e := range c.set {
			k, err := record.ByName(e[0])
			if err != nil {
				t.Fatal(err)
			}
			set(t, j, k.Key, e[1], e[2])
		}
		r := run(t, j)
		f := find(t, r, c.finding)
		if f.Verdict != c.want || f.Step != record.Cause || f.Next == "" {
			t.Errorf("%s: %s in %s, %s %s; want %s", c.name, f.Verdict, f.Step, f.Next, f.Reason, c.want)
		}
		if s := state(t, r, record.Cause); f.Verdict == Outside && s.Word == Done {
			t.Errorf("%s: Cause is done", c.name)
		}
	}
	// One that was not looked at says nothing.
	j := demo(t)
	set(t, j, record.CauseCall, record.NotLooked, "")
	if _, ok := run(t, j).Find("cause_call"); ok {
		t.Error("a call that was not looked at is a finding")
	}
}
