package assess

import (
	"cmp"
	stdcontext "context"
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/reports/cause"
	"retrostage/reports/match"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
	"retrostage/thermo/units"
	"retrostage/wiring/planner"
	"retrostage/wiring/proof"
	"retrostage/wiring/supply"
)

// Stand is how a matter stands against signing. In the order of this list they are
// shown.
type Stand string

// The ways.
const (
	IsOutside   Stand = "outside"
	IsClose     Stand = "too close to call"
	IsMissing   Stand = "not measured"
	Reservation Stand = "reservation"
)

var stands = []Stand{IsOutside, IsClose, IsMissing, Reservation}

// Matter is one thing that stands against signing.
type Matter struct {
	Stand Stand       `json:"stand"`
	Was   Stand       `json:"was,omitempty"` // of a reservation: how it stands without
	Step  record.Step `json:"step"`
	Key   string      `json:"key"` // of the finding or field
	Label string      `json:"label"`
	Why   string      `json:"why,omitempty"`
	// Under a reservation it no longer keeps its step from being done.
	Reserved *Reserved `json:"reserved,omitempty"`

	live  bool // belongs to the energised unit
	later bool // only a charged unit can settle it
	print string
}

// Reserved is who answers for a matter that is left as it is.
type Reserved struct {
	Text string `json:"text"`
	By   string `json:"by"`
	At   string `json:"at"`
}

// shown is what has to be judged, whatever else is, before a step is done; of several
// one is enough. live belongs to the energised unit.
var shown = []struct {
	step record.Step
	any  []string
	live bool
}{
	{record.Electrical, []string{"insulation_25"}, false},
	{record.Electrical, []string{"cap_match"}, false},
	{record.Electrical, []string{"cap_meter"}, false},
	{record.Electrical, []string{"breaker_fit"}, false},
	{record.Electrical, []string{"supply_voltage"}, true},
	{record.Electrical, []string{"run_current"}, true},
	{record.CloseUp, []string{"pressure_hold"}, false},
	{record.CloseUp, []string{"vacuum_hold"}, false},
	{record.CloseUp, []string{"vacuum_word"}, false},
	{record.Charge, []string{"label_error"}, false},
	{record.Charge, []string{"flammable_charge"}, false},
	{record.Running, []string{"superheat_error", "subcooling", "superheat"}, true},
}

// answers are those that stand against their step, whatever its readings say: work that
// by its own record was not done, or not in a way that is left without a reason. Common
// practice, no source.
var answers = []struct {
	key   record.Key
	is    []string
	stand Stand
	why   string
	only  func(*context) bool
	step  record.Step // where it is not that of the field
}{
	{record.NitrogenFlow, []string{"no"}, IsOutside, "brazed without nitrogen: scale is inside", nil, ""},
	{record.DrierFitted, []string{"no"}, IsOutside, "the circuit was open", nil, ""},
	{record.DrierDirection, []string{"not looked at"}, IsMissing, "look at its arrow", nil, ""},
	{record.SuctionFilter, []string{"no", "not needed"}, IsOutside, "the oil was burnt", burnt, ""},
	{record.SuctionFilter, []string{""}, IsMissing, "the oil was burnt or acid: is one in, and when does it come out?", func(c *context) bool { return burnt(c) && c.opened() }, ""},
	{record.RecoveryTo, []string{""}, IsMissing, "the oil was burnt or acid: what comes out of it goes to reclaim", func(c *context) bool { return burnt(c) && c.opened() }, ""},
	{record.RecoveryTo, []string{record.BackIntoUnit}, IsOutside, "the oil was burnt: what comes out of it goes to reclaim", burnt, ""},
	{record.PartsBack, []string{record.No}, IsOutside, "answered no", nil, ""},
	{record.GroundBack, []string{record.No}, IsOutside, "answered no", nil, ""},
	{record.LeakSearch, []string{record.LeakNotDone}, IsMissing, "not done", nil, ""},
	{record.CoilWashed, []string{stillWet}, IsOutside, "trimmed over a wet coil, which lowers the head and invites overcharge", wasTrimmed, record.Charge},
	{record.HeaterHours, []string{record.No}, IsOutside, "liquid in the oil at the first start", nil, ""},
	{record.VacuumBroken, []string{record.No}, IsOutside, "answered no", nil, ""},
	{record.ConsentSigned, []string{"not yet"}, IsMissing, "work begins after it", func(c *context) bool { return c.job.Text(record.Decision) != leaveIt }, record.HandOver},
}

const stillWet = "washed, still wet"

func wasTrimmed(c *context) bool {
	return c.job.Text(record.TrimSteps) != "" || c.value(record.Trimmed) != 0
}

// answersAgainst are those of a step that the job gave.
func (c *context) answersAgainst(s record.Step) (out []Matter) {
	for _, a := range answers {
		step := cmp.Or(a.step, a.key.Field().Step)
		if step == s && slices.Contains(a.is, c.job.Text(a.key)) && (a.only == nil || a.only(c)) {
			out = append(out, c.matter(a.stand, s, a.key.String(), a.key.Label(), a.why))
		}
	}
	return out
}

// liveField tells a field that only an energised unit has.
func liveField(f record.Field) bool { return f.Group == qLive || f.Step == record.Running }

// matters is everything that keeps the job from being done, step by step, without
// regard to reservations. findings are those of the job.
func (c *context) matters(findings []Finding, problems []Problem) []Matter {
	var out []Matter
	for _, info := range record.Steps {
		s := info.Step
		out = append(out, c.judged(s, findings)...)
		switch s {
		case record.Cause:
			if why := c.againstTheCall(); why != "" {
				out = append(out, c.matter(IsOutside, s, record.FailureKind.String(), record.FailureKind.Label(), why))
			}
		case record.Match:
			out = append(out, c.outsized(findings)...)
		case record.Wiring:
			out = append(out, c.checkOut()...)
		case record.Electrical:
			out = append(out, c.misfits(findings)...)
			if c.job.Text(record.SafeStart) == record.No {
				out = append(out, c.matter(IsOutside, s, record.SafeStart.String(), record.SafeStart.Label(), "answered no"))
			}
		}
		out = append(out, c.answersAgainst(s)...)
		if m := c.value(record.WeighedIn) + c.value(record.Trimmed); s == record.Charge && c.reading(record.WeighedIn) != nil && m <= 0 {
			out = append(out, c.matter(IsOutside, s, record.WeighedIn.String(), record.WeighedIn.Label(), "no charge is in it, as entered"))
		}
		for _, p := range problems {
			if f, err := record.ByKey(p.Key); err == nil && f.Step == s {
				out = append(out, c.matter(IsOutside, s, p.Key.String(), f.Label, p.Text))
			}
		}
		out = append(out, c.missing(s, findings)...)
		if s == record.Running {
			out = append(out, c.setMatters()...)
			out = append(out, c.shaking()...)
		}
		if s == record.HandOver {
			out = append(out, c.returnVisit(findings)...)
		}
		if s == record.HandOver {
			out = append(out, c.rootOpen(findings)...)
		}
	}
	for i := range out {
		m := &out[i]
		m.later = m.Key == testReach.key || m.Key == record.LeakSearch.String() || m.Key == pressureHold.key && m.Stand == IsMissing && m.Why == notReached
		m.print = strings.Join([]string{string(m.Stand), m.Key, m.Why, m.print}, "|")
	}
	return out
}

func (c *context) matter(s Stand, step record.Step, key, label, why string) Matter {
	return Matter{Stand: s, Step: step, Key: key, Label: label, Why: why}
}

// judged are the findings of a step that are outside or open.
func (c *context) judged(s record.Step, fs []Finding) []Matter {
	var out []Matter
	for _, f := range fs {
		if f.Step != s || f.Verdict != Outside && (f.Verdict != TooClose || f.Near != "") {
			continue
		}
		m := c.matter(IsOutside, s, f.Key, f.Label, f.Next)
		if f.Verdict == TooClose {
			m.Stand = IsClose
		}
		m.live, m.print = f.Group == qLive || s == record.Running, fmt.Sprintf("%g±%g", f.Value, f.U)
		out = append(out, m)
	}
	return out
}

// missing are the fields and findings that a step is not done without.
func (c *context) missing(s record.Step, fs []Finding) []Matter {
	var out []Matter
	there := map[string]bool{}
	for _, f := range record.Of(s) {
		_, draft := c.job.Draft(f.Key)
		_, ok := c.job.Entry(f.Key)
		why := c.stale(f.Key)
		ok = ok && why == ""
		if why != "" {
			why = "to be read again, after: " + why
		}
		switch {
		case draft:
			out = append(out, c.matter(IsMissing, s, f.Key.String(), f.Label, "typed and not accepted"))
		case (f.Need || f.Key == record.RootCause && slices.Contains(c.job.RootsOf(), record.RootOther)) && !ok && c.reading(f.Key) == nil:
			out = append(out, c.matter(IsMissing, s, f.Key.String(), f.Label, cmp.Or(why, c.job.NotYet(f.Key))))
		default:
			continue
		}
		out[len(out)-1].live = liveField(f)
		there[f.Key.String()] = true
	}
	for _, n := range shown {
		if n.step != s {
			continue
		}
		var first *Finding
		ok := false
		for _, k := range n.any {
			i := slices.IndexFunc(fs, func(f Finding) bool { return f.Key == k })
			if i < 0 {
				continue
			}
			if first == nil {
				first = &fs[i]
			}
			v := fs[i].Verdict
			ok = ok || v == Within || v == Outside || v == TooClose
		}
		if first == nil || ok {
			continue
		}
		m := c.matter(IsMissing, s, first.Key, first.Label, first.Reason)
		m.live = n.live
		out = append(out, m)
	}
	// A finding that only waits for a field that is asked for already says nothing new.
	out = slices.DeleteFunc(out, func(m Matter) bool {
		rest, waits := strings.CutPrefix(m.Why, "needs: ")
		if !waits {
			return false
		}
		for _, l := range strings.Split(rest, ", ") {
			l, _, _ = strings.Cut(l, again)
			if !slices.ContainsFunc(out, func(o Matter) bool { return o.Label == l && there[o.Key] }) {
				return false
			}
		}
		return true
	})
	return out
}

// checkOut are the questions of the wiring plan that only a person can answer and the
// readings of the check-out, dead and live.
func (c *context) checkOut() []Matter {
	var out []Matter
	s := record.Wiring
	raised, err := plan.Raised(c.job)
	if err != nil {
		raised = planner.Asked // no unit yet, or one that cannot be read: all stand open
	}
	for _, key := range raised {
		if k := record.PlanKey(key); c.job.Text(k) == "" {
			out = append(out, c.matter(IsMissing, s, k.String(), "wiring decision: "+strings.ReplaceAll(key, "-", " "), ""))
		}
	}
	st, err := plan.Checkout(c.job)
	for _, w := range plan.Contradicts(c.job) {
		out = append(out, c.matter(IsOutside, s, record.OldControls.String(), "drawing of the old unit", w+": one of them is wrong"))
	}
	if err == nil && !plan.Compared(c.job) {
		out = append(out, c.matter(IsMissing, s, record.UnitCompared.String(), "drawing of the old unit", "nobody says that it was compared with the unit at hand"))
	}
	if err == nil && c.job.Text(record.TestP1) == "" && slices.ContainsFunc(c.job.Entries, func(e record.Entry) bool { return record.IsMeter(e.Key) }) {
		out = append(out, c.matter(IsMissing, s, record.TestP1.String(), "check-out", "read, and by Close-up the circuit with the new compressor in it was not yet put under pressure"))
	}
	switch {
	case err != nil:
		return append(out, c.matter(IsMissing, s, record.OldControls.String(), "wiring plan", err.Error()))
	case !st.Listed:
		out = append(out, c.matter(IsMissing, s, record.CheckoutList.String(), "check-out list of this plan", "not made yet: open the plan"))
	}
	if err == nil {
		if m, ok := c.proved(); ok {
			out = append(out, m)
		}
	}
	for _, m := range st.Misfits {
		x := c.matter(IsOutside, s, m.Key.String(), m.Key.Label(), fmt.Sprintf("reads %.4g, planned %.4g ± %.2g", m.Value, m.Test.Expect, m.Test.Tolerance))
		x.live = m.Test.Meter != "ohms"
		out = append(out, x)
	}
	for _, list := range []string{planner.Dead, planner.Live} {
		if n, of := len(st.Missing[list]), st.Asked[list]; n > 0 {
			m := c.matter(IsMissing, s, st.Missing[list][0].String(), list+" check-out", fmt.Sprintf("%d of %d readings not taken", n, of))
			m.live = list == planner.Live
			out = append(out, m)
		}
	}
	return out
}

// outsized is a compressor far from the unit's nominal size, whatever else is known of
// either. The bounds are wide because ratings differ by condition and stage; common
// practice, no source.
func (c *context) outsized(fs []Finding) []Matter {
	if out := c.unfit(fs); len(out) > 0 {
		return out
	}
	const least, most = 0.7, 1.35
	n, q := c.value(record.NominalCapacity), c.value(record.NewCapacity)
	if n <= 0 || q <= 0 || q >= least*n && q <= most*n {
		return nil
	}
	return []Matter{c.matter(IsOutside, record.Match, record.NewCapacity.String(), "size of the new compressor",
		fmt.Sprintf("%.0f %% of the unit's nominal capacity: look at both figures; more than %.0f or less than %.0f %% is no match for coils that stay", 100*q/n, 100*most, 100*least))}
}

// unfit are the questions of the match that the compressor entered answers with no, and
// a unit that runs otherwise than was matched.
func (c *context) unfit(fs []Finding) (out []Matter) {
	j, err := c.bought()
	if err != nil || j == nil {
		return nil
	}
	for _, r := range j.Reasons {
		if r.Verdict == match.Misfit {
			out = append(out, c.matter(IsOutside, record.Match, record.NewCompressorSerial.String(), "new compressor, "+r.Topic, strings.TrimSpace(r.Words+". "+r.Next)))
		}
	}
	if l := c.later(*j, fs); l != nil && l.Off() {
		out = append(out, c.matter(IsOutside, record.Match, record.NewCapacity.String(), "cooling as it runs, against the match",
			"what was measured contradicts it: look at charge and air flow first, then at the compressor's data"))
	}
	return out
}

// bought is the compressor entered, held against the unit; nil while none is.
func (c *context) bought() (*match.Judged, error) {
	return remember(c, memoKey{kind: memoBought}, func() (*match.Judged, error) {
		own, ok, err := c.newCompressor()
		if !ok || err != nil {
			return nil, err
		}
		if text := c.job.Text(record.Candidates); text != "" {
			if cs, _, err := listed(text); err == nil {
				own, _ = merge(own, cs)
			}
		}
		j, err := match.Judge(c.unit(), own)
		return &j, err
	})
}

// settledBy is the field of the match that answers a question of it, where one does.
var settledBy = map[string]record.Key{"refrigerant": record.NewRefrigerants, "oil": record.NewOil, "stages": record.NewStages, "supply": record.NewVoltage, "capacity": record.NewPower, "envelope": record.Candidates,
	"oil return": record.SuctionInside, "high side": record.NewMaxHigh, "low side": record.NewMaxLow, "run capacitor": record.CapVoltageNeeded, "start": record.ValveBleeds, "connections": record.StubSuction, "size": record.CabinetRoom,
	"contactor: full-load rating per pole": record.ContactorFLA, "contactor: locked-rotor rating per pole": record.ContactorLRA, "disconnect: ampere rating": record.Disconnect}

// unanswered are the questions of the match that nothing answers yet, and the parts that
// the compressor asks to be changed: the match is done with these named.
func (c *context) unanswered() (out []Matter) {
	j, err := c.bought()
	if err != nil {
		return []Matter{c.matter(IsMissing, record.Match, record.NewCompressorModel.String(), "new compressor against the unit", err.Error())}
	}
	if j == nil {
		return nil
	}
	for _, r := range j.Reasons {
		if r.Verdict == match.Open {
			key := r.Topic
			if k, ok := settledBy[r.Topic]; ok {
				key = k.String()
			}
			out = append(out, c.matter(IsMissing, record.Match, key, r.Topic+", not known", strings.TrimSpace(sentenceOf(r.Words)+" "+r.Next)))
		}
	}
	for _, r := range j.Rows {
		if r.Check != nil && r.Check.Outcome == supply.Misfit && (r.Part == "contactor" || r.Part == "breaker" || r.Part == "disconnect") && !slices.ContainsFunc(out, func(m Matter) bool { return m.Key == r.Part }) {
			out = append(out, c.matter(IsOutside, record.Match, r.Part, r.Part+", another is needed", sentenceOf(r.Check.Why)))
		}
	}
	return out
}

// priceOf is the price of what was decided.
var priceOf = map[string]record.Key{convert: record.CostConvert, "same compressor": record.CostLike, "replace the unit": record.CostReplace, "replace the whole system": record.CostSystem}

// proved is what stands against the plan itself: a circuit as planned that reads right
// is none that was shown to do what it is for.
func (c *context) proved() (Matter, bool) {
	p, err := plan.Checked(stdcontext.Background(), c.job)
	at := func(s Stand, why string) (Matter, bool) {
		return c.matter(s, record.Wiring, record.OldControls.String(), "wiring plan", why), true
	}
	switch {
	case err != nil:
		return at(IsMissing, err.Error())
	case p.Refused != "":
		return at(IsOutside, "none: "+p.Refused)
	case p.Verdict == proof.Fails:
		return at(IsOutside, "its proof fails: "+p.Why)
	case !p.Proved():
		return at(IsMissing, "not proved: "+p.Why)
	}
	return Matter{}, false
}

// leans tells whether the plan holds only by a person's word, and whose on what.
func (c *context) leans() (Matter, bool) {
	p, err := plan.Checked(stdcontext.Background(), c.job)
	if err != nil || p.Verdict != proof.Reserved {
		return Matter{}, false
	}
	return c.matter(IsMissing, record.Wiring, record.OldControls.String(), "proof of the plan", p.Why), true
}

// misfits are parts that do not fit the new compressor and that no finding tells.
func (c *context) misfits(fs []Finding) []Matter {
	t, err := supply.Load()
	if err != nil {
		return nil
	}
	rows, err := t.OldNew(c.conversion())
	if err != nil {
		return []Matter{c.matter(IsMissing, record.Electrical, "old-new", "old against new", err.Error())}
	}
	var out []Matter
	for _, r := range rows {
		if r.Check == nil || r.Check.Outcome != supply.Misfit {
			continue
		}
		if judging(r.Key, fs) != nil {
			continue
		}
		m := c.matter(IsOutside, record.Electrical, "fit/"+r.Key, sentenceStart(r.Part)+": "+r.What, sentenceOf(r.Check.Why))
		out = append(out, m)
	}
	return out
}

// againstTheCall tells where what is said to have failed is not what the examination
// says of the compressor, "" where it does not or cannot tell.
func (c *context) againstTheCall() string {
	kind := c.job.Text(record.FailureKind)
	if kind == "" {
		return ""
	}
	x, err := c.examined()
	switch sound := kind == "no fault found"; {
	case err != nil:
	case sound && x.Call == cause.Dead:
		return "the readings say that the compressor has failed"
	case !sound && x.Call == cause.NotDead:
		return "the readings say that the compressor has not failed"
	}
	return ""
}

// Reason is why a named person left something as it is in a step, and what of it the
// reason is about.
type Reason struct {
	Reserved
	About []string `json:"about"`            // what it covers
	Other []string `json:"not_it,omitempty"` // stood when it was given and stands so still, and is not named
	Since []string `json:"since,omitempty"`  // came or changed afterwards: it wants words of its own
}

// reserve marks the matters that a named person left as they are, and tells of each
// reason what it is about. It covers what it was said to be about, as that stood when it
// was given: what is new or has changed is not under it, nor is it by a reason that is
// edited and says nothing new. Where one thing alone stood it is about that.
func (c *context) reserve(ms []Matter) (map[record.Step]*Reason, error) {
	out := map[record.Step]*Reason{}
	for _, info := range record.Steps {
		k, ok := info.Step.Reservation()
		if !ok {
			continue
		}
		e, ok := c.job.Entry(k)
		if !ok || !record.Said(e.By) {
			continue
		}
		past, err := newContext(c.job.Before(c.job.Said(k)))
		if err != nil {
			return nil, err
		}
		fs, err := past.findings()
		if err != nil {
			return nil, err
		}
		stood, alike, named := map[string]bool{}, map[string]int{}, map[string]bool{}
		then := past.matters(fs, past.problems())
		if slices.ContainsFunc(then, func(m Matter) bool { return m.Step == info.Step && record.Beyond(e.Value, m.Label) == 0 }) {
			continue // it names the thing, and gives no reason
		}
		for _, m := range then {
			if m.Step == info.Step && m.reservable() && !stood[m.print] {
				stood[m.print] = true
				alike[m.Label]++
			}
		}
		name := func(m Matter) string { // two that are called alike are two
			if alike[m.Label] > 1 && m.Why != "" {
				return m.Label + ": " + m.Why
			}
			return m.Label
		}
		for _, m := range then {
			if stood[m.print] && m.Step == info.Step {
				named[name(m)] = true
			}
		}
		about, said := c.job.About(k)
		if said || len(named) > 1 {
			named = map[string]bool{}
		}
		for _, l := range about {
			named[l] = true
		}
		r := &Reason{Reserved: Reserved{Text: e.Value, By: e.By, At: e.Time.Format("2006-01-02 15:04 -07:00")}, About: []string{}}
		add := func(to *[]string, l string) {
			if !slices.Contains(*to, l) {
				*to = append(*to, l)
			}
		}
		for i := range ms {
			m := &ms[i]
			switch {
			case m.Step != info.Step || !m.reservable():
			case !stood[m.print]:
				add(&r.Since, m.Label)
			case named[name(*m)]:
				m.Reserved = &r.Reserved
				add(&r.About, name(*m))
			default:
				add(&r.Other, name(*m))
			}
		}
		out[info.Step] = r
	}
	return out, nil
}

// reservable tells whether a reason may cover a matter: none covers a unit without its
// ground.
func (m Matter) reservable() bool { return m.Key != record.GroundBack.String() }

// near says that a close call will stay one: the reading that carries most of its
// doubt was taken again, at a distance in time, and said the same within its doubt.
func (c *context) near(f Finding, used []*reading) string {
	if f.Key == "label_error" {
		return "" // two numbers that a person writes: the label can be written again
	}
	top := -1
	for i, in := range f.Inputs {
		if i < len(used) && used[i].u > 0 && (top < 0 || in.Share > f.Inputs[top].Share) {
			top = i
		}
	}
	if top < 0 {
		return ""
	}
	r := used[top]
	if r.field == (record.Key{}) {
		return "As near as these readings tell: most of the doubt is in what nobody reads: " + strings.ToLower(r.label[:1]) + r.label[1:] + "."
	}
	if !c.repeated(r) {
		return ""
	}
	return "As near as these instruments tell: " + strings.ToLower(r.label[:1]) + r.label[1:] + " was read twice and said the same."
}

// repeated tells whether the last two entries of a reading are a reading and its
// repeat. Of what was entered later than measured the times say nothing.
func (c *context) repeated(r *reading) bool {
	if c.job.Later(r.field) {
		return false
	}
	var last []record.Entry
	for i, e := range c.read1.Entries {
		if e.Key != r.field {
			continue
		}
		if inSet[r.field] && c.since(i, r.field) != "" {
			continue // of the unit as it was
		}
		if e.Value == "" {
			last = nil
			continue
		}
		last = append(last, e)
	}
	if len(last) < 2 {
		return false
	}
	a, b := last[len(last)-2], last[len(last)-1]
	x, errX := units.Number(a.Value)
	y, errY := units.Number(b.Value)
	apart := b.Time.Sub(a.Time).Minutes()
	return errX == nil && errY == nil && a.Unit == b.Unit && apart >= c.lim.Repeat.Minutes &&
		math.Abs(r.unit.SpanSI(x-y)) <= 2*uncertainty.Combine(r.u, r.u)
}
