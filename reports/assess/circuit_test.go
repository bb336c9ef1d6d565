package assess

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"retrostage/reports/record"
	"retrostage/wiring/supply"
)

// The electrical rules on the demo (RLA 19.2 A, LRA 112 A, fan 1.4 A, 45 ft of
// 10 AWG, 208 V, 45 uF), each pushed over its limit. MCA 25.4 A and MOCP 35 A
// by the arithmetic of the worked answers that package supply is tested with.
func TestElectricalRules(t *testing.T) {
	for _, c := range []struct {
		key, value, unit string
		finding          string
		want             Verdict
	}{
		{"breaker", "40", "A", "breaker_fit", Outside},
		{"breaker", "35", "A", "breaker_fit", Within},
		{"breaker", "30", "A", "breaker_fit", Within},
		{"breaker", "20", "A", "breaker_fit", Outside},
		{"breaker", "", "", "breaker_fit", NotMeasured},
		{"new_rla", "", "", "breaker_fit", NotJudged},
		{"wire_gauge", "12 AWG", "", "mca_wire", Outside},
		{"wire_gauge", "10 AWG", "", "mca_wire", Within},
		{"wire_gauge", "", "", "mca_wire", NotJudged},
		{"new_rla", "", "", "mca_wire", NotMeasured},
		{"wire_gauge", "", "", "branch_drop", NotMeasured},
		{"wire_length", "150", "ft", "branch_drop", Outside},
		{"contactor_fla", "20", "A", "contactor_fla", Outside},
		{"contactor_fla", "30", "A", "contactor_fla", Within},
		{"contactor_lra", "100", "A", "contactor_lra", Outside},
		{"new_lra", "", "", "contactor_lra", NotJudged},
		{"contact_resistance", "5", "mohm", "contact_drop", TooClose}, // an ordinary ohmmeter cannot tell
		{"contact_resistance", "60", "mohm", "contact_drop", Outside},
		{"supply_voltage_start", "180", "V", "start_voltage", Outside},
		{"supply_voltage_start", "187.5", "V", "start_voltage", TooClose},
		{"supply_voltage_start", "195", "V", "start_voltage", Within},
		{"cap_volts", "460", "V", "cap_stress", Outside},
		{"cap_volts", "437", "V", "cap_stress", TooClose},
		{"cap_voltage", "", "", "cap_stress", NotJudged},
		{"run_lead_current", "16", "A", "lead_closure", Within},
		{"run_lead_current", "9", "A", "lead_closure", Outside},
		{"run_lead_current", "26", "A", "lead_closure", Outside},
		{"run_lead_current", "0", "A", "lead_closure", NotMeasured},
		{"control_current", "0.6", "A", "control_load", Within},
		{"control_current", "2", "A", "control_load", Outside},
		{"insulation", "2", "Mohm", "insulation_40", Outside},
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
	set(t, j, "winding_temp", "140", "F") // 60 C
	set(t, j, "insulation", "500", "Mohm")
	set(t, j, "r_cs", "2.6", "ohm")
	r := run(t, j)
	for key, want := range map[string]float64{"winding_start_25": 2.2910, "insulation_40": 2000e6, "mca_wire": 25.4} {
		if f := find(t, r, key); math.Abs(f.Value/want-1) > 5e-5 {
			t.Errorf("%s %g, want %g", key, f.Value, want)
		}
	}
	set(t, j, "winding_temp", "77", "F") // 500 at 25 C is 177 at 40 C
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
	rows, err := OldNew(j)
	if err != nil {
		t.Fatal(err)
	}
	if bad := supply.Misfits(rows); len(bad) != 1 || bad[0].Key != "breaker" || bad[0].Old != 45 || bad[0].New != 35 || bad[0].Fitted != 40 {
		t.Errorf("%+v", bad)
	}
	set(t, j, "cap_fitted", "50", "uF")
	if rows, err = OldNew(j); err != nil {
		t.Fatal(err)
	}
	bad := supply.Misfits(rows)
	if len(bad) != 2 || bad[0].Key != "capacitor" || !strings.Contains(bad[0].Check.Why, "left in") {
		t.Errorf("%+v", bad)
	}
	if _, err := json.Marshal(rows); err != nil {
		t.Error(err)
	}
	empty, err := OldNew(record.New("e"))
	if err != nil || len(empty) != len(rows) || len(supply.Misfits(empty)) != 0 {
		t.Errorf("%d rows, %v", len(empty), err)
	}
}
