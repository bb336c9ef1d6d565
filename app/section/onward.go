package section

import (
	"slices"

	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/like"
	"retrostage/reports/record"
	"retrostage/wiring/planner"
)

// byKeys are fields whose options, though they are many or long, are keys side by side:
// every job has one of them touched, and a list would take a touch more.
var byKeys = []record.Key{record.Metering, record.Staging, record.WireGauge, record.FailureKind, record.RootKind, record.Decision, record.PumpValved, record.ChargedWith}

// usual are fields that a step can be done without, and that its judgement rests on in
// most jobs: windings, air, how long it ran; and the signature.
var usual = []record.Key{record.UnitInstalled, record.WireGauge, record.DecisionReason, record.OldRCS, record.OldRCR, record.OldRSR, record.ReturnDB, record.ReturnWB, record.SupplyDB, record.SettleTime, record.SignedBy}

// asked are fields that most jobs have an answer to, in steps in which one goes from the
// top to the foot: who copies a plate, examines a compressor or writes down prices is led
// past none of them.
var asked = []record.Key{record.Warranty, record.Staging, record.Phases, record.OldRLA, record.OldLRA, record.OldCapRating, record.FanFLA, record.PlateMCA, record.PlateMOCP, record.TagCharge,
	record.CauseSupply, record.CauseCall, record.CausePasses, record.OldCapFound, record.OldCapState, record.WindingsReadAt, record.CauseShell, record.OldInsulation, record.CauseTrial,
	record.CauseCoil, record.CauseAir, record.CauseHeat, record.CauseFlood, record.CauseHeater, record.CauseCycles, record.CauseNoise,
	record.CostLike, record.CostConvert, record.CostReplace, record.CostSystem, record.WaitLike, record.WaitConvert, record.WaitReplace, record.WaitSystem,
	record.NewPower, record.NewLRA, record.NewVoltage, record.NewOil, record.CapVoltageNeeded, record.CapVoltage}

// wanted are the fields that the step still lacks, by the newest report.
func (p *Pane) wanted() map[string]bool {
	m := map[string]bool{}
	keys := usual
	if !p.likened() { // one begun like another has what most jobs have: it is led to the rest
		keys = slices.Concat(usual, asked)
	}
	for _, k := range keys {
		m[k.String()] = true
	}
	r := p.Report()
	if r == nil {
		return m
	}
	for _, s := range r.Steps {
		if s.Step != p.Info.Step {
			continue
		}
		for _, l := range s.Left {
			m[l.Key] = m[l.Key] || l.Stand == assess.IsMissing
		}
	}
	return m
}

// seek puts the cursor into the first of some entries that is empty and that the step
// lacks, or is not done without.
func (p *Pane) seek(rows []*widget.Row) bool {
	return p.seekWhere(rows, func(*widget.Row) bool { return true })
}

func (p *Pane) seekWhere(rows []*widget.Row, may func(r *widget.Row) bool) bool {
	want := p.wanted()
	rep := p.Report()
	for _, r := range rows {
		if r.Field.Key == record.Insulation.String() && (rep == nil || !rep.Gate(assess.InsulationTest).Open) {
			continue // nobody is led to 500 V on a circuit that may be under vacuum
		}
		if (want[r.Field.Key] || r.Field.Need) && r.Visible() && r.Text() == "" {
			if !may(r) {
				return false
			}
			if r.Focus() {
				p.ahead(r)
				return true
			}
		}
	}
	return false
}

// onward goes from an entry that was ended to the next that is shown, as Tab does: a
// field that were leaped over would give its number to the one below. In a job begun like
// another, while what was taken waits to be compared, it goes to what the step lacks.
func (p *Pane) onward(from *widget.Row) {
	i := slices.Index(p.Rows, from)
	if i >= 0 && p.likened() && p.seek(p.Rows[i+1:]) {
		return
	}
	p.move(from, 1)
	if i >= 0 && (p.likened() || p.restIsNotes(i)) {
		p.WhenDone()
	}
}

// restIsNotes tells whether nothing is shown after the entry at a place but empty notes.
func (p *Pane) restIsNotes(i int) bool {
	return !slices.ContainsFunc(p.Rows[i+1:], func(r *widget.Row) bool {
		return r.Visible() && (r.Field.Kind != widget.NoteField || r.Text() != "")
	})
}

// way is where the work goes on after a step.
type way struct {
	step record.Step
	key  string // led to there; "" for where the step goes on by itself
	said string
}

// wayOn is the way on from a step: the next, but that a charged unit is energised, so that
// the live halves of steps that were left come before the running check.
func wayOn(j *record.Job, r *assess.Report, from record.Step) (w way, ok bool) {
	i := slices.IndexFunc(record.Steps, func(s record.StepInfo) bool { return s.Step == from })
	if i < 0 || i+1 >= len(record.Steps) {
		return w, false
	}
	w = way{step: record.Steps[i+1].Step, said: record.Steps[i+1].Title}
	if r == nil || j.Text(record.WeighedIn) == "" || !slices.Contains([]record.Step{record.Wiring, record.Electrical, record.Charge}, from) {
		return w, true
	}
	w = way{record.Running, "", "Running check"}
	lacks := func(s record.Step, is func(m assess.Matter) bool) (key string, ok bool) {
		for _, st := range r.Steps {
			if i := slices.IndexFunc(st.Left, is); st.Step == s && i >= 0 {
				return st.Left[i].Key, true
			}
		}
		return "", false
	}
	if i := slices.IndexFunc(r.Against, isLive); i >= 0 && from != record.Wiring { // it keeps the hand-over open, not the step
		w = way{record.Wiring, r.Against[i].Key, "Wiring, live check-out"}
	}
	if key, lack := lacks(record.Electrical, func(m assess.Matter) bool {
		return m.Stand == assess.IsMissing && (m.Key == record.SupplyVoltage.String() || m.Key == record.RunCurrent.String())
	}); lack && from == record.Charge {
		w = way{record.Electrical, key, "Electrical, live checks"}
	}
	return w, true
}

// isLive tells a lack of the live check-out.
func isLive(m assess.Matter) bool {
	return m.Stand == assess.IsMissing && m.Label == planner.Live+" check-out"
}

// GoOn takes the way on from the step.
func (p *Pane) GoOn() {
	w, ok := wayOn(p.Job(), p.Report(), p.Info.Step)
	if !ok {
		return
	}
	if i := slices.IndexFunc(record.Steps, func(s record.StepInfo) bool { return s.Step == p.Info.Step }); w.key == "" && record.Steps[i+1].Step == w.step {
		p.Onward()
		return
	}
	if w.key == "" {
		w.key = record.SuctionPressure.String() // the first of the running check
	}
	p.LeadAway(w.step, w.key)
}

// WayOn says where GoOn leads.
func (p *Pane) WayOn() string {
	w, _ := wayOn(p.Job(), p.Report(), p.Info.Step)
	return w.said
}

// ahead brings what follows an entry into view with it, as far as there is room: who types
// on sees where the next will go, and a choice goes on to it.
func (p *Pane) ahead(r *widget.Row) {
	if q := p.shownAfter(slices.Index(p.Rows, r)); q != nil && q.Position().X == r.Position().X {
		p.Side.Reveal(q)
		p.Side.Reveal(r)
	}
}

// shownAfter is the first entry that is shown after the one at a place; nil where none is.
func (p *Pane) shownAfter(i int) *widget.Row {
	for _, r := range p.Rows[i+1:] {
		if r.Visible() {
			return r
		}
	}
	return nil
}

// likened tells whether something taken from an earlier job waits to be compared.
func (p *Pane) likened() bool { return len(like.Open(p.Job())) > 0 }

// chosen goes on from a field in which something was chosen, if what follows is in view:
// nothing moves under a finger that touches one key after another.
func (p *Pane) chosen(from *widget.Row) {
	i := slices.Index(p.Rows, from)
	if i < 0 {
		return
	}
	if p.likened() {
		p.seekWhere(p.Rows[i+1:], func(r *widget.Row) bool { return p.Side.InView(r) })
		return
	}
	if r := p.shownAfter(i); r != nil && p.Side.InView(r) {
		r.Focus()
	}
}

// LeadOn puts the cursor where the step goes on: nowhere while something taken from an
// earlier job waits to be compared, for that comes first.
func (p *Pane) LeadOn() {
	if slices.ContainsFunc(like.Open(p.Job()), func(g like.Group) bool { return g.Step == p.Info.Step }) {
		return
	}
	if p.metering() {
		p.wiring.meter.leadOn()
		return
	}
	p.seek(p.Rows)
}

// metering tells whether the readings of a check-out stand open.
func (p *Pane) metering() bool { return p.wiring != nil && p.wiring.meter.rows != nil }

// LeadIn is LeadOn of a step in which nothing was entered before its first gap: who opens
// one that was begun finds it as it was left.
func (p *Pane) LeadIn() {
	want := p.wanted()
	gap := slices.IndexFunc(p.Rows, func(r *widget.Row) bool { return r.Text() != "" || want[r.Field.Key] || r.Field.Need })
	if p.metering() || gap >= 0 && p.Rows[gap].Text() == "" {
		p.LeadOn()
	}
}

// LeadFrom puts the cursor into what a job begun like another asks first: what is not
// taken from that one.
func (p *Pane) LeadFrom() { p.seek(p.Rows) }
