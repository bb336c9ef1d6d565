package planner

import (
	"cmp"
	"fmt"
	"math/cmplx"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// A contact is one way through a device: a switch, a fuse's link, an overload, a
// relay's contact. What it stops is found by holding it open.
type contact struct {
	device string
	ends   [2]string
	class  netlist.Class
	closed bool     // on a first-stage call
	stops  []string // compressors that stop, on either call, when it alone opens
	lowers []string // compressors that run on then at less than their full capacity
	input  bool     // something outside works it
	idle   bool     // something outside works it, and it is on no closed circuit: bypassed?
}

// survey is the old unit solved at rest, on a first-stage call and on a full call,
// and once more with each contact in turn held open.
type survey struct {
	c        *netlist.Circuit
	states   [3]netlist.State // rest, first stage, full
	does     [3][]string      // what each load does
	drawn    [3]map[string]bool
	volts    [3]map[string]complex128 // of every end against earth
	heavy    map[string]bool          // ends that carry more than half of the compressor's current
	contacts []contact
}

const (
	atRest = iota
	firstStage
	fullCall
)

// look solves the old unit.
func look(u *netlist.Unit) (*survey, error) {
	c, err := netlist.Compile(u)
	if err != nil {
		return nil, err
	}
	one := c.With(c.Rest(), "cool-1", true)
	v := &survey{c: c, states: [3]netlist.State{c.Rest(), one, c.With(one, "cool-2", true)}, heavy: map[string]bool{}}
	s := c.NewSolver()
	for k, st := range v.states {
		sol, err := s.Solve(st)
		if err != nil {
			return nil, err
		}
		v.does[k] = sol.Statuses()
		v.note(k, sol)
	}
	class := map[string]netlist.Class{}
	for _, w := range u.Conductors {
		class[w.From], class[w.To] = w.Class, w.Class
	}
	idle := map[int]bool{}
	for _, i := range purpose.Irrelevant(c) {
		idle[i] = true
	}
	for i := range c.Branches {
		b := &c.Branches[i]
		if b.Kind != netlist.ContactBranch || b.Ends[0] == "" || b.Ends[1] == "" {
			continue
		}
		k := contact{device: b.Device, ends: b.Ends, class: class[b.Ends[0]]}
		if k.class == "" {
			k.class = class[b.Ends[1]]
		}
		if k.class == "" { // on nothing: what its terminals are for
			k.class = terminalClass(u, b.Ends[0])
		}
		if err = v.open(i, &k); err != nil {
			return nil, err
		}
		if in, _ := c.Worker(i); in >= 0 && c.Inputs[in].Kind != "call" && c.Inputs[in].Kind != "delay" {
			k.input, k.idle = true, idle[in]
		}
		v.contacts = append(v.contacts, k)
	}
	return v, nil
}

// note keeps what a solution says of coils, ends and currents.
func (v *survey) note(k int, sol *netlist.Solution) {
	v.drawn[k], v.volts[k] = map[string]bool{}, map[string]complex128{}
	for i := range v.c.Coils {
		if in, _ := sol.Drawn(i); in {
			v.drawn[k][v.c.Coils[i].Device] = true
		}
	}
	for _, e := range v.c.Unit.Ends() {
		v.volts[k][e], _ = sol.ToEarth(e)
	}
	rla := 0.0
	for i, kind := range v.c.LoadKind {
		if kind == "compressor" {
			rla = max(rla, v.c.Unit.Device(v.c.Loads[i]).P("rla"))
		}
	}
	for i := range v.c.Branches {
		if b := &v.c.Branches[i]; b.Kind != netlist.LoadBranch && cmplx.Abs(sol.Current(i)) > rla/2 && rla > 0 {
			v.heavy[b.Ends[0]], v.heavy[b.Ends[1]] = true, true
		}
	}
}

// open holds branch i open and notes which compressors that stops, and which run
// on at less than their full capacity.
func (v *survey) open(i int, q *contact) error {
	s := v.c.NewSolver()
	sol, err := s.Solve(v.states[firstStage])
	if err != nil {
		return err
	}
	q.closed = sol.Conducts(i)
	s.Hold(map[int]bool{i: false})
	for _, k := range []int{firstStage, fullCall} {
		if sol, err = s.Solve(v.states[k]); err != nil {
			return err
		}
		for n, now := range sol.Statuses() {
			id := v.c.Loads[n]
			switch was := v.does[k][n]; {
			case v.c.LoadKind[n] != "compressor" || !runs(was) || now == was:
			case !runs(now) && !slices.Contains(q.stops, id):
				q.stops = append(q.stops, id)
			case runs(now) && k == fullCall:
				q.lowers = append(q.lowers, id)
			}
		}
	}
	return nil
}

// terminalClass is the class that the kind gives a terminal; "" for any.
func terminalClass(u *netlist.Unit, end string) netlist.Class {
	d, t, _ := strings.Cut(end, ".")
	for _, k := range netlist.Kinds[u.Device(d).Kind].Terminals {
		if k.Name == t && k.Class != netlist.Any {
			return k.Class
		}
	}
	return ""
}

func runs(status string) bool { return status != "" && status != "stalls" }

// coil tells whether a device is worked by a coil, and at which ends.
func (v *survey) coil(id string) (ends [2]string, ok bool) {
	for i := range v.c.Coils {
		if k := &v.c.Coils[i]; k.Device == id {
			return k.Ends, true
		}
	}
	return ends, false
}

// idle tells whether a device does nothing as entered.
func (v *survey) idle(id string) bool {
	return slices.ContainsFunc(v.of(id), func(k contact) bool { return k.idle })
}

// of lists the contacts of a device.
func (v *survey) of(id string) (out []contact) {
	for _, k := range v.contacts {
		if k.device == id {
			out = append(out, k)
		}
	}
	return out
}

// ofKind lists the devices whose kind begins so: what a part is, not what it does.
func (p *plan) ofKind(prefixes ...string) (out []*netlist.Device) {
	for i := range p.old.Devices {
		for _, x := range prefixes {
			if strings.HasPrefix(p.old.Devices[i].Kind, x) {
				out = append(out, &p.old.Devices[i])
				break
			}
		}
	}
	return out
}

// loads lists the devices that act as a kind of load.
func (p *plan) loads(kind string) (out []*netlist.Device) {
	for i, k := range p.seen.c.LoadKind {
		if k == kind {
			out = append(out, p.old.Device(p.seen.c.Loads[i]))
		}
	}
	return out
}

// findRoles finds what each device is for by what it does in the solved circuit;
// it returns the reason if the unit cannot be converted.
func (p *plan) findRoles() string {
	p.oldNet = netsOf(p.old)
	p.comps, p.fans = p.loads("compressor"), p.loads("fan")
	p.findParts()
	for _, d := range p.ofKind("supply") {
		if p.supply == nil && slices.ContainsFunc(endsOf(d), func(e string) bool { return p.seen.heavy[e] || strings.HasSuffix(e, ".L2") }) {
			p.supply = d
		}
	}
	if why := p.refuse(); why != "" {
		return why
	}
	p.findCapacitors()
	if len(p.caps) == 0 {
		return "no run capacitor is joined to a compressor's start terminal: compare the unit with its conductors"
	}
	p.sortContacts()
	if len(p.contactors) == 0 {
		return "no contactor starts a compressor on a call in the unit as drawn: compare it with its conductors"
	}
	return p.noStages()
}

// findParts finds the parts whose kind is what they are: boards, sensors, start
// parts, delays, heaters, and the controls indoors.
func (p *plan) findParts() {
	for _, d := range p.ofKind("heater-") { // one indoors is no crankcase heater
		if d.Place == "outdoor" {
			p.heaters = append(p.heaters, d)
		}
	}
	p.sensors, p.boards = p.ofKind("sensor-temperature"), p.ofKind("board-")
	p.delays, p.starters = p.ofKind("time-delay"), p.ofKind("capacitor-start", "start-relay", "start-ptc")
	slices.SortStableFunc(p.delays, func(a, b *netlist.Device) int { return cmp.Compare(b.P("seconds"), a.P("seconds")) }) // the longest is the restart delay
	one := func(ds []*netlist.Device) *netlist.Device {
		if len(ds) == 1 {
			return ds[0]
		}
		return nil
	}
	var stats []*netlist.Device
	for _, d := range p.ofKind("thermostat") { // a discharge thermostat is no room thermostat
		if d.Kind == "thermostat" || d.Kind == "thermostat-digital" {
			stats = append(stats, d)
		}
	}
	p.indoor, p.stat, p.blower = one(p.ofKind("indoor-")), one(stats), one(p.ofKind("blower-"))
}

// sortContacts tells contactors, stage relays and interrupters apart by what
// their contacts do to the compressors.
func (p *plan) sortContacts() {
	v := p.seen
	for i := range p.old.Devices {
		d := &p.old.Devices[i]
		_, coil := v.coil(d.ID)
		board := slices.Contains(p.boards, d)
		var stops, line, less bool
		for _, k := range v.of(d.ID) {
			stops = stops || len(k.stops) > 0
			less = less || k.class != netlist.Line && (len(k.lowers) > 0 || k.idle)
			line = line || len(k.stops) > 0 && k.class == netlist.Line
		}
		stage := coil && v.drawn[firstStage][d.ID] != v.drawn[fullCall][d.ID]
		switch {
		case !stops && less && !coil && !board && d != p.indoor && d != p.stat:
			p.interrupters = append(p.interrupters, d) // it ended full capacity, and the new unit has no other; or it may have been bypassed
		case !stops || board || d == p.indoor || d == p.stat || slices.Contains(p.delays, d):
		case coil && line:
			p.contactors = append(p.contactors, d)
		case stage:
			p.stages = append(p.stages, d)
		default:
			p.interrupters = append(p.interrupters, d)
		}
	}
}

// windings of a compressor kind: common, run, start.
func windings(kind string) [][3]string {
	if kind == "compressor-two-speed" {
		return [][3]string{{"C", "R1", "S1"}, {"C", "R2", "S2"}}
	}
	return [][3]string{{"C", "R", "S"}}
}

// findCapacitors finds the run capacitors by what they are joined to.
func (p *plan) findCapacitors() {
	p.capStart, p.common = map[string]string{}, map[string]string{}
	for _, d := range p.ofKind("capacitor-run", "capacitor-dual") {
		ends := [][2]string{{"1", "2"}, {"2", "1"}}
		if d.Kind == "capacitor-dual" {
			ends = [][2]string{{"HERM", "C"}}
		}
		for _, e := range ends {
			for _, c := range p.comps {
				for _, w := range windings(c.Kind) {
					if p.capStart[d.ID] == "" && p.oldNet.same(d.ID+"."+e[0], c.ID+"."+w[2]) {
						p.capStart[d.ID], p.common[d.ID] = d.ID+"."+e[0], d.ID+"."+e[1]
						p.caps = append(p.caps, d)
					}
				}
			}
		}
	}
}

// poles is how many legs a contactor breaks.
func (p *plan) poles(k *netlist.Device) (n int) {
	for _, c := range p.seen.of(k.ID) {
		if c.class == netlist.Line {
			n++
		}
	}
	return n
}

// compOf is the compressor and the winding that a contactor feeds: those of its
// own that stop without it on the call in which it is drawn.
func (p *plan) compOf(k *netlist.Device) (comp *netlist.Device, winding [3]string) {
	through := p.through(nil)
	for _, c := range p.comps {
		for _, w := range windings(c.Kind) {
			for _, x := range p.seen.of(k.ID) {
				for _, e := range x.ends {
					if through.same(e, c.ID+"."+w[1]) {
						return c, w
					}
				}
			}
		}
	}
	return p.comps[0], windings(p.comps[0].Kind)[0]
}

// through joins the old nets over every contact but those of contactors, relays
// that choose the stage, and what skip names.
func (p *plan) through(skip func(k *contact) bool) *nets {
	n := netsOf(p.old)
	for i := range p.seen.contacts {
		k := &p.seen.contacts[i]
		d := p.old.Device(k.device)
		if slices.Contains(p.contactors, d) || slices.Contains(p.stages, d) || !k.closed || skip != nil && skip(k) {
			continue
		}
		n.join(k.ends[0], k.ends[1])
	}
	return n
}

// refuse is the reason why a unit is outside what is planned, in one sentence.
func (p *plan) refuse() string {
	for _, d := range p.ofKind("reversing-valve", "defrost-board") {
		return fmt.Sprintf("%s: this is a heat pump; its reversing valve and defrost need controls that a cooling-only conversion would leave out, and heat pumps are not converted by this plan.", p.name(d))
	}
	for _, d := range p.ofKind("impedance") {
		if d.Use == "reversing-valve" {
			return fmt.Sprintf("%s: this is a heat pump; its reversing valve needs a control that a cooling-only conversion would leave out, and heat pumps are not converted by this plan.", p.name(d))
		}
	}
	for _, d := range p.ofKind("supply-three-phase") {
		return fmt.Sprintf("%s: this is a three-phase unit; the plan is for single-phase ones.", p.name(d))
	}
	for _, d := range p.ofKind("compressor-inverter") {
		return fmt.Sprintf("%s: its speed is set by a drive; there are no stages to take down, and it is not converted by this plan.", p.name(d))
	}
	switch {
	case len(p.comps) == 0:
		return "no compressor in the unit"
	case p.indoor == nil || p.stat == nil || p.blower == nil:
		return "the plan needs one indoor control, one thermostat and one blower in the unit"
	case p.supply == nil:
		return "no outdoor line supply in the unit"
	}
	return p.paralleled()
}

// paralleled says so if two transformers feed one another.
func (p *plan) paralleled() string {
	all := p.ofKind("transformer")
	tied := p.through(nil)
	for i, a := range all {
		for _, b := range all[:i] {
			for _, x := range [][4]string{{".S1", ".S1", ".S2", ".S2"}, {".S1", ".S2", ".S2", ".S1"}} {
				if tied.same(a.ID+x[0], b.ID+x[1]) && tied.same(a.ID+x[2], b.ID+x[3]) {
					return fmt.Sprintf("%s and %s are joined on their 24 V sides: with one disconnect open the other feeds back to its line side. Separate them or take one out first, then plan.", p.name(b), p.name(a))
				}
			}
		}
	}
	return ""
}

// noStages refuses a unit in which the second-stage call changes nothing.
func (p *plan) noStages() string {
	v := p.seen
	some, differs := false, len(p.comps) > 1
	for i, kind := range v.c.LoadKind {
		if kind == "compressor" {
			some = some || runs(v.does[firstStage][i]) || runs(v.does[fullCall][i])
			differs = differs || v.does[firstStage][i] != v.does[fullCall][i]
		}
	}
	staged := slices.ContainsFunc(p.comps, func(d *netlist.Device) bool { return d.Kind != "compressor-single" })
	switch {
	case !some:
		return "no compressor runs on a call in the unit as drawn: compare it with its conductors before it is planned"
	case differs:
		return ""
	case staged:
		return "the compressor has two stages and no call changes them: this outdoor unit chooses its stage without a stage call, which this plan does not take down."
	}
	return "this unit has one stage already: the second-stage call changes nothing. Nothing is to be converted, so nothing is planned here: check contactor, capacitor, conductors and overcurrent device against the new compressor's plate."
}
