package record

// Step is one of the ten steps of a job, by its key in files.
type Step string

// The steps in the order in which the work is done.
const (
	Intake     Step = "intake"
	Cause      Step = "cause"
	Choice     Step = "choice"
	Match      Step = "match"
	Wiring     Step = "wiring"
	Electrical Step = "electrical"
	CloseUp    Step = "closeup"
	Charge     Step = "charge"
	Running    Step = "running"
	HandOver   Step = "handover"
)

// StepInfo is what a person reads about a step.
type StepInfo struct {
	Step     Step
	Title    string
	Purpose  string
	Cautions []Caution
}

// Caution is shown at the step itself. Source says which document it defers
// to, and how far the wording here was checked.
type Caution struct {
	Text   string
	Source string
}

const localRule = "local code, the equipment's instructions and licensed practice decide"

// Steps lists the ten steps with the usual cautions. The hazards and documents
// are those of the trade facts, section 9; the wording is ours and replaces no
// training.
var Steps = []StepInfo{
	{Intake, "Intake", "Who, where and which unit: what the plates say before anything is touched.", []Caution{
		{"Tag the breaker too, with your name, so that nobody switches it on.", "OSHA 29 CFR 1910.147 (from memory); " + localRule},
		{"Stop in rain. In heat, drink and rest in the shade before you feel that you must.", "common practice, no source"},
		{"A unit that will be opened may start by itself. Open and lock the disconnect before a panel comes off.", "OSHA 29 CFR 1910.147 (from memory); " + localRule},
	}},
	{Cause, "Cause", "Why the compressor failed, and whether the circuit is contaminated.", []Caution{
		{"Lock out, then prove dead on a meter that was tested before and after: line side and 24 V side.", "NFPA 70E (from memory); " + localRule},
		{"A capacitor holds its charge with the power off. Discharge it through a 15 to 20 kilohm resistor, wait, and measure it.", "common practice, no source; " + localRule},
		{"Compressor terminals can blow out. While it holds pressure, test at the leads taken off contactor and capacitor, its terminal cover on; at its terminals only after recovery, your face out of line.", "common practice, no source"},
		{"Burnt oil is acidic: gloves, eye protection, ventilation, closed recovery.", "common practice, no source"},
	}},
	{Choice, "Choice", "Repair like for like, convert to single stage, or replace the unit.", nil},
	{Match, "Match", "A single-stage compressor that fits this unit: capacity, current, capacitor, oil.", []Caution{
		{"Never put a flammable (A2L) refrigerant into equipment listed for A1, and never mix refrigerants.", "UL 60335-2-40, ASHRAE 15 (titles only read); " + localRule},
	}},
	{Wiring, "Wiring", "Take the two-stage controls down to what a single-stage unit needs.", []Caution{
		{"Lock out, prove dead and discharge the capacitor before moving a conductor.", "NFPA 70E (from memory); " + localRule},
		{"Leave every pressure switch and temperature cut-out in circuit. Taking one out needs a stated reason and stays marked on the plan and the sheet.", localRule},
		{"Two people lift a compressor, or a hoist does.", "common practice, no source"},
		{"Identify a conductor by tracing it. Colours are custom, not code.", "common practice, no source"},
	}},
	{Electrical, "Electrical", "Capacitor, windings, supply and current, dead checks before live ones.", []Caution{
		{"Dead checks first: locked out, proved dead, capacitor discharged and measured.", "NFPA 70E (from memory); " + localRule},
		{"Live checks of the converted unit come after the charge: it cannot run empty.", "common practice, no source"},
		{"Live checks: mains voltage can kill. Only where local rules allow it, with rated meter, leads and gloves, and a second person near who can switch off and call for help.", "NFPA 70E (from memory); " + localRule},
		{"Never apply an insulation test to a compressor under vacuum.", "common practice, no source"},
	}},
	{CloseUp, "Close-up", "Brazed, pressure-held with nitrogen, evacuated, and shown to hold.", []Caution{
		{"Nitrogen only through a regulator with a relief, cylinder chained; never oxygen or air.", "ASHRAE 15, section on testing; " + localRule},
		{"Test pressure stays at or below the lowest marked design pressure of what is connected.", "ASHRAE 15 (from memory); the nameplate decides"},
		{"Braze only on an open, recovered circuit, nitrogen trickling through, extinguisher at hand.", "federal weatherisation specification 5.3003.28; " + localRule},
		{"Watch for fire after the last flame: stay, look behind and below, an extinguisher at hand, for as long as the local rule says.", "common practice, no source; " + localRule},
		{"Never run a compressor, or test its insulation, in a vacuum.", "common practice, no source"},
	}},
	{Charge, "Charge", "Build up the new charge and write it on the label.", []Caution{
		{"Wear eye and hand protection: liquid refrigerant freezes skin. Meter liquid into the suction side slowly.", "common practice, no source"},
		{"Fill a recovery cylinder to 80 % by volume at most, and only with what it is marked for.", "DOT 49 CFR (from memory)"},
		{"Venting refrigerant is prohibited: recover it.", "40 CFR 82 Subpart F; " + localRule},
	}},
	{Running, "Running check", "Readings from the running unit, judged with their doubt.", []Caution{
		{"Keep hands, leads and hoses clear of the fan and of hot discharge pipe.", "common practice, no source"},
		{"Live parts are exposed with the panel off. Close it for the readings wherever possible.", "NFPA 70E (from memory); " + localRule},
	}},
	{HandOver, "Hand-over", "What was done, what is left open, the label, the owner, the signature.", nil},
}

// Info returns what people read about s; ok is false for an unknown step.
func (s Step) Info() (StepInfo, bool) {
	for _, i := range Steps {
		if i.Step == s {
			return i, true
		}
	}
	return StepInfo{}, false
}
