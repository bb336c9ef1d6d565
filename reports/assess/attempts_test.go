package assess

import (
	"slices"
	"strings"
	"testing"

	"retrostage/reports/record"
)

// attempt is one way to get a yes or a cause out of the running check that is not
// earned. What is true stands in truth: words of which a cause named alone must have
// one; with none, no cause may be named alone.
type attempt struct {
	name  string
	set   []entry
	never []string // findings that may not be within
	truth []string
	fine  bool // "no fault stands out" would not be false
}

func at(es ...entry) []entry { return es }

// running30 are attempts on the demo (R-410A, thermostatic valve, 4 ton, 1600 m, its
// unit in order). testdata/attempts/running.md lists them with what came of each.
func running30() []attempt {
	f := func(k record.Key, v string) entry { return entry{k, v, "F"} }
	psi := func(k record.Key, v string) entry { return entry{k, v, "psig"} }
	gas := []string{"isentropic_efficiency", "flow_deviation", "power_deviation", "current_deviation", "sides_agree"}
	return []attempt{
		// Copied readings.
		{"suction temperature copied from the liquid line", at(f(record.SuctionTemp, "101.2")), []string{"superheat"}, []string{"suction line temperature"}, false},
		{"liquid pressure copied from the suction", at(psi(record.LiquidPressure, "130.8")), []string{"subcooling", "condensing_over_ambient"}, []string{"liquid pressure"}, false},
		{"discharge temperature copied from the liquid line", at(f(record.DischargeTemp, "101.2")), []string{"isentropic_efficiency", "flow_deviation"}, []string{"discharge temperature"}, false},
		{"supply air copied from the return", at(f(record.SupplyDB, "77"), f(record.SupplyWB, "65")), []string{"split_error", "sides_agree"}, []string{"supply air", "pump"}, false},
		{"supply wet bulb copied from the return", at(f(record.SupplyWB, "65")), []string{"sides_agree"}, nil, true},
		{"outdoor air copied from the liquid line", at(f(record.OutdoorTemp, "101.2")), []string{"approach"}, nil, true},
		{"standing pressure copied from the liquid", at(psi(record.RestPressure, "377.2")), nil, []string{"standing pressure"}, false},
		{"liquid at the valve copied from the suction", at(f(record.ValveTemp, "55.5")), nil, []string{"metering device", "drier", "restriction", "liquid line"}, false},
		// One wrong instrument; the unit itself is in order.
		{"suction clamp 9 F low", at(f(record.SuctionTemp, "46.5")), []string{"superheat", "isentropic_efficiency"}, []string{"suction line temperature"}, true},
		{"suction clamp in the sun, 20 F high", at(f(record.SuctionTemp, "75.5")), nil, []string{"suction line temperature"}, true},
		{"liquid clamp loose, 7 F low", at(f(record.LiquidTemp, "94.2")), []string{"subcooling"}, []string{"liquid line temperature", "metering device"}, true},
		{"high-side gauge 40 psi high", at(psi(record.LiquidPressure, "417.2"), psi(record.DischargePressure, "423.2"), psi(record.RestPressure, "322")), []string{"subcooling"}, []string{"liquid pressure", "standing pressure"}, true},
		{"low-side gauge 20 psi low", at(psi(record.SuctionPressure, "110.8")), nil, []string{"suction pressure"}, true},
		{"low-side gauge 20 psi high", at(psi(record.SuctionPressure, "150.8")), []string{"superheat", "isentropic_efficiency"}, []string{"suction pressure"}, true},
		{"return wick dry, 6 F high", at(f(record.ReturnWB, "71")), []string{"sides_agree"}, []string{"wet bulb"}, true},
		{"air flow guessed at half", at(entry{record.Airflow, "950", "cfm"}), []string{"airflow_per_ton", "sides_agree"}, []string{"airflow"}, true},
		{"discharge clamp loose, 40 F low", at(f(record.DischargeTemp, "129.4")), []string{"isentropic_efficiency", "flow_deviation"}, []string{"discharge temperature"}, true},
		{"standing pressure at a coil in the sun", at(psi(record.RestPressure, "330")), nil, []string{"standing pressure"}, true},
		// The reading that would tell was not taken.
		{"high head, standing pressure not taken", at(psi(record.LiquidPressure, "425"), psi(record.DischargePressure, "431"), f(record.LiquidTemp, "103"), f(record.ValveTemp, "102.5"), f(record.DischargeTemp, "184"), entry{record.RunCurrent, "18.8", "A"}, psi(record.RestPressure, "")), []string{"subcooling"}, nil, false},
		{"high head and no more than gauges and clamps", at(psi(record.LiquidPressure, "425"), psi(record.DischargePressure, ""), f(record.LiquidTemp, "103"), f(record.ValveTemp, ""), f(record.DischargeTemp, ""), f(record.CondenserAirOut, ""), f(record.SupplyDB, ""), entry{record.Airflow, "", ""}, psi(record.RestPressure, "")), []string{"subcooling"}, nil, false},
		// Phase.
		{"wet suction, 3 F below saturation", at(f(record.SuctionTemp, "41.2")), append(gas, "superheat"), []string{"valve", "suction line temperature", "refrigerant"}, true},
		{"suction on the line", at(f(record.SuctionTemp, "44.3")), append(gas, "superheat"), []string{"valve", "suction line temperature", "refrigerant"}, true},
		{"wet discharge", at(f(record.DischargeTemp, "111")), []string{"isentropic_efficiency", "flow_deviation"}, []string{"discharge temperature", "valve"}, true},
		{"liquid 2 F above saturation", at(f(record.LiquidTemp, "113.6")), []string{"subcooling", "sides_agree"}, []string{"liquid line temperature", "little refrigerant"}, true},
		// Weather and height.
		{"48 F outdoors", at(f(record.OutdoorTemp, "48")), []string{"outdoor_window", "subcooling", "superheat"}, nil, false},
		{"a degree under the window", at(f(record.OutdoorTemp, "54")), []string{"outdoor_window"}, nil, false},
		{"120 F outdoors, said of a shaded probe", at(f(record.OutdoorTemp, "120")), []string{"outdoor_window", "approach"}, nil, false},
		{"ran for two minutes", at(entry{record.SettleTime, "2", "min"}), []string{"settled"}, nil, true},
		{"barometer reduced to sea level", at(entry{record.Barometer, "29.92", "inHg"}), nil, nil, true},
		{"height and barometer left out", at(entry{record.Altitude, "", ""}), nil, nil, true},
		// Another refrigerant than the plate's.
		{"plate says R-22", at(entry{record.Refrigerant, "R-22", ""}), []string{"superheat", "subcooling"}, nil, false},
		{"plate says R-454B", at(entry{record.Refrigerant, "R-454B", ""}), []string{"superheat", "subcooling"}, nil, false},
		{"plate says R-32", at(entry{record.Refrigerant, "R-32", ""}), []string{"superheat", "subcooling"}, nil, false},
		// A heat pump in heating.
		{"heating at 60 F: air warmer after the coil", at(f(record.OutdoorTemp, "60"), f(record.ReturnDB, "68"), f(record.ReturnWB, "56"), f(record.SupplyDB, "96"), f(record.SupplyWB, "67"), psi(record.SuctionPressure, "118"), f(record.SuctionTemp, "48"), psi(record.LiquidPressure, "340"), psi(record.DischargePressure, "346"), f(record.LiquidTemp, "88"), f(record.ValveTemp, "86"), f(record.DischargeTemp, "160"), f(record.CondenserAirOut, "48")), []string{"split_error", "sides_agree"}, nil, false},
		// Two faults at once, by the published signs.
		{"dirty condenser and too little indoor air", at(psi(record.LiquidPressure, "450"), psi(record.DischargePressure, "456"), f(record.LiquidTemp, "115"), f(record.ValveTemp, "114.4"), f(record.CondenserAirOut, "121"), psi(record.SuctionPressure, "112"), f(record.SuctionTemp, "45"), f(record.SupplyDB, "53"), f(record.SupplyWB, "52.4"), f(record.DischargeTemp, "196"), entry{record.Airflow, "1100", "cfm"}, entry{record.RunCurrent, "19.6", "A"}), []string{"airflow_per_ton"}, nil, false},
		{"too little refrigerant and too little indoor air", at(psi(record.SuctionPressure, "98"), f(record.SuctionTemp, "58"), psi(record.LiquidPressure, "338"), psi(record.DischargePressure, "343"), f(record.LiquidTemp, "102.5"), f(record.ValveTemp, "102"), f(record.DischargeTemp, "182"), f(record.CondenserAirOut, "103"), f(record.SupplyDB, "57"), f(record.SupplyWB, "55"), entry{record.Airflow, "1200", "cfm"}, entry{record.RunCurrent, "15", "A"}), []string{"subcooling", "airflow_per_ton"}, nil, false},
		{"one fault masked: overcharge with a clamp that reads warm", at(psi(record.LiquidPressure, "415"), psi(record.DischargePressure, "421"), f(record.LiquidTemp, "108"), f(record.DischargeTemp, "177"), entry{record.RunCurrent, "18.6", "A"}), nil, []string{"much refrigerant", "condense", "condenser", "liquid line temperature"}, true},
	}
}

// No attempt earns a word that is not true.
func TestAttemptsOnTheRunningCheck(t *testing.T) {
	all := running30()
	if len(all) < 30 {
		t.Fatalf("%d attempts", len(all))
	}
	for _, a := range all {
		r := run(t, mend(t, demo(t), a.set...))
		for _, key := range a.never {
			if f, ok := r.Find(key); ok && f.Verdict == Within {
				t.Errorf("%s: %s %.4g ± %.2g is within", a.name, key, f.Value, f.Expanded())
			}
		}
		d, err := New(mend(t, demo(t), a.set...)).Causes()
		if err != nil {
			t.Logf("%s: not ranked: %v", a.name, err)
			continue
		}
		if d.Single {
			first := strings.ToLower(d.Causes[0].Label)
			if !slices.ContainsFunc(a.truth, func(w string) bool { return strings.Contains(first, w) }) {
				t.Errorf("%s: named alone: %s (%.4f)", a.name, first, d.Causes[0].P)
			}
		}
		if !a.fine && strings.HasPrefix(d.Outcome, "no fault") {
			t.Errorf("%s: %s", a.name, d.Said())
		}
		t.Logf("%-50s %s; problems %v", a.name, d.Said(), r.Problems)
	}
}
