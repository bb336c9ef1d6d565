package planner

import (
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// A link is one interrupter in the control string, from the call's side to the
// coil's.
type link struct{ in, out string }

// chain is the control string of the new unit: from the call over the
// interrupters that lay between call and coil, and those that a removed board
// watched, in the order of the old unit, over the delay to the contactor's coil.
type chain struct {
	start     string // the call's end in the old unit; "" if no contact leads from it to the coil
	call      string // the call's end in the new unit
	hot, cold string // of the contactor's coil
	links     []link
	coldTo    string          // where the coil's cold end goes, if a switch in it moved into the string
	reached   map[string]bool // ends of links that the call leads to in the old unit
}

// contracted are the old nets, over the contacts of what is taken out between
// call and coil: relays that chose the stage, an old delay, what is left out.
func (b *blueprint) contracted() *nets { return b.contractedOver(true) }

// contractedOver leaves the delays open unless told otherwise.
func (b *blueprint) contractedOver(delays bool) *nets {
	p := b.p
	n := netsOf(p.old)
	out := map[string]bool{}
	for _, a := range b.actions {
		out[a.ID] = a.Action == "remove"
	}
	for i := range p.old.Devices {
		d := &p.old.Devices[i]
		over := slices.Contains(p.stages, d) || delays && slices.Contains(p.delays, d) || slices.Contains(p.interrupters, d) && out[d.ID]
		for _, k := range p.seen.of(d.ID) {
			if over && k.class == netlist.Class2 {
				n.join(k.ends[0], k.ends[1])
			}
		}
	}
	return n
}

// secondStageOnly takes coils and inputs that had voltage on the full call alone to
// the compressor contactor's coil, those indoors to the call itself: with one stage,
// full is what runs.
func (b *blueprint) secondStageOnly(c *chain, n *nets) {
	v, common := b.p.seen, b.p.indoor.ID+".C"
	to := func(k int, e string) float64 { return cmplx.Abs(v.volts[k][e] - v.volts[k][common]) }
	for _, d := range b.p.old.Devices {
		_, coil := v.coil(d.ID)
		if !coil && !slices.Contains(v.c.Loads, d.ID) || slices.Contains(b.p.contactors, b.p.old.Device(d.ID)) || b.p.control(d.ID) {
			continue
		}
		for _, e := range endsOf(&d) {
			_, stays := b.becomes[e]
			called := slices.ContainsFunc(b.p.old.Ends(), func(o string) bool { // not by a board, which joinOrphans sees to
				_, there := b.becomes[o]
				return there && o != e && n.same(o, e) && b.p.old.Device(device(o)).Place != "outdoor"
			})
			if b.otherFeed(d.ID) {
				continue // what works for another circuit keeps its call: a person has to say
			}
			if d.Place != "outdoor" && stays && b.class(e) == netlist.Class2 && to(firstStage, e) < 4 && to(fullCall, e) > 16 {
				b.want.join(e, c.call)
				delete(b.becomes, e)
				continue
			}
			if stays && called && b.class(e) == netlist.Class2 && to(firstStage, e) < 4 && to(fullCall, e) > 16 {
				at := c.hot
				if late := b.late(c, n); late != "" && b.delay() == "" {
					at = late
				}
				b.want.join(e, at)
				delete(b.becomes, e)
			}
		}
	}
}

// otherFeed tells whether a device's contacts lie on another supply than the unit's.
func (b *blueprint) otherFeed(id string) bool {
	for _, k := range b.p.seen.of(id) {
		for _, e := range k.ends {
			if lead := b.lead(e); lead != "" && lead != "run" && lead != "common" && !strings.HasPrefix(lead, b.p.supply.ID) {
				return true
			}
		}
	}
	return false
}

// control tells whether a device is one of the controls indoors, or the blower.
func (p *plan) control(id string) bool {
	return slices.ContainsFunc([]*netlist.Device{p.indoor, p.stat, p.blower}, func(d *netlist.Device) bool { return d != nil && d.ID == id })
}

// isCommon tells whether an old end is always at the control common.
func (b *blueprint) isCommon(e string) bool {
	v, c := b.p.seen, b.p.indoor.ID+".C"
	for k := range v.states {
		if cmplx.Abs(v.volts[k][e]-v.volts[k][c]) > 1 {
			return false
		}
	}
	return true
}

// isHot tells whether an old end is at the control voltage without any call.
func (b *blueprint) isHot(e string) bool {
	v := b.p.seen
	return cmplx.Abs(v.volts[atRest][e]-v.volts[atRest][b.p.indoor.ID+".C"]) > 16
}

// findChain finds the control string in the old unit.
func (b *blueprint) findChain(n *nets) *chain {
	p := b.p
	c := &chain{reached: map[string]bool{}, call: p.stat.ID + ".Y1", start: p.stat.ID + ".Y1"}
	if p.changesControl() || p.digital {
		c.call = p.indoor.ID + ".Y1"
	}
	ends, _ := p.seen.coil(b.k.ID)
	c.hot, c.cold = ends[0], ends[1]
	if b.isCommon(c.hot) && !b.isCommon(c.cold) {
		c.hot, c.cold = c.cold, c.hot
	}
	g := b.withBoards(n)
	if p.isDigital() {
		c.start = ""
		for _, d := range p.boards {
			for _, k := range p.seen.of(d.ID) {
				if len(k.stops) > 0 {
					c.start = k.ends[1]
				}
			}
		}
	}
	depth := b.depths(g, c.start, "")
	if _, ok := depth[g.find(c.hot)]; !ok {
		c.start = ""
	}
	type placed struct {
		link
		near, far int
	}
	var found []placed
	at := func(e string) int {
		if d, ok := depth[g.find(e)]; ok {
			return d
		}
		return math.MaxInt
	}
	for _, k := range b.linked(n, g, c) {
		e := placed{link{k.ends[0], k.ends[1]}, at(k.ends[0]), at(k.ends[1])}
		if e.near > e.far {
			e = placed{link{e.out, e.in}, e.far, e.near}
		}
		if k.idle { // bypassed: back ahead of what it lay on
			e.far = e.near
		}
		found = append(found, e)
	}
	slices.SortStableFunc(found, func(x, y placed) int {
		if x.near != y.near {
			return cmpInt(x.near, y.near)
		}
		return cmpInt(x.far, y.far)
	})
	for i, e := range found {
		if i > 0 && e.near == e.far && n.same(found[i-1].out, e.out) {
			found[i].link = link{e.out, e.in}
		}
		c.links = append(c.links, found[i].link)
		c.reached[e.in], c.reached[e.out] = at(e.in) < math.MaxInt, at(e.out) < math.MaxInt
	}
	return c
}

func cmpInt(a, b int) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// withBoards is nets with each removed board as one point, but for its common.
func (b *blueprint) withBoards(n *nets) *nets {
	g := &nets{map[string]string{}}
	for _, e := range b.p.old.Ends() {
		g.join(n.find(e), e)
	}
	for _, d := range b.p.boards {
		first := ""
		for _, e := range endsOf(d) {
			switch {
			case b.isCommon(e) || len(b.p.old.At(e)) == 0:
			case first == "":
				first = e
			default:
				g.join(first, e)
			}
		}
	}
	return g
}

// depths counts the contacts between start and every point, leaving one out.
func (b *blueprint) depths(g *nets, start, without string) map[string]int {
	if start == "" {
		return nil
	}
	depth := map[string]int{g.find(start): 0}
	queue := []string{g.find(start)}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for i := range b.p.seen.contacts {
			k := &b.p.seen.contacts[i]
			d := b.p.old.Device(k.device)
			if k.class != netlist.Class2 || !k.closed || k.device == without || d == b.p.indoor || d == b.p.stat || slices.Contains(b.p.boards, d) {
				continue
			}
			for _, q := range [][2]string{{k.ends[0], k.ends[1]}, {k.ends[1], k.ends[0]}} {
				to := g.find(q[1])
				if _, seen := depth[to]; g.find(q[0]) == at && !seen {
					depth[to] = depth[at] + 1
					queue = append(queue, to)
				}
			}
		}
	}
	return depth
}

// linked lists the contacts that belong in the string: those that alone part call
// and coil, and those of which an end would be left on nothing.
func (b *blueprint) linked(n, g *nets, c *chain) (out []contact) {
	p := b.p
	var all []contact
	for _, d := range p.interrupters {
		if _, stays := b.becomes[endsOf(d)[0]]; !stays {
			continue
		}
		for _, k := range p.seen.of(d.ID) {
			if k.class != netlist.Line && k.acts() {
				all = append(all, k)
			}
		}
	}
	in := map[string]bool{} // ends of what is in the string
	parts := func(k contact) bool {
		if far := b.inCold(k, c); b.delay() != "" && far != "" { // before the delay, which it is to reset
			c.coldTo = far
			return true
		}
		if c.start == "" {
			return false
		}
		_, reached := b.depths(g, c.start, k.device)[g.find(c.hot)]
		return !reached
	}
	alone := func(e string) bool { // nothing else that stays and is not in the string shares its net
		for _, o := range p.old.Ends() {
			if _, stays := b.becomes[o]; stays && o != e && !in[o] && n.same(o, e) {
				return false
			}
		}
		return true
	}
	taken := make([]bool, len(all))
	for again := true; again; {
		again = false
		for i, k := range all {
			if taken[i] || !k.idle && !parts(k) && !alone(k.ends[0]) && !alone(k.ends[1]) {
				continue
			}
			taken[i], again = true, true
			in[k.ends[0]], in[k.ends[1]] = true, true
		}
	}
	for i, k := range all {
		if taken[i] {
			out = append(out, k)
		}
	}
	return out
}

// inCold gives the far end of a switch that lies between the coil's cold end and the
// common for nothing but this coil; "" if it does not.
func (b *blueprint) inCold(k contact, c *chain) string {
	n := b.p.oldNet
	near, far := k.ends[0], k.ends[1]
	if !n.same(near, c.cold) {
		near, far = far, near
	}
	if !k.input || !n.same(near, c.cold) || b.isCommon(c.cold) && n.same(c.cold, b.p.indoor.ID+".C") {
		return ""
	}
	for _, e := range b.p.old.Ends() {
		if _, stays := b.becomes[e]; stays && e != near && e != c.cold && n.same(e, near) && b.p.old.Device(device(e)).Kind != "splice" {
			return ""
		}
	}
	return far
}

// joinOld takes over the old nets as far as their ends stay, but for the control
// string, which is cut and joined again: call, links, delay, coil.
func (b *blueprint) joinOld() {
	b.joinIndoor()
	n := b.contracted()
	c := b.findChain(n)
	b.heaterOffPole()
	b.secondStageOnly(c, n)
	cut := map[string]bool{}
	for _, l := range c.links {
		cut[l.in], cut[l.out] = true, true
	}
	td := b.delay()
	if td != "" {
		for _, t := range []string{".IN", ".OUT", ".C"} {
			delete(b.becomes, td+t)
		}
	}
	undelayed := b.contractedOver(false)
	split := len(c.links) > 0 || td != "" || b.p.digital || b.p.changesControl()
	groups, order := map[string][]string{}, []string{}
	for _, e := range b.p.old.Ends() {
		r := n.find(e)
		if groups[r] == nil {
			order = append(order, r)
		}
		groups[r] = append(groups[r], e)
	}
	feed := ""
	for _, r := range order {
		var rest, links []string
		for _, e := range groups[r] {
			if cut[e] {
				links = append(links, e)
			} else if to, ok := b.becomes[e]; ok {
				rest = append(rest, to)
			}
		}
		switch {
		case split && n.same(r, c.hot):
			rest, feed = b.coilSide(c, rest, n.same(r, c.start) && c.start != "", undelayed)
			rest = b.beforeLate(c, n, b.ofString(c, rest))
		case c.start != "" && n.same(r, c.start):
			rest = append(rest, c.call)
		case len(links) > 0 && len(rest) > 0 && !b.isHot(links[0]) && !b.isCommon(links[0]) && (c.start == "" || c.reached[links[0]]):
			rest = append(rest, links[0])
		}
		if c.coldTo != "" && n.same(r, c.coldTo) {
			rest = append(rest, c.cold)
		}
		for _, e := range rest[min(1, len(rest)):] {
			b.want.join(rest[0], e)
		}
	}
	if split {
		b.joinChain(c, feed)
	}
	b.joinCommon(c, td)
	b.joinOrphans(c, groups, n)
	for e := range b.p.seen.heavy {
		if to, ok := b.becomes[e]; ok {
			b.heavy[to] = true
		}
	}
}

// coilSide parts the net of the coil's hot end: what goes with the coil is
// returned, what feeds it is joined and one end of it given back.
func (b *blueprint) coilSide(c *chain, all []string, isCall bool, undelayed *nets) (rest []string, feed string) {
	contacts := map[string]bool{}
	for _, k := range b.p.seen.contacts {
		contacts[k.ends[0]], contacts[k.ends[1]] = true, true
	}
	for _, e := range all {
		d := b.p.old.Device(device(e))
		ahead := undelayed.same(e, c.start) && !undelayed.same(e, c.hot) // of the old delay
		feeds := contacts[e] && c.start == "" || isCall && (d == nil || d.Place != "outdoor" || contacts[e] || ahead)
		if e == c.hot || !feeds {
			rest = append(rest, e)
			continue
		}
		if feed != "" {
			b.want.join(feed, e)
		}
		feed = e
	}
	return rest, feed
}

// ofString takes the coil's end of a relay in the string itself, a lockout's, to the
// string's end ahead of the delay: behind it the delay would hold it. The rest is
// returned.
func (b *blueprint) ofString(c *chain, rest []string) []string {
	if b.delay() == "" || len(c.links) == 0 {
		return rest
	}
	return slices.DeleteFunc(rest, func(e string) bool {
		its := e != c.hot && slices.ContainsFunc(c.links, func(l link) bool { return device(l.in) == device(e) })
		if its {
			b.want.join(c.links[len(c.links)-1].out, e)
		}
		return its
	})
}

// beforeLate takes what lay on the coil's net ahead of a late link: it stays ahead of
// that. What goes with the coil itself is returned.
func (b *blueprint) beforeLate(c *chain, n *nets, rest []string) []string {
	late := b.late(c, n)
	if late == "" {
		return rest
	}
	for _, e := range rest {
		if e == c.hot {
			continue
		}
		b.want.join(late, e)
		if b.delay() != "" {
			b.extend(device(e), "it lay ahead of a switch that is now ahead of the delay: it is served while the delay runs")
		}
	}
	return []string{c.hot}
}

// late is the near end of the first link that led on from the coil's net to the coil
// of a contactor that is gone, or, where no delay is to come last, that lay in another
// lead: the second stage's. "" if there is none.
func (b *blueprint) late(c *chain, n *nets) string {
	for _, l := range c.links {
		if n.same(l.in, c.hot) || b.delay() == "" && c.start != "" && !c.reached[l.in] && !c.reached[l.out] {
			return l.in
		}
	}
	return ""
}

// joinChain joins call, links, delay and coil.
func (b *blueprint) joinChain(c *chain, feed string) {
	at := c.call
	switch {
	case c.start == "" && feed != "" && !b.p.digital && !b.p.changesControl():
		at = feed
	case feed != "":
		b.want.join(at, feed)
	}
	for _, l := range c.links {
		b.want.join(at, l.in)
		at = l.out
	}
	if td := b.delay(); td != "" {
		b.want.join(at, td+".IN")
		at = td + ".OUT"
	}
	b.want.join(at, c.hot)
}

// joinCommon sees to it that coil and delay have the common, unless contacts that
// stay in it lead there.
func (b *blueprint) joinCommon(c *chain, td string) {
	common := b.p.indoor.ID + ".C"
	by := &nets{map[string]string{}}
	for _, d := range b.devices {
		for _, e := range endsOf(&d) {
			by.join(b.want.find(e), e)
		}
	}
	for _, k := range b.p.seen.contacts {
		if _, stays := b.becomes[k.ends[0]]; stays && k.closed && !slices.ContainsFunc(c.links, func(l link) bool { return l.in == k.ends[0] || l.out == k.ends[0] }) && k.class == netlist.Class2 {
			by.join(k.ends[0], k.ends[1])
		}
	}
	if !by.same(c.cold, common) {
		b.want.join(c.cold, common)
	}
	if td != "" {
		b.want.join(td+".C", c.cold) // what opens the coil's common resets the delay too
	}
}

// joinOrphans joins what only a removed board fed: a coil or input of a part that
// stays, by the voltage it had. What worked on the second stage alone now works
// with the compressor.
func (b *blueprint) joinOrphans(c *chain, groups map[string][]string, n *nets) {
	size := map[string]int{}
	for _, d := range b.devices {
		for _, e := range endsOf(&d) {
			size[b.want.find(e)]++
		}
	}
	for _, d := range b.p.old.Devices {
		_, coil := b.p.seen.coil(d.ID)
		load := slices.Contains(b.p.seen.c.Loads, d.ID)
		if !coil && !load || d.Place != "outdoor" {
			continue
		}
		for _, e := range endsOf(&d) {
			to, stays := b.becomes[e]
			if !stays || len(groups[n.find(e)]) < 2 || size[b.want.find(to)] > 1 || b.class(e) != netlist.Class2 || slices.Contains([]string{c.hot, c.cold}, e) {
				continue
			}
			switch {
			case b.isCommon(e):
				b.want.join(to, b.p.indoor.ID+".C")
			case b.isHot(e):
				b.want.join(to, b.p.indoor.ID+".R")
			default:
				at := b.boardOut(c, n)
				b.want.join(to, at)
				if at != c.hot && b.delay() != "" {
					b.extend(d.ID, "fed by the removed board on the second stage; now with the call, ahead of the delay, for there is one stage")
				}
			}
		}
	}
}

// extend says why a part is served in more states than before.
func (b *blueprint) extend(id, why string) {
	for i := range b.actions {
		if a := &b.actions[i]; a.ID == id {
			a.Extended, a.Reason = why, why
		}
	}
}

// boardOut is where in the string the output of a removed board lay: ahead of the
// links that it fed, else at the coil.
func (b *blueprint) boardOut(c *chain, n *nets) string {
	for _, d := range b.p.boards {
		for _, k := range b.p.seen.of(d.ID) {
			for _, l := range c.links {
				if len(k.stops) > 0 && (n.same(l.in, k.ends[0]) || n.same(l.in, k.ends[1])) {
					return l.in
				}
			}
		}
	}
	return c.hot
}

// class is that of the conductors on an old end.
func (b *blueprint) class(e string) netlist.Class {
	for _, w := range b.p.old.At(e) {
		return w.Class
	}
	return netlist.Any
}

// heaterOffPole takes a load that lay across the pole of a one-pole contactor to
// the other leg, where the new contactor breaks both.
func (b *blueprint) heaterOffPole() {
	p, k := b.p, b.k.ID
	if p.poles(b.k) != 1 || !slices.ContainsFunc(b.devices, func(d netlist.Device) bool { return d.ID == k && d.Kind == "contactor-2p" }) {
		return
	}
	pole := p.seen.of(k)[0].ends
	other := map[string]string{k + ".L1": k + ".L2", k + ".L2": k + ".L1"}[pole[0]]
	for _, h := range p.heaters {
		e := endsOf(h)
		for i := range 2 {
			if p.oldNet.same(e[i], pole[0]) && p.oldNet.same(e[1-i], pole[1]) && b.becomes[e[1-i]] != "" {
				b.extend(h.ID, "it lay across the pole that the new contactor opens with the other: now on the line side, it heats while the compressor runs too")
				delete(b.becomes, e[1-i])
				b.want.join(e[1-i], other)
			}
		}
	}
}
