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

// runningAgain are a second lot: sets of readings, the refrigerant that is really in it,
// ducts, and errors of two readings that hide each other.
func runningAgain() []attempt {
	f := func(k record.Key, v string) entry { return entry{k, v, "F"} }
	psi := func(k record.Key, v string) entry { return entry{k, v, "psig"} }
	in := func(k record.Key, v string) entry { return entry{k, v, "inH2O"} }
	done := func(what string) entry { return entry{record.SetDone, what, ""} }
	fluid := func(name string) []entry {
		return at(entry{record.Refrigerant, name, ""}, entry{record.ChargedWith, name, ""})
	}
	charge := []string{"superheat", "subcooling", "evaporating", "condensing_over_ambient", "split_error", "sides_agree", "delivered", "settled"}
	demo := func() []entry { // all readings of the demo taken again
		return at(psi(record.SuctionPressure, "130.8"), f(record.SuctionTemp, "55.5"), psi(record.LiquidPressure, "377.2"), f(record.LiquidTemp, "101.2"), psi(record.DischargePressure, "383.2"), f(record.DischargeTemp, "169.4"),
			f(record.OutdoorTemp, "91"), f(record.ReturnDB, "77"), f(record.ReturnWB, "65"), f(record.SupplyDB, "58"), entry{record.SettleTime, "20", "min"})
	}
	then := func(lists ...[]entry) []entry { return slices.Concat(lists...) }
	return []attempt{
		// Another refrigerant, on plate and cylinder alike.
		{"plate and cylinder say R-454B", fluid("R-454B"), []string{"rest_saturation", "superheat", "subcooling"}, nil, true},
		{"plate and cylinder say R-32", fluid("R-32"), nil, nil, true},
		{"plate and cylinder say R-22", fluid("R-22"), []string{"superheat", "subcooling", "rest_saturation"}, []string{"pressure"}, false},
		{"plate and cylinder say R-407C", fluid("R-407C"), []string{"subcooling", "rest_saturation"}, []string{"pressure"}, false},
		{"the cylinder was not read", at(entry{record.ChargedWith, "", ""}), []string{"superheat", "subcooling"}, nil, true},
		// Sets.
		{"refrigerant added, nothing read again", at(done(record.SetChargeIn)), charge, nil, false},
		{"refrigerant added, the liquid temperature alone read again", at(done(record.SetChargeIn), f(record.LiquidTemp, "101.2")), charge, nil, false},
		{"refrigerant added, pressures alone read again", at(done(record.SetChargeIn), psi(record.SuctionPressure, "130.8"), psi(record.LiquidPressure, "377.2")), []string{"superheat", "subcooling", "split_error", "sides_agree", "delivered", "settled"}, nil, false},
		{"air flow changed, not read again", then(at(done(record.SetAir)), demo()), []string{"airflow_per_ton", "sides_agree"}, nil, true},
		{"filter changed, static pressures of before", then(at(in(record.StaticReturn, "0.2"), in(record.StaticSupply, "0.15"), in(record.StaticBefore, "0.1"), in(record.StaticRated, "0.5"), done(record.SetIndoor)), demo()), []string{"external_static", "filter_drop", "airflow_per_ton"}, nil, true},
		{"coil cleaned, all read again but the discharge", then(at(done(record.SetOutdoor)), demo()[:4], demo()[6:]), []string{"isentropic_efficiency", "flow_balance", "flow_deviation"}, nil, true},
		{"something else changed, the standing pressure of before", then(at(done(record.SetOther)), demo()), []string{"rest_saturation"}, nil, true},
		{"two changes, read after the first alone", then(at(done(record.SetChargeIn)), demo(), at(done(record.SetChargeIn))), charge, nil, false},
		{"a change undone by another entry", at(done(record.SetChargeIn), done(record.SetAgain)), charge, nil, false},
		{"set of before the change handed over", then(at(done(record.SetChargeIn)), demo(), at(entry{record.HandedSet, "1", "n"})), nil, nil, true},
		{"a set handed over that there is not", then(at(done(record.SetChargeIn)), demo(), at(entry{record.HandedSet, "9", "n"})), nil, nil, true},
		{"refrigerant added, ran for two minutes since", then(at(done(record.SetChargeIn)), demo(), at(entry{record.SettleTime, "2", "min"})), []string{"settled", "superheat", "subcooling"}, nil, true},
		// Ducts and delivery.
		{"static at the plate's limit", at(in(record.StaticReturn, "0.29"), in(record.StaticSupply, "0.20"), in(record.StaticRated, "0.5")), []string{"external_static"}, nil, true},
		{"static without a plate", at(in(record.StaticReturn, "0.2"), in(record.StaticSupply, "0.1")), []string{"external_static"}, nil, true},
		{"static of the supply alone", at(in(record.StaticSupply, "0.1"), in(record.StaticRated, "0.5")), []string{"external_static"}, nil, true},
		{"filter probes exchanged", at(in(record.StaticReturn, "0.10"), in(record.StaticBefore, "0.25")), []string{"filter_drop"}, nil, true},
		{"no filter in the frame", at(in(record.StaticReturn, "0.1"), in(record.StaticBefore, "0.1")), []string{"filter_drop"}, nil, true},
		{"air flow in litres a second, typed as cfm", at(entry{record.Airflow, "3390", "cfm"}), []string{"sides_agree", "airflow_per_ton"}, []string{"airflow"}, true},
		{"rated capacity of the compressor 40 % too high", at(entry{record.NewCapacity, "65800", "Btu/h"}), []string{"delivered"}, []string{"airflow", "indoor air", "pumps less"}, true},
		{"delivered with the suction on the line", at(f(record.SuctionTemp, "44.3")), []string{"delivered"}, []string{"valve", "suction line temperature", "refrigerant"}, true},
		// At rest.
		{"standing pressure 15 psi high: air in it", at(psi(record.RestPressure, "297")), []string{"rest_saturation"}, []string{"air or nitrogen", "standing"}, true},
		{"coil in the sun at rest", at(psi(record.RestPressure, "330")), []string{"rest_saturation"}, []string{"standing"}, true},
		{"standing pressure without the coil's temperature", at(f(record.RestTemp, "")), []string{"rest_saturation"}, nil, true},
		// Two errors that hide each other.
		{"low gauge 20 psi low and suction clamp 9 F low", at(psi(record.SuctionPressure, "110.8"), f(record.SuctionTemp, "46.5")), nil, nil, true},
		{"low gauge 20 psi high and suction clamp 9 F high", at(psi(record.SuctionPressure, "150.8"), f(record.SuctionTemp, "64.5")), nil, nil, true},
		{"high gauge 30 psi high and liquid clamp 6 F high", at(psi(record.LiquidPressure, "407.2"), psi(record.DischargePressure, "413.2"), f(record.LiquidTemp, "107.2")), nil, nil, true},
		{"both wicks dry", at(f(record.ReturnWB, "71"), f(record.SupplyWB, "58")), nil, []string{"wet bulb"}, true},
		{"return and supply exchanged", at(f(record.ReturnDB, "58"), f(record.SupplyDB, "77"), f(record.ReturnWB, "57"), f(record.SupplyWB, "65")), []string{"split_error", "sides_agree"}, nil, false},
		{"condenser's leaving air copied from its entering", at(f(record.CondenserAirOut, "91")), nil, []string{"condenser", "outdoor", "leaving"}, true},
		{"outdoor air read in the sun, 12 F high", at(f(record.OutdoorTemp, "103")), nil, []string{"outdoor"}, true},
		{"temperatures in Celsius typed as Fahrenheit", at(f(record.SuctionTemp, "13.1"), f(record.LiquidTemp, "38.4")), []string{"superheat", "subcooling"}, nil, false},
		{"settled for 14 minutes", at(entry{record.SettleTime, "14", "min"}), []string{"settled", "superheat", "subcooling"}, nil, true},
		{"54 F, and the return visit has a day", at(f(record.OutdoorTemp, "54"), entry{record.FollowUpDue, "2027-06-01", ""}), []string{"outdoor_window", "superheat", "subcooling"}, nil, false},
		{"power meter on the whole house", at(entry{record.InputPower, "7500", "W"}), []string{"sides_agree", "power_deviation"}, []string{"power"}, true},
	}
}

// No attempt earns a word that is not true.
func TestAttemptsOnTheRunningCheck(t *testing.T) {
	t.Parallel()
	all := slices.Concat(running30(), runningAgain())
	if len(all) < 70 {
		t.Fatalf("%d attempts", len(all))
	}
	for _, a := range all {
		one := New(mend(t, demo(t), a.set...))
		r, err := one.Report()
		if err != nil {
			t.Fatalf("%s: %v", a.name, err)
		}
		for _, key := range a.never {
			if f, ok := r.Find(key); ok && f.Verdict == Within {
				t.Errorf("%s: %s %.4g ± %.2g is within", a.name, key, f.Value, f.Expanded())
			}
		}
		d, err := one.Causes()
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
		if !a.fine && d.Clear {
			t.Errorf("%s: %s", a.name, d.Said())
		}
		within := ""
		for _, key := range []string{"superheat", "subcooling", "rest_saturation", "sides_agree", "delivered"} {
			if f, ok := r.Find(key); ok && f.Verdict == Within {
				within += " " + key
			}
		}
		t.Logf("%-50s %s; within:%s; problems %v", a.name, d.Said(), within, r.Problems)
	}
}
