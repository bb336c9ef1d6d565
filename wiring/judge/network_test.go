package judge

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
)

func pow(a, b float64) float64 { return math.Pow(a, b) }

// An rlc is a resistance, an inductance and a capacitance in series; a
// capacitance of zero is none. The zero value conducts nothing.
type rlc struct{ r, l, c float64 }

func (z rlc) ohms(w float64) complex128 {
	x := w * z.l
	if z.c > 0 {
		x -= 1 / (w * z.c)
	}
	return complex(z.r, x)
}

func (z rlc) times(k float64) rlc {
	out := rlc{r: k * z.r, l: k * z.l}
	if z.c > 0 {
		out.c = z.c / k
	}
	return out
}

// of turns an impedance at one frequency into parts that have it.
func of(z complex128, w float64) rlc {
	if imag(z) < 0 {
		return rlc{r: real(z), c: -1 / (w * imag(z))}
	}
	return rlc{r: real(z), l: imag(z) / w}
}

// A part is one two-terminal piece of the network. Its impedance is on while its
// bit is set and off while it is not; a part without a bit (-1) is always on.
type part struct {
	dev, name string
	a, b      int
	on, off   rlc
	emf       complex128 // of a source, in series with on: a above b
	bit       int
	wire      int // index of the conductor, or -1
	contact   bool
	fuse      bool
	amps      float64 // rating, 0: none
}

// A coupler is a transformer: an ideal ratio with the leakage impedance on the
// secondary's side.
type coupler struct {
	dev            string
	p1, p2, s1, s2 int
	ratio          float64 // secondary volts per primary volt, open
	z              rlc
	va, volts      float64
}

// A bits is a set of inputs and signals.
type bits [3]uint64

func (b bits) has(i int) bool { return b[i>>6]>>(i&63)&1 == 1 }
func (b bits) with(i int, v bool) bits {
	if v {
		b[i>>6] |= 1 << (i & 63)
	} else {
		b[i>>6] &^= 1 << (i & 63)
	}
	return b
}
func (b bits) and(m bits) bits { return bits{b[0] & m[0], b[1] & m[1], b[2] & m[2]} }

// An input is a fact of the outside world.
type input struct {
	name, dev, kind string // kind: call, switch, delay, fuse
	rest            bool
	bit             int
}

// A signal is a relay, a circuit's decision or a rotor: how it will stand, given
// the voltages and how things stand. Rotors are slow: they move when the rest is
// still.
type signal struct {
	name string
	slow bool
	bit  int
	next func(v view, now bits) bool
}

// A net is a unit ready to be solved.
type net struct {
	f        *file
	w        float64
	node     map[string]int
	names    []string
	parts    []part
	couplers []coupler
	inputs   []input
	signals  []signal
	nbits    int
	motors   []motor
	loads    []load
	earths   []int // parts that lead to earth
	shells   []int // ground terminals of cabinets and motors
	ground   map[int]bool
	metal    union // joined by conductors
	plan     *plan
	ctl      bits // bits that some part hangs on
	memo     map[bits][]complex128
	dead     map[string]bool // devices whose source or coupling is taken out
}

// A view is the voltages of one solution.
type view struct {
	n *net
	v []complex128
}

func (x view) across(a, b int) complex128 { return x.v[a] - x.v[b] }

// A load is something whose voltage is its duty.
type load struct {
	dev, name, what string // what: heater, fan, coil, delay, blower, input, board, compressor
	a, b            int
	volts           float64
	lo, hi          float64                        // of a coil: drop-out and pick-up
	level           func(v view, now bits) float64 // in place of the voltage
}

func (n *net) at(dev, term string) int { return n.nodeOf(dev + "." + term) }

func (n *net) nodeOf(name string) int {
	if i, ok := n.node[name]; ok {
		return i
	}
	n.node[name] = len(n.names)
	n.names = append(n.names, name)
	return n.node[name]
}

func (n *net) newBit() int {
	n.nbits++
	if n.nbits > 192 {
		panic("too many inputs and signals")
	}
	return n.nbits - 1
}

func (n *net) input(name, dev, kind string, rest bool) int {
	for _, in := range n.inputs {
		if in.name == name {
			return in.bit
		}
	}
	b := n.newBit()
	n.inputs = append(n.inputs, input{name, dev, kind, rest, b})
	return b
}

func (n *net) signal(name string, next func(v view, now bits) bool) int {
	b := n.newBit()
	n.signals = append(n.signals, signal{name, false, b, next})
	return b
}

func (n *net) add(p part) *part {
	p.wire = -1
	n.parts = append(n.parts, p)
	return &n.parts[len(n.parts)-1]
}

// impede adds an impedance that is always there.
func (n *net) impede(d *device, name, t1, t2 string, z complex128) {
	n.add(part{dev: d.ID, name: name, a: n.at(d.ID, t1), b: n.at(d.ID, t2), on: of(z, n.w), bit: -1})
}

// touch adds a contact that is closed while the bit is set, or while it is not.
func (n *net) touch(d *device, name, t1, t2 string, bit int, whenSet bool) {
	r := rlc{r: 5e-3}
	if d.has("contact-ohms") {
		r.r = math.Max(1e-3, d.num("contact-ohms"))
	}
	p := part{dev: d.ID, name: name, a: n.at(d.ID, t1), b: n.at(d.ID, t2), bit: bit, contact: true}
	if whenSet {
		p.on = r
	} else {
		p.off = r
	}
	if d.has("contact-amps") {
		p.amps = d.num("contact-amps")
	}
	n.add(p)
}

// compile makes a network of a file. dead names devices whose source or
// transformer coupling is taken out: an open disconnect, a primary pulled off.
func compile(f *file, dead ...string) (n *net, err error) {
	defer func() {
		if r := recover(); r != nil {
			n, err = nil, fmt.Errorf("second reading of %s: %v", f.Name, r)
		}
	}()
	n = &net{f: f, w: 2 * math.Pi * f.Hertz, node: map[string]int{"earth": 0}, names: []string{"earth"}, memo: map[bits][]complex128{}, dead: map[string]bool{}}
	for _, d := range dead {
		n.dead[d] = true
	}
	for i := range f.Devices {
		d := &f.Devices[i]
		for _, t := range netlistTerminals(d.Kind) {
			if k := n.at(d.ID, t); terminalClass(d.Kind, t) == "ground" && !isSupply(d.Kind) {
				n.shells = append(n.shells, k)
			}
		}
		model, ok := models[d.Kind]
		if !ok {
			return nil, fmt.Errorf("second reading has no model of a %s", d.Kind)
		}
		model(n, d)
	}
	for i := range f.Conductors {
		n.conductor(i)
	}
	for _, p := range n.parts {
		if p.bit >= 0 {
			n.ctl = n.ctl.with(p.bit, true)
		}
	}
	n.plan, n.ground = n.order(), n.grounds()
	return n, nil
}

func (n *net) conductor(i int) {
	c := &n.f.Conductors[i]
	end := func(s, which string) int {
		if s == "capped" {
			return n.nodeOf(c.ID + " " + which)
		}
		if _, ok := n.node[s]; !ok {
			panic("conductor " + c.ID + " ends on " + s)
		}
		return n.node[s]
	}
	l := c.Length
	if l == 0 {
		l = 0.6
	}
	n.add(part{name: c.ID, a: end(c.From, "from"), b: end(c.To, "to"), on: rlc{r: l * milliohmPerMetre(c.Gauge) / 1e3}, bit: -1}).wire = i
}

// A plan is the order in which nodes are eliminated, and what each elimination
// touches. It is found once for a net: the pattern does not depend on the state.
type plan struct {
	slot  map[[2]int]int32 // entry (i, j), i <= j in node numbers
	steps []step
	n     int
}

type step struct {
	k    int
	diag int32
	rows []int32    // later nodes joined to k
	ent  []int32    // entries (k, row)
	upd  [][3]int32 // entry, row index, row index
}

// order eliminates the node of fewest neighbours first.
func (n *net) order() *plan {
	p := &plan{slot: map[[2]int]int32{}}
	adj := make([]map[int]bool, len(n.names))
	for i := range adj {
		adj[i] = map[int]bool{}
	}
	join := func(ns ...int) {
		for _, a := range ns {
			for _, b := range ns {
				if a != b && a != 0 && b != 0 {
					adj[a][b] = true
				}
			}
		}
	}
	for _, q := range n.parts {
		join(q.a, q.b)
	}
	for _, c := range n.couplers {
		join(c.p1, c.p2, c.s1, c.s2)
	}
	gone := make([]bool, len(adj))
	for range len(adj) - 1 {
		best := -1
		for i := 1; i < len(adj); i++ {
			if !gone[i] && (best < 0 || len(adj[i]) < len(adj[best])) {
				best = i
			}
		}
		gone[best] = true
		var rest []int
		for j := range adj[best] {
			rest = append(rest, j)
		}
		slices.Sort(rest)
		for _, j := range rest {
			delete(adj[j], best)
		}
		join(rest...)
		s := step{k: best, diag: p.entry(best, best)}
		for _, j := range rest {
			s.rows = append(s.rows, int32(j))
			s.ent = append(s.ent, p.entry(best, j))
		}
		for a := range rest {
			for b := a; b < len(rest); b++ {
				s.upd = append(s.upd, [3]int32{p.entry(rest[a], rest[b]), int32(a), int32(b)})
			}
		}
		p.steps = append(p.steps, s)
	}
	return p
}

func (p *plan) entry(i, j int) int32 {
	if i > j {
		i, j = j, i
	}
	k := [2]int{i, j}
	if s, ok := p.slot[k]; ok {
		return s
	}
	p.slot[k] = int32(p.n)
	p.n++
	return p.slot[k]
}

// stamps gives the admittances and the injected currents at a position.
func (n *net) stamps(now bits, y func(i, j int, v complex128), inj func(i int, v complex128)) {
	branch := func(a, b int, g complex128) {
		y(a, a, g)
		y(b, b, g)
		if a != b {
			y(a, b, -g)
		}
	}
	for i := range n.parts {
		p := &n.parts[i]
		z, ok := n.impedance(p, now)
		if !ok {
			continue
		}
		g := 1 / z
		branch(p.a, p.b, g)
		if p.emf != 0 && !n.dead[p.dev] {
			inj(p.a, g*p.emf)
			inj(p.b, -g*p.emf)
		}
	}
	for _, c := range n.couplers {
		if n.dead[c.dev] {
			continue
		}
		// i = g (vs - ratio vp) leaves the secondary's top; the primary takes ratio times that.
		g, m := 1/c.z.ohms(n.w), complex(c.ratio, 0)
		t := [4]int{c.s1, c.s2, c.p1, c.p2}
		k := [4]complex128{1, -1, -m, m}
		for a := range t {
			for b := a; b < 4; b++ {
				if t[a] == t[b] && a != b {
					y(t[a], t[a], 2*g*k[a]*k[b])
				} else {
					y(t[a], t[b], g*k[a]*k[b])
				}
			}
		}
	}
}

// impedance of a part as things stand; false if it does not conduct.
func (n *net) impedance(p *part, now bits) (complex128, bool) {
	z := p.on
	if p.bit >= 0 && !now.has(p.bit) {
		z = p.off
	}
	if p.emf != 0 && n.dead[p.dev] {
		return 0, false
	}
	return z.ohms(n.w), z != rlc{}
}

const leak = 1e-9 // siemens from each node to earth, so that what floats has a voltage

// solve gives the node voltages at a position.
func (n *net) solve(now bits) view {
	key := now.and(n.ctl)
	if v, ok := n.memo[key]; ok {
		return view{n, v}
	}
	m := make([]complex128, n.plan.n)
	v := make([]complex128, len(n.names))
	n.stamps(now, func(i, j int, g complex128) {
		if i != 0 && j != 0 {
			if i > j {
				i, j = j, i
			}
			m[n.plan.slot[[2]int{i, j}]] += g
		}
	}, func(i int, a complex128) { v[i] += a })
	for _, s := range n.plan.steps {
		m[s.diag] += leak
	}
	for _, s := range n.plan.steps {
		d := 1 / m[s.diag]
		for _, u := range s.upd {
			if a, b := m[s.ent[u[1]]], m[s.ent[u[2]]]; a != 0 && b != 0 {
				m[u[0]] -= a * b * d
			}
		}
		for i, r := range s.rows {
			v[r] -= v[s.k] * m[s.ent[i]] * d
		}
	}
	for i := len(n.plan.steps) - 1; i >= 0; i-- {
		s := &n.plan.steps[i]
		x := v[s.k]
		for j, r := range s.rows {
			x -= m[s.ent[j]] * v[r]
		}
		v[s.k] = x / m[s.diag]
	}
	v[0] = 0
	n.memo[key] = v
	return view{n, v}
}

// current through a part from a to b.
func (n *net) current(p *part, v view, now bits) complex128 {
	z, ok := n.impedance(p, now)
	if !ok {
		return 0
	}
	return (v.across(p.a, p.b) - p.emf) / z
}

// rest is how the outside world is by default, everything else at rest.
func (n *net) rest() (b bits) {
	for _, in := range n.inputs {
		b = b.with(in.bit, in.rest)
	}
	return b
}

// settle finds where things come to rest from how they stand. Everything fast
// moves together; if that does not come to rest, one after the other; then the
// rotors; and so on. false: they never come to rest.
func (n *net) settle(now bits, volts func(bits) view) (bits, view, bool) {
	for range 12 {
		next, v, ok := n.still(now, volts, false)
		if !ok {
			return next, v, false
		}
		moved := next
		for _, s := range n.signals {
			if s.slow {
				moved = moved.with(s.bit, s.next(v, next))
			}
		}
		if moved == next {
			return next, v, true
		}
		now = moved
	}
	return now, volts(now), false
}

func (n *net) still(now bits, volts func(bits) view, single bool) (bits, view, bool) {
	for range 60 {
		v := volts(now)
		next := now
		for _, s := range n.signals {
			if s.slow {
				continue
			}
			next = next.with(s.bit, s.next(v, now))
			if single && next != now {
				break
			}
		}
		if next == now {
			return now, v, true
		}
		now = next
	}
	if !single {
		return n.still(now, volts, true)
	}
	return now, volts(now), false
}

// union is the forest of nodes that belong together.
type union []int

func newUnion(n int) union {
	u := make(union, n)
	for i := range u {
		u[i] = i
	}
	return u
}

// root is the least node of a node's tree.
func (u union) root(i int) int {
	for u[i] != i {
		u[i] = u[u[i]]
		i = u[i]
	}
	return i
}

func (u union) join(a, b int) {
	a, b = u.root(a), u.root(b)
	u[max(a, b)] = min(a, b)
}

// islands gives the least node of what a node is joined to by anything that
// conducts as things stand, a transformer's coupling apart; earth is node 0.
func (n *net) islands(now bits) func(k int) int {
	u := newUnion(len(n.names))
	for i := range n.parts {
		if _, ok := n.impedance(&n.parts[i], now); ok {
			u.join(n.parts[i].a, n.parts[i].b)
		}
	}
	return u.root
}

// joined tells whether two nodes are one piece of metal as things stand: through
// conductors and closed contacts only.
func (n *net) joined(now bits, a, b int) bool {
	u := newUnion(len(n.names))
	for i := range n.parts {
		p := &n.parts[i]
		if p.wire < 0 && !p.contact {
			continue
		}
		if _, ok := n.impedance(p, now); ok {
			u.join(p.a, p.b)
		}
	}
	return u.root(a) == u.root(b)
}

func abs(z complex128) float64 { return cmplx.Abs(z) }
