package assess

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"retrostage/reports/record"
)

type typed struct{ key, value, unit string }

// Each finding, pushed to each side of its limit, says what follows. The numbers
// are worked by hand beside each line.
func TestMoreElectrical(t *testing.T) {
	windings := func(cs, cr, sr, temp string) []typed {
		return []typed{{"r_cs", cs, "ohm"}, {"r_cr", cr, "ohm"}, {"r_sr", sr, "ohm"}, {"winding_temp", temp, "F"}}
	}
	with := func(a []typed, b ...typed) []typed { return append(a, b...) }
	for _, c := range []struct {
		name    string
		in      []typed
		finding string
		want    Verdict
		words   string
	}{
		{"whole", windings("2.4", "0.6", "3", "77"), "winding_state", Within, "continuous"},
		{"start open", windings("open", "0.6", "open", "77"), "winding_state", Outside, "Start winding open"},
		{"run open", windings("2.4", "open", "open", "77"), "winding_state", Outside, "Run winding open"},
		{"overload open", windings("open", "open", "3", "77"), "winding_state", Outside, "overload open"},
		{"all open", windings("open", "open", "open", "77"), "winding_state", Outside, "More than one path open"},
		{"one open alone", windings("open", "0.6", "3", "77"), "winding_state", Outside, "disagree"},
		{"grounded", with(windings("2.4", "0.6", "3", "77"), typed{"r_case", "200", "ohm"}), "winding_state", Outside, "Path to the case"},
		{"case open", with(windings("2.4", "0.6", "3", "77"), typed{"r_case", "open", ""}), "winding_state", Within, "continuous"},
		{"grounded by insulation", with(windings("2.4", "0.6", "3", "77"), typed{"insulation", "0.2", "Mohm"}), "winding_state", Outside, "Path to the case"},
		{"turns shorted", with(windings("1.2", "0.6", "1.8", "77"), typed{"new_r_start", "2.4", "ohm"}), "winding_state", Outside, "shorted turns"},
		{"leads exchanged", windings("0.6", "2.4", "3", "77"), "winding_state", Outside, "exchanged"},
		{"two read", windings("2.4", "0.6", "", "77"), "winding_state", NotMeasured, ""},
		// 2.6 ohm at 60 C is 2.29 at 25 C: in 2.4 +- 10 %; 2.4 at 60 C is 2.115.
		{"start by data", []typed{{"r_cs", "2.6", "ohm"}, {"winding_temp", "140", "F"}, {"new_r_start", "2.4", "ohm"}}, "winding_start_25", Within, ""},
		{"start below data", []typed{{"r_cs", "2.2", "ohm"}, {"winding_temp", "140", "F"}, {"new_r_start", "2.4", "ohm"}}, "winding_start_25", Outside, ""},
		{"start without data", []typed{{"r_cs", "2.2", "ohm"}, {"winding_temp", "140", "F"}}, "winding_start_25", NotJudged, "25 °C"},

		{"pins", []typed{{"pin_12", "3", "ohm"}, {"pin_23", "0.6", "ohm"}, {"pin_13", "2.4", "ohm"}}, "pins", Within, "Common is pin 3, start pin 1, run pin 2"},
		{"pins too near", []typed{{"pin_12", "3", "ohm"}, {"pin_23", "1.48", "ohm"}, {"pin_13", "1.5", "ohm"}}, "pins", TooClose, "not certain"},

		{"test voltage", []typed{{"insulation_volts", "500", "V"}}, "insulation_test", Within, ""},
		{"other test voltage", []typed{{"insulation_volts", "250", "V"}}, "insulation_test", Outside, "500 V"},
		// 300 Mohm at 30 C is 150 at 40 C; 100 at 40 C is two thirds of it, 60 is 0.4.
		{"trend", []typed{{"insulation_before", "300 30 C", ""}, {"insulation", "100", "Mohm"}, {"winding_temp", "104", "F"}}, "insulation_trend", Within, ""},
		{"trend down", []typed{{"insulation_before", "300 86\n200 86", ""}, {"insulation", "60", "Mohm"}, {"winding_temp", "104", "F"}}, "insulation_trend", Outside, ""},
		{"trend unreadable", []typed{{"insulation_before", "300 86\nmuch", ""}, {"insulation", "60", "Mohm"}, {"winding_temp", "104", "F"}}, "insulation_trend", NotMeasured, ""},

		// 24 V and 9 VA: 64 ohm.
		{"coil", []typed{{"coil_ohms", "14", "ohm"}, {"coil_va", "9", "VA"}}, "coil_ohms", Within, ""},
		{"coil of another voltage", []typed{{"coil_ohms", "300", "ohm"}, {"coil_va", "9", "VA"}}, "coil_ohms", Outside, ""},
		{"coil shorted", []typed{{"coil_ohms", "0", "ohm"}, {"coil_va", "9", "VA"}}, "coil_ohms", TooClose, ""},
		{"coil open", []typed{{"coil_ohms", "open", ""}, {"coil_va", "9", "VA"}}, "coil_ohms", Outside, "open"},
		{"coil without VA", []typed{{"coil_ohms", "14", "ohm"}}, "coil_ohms", NotMeasured, "VA"},
		{"120 V solenoid", []typed{{"solenoid_ohms", "300", "ohm"}, {"solenoid_va", "15", "VA"}, {"solenoid_volts", "120", "V"}}, "solenoid_ohms", Within, ""},
		{"solenoid open", []typed{{"solenoid_ohms", "open", ""}, {"solenoid_va", "15", "VA"}}, "solenoid_ohms", Outside, "open"},

		// 240 V and 40 W: 1440 ohm +- 10 %.
		{"heater", []typed{{"heater_ohms", "1450", "ohm"}, {"heater_watts", "40", "W"}, {"heater_volts", "240", "V"}}, "heater_ohms", Within, ""},
		{"heater of another wattage", []typed{{"heater_ohms", "820", "ohm"}, {"heater_watts", "40", "W"}, {"heater_volts", "240", "V"}}, "heater_ohms", Outside, ""},
		{"heater open", []typed{{"heater_ohms", "open", ""}, {"heater_watts", "40", "W"}, {"heater_volts", "240", "V"}}, "heater_ohms", Outside, "open"},
		{"heater that regulates itself", []typed{{"heater_ohms", "500", "ohm"}, {"heater_watts", "40", "W"}, {"heater_volts", "240", "V"}, {"heater_kind", record.HeaterSelf, ""}}, "heater_ohms", NotJudged, "ontinuous"},
		{"the same, open", []typed{{"heater_ohms", "open", ""}, {"heater_watts", "40", "W"}, {"heater_volts", "240", "V"}, {"heater_kind", record.HeaterSelf, ""}}, "heater_ohms", Outside, "open"},

		{"fan section", []typed{{"cap_fan_meter", "5.02", "uF"}, {"fan_cap_rating", "5", "uF"}}, "cap_fan_meter", TooClose, ""}, // +- 0.3 by +- 0.35
		{"fan section low", []typed{{"cap_fan_meter", "3.9", "uF"}, {"fan_cap_rating", "5", "uF"}}, "cap_fan_meter", Outside, ""},
		// 45 and 5 in series: 4.5.
		{"outer", []typed{{"cap_meter", "45", "uF"}, {"cap_fan_meter", "5", "uF"}, {"cap_outer", "4.5", "uF"}}, "cap_outer", Within, ""},
		{"outer, sections bridged", []typed{{"cap_meter", "45", "uF"}, {"cap_fan_meter", "5", "uF"}, {"cap_outer", "8", "uF"}}, "cap_outer", Outside, ""},
		{"outer alone", []typed{{"cap_meter", "45", "uF"}, {"cap_outer", "8", "uF"}}, "cap_outer", NotJudged, "both sections"},
		{"from stock", []typed{{"cap_stock", "35 440\n10 440 5\n40 440", ""}, {"cap_rating", "45", "uF"}}, "cap_stock", Within, "35 + 10 µF: 42.4 to 47.6"},
		{"stock of too few volts", []typed{{"cap_stock", "35 370\n10 440", ""}, {"cap_rating", "45", "uF"}, {"cap_voltage_needed", "440", "V"}}, "cap_stock", NotMeasured, ""},
		{"stock unreadable", []typed{{"cap_stock", "35 440\n10", ""}}, "cap_stock", NotMeasured, ""},

		// RLA 19.2, fan 1.4: MCA 25.4 A, MOCP 35 A. 10 AWG is 30 A at 60 C; at 110 F
		// 0.71 x 30 = 21.3 A; at 90 C insulation and 75 C terminals 0.87 x 40 = 34.8 A;
		// the same with six together 27.84 A, with nine 24.36 A.
		{"attic", []typed{{"wire_ambient", "110", "F"}}, "mca_wire", Outside, ""},
		{"attic, 90 C on 75 C", []typed{{"wire_ambient", "110", "F"}, {"wire_rating", record.Rating90, ""}, {"terminal_rating", record.Rating75, ""}}, "mca_wire", Within, ""},
		{"six together", []typed{{"wire_ambient", "110", "F"}, {"wire_rating", record.Rating90, ""}, {"terminal_rating", record.Rating75, ""}, {"wire_bundle", "6", "n"}}, "mca_wire", Within, ""},
		{"nine together", []typed{{"wire_ambient", "110", "F"}, {"wire_rating", record.Rating90, ""}, {"terminal_rating", record.Rating75, ""}, {"wire_bundle", "9", "n"}}, "mca_wire", Outside, ""},
		{"too hot for 60 C", []typed{{"wire_ambient", "140", "F"}}, "mca_wire", NotJudged, "mbient temperature is 333.15 K"},
		{"selection current", []typed{{"new_bcsc", "24", "A"}}, "mca_wire", Outside, ""}, // 31.4 A on 30 A
		{"small conductor", []typed{{"breaker", "40", "A"}, {"wire_gauge", "12 AWG", ""}}, "small_conductor", Within, "not bound by the 20 A of 12 AWG"},
		{"no small conductor", []typed{{"breaker", "40", "A"}, {"wire_gauge", "8 AWG", ""}}, "small_conductor", Within, "no small conductor"},

		{"range A", []typed{{"supply_system", record.SystemWye, ""}, {"supply_voltage", "205", "V"}}, "supply_range", Within, ""},
		{"range B", []typed{{"supply_system", record.SystemWye, ""}, {"supply_voltage", "183.5", "V"}}, "supply_range", Outside, "range B"},
		{"split system", []typed{{"supply_system", record.SystemSplit, ""}, {"supply_voltage", "200", "V"}}, "supply_range", Outside, "outside range B"},
		// The example of 203, 210 and 212 V: 2.56 %, more than an ordinary voltmeter's
		// doubt of +-1 % each can settle; 190, 210, 220: 8.06 %.
		{"unbalance", []typed{{"supply_v12", "203", "V"}, {"supply_v23", "210", "V"}, {"supply_v13", "212", "V"}}, "unbalance", Outside, "of its rated load"},
		{"large unbalance", []typed{{"supply_v12", "190", "V"}, {"supply_v23", "210", "V"}, {"supply_v13", "220", "V"}}, "unbalance", Outside, "not to be run"},
		{"start, coil", []typed{{"supply_voltage_start", "195", "V"}}, "start_coil", Within, ""},            // 0.9375
		{"start, coil drops out", []typed{{"supply_voltage_start", "160", "V"}}, "start_coil", Outside, ""}, // 0.77
		{"inrush", []typed{{"inrush_current", "90", "A"}}, "inrush", Within, "proves nothing"},
		{"inrush over LRA", []typed{{"inrush_current", "130", "A"}}, "inrush", Outside, "slow to turn"},
		{"inrush, LRA unknown", []typed{{"inrush_current", "130", "A"}, {"new_lra", "", ""}}, "inrush", Outside, "six times"}, // 115.2 A
		{"class 2", []typed{{"transformer_va", "40", "VA"}}, "transformer_class2", Within, ""},
		{"more than class 2", []typed{{"transformer_va", "150", "VA"}}, "transformer_class2", Outside, ""},
		{"power factor", []typed{{"input_power", "3000", "W"}, {"supply_voltage", "208", "V"}, {"run_current", "15", "A"}, {"fan_current", "1.2", "A"}}, "power_factor", Within, ""},
		{"power factor that cannot be", []typed{{"input_power", "9000", "W"}, {"supply_voltage", "208", "V"}, {"run_current", "15", "A"}, {"fan_current", "1.2", "A"}}, "power_factor", NotMeasured, ""},
	} {
		j := demo(t)
		for _, key := range []string{"r_cs", "r_cr", "r_sr", "r_case", "insulation", "winding_temp", "new_r_start", "new_r_run"} {
			set(t, j, key, "", "")
		}
		for _, q := range c.in {
			set(t, j, q.key, q.value, q.unit)
		}
		f := find(t, run(t, j), c.finding)
		if f.Verdict != c.want || !strings.Contains(f.Next, c.words) || f.Next == "" {
			t.Errorf("%s: %s is %q (%s), want %q; next %q, want %q", c.name, c.finding, f.Verdict, f.Reason, c.want, f.Next, c.words)
		}
		if f.Verdict != NotMeasured && (f.Source == "" || f.Confidence == "" || f.Formula == "") {
			t.Errorf("%s: %s without source, confidence or formula: %+v", c.name, c.finding, f)
		}
	}
}

// The power factor by three voltages: phasors made for 240 V line, start current
// 9.9 A 40 degrees ahead, run current 13 A 45 degrees behind, and read back.
func TestPowerFactorFromVolts(t *testing.T) {
	j := demo(t)
	at := func(a, deg float64) complex128 {
		return complex(a*math.Cos(deg*math.Pi/180), a*math.Sin(deg*math.Pi/180))
	}
	abs := func(z complex128) string { return strconv.FormatFloat(math.Hypot(real(z), imag(z)), 'f', 6, 64) }
	start, run1 := at(9.9, 40), at(13, -45)
	capacitor := at(350, 40-90)
	for _, q := range []typed{{"cap_current", "9.9", "A"}, {"run_lead_current", "13", "A"}, {"run_current", abs(start + run1), "A"},
		{"supply_voltage", "240", "V"}, {"cap_volts", "350", "V"}, {"start_winding_volts", abs(240 - capacitor), "V"}} {
		set(t, j, q.key, q.value, q.unit)
	}
	sum := start + run1
	want := real(sum) / math.Hypot(real(sum), imag(sum))
	if f := find(t, run(t, j), "power_factor_volts"); math.Abs(f.Value-want) > 2e-4 || f.U <= 0 {
		t.Errorf("power factor %g with doubt %g (%s), want %g", f.Value, f.U, f.Reason, want)
	}
}

// None of them belongs to a job that says nothing of it.
func TestMoreElectricalStaysAway(t *testing.T) {
	r := run(t, record.New("empty"))
	for _, list := range [][]rule{moreDeadRules, moreCircuitRules, moreLiveRules} {
		for _, ru := range list {
			if _, there := r.Find(ru.key); there {
				t.Errorf("%s in an empty job", ru.key)
			}
		}
	}
}
