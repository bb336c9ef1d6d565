package cause

import (
	"fmt"
	"math"

	"retrostage/wiring/supply"
)

// Answer is of a question that can be left open.
type Answer int

// The answers.
const (
	NotDone Answer = iota
	Yes
	No
)

// Trial is what the compressor did when it was switched on.
type Trial int

// What it did.
const (
	NotTried    Trial = iota
	TripsAtOnce       // the breaker opened at once
	Hums              // hums at locked current
	Nothing           // draws nothing
	RunsNoLift        // runs, the pressures hardly part
	RunsTrips         // runs, and trips after minutes
	RunsPumps         // runs, and the pressures part
)

// Oil is how the oil looked.
type Oil int

// Looks of oil.
const (
	OilNotSeen Oil = iota
	OilClear
	OilDark
	OilBurnt
)

// Acid is what an acid test showed.
type Acid int

// Outcomes of an acid test.
const (
	AcidNotDone Acid = iota
	AcidNone
	AcidDoubtful
	AcidShown
)

// Evidence is what was found at the unit. The zero value is nothing done. Numbers
// are 0 where they were not read, resistances not taken.
type Evidence struct {
	Rated, Supply      float64 // V
	Call, Passes       Answer  // the call reaches the coil; the closed contactor passes the line on
	CapMarked, Cap     float64 // F
	CapBroken          Answer  // open, shorted, leaking or bulged
	CS, CR, SR         supply.Ohms
	DataStart, DataRun float64 // ohm at 298.15 K
	WindingT           float64 // K
	AtTerminals        Answer  // the windings were read at the terminals, after recovery
	ColdAfterWait      Answer  // the shell was left to cool to the touch, and read again
	ClosedAfterWait    Answer  // common had a path then
	Insulation         float64 // ohm
	InsulationTaken    bool
	InsulationT        float64 // K
	InsulationAgain    Answer  // cleaned, dried, leads off at the terminals, and low again
	Trial              Trial
	TrialGood          Answer // the trial had a good capacitor, the right voltage and help to start
	Inrush, LRA        float64
	InrushTaken        bool // a reading of nothing is one
	Oil                Oil
	Smell              Answer // burnt
	Acid               Acid
	Metal              Answer
	Flood, Heat, Noise Answer
	Recovered, Plate   float64 // kg
	Age                float64 // years
	AgeKnown           bool
	CoilFouled, AirLow Answer
	ShortCycles        Answer
	DrierBlocked       Answer
	HeaterDead         Answer
}

// Found is an observation that was made.
type Found struct {
	Observation Observation
	Category    Category
}

// winding tolerance when the temperature is known to a few kelvins, and the doubt
// where it is not: common practice, no source. Copper changes by 0.39 % a kelvin.
const (
	turnsTolerance = 0.08
	turnsUnknownT  = 0.10
)

// Observe sorts evidence into the observations of the table. What was not done is
// not among them. It refuses numbers that cannot be.
func Observe(e Evidence) ([]Found, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	if err := e.check(); err != nil {
		return nil, err
	}
	found := map[string]string{
		"feed": e.feed(), "capacitor": e.capacitor(), "paths": e.paths(), "turns": e.turns(), "insulation": e.insulation(), "try": e.trial(), "amps": e.amps(),
		"contamination": e.contamination(), "debris": yes(e.Metal, "metal", "no metal"), "flood": e.flood(), "heat": e.heat(), "noise": yes(e.Noise, "loud", "usual"),
		"charge": e.charge(), "age": e.age(), "reason": e.reason(), "terminals": e.terminals(), "again": e.again(),
	}
	var out []Found
	for _, o := range t.Observations {
		key := found[o.Key]
		if key == "" {
			continue
		}
		c, ok := o.category(key)
		if !ok {
			return nil, fmt.Errorf("cause: the table has no %q of %s", key, o.Key)
		}
		out = append(out, Found{o, c})
	}
	return out, nil
}

func (o Observation) category(key string) (Category, bool) {
	for _, c := range o.Categories {
		if c.Key == key {
			return c, true
		}
	}
	return Category{}, false
}

func (e Evidence) check() error {
	for _, v := range []struct {
		what string
		x    float64
	}{{"rated voltage", e.Rated}, {"supply voltage", e.Supply}, {"capacitor's marking", e.CapMarked}, {"capacitor", e.Cap}, {"start winding's data", e.DataStart}, {"run winding's data", e.DataRun},
		{"winding temperature", e.WindingT}, {"insulation", e.Insulation}, {"insulation's temperature", e.InsulationT}, {"current at the start", e.Inrush}, {"LRA", e.LRA}, {"recovered charge", e.Recovered}, {"plate charge", e.Plate},
		{"C to S", e.CS.Value}, {"C to R", e.CR.Value}, {"S to R", e.SR.Value}} {
		if !(v.x >= 0) || math.IsInf(v.x, 0) {
			return fmt.Errorf("cause: %s of %g; allowed 0 and up", v.what, v.x)
		}
	}
	return nil
}

func yes(a Answer, ifYes, ifNo string) string {
	switch a {
	case Yes:
		return ifYes
	case No:
		return ifNo
	}
	return ""
}

func (e Evidence) feed() string {
	low := e.Supply > 0 && e.Rated > 0 && e.Supply < 0.9*e.Rated
	switch {
	case e.Call == No || e.Passes == No:
		return "absent"
	case low && e.Supply < 0.5*e.Rated:
		return "absent"
	case low:
		return "low"
	case e.Supply > 0 && e.Rated > 0 && e.Call == Yes && e.Passes == Yes:
		return "fine"
	}
	return "" // what is missing of the three could be the fault
}

func (e Evidence) capacitor() string {
	switch {
	case e.CapBroken == Yes:
		return "failed"
	case e.CapMarked > 0 && e.Cap > 0 && e.Cap < 0.5*e.CapMarked:
		return "failed"
	case e.CapMarked > 0 && e.Cap > 0 && e.Cap < 0.9*e.CapMarked:
		return "weak"
	case e.CapMarked > 0 && e.Cap > 1.1*e.CapMarked:
		return "" // of another value than its marking: which of the two is wrong is not known
	case e.CapMarked > 0 && e.Cap > 0:
		return "good"
	}
	return ""
}

// reason is known once all was looked at that can keep a sound compressor from
// running. It is an observation of its own, for a sound one that does not run has a
// reason outside it, so that three fine readings say more together than each apart.
func (e Evidence) reason() string {
	feed, capacitor, paths := e.feed(), e.capacitor(), e.paths()
	switch {
	case feed == "low" || feed == "absent" || capacitor == "failed" || paths == "common closed":
		return "one found"
	case feed == "fine" && capacitor != "" && paths == "whole":
		return "none found"
	}
	return ""
}

func (e Evidence) paths() string {
	if !e.CS.Taken || !e.CR.Taken || !e.SR.Taken {
		return ""
	}
	switch cs, cr, sr := e.CS.Open, e.CR.Open, e.SR.Open; {
	case cs && cr && sr:
		return "none"
	case cs && cr:
		switch {
		case e.ColdAfterWait == Yes && e.ClosedAfterWait == Yes:
			return "common closed"
		case e.ColdAfterWait == Yes && e.ClosedAfterWait == No:
			return "common waited"
		}
		return "common"
	case cs && sr:
		return "start"
	case cr && sr:
		return "run"
	case cs || cr || sr:
		return "" // two closed pairs connect the third: the readings contradict each other
	}
	return "whole"
}

// LeastStart is the share of its locked-rotor current below which nothing tried to start,
// a bound of our own; where that current is not known, leastAmps: no compressor of these
// sizes turns or hums on less (common practice, no source).
const (
	LeastStart = 0.2
	leastAmps  = 1.0
)

// A locked rotor draws the locked-rotor current of its plate, less where the volts are low
// and while the clamp catches the start in part; no motor draws twice of it. Both are
// bounds of ours.
const (
	LockedShare = 0.7
	mostStart   = 2.0
)

// Clash says what the trial contradicts, "" where all goes with it, and whether that is
// the current: no compressor ran that has no path through a winding, none hums without one
// through common, and none does either on no current. One that ran and tripped may have
// burnt through or opened its overload then.
func (e Evidence) Clash() (words string, current bool) {
	open := e.CS.Taken && e.CS.Open || e.CR.Taken && e.CR.Open || e.SR.Taken && e.SR.Open
	through := e.CS.Taken && e.CS.Open && e.CR.Taken && e.CR.Open // none through common
	ran := e.Trial == RunsNoLift || e.Trial == RunsPumps
	little := e.Inrush < math.Max(leastAmps, LeastStart*e.LRA)
	const again = ", which cannot both be: read the windings again, or say whether an overload closed again"
	switch {
	case e.ClosedAfterWait == Yes:
	case ran && open:
		return "it ran, and a winding is entered as open" + again, false
	case e.Trial == Hums && through:
		return "it hums, and common is entered as open to both windings" + again, false
	}
	switch {
	case !e.InrushTaken:
	case e.LRA > 0 && e.Inrush > mostStart*e.LRA:
		return fmt.Sprintf("%.3g A is more than twice the %.3g A that it draws locked by its plate: read it again, or the plate", e.Inrush, e.LRA), true
	case !little && e.Trial == Hums && e.LRA > 0 && e.Inrush < LockedShare*e.LRA:
		return fmt.Sprintf("it hums at locked current, as entered, and %.3g A is far below the %.3g A of its plate: did the rotor turn, or did the clamp miss the start?", e.Inrush, e.LRA), true
	case little && (ran || e.Trial == RunsTrips || e.Trial == Hums):
		return "next to nothing flows, and it runs or hums, which cannot both be: was the clamp about one conductor, and did it catch the start?", true
	case !little && e.Trial == Nothing:
		return "it draws nothing, as entered, and this is a current: one of them is wrong", true
	}
	return "", false
}

// terminals is the word on an open winding that was read at the terminals themselves.
func (e Evidence) terminals() string {
	switch e.paths() {
	case "start", "run", "none", "common waited":
		if e.AtTerminals == Yes {
			return "open there too"
		}
	}
	return ""
}

// again is the word on low insulation that was tested once more; what reads well then
// is entered as the reading.
func (e Evidence) again() string {
	switch e.insulation() {
	case "below 0.1", "below 0.5":
		if e.InsulationAgain == Yes {
			return "low again"
		}
	}
	return ""
}

// turns needs whole windings and data of at least one.
func (e Evidence) turns() string {
	if e.paths() != "whole" {
		return ""
	}
	if e.DataStart > e.DataRun && e.DataRun > 0 && e.CS.Value < e.CR.Value {
		return "" // start and run seem exchanged: neither is held against its data
	}
	out := ""
	for _, w := range []struct {
		o    supply.Ohms
		data float64
	}{{e.CS, e.DataStart}, {e.CR, e.DataRun}} {
		if w.data == 0 {
			continue
		}
		r, tol := w.o.Value, turnsTolerance
		if e.WindingT > 0 {
			if x, err := supply.CopperAt(r, e.WindingT, supply.WindingReference); err == nil {
				r = x
			}
		} else {
			tol += turnsUnknownT
		}
		band := tol*w.data + w.o.Doubt
		switch {
		case r < w.data-band:
			return "low"
		case r > w.data+band:
			out = "high"
		case out == "":
			out = "as data"
		}
	}
	return out
}

// Ohms40 is the insulation at 40 °C; as read where its temperature is not known.
func (e Evidence) Ohms40() float64 {
	if e.InsulationT == 0 {
		return e.Insulation
	}
	t, err := supply.Load()
	if err != nil {
		return e.Insulation
	}
	r, err := t.InsulationAt(e.Insulation, e.InsulationT, supply.InsulationReference)
	if err != nil {
		return e.Insulation
	}
	return r
}

func (e Evidence) insulation() string {
	if !e.InsulationTaken {
		return ""
	}
	r := e.Ohms40() / 1e6
	for _, b := range []struct {
		below float64
		key   string
	}{{0.1, "below 0.1"}, {0.5, "below 0.5"}, {2, "below 2"}, {20, "below 20"}, {100, "below 100"}} {
		if r < b.below {
			return b.key
		}
	}
	return "above"
}

func (e Evidence) trial() string {
	switch e.Trial {
	case TripsAtOnce:
		return "trips"
	case Hums:
		if e.TrialGood == Yes && e.feed() != "low" && e.feed() != "absent" { // at low volts it was no fair trial
			return "hums good"
		}
		return "hums"
	case Nothing:
		return "nothing"
	case RunsNoLift:
		return "no pump"
	case RunsTrips:
		return "then trips"
	case RunsPumps:
		return "pumps"
	}
	return ""
}

func (e Evidence) amps() string {
	if e.Inrush == 0 || e.LRA == 0 {
		return ""
	}
	if e.Inrush > 1.2*e.LRA {
		return "above"
	}
	return "not above"
}

func (e Evidence) contamination() string {
	switch g, ok := e.grade(); {
	case !ok:
		return ""
	case g == Severe:
		return "severe"
	case g == Mild:
		return "mild"
	}
	return "clean"
}

func (e Evidence) flood() string {
	if e.HeaterDead == Yes && e.Flood == NotDone {
		return "" // a dead heater alone is a way for liquid to come, not a sign that it came
	}
	return yes(e.Flood, "signs", "none")
}

func (e Evidence) heat() string {
	if e.Heat == NotDone && e.CoilFouled == Yes {
		return "signs"
	}
	return yes(e.Heat, "signs", "none")
}

func (e Evidence) charge() string {
	if e.Recovered == 0 || e.Plate == 0 {
		return ""
	}
	switch r := e.Recovered / e.Plate; {
	case r < 0.9:
		return "low"
	case r > 1.1:
		return "high"
	}
	return "right"
}

func (e Evidence) age() string {
	switch {
	case !e.AgeKnown || e.Age < 0:
		return ""
	case e.Age < 5:
		return "young"
	case e.Age <= 12:
		return "middle"
	}
	return "old"
}
