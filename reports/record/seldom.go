package record

// seldom are the fields that most jobs do without: they answer a question that
// the usual ones left open, or belong to a part that most units have not.
var seldom = map[string]bool{
	"wire_kind": true, "wire_rating": true, "terminal_rating": true, "wire_ambient": true, "wire_bundle": true, "ground_gauge": true,
	"disconnect": true, "supply_system": true, "old_poles": true,
	"new_bcsc": true, "cap_stock": true, "contactor_poles": true,
	"r_case": true, "pin_12": true, "pin_23": true, "pin_13": true, "insulation_volts": true, "insulation_before": true,
	"coil_ohms": true, "coil_va": true, "coil_volts": true, "solenoid_ohms": true, "solenoid_va": true, "solenoid_volts": true,
	"heater_ohms": true, "heater_watts": true, "heater_volts": true, "heater_kind": true,
	"fan_cap_rating": true, "cap_fan_meter": true, "cap_outer": true,
	"supply_v12": true, "supply_v23": true, "supply_v13": true, "inrush_current": true, "start_winding_volts": true, "input_power": true,
}

// Seldom tells that most jobs do without the field. It says nothing of how much
// it matters where it applies.
func (f Field) Seldom() bool { return seldom[f.Key] }
