package assess

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"retrostage/reports/record"
)

type typed = entry

// Each finding, pushed to each side of its limit, says what follows. The numbers
// are worked by hand beside each line.
func TestMoreElectrical(t *testing.T) {
	t.Parallel()
	windings := func(cs, cr, sr, temp string) []typed {
		return []typed{{record.RCS, cs, "ohm"}, {record.RCR, cr, "ohm"}, {record.RSR, sr, "ohm"}, {record.WindingTemp, temp, "F"}}
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
		{"grounded", with(windings("2.4", "0.6", "3", "77"), typed{record.RCase, "200", "ohm"}), "winding_state", Outside, "Path to the case"},
		{"case open", with(windings("2.4", "0.6", "3", "77"), typed{record.RCase, "open", ""}), "winding_state", Within, "continuous"},
		{"grounded by insulation", with(windings("2.4", "0.6", "3", "77"), typed{record.Insulation, "0.2", "Mohm"}), "winding_state", Outside, "Path to the case"},
		{"turns shorted", with(windings("1.2", "0.6", "1.8", "77"), typed{record.NewRStart, "2.4", "ohm"}), "winding_state", Outside, "shorted turns"},
		{"leads exchanged", windings("0.6", "2.4", "3", "77"), "winding_state", Outside, "exchanged"},
		{"two read", windings("2.4", "0.6", "", "77"), "winding_state", NotMeasured, ""},
		// 2.6 ohm at 60 C is 2.29 at 25 C: in 2.4 +- 10 %; 2.4 at 60 C is 2.115.
		{"start by data", []typed{{record.RCS, "2.6", "ohm"}, {record.WindingTemp, "140", "F"}, {record.NewRStart, "2.4", "ohm"}}, "winding_start_25", Within, ""},
		{"start below data", []typed{{record.RCS, "2.2", "ohm"}, {record.WindingTemp, "140", "F"}, {record.NewRStart, "2.4", "ohm"}}, "winding_start_25", Outside, ""},
		{"start without data", []typed{{record.RCS, "2.2", "ohm"}, {record.WindingTemp, "140", "F"}}, "winding_start_25", NotJudged, "25 °C"},

		{"pins", []typed{{record.Pin12, "3", "ohm"}, {record.Pin23, "0.6", "ohm"}, {record.Pin13, "2.4", "ohm"}}, "pins", Within, "Common is pin 3, start pin 1, run pin 2"},
		{"pins too near", []typed{{record.Pin12, "3", "ohm"}, {record.Pin23, "1.48", "ohm"}, {record.Pin13, "1.5", "ohm"}}, "pins", TooClose, "not certain"},

		{"test voltage", []typed{{record.InsulationVolts, "500", "V"}}, "insulation_test", Within, ""},
		{"other test voltage", []typed{{record.InsulationVolts, "250", "V"}}, "insulation_test", Outside, "500 V"},
		// 300 Mohm at 30 C is 150 at 40 C; 100 at 40 C is two thirds of it, 60 is 0.4.
		{"trend", []typed{{record.InsulationBefore, "300 30 C", ""}, {record.Insulation, "100", "Mohm"}, {record.WindingTemp, "104", "F"}}, "insulation_trend", Within, ""},
		{"trend down", []typed{{record.InsulationBefore, "300 86\n200 86", ""}, {record.Insulation, "60", "Mohm"}, {record.WindingTemp, "104", "F"}}, "insulation_trend", Outside, ""},
		{"trend unreadable", []typed{{record.InsulationBefore, "300 86\nmuch", ""}, {record.Insulation, "60", "Mohm"}, {record.WindingTemp, "104", "F"}}, "insulation_trend", NotMeasured, ""},

		// 24 V and 9 VA: 64 ohm.
		{"coil", []typed{{record.CoilOhms, "14", "ohm"}, {record.CoilVA, "9", "VA"}}, "coil_ohms", Within, ""},
		{"coil of another voltage", []typed{{record.CoilOhms, "300", "ohm"}, {record.CoilVA, "9", "VA"}}, "coil_ohms", Outside, ""},
		{"coil shorted", []typed{{record.CoilOhms, "0", "ohm"}, {record.CoilVA, "9", "VA"}}, "coil_ohms", TooClose, ""},
		{"coil open", []typed{{record.CoilOhms, "open", ""}, {record.CoilVA, "9", "VA"}}, "coil_ohms", Outside, "open"},
		{"coil without VA", []typed{{record.CoilOhms, "14", "ohm"}}, "coil_ohms", NotMeasured, "VA"},
		{"120 V solenoid", []typed{{record.SolenoidOhms, "300", "ohm"}, {record.SolenoidVA, "15", "VA"}, {record.SolenoidVolts, "120", "V"}}, "solenoid_ohms", Within, ""},
		{"solenoid open", []typed{{record.SolenoidOhms, "open", ""}, {record.SolenoidVA, "15", "VA"}}, "solenoid_ohms", Outside, "open"},

		// 240 V and 40 W: 1440 ohm +- 10 %.
		{"heater", []typed{{record.HeaterOhms, "1450", "ohm"}, {record.HeaterWatts, "40", "W"}, {record.HeaterVolts, "240", "V"}}, "heater_ohms", Within, ""},
		{"heater of another wattage", []typed{{record.HeaterOhms, "820", "ohm"}, {record.HeaterWatts, "40", "W"}, {record.HeaterVolts, "240", "V"}}, "heater_ohms", Outside, ""},
		{"heater open", []typed{{record.HeaterOhms, "open", ""}, {record.HeaterWatts, "40", "W"}, {record.HeaterVolts, "240", "V"}}, "heater_ohms", Outside, "open"},
		{"heater that regulates itself", []typed{{record.HeaterOhms, "500", "ohm"}, {record.HeaterWatts, "40", "W"}, {record.HeaterVolts, "240", "V"}, {record.HeaterKind, record.HeaterSelf, ""}}, "heater_ohms", NotJudged, "ontinuous"},
		{"the same, open", []typed{{record.HeaterOhms, "open", ""}, {record.HeaterWatts, "40", "W"}, {record.HeaterVolts, "240", "V"}, {record.HeaterKind, record.HeaterSelf, ""}}, "heater_ohms", Outside, "open"},

		{"fan section", []typed{{record.CapFanMeter, "5.02", "uF"}, {record.FanCapRating, "5", "uF"}}, "cap_fan_meter", TooClose, ""}, // +- 0.3 by +- 0.35
		{"fan section low", []typed{{record.CapFanMeter, "3.9", "uF"}, {record.FanCapRating, "5", "uF"}}, "cap_fan_meter", Outside, ""},
		// 45 and 5 in series: 4.5.
		{"outer", []typed{{record.CapMeter, "45", "uF"}, {record.CapFanMeter, "5", "uF"}, {record.CapOuter, "4.5", "uF"}}, "cap_outer", Within, ""},
		{"outer, sections bridged", []typed{{record.CapMeter, "45", "uF"}, {record.CapFanMeter, "5", "uF"}, {record.CapOuter, "8", "uF"}}, "cap_outer", Outside, ""},
		{"outer alone", []typed{{record.CapMeter, "45", "uF"}, {record.CapOuter, "8", "uF"}}, "cap_outer", NotJudged, "both sections"},
		{"from stock", []typed{{record.CapStock, "35 440\n10 440 5\n40 440", ""}, {record.CapRating, "45", "uF"}}, "cap_stock", Within, "35 + 10 µF: 42.4 to 47.6"},
		{"stock of too few volts", []typed{{record.CapStock, "35 370\n10 440", ""}, {record.CapRating, "45", "uF"}, {record.CapVoltageNeeded, "440", "V"}}, "cap_stock", NotMeasured, ""},
		{"stock unreadable", []typed{{record.CapStock, "35 440\n10", ""}}, "cap_stock", NotMeasured, ""},

		// RLA 19.2, fan 1.4: MCA 25.4 A, MOCP 35 A. 10 AWG is 30 A at 60 C; at 110 F
		// 0.71 x 30 = 21.3 A; at 90 C insulation and 75 C terminals 0.87 x 40 = 34.8 A;
		// the same with six together 27.84 A, with nine 24.36 A.
		{"attic", []typed{{record.WireAmbient, "110", "F"}}, "mca_wire", Outside, ""},
		{"attic, 90 C on 75 C", []typed{{record.WireAmbient, "110", "F"}, {record.WireRating, record.Rating90, ""}, {record.TerminalRating, record.Rating75, ""}}, "mca_wire", Within, ""},
		{"six together", []typed{{record.WireAmbient, "110", "F"}, {record.WireRating, record.Rating90, ""}, {record.TerminalRating, record.Rating75, ""}, {record.WireBundle, "6", "n"}}, "mca_wire", Within, ""},
		{"nine together", []typed{{record.WireAmbient, "110", "F"}, {record.WireRating, record.Rating90, ""}, {record.TerminalRating, record.Rating75, ""}, {record.WireBundle, "9", "n"}}, "mca_wire", Outside, ""},
		{"too hot for 60 C", []typed{{record.WireAmbient, "140", "F"}}, "mca_wire", NotJudged, "mbient temperature is 333.15 K"},
		{"selection current", []typed{{record.NewBCSC, "24", "A"}}, "mca_wire", Outside, ""}, // 31.4 A on 30 A
		{"small conductor", []typed{{record.Breaker, "40", "A"}, {record.WireGauge, "12 AWG", ""}}, "small_conductor", Within, "not bound by the 20 A of 12 AWG"},
		{"no small conductor", []typed{{record.Breaker, "40", "A"}, {record.WireGauge, "8 AWG", ""}}, "small_conductor", Within, "no small conductor"},

		{"range A", []typed{{record.SupplySystem, record.SystemWye, ""}, {record.SupplyVoltage, "205", "V"}}, "supply_range", Within, ""},
		{"range B", []typed{{record.SupplySystem, record.SystemWye, ""}, {record.SupplyVoltage, "183.5", "V"}}, "supply_range", Outside, "range B"},
		{"split system", []typed{{record.SupplySystem, record.SystemSplit, ""}, {record.SupplyVoltage, "200", "V"}}, "supply_range", Outside, "outside range B"},
		// The example of 203, 210 and 212 V: 2.56 %, more than an ordinary voltmeter's
		// doubt of +-1 % each can settle; 190, 210, 220: 8.06 %.
		{"unbalance", []typed{{record.SupplyV12, "203", "V"}, {record.SupplyV23, "210", "V"}, {record.SupplyV13, "212", "V"}}, "unbalance", Outside, "of its rated load"},
		{"large unbalance", []typed{{record.SupplyV12, "190", "V"}, {record.SupplyV23, "210", "V"}, {record.SupplyV13, "220", "V"}}, "unbalance", Outside, "not to be run"},
		{"start, coil", []typed{{record.SupplyVoltageStart, "195", "V"}}, "start_coil", Within, ""},            // 0.9375
		{"start, coil drops out", []typed{{record.SupplyVoltageStart, "160", "V"}}, "start_coil", Outside, ""}, // 0.77
		{"inrush", []typed{{record.InrushCurrent, "90", "A"}}, "inrush", Within, "proves nothing"},
		{"inrush over LRA", []typed{{record.InrushCurrent, "130", "A"}}, "inrush", Outside, "slow to turn"},
		{"inrush, LRA unknown", []typed{{record.InrushCurrent, "130", "A"}, {record.NewLRA, "", ""}}, "inrush", Outside, "six times"}, // 115.2 A
		{"class 2", []typed{{record.TransformerVA, "40", "VA"}}, "transformer_class2", Within, ""},
		{"more than class 2", []typed{{record.TransformerVA, "150", "VA"}}, "transformer_class2", Outside, ""},
		{"power factor", []typed{{record.InputPower, "3000", "W"}, {record.SupplyVoltage, "208", "V"}, {record.RunCurrent, "15", "A"}, {record.FanCurrent, "1.2", "A"}}, "power_factor", Within, ""},
		{"power factor that cannot be", []typed{{record.InputPower, "9000", "W"}, {record.SupplyVoltage, "208", "V"}, {record.RunCurrent, "15", "A"}, {record.FanCurrent, "1.2", "A"}}, "power_factor", NotMeasured, ""},
	} {
		j := demo(t)
		for _, key := range []record.Key{record.RCS, record.RCR, record.RSR, record.RCase, record.Insulation, record.WindingTemp, record.NewRStart, record.NewRRun} {
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
	for _, q := range []typed{{record.CapCurrent, "9.9", "A"}, {record.RunLeadCurrent, "13", "A"}, {record.RunCurrent, abs(start + run1), "A"},
		{record.SupplyVoltage, "240", "V"}, {record.CapVolts, "350", "V"}, {record.StartWindingVolts, abs(240 - capacitor), "V"}} {
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
	n := 0
	for _, d := range slices.Concat(deadChecks, circuitChecks, liveChecks) {
		if d.applies == nil {
			continue
		}
		n++
		if _, there := r.Find(d.key); there {
			t.Errorf("%s in an empty job", d.key)
		}
	}
	if n < 18 {
		t.Errorf("only %d findings belong to some jobs", n)
	}
}
