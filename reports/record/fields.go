package record

import (
	"slices"

	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

// Kind says how a field is typed.
type Kind int

// The kinds of field.
const (
	Text   Kind = iota // one line of free text
	Note               // several lines of free text
	Pick               // one of Options
	Number             // a decimal number with a unit of Dim
	Date               // ISO 8601 calendar date, 2026-08-14
)

// Origin says where a number comes from, which decides its doubt.
type Origin int

const (
	// Measured numbers carry their instrument's accuracy.
	Measured Origin = iota
	// Stated numbers are read off a plate, an instruction or a quotation.
	Stated
)

// Field declares one thing a job can hold. Min and Max bound what can be
// typed, in Unit: they catch slips of the finger and are no limit of any
// standard. Class names the generic instrument class that lends its accuracy
// to a reading whose instrument is not named (assets/limits).
type Field struct {
	Key     Key
	Step    Step
	Group   string
	Label   string
	Help    string
	Kind    Kind
	Origin  Origin
	Dim     units.Dimension
	Unit    string
	Min     float64
	Max     float64
	Options []string
	Class   string
	Need    bool // the step is not done without it
	Coarse  bool // a date of which the month or the year alone will do
	Seldom  bool // most jobs do without it
	Span    bool // a number that may be a range
	Ends    bool // of a range one end is meant: which is asked
	Program bool // the program writes it: nobody is asked
	Words   int  // a note of fewer words says nothing and is refused
	Notes   bool // says how the readings of its group came into the record; see [Job.Later]
	Whole   bool // does so for its whole step
}

// Personal tells whether what is typed there may tell of a person: the owner's reference
// and words, and every free note.
func (f Field) Personal() bool {
	switch f.Key {
	case OwnerRef, OwnerCall, OwnerAdvice, DecisionReason, WorkDone, OpenConditions:
		return true
	}
	return f.Kind == Note && f.Label == "Notes"
}

func text(s Step, group, key, label, help string) Key {
	return declare(Field{Step: s, Group: group, Label: label, Help: help, Kind: Text}, key)
}

func note(s Step, group, key, label, help string) Key {
	return declare(Field{Step: s, Group: group, Label: label, Help: help, Kind: Note}, key)
}

func date(s Step, group, key, label string) Key {
	return declare(Field{Step: s, Group: group, Label: label, Kind: Date}, key)
}

// coarse lets a month or a year stand for a date.
func coarse(k Key) Key { at(k).Coarse = true; return k }

func pick(s Step, group, key, label, help string, options ...string) Key {
	return declare(Field{Step: s, Group: group, Label: label, Help: help, Kind: Pick, Options: options}, key)
}

func stated(s Step, group, key, label, help string, dim units.Dimension, unit string, min, max float64) Key {
	return declare(Field{Step: s, Group: group, Label: label, Help: help, Kind: Number, Origin: Stated, Dim: dim, Unit: unit, Min: min, Max: max}, key)
}

func measured(s Step, group, key, label, help, class string, dim units.Dimension, unit string, min, max float64) Key {
	return declare(Field{Step: s, Group: group, Label: label, Help: help, Kind: Number, Origin: Measured, Class: class, Dim: dim, Unit: unit, Min: min, Max: max}, key)
}

// need marks a field without which its step is not done.
func need(k Key) Key { at(k).Need = true; return k }

// ranged marks a field that a plate may fill with a range.
func ranged(k Key) Key { at(k).Span = true; return k }

// ends marks a field for which a plate may give a range, of which one end is meant.
func ends(k Key) Key { at(k).Ends = true; return k }

// seldom marks a field that most jobs do without: it answers a question that
// the usual ones left open, or belongs to a part that most units have not. That
// says nothing of how much it matters where it applies.
func seldom(k Key) Key { at(k).Seldom = true; return k }

// program marks a field that the program writes.
func program(k Key) Key { at(k).Program = true; return k }

// reservation declares the reservation of a step: what stands open there, and why it
// is left so. Whoever enters it, and when, stand in the entry. Beside it stands what it is
// about, by the keys touched below it; see [Job.About].
func reservation(s Step, key string) Key {
	k := seldom(note(s, "Left as it is", key, "What is left as it is, and why",
		"Covers what is named below it, of what stands against this step now; whatever is new or changed afterwards needs another."))
	at(k).Words = reservationWords
	about[k] = program(note(s, "Left as it is", key+aboutSuffix, "What that reason is about", "Written when it is touched: one name a line, as the step has it."))
	return k
}

// about are, by the reservation of a step, the field of what it is about.
var about = map[Key]Key{}

const aboutSuffix = "_about"

// noted declares the question how the readings of a step, or of one group of it, came
// into the record: the time of an entry is that of its reading only where it was typed
// as it was read. See [Job.Later].
func noted(s Step, group, key string, whole bool) Key {
	label := "Readings of this step were entered"
	if !whole {
		label = group + ": readings were entered"
	}
	k := seldom(pick(s, group, key, label, "Covers what is entered so far. What comes later is marked so, here and on the sheet.", NotedAsRead, NotedLater))
	at(k).Notes, at(k).Whole = true, whole
	return k
}

// said marks a note that others read to know what was done: a word alone tells nothing.
func said(k Key) Key { at(k).Words = 3; return k }

// reservationWords is the least that can name a thing and a reason.
const reservationWords = 4

// orOpen lets a resistance be entered as an open line.
func orOpen(k Key) Key { at(k).Options = []string{OpenLine}; return k }

// Options that checks compare with.
const (
	DeadAsPlanned = "complete, every reading as planned"
	DeadExplained = "complete, the reason found for what was not"
	Yes           = "yes"
	No            = "no"
	ValvesOpen    = "open: the whole circuit"
	PumpShut      = "shut at the system, pump stopped"
	PumpRuns      = "shut at the system, pump still running"
	PumpDraws     = "not shut: the pump still drew"
	DeepSingle    = "deep, in one pull"
	TripleBreaks  = "three pulls, broken twice with dry nitrogen"
	ValvesShut    = "shut: lines and indoor coil alone"
	FilterStays   = "fitted, to be removed"
	LeakNone      = "made at rest and running: none found"
	LeakMended    = "found, mended, searched again"
	LeakNotDone   = "not done"
	ToReclaim     = "to reclaim"
	BackIntoUnit  = "back into this unit"
	DrierAsArrow  = "arrow with the flow"
	SizeUp        = "2023: next size up"
	SizeDown      = "before 2023: taken down"
	MetalCopper   = "copper"
	MetalAluminum = "aluminum"
	SetChargeIn   = "refrigerant added"
	SetChargeOut  = "refrigerant taken out"
	SetAir        = "indoor air flow changed"
	SetOutdoor    = "outdoor coil cleaned"
	SetIndoor     = "filter or indoor coil cleaned"
	SetOther      = "something else changed"
	SetAgain      = "nothing: read again"
	MeterTXV      = "thermostatic valve"
	MeterEXV      = "electronic valve"
	MeterFixed    = "fixed orifice"

	OverloadInside  = "thermal protector in it"
	OverloadRelay   = "relay outside"
	OverloadDevice  = "fuse or breaker alone"
	OverloadSystem  = "approved system of its maker"
	OverloadUnknown = "not known"

	InchPound = "inch-pound units"
	Metric    = "metric units"

	NotedAsRead = "as they were read"
	NotedLater  = "later than measured"

	NotLooked      = "not looked at"
	NotTried       = "not tried"
	TrialTrips     = "trips the breaker at once"
	TrialHums      = "hums at locked current"
	TrialNothing   = "draws nothing"
	TrialNoLift    = "runs, pressures hardly part"
	TrialThenTrips = "runs, trips after minutes"
	TrialPumps     = "runs, pressures part as they should"
	CapBroken      = "open, shorted, leaking or bulged"
	AtTerminals    = "the terminals, after recovery"
	OverloadClosed = "closed again"
	OverloadOpen   = "still open"
	StillLow       = "low again"
	PermitNeeded   = "needed here"
	ShellCold      = "cold"
	ShellWarm      = "warm"
	ShellHot       = "hot"
	RootOther      = "another, in words below"

	StagingSolenoid = "solenoid unloads one compressor"
	StagingTwoSpeed = "two-speed compressor, two contactors"
	StagingTwo      = "two compressors"

	PhaseSingle = "single phase"
	PhaseThree  = "three phase"

	ControlConventional = "conventional 24 V"
	ControlDigital      = "digital bus"

	HeaterFixed    = "fixed resistance"
	HeaterSelf     = "regulates itself"
	CableNM        = "non-metallic cable"
	CableOther     = "other"
	SystemSplit    = "120/240"
	SystemWye      = "208Y/120"
	Rating60       = "60 °C"
	Rating75       = "75 °C"
	Rating90       = "90 °C"
	RatingUnmarked = "not marked"
)

// Roots are the root causes that a job can name, as package cause has them. Which
// finding shows that one is gone stands in package assess.
var Roots = []string{"low supply voltage", "the call or the line does not reach the compressor", "run capacitor below its value", "outdoor coil fouled", "charge lost", "too much charge",
	"liquid comes back or gathers in the shell", "too little indoor air", "short cycles", "drier or strainer blocked", "ran hot, reason not found", "wear by age", "no reason found", RootOther}

// RootFields hold the root causes of a job, the first one needed.
func RootFields() []Key { return []Key{RootKind, RootSecond, RootThird} }

// RootsOf are the root causes that a job names.
func (j *Job) RootsOf() (out []string) {
	for _, k := range RootFields() {
		if r := j.Text(k); r != "" && !slices.Contains(out, r) {
			out = append(out, r)
		}
	}
	return out
}

// gauges are the copper sizes of a branch.
var gauges = []string{"14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG", "3 AWG", "2 AWG", "1 AWG", "1/0 AWG"}

// The fields, each declared once, in the order in which they are asked. A new
// field is one line here; its key in files is the name in the line.
var (
	// Intake
	OwnerRef            = need(text(Intake, "Job", "owner_ref", "Owner reference", "A reference, not a name: the office keeps the address."))
	TechnicianRef       = text(Intake, "Job", "technician_ref", "Technician reference", "Taken from who is typing; change it where another does the work.")
	VisitDate           = date(Intake, "Job", "visit_date", "Date of visit")
	Warranty            = pick(Intake, "Job", "warranty", "Warranty", "", "out of warranty", "parts only", "in warranty", "not known")
	Refrigerant         = need(pick(Intake, "Unit", "refrigerant", "Refrigerant on the plate", "", fluid.Names()...))
	Metering            = need(pick(Intake, "Unit", "metering", "Metering device", "", MeterTXV, MeterEXV, MeterFixed))
	NominalCapacity     = need(stated(Intake, "Unit", "nominal_capacity", "Nominal capacity", "", units.Capacity, "ton", 0.5, 10))
	OldUnitModel        = text(Intake, "Unit", "old_unit_model", "Outdoor unit: type", "As on its plate.")
	OldUnitSerial       = need(text(Intake, "Unit", "old_unit_serial", "Outdoor unit: serial number", ""))
	UnitInstalled       = coarse(date(Intake, "Unit", "unit_installed", "Installed"))
	OldCompressorModel  = text(Intake, "Unit", "old_compressor_model", "Failed compressor: type", "")
	OldCompressorSerial = text(Intake, "Unit", "old_compressor_serial", "Failed compressor: serial number", "A warranty asks for it.")
	Staging             = pick(Intake, "Unit", "staging", "Staging: how it makes its two stages", "Puts the likeliest wiring first in Wiring.", StagingSolenoid, StagingTwoSpeed, StagingTwo, "not known")
	RatedVoltage        = ends(need(stated(Intake, "Plate", "rated_voltage", "Rated voltage", "Of the supply this unit is connected to.", units.Voltage, "V", 100, 600)))
	RatedFrequency      = stated(Intake, "Plate", "rated_frequency", "Frequency", "", units.Frequency, "Hz", 45, 65)
	Phases              = pick(Intake, "Plate", "phases", "Supply", "", PhaseSingle, PhaseThree)
	OldRLA              = stated(Intake, "Plate", "old_rla", "Old compressor RLA", "Rated-load current on the plate.", units.Current, "A", 1, 200)
	OldLRA              = stated(Intake, "Plate", "old_lra", "Old compressor LRA", "Locked-rotor current on the plate.", units.Current, "A", 5, 1200)
	OldCapRating        = stated(Intake, "Plate", "old_cap_rating", "Old run capacitor", "", units.Capacitance, "uF", 1, 200)
	FanFLA              = stated(Intake, "Plate", "fan_fla", "Outdoor fan full-load current", "", units.Current, "A", 0.1, 20)
	PlateMCA            = stated(Intake, "Plate", "plate_mca", "Plate MCA", "Minimum circuit ampacity of the old plate.", units.Current, "A", 1, 300)
	PlateMOCP           = stated(Intake, "Plate", "plate_mocp", "Plate MOCP", "Largest overcurrent device of the old plate.", units.Current, "A", 5, 400)
	Breaker             = need(stated(Intake, "Plate", "breaker", "Breaker or fuse fitted", "", units.Current, "A", 5, 400))
	WireGauge           = pick(Intake, "Plate", "wire_gauge", "Branch conductor", "", gauges...)
	WireLength          = stated(Intake, "Plate", "wire_length", "Branch length, one way", "", units.Length, "ft", 1, 1000)
	TagCharge           = stated(Intake, "Plate", "tag_charge", "Charge on the plate", "", units.Mass, "oz", 8, 1000)
	TagSubcooling       = stated(Intake, "Plate", "tag_subcooling", "Target subcooling on the plate", "For a valve. The unit's own value; there is no general one.", units.TempDiff, "F", 1, 30)
	TagSuperheat        = stated(Intake, "Plate", "tag_superheat", "Target superheat in the instructions", "Only where the instructions give one.", units.TempDiff, "F", 1, 45)
	CodeEdition         = pick(Intake, "Electrical code", "code_edition", "Electrical code adopted here: largest breaker or fuse", "Which edition the place has adopted decides the largest device and the smallest conductor. Taken down where nothing is picked; each verdict names it.", SizeDown, SizeUp)
	WireKind            = seldom(pick(Intake, "Branch conductor", "wire_kind", "Branch: wiring method", "", CableNM, CableOther))
	WireMetal           = seldom(pick(Intake, "Branch conductor", "wire_metal", "Branch: metal of the conductors", "Copper where nothing is picked.", MetalCopper, MetalAluminum))
	WireRating          = seldom(pick(Intake, "Branch conductor", "wire_rating", "Branch: temperature printed on the insulation", "As 60 °C where it cannot be read.", Rating60, Rating75, Rating90))
	TerminalRating      = seldom(pick(Intake, "Branch conductor", "terminal_rating", "Lowest temperature marked on its terminals", "As 60 °C where any is not marked.", RatingUnmarked, Rating60, Rating75))
	WireAmbient         = seldom(stated(Intake, "Branch conductor", "wire_ambient", "Hottest air around the branch", "An attic or a roof in the sun, not the day's weather.", units.Temperature, "F", -20, 185))
	WireBundle          = seldom(stated(Intake, "Branch conductor", "wire_bundle", "Current-carrying conductors together", "In one raceway or bundled cables; not counting the grounding conductor.", units.Count, "n", 1, 200))
	GroundGauge         = seldom(pick(Intake, "Branch conductor", "ground_gauge", "Grounding conductor, copper", "", gauges...))
	SupplySystem        = seldom(pick(Intake, "Branch conductor", "supply_system", "Supply system", "", SystemSplit, SystemWye))
	Disconnect          = seldom(stated(Intake, "Disconnect and contactor", "disconnect", "Disconnect: ampere rating", "", units.Current, "A", 10, 400))
	DisconnectHP        = seldom(stated(Intake, "Disconnect and contactor", "disconnect_hp", "Disconnect: horsepower at this voltage", "", units.Count, "n", 0.1, 100))
	DisconnectPlace     = seldom(pick(Intake, "Disconnect and contactor", "disconnect_place", "Disconnect: seen from the unit, in reach, not on a panel that comes off, not over the plate", "", Yes, No))
	OldPoles            = seldom(pick(Intake, "Disconnect and contactor", "old_poles", "Old compressor contactor: poles", "", "1", "2", "3"))
	Altitude            = stated(Intake, "Site", "altitude", "Altitude of the site", "Gives the air pressure when no barometer is read.", units.Length, "ft", -1000, 15000)
	Barometer           = measured(Intake, "Site", "barometer", "Barometer at the site", "Station pressure, not reduced to sea level. Outranks the altitude.", "barometer", units.Barometric, "inHg", 15, 32.5)
	LimitUnits          = seldom(pick(Intake, "Site", "limit_units", "Limits of this job are written in", "Inch-pound where nothing is picked. Where a metric limit is rounded it is the stricter one, and judged.", InchPound, Metric))
	IntakeNote          = note(Intake, "Job", "intake_note", "Notes", "")
	IntakeReservation   = reservation(Intake, "reservation_intake")

	// Cause
	CauseSupply      = measured(Cause, "Supply and contactor", "cause_supply", "Supply voltage at the old unit", "Only where it can still be switched on safely.", "voltmeter", units.Voltage, "V", 0, 700)
	CauseCall        = pick(Cause, "Supply and contactor", "cause_call", "24 V call reaches the contactor coil", "", Yes, No, "not looked at")
	CausePasses      = pick(Cause, "Supply and contactor", "cause_passes", "Contacts of the contactor: pulled in, the line passes", "Yes where they are fine: each pole measured, line to load.", Yes, No, NotLooked)
	OldCapFound      = measured(Cause, "Capacitor and windings, dead", "old_cap_found", "Run capacitor, measured", "Discharged, leads off.", "capacitance meter", units.Capacitance, "uF", 0, 300)
	OldCapState      = pick(Cause, "Capacitor and windings, dead", "old_cap_state", "Run capacitor, looked at", "", "sound", CapBroken)
	WindingsReadAt   = pick(Cause, "Capacitor and windings, dead", "windings_read_at", "Windings read at", "At the terminals only after recovery.", "the leads", AtTerminals)
	OldRCS           = orOpen(measured(Cause, "Capacitor and windings, dead", "old_r_cs", "Winding C to S", "", "ohmmeter", units.Resistance, "ohm", 0, 1e6))
	OldRCR           = orOpen(measured(Cause, "Capacitor and windings, dead", "old_r_cr", "Winding C to R", "", "ohmmeter", units.Resistance, "ohm", 0, 1e6))
	OldRSR           = orOpen(measured(Cause, "Capacitor and windings, dead", "old_r_sr", "Winding S to R", "", "ohmmeter", units.Resistance, "ohm", 0, 1e6))
	CauseShell       = pick(Cause, "Capacitor and windings, dead", "cause_shell", "Compressor shell, as the windings were read", "By the back of the hand. Cold, an internal overload has had time to close again.", ShellCold, ShellWarm, ShellHot)
	OverloadWait     = pick(Cause, "Capacitor and windings, dead", "overload_wait", "Internal overload: C open, read again with the shell cold", "Only where C was open to both. The shell cold to the touch, which can take hours.", OverloadClosed, OverloadOpen, "not waited for")
	OldInsulation    = measured(Cause, "Capacitor and windings, dead", "old_insulation", "Insulation: windings to case", "500 V dc, not in a vacuum. At the leads first, terminal cover on.", "insulation tester", units.Insulation, "Mohm", 0, 1e5)
	InsulationAgain  = pick(Cause, "Capacitor and windings, dead", "insulation_again", "Insulation low: again at clean, dry terminals", "Leads off, after recovery. A reading that is better then goes into the field above.", StillLow, "not done")
	OldWindingTemp   = measured(Cause, "Capacitor and windings, dead", "old_winding_temp", "Shell temperature as they were read", "", "pipe clamp", units.Temperature, "F", -40, 300)
	OldRStart        = stated(Cause, "Capacitor and windings, dead", "old_data_start", "Old compressor's data: C to S at 25 °C", "", units.Resistance, "ohm", 0.05, 200)
	OldRRun          = stated(Cause, "Capacitor and windings, dead", "old_data_run", "Old compressor's data: C to R at 25 °C", "", units.Resistance, "ohm", 0.02, 100)
	CauseTrial       = pick(Cause, "Switched on", "cause_trial", "Switched on, it", "Only with its windings whole and its insulation good, panels and terminal cover on.", TrialTrips, TrialHums, TrialNothing, TrialNoLift, TrialThenTrips, TrialPumps, NotTried)
	CauseTrialGood   = pick(Cause, "Switched on", "cause_trial_good", "Tried with a good capacitor, right voltage, help to start", "", Yes, No)
	CauseInrush      = measured(Cause, "Switched on", "cause_inrush", "Old compressor's current as it tries to start", "By a clamp that catches it. Not on a grounded winding.", "clamp ammeter", units.Current, "A", 0, 1500)
	CauseCoil        = pick(Cause, "Looked at and asked", "cause_coil", "Outdoor coil fouled", "", Yes, No, NotLooked)
	CauseFouledBy    = pick(Cause, "Looked at and asked", "cause_fouled_by", "What fouls it", "", "lint or seeds", "dirt or grease", "a pet", "fins flat", "fins eaten away", "not looked at")
	CauseAir         = pick(Cause, "Looked at and asked", "cause_air", "Indoor air flow: too little", "No where it is normal. Filter, coil, ducts.", Yes, No, NotLooked)
	CauseHeat        = pick(Cause, "Looked at and asked", "cause_heat", "Signs of heat", "Discharge line discoloured; trips in hot weather, one of them too.", Yes, No, NotLooked)
	CauseFlood       = pick(Cause, "Looked at and asked", "cause_flood", "Signs of liquid coming back", "Shell sweating, oil foaming, valve wide open.", Yes, No, NotLooked)
	CauseHeater      = pick(Cause, "Looked at and asked", "cause_heater", "Crankcase heater dead", "", Yes, No, NotLooked)
	CauseCycles      = pick(Cause, "Looked at and asked", "cause_cycles", "Short cycles or many trips", "As told: on and off again within minutes, or trips in any weather. A trip in the heat of a day stands at signs of heat.", Yes, No, NotLooked)
	CauseNoise       = pick(Cause, "Looked at and asked", "cause_noise", "Knocked or ground before it died", "As told.", Yes, No, NotLooked)
	CauseLastCap     = coarse(date(Cause, "Looked at and asked", "cause_last_cap", "Run capacitor last changed, as told"))
	OilState         = need(pick(Cause, "Opened", "oil_state", "Oil", "", "clear", "dark", "burnt", "not seen"))
	OilSmell         = pick(Cause, "Opened", "oil_smell", "Oil smells burnt", "", Yes, No, NotLooked)
	AcidTest         = pick(Cause, "Opened", "acid_test", "Acid test", "", "negative", "doubtful", "positive", "not done")
	OilMetal         = pick(Cause, "Opened", "oil_metal", "Metal in the oil or at the ports", "", Yes, No, NotLooked)
	CauseDrier       = pick(Cause, "Opened", "cause_drier", "Drier or strainer blocked", "", Yes, No, NotLooked)
	CauseRecovered   = measured(Cause, "Opened", "cause_recovered", "Charge found in it", "Recovered and weighed; held against the plate.", "scale", units.Mass, "oz", 0, 2000)
	FailureKind      = need(pick(Cause, "What it comes to", "failure_kind", "What failed", "", "grounded winding", "open winding", "shorted winding", "seized", "worn or leaking valves", "no fault found", "other"))
	RootKind         = need(pick(Cause, "What it comes to", "root_kind", "Root cause to remove", "Hand-over stays open until a reading shows it gone.", Roots...))
	RootSecond       = seldom(pick(Cause, "What it comes to", "root_second", "Root cause to remove, a second", "Where there are two: Hand-over waits for a reading of each.", Roots...))
	RootThird        = seldom(pick(Cause, "What it comes to", "root_third", "Root cause to remove, a third", "", Roots...))
	RootCause        = note(Cause, "What it comes to", "root_cause", "Why it failed, in words", "For the owner and the office. Needed only where the root cause is not on the list.")
	CauseNote        = note(Cause, "What it comes to", "cause_note", "Notes", "")
	CauseNoted       = noted(Cause, "When read", "cause_noted", true)
	CauseReservation = reservation(Cause, "reservation_cause")

	// Choice
	CostLike          = stated(Choice, "Offers", "cost_like", "Same two-stage compressor, fitted", "In the job's own currency.", units.Money, "money", 0, 1e6)
	CostConvert       = stated(Choice, "Offers", "cost_convert", "Single-stage conversion, fitted", "", units.Money, "money", 0, 1e6)
	CostReplace       = stated(Choice, "Offers", "cost_replace", "New unit, fitted", "", units.Money, "money", 0, 1e6)
	CostSystem        = stated(Choice, "Offers", "cost_system", "Whole system, fitted", "Outdoor unit, indoor coil, lines where they have to be.", units.Money, "money", 0, 1e6)
	LifeLeft          = stated(Choice, "Offers", "life_left", "Years the rest of the unit should last", "", units.Count, "n", 0, 40)
	CostOwn           = seldom(stated(Choice, "Offers", "cost_own", "Your own option: price, fitted", "", units.Money, "money", 0, 1e6))
	OwnOption         = seldom(text(Choice, "Offers", "own_option", "Your own option: what is done", ""))
	OwnLife           = seldom(stated(Choice, "Offers", "own_life", "Your own option: years it should last", "", units.Count, "n", 0, 40))
	CostLeave         = seldom(stated(Choice, "Offers", "cost_leave", "Leaving it: what other cooling costs a year", "Without a figure it is shown and not compared: it does not cool.", units.Money, "money", 0, 1e5))
	PriceSpread       = seldom(stated(Choice, "Offers", "price_spread", "Prices may be off by", "10 % where nothing is entered.", units.Percent, "%", 0, 60))
	ConvertPart       = seldom(stated(Choice, "Offers", "convert_part", "Conversion: of it, the compressor", "", units.Money, "money", 0, 1e6))
	DisposalCost      = seldom(stated(Choice, "Offers", "disposal_cost", "Disposal, where the outdoor unit goes", "", units.Money, "money", 0, 1e5))
	WaitLike          = stated(Choice, "Until it cools", "wait_like", "Same compressor: days", "", units.Count, "n", 0, 365)
	WaitConvert       = stated(Choice, "Until it cools", "wait_convert", "Conversion: days", "", units.Count, "n", 0, 365)
	WaitReplace       = stated(Choice, "Until it cools", "wait_replace", "New unit: days", "", units.Count, "n", 0, 365)
	WaitSystem        = stated(Choice, "Until it cools", "wait_system", "Whole system: days", "", units.Count, "n", 0, 365)
	Meanwhile         = text(Choice, "Until it cools", "meanwhile", "Cooling meanwhile", "")
	WarrantyLike      = stated(Choice, "Warranty", "warranty_like", "Same compressor: years", "", units.Count, "n", 0, 20)
	WarrantyConvert   = stated(Choice, "Warranty", "warranty_convert", "Conversion: years", "", units.Count, "n", 0, 20)
	WarrantyReplace   = stated(Choice, "Warranty", "warranty_replace", "New unit: years", "", units.Count, "n", 0, 20)
	WarrantySystem    = stated(Choice, "Warranty", "warranty_system", "Whole system: years", "", units.Count, "n", 0, 20)
	HeatPump          = pick(Choice, "Season", "heat_pump", "It is a heat pump", "", Yes, No)
	CoolingHours      = stated(Choice, "Season", "cooling_hours", "Cooling hours a year at this place", "Hours in which it is warm enough to cool, not hours of the compressor.", units.Count, "n", 100, 6000)
	WeatherBins       = seldom(note(Choice, "Season", "weather_bins", "Hours of this place by temperature, instead", "One a line, rising: outdoor °F, hours a year. They take the place of the cooling hours and of the standard's shares."))
	Tariff            = stated(Choice, "Season", "tariff", "Price of a kilowatt-hour", "", units.Money, "money", 0.01, 5)
	OldSeasonal       = seldom(stated(Choice, "Season", "old_seasonal", "SEER of the old unit, two stages", "From its label; SEER2 where that stands there.", units.Efficiency, "Btu/Wh", 5, 40))
	NewSeasonal       = seldom(stated(Choice, "Season", "new_seasonal", "SEER of the new unit on the old coil", "As listed for that pair; SEER2 where that is listed.", units.Efficiency, "Btu/Wh", 5, 40))
	SystemSeasonal    = seldom(stated(Choice, "Season", "system_seasonal", "SEER of the whole system", "As listed; SEER2 where that is listed.", units.Efficiency, "Btu/Wh", 5, 40))
	HouseLoad         = seldom(stated(Choice, "Season", "house_load", "What the house asks for at 95 °F (35 °C)", "As the standard sizes it where nothing is entered.", units.Capacity, "Btu/h", 3000, 200000))
	Decision          = need(pick(Choice, "Decision", "decision", "Decision", "", "convert to single stage", "same compressor", "replace the unit", "replace the whole system", "leave it"))
	DecisionReason    = note(Choice, "Decision", "decision_reason", "Reason", "In the owner's words where they decide it.")
	ChoiceNote        = note(Choice, "Decision", "choice_note", "Notes", "")
	ConsentCeiling    = stated(Choice, "Consent before work", "consent_ceiling", "Price that is not exceeded without asking", "", units.Money, "money", 0, 1e6)
	ConsentPermit     = pick(Choice, "Consent before work", "consent_permit", "Permit and inspection", "Ask the place's authority.", PermitNeeded, "not needed here", "not asked yet")
	ConsentLicence    = text(Choice, "Consent before work", "consent_licence", "Licence, and refrigerant certificate", "Numbers, not names.")
	ConsentSigned     = pick(Choice, "Consent before work", "consent_signed", "Owner has signed the consent page", "The page is written by the key below.", Yes, "not yet")
	ConsentPage       = program(text(Choice, "Consent before work", "consent_page", "Consent page written", "Written by the program when it makes the page: a mark of what the page said."))
	LeakYear          = seldom(stated(Choice, "Refrigerant", "leak_year", "Refrigerant topped up a year", "", units.Mass, "oz", 0, 500))
	GasPrice          = seldom(stated(Choice, "Refrigerant", "gas_price", "Price of a pound of refrigerant", "", units.Money, "money", 0, 1000))
	GasRise           = seldom(stated(Choice, "Refrigerant", "gas_rise", "Its expected rise a year, above inflation", "", units.Percent, "%", -10, 50))
	DiscountRate      = seldom(stated(Choice, "Terms", "discount_rate", "Interest a year, above inflation", "3 % where nothing is entered.", units.Percent, "%", 0, 30))
	CompressorLife    = seldom(stated(Choice, "Terms", "compressor_life", "A new compressor: years until 63 of 100 have failed", "From memory where nothing is entered.", units.Count, "n", 1, 60))
	UnitLife          = seldom(stated(Choice, "Terms", "unit_life", "Outdoor unit without its compressor: years until 63 of 100 have failed", "From memory where nothing is entered.", units.Count, "n", 1, 60))
	CoilLife          = seldom(stated(Choice, "Terms", "coil_life", "Indoor coil: years until 63 of 100 have failed", "From memory where nothing is entered.", units.Count, "n", 1, 60))
	CompressorShape   = seldom(stated(Choice, "Terms", "compressor_shape", "A new compressor: Weibull shape", "1 fails at any age alike, 3 wears out. From memory where nothing is entered.", units.Count, "n", 0.5, 10))
	UnitShape         = seldom(stated(Choice, "Terms", "unit_shape", "Outdoor unit without its compressor: Weibull shape", "From memory where nothing is entered.", units.Count, "n", 0.5, 10))
	CoilShape         = seldom(stated(Choice, "Terms", "coil_shape", "Indoor coil: Weibull shape", "From memory where nothing is entered.", units.Count, "n", 0.5, 10))
	ChoiceReservation = reservation(Choice, "reservation_choice")

	// Match
	NewCompressorModel  = text(Match, "New compressor", "new_compressor_model", "New compressor: type", "")
	NewCompressorSerial = need(text(Match, "New compressor", "new_compressor_serial", "New compressor: serial number", ""))
	NewCapacity         = need(stated(Match, "New compressor", "new_capacity", "Capacity at the rating point", "", units.Capacity, "Btu/h", 3000, 200000))
	NewPower            = stated(Match, "New compressor", "new_power", "Power at the rating point", "What the coils make of its capacity is found from both.", units.Power, "W", 200, 20000)
	NewRLA              = need(stated(Match, "New compressor", "new_rla", "RLA", "", units.Current, "A", 1, 200))
	NewLRA              = stated(Match, "New compressor", "new_lra", "LRA", "", units.Current, "A", 5, 1200)
	NewVoltage          = ranged(stated(Match, "New compressor", "new_voltage", "Rated voltage", "As its plate has it; a range such as 208-230 is kept as one.", units.Voltage, "V", 100, 600))
	NewBCSC             = seldom(stated(Match, "New compressor", "new_bcsc", "Branch-circuit selection current", "Only where one is marked; the greater of it and RLA sizes the circuit.", units.Current, "A", 1, 200))
	NewOverload         = seldom(pick(Match, "New compressor", "new_overload", "Its own overload protection", "From its data. Where a protector works a separate contact, its opening has to stop the compressor.", OverloadInside, OverloadRelay, OverloadDevice, OverloadSystem, OverloadUnknown))
	OverloadTrip        = seldom(stated(Match, "New compressor", "overload_trip", "Overload relay trips at", "Where it is a relay outside.", units.Current, "A", 1, 300))
	NewRStart           = stated(Match, "New compressor", "new_r_start", "Start winding, C to S, at 25 °C", "From the compressor's data.", units.Resistance, "ohm", 0.05, 200)
	NewRRun             = stated(Match, "New compressor", "new_r_run", "Run winding, C to R, at 25 °C", "From the compressor's data.", units.Resistance, "ohm", 0.02, 100)
	NewOil              = pick(Match, "New compressor", "new_oil", "Oil", "", "mineral or alkylbenzene", "POE", "PVE")
	NewRatedEvap        = seldom(stated(Match, "New compressor", "new_rated_evap", "Rated at: evaporating temperature", "Dew point.", units.Temperature, "F", 0, 70))
	NewRatedCond        = seldom(stated(Match, "New compressor", "new_rated_cond", "Rated at: condensing temperature", "Dew point.", units.Temperature, "F", 80, 150))
	NewKind             = seldom(pick(Match, "New compressor", "new_kind", "Kind", "", "scroll", "rotary", "reciprocating"))
	NewRefrigerants     = seldom(text(Match, "New compressor", "new_refrigerants", "Made for", "All refrigerants of its data."))
	NewMaxHigh          = seldom(stated(Match, "New compressor", "new_max_high", "New compressor: greatest high-side pressure", "Its own limit, not the unit's design pressure, which is asked in Close-up; mind the unit.", units.Pressure, "psig", 70, 2000))
	NewMaxLow           = seldom(stated(Match, "New compressor", "new_max_low", "New compressor: greatest low-side pressure", "Its own limit, not the unit's design pressure.", units.Pressure, "psig", 30, 1000))
	NewStages           = seldom(pick(Match, "New compressor", "new_stages", "Stages", "", "1", "2"))
	CapRating           = need(stated(Match, "New capacitor", "cap_rating", "Run capacitor required", "From the compressor's data, not from the old part.", units.Capacitance, "uF", 1, 200))
	CapVoltageNeeded    = stated(Match, "New capacitor", "cap_voltage_needed", "Run capacitor required: voltage", "From the compressor's data.", units.Voltage, "V", 100, 700)
	CapFitted           = need(stated(Match, "New capacitor", "cap_fitted", "Run capacitor fitted: marking", "", units.Capacitance, "uF", 1, 200))
	CapTolerance        = pick(Match, "New capacitor", "cap_tolerance", "Tolerance class", "", "5 %", "6 %", "10 %", "15 %")
	CapVoltage          = stated(Match, "New capacitor", "cap_voltage", "Voltage marking", "", units.Voltage, "V", 100, 700)
	CapStock            = seldom(note(Match, "New capacitor", "cap_stock", "Run capacitors in stock", "To make the value from parts in parallel. One a line: microfarads, volts; then, if wanted, tolerance in % and how many."))
	ContactorFLA        = stated(Match, "Contactor", "contactor_fla", "Contactor: full-load rating per pole", "", units.Current, "A", 5, 200)
	ContactorLRA        = stated(Match, "Contactor", "contactor_lra", "Contactor: locked-rotor rating per pole", "", units.Current, "A", 20, 1200)
	ContactorPoles      = seldom(pick(Match, "Contactor", "contactor_poles", "Contactor: poles", "", "1", "2", "3"))
	MapMassFlow         = note(Match, "Map", "map_mass_flow", "Map: mass flow, ten coefficients", "Order of AHRI 540, separated by spaces or semicolons. Write lb/h or kg/h in the next field.")
	MapUnits            = pick(Match, "Map", "map_units", "Map: units", "", "F, lb/h, W", "C, kg/h, W")
	MapPower            = note(Match, "Map", "map_power", "Map: power, ten coefficients", "")
	MapCurrent          = note(Match, "Map", "map_current", "Map: current, ten coefficients", "")
	MapSuperheat        = stated(Match, "Map", "map_superheat", "Map: suction superheat", "The superheat at which the map was made.", units.TempDiff, "F", 0, 60)
	MapReturnGas        = stated(Match, "Map", "map_return_gas", "Map: return gas temperature", "If the map is for a fixed return gas instead.", units.Temperature, "F", 0, 100)
	Candidates          = seldom(note(Match, "Candidates", "candidates", "List of candidates", "A table: headings with units in the first line, then one compressor a line. Import fills it."))
	ValveBleeds         = seldom(pick(Match, "What stays", "valve_bleeds", "Pressures even out at rest through the valve", "", Yes, No, "not known"))
	BoreFitted          = seldom(stated(Match, "What stays", "bore_fitted", "Fixed bore fitted now, diameter", "", units.Bore, "in", 0.02, 0.2))
	FixedBore           = seldom(stated(Match, "What stays", "fixed_bore", "Fixed bore, diameter", "", units.Bore, "in", 0.02, 0.2))
	SuctionRiser        = seldom(pick(Match, "What stays", "suction_riser", "Suction line rises to the compressor", "", Yes, No))
	SuctionInside       = seldom(stated(Match, "What stays", "suction_inside", "Suction line, inside diameter", "", units.Bore, "in", 0.3, 2))
	OldLowCapacity      = seldom(stated(Match, "What stays", "old_low_capacity", "Old low stage, capacity", "", units.Capacity, "Btu/h", 3000, 200000))
	DesignDay           = seldom(stated(Match, "What stays", "design_day", "Design day: outdoor temperature", "95 °F (35 °C) where nothing is entered.", units.Temperature, "F", 70, 125))
	StubSuction         = seldom(stated(Match, "What stays", "stub_suction", "Old suction stub", "", units.Bore, "in", 0.2, 2))
	StubDischarge       = seldom(stated(Match, "What stays", "stub_discharge", "Old discharge stub", "", units.Bore, "in", 0.2, 2))
	CabinetRoom         = seldom(stated(Match, "What stays", "cabinet_room", "Room above the feet", "", units.Bore, "in", 5, 60))
	SystemOil           = seldom(pick(Match, "What stays", "system_oil", "Oil in the circuit", "", "mineral or alkylbenzene", "POE", "PVE"))
	OrderSupplier       = seldom(text(Match, "Order", "order_supplier", "Supplier", ""))
	OrderInvoice        = seldom(text(Match, "Order", "order_invoice", "Invoice", ""))
	OrderDate           = seldom(date(Match, "Order", "order_date", "Ordered"))
	OrderReceived       = seldom(date(Match, "Order", "order_received", "Received"))
	MatchNote           = note(Match, "Map", "match_note", "Notes", "")
	MatchReservation    = reservation(Match, "reservation_match")

	// Wiring
	IndoorControl     = need(pick(Wiring, "Unit", "indoor_control", "Indoor control", "", ControlConventional, ControlDigital))
	OldControls       = need(text(Wiring, "Unit", "old_controls", "Old unit's controls", "The catalogue entry nearest to the unit in front of you."))
	DeadCheckout      = seldom(pick(Wiring, "Check-out", "dead_checkout", "Dead check-out", "A word on it: the readings themselves end the step, every one of the dead list as planned, nothing powered. The live list belongs to the Running check.", DeadAsPlanned, DeadExplained))
	ControlStages     = text(Wiring, "Control set-up", "control_stages", "Control reports: stages", "After its own set-up was gone through again for a one-stage unit, by its instructions.")
	ControlSize       = text(Wiring, "Control set-up", "control_size", "Control reports: size", "")
	ControlAir        = text(Wiring, "Control set-up", "control_air", "Control reports: air", "The air measured in the Running check shows that it took.")
	ControlFound      = text(Wiring, "Control set-up", "control_found", "Control reports: what it found", "")
	WiringNote        = note(Wiring, "Unit", "wiring_note", "Notes", "")
	UnitCompared      = program(text(Wiring, "Unit", "unit_compared", "Drawing compared with the unit at hand", "Written when somebody says so by a touch: a mark of the drawing it was said of."))
	CheckoutList      = program(note(Wiring, "Check-out", "checkout_list", "Readings that the check-out asks for", "Written by the program when it made the list: the plan it belongs to, then one reading a line."))
	WiringNoted       = noted(Wiring, "When read", "wiring_noted", true)
	WiringReservation = reservation(Wiring, "reservation_wiring")

	// Electrical
	AckDead               = text(Electrical, "Dead checks", "ack_dead", "Cautions of the dead checks: acknowledged by, when", "Entered when the cautions are acknowledged; the checks open after that.")
	RCS                   = orOpen(measured(Electrical, "Dead checks", "r_cs", "Winding C to S", "Power off, locked out, leads off.", "ohmmeter", units.Resistance, "ohm", 0, 1000))
	RCR                   = orOpen(measured(Electrical, "Dead checks", "r_cr", "Winding C to R", "", "ohmmeter", units.Resistance, "ohm", 0, 1000))
	RSR                   = orOpen(measured(Electrical, "Dead checks", "r_sr", "Winding S to R", "", "ohmmeter", units.Resistance, "ohm", 0, 1000))
	RCase                 = seldom(orOpen(measured(Electrical, "Dead checks", "r_case", "Windings to case, by ohmmeter", "The lowest from any terminal to bare metal of the shell.", "ohmmeter", units.Resistance, "ohm", 0, 1e9)))
	WindingTemp           = measured(Electrical, "Dead checks", "winding_temp", "Winding temperature", "Shell temperature after resting.", "air thermometer", units.Temperature, "F", -40, 250)
	Pin12                 = seldom(measured(Electrical, "Dead checks", "pin_12", "Pins not marked: pin 1 to pin 2", "Number the pins as you like; the three readings tell which is which.", "ohmmeter", units.Resistance, "ohm", 0, 1000))
	Pin23                 = seldom(measured(Electrical, "Dead checks", "pin_23", "Pins not marked: pin 2 to pin 3", "", "ohmmeter", units.Resistance, "ohm", 0, 1000))
	Pin13                 = seldom(measured(Electrical, "Dead checks", "pin_13", "Pins not marked: pin 1 to pin 3", "", "ohmmeter", units.Resistance, "ohm", 0, 1000))
	Insulation            = need(measured(Electrical, "Dead checks", "insulation", "Windings to case", "500 V dc; never in a vacuum.", "insulation tester", units.Insulation, "Mohm", 0, 1e5))
	InsulationVolts       = seldom(stated(Electrical, "Dead checks", "insulation_volts", "Insulation test voltage", "Direct current.", units.Voltage, "V", 50, 2500))
	InsulationBefore      = seldom(note(Electrical, "Dead checks", "insulation_before", "Insulation of this compressor before", "For the trend, oldest first. One a line: megohm, winding temperature in F (or 30 C)."))
	CoilOhms              = seldom(orOpen(measured(Electrical, "Dead checks", "coil_ohms", "Contactor coil", "One lead off.", "ohmmeter", units.Resistance, "ohm", 0, 1e5)))
	CoilVA                = seldom(stated(Electrical, "Dead checks", "coil_va", "Contactor coil: sealed VA", "From its data or label.", units.Apparent, "VA", 0.5, 200))
	CoilVolts             = seldom(stated(Electrical, "Dead checks", "coil_volts", "Contactor coil: rated voltage", "24 V where nothing is entered.", units.Voltage, "V", 5, 300))
	SolenoidOhms          = seldom(orOpen(measured(Electrical, "Dead checks", "solenoid_ohms", "Solenoid coil that stays", "One lead off.", "ohmmeter", units.Resistance, "ohm", 0, 1e5)))
	SolenoidVA            = seldom(stated(Electrical, "Dead checks", "solenoid_va", "Solenoid coil: VA", "", units.Apparent, "VA", 0.5, 200))
	SolenoidVolts         = seldom(stated(Electrical, "Dead checks", "solenoid_volts", "Solenoid coil: rated voltage", "24 V where nothing is entered.", units.Voltage, "V", 5, 300))
	HeaterOhms            = seldom(orOpen(measured(Electrical, "Dead checks", "heater_ohms", "Crankcase heater", "One lead off.", "ohmmeter", units.Resistance, "ohm", 0, 1e6)))
	HeaterWatts           = seldom(stated(Electrical, "Dead checks", "heater_watts", "Crankcase heater: watts", "", units.Power, "W", 5, 500))
	HeaterVolts           = seldom(stated(Electrical, "Dead checks", "heater_volts", "Crankcase heater: rated voltage", "", units.Voltage, "V", 20, 600))
	HeaterKind            = seldom(pick(Electrical, "Dead checks", "heater_kind", "Crankcase heater: kind", "", HeaterFixed, HeaterSelf))
	CapMeter              = need(measured(Electrical, "Dead checks", "cap_meter", "Run capacitor by meter", "Discharged, disconnected, measured dead.", "capacitance meter", units.Capacitance, "uF", 0, 300))
	ContactResistance     = measured(Electrical, "Dead checks", "contact_resistance", "Contactor, contact resistance", "", "ohmmeter", units.Resistance, "mohm", 0, 1e5)
	FanCapRating          = seldom(stated(Electrical, "Dead checks", "fan_cap_rating", "Fan capacitor, or FAN section: marking", "", units.Capacitance, "uF", 0.5, 100))
	CapFanMeter           = seldom(measured(Electrical, "Dead checks", "cap_fan_meter", "Fan capacitor, or FAN section: by meter", "From C to FAN where the part is a dual one.", "capacitance meter", units.Capacitance, "uF", 0, 150))
	CapOuter              = seldom(measured(Electrical, "Dead checks", "cap_outer", "Dual capacitor: HERM to FAN", "Across both sections: less than the smaller one.", "capacitance meter", units.Capacitance, "uF", 0, 150))
	SafeStart             = need(pick(Electrical, "Before power", "safe_start", "Covers on, no jumper left in, people clear", "", Yes, No))
	AckLive               = text(Electrical, "Live checks", "ack_live", "Cautions of the live checks: acknowledged by, when", "Entered when the cautions are acknowledged; the checks open after that.")
	SupplyVoltage         = need(measured(Electrical, "Live checks", "supply_voltage", "Supply voltage, running", "At the contactor, line side.", "voltmeter", units.Voltage, "V", 0, 700))
	SupplyV12             = seldom(measured(Electrical, "Live checks", "supply_v12", "Three-phase: line 1 to 2", "At the contactor, line side, running.", "voltmeter", units.Voltage, "V", 0, 700))
	SupplyV23             = seldom(measured(Electrical, "Live checks", "supply_v23", "Three-phase: line 2 to 3", "", "voltmeter", units.Voltage, "V", 0, 700))
	SupplyV13             = seldom(measured(Electrical, "Live checks", "supply_v13", "Three-phase: line 1 to 3", "", "voltmeter", units.Voltage, "V", 0, 700))
	InrushCurrent         = seldom(measured(Electrical, "Live checks", "inrush_current", "Inrush, common lead", "By a clamp that catches a start.", "clamp ammeter", units.Current, "A", 0, 1500))
	RunCurrent            = need(measured(Electrical, "Live checks", "run_current", "Compressor current, common lead", "", "clamp ammeter", units.Current, "A", 0, 300))
	SupplyVoltageStart    = measured(Electrical, "Live checks", "supply_voltage_start", "Supply voltage, dip at start", "", "voltmeter", units.Voltage, "V", 0, 700)
	RunLeadCurrent        = measured(Electrical, "Live checks", "run_lead_current", "Run winding lead current", "", "clamp ammeter", units.Current, "A", 0, 300)
	CapCurrent            = measured(Electrical, "Live checks", "cap_current", "Start winding lead current", "The lead between capacitor and start terminal: this current is the capacitor's.", "clamp ammeter", units.Current, "A", 0, 100)
	CapVolts              = measured(Electrical, "Live checks", "cap_volts", "Voltage across the capacitor", "Terminal to terminal, running. Higher than the supply.", "voltmeter", units.Voltage, "V", 0, 700)
	StartWindingVolts     = seldom(measured(Electrical, "Live checks", "start_winding_volts", "Voltage across the start winding", "S to C, running: with the other two voltages it gives the power factor.", "voltmeter", units.Voltage, "V", 0, 700))
	FanCurrent            = measured(Electrical, "Live checks", "fan_current", "Outdoor fan current", "", "clamp ammeter", units.Current, "A", 0, 50)
	InputPower            = seldom(measured(Electrical, "Live checks", "input_power", "Input power of the outdoor unit", "By a power meter, where there is one.", "power meter", units.Power, "W", 0, 50000))
	ControlVoltage        = measured(Electrical, "Live checks", "control_voltage", "Control voltage, contactor in", "", "voltmeter", units.Voltage, "V", 0, 60)
	TransformerVA         = stated(Electrical, "Live checks", "transformer_va", "Control transformer rating", "", units.Apparent, "VA", 5, 200)
	ControlCurrent        = measured(Electrical, "Live checks", "control_current", "Control current, contactor in", "", "clamp ammeter", units.Current, "A", 0, 10)
	ElectricalNote        = note(Electrical, "Notes", "electrical_note", "Notes", "")
	ElectricalNoted       = noted(Electrical, "When read", "electrical_noted", true)
	ElectricalReservation = reservation(Electrical, "reservation_electrical")

	// Close-up
	RecoveryTech       = text(CloseUp, "Recovery", "recovery_tech", "Recovered by: certificate", "Certificate of the technician, 40 CFR 82.")
	RecoveryCylinder   = text(CloseUp, "Recovery", "recovery_cylinder", "Recovery cylinder: serial number", "")
	RecoveryRetest     = seldom(coarse(date(CloseUp, "Recovery", "recovery_retest", "Recovery cylinder: retest due")))
	RecoveryWater      = seldom(stated(CloseUp, "Recovery", "recovery_water", "Recovery cylinder: water capacity", "WC on its collar.", units.Mass, "lb", 5, 1000))
	RecoveryBefore     = seldom(measured(CloseUp, "Recovery", "recovery_before", "In the recovery cylinder before", "Gross weight less tare; 0 only for one that was empty.", "scale", units.Mass, "lb", 0, 1000))
	RecoveryAfter      = seldom(measured(CloseUp, "Recovery", "recovery_after", "In the recovery cylinder after", "Gross weight less tare.", "scale", units.Mass, "lb", 0, 1000))
	Recovered          = measured(CloseUp, "Recovery", "recovered", "Recovered from the unit", "By weight.", "scale", units.Mass, "oz", 0, 2000)
	RecoveryLevel      = measured(CloseUp, "Recovery", "recovery_level", "Evacuation level reached, pump stopped", "Read again after some minutes. Below 0 for a vacuum; 10 inHg of a gauge's vacuum side is taken too.", "low-side gauge", units.Pressure, "psig", -15, 100)
	RecoveryTo         = pick(CloseUp, "Recovery", "recovery_to", "Where it goes", "Burnt or mixed refrigerant goes to reclaim.", BackIntoUnit, ToReclaim, "kept for the same owner", "destroyed")
	ChargeSource       = seldom(text(CloseUp, "Recovery", "charge_source", "Where the new charge comes from", ""))
	NitrogenRate       = seldom(text(CloseUp, "Brazing", "nitrogen_rate", "Nitrogen flow while brazing", "Where and how much; a trickle that leaves freely."))
	NitrogenFlow       = pick(CloseUp, "Brazing", "nitrogen_flow", "Nitrogen trickled while brazing", "", "yes", "no")
	DrierFitted        = pick(CloseUp, "Brazing", "drier_fitted", "New liquid-line drier", "", "yes", "no")
	SuctionFilter      = pick(CloseUp, "Brazing", "suction_filter", "Suction filter after burn-out", "", FilterStays, "not needed", "no")
	DrierSize          = seldom(text(CloseUp, "Brazing", "drier_size", "Drier: size and connection", ""))
	DrierDirection     = seldom(pick(CloseUp, "Brazing", "drier_direction", "Drier: direction", "", DrierAsArrow, "both ways", "not looked at"))
	JointList          = seldom(note(CloseUp, "Brazing", "joint_list", "Joints that were opened or made", "One a line: where; bubbles; detector; at running pressure."))
	BrazingNoted       = noted(CloseUp, "Brazing", "brazing_noted", false)
	OilDrained         = seldom(measured(CloseUp, "Oil", "oil_drained", "Oil drained from the old compressor", "", "measuring cup", units.Volume, "floz", 0, 300))
	OilAdded           = seldom(measured(CloseUp, "Oil", "oil_added", "Oil added to the new one", "0 where it came with its own and none was added.", "measuring cup", units.Volume, "floz", 0, 300))
	PartsBack          = pick(CloseUp, "Put back", "parts_back", "Every bracket, grommet and sound part back", "", Yes, No)
	GroundBack         = pick(CloseUp, "Put back", "ground_back", "Equipment ground landed again", "", Yes, No)
	CoilWashed         = seldom(pick(CloseUp, "Put back", "coil_washed", "Outdoor coil washed, and dry before trimming", "A wet coil lowers the head and invites overcharge.", "washed and dry", "washed, still wet", "was clean", "not washed"))
	DesignLow          = stated(CloseUp, "Pressure test", "design_low", "Design pressure of the unit, low side", "From the plate of the outdoor unit.", units.Pressure, "psig", 50, 800)
	DesignHigh         = stated(CloseUp, "Pressure test", "design_high", "Design pressure of the unit, high side", "From the plate of the outdoor unit.", units.Pressure, "psig", 50, 1000)
	TestValves         = seldom(pick(CloseUp, "Pressure test", "test_valves", "Service valves during the test", "", ValvesOpen, ValvesShut))
	TestOutdoor        = seldom(measured(CloseUp, "Pressure test", "test_outdoor", "Outdoor unit tested apart, at", "Where the service valves were shut.", "test gauge", units.Pressure, "psig", 0, 900))
	TestP1             = need(measured(CloseUp, "Pressure test", "test_p1", "Nitrogen pressure, start", "", "test gauge", units.Pressure, "psig", 0, 900))
	TestT1             = need(measured(CloseUp, "Pressure test", "test_t1", "Temperature, start", "", "air thermometer", units.Temperature, "F", -40, 160))
	TestP2             = need(measured(CloseUp, "Pressure test", "test_p2", "Nitrogen pressure, end", "", "test gauge", units.Pressure, "psig", 0, 900))
	TestT2             = need(measured(CloseUp, "Pressure test", "test_t2", "Temperature, end", "", "air thermometer", units.Temperature, "F", -40, 160))
	TestTime           = need(stated(CloseUp, "Pressure test", "test_time", "Nitrogen held for", "", units.Duration, "min", 1, 3000))
	HoldStarted        = program(text(CloseUp, "Pressure test", "hold_started", "Nitrogen hold: clock started", "Written by the program when the clock is started."))
	HoldNoted          = noted(CloseUp, "Pressure test", "hold_noted", false)
	FreeVolume         = seldom(stated(CloseUp, "Pressure test", "free_volume", "Free volume of the circuit under test", "From instructions or measured; leave empty if not known. A leak's rate needs it.", units.Volume, "L", 0.5, 200))
	LeakSought         = seldom(stated(CloseUp, "Pressure test", "leak_sought", "Smallest leak the hold should show", "Of this refrigerant, at rest.", units.LeakRate, "g/a", 0.1, 1e9))
	LeakSearch         = seldom(pick(CloseUp, "Pressure test", "leak_search", "Leak search at the unit's own pressure", "Every joint that was opened, at rest and running, by detector and bubbles.", LeakNone, LeakMended, LeakNotDone))
	EvacuationWay      = seldom(pick(CloseUp, "Vacuum", "evacuation_way", "Evacuation", "", DeepSingle, TripleBreaks))
	EvacuationBreaks   = seldom(note(CloseUp, "Vacuum", "evacuation_breaks", "Breaks with dry nitrogen", "One a line: microns reached, pressure of the break in psig, minutes it stood. 1000 2 10"))
	PumpValved         = pick(CloseUp, "Vacuum", "pump_valved", "Valve to the pump during the rise", "", PumpShut, PumpRuns, PumpDraws)
	VacuumFinal        = measured(CloseUp, "Vacuum", "vacuum_final", "Vacuum, pump valved off", "At the system, farthest from the pump.", "vacuum gauge", units.Vacuum, "micron", 0, 800000)
	VacuumEnd          = need(measured(CloseUp, "Vacuum", "vacuum_end", "Vacuum at the end of the hold", "", "vacuum gauge", units.Vacuum, "micron", 0, 800000))
	VacuumTime         = need(stated(CloseUp, "Vacuum", "vacuum_time", "Vacuum held for", "", units.Duration, "min", 1, 3000))
	VacuumRise         = note(CloseUp, "Vacuum", "vacuum_rise", "Rise readings", "One a line: minutes, microns.")
	DecayStarted       = program(text(CloseUp, "Vacuum", "decay_started", "Isolated vacuum: clock started", "Written by the program when the clock is started."))
	VacuumNoted        = noted(CloseUp, "Vacuum", "vacuum_noted", false)
	VacuumPull         = seldom(note(CloseUp, "Vacuum", "vacuum_pull", "Pull-down readings", "While the pump runs. One a line: minutes since it was started, microns."))
	PumpedFor          = seldom(stated(CloseUp, "Vacuum", "pumped_for", "Pumped for, before it was valved off", "", units.Duration, "min", 1, 6000))
	GaugeRepeats       = seldom(stated(CloseUp, "Vacuum", "gauge_repeats", "Vacuum gauge repeats itself within", "From its data, a share of the reading; not its accuracy. Usual for its kind where nothing is entered.", units.Percent, "%", 0.1, 20))
	VacuumColdest      = seldom(measured(CloseUp, "Vacuum", "vacuum_coldest", "Coldest part of the circuit under vacuum", "", "pipe clamp", units.Temperature, "F", -40, 160))
	CloseupNote        = note(CloseUp, "Vacuum", "closeup_note", "Notes", "")
	CloseUpReservation = reservation(CloseUp, "reservation_closeup")

	// Charge
	LineLength        = stated(Charge, "Build-up", "line_length", "Liquid line length", "", units.Length, "ft", 0, 300)
	LineIncluded      = stated(Charge, "Build-up", "line_included", "Length covered by the plate charge", "Commonly 15 ft (4.6 m); the plate or instructions decide.", units.Length, "ft", 0, 100)
	LineOD            = stated(Charge, "Build-up", "line_od", "Liquid line, outside diameter", "", units.Bore, "in", 0.1, 2)
	LineWall          = seldom(stated(Charge, "Build-up", "line_wall", "Liquid line, wall", "The usual one of its diameter where nothing is entered.", units.Bore, "in", 0.01, 0.2))
	DrierVolume       = stated(Charge, "Build-up", "drier_volume", "New drier or filter, free volume", "Bounds by its size where nothing is entered.", units.Volume, "in3", 0, 80)
	SuctionLength     = seldom(stated(Charge, "Build-up", "suction_length", "Suction line length, where it differs from the liquid line's", "", units.Length, "ft", 0, 300))
	SuctionOD         = seldom(stated(Charge, "Build-up", "suction_od", "Suction line, outside diameter", "", units.Bore, "in", 0.2, 3))
	OldDrierVolume    = seldom(stated(Charge, "Build-up", "old_drier_volume", "Drier taken out, free volume", "", units.Volume, "in3", 0, 80))
	OldAccumulator    = seldom(stated(Charge, "Build-up", "old_accumulator", "Accumulator before: volume", "0 where there was none; counted only with the other.", units.Volume, "in3", 0, 3000))
	NewAccumulator    = seldom(stated(Charge, "Build-up", "new_accumulator", "Accumulator now: volume", "0 where there is none.", units.Volume, "in3", 0, 3000))
	OldCoil           = seldom(stated(Charge, "Build-up", "old_coil", "Coil that was changed, before: inside volume", "Counted only with the other.", units.Volume, "in3", 1, 5000))
	NewCoil           = seldom(stated(Charge, "Build-up", "new_coil", "Coil that was changed, now: inside volume", "", units.Volume, "in3", 1, 5000))
	OldFree           = seldom(stated(Charge, "Build-up", "old_free", "Old compressor: free gas volume", "", units.Volume, "in3", 10, 3000))
	NewFree           = seldom(stated(Charge, "Build-up", "new_free", "New compressor: free gas volume", "", units.Volume, "in3", 10, 3000))
	OldOilCharge      = seldom(stated(Charge, "Build-up", "old_oil_charge", "Old compressor: oil charge", "", units.Volume, "floz", 5, 300))
	NewOilCharge      = seldom(stated(Charge, "Build-up", "new_oil_charge", "New compressor: oil charge", "", units.Volume, "floz", 5, 300))
	ChargeCylinder    = seldom(text(Charge, "Weighed", "charge_cylinder", "Cylinder weighed from: serial number", ""))
	ChargeTare        = seldom(stated(Charge, "Weighed", "charge_tare", "Cylinder weighed from: tare", "", units.Mass, "lb", 1, 300))
	ScaleZeroStart    = seldom(measured(Charge, "Weighed", "scale_zero_start", "Scale empty, before", "", "scale", units.Mass, "oz", -100, 100))
	CylinderStart     = seldom(measured(Charge, "Weighed", "cylinder_start", "Cylinder on the scale, before", "", "scale", units.Mass, "oz", 1, 5000))
	CylinderStop      = seldom(measured(Charge, "Weighed", "cylinder_stop", "Cylinder on the scale, after", "Before any trimming.", "scale", units.Mass, "oz", 1, 5000))
	ScaleZeroStop     = seldom(measured(Charge, "Weighed", "scale_zero_stop", "Scale empty, after", "", "scale", units.Mass, "oz", -100, 100))
	ChargedWith       = need(pick(Charge, "Weighed", "charged_with", "Refrigerant weighed in, read on the cylinder", "Superheat and subcooling are those of this refrigerant.", fluid.Names()...))
	WeighedIn         = need(measured(Charge, "Weighed", "weighed_in", "Weighed in", "", "scale", units.Mass, "oz", 0, 2000))
	Trimmed           = seldom(measured(Charge, "Weighed", "trimmed", "Trimmed afterwards", "Added counts up, removed counts down.", "scale", units.Mass, "oz", -500, 500))
	SettleStarted     = program(text(Charge, "Trim", "settle_started", "Settling: clock started", "Written by the program when the clock is started."))
	TrimSteps         = seldom(note(Charge, "Trim", "trim_steps", "Trim steps", "One a line: ounces added since the first reading, then the settled subcooling (or superheat) in °F."))
	TrimSets          = program(note(Charge, "Trim", "trim_sets", "Trim: readings of each step", "Written by the program when the readings of the running unit are kept as a step."))
	FlammableRead     = seldom(note(Charge, "Flammable refrigerant", "flammable_read", "Largest charge: what was read", "Which instructions or standard, edition and table; room, its area, height of release."))
	FlammableMost     = seldom(stated(Charge, "Flammable refrigerant", "flammable_most", "Largest charge for this room, as read there", "From the unit's instructions, or the adopted standard. This program does not work it out.", units.Mass, "oz", 1, 2000))
	HeaterHours       = seldom(pick(Charge, "First start", "heater_hours", "Crankcase heater on for its hours", "", Yes, "no heater", No))
	VacuumBroken      = seldom(pick(Charge, "First start", "vacuum_broken", "Vacuum broken with refrigerant on the liquid side", "", Yes, No))
	FirstSeconds      = seldom(note(Charge, "First start", "first_seconds", "First seconds: noise and current", "Stop at once at a howl, a knock, or a current that stays at locked rotor."))
	LabelCharge       = need(stated(Charge, "Label", "label_charge", "Total charge written on the label", "", units.Mass, "oz", 0, 2000))
	ChargeNote        = note(Charge, "Label", "charge_note", "Notes", "")
	ChargeNoted       = noted(Charge, "When read", "charge_noted", true)
	ChargeReservation = reservation(Charge, "reservation_charge")

	// Running check
	SuctionPressure    = need(measured(Running, "Refrigerant", "suction_pressure", "Suction pressure", "At the outdoor unit's vapour service port.", "low-side gauge", units.Pressure, "psig", -15, 400))
	SuctionTemp        = need(measured(Running, "Refrigerant", "suction_temp", "Suction line temperature", "Clamped and insulated, beside the port.", "pipe clamp", units.Temperature, "F", -60, 200))
	LiquidPressure     = need(measured(Running, "Refrigerant", "liquid_pressure", "Liquid pressure", "At the liquid service port.", "high-side gauge", units.Pressure, "psig", 0, 900))
	LiquidTemp         = need(measured(Running, "Refrigerant", "liquid_temp", "Liquid line temperature", "", "pipe clamp", units.Temperature, "F", -40, 220))
	OutdoorTemp        = need(measured(Running, "Air", "outdoor_temp", "Outdoor air, entering the coil", "", "air thermometer", units.Temperature, "F", -40, 140))
	ReturnDB           = measured(Running, "Air", "return_db", "Return air, dry bulb", "", "air thermometer", units.Temperature, "F", 30, 120)
	ReturnWB           = measured(Running, "Air", "return_wb", "Return air, wet bulb", "", "wet bulb", units.Temperature, "F", 20, 100)
	SupplyDB           = measured(Running, "Air", "supply_db", "Supply air, dry bulb", "", "air thermometer", units.Temperature, "F", 20, 140)
	SettleTime         = stated(Running, "Air", "settle_time", "Ran without a break for", "15 min after each change of charge.", units.Duration, "min", 0, 1000)
	CondenserAirOut    = measured(Running, "Air", "condenser_air_out", "Outdoor air, leaving the coil", "", "air thermometer", units.Temperature, "F", -40, 180)
	SupplyWB           = measured(Running, "Air", "supply_wb", "Supply air, wet bulb", "", "wet bulb", units.Temperature, "F", 20, 100)
	Airflow            = measured(Running, "Air", "airflow", "Indoor airflow", "", "airflow by static or traverse", units.Airflow, "cfm", 50, 10000)
	DischargePressure  = measured(Running, "Discharge line and valve", "discharge_pressure", "Discharge pressure", "If there is a port; else the liquid pressure stands in.", "high-side gauge", units.Pressure, "psig", 0, 900)
	DischargeTemp      = measured(Running, "Discharge line and valve", "discharge_temp", "Discharge line temperature", "About 6 in (15 cm) from the compressor.", "pipe clamp", units.Temperature, "F", 0, 400)
	ValveTemp          = measured(Running, "Discharge line and valve", "valve_temp", "Liquid line temperature at the indoor coil", "Just before the metering device.", "pipe clamp", units.Temperature, "F", -40, 220)
	LineRise           = stated(Running, "Line set", "line_rise", "Outdoor unit above the evaporator by", "Negative when it stands below.", units.Length, "ft", -200, 200)
	StaticReturn       = seldom(measured(Running, "Static pressure", "static_return", "Static pressure, return side, between filter and blower", "Below the room's: enter it without its sign.", "static gauge", units.DuctPressure, "inH2O", 0, 5))
	StaticSupply       = seldom(measured(Running, "Static pressure", "static_supply", "Static pressure, supply side, after the coil", "", "static gauge", units.DuctPressure, "inH2O", 0, 5))
	StaticBefore       = seldom(measured(Running, "Static pressure", "static_before", "Static pressure before the filter", "On the return side: enter it without its sign.", "static gauge", units.DuctPressure, "inH2O", 0, 5))
	StaticRated        = seldom(stated(Running, "Static pressure", "static_rated", "Highest external static on the air handler's plate", "", units.DuctPressure, "inH2O", 0.05, 5))
	VibrationTubing    = pick(Running, "Look and touch", "vibration_tubing", "Tubing shakes or touches anything, by look and touch", "Unit running. Away from the fan; discharge line and terminals are hot.", Yes, No)
	VibrationShell     = pick(Running, "Look and touch", "vibration_shell", "Compressor shakes hard or knocks, by look and touch", "A picture of its feet and of the tubing goes with it.", Yes, No)
	SetDone            = program(pick(Running, "Sets of readings", "set_done", "Done after this set of readings", "Closes the set: what was read before and can have moved is to be read again.", SetChargeIn, SetChargeOut, SetAir, SetOutdoor, SetIndoor, SetOther, SetAgain))
	SetDetail          = seldom(text(Running, "Sets of readings", "set_detail", "What exactly is done after this set", "An amount, a setting: entered before the set is closed."))
	HandedSet          = seldom(stated(Running, "Sets of readings", "handed_set", "Set of readings that is handed over", "Its number. Signed with the rest.", units.Count, "n", 1, 999))
	RestPressure       = measured(Running, "At rest", "rest_pressure", "Standing pressure, unit off and equalised", "Off until the coil has taken the temperature of the air.", "high-side gauge", units.Pressure, "psig", 0, 500)
	RestTemp           = measured(Running, "At rest", "rest_temp", "Outdoor coil temperature at rest", "Bare pipe of the coil, in the shade.", "pipe clamp", units.Temperature, "F", -40, 140)
	RunningNote        = note(Running, "Notes", "running_note", "Notes", "")
	RunningNoted       = noted(Running, "When read", "running_noted", true)
	RunningReservation = reservation(Running, "reservation_running")

	// Hand-over
	VisitNow       = program(text(HandOver, "Done", "visit", "Visit", "Written by the program when a visit is begun: date; kind; person."))
	WorkDone       = said(need(note(HandOver, "Done", "work_done", "What was done", "")))
	OpenConditions = note(HandOver, "Done", "open_conditions", "What is left open", "")
	FollowUp       = seldom(text(HandOver, "Done", "follow_up", "To be done at another visit", "A filter to take out, a reading on a hot day, a look after a year."))
	FollowUpDue    = seldom(date(HandOver, "Done", "follow_up_due", "Due by: the list of jobs tells; clear it once it was done"))
	OwnerAdvice    = note(HandOver, "Owner", "owner_advice", "What the owner should look after", "")
	OwnerCall      = seldom(text(HandOver, "Owner", "owner_call", "Whom the owner calls", "Name and number that stand on the owner's page."))
	LabelDone      = pick(HandOver, "Papers", "label_done", "New label on the unit, old one readable", "", "yes", "no")
	PartWarranty   = seldom(pick(HandOver, "Papers", "part_warranty", "New compressor: warranty", "", "maker's, registered", "maker's, not registered", "none", "not known"))
	PartSupplier   = seldom(text(HandOver, "Papers", "part_supplier", "New compressor: supplier", "A reference of the office's."))
	PartInvoice    = seldom(text(HandOver, "Papers", "part_invoice", "New compressor: invoice", ""))
	PartInvoiced   = seldom(date(HandOver, "Papers", "part_invoiced", "New compressor: date of the invoice"))
	FailedPart     = seldom(pick(HandOver, "Papers", "failed_part", "Failed compressor", "", "kept for the warranty", "sent back", "scrapped"))
	LabourWarranty = seldom(text(HandOver, "Papers", "labour_warranty", "Labour warranty given", "How long, or none."))
	SignedBy       = text(HandOver, "Sign-off", "signed_by", "Technician signs: reference", "The supervisor signs in the workbook.")
	SignedDate     = date(HandOver, "Sign-off", "signed_date", "Date")
	SignedRecord   = program(text(HandOver, "Sign-off", "signed_record", "Digest of the record that was signed", "Written by the program when the technician signs."))
)
