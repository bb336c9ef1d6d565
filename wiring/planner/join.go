package planner

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// A layout is a blueprint with its conductors.
type layout struct {
	plan       *blueprint
	conductors []netlist.Conductor
	actions    []ConductorAction
	cost       float64
}

// An offer is an old conductor on its way into the new unit.
type offer struct {
	c      *netlist.Conductor
	a, b   string // where its ends lie now; "" if their part is gone
	pa, pb string // the places of its ends
	effort float64
	drop   float64 // what it costs to cap or remove it
	kept   bool
}

// A gap is a join of two parts of a net that no kept conductor makes.
type gap struct {
	x, y    []string // ends of the two parts
	gauge   int
	class   netlist.Class
	colour  string
	heavy   bool
	newCost float64
}

// joiner joins the nets of a blueprint by the conductors of the old unit at least
// cost.
type joiner struct {
	*plan
	b      *blueprint
	w      *layout
	dev    map[string]*netlist.Device
	ends   []string
	offers []offer
	have   *nets          // what kept conductors join
	count  map[string]int // conductor ends on each end
	gaps   []gap
}

// join makes the layout of a blueprint; false if it cannot be joined for less
// than the limit.
func (p *plan) join(b *blueprint, limit float64) (*layout, bool) {
	j := &joiner{plan: p, b: b, w: &layout{plan: b, cost: b.cost}, dev: map[string]*netlist.Device{}, have: newNets(), count: map[string]int{}}
	for i := range b.devices {
		j.dev[b.devices[i].ID] = &b.devices[i]
		j.ends = append(j.ends, endsOf(&b.devices[i])...)
	}
	j.keep()
	if !j.findGaps() {
		return nil, false
	}
	col, left, ok := j.assign()
	if !ok || j.w.cost >= limit {
		return nil, false
	}
	j.write(col, left)
	p.dropSplices(j.w)
	return j.w, true
}

// keep takes over what already joins two ends of one net, the least effort and
// the thickest first.
func (j *joiner) keep() {
	place := func(end string) string {
		if d := j.old.Device(device(end)); d != nil {
			return d.Place
		}
		return "outdoor"
	}
	for i := range j.old.Conductors {
		c := &j.old.Conductors[i]
		q := offer{c: c, a: j.b.landing[c.From], b: j.b.landing[c.To], pa: place(c.From), pb: place(c.To), effort: j.b.effort[c.From] + j.b.effort[c.To], drop: j.cost["remove"]}
		if q.pa != q.pb {
			q.drop = j.cost["cap"]
		}
		j.offers = append(j.offers, q)
	}
	order := make([]int, len(j.offers))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(x, y int) int {
		a, b := &j.offers[x], &j.offers[y]
		return cmp.Or(cmp.Compare(a.effort, b.effort), a.c.Gauge-b.c.Gauge)
	})
	for _, i := range order {
		q := &j.offers[i]
		if q.a == "" || q.b == "" || q.a == q.b || !j.b.want.same(q.a, q.b) {
			continue
		}
		if q.c.Class == netlist.Ground || j.have.join(q.a, q.b) {
			q.kept = true
			j.have.join(q.a, q.b)
			j.count[q.a]++
			j.count[q.b]++
			j.w.cost += q.effort
		}
	}
}

// findGaps finds the joins still missing: of each net its parts, nearest first,
// within one place before between two, and by the cheapest conductor at hand.
func (j *joiner) findGaps() bool {
	size := map[string]int{}
	for _, e := range j.ends {
		size[j.b.want.find(e)]++
	}
	parts := map[string][]string{}
	var roots []string
	for _, e := range j.ends {
		r := j.have.find(e)
		if parts[r] == nil {
			roots = append(roots, r)
		}
		parts[r] = append(parts[r], e)
	}
	byNet := map[string][][]string{}
	var netOrder []string
	for _, r := range roots {
		n := j.b.want.find(parts[r][0])
		if size[n] < 2 || len(parts[r]) == 1 && j.dev[device(parts[r][0])].Kind == "splice" { // a lone splice needs no joining
			continue
		}
		if byNet[n] == nil {
			netOrder = append(netOrder, n)
		}
		byNet[n] = append(byNet[n], parts[r])
	}
	for _, n := range netOrder {
		if !j.closeNet(byNet[n]) {
			return false
		}
	}
	return true
}

// closeNet chooses the joins of one net one by one.
func (j *joiner) closeNet(ps [][]string) bool {
	for len(ps) > 1 {
		var best gap
		bi, bk, least := -1, -1, math.Inf(1)
		for i := range ps {
			for k := range i {
				g, ok := j.newGap(ps[k], ps[i])
				if !ok {
					return false
				}
				c := g.newCost
				for m := range j.offers {
					if !j.offers[m].kept {
						if _, _, o := j.make(&j.offers[m], &g); o < c {
							c = o
						}
					}
				}
				if c += 10 * g.newCost; c < least {
					best, bk, bi, least = g, k, i, c
				}
			}
		}
		j.gaps = append(j.gaps, best)
		ps[bk] = slices.Concat(ps[bk], ps[bi])
		ps = slices.Delete(ps, bi, bi+1)
	}
	return true
}

func (j *joiner) at(e string) string { return j.dev[device(e)].Place }

// newGap says what a new conductor between two parts would be; false if no
// conductor of the table carries the current.
func (j *joiner) newGap(x, y []string) (gap, bool) {
	x, y, class := j.classed(x, y)
	g := gap{x: x, y: y, class: class, gauge: 18, colour: "yellow", newCost: j.cost["new"]}
	if !slices.ContainsFunc(x, func(e string) bool { return slices.ContainsFunc(y, func(f string) bool { return j.at(e) == j.at(f) }) }) {
		g.newCost *= 2 // a new conductor between two places is a new cable
	}
	has := func(end string) bool { return slices.Contains(x, end) || slices.Contains(y, end) }
	switch {
	case g.class == netlist.Ground:
		g.gauge, g.colour = 10, "green"
	case g.class == netlist.Line:
		g.gauge, g.colour = 14, "black"
		isHeavy := func(e string) bool { return j.b.heavy[e] }
		if slices.ContainsFunc(x, isHeavy) && slices.ContainsFunc(y, isHeavy) {
			gauge, ok := j.Limits.gaugeFor(j.target.Compressor.RLA * j.Limits.CompressorFactor * margin)
			g.gauge, g.heavy = gauge, true
			return g, ok
		}
	case j.b.want.same(x[0], j.indoor.ID+".C"):
		g.colour = "blue"
	case has(j.indoor.ID+".OAT1") || has(j.indoor.ID+".OAT2"):
		g.colour = "white"
	}
	return g, true
}

// classed gives the ends of two parts of a net on which a conductor between them may
// land, and its class. Where a net is bonded to a ground screw only what is for ground on
// both sides is joined by a ground conductor.
func (j *joiner) classed(x, y []string) (from, to []string, class netlist.Class) {
	split := func(part []string) (ground, other []string) {
		for _, e := range part {
			if j.classOf(j.dev, []string{e}) == netlist.Ground {
				ground = append(ground, e)
			} else {
				other = append(other, e)
			}
		}
		return
	}
	gx, ox := split(x)
	gy, oy := split(y)
	switch {
	case gx != nil && gy != nil:
		return gx, gy, netlist.Ground
	case gx == nil && gy == nil:
		return x, y, j.classOf(j.dev, x, y)
	case ox == nil:
		ox = gx
	case oy == nil:
		oy = gy
	}
	return ox, oy, j.classOf(j.dev, slices.DeleteFunc(slices.Concat(ox, oy), func(e string) bool { return slices.Contains(gx, e) || slices.Contains(gy, e) }))
}

// land is the emptiest terminal of a part in a place; a heavy conductor goes where
// heavy ones go.
func (j *joiner) land(part []string, where string, heavy bool) string {
	best := ""
	first := j.b.heavy
	for _, e := range part {
		if j.at(e) != where || j.count[e] >= 5 || heavy && best != "" && first[best] && !first[e] {
			continue
		}
		if best == "" || heavy && first[e] && !first[best] || j.count[e] < j.count[best] && (!heavy || first[e] == first[best]) {
			best = e
		}
	}
	return best
}

// make says how a conductor can close a gap: the ends it would have, and the cost.
func (j *joiner) make(q *offer, g *gap) (from, to string, cost float64) {
	cost = math.Inf(1)
	if q.c.Class != g.class || q.c.Gauge > g.gauge {
		return
	}
	try := func(f, t string, c float64) {
		if f != "" && t != "" && c < cost {
			from, to, cost = f, t, c
		}
	}
	for _, o := range [2][2][]string{{g.x, g.y}, {g.y, g.x}} {
		if q.a != "" && slices.Contains(o[0], q.a) {
			try(q.a, j.land(o[1], q.pb, g.heavy), j.cost["move"]+j.b.effort[q.c.From])
		}
		if q.b != "" && slices.Contains(o[0], q.b) {
			try(j.land(o[1], q.pa, g.heavy), q.b, j.cost["move"]+j.b.effort[q.c.To])
		}
		try(j.land(o[0], q.pa, g.heavy), j.land(o[1], q.pb, g.heavy), j.cost["reuse"])
	}
	if q.c.Colour == g.colour {
		cost -= j.cost["colour"]
	}
	return from, to, cost
}

// assign gives each gap a left-over conductor or a new one, at least cost.
func (j *joiner) assign() (col, left []int, ok bool) {
	for i := range j.offers {
		if !j.offers[i].kept {
			left = append(left, i)
			j.w.cost += j.offers[i].drop
		}
	}
	table := make([][]float64, len(j.gaps))
	for r := range j.gaps {
		row := make([]float64, len(left)+len(j.gaps))
		for i, k := range left {
			_, _, c := j.make(&j.offers[k], &j.gaps[r])
			row[i] = c - j.offers[k].drop
		}
		for i := range j.gaps {
			row[len(left)+i] = math.Inf(1)
		}
		row[len(left)+r] = j.gaps[r].newCost
		table[r] = row
	}
	col, total, ok := assign(table)
	j.w.cost += total
	return col, left, ok
}

// write turns the assignment into conductors and what is said of each.
func (j *joiner) write(col, left []int) {
	made := map[int][2]string{}
	var fresh []netlist.Conductor
	for r, c := range col {
		g := &j.gaps[r]
		f, t, length := "", "", 0.0
		if c < len(left) {
			f, t, _ = j.make(&j.offers[left[c]], g)
			made[left[c]] = [2]string{f, t}
		} else {
			f, t, length = j.newEnds(g)
			fresh = append(fresh, netlist.Conductor{From: f, To: t, Colour: g.colour, Gauge: g.gauge, Insulation: 600, Class: g.class, Length: length})
		}
		j.count[f]++
		j.count[t]++
	}
	for i := range j.offers {
		ends, ok := made[i]
		j.tell(&j.offers[i], ends, ok)
	}
	n := 0
	for i := range fresh {
		for n++; j.old.Conductor(fmt.Sprintf("n%02d", n)) != nil; n++ {
		}
		fresh[i].ID = fmt.Sprintf("n%02d", n)
		j.say(fresh[i].ID, "new", "new", nil, &fresh[i])
	}
}

// newEnds says where a new conductor goes: within one place if it can.
func (j *joiner) newEnds(g *gap) (f, t string, length float64) {
	for _, e := range g.x {
		if q := j.land(g.y, j.at(e), g.heavy); q != "" && f == "" {
			f, t = j.land(g.x, j.at(e), g.heavy), q
		}
	}
	if f == "" {
		return g.x[0], g.y[0], 15
	}
	return f, t, 0
}

// tell says what becomes of an old conductor.
func (j *joiner) tell(q *offer, made [2]string, isMade bool) {
	c := *q.c
	switch {
	case q.kept:
		c.From, c.To = q.a, q.b
		switch {
		case q.effort >= j.cost["move"]:
			j.say(c.ID, "move", "move", q.c, &c)
		case q.effort > 0:
			j.say(c.ID, "keep", "reland", q.c, &c)
		default:
			j.say(c.ID, "keep", "keep", q.c, &c)
		}
	case isMade:
		action := "reuse"
		if made[0] == q.a || made[1] == q.b {
			action = "move"
		}
		c.From, c.To = made[0], made[1]
		j.say(c.ID, action, action, q.c, &c)
	case q.c.From == netlist.Capped && q.c.To == netlist.Capped:
		j.say(c.ID, "cap", "cap", q.c, &c)
	case q.pa != q.pb:
		c.From, c.To = netlist.Capped, netlist.Capped
		j.say(c.ID, "cap", "cap", q.c, &c)
	default:
		j.say(c.ID, "remove", "remove", q.c, nil)
	}
}

func (j *joiner) say(id, action, rule string, was *netlist.Conductor, c *netlist.Conductor) {
	r := j.Rules[rule]
	a := ConductorAction{ID: id, Action: action, Rule: rule, Reason: r.Reason, Source: r.Source, Caution: j.caution(r.Caution)}
	ref := was
	if c != nil {
		a.From, a.To, ref = c.From, c.To, c
	}
	if was != nil {
		a.WasFrom, a.WasTo = was.From, was.To
	}
	a.Colour, a.Gauge, a.Class = ref.Colour, ref.Gauge, ref.Class
	j.w.actions = append(j.w.actions, a)
	if c != nil {
		j.w.conductors = append(j.w.conductors, *c)
	}
}

// dropSplices removes the splices on which nothing ends any more.
func (p *plan) dropSplices(w *layout) {
	busy := map[string]bool{}
	for _, c := range w.conductors {
		busy[device(c.From)], busy[device(c.To)] = true, true
	}
	s := *w.plan
	s.devices, s.actions = slices.Clone(s.devices), slices.Clone(s.actions)
	s.devices = slices.DeleteFunc(s.devices, func(d netlist.Device) bool { return d.Kind == "splice" && !busy[d.ID] })
	for i := range s.actions {
		if a := &s.actions[i]; a.Kind == "splice" && !busy[a.ID] {
			r := p.Rules["splice-out"]
			a.Action, a.Rule, a.Reason, a.Source = "remove", "splice-out", r.Reason, r.Source
		}
	}
	w.plan = &s
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
