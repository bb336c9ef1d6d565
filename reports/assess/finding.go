package assess

import (
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// Verdict is the outcome of holding a value against its band.
type Verdict string

// The verdicts. The first three follow from the guard-band rule of package
// uncertainty.
const (
	Within      Verdict = "within"
	Outside     Verdict = "outside"
	TooClose    Verdict = "too close to call"
	NotMeasured Verdict = "not measured"
	NotJudged   Verdict = "not judged" // Reason says why: no limit applies, or the conditions do not allow it
)

// Confidence tells how far the source of a limit can be trusted, in words
// that are shown as they stand.
type Confidence string

// The grades of a source.
const (
	ReadSource  Confidence = "read in a published text"
	SecondHand  Confidence = "read in a page that restates the standard"
	Computed    Confidence = "computed from a published equation"
	FromMemory  Confidence = "from memory, not verified"
	Practice    Confidence = "common practice, no source"
	FromPlate   Confidence = "as stated for this unit"
	LawOfNature Confidence = "law of nature"
)

// Band is what a value is held against, SI. A nil side has no limit; Target
// is drawn, not judged.
type Band struct {
	Low    *float64 `json:"low,omitempty"`
	High   *float64 `json:"high,omitempty"`
	Target *float64 `json:"target,omitempty"`
}

// Input is one reading that a finding was computed from, or a number that nobody
// reads and that it takes.
type Input struct {
	Key    string  `json:"key"` // of the field; "site", "assumed/..." and the like where nobody reads it
	Label  string  `json:"label"`
	Value  float64 `json:"value"`            // SI; a gauge reading as absolute
	U      float64 `json:"u"`                // standard uncertainty, SI; 0 for a stated value
	Share  float64 `json:"share"`            // its part of the finding's variance
	Doubt  string  `json:"doubt,omitempty"`  // where the uncertainty comes from
	Shared string  `json:"shared,omitempty"` // the instrument shared with another input, if any

	Dim     units.Dimension `json:"-"` // what Value measures
	Idle    bool            `json:"-"` // assumed for another kind of machine: it moves nothing here
	Assumed bool            `json:"-"`
	Unnamed bool            `json:"-"` // read with an instrument that nobody named
}

// Constant is a number of a table that a sheet's formula takes as it stands.
type Constant struct {
	Name  string
	Dim   units.Dimension // "" is a plain number in SI
	Value float64         // SI; a difference
}

// Finding is one derived quantity and what is thought of it.
type Finding struct {
	Key        string          `json:"key"`
	Label      string          `json:"label"`
	Step       record.Step     `json:"step"`
	Group      string          `json:"group"`
	Dim        units.Dimension `json:"dimension"`
	Measured   bool            `json:"measured"` // Value and U hold something
	Value      float64         `json:"value"`
	U          float64         `json:"u"`
	K          float64         `json:"k"` // U expanded = K U
	Band       Band            `json:"band"`
	Matters    *float64        `json:"matters,omitempty"` // where the band is a point: the difference from it that matters
	Verdict    Verdict         `json:"verdict"`
	Reason     string          `json:"reason,omitempty"` // why not measured or not judged
	Source     string          `json:"source,omitempty"`
	Confidence Confidence      `json:"confidence,omitempty"`
	Next       string          `json:"next"`
	Formula    string          `json:"formula"` // the relation in words
	Method     string          `json:"method"`  // where the relation and its constants come from
	Inputs     []Input         `json:"inputs"`
	Settle     string          `json:"settle,omitempty"` // the reading that would settle a close call
	Near       string          `json:"near,omitempty"`   // why a close call stays one: its reading was repeated

	// Sheet is the relation for a spreadsheet, "" where arithmetic does not reach
	// or something is missing: see relation.sheet, with the inputs under the keys
	// of the fields that were entered, and Constants for what it takes of tables.
	Sheet     string     `json:"-"`
	Constants []Constant `json:"-"`
}

// Expanded is the half-width of the whisker, SI.
func (f Finding) Expanded() float64 { return f.K * f.U }

// Problem is a reading that is acceptable by itself yet cannot be used: a
// pressure above the refrigerant's critical pressure, say. It belongs beside
// the field.
type Problem struct {
	Key  record.Key `json:"key"`
	Text string     `json:"text"`
}

// Report is everything that is known about a job at one moment.
type Report struct {
	Job      string    `json:"job"`
	Demo     bool      `json:"demo"`
	Site     float64   `json:"site_pressure_Pa"`
	Findings []Finding `json:"findings"`
	Problems []Problem `json:"problems"`
	Steps    []State   `json:"steps"`
	Gates    []Gate    `json:"gates"`
	Against  []Matter  `json:"against"` // what stands against signing, in the order in which it is shown
	Cycle    *Cycle    `json:"cycle,omitempty"`
	Rise     *Rise     `json:"vacuum_rise,omitempty"`
	Pull     *Pull     `json:"pull_down,omitempty"`
	Trim     *Trim     `json:"trim,omitempty"`
	BuildUp  []Part    `json:"build_up,omitempty"`
	Tasks    []Task    `json:"work_list"`
	Clocks   []Clock   `json:"clocks"`
	Logs     []Log     `json:"logs,omitempty"`
	Sets     []Set     `json:"sets,omitempty"` // of readings, where there is more than one
}

// Rise is the isolated vacuum's rise for the picture: readings, the word that the
// finding says too, and the likeliest curve. SI.
type Rise struct {
	Word      string    `json:"word"`
	More      float64   `json:"more_s,omitempty"` // how much longer to hold, where the word is wait
	Seconds   []float64 `json:"seconds"`
	P         []float64 `json:"p_Pa"`
	CurveT    []float64 `json:"-"`
	CurveP    []float64 `json:"-"`
	Low       []float64 `json:"-"` // 95 % about the curve, whatever explains the readings
	High      []float64 `json:"-"`
	Plateau   float64   `json:"water_Pa,omitempty"` // where water would hold the pressure
	PlateauOf string    `json:"water_at"`           // at what temperature that is
}

// Pull is the pull-down for the picture: readings, what explains them and goes on to
// the vacuum that starts the hold, and the time still needed. SI.
type Pull struct {
	Seconds   []float64 `json:"seconds"`
	P         []float64 `json:"p_Pa"`
	CurveT    []float64 `json:"-"`
	CurveP    []float64 `json:"-"`
	Low       []float64 `json:"-"` // 95 % of what explains the readings
	High      []float64 `json:"-"`
	Target    float64   `json:"target_Pa"`
	Left      float64   `json:"left_s"` // from the last reading; 0 where it is reached, or where it is not
	LeftLow   float64   `json:"left_low_s"`
	LeftHigh  float64   `json:"left_high_s"`
	Reaches   float64   `json:"reaches"` // likelihood that pumping on gets there at all
	Plateau   float64   `json:"water_Pa,omitempty"`
	PlateauOf string    `json:"water_at"`
}

// Log is one log of the job with the stretch that was looked at: the steady one,
// or, if there is none, the last minutes.
type Log struct {
	Name    string     `json:"name"`
	Steady  bool       `json:"steady"`
	From    float64    `json:"from_s"`
	To      float64    `json:"to_s"`
	Columns []LogDrift `json:"columns"`
}

// LogDrift is one reading over that stretch, SI.
type LogDrift struct {
	Key   record.Key `json:"key"`
	Mean  float64    `json:"mean"` // a gauge reading without the site's pressure
	SD    float64    `json:"sd"`   // about the fitted line
	Moved float64    `json:"moved"`
	Pass  bool       `json:"pass"`
}

// State says how far a step is.
type State struct {
	Step     record.Step `json:"step"`
	Word     Progress    `json:"state"`
	Why      string      `json:"why,omitempty"` // what holds it, what is left, or the reservations, in words
	Left     []Matter    `json:"left,omitempty"`
	Unknown  []Matter    `json:"unknown,omitempty"` // what it is done without and a later step asks for
	Reserved []Matter    `json:"reserved,omitempty"`
	Reason   *Reason     `json:"reason,omitempty"` // that a named person gave for it
	// Otherwise says that the decision in Choice leaves nothing for the step to do.
	Otherwise bool `json:"decided_otherwise,omitempty"`
}

// Progress is the word for a step's state.
type Progress string

// The states of a step.
const (
	Open         Progress = "open"    // something is still to be entered or is outside
	NotYet       Progress = "not yet" // nothing entered yet, and nothing there to act on; Why says what is wanted first
	Ready        Progress = "ready"   // nothing entered yet, and what it works from is there
	Held         Progress = "held"    // energising, charging or handing over has to wait; Why says for what
	Done         Progress = "done"    // what the step needs was measured and nothing of it is outside
	DoneReserved Progress = "done with reservations"
)

// Cycle is the measured cycle for the pressure-enthalpy picture, SI.
type Cycle struct {
	Fluid  string  `json:"fluid"`
	Points []Point `json:"points"`
}

// Point is one state of the cycle with its uncertainty, SI.
type Point struct {
	Name string  `json:"name"`
	P    float64 `json:"p_Pa"`
	H    float64 `json:"h_J_kg"`
	T    float64 `json:"T_K"`
	UP   float64 `json:"u_p_Pa"`
	UH   float64 `json:"u_h_J_kg"`
	R    float64 `json:"r"` // correlation of p and h
}

// Find returns the finding called key.
func (r *Report) Find(key string) (Finding, bool) {
	for _, f := range r.Findings {
		if f.Key == key {
			return f, true
		}
	}
	return Finding{}, false
}

// Of lists the findings of one step.
func (r *Report) Of(s record.Step) []Finding {
	var fs []Finding
	for _, f := range r.Findings {
		if f.Step == s {
			fs = append(fs, f)
		}
	}
	return fs
}

// Count counts verdicts.
func (r *Report) Count() map[Verdict]int {
	n := map[Verdict]int{}
	for _, f := range r.Findings {
		n[f.Verdict]++
	}
	return n
}
