package planner

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"regexp"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

var errNoPlan = errors.New("no plan found")

// cannotBuild refuses a unit whose parts as joined cannot be joined so again.
func cannotBuild(err error) error {
	return fmt.Errorf("%w: as the unit is drawn, the new circuit would be one that cannot be built (%v). Compare what is drawn there with the unit", errNoPlan, err)
}

// A blueprint is one way to lay out the new unit: which contactor and capacitor
// stay, what becomes of each device, and which ends are to be joined.
type blueprint struct {
	p       *plan
	devices []netlist.Device
	actions []DeviceAction
	landing map[string]string  // where the conductor of an old end comes to lie
	effort  map[string]float64 // what landing it there costs
	becomes map[string]string  // the new end that stands for an old one in its net; none: the old end is gone
	want    *nets              // what is to be joined
	heavy   map[string]bool    // ends that carry the compressor's current
	k, cap  *netlist.Device    // contactor and run capacitor of the new compressor
	comp    *netlist.Device    // the compressor in whose place the new one goes
	winding [3]string
	idle    map[string]bool // devices that would have nothing left to do
	cost    float64
}

// search tries every contactor and capacitor and keeps the cheapest plan.
func (p *plan) search() error {
	best := math.Inf(1)
	var keep *layout
	for _, k := range p.contactors {
		for _, cap := range p.caps {
			if w, ok := p.join(p.blueprint(k, cap, nil), best); ok && w.cost < best-1e-9 {
				best, keep = w.cost, w
			}
		}
	}
	if keep == nil {
		return errNoPlan
	}
	keep, err := p.withoutIdle(keep)
	if err != nil {
		return err
	}
	p.r.Cost = math.Round(keep.cost*100) / 100
	p.r.Devices, p.r.Conductors = keep.plan.actions, keep.actions
	p.r.New = p.unit(keep)
	for _, o := range p.r.Devices {
		if o.Marked {
			p.r.Omitted = append(p.r.Omitted, Omission{o.ID, o.Label, p.answer["omit:"+o.ID], o.Caution})
		}
	}
	if err := p.r.New.Validate(); err != nil {
		return cannotBuild(err)
	}
	return nil
}

func (p *plan) unit(w *layout) *netlist.Unit {
	return &netlist.Unit{Format: netlist.Format, Name: trim(p.old.Name, 36) + "-converted", Title: "Converted to one stage: " + p.old.Title,
		Note: "Planned, not measured. Compare with the unit in front of you.", Hertz: p.old.Hertz, Refrigerant: p.old.Refrigerant, Devices: w.plan.devices, Conductors: w.conductors}
}

func trim(s string, n int) string { return s[:min(len(s), n)] }

// withoutIdle plans again without what is left with nothing to do: a part on
// whose terminals nothing is joined any more, a transformer that feeds nothing.
func (p *plan) withoutIdle(w *layout) (*layout, error) {
	idle := map[string]bool{}
	for range len(p.old.Devices) {
		found, err := p.idleIn(w)
		if err != nil {
			return nil, err
		}
		if len(found) == 0 {
			return w, nil
		}
		for _, id := range found {
			idle[id] = true
		}
		again, ok := p.join(p.blueprint(w.plan.k, w.plan.cap, idle), math.Inf(1))
		if !ok {
			return nil, errNoPlan
		}
		w = again
	}
	return w, nil
}

// idleIn lists the kept parts outdoors that have nothing left to do.
func (p *plan) idleIn(w *layout) (out []string, err error) {
	lands := map[string]int{}
	for _, c := range w.conductors {
		lands[device(c.From)]++
		lands[device(c.To)]++
	}
	u := p.unit(w)
	if err := u.Validate(); err != nil {
		return nil, cannotBuild(err)
	}
	var feeds map[string]bool
	for _, a := range w.plan.actions {
		d := p.old.Device(a.ID)
		if d == nil || a.Action != "keep" || d == p.indoor || d == p.stat || d == p.blower || slices.Contains(p.interrupters, d) || d.Kind == "splice" {
			continue
		}
		if feeds == nil {
			if feeds, err = feeding(u); err != nil {
				return nil, err
			}
		}
		_, coil := p.seen.coil(d.ID)
		through := !coil && len(p.seen.of(d.ID)) > 0 && !slices.Contains(p.seen.c.Loads, d.ID) // a switch and nothing else
		if lands[d.ID] == 0 && hadEnds(p.old, d) || (d.Kind == "transformer" || through) && !feeds[d.ID] {
			out = append(out, d.ID)
		}
	}
	return out, nil
}

// hadEnds tells whether anything was joined to a device.
func hadEnds(u *netlist.Unit, d *netlist.Device) bool {
	return slices.ContainsFunc(endsOf(d), func(e string) bool { return len(u.At(e)) > 0 })
}

// feeding tells which devices deliver anything, or pass it on, at rest or on a call.
func feeding(u *netlist.Unit) (map[string]bool, error) {
	v, err := look(u)
	if err != nil {
		return nil, err
	}
	out := map[string]bool{}
	s := v.c.NewSolver()
	for _, st := range append(v.states[:], v.c.With(v.c.Rest(), "fan", true)) {
		sol, err := s.Solve(st)
		if err != nil {
			return nil, err
		}
		for i := range v.c.Branches {
			if b := &v.c.Branches[i]; b.Kind == netlist.ContactBranch && cmplx.Abs(sol.Current(i)) > 1e-3 {
				out[b.Device] = true
			}
		}
		for i := range v.c.Sources {
			if _, amps, _ := sol.Feed(i); amps > 1e-3 {
				out[v.c.Sources[i].Device] = true
			}
		}
	}
	return out, nil
}

// blueprint lays out the new unit on contactor k and capacitor cap.
func (p *plan) blueprint(k, cap *netlist.Device, idle map[string]bool) *blueprint {
	b := &blueprint{p: p, landing: map[string]string{}, effort: map[string]float64{}, becomes: map[string]string{}, want: newNets(), heavy: map[string]bool{}, k: k, cap: cap, idle: idle}
	b.comp, b.winding = p.compOf(k)
	for i := range p.old.Devices {
		b.place(&p.old.Devices[i])
		b.smallerFuse(&p.old.Devices[i])
	}
	b.addParts()
	b.joinOld()
	return b
}

// land says where the conductor of an old end comes to lie.
func (b *blueprint) land(old, new string, cost float64) {
	if _, ok := b.landing[old]; !ok {
		b.landing[old], b.effort[old] = new, cost
	}
}

// restsOn are the rules that give an answer of the technician as their source, and the
// question.
var restsOn = map[string]string{"delay-out": "time-delay", "sensor-out": "outdoor-sensor", "indoor-new": "indoor-control"}

// act says what becomes of a device.
func (b *blueprint) act(d *netlist.Device, action, rule string) *DeviceAction {
	r := b.p.Rules[rule]
	if q, ok := restsOn[rule]; ok && slices.Contains(b.p.r.Open, q) { // nobody answered yet
		r.Reason, r.Source = "supposed, until it is answered: "+strings.TrimPrefix(r.Reason, "answered: "), "the default of the plan"
	}
	b.actions = append(b.actions, DeviceAction{d.ID, d.Kind, b.p.name(d), d.Place, action, rule, r.Reason, r.Source, b.p.caution(r.Caution), rule == "safety-out", ""})
	return &b.actions[len(b.actions)-1]
}

// keep puts a device into the new unit under the terminals it had.
func (b *blueprint) keep(d netlist.Device, action, rule string) *DeviceAction {
	was := b.p.old.Device(d.ID)
	if action == "replace" {
		d.Condition = "" // the one that goes had it
		if was != nil && d.Label == was.Label {
			d.Label = unrated(d.Label) // its rating is not the new one's
		}
	}
	b.devices = append(b.devices, d)
	for _, e := range endsOf(&d) {
		cost := 0.0
		if action == "replace" {
			cost = b.p.cost["reland"]
		}
		b.land(e, e, cost)
		if was != nil {
			b.becomes[e] = e
		}
	}
	a := b.act(&b.devices[len(b.devices)-1], action, rule)
	if was != nil && d.Label != was.Label {
		a.Label = b.p.name(was)
	}
	return a
}

var ratings = regexp.MustCompile(`(?i)[ ,]*\b\d+(?:[.,]\d+)?\s?(?:microfarads?|uf|\x{b5}f|\x{3bc}f|mfd|volts?|vac|v|amps?|amperes?|a)\b`)

// unrated is a label without its ratings; as it is if nothing else is left.
func unrated(label string) string {
	if s := strings.Trim(ratings.ReplaceAllString(label, ""), " ,"); s != "" {
		return s
	}
	return label
}

// lineFuse tells whether a part is a fuse in the compressor's line.
func (p *plan) lineFuse(d *netlist.Device) bool { return d.Kind == "fuse" && p.inLine(d) }

// breakerAlone tells whether what is said of a supply is said of its breaker alone: the
// fuses in the line are parts of their own.
func (p *plan) breakerAlone(supply *netlist.Device) bool {
	return entered(supply, "breaker-amps") && slices.ContainsFunc(p.old.Devices, func(d netlist.Device) bool { return p.lineFuse(&d) })
}

// smallerFuse puts a fuse of what the new compressor allows in the place of one of more
// that would stay in its line.
func (b *blueprint) smallerFuse(d *netlist.Device) {
	if len(b.actions) == 0 || len(b.devices) == 0 || !b.p.lineFuse(d) || !entered(d, "amps") || d.P("amps") <= b.p.breaker() {
		return
	}
	a, n := &b.actions[len(b.actions)-1], &b.devices[len(b.devices)-1]
	if a.ID != d.ID || n.ID != d.ID || a.Action != "keep" {
		return
	}
	rule := b.p.Rules["breaker-set"]
	*n = setting(*n, map[string]float64{"amps": b.p.breaker()})
	a.Action, a.Rule, a.Source = "set", "breaker-set", rule.Source
	a.Reason = fmt.Sprintf("%s: fuse of %.0f A in the place of %.0f A, unless the unit's new label says less", rule.Reason, b.p.breaker(), d.P("amps"))
}

// place decides on one device of the old unit.
func (b *blueprint) place(d *netlist.Device) {
	p := b.p
	switch {
	case b.idle[d.ID]:
		b.act(d, "remove", "idle-out")
	case d == p.supply && (!entered(d, "breaker-amps") || d.P("breaker-amps") > p.breaker()):
		a := b.keep(setting(*d, map[string]float64{"breaker-amps": p.breaker()}), "set", "breaker-set")
		if p.breakerAlone(d) {
			a.Reason += fmt.Sprintf(": breaker of %.0f A in the place of %.0f A, unless the unit's new label says less; the fuses entered are named on their own", p.breaker(), d.P("breaker-amps"))
		} else if entered(d, "breaker-amps") {
			a.Reason += fmt.Sprintf(": breaker or fuses of %.0f A in the place of %.0f A, unless the unit's new label says less", p.breaker(), d.P("breaker-amps"))
		} else {
			a.Reason += fmt.Sprintf(", and what it is was not entered: read it; breaker or fuses of %.0f A in its place if it is of more, unless the unit's new label says less", p.breaker())
		}
	case slices.Contains(p.comps, d):
		b.placeCompressor(d)
	case slices.Contains(p.contactors, d):
		b.placeContactor(d)
	case p.capStart[d.ID] != "":
		b.placeCapacitor(d)
	case p.fanOf(d) != nil:
		b.placeFanCapacitor(d)
	case slices.Contains(p.interrupters, d):
		b.placeInterrupter(d)
	case slices.Contains(p.boards, d):
		b.act(d, "remove", "board-out")
	case slices.Contains(p.stages, d):
		b.act(d, "remove", "relay-out")
	case slices.Contains(p.delays, d):
		b.oneOf(d, p.delays, "time-delay", "keep", "delay-keep", p.delayRule())
	case slices.Contains(p.heaters, d):
		b.placeHeater(d)
	case slices.Contains(p.starters, d):
		b.placeStarter(d)
	case slices.Contains(p.sensors, d):
		if d == p.sensors[0] && p.answer["outdoor-sensor"] == "wire" {
			b.keep(*d, "move", "sensor-move")
			delete(b.becomes, d.ID+".1") // wired anew
			delete(b.becomes, d.ID+".2")
		} else {
			b.act(d, "remove", "sensor-out")
		}
	case d == p.indoor:
		b.placeIndoor(*d)
	case d == p.stat:
		b.placeThermostat(*d)
	case d == p.blower:
		b.placeBlower(*d)
	case slices.Contains(p.fans, d):
		b.keep(*d, "keep", "fan-keep")
	case d.Place == "outdoor":
		b.keep(*d, "keep", "same-keep")
	default:
		b.keep(*d, "keep", "indoor-keep")
	}
}

// oneOf keeps the first of its kind if the answer says so.
func (b *blueprint) oneOf(d *netlist.Device, all []*netlist.Device, key, yes, kept, gone string) {
	if d == all[0] && b.p.answer[key] == yes {
		if d.Kind == "time-delay" && !entered(d, "seconds") {
			b.keep(setting(*d, map[string]float64{"seconds": 300}), "set", kept).Reason = fmt.Sprintf("what it is set to was not entered: set to 300 s, or, if it cannot be set, one of 300 s in its place: at least %.0f s let pressures even out", b.p.Limits.RestartSeconds)
			return
		}
		if least := b.p.Limits.RestartSeconds; d.Kind == "time-delay" && d.P("seconds") < least {
			b.keep(setting(*d, map[string]float64{"seconds": 300}), "set", kept).Reason = fmt.Sprintf("set from %.0f s to 300 s, or, if it cannot be set, one of 300 s in its place: at least %.0f s let pressures even out", d.P("seconds"), least)
			return
		}
		b.keep(*d, "keep", kept)
		return
	}
	b.act(d, "remove", gone)
}

// delayRule is why a delay goes: the answer, or another one that does its work.
func (p *plan) delayRule() string {
	if len(p.delays) > 1 && p.answer["time-delay"] == "keep" {
		return "delay-second"
	}
	return "delay-out"
}

// placeHeater keeps the first crankcase heater, if the answer says so, and takes out
// as many of the others as compressors go.
func (b *blueprint) placeHeater(d *netlist.Device) {
	if i := slices.Index(b.p.heaters, d); i >= len(b.p.comps) && b.p.answer["crankcase-heater"] == "keep" {
		b.keep(*d, "keep", "same-keep")
		return
	}
	b.oneOf(d, b.p.heaters, "crankcase-heater", "keep", "heater-keep", "heater-out")
}

func (b *blueprint) placeCompressor(d *netlist.Device) {
	p := b.p
	if d != b.comp {
		for _, w := range windings(d.Kind) {
			for j, t := range []string{"C", "R", "S"} {
				b.land(d.ID+"."+w[j], b.comp.ID+"."+t, p.cost["move"])
			}
		}
		b.act(d, "remove", "second-stage-out")
		return
	}
	tc := p.target.Compressor
	n := netlist.Device{ID: d.ID, Kind: "compressor-single", Label: "single-stage compressor", Place: d.Place,
		Params: map[string]float64{"volts": tc.Volts, "rla": tc.RLA, "lra": tc.LRA, "farads": tc.Farads}}
	if tc.RunOhms > 0 {
		n.Params["run-ohms"] = max(tc.RunOhms, 0.05)
	}
	if tc.StartOhms > 0 {
		n.Params["start-ohms"] = max(tc.StartOhms, 0.1)
	}
	for _, w := range append([][3]string{b.winding}, windings(d.Kind)...) {
		for j, t := range []string{"C", "R", "S"} {
			b.land(d.ID+"."+w[j], d.ID+"."+t, p.cost["reland"])
		}
	}
	b.keep(n, "replace", "compressor-new").Label = p.name(d)
	for _, e := range endsOf(d) {
		delete(b.becomes, e)
	}
	for _, t := range netlist.Kinds["compressor-single"].Terminals { // the ground terminal among them
		b.becomes[d.ID+"."+t.Name] = d.ID + "." + t.Name
	}
	for j, t := range []string{"C", "R", "S"} {
		delete(b.becomes, d.ID+"."+t)
		b.becomes[d.ID+"."+b.winding[j]] = d.ID + "." + t
	}
	for _, w := range windings(d.Kind) { // start parts of another winding go over with its leads
		if w != b.winding && b.kitFrom() == w {
			b.becomes[d.ID+"."+w[1]], b.becomes[d.ID+"."+w[2]] = d.ID+".R", d.ID+".S"
		}
	}
}

// kitFrom is the winding of the old compressor whose start parts are kept: the one
// that is used, if it has any, or another; none if none has, or none are kept.
func (b *blueprint) kitFrom() (none [3]string) {
	if b.p.answer["hard-start"] != "keep" {
		return none
	}
	all := append([][3]string{b.winding}, windings(b.comp.Kind)...)
	for _, w := range all {
		if slices.ContainsFunc(b.p.starters, func(d *netlist.Device) bool { return b.serves(d, w) }) {
			return w
		}
	}
	return none
}

func (b *blueprint) placeContactor(d *netlist.Device) {
	p, k := b.p, b.k
	if d != k {
		for old, new := range b.polesOnto(d) {
			b.land(old, new, p.cost["move"])
			b.becomes[old] = new
		}
		for _, t := range []string{"A1", "A2"} {
			b.land(d.ID+"."+t, k.ID+"."+t, p.cost["move"])
		}
		b.act(d, "remove", "second-stage-out")
		return
	}
	broken := p.poles(d)
	if p.answer["contactor-poles"] == "two" {
		broken = 2
	}
	if p.carries(d) && p.poles(d) >= broken {
		b.keep(*d, "keep", "contactor-keep")
		return
	}
	n := *d
	had := d.P("contact-lra")
	if math.IsNaN(had) { // a relay, which has no such rating: a contactor takes its place
		had = 0
	}
	locked := math.Max(10*math.Ceil(p.lockedAmps()/10), had)
	n.Params = map[string]float64{"contact-amps": math.Max(10*math.Ceil(p.poleAmps()/10), d.P("contact-amps")), "contact-lra": locked}
	n.Kind = fmt.Sprintf("contactor-%dp", min(broken, 2))
	b.cost += p.cost["replace-device"]
	b.keep(n, "replace", "contactor-new")
}

// polesOnto says which end of the kept contactor takes the place of each line end
// of another: the same leg on the line side, the same lead on the load side.
func (b *blueprint) polesOnto(d *netlist.Device) map[string]string {
	out := map[string]string{}
	side := func(e string) string { return b.lead(e) }
	mine := map[string]string{}
	for _, t := range []string{"L1", "L2", "T1", "T2"} {
		mine[t[:1]+side(b.k.ID+"."+t)] = b.k.ID + "." + t
	}
	for _, t := range []string{"L1", "L2", "T1", "T2"} {
		e := d.ID + "." + t
		if n := mine[t[:1]+side(e)]; n != "" {
			out[e] = n
		} else {
			out[e] = b.k.ID + "." + t
		}
	}
	return out
}

// lead says what a line end leads to: a leg of the supply, or the common or the
// run lead of a compressor; "" if neither.
func (b *blueprint) lead(e string) string {
	p := b.p
	net := p.through(nil)
	for _, s := range p.ofKind("supply") {
		for _, t := range []string{"L1", "L2", "L", "N"} {
			if net.same(e, s.ID+"."+t) && !strings.Contains(e, ".T") {
				return s.ID + t
			}
		}
	}
	for _, c := range p.comps {
		for _, w := range windings(c.Kind) {
			if net.same(e, c.ID+"."+w[1]) {
				return "run"
			}
		}
		if net.same(e, c.ID+".C") {
			return "common"
		}
	}
	return ""
}

func (b *blueprint) placeCapacitor(d *netlist.Device) {
	p, tc := b.p, b.p.target.Compressor
	if d != b.cap {
		b.land(p.capStart[d.ID], p.capStart[b.cap.ID], p.cost["move"])
		b.land(p.common[d.ID], p.common[b.cap.ID], p.cost["move"])
		if p.oldNet.same(p.capStart[d.ID], b.comp.ID+"."+b.winding[2]) {
			b.becomes[p.capStart[d.ID]], b.becomes[p.common[d.ID]] = p.capStart[b.cap.ID], p.common[b.cap.ID]
		}
		a := b.act(d, "remove", "capacitor-out")
		if p.oldNet.same(p.capStart[d.ID], p.capStart[b.cap.ID]) && p.oldNet.same(p.common[d.ID], p.common[b.cap.ID]) {
			a.Reason = "it lay beside " + p.name(b.cap) + " on one winding: the new compressor has the one capacitor that it asks for"
		}
		return
	}
	had, asked := d.P("fan-farads"), d.P("fan-farads")
	if d.Kind == "capacitor-dual" {
		asked = p.fanAsks(d, had)
	}
	right := math.Abs(had/asked-1) <= p.Limits.CapacitorMatch || d.Kind != "capacitor-dual"
	read := entered(d, "farads", "volts") && (d.Kind != "capacitor-dual" || entered(d, "fan-farads"))
	if read && math.Abs(d.P("farads")/tc.Farads-1) <= p.Limits.CapacitorMatch && d.P("volts") >= tc.CapVolts && right {
		b.keep(*d, "keep", "capacitor-keep")
		return
	}
	n := *d
	n.Params = map[string]float64{"farads": tc.Farads, "volts": max(440, tc.CapVolts)}
	if d.Kind == "capacitor-dual" {
		n.Params["fan-farads"] = asked
	}
	b.cost += p.cost["replace-device"]
	a := b.keep(n, "replace", "capacitor-new")
	if !right {
		a.Reason += wrongFanSide(had, asked)
	}
	if !read {
		a.Reason = "what is marked on the old one was not entered in full, so it is not taken for what the new compressor asks for: one that bears all of that, within 6 %, may stay" + strings.TrimPrefix(a.Reason, b.p.Rules["capacitor-new"].Reason)
	}
}

// entered tells whether somebody entered some numbers of a part: what a kind usually has
// is no reading.
func entered(d *netlist.Device, names ...string) bool {
	return !slices.ContainsFunc(names, func(n string) bool { _, ok := d.Params[n]; return !ok })
}

func wrongFanSide(had, asked float64) string {
	return fmt.Sprintf("; the old one had %.3g uF for the fan, whose motor's plate asks for %.3g uF", 1e6*had, 1e6*asked)
}

// placeFanCapacitor keeps a fan's own run capacitor if it is what the motor's plate
// asks for.
func (b *blueprint) placeFanCapacitor(d *netlist.Device) {
	had := d.P("farads")
	asked := b.p.fanAsks(d, had)
	if math.Abs(had/asked-1) <= b.p.Limits.CapacitorMatch {
		b.keep(*d, "keep", "same-keep")
		return
	}
	b.cost += b.p.cost["replace-device"]
	b.keep(setting(*d, map[string]float64{"farads": asked}), "replace", "capacitor-new").Reason = "not what the fan motor asks" + wrongFanSide(had, asked)
}

// fanOf is the outdoor fan whose start lead ends on a capacitor's side for it; nil if
// there is none, or if the capacitor is the compressor's too.
func (p *plan) fanOf(d *netlist.Device) *netlist.Device {
	if d.Kind != "capacitor-run" || p.capStart[d.ID] != "" {
		return nil
	}
	return p.fanOn(d.ID+".1", d.ID+".2")
}

func (p *plan) fanOn(ends ...string) *netlist.Device {
	for _, f := range p.fans {
		for _, e := range ends {
			if p.oldNet.same(e, f.ID+".S") {
				return f
			}
		}
	}
	return nil
}

// fanAsks is the capacitance that the motor on a capacitor's fan side asks for by its
// plate; had, if nobody entered that.
func (p *plan) fanAsks(d *netlist.Device, had float64) float64 {
	f := p.fanOn(d.ID + ".FAN")
	if d.Kind == "capacitor-run" {
		f = p.fanOf(d)
	}
	if f != nil {
		if asked, entered := f.Params["farads"]; entered {
			return asked
		}
	}
	return had
}

// placeInterrupter keeps what stops the compressor, unless it is left out for a
// stated reason or carried the current of a compressor that is gone.
func (b *blueprint) placeInterrupter(d *netlist.Device) {
	p := b.p
	if a := p.answer["omit:"+d.ID]; a != "" && a != "keep" {
		b.act(d, "remove", "safety-out").Reason = "LEFT OUT. Stated reason: " + a
		return
	}
	if !slices.ContainsFunc(p.seen.of(d.ID), func(k contact) bool {
		return slices.Contains(k.stops, b.comp.ID) || k.class != netlist.Line && k.acts()
	}) {
		b.act(d, "remove", "its-compressor-gone")
		return
	}
	if need := p.poleAmps(); b.p.inLine(d) && d.P("contact-amps") < need {
		n := setting(*d, map[string]float64{"contact-amps": 5 * math.Ceil(need/5)})
		b.cost += p.cost["replace-device"]
		b.keep(n, "replace", "line-switch-new")
		return
	}
	if p.seen.idle(d.ID) {
		b.keep(*d, "keep", "safety-keep").Reason = "it does nothing as entered, open or closed: bypassed? it goes back into the string of what stops the compressor, unless it is left out for a stated reason"
		return
	}
	rule := "safety-keep"
	if !slices.ContainsFunc(p.seen.of(d.ID), func(k contact) bool { return len(k.stops) > 0 }) {
		rule = "lowering-keep"
	}
	b.keep(*d, "keep", rule)
}

// acts tells whether a contact belongs to what stops the new compressor.
func (k *contact) acts() bool { return len(k.stops) > 0 || len(k.lowers) > 0 || k.idle }

// inLine tells whether a device carries the compressor's own current.
func (p *plan) inLine(d *netlist.Device) bool {
	return slices.ContainsFunc(p.seen.of(d.ID), func(k contact) bool { return k.class == netlist.Line && p.seen.heavy[k.ends[0]] })
}

func (b *blueprint) placeStarter(d *netlist.Device) {
	if b.p.answer["hard-start"] == "none" || b.kitFrom() == [3]string{} || !b.serves(d, b.kitFrom()) {
		b.act(d, "remove", "start-out")
		return
	}
	b.keep(*d, "keep", "start-keep")
}

// serves tells whether a start part is joined to a start winding of the compressor
// that is replaced, directly or through another start part.
func (b *blueprint) serves(d *netlist.Device, w [3]string) bool {
	net := netsOf(b.p.old)
	for _, s := range b.p.starters {
		ends := endsOf(s)
		for _, e := range ends[1:] {
			net.join(ends[0], e)
		}
	}
	return net.same(endsOf(d)[0], b.comp.ID+"."+w[2])
}
