package assess

import (
	"cmp"
	"errors"
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"retrostage/reports/cause"
	"retrostage/reports/record"
	"retrostage/thermo/air"
	"retrostage/thermo/units"
)

// problems lists readings that are acceptable by themselves yet cannot be
// used together with the rest of the record.
func (c *context) problems() []Problem {
	ps := slices.Clone(c.impossible())
	say := func(key record.Key, err error) {
		if err != nil {
			ps = append(ps, Problem{key, err.Error()})
		}
	}
	ps = append(ps, c.clash()...)
	say(record.ChargedWith, c.cylinderFits())
	say(record.WeighedIn, c.chargedAfterVacuum())
	say(record.ChargeCylinder, c.fromRecovered())
	say(record.ChargeTare, c.weighedFrom())
	say(record.WeighedIn, c.evacuatedAgain())
	say(record.VacuumFinal, c.pulledTo())
	say(record.EvacuationBreaks, c.brokenTooHigh())
	say(record.EvacuationBreaks, c.brokenAsSaid())
	say(record.NitrogenRate, c.neverOxygen())
	say(record.VisitDate, c.visitDay())
	for _, p := range [][2]record.Key{{record.TestT1, record.TestP1}, {record.TestT2, record.TestP2}} {
		say(p[0], c.readTogether(p[0], p[1]))
	}
	if text := c.job.Text(record.VacuumPull); text != "" {
		_, _, err := riseReadings(text)
		say(record.VacuumPull, err)
	}
	for _, k := range []record.Key{record.Recovered, record.CauseRecovered} {
		say(k, c.farTooMuch(k))
	}
	ps = append(ps, c.openedAgain()...)
	if wall, od := c.value(record.LineWall), c.value(record.LineOD); wall > 0 && od > 0 && 2*wall > 0.6*od {
		say(record.LineWall, errors.New("leaves hardly a bore in a line of that size: read the table of the tube, or measure again"))
	}
	say(record.HeaterHours, c.heaterSaid())
	say(record.OilAdded, c.oilSaid())
	ps = append(ps, c.outOfOrder()...)
	ps = append(ps, c.byTheClock()...)
	ps = append(ps, c.trimAgrees()...)
	for _, s := range record.Spans {
		say(s.Held, c.stamped(s))
	}
	for _, key := range c.job.Mixed() {
		say(key, errMixed)
	}
	if n, ok := c.job.Index(record.LeakSearch); ok && c.job.Text(record.LeakSearch) != record.LeakNotDone {
		if at, charged := c.charged(); !charged || n < at {
			say(record.LeakSearch, fmt.Errorf("entered before a charge was: a search at the unit's own pressure comes after the charge; search again, and enter it then"))
		}
	}
	if c.testedInVacuum() {
		say(record.Insulation, fmt.Errorf("entered while a vacuum was in the circuit: never test insulation in a vacuum; test again with the charge in"))
	}
	if _, err := c.compMap(); err != nil {
		say(record.MapMassFlow, err)
	}
	if r := c.input(riseLeak); r != nil && !errors.Is(r.err, errTooShort) {
		say(record.VacuumRise, r.err)
	}
	if day, visit := c.job.Text(record.SignedDate), c.job.Text(record.VisitDate); day != "" && visit != "" && day < visit { // ISO dates sort as they follow
		say(record.SignedDate, fmt.Errorf("before the visit of %s: which day was it signed?", visit))
	}
	if day := c.job.Text(record.SignedDate); day != "" {
		if e, ok := c.job.Entry(record.SignedDate); ok && day > e.Time.AddDate(0, 0, 1).Format(time.DateOnly) { // a day for clocks of elsewhere
			say(record.SignedDate, fmt.Errorf("later than the day on which it was entered"))
		}
	}
	if due, visit := c.job.Text(record.FollowUpDue), c.job.Text(record.VisitDate); due != "" && visit != "" && due < visit {
		say(record.FollowUpDue, fmt.Errorf("before the visit of %s", visit))
	}
	if due, visit := c.job.Text(record.RecoveryRetest), c.job.Text(record.VisitDate); due != "" && len(visit) >= len(due) && due < visit[:len(due)] {
		say(record.RecoveryRetest, fmt.Errorf("past on the day of the visit, %s: such a cylinder is not filled", visit))
	}
	say(record.NewCompressorSerial, c.ownSerial())
	say(record.ConsentSigned, c.agreedTo())
	if price, most := c.value(priceOf[c.job.Text(record.Decision)]), c.value(record.ConsentCeiling); most > 0 && price > most {
		say(record.ConsentCeiling, fmt.Errorf("below the price of what was decided"))
	}
	if f := c.reading(record.PumpedFor); f != nil {
		if t, _, err := riseReadings(c.job.Text(record.VacuumPull)); err == nil && len(t) > 0 && f.si < t[len(t)-1] {
			say(record.PumpedFor, fmt.Errorf("the pull-down readings go on to %.0f min", t[len(t)-1]/60))
		}
	}
	if _, err := c.breaks(); err != nil {
		say(record.EvacuationBreaks, err)
	}
	return ps
}

// ownSerial tells where the new compressor's number is another part's, or none.
func (c *context) ownSerial() error {
	own := bareSerial(c.job.Text(record.NewCompressorSerial))
	switch {
	case own == "":
		return nil
	case !strings.ContainsFunc(own, unicode.IsDigit):
		return fmt.Errorf("a serial number has a figure in it: read the plate")
	case own == bareSerial(c.job.Text(record.OldCompressorSerial)):
		return fmt.Errorf("the same as that of the failed compressor: read both plates")
	case own == bareSerial(c.job.Text(record.OldUnitSerial)):
		return fmt.Errorf("the same as that of the outdoor unit: read both plates")
	}
	return nil
}

// agreedTo tells where the owner signed for something else than stands there now, or
// before there was a page to sign. A job without a page of this program says so among
// what it is done without.
func (c *context) agreedTo() error {
	n, ok := c.job.Index(record.ConsentSigned)
	if !ok || c.job.Text(record.ConsentSigned) != record.Yes {
		return nil
	}
	then := c.job.Before(n)
	if page, written := then.Index(record.ConsentPage); written {
		then = c.job.Before(page)
	} else if _, later := c.job.Index(record.ConsentPage); later {
		return fmt.Errorf("said before the page was written: say it anew here once the owner has signed that one")
	}
	price := priceOf[c.job.Text(record.Decision)]
	for _, k := range []record.Key{record.Decision, record.ConsentCeiling, price} {
		now := c.job.Text(k)
		if k == (record.Key{}) || k == price && now == "" { // a price that was taken back is named as lacking
			continue
		}
		if then.Text(k) != now {
			return fmt.Errorf("%s has changed since: the page is written and signed anew, and it is said anew here", k.Label())
		}
	}
	return nil
}

// bareSerial is a serial number's letters and figures alone.
func bareSerial(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToUpper(r)
		}
		return -1
	}, s)
}

// stamped asks about a time that cannot have passed between the entries at its ends, if
// those were typed as they were read.
func (c *context) stamped(s record.Span) error {
	held := c.reading(s.Held)
	apart, ok := c.job.Apart(s)
	if _, ended := c.job.Entry(s.To); !ok && ended {
		apart, ok = 0, true // nothing stands at its beginning
	}
	late := c.lim.Late.Minutes
	if held != nil && c.job.Later(s.To) {
		return c.changedSince(s)
	}
	if held == nil || !ok || held.si/60 <= apart.Minutes()+late {
		return nil
	}
	w := fmt.Sprintf("%.0f min, and the entries at its ends lie %.0f min apart", held.si/60, max(0, apart.Minutes()))
	if c.job.Text(s.Noted) == record.NotedAsRead {
		return fmt.Errorf("%s: they cannot both have been typed as they were read. Enter the time that passed, or read again", w)
	}
	return fmt.Errorf("%s: enter the time that passed, or say how the readings were entered", w)
}

// changedSince asks about what a wait begins with where it was entered after the reading
// at its end, which was typed later than measured: which came first is not known.
func (c *context) changedSince(s record.Span) error {
	end, _ := c.job.Index(s.To)
	for _, k := range s.From {
		if n, ok := c.job.Index(k); ok && n > end && !c.job.Later(k) {
			return fmt.Errorf("%s was entered after the readings: read again, or say there too that it was entered later than measured", strings.ToLower(k.Label()[:1])+k.Label()[1:])
		}
	}
	return nil
}

// together is how far apart the readings of the running unit were entered, where that is
// too far for one state of it. How far that is, is a choice of this program: the air of a
// day drifts by some degrees in an hour and a half.
func (c *context) together() (Matter, bool) {
	apart := c.spread(func(yield func(record.Key) bool) {
		for k := range inSet {
			if !yield(k) {
				return
			}
		}
	})
	if apart <= oneState {
		return Matter{}, false
	}
	return c.matter(IsMissing, record.Running, record.RunningNoted.String(), fmt.Sprintf("readings of one state: entered %.0f min apart", apart.Minutes()),
		"the air and the unit drift meanwhile: read them again together, or say how they were entered"), true
}

const oneState = 90 * time.Minute

// spread is how long lies between the first and the last of the readings of the running
// unit among keys, as they were entered.
func (c *context) spread(keys iter.Seq[record.Key]) time.Duration {
	var first, last time.Time
	for k := range keys {
		if !inSet[k] || k.Field().Step != record.Running || k == record.SettleTime || slices.Contains(stood, k) || slices.Contains(blown, k) || c.stale(k) != "" || c.job.Later(k) {
			continue
		}
		e, ok := c.read1.Entry(k)
		if !ok {
			continue
		}
		if first.IsZero() || e.Time.Before(first) {
			first = e.Time
		}
		if e.Time.After(last) {
			last = e.Time
		}
	}
	return last.Sub(first)
}

// unasked is why no wait is said to be long enough, or held, while the question stands
// how its readings came into the record.
func unasked(held record.Key) func(*context) string {
	return func(c *context) string {
		for _, s := range record.Spans {
			if s.Held == held && c.stamped(s) != nil {
				return "the entries at its ends do not lie that far apart: say beside the field how they were entered"
			}
		}
		return ""
	}
}

var errMixed = errors.New("read in an earlier visit, beside readings of this one: read it again, or begin the set anew")

// reducedBarometer asks about a barometer that may be reduced to sea level, as
// weather services and telephones give it: higher than weather makes it at this
// altitude, or the standard's own value where no altitude was entered.
func (c *context) reducedBarometer() error {
	b, a := c.reading(record.Barometer), c.reading(record.Altitude)
	if b == nil {
		return nil
	}
	const standard = 101325.0
	if a == nil {
		if math.Abs(b.si-standard) < 50 {
			return fmt.Errorf("this is the standard pressure of sea level: was it read here? Enter the altitude of the site too")
		}
		return nil
	}
	p, err := air.StandardPressure(a.si)
	if err != nil {
		return err
	}
	const weather = 1.5 // half-widths of the usual weather
	if off := b.si - p; math.Abs(off) > weather*c.lim.Site.HalfWidth {
		why := "not what the altitude gives"
		if off > 0 {
			why = "too high for the altitude: is it reduced to sea level? Enter the station pressure, or leave it out"
		}
		return fmt.Errorf("%s (about %s, here %s)", why, c.barometric(p), c.barometric(b.si))
	}
	return nil
}

// barometric is a pressure of the air as the job's system writes it.
func (c *context) barometric(pa float64) string {
	u := units.Preferred(units.Barometric, c.system)
	return fmt.Sprintf("%.4g %s", u.FromSI(pa, 0), u.Label)
}

// Gate is a thing that is not to be done before others are shown. Entering is never
// held.
type Gate struct {
	Name GateName `json:"name"`
	Open bool     `json:"open"`
	By   []string `json:"by,omitempty"` // what holds it
	Of   []Matter `json:"-"`            // the same, each once, to be led to
}

// GateName is what a gate holds.
type GateName string

// The gates.
const (
	InsulationTest GateName = "insulation test"
	Charging       GateName = "charging"
	Energising     GateName = "energising"
	HandingOver    GateName = "handing over"
)

// Gate finds a gate.
func (r *Report) Gate(name GateName) Gate {
	for _, g := range r.Gates {
		if g.Name == name {
			return g
		}
	}
	return Gate{Name: name}
}

// inVacuum tells whether a vacuum is in the circuit: one was read, and no charge was
// weighed in yet.
func (c *context) inVacuum() bool {
	return c.value(record.WeighedIn) <= 0 && c.evacuated() >= 0 || c.evacuatedAgain() != nil || c.chargedAfterVacuum() != nil
}

// charged is where among the entries the charge was entered.
func (c *context) charged() (at int, ok bool) { return c.firstEntered(record.WeighedIn) }

// firstEntered is where among the entries the first of a field stands since there was
// none, whatever corrected it afterwards.
func (c *context) firstEntered(k record.Key) (at int, ok bool) {
	for i, e := range c.job.Entries {
		switch {
		case e.Key != k:
		case e.Value == "":
			ok = false
		case !ok:
			at, ok = i, true
		}
	}
	return at, ok
}

// opened tells whether this job opens the circuit of the unit that then runs: it takes a
// compressor out or has worked on the open circuit.
func (c *context) opened() bool {
	switch d := c.job.Text(record.Decision); d {
	case "", leaveIt:
	case convert, likeForLike:
		return true
	default: // another unit comes with its charge
		return false
	}
	for _, k := range []record.Key{record.NewCompressorSerial, record.Recovered, record.CauseRecovered, record.TestP1} {
		if c.job.Text(k) != "" {
			return true
		}
	}
	return c.evacuated() >= 0
}

// uncharged is why readings of the running unit tell nothing of it: no charge was in it
// when one of them was entered. Of what was entered later than measured the order tells
// nothing.
func (c *context) uncharged(used []*reading) string {
	if !slices.ContainsFunc(used, func(r *reading) bool { return r.live() }) || !c.opened() {
		return ""
	}
	at, charged := c.charged()
	for _, r := range used {
		n, entered := c.job.Index(r.field)
		if r.live() && (!charged || entered && n < at && !c.job.Later(r.field) && !c.job.Later(record.WeighedIn)) {
			return "no charge was in the unit when it was read: " + r.label
		}
	}
	return ""
}

// live tells a reading that only a running or charged unit gives.
func (r *reading) live() bool {
	return r.field != (record.Key{}) && r.field.Field().Origin == record.Measured && liveField(r.field.Field())
}

// fromRecovered tells where the charge came out of the cylinder whose refrigerant was not
// to come back into this unit.
func (c *context) fromRecovered() error {
	held, to := bareSerial(c.job.Text(record.RecoveryCylinder)), c.job.Text(record.RecoveryTo)
	if held == "" || to == "" || to == record.BackIntoUnit {
		return nil
	}
	const tells = 4 // letters and figures below which a number may stand in any words
	if from := bareSerial(c.job.Text(record.ChargeCylinder)); from == held ||
		len(held) >= tells && strings.Contains(bareSerial(c.job.Text(record.ChargeSource)), held) {
		return errors.New("the cylinder of what was recovered, which was not to come back into this unit: read both serial numbers again")
	}
	return nil
}

// chargedAfterVacuum tells where the charge stands before the end of the vacuum that it
// is to follow.
func (c *context) chargedAfterVacuum() error {
	at, ok := c.charged()
	if !ok || c.job.Later(record.WeighedIn) {
		return nil
	}
	for _, k := range []record.Key{record.VacuumFinal, record.VacuumEnd} {
		if n, ok := c.firstEntered(k); ok && n > at && !c.job.Later(k) {
			return fmt.Errorf("entered before %s: the charge follows the vacuum. Say in Close-up or here how the readings were entered, or evacuate and charge again", strings.ToLower(k.Label()[:1])+k.Label()[1:])
		}
	}
	return nil
}

// evacuated is where among the entries the first that tells of a vacuum stands, -1 where
// there is none.
func (c *context) evacuated() int {
	first := -1
	for _, k := range []record.Key{record.VacuumPull, record.VacuumFinal, record.VacuumRise, record.VacuumEnd} {
		if n, ok := c.job.Index(k); ok && (first < 0 || n < first) {
			first = n
		}
	}
	return first
}

// testedInVacuum tells whether the insulation was entered between the vacuum and the
// charge.
func (c *context) testedInVacuum() bool {
	at, ok := c.job.Index(record.Insulation)
	from := c.evacuated()
	to, charged := c.charged()
	return ok && from >= 0 && at > from && (!charged || at < to)
}

// beforeStart are what of Charge keeps a unit from being started: nothing in it, the wrong
// thing, far from what it holds, a vacuum still in it, liquid in the oil.
var beforeStart = []string{record.WeighedIn.String(), record.ChargedWith.String(), record.VacuumBroken.String(), record.HeaterHours.String(), "charge_balance", "charge_plate"}

// gates are what may be done now. ms are the matters of the job.
func (c *context) gates(ms []Matter) []Gate {
	by := func(g *Gate, pick func(Matter) bool) {
		for _, m := range ms {
			if m.Reserved != nil || !pick(m) {
				continue
			}
			info, _ := m.Step.Info()
			w := info.Title + ": " + m.Label + ": " + m.word()
			if m.Stand == IsMissing && !c.begun(m.Step) {
				w = info.Title + ": " + nothingEntered
			}
			if !slices.Contains(g.By, w) {
				g.By, g.Of = append(g.By, w), append(g.Of, m)
			}
		}
	}
	gs := []Gate{{Name: InsulationTest}, {Name: Charging}, {Name: Energising}, {Name: HandingOver}}
	by(&gs[1], func(m Matter) bool { return m.Step == record.CloseUp && !m.later })
	by(&gs[2], func(m Matter) bool {
		switch m.Step {
		case record.Wiring, record.Electrical:
			return !m.live
		case record.Charge:
			return slices.Contains(beforeStart, m.Key) && (m.Stand == IsOutside || m.Key == record.WeighedIn.String())
		case record.CloseUp:
			return !m.later
		}
		return false
	})
	by(&gs[3], func(m Matter) bool { return m.Step != record.HandOver })
	if c.inVacuum() {
		gs[0].By = []string{"Close-up: a vacuum is in the circuit until the charge is weighed in"}
		gs[2].By = append(gs[2].By, gs[0].By...)
	}
	for i := range gs {
		gs[i].Open = len(gs[i].By) == 0
	}
	return gs
}

func (m Matter) word() string {
	if m.Stand != IsMissing {
		return string(m.Stand)
	}
	f, err := record.ByName(m.Key)
	_, decision := record.PlanName(f.Key)
	switch {
	case m.Why != "":
		return m.Why
	case err == nil && decision:
		return "not answered"
	case err == nil && f.Kind != record.Number:
		return "not entered"
	}
	return string(m.Stand)
}

// Holds is what a step that is held waits for elsewhere.
func (r *Report) Holds(step record.Step) (out []Matter) {
	name, ok := gateOf[step]
	if step == record.Electrical { // its live checks
		name, ok = Energising, true
	}
	for _, s := range r.Steps {
		if s.Step != step || s.Word != Held || s.Otherwise || !ok {
			continue
		}
		for _, m := range r.Gate(name).Of {
			if m.Step != step {
				out = append(out, m)
			}
		}
	}
	return out
}

// gateOf is the gate that a whole step waits behind. The live checks of Electrical
// wait behind one too; its dead checks do not.
var gateOf = map[record.Step]GateName{record.Charge: Charging, record.Running: Energising, record.HandOver: HandingOver}

// states tells how far each step is.
func (c *context) states(r *Report, ms []Matter) []State {
	var out []State
	var lacking []string
	for _, info := range record.Steps {
		s := c.state(info.Step, r, ms)
		if s.Step == record.HandOver && s.Word == Done && len(lacking) > 0 {
			s.Word, s.Why = DoneReserved, "with what these lack: "+strings.Join(lacking, "; ")
		}
		if s.Word == DoneReserved {
			lacking = append(lacking, info.Title)
		}
		out = append(out, s)
	}
	return out
}

func (c *context) state(step record.Step, r *Report, ms []Matter) State {
	s := State{Step: step}
	s.Unknown = c.unknown(step)
	var by []string
	dead := 0 // of what is left, what needs no power
	for _, m := range ms {
		switch {
		case m.Step != step:
		case m.Reserved != nil:
			s.Reserved = append(s.Reserved, m)
		default:
			s.Left = append(s.Left, m)
			if !m.live {
				dead++
			}
		}
	}
	if step == record.Wiring {
		// The live list is read after the charge and keeps Hand-over open, not this step.
		s.Left = slices.DeleteFunc(s.Left, func(m Matter) bool { return m.live && m.Stand == IsMissing })
	}
	if g, ok := gateOf[step]; ok {
		by = r.Gate(g).By
	}
	if step == record.Electrical && dead == 0 {
		by = r.Gate(Energising).By
	}
	other := c.job.Text(record.Decision)
	if other != "" && other != convert && (step == record.Match || step == record.Wiring) {
		by, s.Otherwise = []string{"decided otherwise in Choice: " + other}, true
	}
	signed, isSigned := c.job.Signed()
	switch {
	case len(by) > 0:
		if s.Word, s.Why = Held, "by "+strings.Join(by, "; "); step == record.HandOver {
			s.Why = "by " + few(by) // its pane lists them all
		}
	case !c.begun(step):
		if s.Word, s.Why = Ready, c.wantsFirst(step); s.Why != "" {
			s.Word = NotYet
		}
	case len(s.Left) > 0:
		s.Word, s.Why = Open, c.left(s.Left)
	case step == record.HandOver && !isSigned:
		s.Word, s.Why = Open, "not signed by the technician"
	case step == record.HandOver && !signed.Stands:
		s.Word, s.Why = Open, "signed by "+signed.Value+" and changed since: "+few(signed.Since)
	case step == record.Cause && len(s.Reserved) == 0 && c.untold():
		s.Word, s.Why = DoneReserved, "the readings do not tell whether the compressor has failed; that it has is the word of who entered it"
	case len(s.Reserved) > 0 || step == record.HandOver && len(reserved(ms)) > 0:
		if step == record.HandOver {
			s.Reserved = reserved(ms)
		}
		s.Word, s.Why = DoneReserved, strings.Join(labelsOf(append(slices.Clone(s.Reserved), s.Unknown...)), "; ")
	case len(s.Unknown) > 0:
		s.Word, s.Why = DoneReserved, unknownHead[step]+strings.Join(labelsOf(s.Unknown), "; ")
	default:
		s.Word = Done
	}
	return s
}

// nothingEntered is what holds of a step that was not begun, in one line for all of it.
const nothingEntered = "nothing entered"

const convert = "convert to single stage"

func reserved(ms []Matter) []Matter {
	return slices.DeleteFunc(slices.Clone(ms), func(m Matter) bool { return m.Reserved == nil })
}

func labelsOf(ms []Matter) (out []string) {
	for _, m := range ms {
		if !slices.Contains(out, m.Label) {
			out = append(out, m.Label)
		}
	}
	return out
}

// few lists some and counts the rest.
func few(ws []string) string {
	const most = 3
	if len(ws) > most+1 {
		return strings.Join(ws[:most], "; ") + fmt.Sprintf(" and %d more", len(ws)-most)
	}
	return strings.Join(ws, "; ")
}

// left is what a step still lacks, in words.
func (c *context) left(ms []Matter) string {
	var parts []string
	for _, w := range []struct {
		stand Stand
		word  string
	}{{IsOutside, "outside"}, {IsClose, "too close to call"}, {IsMissing, "missing"}} {
		var ls []string
		for _, m := range ms {
			if m.Stand == w.stand && !slices.Contains(ls, m.Label) {
				ls = append(ls, m.Label)
			}
		}
		if len(ls) > 0 {
			parts = append(parts, w.word+": "+strings.Join(ls, ", "))
		}
	}
	return strings.Join(parts, "; ")
}

// begun tells whether anything was entered in a step.
func (c *context) begun(step record.Step) bool {
	for _, d := range c.job.Drafts {
		if f, err := record.ByKey(d.Key); err == nil && f.Step == step {
			return true
		}
	}
	for _, f := range record.Of(step) {
		if _, ok := c.job.Entry(f.Key); ok {
			return true
		}
	}
	if step != record.Wiring {
		return false
	}
	return slices.ContainsFunc(c.job.Entries, func(e record.Entry) bool {
		_, answer := record.PlanName(e.Key)
		return answer || record.IsMeter(e.Key)
	})
}

// against is what stands against signing, in the order in which it is shown. What has
// not been begun is one line a step.
func (c *context) against(ms []Matter) []Matter {
	var out []Matter
	for _, want := range stands {
		begun := map[record.Step]bool{}
		for _, m := range ms {
			stand, was := m.Stand, m.Stand
			if m.Reserved != nil {
				stand = Reservation
			}
			if stand != want || m.Step == record.HandOver && m.Stand != IsOutside && !isRoot(m.Key) && m.Key != record.FollowUpDue.String() {
				continue
			}
			if want == IsMissing && !c.begun(m.Step) {
				if !begun[m.Step] {
					info, _ := m.Step.Info()
					out = append(out, c.matter(IsMissing, m.Step, m.Key, info.Title, nothingEntered))
				}
				begun[m.Step] = true
				continue
			}
			if m.Stand = stand; stand == Reservation {
				m.Was = was
			}
			out = append(out, m)
		}
	}
	return out
}

func isRoot(key string) bool {
	return slices.ContainsFunc(record.RootFields(), func(k record.Key) bool { return k.String() == key })
}

// wantsFirst is what has to be known before there is anything to act on in a step, ""
// where it can be begun.
func (c *context) wantsFirst(step record.Step) string {
	switch step {
	case record.Cause:
		for _, f := range record.Of(record.Intake) {
			if _, ok := c.job.Entry(f.Key); f.Need && !ok {
				return "Intake first: " + strings.ToLower(f.Label[:1]) + f.Label[1:]
			}
		}
	case record.Choice:
		if c.job.Text(record.FailureKind) == "" {
			return "Cause first: what failed"
		}
	case record.Match, record.Wiring:
		if c.job.Text(record.Decision) == "" {
			return "Choice first: the decision"
		}
	case record.Electrical:
		if c.reading(record.NewRLA) == nil && c.reading(record.CapRating) == nil {
			return "Match first: the new compressor"
		}
	case record.CloseUp:
		if c.job.Text(record.NewCompressorSerial) == "" {
			return "Match first: the new compressor"
		}
	}
	return ""
}

// unknowns are entries that a step is done without and that later steps compute with,
// or that a person expects of it: it is done with these named.
var unknowns = []struct {
	step  record.Step
	key   record.Key
	label string // where that of the field says something else
	why   string
}{
	{record.Intake, record.Phases, "supply: single or three phase", "Match and Electrical ask for it"},
	{record.Intake, record.OldRLA, "", "Match and Electrical hold the new one against it"},
	{record.Intake, record.OldCapRating, "", "Cause holds the capacitor found against it"},
	{record.Intake, record.PlateMCA, "", "Electrical holds the new circuit against it"},
	{record.Intake, record.WireGauge, "", "Electrical asks whether it carries the new compressor"},
	{record.Intake, record.UnitInstalled, "when it was installed", "Cause and Choice ask for its age"},
	{record.Choice, record.DecisionReason, "reason of the decision", "stands on the owner's page"},
	{record.Choice, record.ConsentSigned, "owner's signature on the consent page", "work begins after it"},
	{record.CloseUp, record.RecoveryLevel, "evacuation level reached", "asked for before a circuit is opened"},
	{record.CloseUp, record.PartsBack, "brackets, grommets and sound parts back", "on the work list"},
	{record.CloseUp, record.GroundBack, "equipment ground landed again", "on the work list"},
	{record.CloseUp, record.NitrogenFlow, "nitrogen while brazing", "scale inside shows later"},
	{record.CloseUp, record.DrierFitted, "new liquid-line drier", "the circuit was open"},
	{record.CloseUp, record.JointList, "joints that were opened or made", "which of them were searched is told there"},
	{record.Charge, record.HeaterHours, "crankcase heater on for its hours", "asked before the first start"},
	{record.Charge, record.VacuumBroken, "vacuum broken with refrigerant on the liquid side", "asked before the first start"},
	{record.Charge, record.FirstSeconds, "first seconds: noise and current", "what was heard and read as it started"},
	{record.HandOver, record.LabelDone, "new label on the unit", "who comes next charges by it"},
}

// unknownHead begins the words on what a step is done without.
var unknownHead = map[record.Step]string{record.Intake: "not known: ", record.Choice: "lacks: ", record.CloseUp: "not entered: ", record.Charge: "not entered: ", record.HandOver: "not there: ", record.Wiring: "rests on a person's word: "}

// unknown are those of a step that are not entered.
func (c *context) unknown(step record.Step) (out []Matter) {
	for _, u := range unknowns {
		switch t := c.job.Text(u.key); {
		case u.step != step || t != "" && !((u.key == record.ConsentSigned || u.key == record.LabelDone) && t != record.Yes):
			continue
		case step == record.Choice && u.key == record.ConsentSigned && c.job.Text(record.Decision) == leaveIt:
			continue // nothing is done that would need it
		}
		out = append(out, c.matter(IsMissing, step, u.key.String(), cmp.Or(u.label, u.key.Label()), u.why))
	}
	if k, ok := priceOf[c.job.Text(record.Decision)]; ok && step == record.Choice && c.job.Text(k) == "" {
		out = append(out, c.matter(IsMissing, step, k.String(), "price of what was decided", "the page that the owner signs names it"))
	}
	switch _, page := c.job.Index(record.ConsentPage); step {
	case record.Choice:
		if !page && c.job.Text(record.ConsentSigned) == record.Yes && c.job.Text(record.Decision) != leaveIt {
			out = append(out, c.matter(IsMissing, step, record.ConsentPage.String(), "a consent page written here", "what the owner signed is a person's word"))
		}
	case record.CloseUp:
		if c.job.Text(record.LeakSearch) == record.LeakMended {
			out = append(out, c.matter(IsMissing, step, record.LeakSearch.String(), "whether the circuit was opened to mend the leak", "if it was, the hold, the vacuum and the charge from before do not stand for it"))
		}
		if _, charged := c.charged(); charged && c.job.Text(record.LeakSearch) == "" {
			out = append(out, c.matter(IsMissing, step, record.LeakSearch.String(), "leak search at the unit's own pressure", "comes after the charge"))
		}
	case record.Charge:
		if c.reading(record.WeighedIn) != nil && !c.chargeHeld() {
			out = append(out, c.matter(IsMissing, step, record.TagCharge.String(), "what the charge is held against, plate or build-up", "nothing speaks for the amount but the running check"))
		}
	case record.Match:
		out = append(out, c.unanswered()...)
	case record.Wiring:
		if m, ok := c.leans(); ok {
			out = append(out, m)
		}
	case record.Running:
		if c.job.Text(record.Metering) != record.MeterFixed && c.reading(record.TagSubcooling) == nil {
			out = append(out, c.matter(IsMissing, step, record.TagSubcooling.String(), "a target that the charge is held against", "without the plate's subcooling nothing here speaks for its amount"))
		}
		if m, ok := c.together(); ok {
			out = append(out, m)
		}
	}
	return out
}

const (
	leaveIt     = "leave it"
	likeForLike = "same compressor"
)

// untold tells whether the kind of failure is entered while what was examined does not
// tell that there is one.
func (c *context) untold() bool {
	if c.job.Text(record.FailureKind) == "" {
		return false
	}
	x, err := c.examined()
	return err == nil && x.Call == cause.CannotTell
}
