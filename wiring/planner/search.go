package planner

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

var errNoPlan = errors.New("no plan found")

// A shape is one way to lay out the new unit: which contactor, which capacitor,
// which order of the safety string. Its nets are what must be joined.
type shape struct {
	devices []netlist.Device
	actions []DeviceAction
	landing map[string]string  // where an old end comes to lie on a new or a remaining part
	pain    map[string]float64 // what that costs
	nets    [][]string
	heavy   map[string]bool // ends that carry the compressor's current
	first   map[string]bool // ends to land heavy conductors on
	cost    float64
}

// search tries every shape and keeps the cheapest plan.
func (p *plan) search() error {
	best := math.Inf(1)
	var keep *wired
	orders := arrange(p.keptSafeties())
	for _, k := range p.contactors {
		for _, cap := range p.caps {
			base := p.shape(k, cap)
			for _, rung := range orders {
				s := p.withRung(base, k, rung)
				w, ok := p.wire(s, best)
				if ok && w.cost < best-1e-9 {
					best, keep = w.cost, w
				}
			}
		}
	}
	if keep == nil {
		return errNoPlan
	}
	p.r.Cost = math.Round(best*100) / 100
	p.r.Devices, p.r.Conductors = keep.shape.actions, keep.actions
	p.r.New = &netlist.Unit{Format: netlist.Format, Name: trim(p.old.Name, 36) + "-converted", Title: "Converted to one stage: " + p.old.Title,
		Note: "Planned, not measured. Compare with the unit in front of you.", Hertz: p.old.Hertz, Devices: keep.shape.devices, Conductors: keep.conductors}
	if err := p.r.New.Validate(); err != nil {
		return fmt.Errorf("planned circuit: %w", err)
	}
	return nil
}

func trim(s string, n int) string { return s[:min(len(s), n)] }

func (p *plan) keptSafeties() (out []*netlist.Device) {
	for _, s := range p.safeties {
		if p.answer["omit:"+s.ID] == "keep" {
			out = append(out, s)
		}
	}
	return out
}

// arrange lists every order of the switches, each either way round, as pairs of
// ends (in, out).
func arrange(ds []*netlist.Device) [][][2]string {
	if len(ds) == 0 {
		return [][][2]string{nil}
	}
	var out [][][2]string
	for i, d := range ds {
		rest := slices.Delete(slices.Clone(ds), i, i+1)
		for _, tail := range arrange(rest) {
			for _, e := range [][2]string{{d.ID + ".1", d.ID + ".2"}, {d.ID + ".2", d.ID + ".1"}} {
				out = append(out, append([][2]string{e}, tail...))
			}
		}
	}
	return out
}

// shape lays out everything but the control rung.
func (p *plan) shape(k, capacitor *netlist.Device) *shape {
	s := &shape{landing: map[string]string{}, pain: map[string]float64{}, heavy: map[string]bool{}, first: map[string]bool{}}
	comp := p.comps[0]
	land := func(old, new string, cost float64) {
		if _, ok := s.landing[old]; !ok {
			s.landing[old], s.pain[old] = new, cost
		}
	}
	act := func(d *netlist.Device, action, rule string) {
		r := p.Rules[rule]
		s.actions = append(s.actions, DeviceAction{d.ID, d.Kind, d.Label, d.Place, action, rule, r.Reason, r.Source, p.caution(r.Caution), rule == "safety-out"})
	}
	add := func(d netlist.Device, action, rule string) {
		s.devices = append(s.devices, d)
		act(&s.devices[len(s.devices)-1], action, rule)
		for _, t := range netlist.Kinds[d.Kind].Terminals {
			land(d.ID+"."+t.Name, d.ID+"."+t.Name, 0)
		}
	}
	fresh := func(id string) string {
		for p.old.Device(id) != nil {
			id += "n"
		}
		return id
	}
	move, reland := p.cost["move"], p.cost["reland"]
	tc := p.target.Compressor

	// The devices, in the order of the old unit.
	for i := range p.old.Devices {
		d := p.old.Devices[i]
		switch ptr := &p.old.Devices[i]; {
		case ptr == comp:
			n := netlist.Device{ID: d.ID, Kind: "compressor-single", Label: tc.Label, Place: d.Place,
				Params: map[string]float64{"volts": tc.Volts, "rla": tc.RLA, "lra": tc.LRA, "farads": tc.Farads}}
			if n.Label == "" {
				n.Label = "single-stage compressor"
			}
			if tc.RunOhms > 0 {
				n.Params["run-ohms"] = max(tc.RunOhms, 0.05)
			}
			if tc.StartOhms > 0 {
				n.Params["start-ohms"] = max(tc.StartOhms, 0.1)
			}
			for _, w := range windings(d.Kind) {
				for j, t := range []string{"C", "R", "S"} {
					land(d.ID+"."+w[j], d.ID+"."+t, reland)
				}
			}
			add(n, "replace", "compressor-new")
		case slices.Contains(p.comps, ptr):
			for _, w := range windings(d.Kind) {
				for j, t := range []string{"C", "R", "S"} {
					land(d.ID+"."+w[j], comp.ID+"."+t, move)
				}
			}
			act(ptr, "remove", "second-stage-out")
		case ptr == k:
			need := p.poleAmps()
			if d.P("contact-amps") >= need {
				add(d, "keep", "contactor-keep")
				break
			}
			n := d
			n.Params = map[string]float64{"contact-amps": 10 * math.Ceil(need/10)}
			n.Kind, n.Label = "contactor-2p", "new compressor contactor"
			s.cost += p.cost["replace-device"]
			add(n, "replace", "contactor-new")
		case slices.Contains(p.contactors, ptr):
			for _, t := range netlist.Kinds[d.Kind].Terminals {
				land(d.ID+"."+t.Name, k.ID+"."+t.Name, move)
			}
			act(ptr, "remove", "second-stage-out")
		case ptr == capacitor:
			if math.Abs(d.P("farads")/tc.Farads-1) <= p.Limits.CapacitorMatch && d.P("volts") >= tc.CapVolts {
				add(d, "keep", "capacitor-keep")
				break
			}
			n := d
			n.Params = map[string]float64{"farads": tc.Farads, "volts": max(440, tc.CapVolts)}
			if d.Kind == "capacitor-dual" {
				n.Params["fan-farads"] = d.P("fan-farads")
			}
			n.Label = "new " + strings.TrimPrefix(d.Label, "new ")
			s.cost += p.cost["replace-device"]
			add(n, "replace", "capacitor-new")
		case p.capStart[d.ID] != "":
			land(p.capStart[d.ID], p.capStart[capacitor.ID], move)
			land(p.common[d.ID], p.common[capacitor.ID], move)
			act(ptr, "remove", "capacitor-out")
		case slices.Contains(p.safeties, ptr):
			if a := p.answer["omit:"+d.ID]; a != "keep" {
				act(ptr, "remove", "safety-out")
				s.actions[len(s.actions)-1].Reason = "LEFT OUT. Stated reason: " + a
				break
			}
			add(d, "keep", "safety-keep")
		case slices.Contains(p.boards, ptr):
			act(ptr, "remove", "board-out")
		case slices.Contains(p.fanRelays, ptr):
			add(d, "keep", "relay-keep")
		case slices.Contains(p.relays, ptr):
			act(ptr, "remove", "relay-out")
		case slices.Contains(p.delays, ptr):
			if ptr == p.delays[0] && p.answer["time-delay"] == "keep" {
				add(d, "keep", "delay-keep")
			} else {
				act(ptr, "remove", "delay-out")
			}
		case slices.Contains(p.heaters, ptr):
			if ptr == p.heaters[0] && p.answer["crankcase-heater"] == "keep" {
				add(d, "keep", "heater-keep")
			} else {
				act(ptr, "remove", "heater-out")
			}
		case slices.Contains(p.sensors, ptr):
			if ptr == p.sensors[0] && p.answer["outdoor-sensor"] == "wire" {
				add(d, "move", "sensor-move")
			} else {
				act(ptr, "remove", "sensor-out")
			}
		case ptr == p.indoor:
			p.placeIndoor(s, d, add, land)
		case ptr == p.stat:
			want, pairs := "thermostat", [][2]string{{"A", "Y1"}, {"B", "G"}}
			if p.digital {
				want, pairs = "thermostat-digital", [][2]string{{"Y1", "A"}, {"G", "B"}}
			}
			if d.Kind == want {
				add(d, "keep", "indoor-keep")
				break
			}
			for _, q := range append(pairs, [2]string{"R", "R"}, [2]string{"C", "C"}) {
				land(d.ID+"."+q[0], d.ID+"."+q[1], reland)
			}
			n := netlist.Device{ID: d.ID, Kind: want, Label: "new " + d.Label, Place: d.Place}
			s.cost += p.cost["replace-device"]
			add(n, "replace", "indoor-new")
		case ptr == p.blower:
			if !p.digital && p.answer["airflow"] == "setting" && d.Kind == "blower-ecm" {
				n := d
				n.Params = map[string]float64{"y1-full": 1}
				for k, v := range d.Params {
					if k != "y1-full" {
						n.Params[k] = v
					}
				}
				add(n, "set", "airflow-set")
				s.actions[len(s.actions)-1].Reason += fmt.Sprintf(" (%s cfm per ton of the new compressor)", p.answer["airflow-per-ton"])
				break
			}
			add(d, "keep", "indoor-keep")
		case slices.Contains(p.fans, ptr):
			add(d, "keep", "fan-keep")
		default:
			add(d, "keep", "indoor-keep")
			if d.Place == "outdoor" {
				last := &s.actions[len(s.actions)-1]
				last.Rule, last.Reason, last.Source = "fan-keep", "serves the same purpose as before", p.Rules["fan-keep"].Source
			}
		}
	}
	group := func(ends ...string) { s.nets = append(s.nets, ends) }

	// Compressor power.
	joined := newNets()
	for _, c := range p.old.Conductors {
		if a, b := s.landing[c.From], s.landing[c.To]; a != "" && b != "" {
			joined.join(a, b)
		}
	}
	runPole, comPole := k.ID+".T1", k.ID+".T2"
	if joined.same(runPole, comp.ID+".C") || joined.same(comPole, comp.ID+".R") {
		runPole, comPole = comPole, runPole
	}
	group(runPole, comp.ID+".R", p.common[capacitor.ID])
	group(comPole, comp.ID+".C")
	group(p.capStart[capacitor.ID], comp.ID+".S")
	for _, e := range []string{k.ID + ".T1", k.ID + ".T2", k.ID + ".L1", k.ID + ".L2", comp.ID + ".R", comp.ID + ".C", p.supply.ID + ".L1", p.supply.ID + ".L2"} {
		s.heavy[e], s.first[e] = true, true
	}
	if p.answer["crankcase-heater"] == "add" {
		h := fresh("CCH")
		add(netlist.Device{ID: h, Kind: "heater-crankcase", Label: "crankcase heater", Place: "outdoor"}, "add", "heater-add")
		group(k.ID+".L1", h+".1")
		group(k.ID+".L2", h+".2")
	}
	if p.answer["hard-start"] == "add" {
		c, h := fresh("SC"), fresh("HR")
		add(netlist.Device{ID: c, Kind: "capacitor-start", Label: "start capacitor", Place: "outdoor"}, "add", "start-add")
		add(netlist.Device{ID: h, Kind: "start-relay", Label: "start relay", Place: "outdoor"}, "add", "start-add")
		group(runPole, c+".1")
		group(c+".2", h+".1")
		group(h+".2", comp.ID+".S")
		group(h+".5", comPole)
	}
	if p.answer["time-delay"] == "add" {
		add(netlist.Device{ID: fresh("TD"), Kind: "time-delay", Label: "time-delay relay", Place: "outdoor"}, "add", "delay-add")
	}
	if p.answer["outdoor-sensor"] == "wire" {
		group(p.sensors[0].ID+".1", p.indoor.ID+".OAT1")
		group(p.sensors[0].ID+".2", p.indoor.ID+".OAT2")
	}
	for _, o := range s.actions {
		if o.Marked && !p.refound[o.ID] {
			p.refound[o.ID] = true
			p.r.Omitted = append(p.r.Omitted, Omission{o.ID, o.Label, p.answer["omit:"+o.ID], o.Caution})
		}
	}
	return s
}

// poleAmps is the most that one pole of the compressor contactor carries, in
// amperes: compressor and outdoor fans, on a supply above the plate's voltage.
func (p *plan) poleAmps() float64 {
	tc := &p.target.Compressor
	amps := tc.RLA * max(1, p.supply.P("volts")/tc.Volts)
	for _, f := range p.fans {
		switch f.Kind {
		case "fan-psc":
			amps += f.P("rla")
		case "fan-ecm":
			amps += f.P("watts") / f.P("volts")
		}
	}
	return amps
}

// placeIndoor keeps, sets or replaces the indoor control.
func (p *plan) placeIndoor(s *shape, d netlist.Device, add func(netlist.Device, string, string), land func(string, string, float64)) {
	if p.digital == (d.Kind == "indoor-digital") {
		if !p.digital {
			add(d, "keep", "indoor-keep")
			return
		}
		n := d
		n.Params = map[string]float64{"outdoor-conventional": 1, "stages": 1}
		for k, v := range d.Params {
			if _, ok := n.Params[k]; !ok {
				n.Params[k] = v
			}
		}
		add(n, "set", "indoor-set")
		s.actions[len(s.actions)-1].Reason += fmt.Sprintf("; cooling air %s cfm per ton", p.answer["airflow-per-ton"])
		return
	}
	n := netlist.Device{ID: d.ID, Kind: "indoor-board", Label: "new terminal strip", Place: d.Place}
	pairs := [][2]string{{"BG", "G"}, {"BY1", "Y1"}, {"BY2", "Y2"}}
	if p.digital {
		n.Kind, n.Label, n.Params = "indoor-digital", "new indoor digital control", map[string]float64{"outdoor-conventional": 1, "stages": 1}
		pairs = [][2]string{{"G", "BG"}, {"Y1", "Y1"}, {"Y2", "Y2"}}
	}
	for _, q := range append(pairs, [2]string{"R", "R"}, [2]string{"C", "C"}) {
		land(d.ID+"."+q[0], d.ID+"."+q[1], p.cost["reland"])
	}
	s.cost += p.cost["replace-device"]
	add(n, "replace", "indoor-new")
}

// withRung completes a shape with the control circuit: call, delay, safety string
// in the given order, coil, common.
func (p *plan) withRung(base *shape, k *netlist.Device, rung [][2]string) *shape {
	s := *base
	s.nets = slices.Clone(base.nets)
	group := func(ends ...string) { s.nets = append(s.nets, ends) }
	in, st, bl := p.indoor.ID, p.stat.ID, p.blower.ID
	call := []string{in + ".Y1"}
	if p.digital {
		group(in+".A", st+".A")
		group(in+".B", st+".B")
		group(in+".BG", bl+".G")
		group(in+".BY1", bl+".Y1")
		group(in+".BY2", bl+".Y2")
	} else {
		call = append(call, st+".Y1", bl+".Y1")
		group(in+".G", st+".G", bl+".G")
		if p.answer["airflow"] == "jumper" {
			call = append(call, bl+".Y2")
		}
	}
	for i := range p.old.Devices { // splices that led the old call on
		if d := &p.old.Devices[i]; d.Kind == "splice" && (p.oldNet.same(d.ID+".1", in+".Y1")) {
			call = append(call, d.ID+".1")
		}
	}
	common := []string{in + ".C", k.ID + ".A2"}
	at := call
	for _, d := range s.devices {
		if d.Kind == "time-delay" {
			common = append(common, d.ID+".C")
			group(append(at, d.ID+".IN")...)
			at = []string{d.ID + ".OUT"}
		}
	}
	for _, e := range rung {
		group(append(at, e[0])...)
		at = []string{e[1]}
	}
	at = append(at, k.ID+".A1")
	for _, f := range p.fanRelays {
		at, common = append(at, f.ID+".A1"), append(common, f.ID+".A2")
	}
	group(at...)
	group(common...)
	return &s
}

// wired is a shape with its conductors.
type wired struct {
	shape      *shape
	conductors []netlist.Conductor
	actions    []ConductorAction
	cost       float64
}

// wire joins the nets of a shape by the conductors of the old unit at least cost.
func (p *plan) wire(s *shape, limit float64) (*wired, bool) {
	w := &wired{shape: s, cost: s.cost}
	dev := map[string]*netlist.Device{}
	var ends []string
	for i := range s.devices {
		d := &s.devices[i]
		dev[d.ID] = d
		for _, t := range netlist.Kinds[d.Kind].Terminals {
			ends = append(ends, d.ID+"."+t.Name)
		}
	}
	alive := func(e string) string { // where an old end lies now; "" if its part is gone
		return s.landing[e]
	}
	touched := map[string]bool{}
	for _, g := range s.nets {
		for _, e := range g {
			touched[e] = true
		}
	}
	in, st, bl := p.indoor.ID, p.stat.ID, p.blower.ID
	for _, d := range []string{in, st, bl} { // every control terminal indoors is set by rule
		for _, t := range []string{"Y1", "Y2", "G", "A", "B", "BG", "BY1", "BY2", "OAT1", "OAT2"} {
			touched[d+"."+t] = true
		}
	}
	// What the kept parts need joined: the old nets less what the rules set anew,
	// and the rules' nets. C and contactor line terminals keep their old nets too.
	free := map[string]bool{in + ".C": true}
	for e := range s.heavy {
		free[e] = true
	}
	for _, f := range p.fanRelays {
		free[f.ID+".A2"] = true
	}
	for _, c := range p.contactors {
		free[c.ID+".A2"] = true
	}
	comp := p.comps[0].ID
	for _, t := range []string{".R", ".C", ".S"} {
		free[comp+t] = false
	}
	want := newNets()
	full := newNets() // old nets seen on the new terminals
	for _, c := range p.old.Conductors {
		if c.From != netlist.Capped && c.To != netlist.Capped {
			full.join("old:"+c.From, "old:"+c.To)
		}
	}
	rep := map[string]string{}
	for _, e := range p.old.Ends() {
		n := alive(e)
		if n == "" || touched[n] && !free[n] {
			continue
		}
		root := full.find("old:" + e)
		if r, ok := rep[root]; ok {
			want.join(r, n)
		} else {
			rep[root] = n
		}
	}
	for _, g := range s.nets {
		for _, e := range g[1:] {
			want.join(g[0], e)
		}
	}
	size := map[string]int{}
	for _, e := range ends {
		size[want.find(e)]++
	}

	// Keep what already joins two ends of one net, thickest and least changed first.
	type cand struct {
		c      *netlist.Conductor
		a, b   string // where its ends lie now, or ""
		pa, pb string // the places of its ends
		pain   float64
		drop   float64 // what it costs to cap or remove it
		kept   bool
	}
	cands := make([]cand, len(p.old.Conductors))
	place := func(end string) string {
		if d := p.old.Device(device(end)); d != nil {
			return d.Place
		}
		return "outdoor"
	}
	for i := range p.old.Conductors {
		c := &p.old.Conductors[i]
		q := cand{c: c, a: alive(c.From), b: alive(c.To), pa: place(c.From), pb: place(c.To), pain: s.pain[c.From] + s.pain[c.To], drop: p.cost["remove"]}
		if q.pa != q.pb {
			q.drop = p.cost["cap"]
		}
		cands[i] = q
	}
	order := make([]int, len(cands))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &cands[i], &cands[j]
		if a.pain != b.pain {
			if a.pain < b.pain {
				return -1
			}
			return 1
		}
		return a.c.Gauge - b.c.Gauge
	})
	have := newNets()
	count := map[string]int{}
	for _, i := range order {
		q := &cands[i]
		if q.a == "" || q.b == "" || q.a == q.b || !want.same(q.a, q.b) {
			continue
		}
		if have.join(q.a, q.b) {
			q.kept = true
			count[q.a]++
			count[q.b]++
			w.cost += q.pain
		}
	}

	// The joins still missing: each other part of a net to its largest part.
	type join struct {
		x, y    []string // ends of the two parts
		gauge   int
		class   netlist.Class
		colour  string
		heavy   bool
		newCost float64
	}
	var joins []join
	parts := map[string][]string{}
	var roots []string
	for _, e := range ends {
		if r := have.find(e); parts[r] == nil {
			roots = append(roots, r)
			parts[r] = []string{e}
		} else {
			parts[r] = append(parts[r], e)
		}
	}
	byNet := map[string][]string{}
	var netOrder []string
	for _, r := range roots {
		n := want.find(parts[r][0])
		if size[n] < 2 {
			continue
		}
		if byNet[n] == nil {
			netOrder = append(netOrder, n)
		}
		byNet[n] = append(byNet[n], r)
	}
	spare := func(part []string) bool { // a lone splice needs no joining
		return len(part) == 1 && dev[device(part[0])].Kind == "splice"
	}
	at := func(e string) string { return dev[device(e)].Place }
	land := func(part []string, where string, heavy bool) string { // the emptiest terminal of the part in a place
		best := ""
		for _, e := range part {
			if at(e) != where || count[e] >= 5 {
				continue
			}
			if heavy && best != "" && s.first[best] && !s.first[e] {
				continue
			}
			if best == "" || heavy && s.first[e] && !s.first[best] || count[e] < count[best] && (!heavy || s.first[e] == s.first[best]) {
				best = e
			}
		}
		return best
	}
	// offer says how a conductor can make a join: the ends it would have, and the cost.
	offer := func(q *cand, j *join) (from, to string, cost float64) {
		cost = math.Inf(1)
		if q.c.Class != j.class || q.c.Gauge > j.gauge {
			return
		}
		try := func(f, t string, c float64) {
			if f != "" && t != "" && c < cost {
				from, to, cost = f, t, c
			}
		}
		for _, o := range [][2][]string{{j.x, j.y}, {j.y, j.x}} {
			if q.a != "" && slices.Contains(o[0], q.a) {
				try(q.a, land(o[1], q.pb, j.heavy), p.cost["move"]+s.pain[q.c.From])
			}
			if q.b != "" && slices.Contains(o[0], q.b) {
				try(land(o[1], q.pa, j.heavy), q.b, p.cost["move"]+s.pain[q.c.To])
			}
			try(land(o[0], q.pa, j.heavy), land(o[1], q.pb, j.heavy), p.cost["reuse"])
		}
		if q.c.Colour == j.colour {
			cost -= p.cost["colour"]
		}
		return from, to, cost
	}
	newJoin := func(x, y []string) (join, bool) {
		j := join{x: x, y: y, class: p.classOf(dev, x, y), gauge: 18, colour: "yellow", newCost: p.cost["new"]}
		if !slices.ContainsFunc(x, func(e string) bool { return slices.ContainsFunc(y, func(f string) bool { return at(e) == at(f) }) }) {
			j.newCost *= 2 // a new conductor between two places is a new cable
		}
		if j.class == netlist.Line {
			j.gauge, j.colour = 14, "black"
			isHeavy := func(e string) bool { return s.heavy[e] }
			if slices.ContainsFunc(x, isHeavy) && slices.ContainsFunc(y, isHeavy) {
				g, ok := p.Limits.gaugeFor(p.target.Compressor.RLA * p.Limits.CompressorFactor)
				j.gauge, j.heavy = g, true
				return j, ok
			}
		} else if want.same(x[0], in+".C") {
			j.colour = "blue"
		} else if slices.ContainsFunc(slices.Concat(x, y), func(e string) bool { return strings.Contains(e, ".OAT") }) {
			j.colour = "white"
		}
		return j, true
	}
	// The joins of a net are chosen one by one, nearest parts first: within one
	// place before between two, and by the cheapest conductor at hand.
	for _, n := range netOrder {
		var ps [][]string
		for _, r := range byNet[n] {
			if !spare(parts[r]) {
				ps = append(ps, parts[r])
			}
		}
		for len(ps) > 1 {
			var best join
			bi, bj, least := -1, -1, math.Inf(1)
			for i := range ps {
				for k := range i {
					j, ok := newJoin(ps[k], ps[i])
					if !ok {
						return nil, false
					}
					c := j.newCost
					for m := range cands {
						if !cands[m].kept {
							if _, _, o := offer(&cands[m], &j); o < c {
								c = o
							}
						}
					}
					if c += 10 * j.newCost; c < least {
						best, bi, bj, least = j, k, i, c
					}
				}
			}
			joins = append(joins, best)
			ps[bi] = slices.Concat(ps[bi], ps[bj])
			ps = slices.Delete(ps, bj, bj+1)
		}
	}
	var left []int
	for i := range cands {
		if !cands[i].kept {
			left = append(left, i)
			w.cost += cands[i].drop
		}
	}
	table := make([][]float64, len(joins))
	for r := range joins {
		row := make([]float64, len(left)+len(joins))
		for i, k := range left {
			_, _, c := offer(&cands[k], &joins[r])
			row[i] = c - cands[k].drop
		}
		for i := range joins {
			row[len(left)+i] = math.Inf(1)
		}
		row[len(left)+r] = joins[r].newCost
		table[r] = row
	}
	col, total, ok := assign(table)
	w.cost += total
	if !ok || w.cost >= limit {
		return nil, false
	}

	// Write it down.
	type end struct{ from, to string }
	made := map[int]end{}
	var fresh []netlist.Conductor
	for r, c := range col {
		j := &joins[r]
		if c < len(left) {
			f, t, _ := offer(&cands[left[c]], j)
			count[f]++
			count[t]++
			made[left[c]] = end{f, t}
			continue
		}
		var f, t string
		for _, e := range j.x {
			if q := land(j.y, at(e), j.heavy); q != "" && f == "" {
				f, t = land(j.x, at(e), j.heavy), q
			}
		}
		length := 0.0
		if f == "" {
			f, t, length = j.x[0], j.y[0], 15
		}
		count[f]++
		count[t]++
		fresh = append(fresh, netlist.Conductor{From: f, To: t, Colour: j.colour, Gauge: j.gauge, Insulation: 600, Class: j.class, Length: length})
	}
	say := func(id, action, rule string, was *netlist.Conductor, c *netlist.Conductor) {
		r := p.Rules[rule]
		a := ConductorAction{ID: id, Action: action, Rule: rule, Reason: r.Reason, Source: r.Source, Caution: p.caution(r.Caution)}
		ref := was
		if c != nil {
			a.From, a.To, ref = c.From, c.To, c
		}
		if was != nil {
			a.WasFrom, a.WasTo = was.From, was.To
		}
		a.Colour, a.Gauge, a.Class = ref.Colour, ref.Gauge, ref.Class
		w.actions = append(w.actions, a)
		if c != nil {
			w.conductors = append(w.conductors, *c)
		}
	}
	for i := range cands {
		q := &cands[i]
		c := *q.c
		m, isMade := made[i]
		switch {
		case q.kept:
			c.From, c.To = q.a, q.b
			switch {
			case q.pain >= p.cost["move"]:
				say(c.ID, "move", "move", q.c, &c)
			case q.pain > 0:
				say(c.ID, "keep", "reland", q.c, &c)
			default:
				say(c.ID, "keep", "keep", q.c, &c)
			}
		case isMade:
			action := "reuse"
			if m.from == q.a || m.to == q.b {
				action = "move"
			}
			c.From, c.To = m.from, m.to
			say(c.ID, action, action, q.c, &c)
		case q.pa != q.pb:
			c.From, c.To = netlist.Capped, netlist.Capped
			say(c.ID, "cap", "cap", q.c, &c)
		default:
			say(c.ID, "remove", "remove", q.c, nil)
		}
	}
	n := 0
	for i := range fresh {
		for n++; p.old.Conductor(fmt.Sprintf("n%02d", n)) != nil; n++ {
		}
		fresh[i].ID = fmt.Sprintf("n%02d", n)
		say(fresh[i].ID, "new", "new", nil, &fresh[i])
	}
	p.dropSplices(w)
	return w, true
}

// dropSplices removes the splices on which nothing ends any more.
func (p *plan) dropSplices(w *wired) {
	busy := map[string]bool{}
	for _, c := range w.conductors {
		busy[device(c.From)], busy[device(c.To)] = true, true
	}
	s := *w.shape
	s.devices, s.actions = slices.Clone(s.devices), slices.Clone(s.actions)
	s.devices = slices.DeleteFunc(s.devices, func(d netlist.Device) bool { return d.Kind == "splice" && !busy[d.ID] })
	for i := range s.actions {
		if a := &s.actions[i]; a.Kind == "splice" && !busy[a.ID] {
			r := p.Rules["splice-out"]
			a.Action, a.Rule, a.Reason, a.Source = "remove", "splice-out", r.Reason, r.Source
		}
	}
	w.shape = &s
}

// classOf is the circuit class of a net: the first terminal that has one, or that
// of the conductors its contacts carried.
func (p *plan) classOf(dev map[string]*netlist.Device, parts ...[]string) netlist.Class {
	for _, part := range parts {
		for _, e := range part {
			d, t, _ := strings.Cut(e, ".")
			for _, k := range netlist.Kinds[dev[d].Kind].Terminals {
				if k.Name == t && k.Class != netlist.Any {
					return k.Class
				}
			}
		}
	}
	for _, part := range parts {
		for _, e := range part {
			for _, c := range p.old.At(e) {
				return c.Class
			}
		}
	}
	return netlist.Class2
}

// upsize solves the new circuit on full call and replaces each conductor that is
// too thin for what it carries.
func (p *plan) upsize() error {
	c, err := netlist.Compile(p.r.New)
	if err != nil {
		return err
	}
	sol, err := c.NewSolver().Solve(c.With(c.Rest(), "cool-1", true))
	if err != nil {
		return err
	}
	n := len(p.r.New.Conductors)
	for i := range n {
		w := p.r.New.Conductors[i]
		if w.Class != netlist.Line {
			continue
		}
		amps, err := sol.Amps(w.ID)
		if err != nil {
			return err
		}
		if rla := p.target.Compressor.RLA; amps > 0.6*rla {
			amps = max(amps, rla) * p.Limits.CompressorFactor
		}
		if p.Limits.ampacity(w.Gauge, false) >= amps {
			continue
		}
		g, ok := p.Limits.gaugeFor(amps)
		if !ok {
			return fmt.Errorf("%w: no conductor in the table carries %.0f A", ErrTarget, amps)
		}
		r := p.Rules["upsize"]
		for k := range p.r.Conductors {
			if a := &p.r.Conductors[k]; a.ID == w.ID {
				if a.Action == "new" {
					a.Gauge = g
					continue
				}
				a.Action, a.Rule, a.Reason, a.Source, a.Caution, a.From, a.To = "remove", "upsize", r.Reason, r.Source, "", "", ""
			}
		}
		fresh := w
		fresh.Gauge = g
		if !strings.HasPrefix(w.ID, "n") {
			fresh.ID = trim(w.ID, 40) + "-thick"
			p.r.Conductors = append(p.r.Conductors, ConductorAction{ID: fresh.ID, Action: "new", From: w.From, To: w.To, Colour: w.Colour, Gauge: g, Class: w.Class, Rule: "upsize", Reason: r.Reason, Source: r.Source})
			p.r.Cost += p.cost["new"]
		}
		p.r.New.Conductors[i] = fresh
	}
	return p.r.New.Validate()
}

// steps writes the work list in the order of the work.
func (p *plan) steps() {
	r := p.r
	put := func(s Step) {
		s.N = len(r.Steps) + 1
		r.Steps = append(r.Steps, s)
	}
	put(Step{Action: "prepare", Words: "Lock out, prove dead, photograph and label every conductor before the first one is moved.", Caution: p.caution("lockout")})
	put(Step{Action: "prepare", Words: "Discharge every capacitor and measure it.", Caution: p.caution("capacitor")})
	dev := func(actions ...string) {
		for _, a := range r.Devices {
			if slices.Contains(actions, a.Action) {
				w := fmt.Sprintf("%s %s (%s)", strings.ToUpper(a.Action[:1])+a.Action[1:], a.Label, a.ID)
				put(Step{Action: a.Action, Item: a.ID, Words: w, Reason: a.Reason, Source: a.Source, Caution: a.Caution})
			}
		}
	}
	wire := func(pick func(a *ConductorAction) bool) {
		for i := range r.Conductors {
			a := &r.Conductors[i]
			if !pick(a) {
				continue
			}
			name := fmt.Sprintf("%s, %d AWG, %s", a.Colour, a.Gauge, a.ID)
			var w string
			switch a.Action {
			case "cap":
				w = fmt.Sprintf("Cap %s at both ends (was %s to %s)", name, a.WasFrom, a.WasTo)
			case "remove":
				w = fmt.Sprintf("Take out %s (was %s to %s)", name, a.WasFrom, a.WasTo)
			case "new":
				w = fmt.Sprintf("New conductor %s from %s to %s", name, a.From, a.To)
			case "keep":
				w = fmt.Sprintf("Land %s on the new part: %s to %s (was %s to %s)", name, a.From, a.To, a.WasFrom, a.WasTo)
			default:
				w = fmt.Sprintf("%s %s: now %s to %s (was %s to %s)", strings.ToUpper(a.Action[:1])+a.Action[1:], name, a.From, a.To, a.WasFrom, a.WasTo)
			}
			put(Step{Action: a.Action, Item: a.ID, From: a.From, To: a.To, WasFrom: a.WasFrom, WasTo: a.WasTo, Colour: a.Colour, Gauge: a.Gauge, Words: w, Reason: a.Reason, Source: a.Source, Caution: a.Caution})
		}
	}
	wire(func(a *ConductorAction) bool { return a.Action == "cap" || a.Action == "remove" })
	dev("remove")
	dev("replace", "add", "move")
	wire(func(a *ConductorAction) bool { return a.Action == "keep" && a.Rule == "reland" })
	wire(func(a *ConductorAction) bool { return a.Action == "move" || a.Action == "reuse" })
	wire(func(a *ConductorAction) bool { return a.Action == "new" })
	dev("set")
	put(Step{Action: "check", Words: "Go through the check-out list: dead readings first, then live.", Caution: p.caution("live")})
	put(Step{Action: "label", Words: "Post the new ladder and the new label beside the old plate.", Caution: p.caution("plate")})
}
