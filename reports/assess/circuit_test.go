package assess

import (
	"encoding/json"
	"math"
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
