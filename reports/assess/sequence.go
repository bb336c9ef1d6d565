package assess

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// follows is one thing of the work that comes after another: what was entered the other way
// round, by its place in the record or by its time, was not shown. Common practice, no
// source, but where the words say why.
type follows struct {
	key    record.Key
	after  []record.Key
	first  bool // of after the first entry counts, whatever corrected it; else the newest
	words  string
	only   func(*context) bool
	noNote bool // the time of typing is all there is
}

var sequence = []follows{
	{key: record.VacuumEnd, after: []record.Key{record.TestP1}, words: "the nitrogen of a hold is pumped out after it. Say how the readings were entered, or evacuate again"},
	{key: record.VacuumEnd, after: []record.Key{record.TestP2}, first: true, words: "the nitrogen of a hold is pumped out after it. Say how the readings were entered, or evacuate again"},
	{key: record.WeighedIn, after: []record.Key{record.RecoveryLevel, record.Recovered}, words: "what was recovered came out before: was the charge taken out again? Weigh in anew, or say how the readings were entered"},
	{key: record.WeighedIn, after: []record.Key{record.FlammableRead, record.FlammableMost}, words: "how much of a flammable refrigerant may be in it is read before it is charged"},
	{key: record.VacuumRise, after: []record.Key{record.EvacuationBreaks}, words: "a break undoes the vacuum before it: pull again, and read a new rise"},
	{key: record.Trimmed, after: []record.Key{record.WeighedIn}, first: true, words: "a charge is trimmed after it was weighed in"},
	{key: record.TestP2, after: []record.Key{record.NitrogenFlow, record.DrierFitted}, words: "what was brazed after a hold was not in it. Hold again, evacuate and charge again, or say there how it was entered"},
	{key: record.VacuumBroken, after: []record.Key{record.VacuumEnd}, first: true, words: "a vacuum is broken after it was held"},
	{key: record.FirstSeconds, after: []record.Key{record.WeighedIn}, first: true, words: "it is started with its charge in"},
	{key: record.LabelCharge, after: []record.Key{record.WeighedIn}, first: true, words: "the label says what was weighed: write it again"},
	{key: record.LabelCharge, after: []record.Key{record.Trimmed}, words: "the label says what is in it after the trim: write it again"},
	{key: record.LabelDone, after: []record.Key{record.LabelCharge}, words: "the label on the unit is not this one: say yes again once it is", noNote: true},
	{key: record.CylinderStop, after: []record.Key{record.CylinderStart}, words: "start and stop of the scale: which is which?"},
	{key: record.TrimSteps, after: []record.Key{record.CoilWashed}, words: "a coil that was washed since lowers the head until it is dry: let it dry and settle, and read the charge again"},
	{key: record.LeakSearch, after: []record.Key{record.FirstSeconds}, first: true, words: "a search with the unit running comes after its first start. Search again, and enter it then",
		only: func(c *context) bool { return c.searched() }},
}

// entry is the newest entry of a key, or its first one since there was none.
func (c *context) entry(k record.Key, first bool) (e record.Entry, at int, ok bool) {
	if at, ok = c.job.Index(k); ok && first {
		at, ok = c.firstEntered(k)
	}
	if !ok || c.job.Text(k) == "" {
		return e, 0, false
	}
	return c.job.Entries[at], at, true
}

// outOfOrder asks about what was entered before what it follows.
func (c *context) outOfOrder() (ps []Problem) {
	for _, f := range sequence {
		e, at, ok := c.entry(f.key, false)
		if !ok || f.only != nil && !f.only(c) {
			continue
		}
		for _, k := range f.after {
			b, from, ok := c.entry(k, f.first)
			if !ok || at > from && !e.Time.Before(b.Time) || !f.noNote && (c.job.Later(f.key) || c.job.Later(k)) {
				continue
			}
			ps = append(ps, Problem{f.key, fmt.Sprintf("entered before %s: %s", lowered(k.Label()), f.words)})
			break
		}
	}
	return ps
}

// evacuatedAgain asks about a charge that is older than a whole vacuum: beginning and end
// of it were entered since.
func (c *context) evacuatedAgain() error {
	charge, at, ok := c.entry(record.WeighedIn, false)
	if !ok || c.job.Later(record.WeighedIn) {
		return nil
	}
	for _, k := range []record.Key{record.VacuumFinal, record.VacuumEnd} {
		e, n, ok := c.entry(k, false)
		if !ok || c.job.Later(k) || n < at && !e.Time.After(charge.Time) {
			return nil
		}
	}
	return fmt.Errorf("a vacuum was pulled since: what was weighed in before it is out. Weigh in again, or say how the readings were entered")
}

// openedAgain asks about what an earlier visit showed of a circuit that was opened since.
func (c *context) openedAgain() (ps []Problem) {
	v, ok := c.job.Visit()
	if !ok || v.Kind != record.VisitSecondOpening {
		return nil
	}
	from, ok := c.job.Index(record.VisitNow)
	if !ok {
		return nil
	}
	for _, k := range []record.Key{record.TestP1, record.TestP2, record.VacuumFinal, record.VacuumEnd, record.WeighedIn, record.LabelDone} {
		if n, ok := c.job.Index(k); ok && n < from {
			ps = append(ps, Problem{k, "of an earlier visit, and the circuit was opened again in this one: hold, evacuate, weigh in and label again"})
		}
	}
	return ps
}

// pulledTo asks about a vacuum that begins elsewhere than its pull-down or its rise says.
func (c *context) pulledTo() error {
	final := c.reading(record.VacuumFinal)
	if final == nil {
		return nil
	}
	if t, p, err := riseReadings(c.job.Text(record.VacuumRise)); err == nil && len(t) > 0 && t[0] == 0 && !c.sameEnd(final, p[0]) {
		return fmt.Errorf("the rise readings begin elsewhere: which is right?")
	}
	t, p, err := riseReadings(c.job.Text(record.VacuumPull))
	if err != nil || len(t) == 0 {
		return nil
	}
	const near = 5 * 60 // s: what was pumped beyond the last reading
	if on := c.value(record.PumpedFor); p[len(p)-1] > 2*final.si && (on == 0 || on <= t[len(t)-1]+near) {
		return fmt.Errorf("the pull-down readings end at more than twice of it: which is right?")
	}
	return nil
}

// brokenTooHigh asks about a break with more than the lowest design pressure.
func (c *context) brokenTooHigh() error {
	bs, err := c.breaks()
	r := c.lowestDesign()
	if err != nil || r == nil {
		return nil
	}
	for i, b := range bs {
		if b.Broken > r.si+c.site.si {
			return fmt.Errorf("break %d: stop, broken to more than the lowest design pressure of what was connected", i+1)
		}
	}
	return nil
}

// brokenAsSaid asks about an evacuation said to be broken twice, whose breaks are not there
// or not as planned.
func (c *context) brokenAsSaid() error {
	if c.job.Text(record.EvacuationWay) != record.TripleBreaks {
		return nil
	}
	bs, err := c.breaks()
	if err != nil {
		return nil // asked about already
	}
	good := 0
	for _, b := range bs {
		if b.Short == "" {
			good++
		}
	}
	if good < 2 {
		return fmt.Errorf("three pulls are said, and %d of the two breaks are here as planned: break again and pull again, or say how it was evacuated", good)
	}
	return nil
}

// neverOxygen asks about a gas that is named where nitrogen flows.
func (c *context) neverOxygen() error {
	for _, w := range strings.FieldsFunc(strings.ToLower(c.job.Text(record.NitrogenRate)), func(r rune) bool { return !unicode.IsLetter(r) }) {
		if w == "oxygen" || w == "oxígeno" || w == "oxigeno" || w == "air" || w == "aire" {
			return fmt.Errorf("names %q: oil and oxygen under pressure explode. Nitrogen alone, through a regulator; if none of the other was used, say it without that word", w)
		}
	}
	return nil
}

// visitDay asks about a visit a year and more from the day on which it was entered.
func (c *context) visitDay() error {
	e, _, ok := c.entry(record.VisitDate, false)
	day, err := time.Parse(time.DateOnly, e.Value)
	if !ok || err != nil {
		return nil
	}
	if off := e.Time.Sub(day); off > 366*24*time.Hour || off < -366*24*time.Hour {
		return errors.New("more than a year from the day on which it was entered: which year?")
	}
	return nil
}

// readTogether asks about the temperature of a hold that was entered long before or after
// its pressure: the gas is reckoned at both.
func (c *context) readTogether(t, p record.Key) error {
	const most = 15 * time.Minute
	a, _, ok := c.entry(t, false)
	b, _, ok2 := c.entry(p, false)
	if !ok || !ok2 || c.job.Later(t) || c.job.Later(p) {
		return nil
	}
	if d := a.Time.Sub(b.Time); d > most || d < -most {
		return fmt.Errorf("entered %.0f min from %s, which goes with it: read both again, or say how the readings were entered", d.Abs().Minutes(), lowered(p.Label()))
	}
	return nil
}

// judgedIn is the finding of a key in a list.
func (c *context) judgedIn(list []definition, key string) (f Finding, ok bool) {
	if i := slices.IndexFunc(list, func(d definition) bool { return d.key == key }); i >= 0 {
		return c.judgedNow(list[i])
	}
	return f, false
}

// builtUpTold tells whether a build-up of the charge can be made.
func (c *context) builtUpTold() bool {
	b := c.input(builtUp)
	return b != nil && b.err == nil
}

// chargeHeld tells whether what was weighed in is judged against anything.
func (c *context) chargeHeld() bool {
	for _, k := range []string{"charge_balance", "charge_plate"} {
		if f, ok := c.judgedIn(chargeBuildUp, k); ok && f.Verdict != NotJudged && f.Verdict != NotMeasured {
			return true
		}
	}
	return false
}

// farTooMuch asks about more out of the unit than it can have held.
func (c *context) farTooMuch(key record.Key) error {
	plate := c.value(record.TagCharge)
	if plate > 0 && c.value(key) > 1.5*plate {
		return fmt.Errorf("half as much again as the plate's charge, or more: read the scale again, or say where the rest came from")
	}
	return nil
}

func lowered(s string) string {
	for i, r := range s {
		return string(unicode.ToLower(r)) + s[i+len(string(r)):]
	}
	return s
}

// byTheClock asks about a wait whose own clock contradicts the time entered: started while
// the wait ran, it shows how long it was at most; started before what has to come first, or
// after the reading at the end, it is not the clock of this wait.
func (c *context) byTheClock() (ps []Problem) {
	for _, k := range []struct {
		clock, held, end record.Key
		not              record.Key // what comes before the wait
	}{
		{record.HoldStarted, record.TestTime, record.TestP2, record.Key{}},
		{record.DecayStarted, record.VacuumTime, record.VacuumEnd, record.TestP2},
		{record.SettleStarted, record.Key{}, record.TrimSteps, record.WeighedIn},
	} {
		from, err := time.Parse(time.RFC3339, c.job.Text(k.clock))
		end, _, ended := c.entry(k.end, false)
		if err != nil || !ended || c.job.Later(k.end) {
			continue
		}
		asked := k.held
		if asked == (record.Key{}) {
			asked = k.end
		}
		if before, _, ok := c.entry(k.not, true); ok && from.Before(before.Time) && !c.job.Later(k.not) {
			ps = append(ps, Problem{asked, fmt.Sprintf("its clock was started before %s: it is not the clock of this wait. Start it anew and wait, or say how the readings were entered", lowered(k.not.Label()))})
			continue
		}
		wait := end.Time.Sub(from)
		want, known := c.value(k.held), c.reading(k.held) != nil
		if k.held == (record.Key{}) {
			d, _ := settling()
			want, known = d.Seconds(), true
		}
		switch {
		case wait < 0 && k.held != (record.Key{}):
			ps = append(ps, Problem{asked, "its clock was started after the reading at its end: stop the clock, or wait and read again"})
		case wait >= 0 && known && want/60 > wait.Minutes()+c.lim.Late.Minutes:
			ps = append(ps, Problem{asked, fmt.Sprintf("%.0f min, and its clock ran %.0f min when the reading at its end was entered: wait and read again, or say how the readings were entered", want/60, wait.Minutes())})
		}
	}
	return ps
}

// weighedFrom asks about a cylinder that holds less than was taken out of it, or less than
// nothing.
func (c *context) weighedFrom() error {
	tare, start, stop := c.reading(record.ChargeTare), c.reading(record.CylinderStart), c.reading(record.CylinderStop)
	if tare == nil || start == nil || stop == nil {
		return nil
	}
	// Steel and a dial: a twentieth of the tare is what a stamp and a scale may differ by,
	// a bound of this program.
	if left := stop.si - c.value(record.ScaleZeroStop) - tare.si; left < -0.05*tare.si {
		return fmt.Errorf("the cylinder weighs less after it than it does empty: read its tare and the scale again")
	}
	return nil
}

// trimAgrees asks about a trim whose steps end elsewhere than what is entered as trimmed,
// or whose last reading is the other of the two that a trim goes by.
func (c *context) trimAgrees() (ps []Problem) {
	added, read, err := trimReadings(c.job.Text(record.TrimSteps))
	switch {
	case err != nil:
		return []Problem{{record.TrimSteps, err.Error()}}
	case len(added) == 0:
		return nil
	}
	last := len(added) - 1
	oz := units.Preferred(units.Mass, c.system)
	if most := 0.5 * 0.45359237 / 16; math.Abs(added[last]-c.value(record.Trimmed)) > most {
		ps = append(ps, Problem{record.TrimSteps, fmt.Sprintf("the steps end at %s, and %s are entered as trimmed: read once more with what is in it now, or correct the one that is wrong", amount(oz.FromSI(added[last], 0), oz), amount(oz.FromSI(c.value(record.Trimmed), 0), oz))})
	}
	by, other := "subcooling", "superheat"
	if c.job.Text(record.Metering) == record.MeterFixed {
		by, other = other, by
	}
	value := func(key string) (float64, bool) {
		f, ok := c.judgedIn(running, key)
		return f.Value, ok
	}
	x, ok := value(by)
	y, ok2 := value(other)
	const far = 4 // K: between the last step and the check of the running unit
	if ok && c.sameVisit(record.TrimSteps, record.LiquidTemp, record.SuctionTemp) && math.Abs(read[last]-x) > far && !(ok2 && math.Abs(read[last]-y) < 0.3) {
		u := units.Preferred(units.TempDiff, c.system)
		ps = append(ps, Problem{record.TrimSteps, fmt.Sprintf("the last step reads %.1f %s of %s, the running check %.1f: read both again", u.Span(read[last]), u.Label, by, u.Span(x))})
	}
	if ok && ok2 && math.Abs(read[last]-y) < 0.3 && math.Abs(read[last]-x) > 2 {
		ps = append(ps, Problem{record.TrimSteps, fmt.Sprintf("the last step reads as the %s of the running unit; this unit is trimmed by its %s", other, by)})
	}
	return ps
}

// sameVisit tells whether what is entered of keys belongs to one visit.
func (c *context) sameVisit(keys ...record.Key) bool {
	names := map[string]bool{}
	for _, k := range keys {
		if e, _, ok := c.entry(k, false); ok {
			names[e.Visit] = true
		}
	}
	return len(names) <= 1
}

// heaterSaid asks about a heater that is said not to be there, where the wiring keeps or
// adds one.
func (c *context) heaterSaid() error {
	if c.job.Text(record.HeaterHours) != "no heater" {
		return nil
	}
	if a := c.job.Text(record.PlanKey("crankcase-heater")); a == "keep" || a == "add" {
		return fmt.Errorf("the wiring has a crankcase heater, by the decision there: which is it?")
	}
	return nil
}

// oilSaid asks about oil that went in beyond what came out, or on top of what a scroll
// comes with.
func (c *context) oilSaid() error {
	out, in := c.reading(record.OilDrained), c.reading(record.OilAdded)
	if in == nil || in.si == 0 {
		return nil
	}
	switch {
	case out != nil && in.si > 1.5*out.si:
		return fmt.Errorf("far more than was drained: what the new compressor's instructions ask for decides, and what it came with counts")
	case strings.Contains(c.job.Text(record.NewKind), "scroll") && out != nil && in.si > 0.5*out.si:
		return fmt.Errorf("a scroll comes with its own oil: was this asked for by its instructions?")
	}
	return nil
}
