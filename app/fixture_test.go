package app

import (
	"testing"
	"time"

	"retrostage/reports/record"
	"retrostage/thermo/units"
)

var noon = time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)

// filled is an invented job with readings at every step, some of them off.
func filled(t *testing.T) *record.Job {
	t.Helper()
	j := record.New("job-2026-08-14-1")
	j.Demo = true
	j.Instruments = append(j.Instruments, record.Instrument{ID: "clamp A", Name: "Pipe clamp A",
		Accuracy: []record.Accuracy{{Dim: units.Temperature, Plus: 1, Unit: "F"}}})
	at := noon
	set := func(key, value, unit string) {
		at = at.Add(time.Minute)
		e := record.Entry{Key: key, Value: value, Unit: unit, Time: at, By: "T-17"}
		if key == "suction_temp" || key == "liquid_temp" {
			e.Instrument = "clamp A"
		}
		if err := j.Set(e); err != nil {
			t.Fatal(err)
		}
	}
	for _, e := range [][3]string{
		{"owner_ref", "R-2041"}, {"technician_ref", "T-17"}, {"visit_date", "2026-08-14"}, {"warranty", "out of warranty"},
		{"altitude", "5250", "ft"}, {"refrigerant", "R-410A"}, {"metering", record.MeterTXV}, {"nominal_capacity", "4", "ton"},
		{"old_unit_serial", "U-0001"}, {"old_compressor_serial", "C-0001"}, {"rated_voltage", "208", "V"}, {"rated_frequency", "60", "Hz"},
		{"phases", record.PhaseSingle}, {"tag_charge", "180", "oz"}, {"tag_subcooling", "10", "F"},
		{"failure_kind", "grounded winding"}, {"oil_state", "burnt"}, {"root_cause", "Grounded start winding after years of low charge."},
		{"decision", "convert to single stage"}, {"new_compressor_serial", "C-0002"}, {"new_capacity", "47000", "Btu/h"}, {"new_rla", "21.8", "A"},
		{"cap_rating", "45", "uF"}, {"cap_tolerance", "5 %"}, {"indoor_control", record.ControlConventional}, {"old_controls", "two-capacity-conventional"},
		{"cap_meter", "43.1", "uF"}, {"supply_voltage", "207", "V"}, {"run_current", "17.9", "A"}, {"cap_current", "5.2", "A"}, {"cap_volts", "338", "V"},
		{"vacuum_final", "280", "micron"}, {"vacuum_end", "410", "micron"}, {"vacuum_time", "15", "min"}, {"weighed_in", "190", "oz"},
		{"suction_pressure", "121", "psig"}, {"suction_temp", "57", "F"}, {"liquid_pressure", "342", "psig"}, {"liquid_temp", "101.5", "F"},
		{"discharge_temp", "172", "F"}, {"outdoor_temp", "92", "F"}, {"return_db", "76", "F"}, {"return_wb", "63", "F"}, {"supply_db", "57", "F"},
		{"work_done", "Compressor, contactor, capacitor and drier replaced."},
	} {
		unit := ""
		if len(e) > 2 {
			unit = e[2]
		}
		set(e[0], e[1], unit)
	}
	return j
}
