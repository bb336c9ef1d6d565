package assess

import (
	"slices"
	"strconv"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// Task is one line of a list in working order: what is done, what to mind while doing
// it, and what the record says of it. It says nothing that was not entered or found.
type Task struct {
	Step    record.Step `json:"step"`
	Title   string      `json:"title"`
	Caution string      `json:"caution"`
	Source  string      `json:"source"`
	Says    string      `json:"says"`             // what was entered, "" for nothing
	Stand   TaskStand   `json:"stands"`           // of all that belongs to the line
	Missing []string    `json:"missing"`          // labels of what is not entered of it
	Before  []int       `json:"before,omitempty"` // of a line that is within: those before it that are not entered, or in part
	Finding string      `json:"findings"`         // what is said of it by the finding that stands worst, "" without one
}

// TaskStand is how a line stands.
type TaskStand string

// The ways. Entered is said where nothing judges what was entered.
const (
	TaskMinded  TaskStand = "to mind" // nothing is entered of it: a caution by itself
	TaskOpen    TaskStand = "not entered"
	TaskPart    TaskStand = "in part"
	TaskEntered TaskStand = "entered"
	TaskWithin  TaskStand = "within"
	TaskClose   TaskStand = "too close to call"
	TaskOutside TaskStand = "outside"
)

// line declares a task: the fields it is entered in, the findings that judge it, and
// when it is there at all.
type line struct {
	step           record.Step
	title, caution string
	source         string
	keys           []record.Key
	findings       []string
	only           func(*context) bool
	lacks          func(*context) string // what an entry still lacks, "" for nothing
}

const (
	custom = "common practice, no source"
	rules  = "; local code, the equipment's instructions and licensed practice decide"
)

func flammable(c *context) bool { return c.fluid == nil || c.fluid.Info().Flammable }
func triple(c *context) bool {
	return c.job.Text(record.EvacuationWay) == record.TripleBreaks || c.job.Text(record.EvacuationBreaks) != ""
}
func burnt(c *context) bool {
	return c.job.Text(record.OilState) == "burnt" || c.job.Text(record.AcidTest) == "positive"
}

// workList is the lines in the order in which the work is done.
var workList = []line{
	{step: record.CloseUp, title: "Recover what is in the circuit, and write the record", caution: "Venting is prohibited. Weigh the cylinder before and after; no more than 80 % full by volume. Stop the pump, wait, read the level again: what comes out of the oil lifts it. Burnt or mixed refrigerant goes to reclaim.",
		source: "40 CFR 82.154, 82.156 (read in part); fill: DOT 49 CFR, from memory" + rules,
		keys:   []record.Key{record.RecoveryTech, record.RecoveryCylinder, record.RecoveryRetest, record.RecoveryWater, record.RecoveryBefore, record.RecoveryAfter, record.Recovered, record.RecoveryLevel, record.RecoveryTo, record.ChargeSource}, findings: []string{"recovery_level", "recovery_fill", "recovered_scale", "recovered_twice"}},
	{step: record.CloseUp, title: "No flame at a circuit that held flammable refrigerant before it is purged", caution: "Recover, purge with nitrogen, evacuate, purge again; ventilate; a detector for this refrigerant at the floor. Cut the pipe open, do not unsweat it.",
		source: "UL 60335-2-40, ASHRAE 15 (titles only read); " + custom + rules, only: flammable},
	{step: record.CloseUp, title: "Nitrogen only, through a regulator with a relief", caution: "Never oxygen or air: oil and oxygen under pressure explode. Cylinder chained, regulator backed off before its valve is opened, relief set below the lowest design pressure.",
		source: "ASHRAE 15, section on testing (from memory)" + rules},
	{step: record.CloseUp, title: "Drain and measure the old oil", caution: "What comes out says what the new compressor has to replace. A scroll comes with its own oil; none is added beyond the instructions. Burnt oil is acidic: gloves and eyes.",
		source: custom, keys: []record.Key{record.OilDrained, record.OilAdded}},
	{step: record.CloseUp, title: "Nitrogen trickling while brazing", caution: "In at one service port, out freely at the other, never against a closed end. Extinguisher at hand; wet cloth on valves; stay after the last flame.",
		source: "federal weatherisation specification 5.3003.28; " + custom, keys: []record.Key{record.NitrogenFlow, record.NitrogenRate}},
	{step: record.CloseUp, title: "New liquid-line drier, arrow with the flow", caution: "Sized for tonnage and refrigerant; opened last, minutes before it is brazed, cooled by a wet cloth. A heat pump takes one for both ways.",
		source: custom, keys: []record.Key{record.DrierFitted, record.DrierSize, record.DrierDirection}},
	{step: record.CloseUp, title: "Suction filter after a burn-out", caution: "Fitted to be taken out again: write when. It costs about two percent of capacity while it is there.",
		source: custom, keys: []record.Key{record.SuctionFilter}, only: burnt},
	{step: record.CloseUp, title: "Clean joints, each one listed", caution: "Bright metal, deburred with the mouth down, capped until it is made. Every joint opened or made goes on the list: it is searched twice.",
		source: custom, keys: []record.Key{record.JointList}},
	{step: record.CloseUp, title: "Every bracket, grommet and sound part back", caution: "A pipe that touches wears through; a missing grommet breaks a line.", source: custom, keys: []record.Key{record.PartsBack}},
	{step: record.CloseUp, title: "Equipment ground landed again", caution: "On bare metal, tight, before anything is energised. Locked out while you do it.", source: "NEC article 250 (from memory)" + rules, keys: []record.Key{record.GroundBack}},
	{step: record.CloseUp, title: "Outdoor coil washed and dry", caution: "A wet coil lowers the head and invites overcharge: no trimming before it is dry. Locked out while washing.",
		source: custom, keys: []record.Key{record.CoilWashed}},
	{step: record.CloseUp, title: "Hold nitrogen", caution: "At or below the lowest marked design pressure of what is connected: above it, stop and let it down. Stand clear; never leave a charged regulator open. Read pressure and temperature at both ends of the hold.",
		source: "ASHRAE 15 (from memory); the nameplate decides", keys: []record.Key{record.TestP1, record.TestT1, record.TestP2, record.TestT2, record.TestTime}, findings: []string{"test_limit", "test_reach", "hold_time", "pressure_hold"}},
	{step: record.CloseUp, title: "Search every joint with bubbles and detector", caution: "A hold with field gauges shows gross leaks only. Search under nitrogen now, and again at the unit's own pressure, at rest and running.",
		source: custom, keys: []record.Key{record.LeakSearch}},
	{step: record.CloseUp, title: "Pull and break with dry nitrogen, twice, where the circuit was wet or burnt", caution: "Regulator with a relief; each break far below the lowest design pressure, let down before the pump is opened to it. Warm the circuit while the nitrogen stands.",
		source: custom, keys: []record.Key{record.EvacuationWay, record.EvacuationBreaks}, findings: []string{"evacuation_thinned"}, only: triple, lacks: lacksBreaks},
	{step: record.CloseUp, title: "Evacuate, valve off the pump, watch the rise", caution: "Never start a compressor, nor test its insulation, in a vacuum. Below 611 Pa (4.6 mmHg) water freezes and hides: break with dry nitrogen and warm it. Gauge at the system, far from the pump.",
		source: "water's triple point: IAPWS release, as read by this program; " + custom, keys: []record.Key{record.VacuumFinal, record.VacuumRise, record.VacuumEnd, record.VacuumTime, record.PumpedFor}, findings: []string{"vacuum_final", "vacuum_hold", "vacuum_word"}},

	{step: record.Charge, title: "Crankcase heater on for its hours", caution: "Liquid in the oil wrecks the bearings at the first start. As long as the instructions say; power on at the disconnect, thermostat off.",
		source: custom + rules, keys: []record.Key{record.HeaterHours}},
	{step: record.Charge, title: "Break the vacuum with refrigerant on the liquid side", caution: "Liquid into the liquid line, unit off, by weight. Never start into a vacuum. Gloves and eyes: it freezes skin.",
		source: custom, keys: []record.Key{record.VacuumBroken}},
	{step: record.Charge, title: "Weigh it in", caution: "Scale level, zero read before and after, hoses counted. A blend leaves the cylinder as liquid.",
		source: custom, keys: []record.Key{record.WeighedIn}, findings: []string{"weighed_scale", "charge_balance"}},
	{step: record.Charge, title: "Flammable refrigerant: the charge against the room", caution: "The unit's instructions and the adopted standard give the largest charge for the room's area, the height of release and the ventilation; this program does not work it out. Write what was read, and where. No ignition source at the release.",
		source: "UL 60335-2-40, ASHRAE 15 (titles only read)" + rules, keys: []record.Key{record.FlammableRead, record.FlammableMost}, findings: []string{"flammable_charge"}, only: flammable},
	{step: record.Charge, title: "First seconds: listen, watch the current", caution: "Hands and faces clear of the terminal cover. Stop at once at a howl, a knock, or a current that stays at locked rotor; do not try again before you know why.",
		source: custom + rules, keys: []record.Key{record.FirstSeconds}},
	{step: record.Charge, title: "Look and touch: tubing and compressor", caution: "Locked rotor, fan and discharge line burn and cut: look first, touch with the back of the hand, sleeves off. A picture of feet and tubing.",
		source: custom, keys: []record.Key{record.VibrationTubing, record.VibrationShell}},
	{step: record.Charge, title: "Leak search at every joint, at rest and running", caution: "Hands, leads and sleeves clear of the fan. Detector first, bubbles at what it finds.",
		source: custom, keys: []record.Key{record.LeakSearch}},
	{step: record.Charge, title: "Let it settle, then trim if the coil is dry and the weather allows", caution: "Fifteen minutes after each change. Below the outdoor temperature of the check leave it as weighed, and say so on the label.",
		source: custom, keys: []record.Key{record.TrimSteps}, findings: []string{"trim_next"}},
	{step: record.Charge, title: "Write the label", caution: "Total charge, refrigerant, date, by whom; the old plate stays readable. No label before the charge is weighed.",
		source: custom + rules, keys: []record.Key{record.LabelCharge}, findings: []string{"label_error"}},
}

// tasks are the lines that apply to the job.
func (c *context) tasks(fs []Finding) []Task {
	out := []Task{}
	at, open := map[record.Step]int{}, map[record.Step][]int{}
	for _, l := range workList {
		if l.only != nil && !l.only(c) {
			continue
		}
		t := c.task(l, fs)
		at[t.Step]++
		switch t.Stand {
		case TaskOpen, TaskPart:
			open[t.Step] = append(open[t.Step], at[t.Step])
		case TaskWithin:
			t.Before = slices.Clone(open[t.Step])
		}
		out = append(out, t)
	}
	return out
}

func (c *context) task(l line, fs []Finding) Task {
	t := Task{Step: l.step, Title: l.title, Caution: l.caution, Source: l.source, Stand: TaskMinded, Missing: []string{}}
	var said []string
	refused := false
	for _, k := range l.keys {
		v := c.job.Text(k)
		if v == "" {
			t.Missing = append(t.Missing, k.Label())
			continue
		}
		if k == record.VibrationTubing || k == record.VibrationShell {
			refused = refused || v == record.Yes
			said = append(said, c.brief(k, k.Label()+": "+v))
			continue
		}
		refused = refused || v == record.No || v == "no" || v == record.LeakNotDone || v == stillWet
		said = append(said, c.brief(k, v))
	}
	t.Says = strings.Join(said, "; ")
	switch {
	case len(l.keys) == 0:
	case len(said) == 0:
		t.Stand = TaskOpen
	case len(t.Missing) > 0:
		t.Stand = TaskPart
	default:
		t.Stand = TaskEntered
	}
	if l.lacks != nil && len(said) > 0 {
		if w := l.lacks(c); w != "" {
			t.Stand, t.Missing = TaskPart, append(t.Missing, w)
		}
	}
	judged := c.judgedBy(&t, l.findings, fs)
	if refused {
		t.Stand = TaskOutside
	} else if judged == Within && t.Stand == TaskEntered {
		t.Stand = TaskWithin
	}
	return t
}

// judgedBy takes over how the findings of a line stand: the worst of them; within only
// where every one is.
func (c *context) judgedBy(t *Task, keys []string, fs []Finding) (worst Verdict) {
	within := 0
	for _, k := range keys {
		for _, f := range fs {
			if f.Key != k {
				continue
			}
			switch {
			case f.Verdict == Outside && t.Stand != TaskOutside, f.Verdict == TooClose && t.Stand != TaskOutside && t.Stand != TaskClose:
				t.Stand = map[Verdict]TaskStand{Outside: TaskOutside, TooClose: TaskClose}[f.Verdict]
				t.Finding = f.Next
			case f.Verdict == Within:
				within++
			case t.Finding == "" && f.Measured:
				t.Finding = f.Next
			}
		}
	}
	if within > 0 && within == len(keys) {
		return Within
	}
	return NotJudged
}

// brief is an entry in a few words.
func (c *context) brief(k record.Key, v string) string {
	f := k.Field()
	if f.Kind == record.Number {
		if e, ok := c.job.Entry(k); ok {
			if u, err := units.Lookup(f.Dim, e.Unit); err == nil {
				return strings.TrimSpace(v + " " + u.Label)
			}
		}
	}
	if f.Kind == record.Note {
		if n := strings.Count(strings.TrimSpace(v), "\n"); n > 0 {
			return f.Label + ": " + plural(n+1, "line")
		}
	}
	if r := []rune(v); len(r) > 60 {
		v = string(r[:59]) + "…"
	}
	return v
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}
