package netlist

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"
)

// leakage to earth from every node, siemens: keeps floating circuits defined and
// is far below what a 10 Mohm meter draws.
const leakage = 1e-9

// A Solver solves one Circuit, again and again. It is not safe for concurrent
// use. It remembers the network solution of each set of contact positions, for
// many states and many steps on the way to rest share one.
type Solver struct {
	c     *Circuit
	a, x  []complex128
	base  []complex128
	force map[int]bool // branches held open (false) or closed (true) by a fault
	meter bool         // ohmmeter: dc, supplies off
	probe [2]int32     // ohmmeter leads
	on    bits
	known map[bits][]complex128
	sol   Solution
}

// maxKnown bounds the solutions kept.
const maxKnown = 1024

// NewSolver returns a solver without faults.
func (c *Circuit) NewSolver() *Solver {
	s := &Solver{c: c, a: make([]complex128, c.prog.size), x: make([]complex128, c.prog.n), base: make([]complex128, c.prog.size)}
	s.sol.s = s
	s.rebase()
	return s
}

// Hold sets branches open or closed regardless of their signals, replacing what
// was held before; nil lets all go.
func (s *Solver) Hold(force map[int]bool) {
	s.force = force
	s.rebase()
}

func (s *Solver) volts(a, b int32) complex128 {
	var v complex128
	if a >= 0 {
		v = s.x[a]
	}
	if b >= 0 {
		v -= s.x[b]
	}
	return v
}

func (s *Solver) mag(a, b int32) float64 {
	v := s.volts(a, b)
	return math.Hypot(real(v), imag(v))
}

// across is the voltage on a branch, 0 if a fault holds it open: what makes a coil
// pull or a rotor turn.
func (s *Solver) across(i int) float64 {
	if f, ok := s.force[i]; ok && !f {
		return 0
	}
	return s.mag(s.c.Branches[i].a, s.c.Branches[i].b)
}

// rebase stamps everything that no signal changes.
func (s *Solver) rebase() {
	c := s.c
	clear(s.base)
	s.known = nil
	for _, d := range c.leak {
		s.base[d] += leakage
	}
	for i := range c.Branches {
		if br := &c.Branches[i]; br.sig < 0 || s.held(i) {
			s.stamp(s.base, i, s.admittance(i, nil))
		}
	}
	for i := range c.Sources {
		q, src := c.srcSlot[i], &c.Sources[i]
		add := func(k int, v complex128) {
			if q[k] >= 0 {
				s.base[q[k]] += v
			}
		}
		if s.meter { // the disconnect is open: no current, and the row says only that
			s.base[q[8]] = -1
			continue
		}
		r := complex(src.ratio, 0)
		for k, v := range []complex128{1, -1, -r, r} {
			add(2*k, v)   // column: the current enters the node
			add(2*k+1, v) // row: the node voltage in its equation
		}
		s.base[q[8]] = -src.z
	}
}

func (s *Solver) held(i int) bool { _, ok := s.force[i]; return ok }

func (s *Solver) admittance(i int, on *bits) complex128 {
	br := &s.c.Branches[i]
	k := 1
	if f, ok := s.force[i]; ok {
		if !f {
			return 0
		}
	} else if br.sig >= 0 && on.get(int(br.sig)) == br.inv {
		k = 0
	}
	if s.meter {
		return complex(br.dc[k], 0)
	}
	return br.ac[k]
}

func (s *Solver) stamp(a []complex128, i int, y complex128) {
	q := &s.c.slots[i]
	if q[0] >= 0 {
		a[q[0]] += y
	}
	if q[1] >= 0 {
		a[q[1]] += y
	}
	if q[2] >= 0 {
		a[q[2]] -= y
		a[q[3]] -= y
	}
}

// once gives the network with the signals as they are in s.on, from memory if
// these contact positions were solved before.
func (s *Solver) once() error {
	at := s.on.and(&s.c.contacts)
	if x, ok := s.known[at]; ok && !s.meter {
		copy(s.x, x)
		return nil
	}
	if err := s.network(); err != nil {
		return err
	}
	if !s.meter && len(s.known) < maxKnown {
		if s.known == nil {
			s.known = map[bits][]complex128{}
		}
		s.known[at] = slices.Clone(s.x)
	}
	return nil
}

// network solves the network with the signals as they are in s.on.
func (s *Solver) network() error {
	c := s.c
	copy(s.a, s.base)
	for i := range c.Branches {
		if c.Branches[i].sig >= 0 && (s.force == nil || !s.held(i)) {
			if y := s.admittance(i, &s.on); y != 0 {
				s.stamp(s.a, i, y)
			}
		}
	}
	clear(s.x)
	if s.meter {
		for k, n := range s.probe {
			if n >= 0 {
				s.x[n] += complex(1e-3*float64(1-2*k), 0)
			}
		}
	} else {
		for i := range c.Sources {
			s.x[c.Sources[i].x] = c.Sources[i].e
		}
	}
	return c.prog.solve(s.a, s.x)
}

// step is every signal's next position, given the solution.
func (s *Solver) step() bits {
	next := s.on
	for i := range s.c.signals {
		if f := s.c.signals[i].next; f != nil {
			next.set(i, f(s, &next, s.on.get(i)))
		}
	}
	return next
}

const maxSteps = 64

// Solve finds where the circuit comes to rest in a state, all relays starting
// released and all rotors at rest. The solution is valid until the next call.
//
// Relays move together first. If that does not settle, they are moved one at a
// time, which is how a race between two relays ends; if that does not settle
// either, the circuit chatters and the solution says so.
func (s *Solver) Solve(st State) (*Solution, error) { return s.solve(st, bits{}) }

// Continue is Solve starting from the positions the relays have now: what
// happens when the state changes while the unit runs.
func (s *Solver) Continue(st State) (*Solution, error) { return s.solve(st, s.on) }

// A Position is where all relays and rotors are.
type Position struct{ on bits }

// Position is where the relays and rotors are now.
func (s *Solver) Position() Position { return Position{s.on} }

// From is Continue from positions that were there before, of the same circuit.
func (s *Solver) From(p Position, st State) (*Solution, error) { return s.solve(st, p.on) }

func (s *Solver) solve(st State, from bits) (*Solution, error) {
	if s.meter {
		s.meter = false
		s.rebase()
	}
	sol := &s.sol
	sol.State, sol.Chatter, sol.Steps = st, nil, 0
	begin := from
	for i, sig := range s.c.inputs {
		begin.set(sig, st>>i&1 == 1)
	}
	s.on = begin
	var path []bits
	for {
		if err := s.once(); err != nil {
			return nil, fmt.Errorf("state %s: %w", s.c.Words(st), err)
		}
		sol.Steps++
		next := s.step()
		if next == s.on {
			return sol, nil
		}
		path = append(path, s.on)
		s.on = next
		if cycle := repeated(path, next); cycle != nil || len(path) > maxSteps {
			return s.oneByOne(begin, cycle)
		}
	}
}

func (s *Solver) oneByOne(begin bits, cycle []bits) (*Solution, error) {
	sol := &s.sol
	s.on = begin
	for range 4 * maxSteps {
		if err := s.once(); err != nil {
			return nil, fmt.Errorf("state %s: %w", s.c.Words(sol.State), err)
		}
		sol.Steps++
		next := s.step()
		if next == s.on {
			return sol, nil
		}
		for i := range s.c.signals {
			if v := next.get(i); v != s.on.get(i) {
				s.on.set(i, v)
				break
			}
		}
	}
	sol.Chatter = s.c.cycleWords(cycle)
	return sol, nil
}

func repeated(path []bits, b bits) []bits {
	for i := len(path) - 1; i >= 0; i-- {
		if path[i] == b {
			return path[i:]
		}
	}
	return nil
}

func (c *Circuit) cycleWords(cycle []bits) []string {
	out := []string{}
	for k := range cycle {
		next := cycle[(k+1)%len(cycle)]
		var moves []string
		for i := range c.signals {
			if v := next.get(i); v != cycle[k].get(i) {
				moves = append(moves, c.signals[i].name+pick(v, " on", true, " off"))
			}
		}
		out = append(out, strings.Join(moves, ", "))
	}
	if len(out) == 0 {
		out = append(out, "does not settle")
	}
	return out
}

// A Solution is the rest position in one state. All voltages and currents are
// RMS phasors.
type Solution struct {
	State   State
	Chatter []string // the moves of one cycle, if the relays do not come to rest
	Steps   int      // network solutions it took
	s       *Solver
}

// Voltage between two ends (DEVICE.TERMINAL), volts.
func (x *Solution) Voltage(a, b string) (complex128, error) {
	na, ok := x.s.c.node[a]
	nb, ok2 := x.s.c.node[b]
	if !ok || !ok2 {
		return 0, fail(ErrUnknown, "voltage", "%q to %q", a, b)
	}
	return x.s.volts(na, nb), nil
}

// ToEarth is the voltage of an end against earth; of a capped conductor's core
// if the end is "NAME from" or "NAME to".
func (x *Solution) ToEarth(end string) (complex128, error) {
	n, ok := x.s.c.node[end]
	if !ok {
		return 0, fail(ErrUnknown, "voltage", "%q", end)
	}
	return x.s.x[n], nil
}

// Current through branch i from its first end to its second, amperes.
func (x *Solution) Current(i int) complex128 {
	br := &x.s.c.Branches[i]
	return x.s.admittance(i, &x.s.on) * x.s.volts(br.a, br.b)
}

// Conducts tells whether a contact branch is closed.
func (x *Solution) Conducts(i int) bool { return x.s.admittance(i, &x.s.on) != 0 }

// Amps is the current in a conductor, its magnitude in amperes.
func (x *Solution) Amps(conductor string) (float64, error) {
	for i := range x.s.c.Branches {
		if b := &x.s.c.Branches[i]; b.Kind == ConductorBranch && b.Name == conductor {
			return cmplx.Abs(x.Current(i)), nil
		}
	}
	return 0, fail(ErrUnknown, "conductor "+conductor, "not in this unit")
}

// Drawn tells whether coil i has pulled in, and its voltage.
func (x *Solution) Drawn(i int) (bool, float64) {
	k := &x.s.c.Coils[i]
	return x.s.on.get(k.sig), x.s.mag(x.s.c.node[k.Ends[0]], x.s.c.node[k.Ends[1]])
}

// Feed is what source i delivers: terminal volts, amperes and volt-amperes.
func (x *Solution) Feed(i int) (volts, amps, va float64) {
	src := &x.s.c.Sources[i]
	volts, amps = x.s.mag(src.n[0], src.n[1]), cmplx.Abs(x.s.x[src.x])
	return volts, amps, volts * amps
}

// Statuses says of every load what it does, in the order of Circuit.Loads; ""
// is off.
func (x *Solution) Statuses() []string {
	out := make([]string, len(x.s.c.loads))
	for i := range out {
		out[i] = x.s.c.loads[i].status(x.s, &x.s.on)
	}
	return out
}

// Status of one device; "" is off.
func (x *Solution) Status(device string) string {
	for i := range x.s.c.loads {
		if x.s.c.loads[i].device == device {
			return x.s.c.loads[i].status(x.s, &x.s.on)
		}
	}
	return ""
}

// A Lead is one motor lead's current as a phasor against leg 1 of the supply.
type Lead struct {
	Name    string  `json:"name"` // common, start or run
	End     string  `json:"end"`
	Amps    float64 `json:"amps"`
	Degrees float64 `json:"degrees"`
}

// Leads gives the currents of a capacitor-run motor's leads, common, start and
// run, each taken into the motor for start and run and out of it for common, so
// that common = start + run. A two-speed motor gives the winding in use.
func (x *Solution) Leads(device string) ([]Lead, error) {
	var out []Lead
	var most float64
	for _, m := range x.s.c.motors {
		if m.device != device {
			continue
		}
		r, s := x.Current(m.run), x.Current(m.start)
		lead := func(name, t string, i complex128) Lead {
			return Lead{name, device + "." + t, cmplx.Abs(i), cmplx.Phase(i) * 180 / math.Pi}
		}
		if a := cmplx.Abs(r + s); out == nil || a > most {
			most, out = a, []Lead{lead("common", m.c, r+s), lead("start", m.s, s), lead("run", m.r, r)}
		}
	}
	if out == nil {
		return nil, fail(ErrUnknown, "device "+device, "no motor with a start winding has this name")
	}
	return out, nil
}

// Ohms is what an ohmmeter reads between two ends with every supply off, relays
// at rest and the outside switches as in the state. An open circuit reads near
// 1e9.
func (s *Solver) Ohms(st State, a, b string) (float64, error) {
	na, ok := s.c.node[a]
	nb, ok2 := s.c.node[b]
	if !ok || !ok2 {
		return 0, fail(ErrUnknown, "ohms", "%q to %q", a, b)
	}
	if !s.meter {
		s.meter = true
		s.rebase()
	}
	s.probe = [2]int32{na, nb}
	s.on = bits{}
	for i, sig := range s.c.inputs {
		s.on.set(sig, st>>i&1 == 1)
	}
	if err := s.once(); err != nil {
		return 0, err
	}
	return cmplx.Abs(s.volts(na, nb)) / 1e-3, nil
}

// Rest is the state with every input at its default: no call, safeties closed,
// delays run.
func (c *Circuit) Rest() (st State) {
	for i, in := range c.Inputs {
		if in.Default {
			st |= 1 << i
		}
	}
	return st
}

// With sets one input in a state; an unknown name changes nothing.
func (c *Circuit) With(st State, name string, v bool) State {
	for i, in := range c.Inputs {
		if in.Name == name {
			st &^= 1 << i
			if v {
				st |= 1 << i
			}
		}
	}
	return st
}

// Has tells whether an input is on in a state; false if there is none such.
func (c *Circuit) Has(st State, name string) bool {
	for i, in := range c.Inputs {
		if in.Name == name {
			return st>>i&1 == 1
		}
	}
	return false
}

// States is the number of combinations of the inputs.
func (c *Circuit) States() int { return 1 << len(c.Inputs) }

// Words says a state: who calls, what is open, what has not run.
func (c *Circuit) Words(st State) string {
	var w []string
	for i, in := range c.Inputs {
		on := st>>i&1 == 1
		switch {
		case in.Kind == "call" && on:
			w = append(w, in.Words)
		case in.Kind == "safety" && !on || (in.Kind == "switch" || in.Kind == "control") && on != in.Default:
			what, contact := strings.CutSuffix(in.Words, " closed")
			w = append(w, what+pick(on && contact, " closed", contact, " open"))
		case in.Kind == "delay" && !on:
			w = append(w, strings.Replace(in.Words, "has run", "has not run", 1))
		}
	}
	if len(w) == 0 {
		return "no call"
	}
	return strings.Join(w, ", ")
}

// Islands numbers the parts of the circuit that are joined through conducting
// branches or sources, one number per node; two ends in different islands have no
// defined voltage between them, and a loaded meter reads none. With apart set, ground
// that holds its place joins nothing.
func (x *Solution) islands(apart bool) []int32 {
	s := x.s
	up := make([]int32, s.c.nodes+1)
	for i := range up {
		up[i] = int32(i)
	}
	find := func(i int32) int32 {
		if i < 0 {
			i = int32(s.c.nodes)
		}
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	join := func(a, b int32) {
		if !apart || !s.grounded(a) && !s.grounded(b) {
			up[find(a)] = find(b)
		}
	}
	for i := range s.c.Branches {
		if s.admittance(i, &s.on) != 0 {
			join(s.c.Branches[i].a, s.c.Branches[i].b)
		}
	}
	for i := range s.c.Sources {
		n := s.c.Sources[i].n
		join(n[0], n[1])
		if s.c.Sources[i].ratio != 0 {
			join(n[2], n[3])
		}
	}
	for i := range up {
		up[i] = find(int32(i))
	}
	return up
}

// grounded tells whether a node is earth, or belongs to the equipment ground and
// stands within 5 V of earth: a ground screw that nothing grounds is a mere joint.
func (s *Solver) grounded(n int32) bool { return n < 0 || s.c.ground[n] && s.mag(n, -1) < 5 }

// A Reader answers what a meter reads in one solution.
type Reader struct {
	x       *Solution
	islands []int32
}

// Reader prepares the solution for readings; it is valid as long as the solution.
func (x *Solution) Reader() Reader { return Reader{x, x.islands(false)} }

// Volts is what a voltmeter with some load of its own reads between two ends.
func (r Reader) Volts(a, b string) (float64, error) {
	c := r.x.s.c
	na, ok := c.node[a]
	nb, ok2 := c.node[b]
	if !ok || !ok2 {
		return 0, fail(ErrUnknown, "volts", "%q to %q", a, b)
	}
	if r.islands[na] != r.islands[nb] {
		return 0, nil
	}
	return r.x.s.mag(na, nb), nil
}

// Bonded tells whether a line conductor and a Class 2 one are joined through
// anything that conducts, other than a transformer's coupling and ground.
func (x *Solution) Bonded() (line, class2 string, bonded bool) {
	is := x.islands(true)
	seen := make([]int32, len(is)) // one more than the line conductor that is there
	for i := range x.s.c.Branches {
		if br := &x.s.c.Branches[i]; br.class == Line {
			seen[is[br.a]], seen[is[br.b]] = int32(i)+1, int32(i)+1
		}
	}
	for i := range x.s.c.Branches {
		if br := &x.s.c.Branches[i]; br.class == Class2 {
			for _, n := range []int32{br.a, br.b} {
				if l := seen[is[n]]; l != 0 {
					return x.s.c.Branches[l-1].Name, br.Name, true
				}
			}
		}
	}
	return "", "", false
}

// Path lists the contacts and conductors that carry the current of a device's
// first energised part back to the source: how it comes to be live. Names are
// conductor names and DEVICE/contact.
func (x *Solution) Path(device string) []string {
	c := x.s.c
	start, most := -1, 1e-4
	for i := range c.Branches {
		if br := &c.Branches[i]; br.Device == device {
			if a := cmplx.Abs(x.Current(i)); a > most {
				start, most = i, a
			}
		}
	}
	if start < 0 {
		return nil
	}
	src := map[int32]bool{}
	for i := range c.Sources {
		src[c.Sources[i].n[0]], src[c.Sources[i].n[1]] = true, true
	}
	type hop struct {
		branch int
		prev   int32
	}
	var out []string
	for _, from := range []int32{c.Branches[start].a, c.Branches[start].b} {
		back := map[int32]hop{from: {-1, -1}}
		queue := []int32{from}
		for len(queue) > 0 {
			n := queue[0]
			queue = queue[1:]
			if src[n] {
				for h := back[n]; h.branch >= 0; h = back[h.prev] {
					br := &c.Branches[h.branch]
					out = append(out, strings.TrimPrefix(br.Device+"/"+br.Name, "/"))
				}
				break
			}
			for i := range c.Branches {
				br := &c.Branches[i]
				if i == start || br.Kind == LoadBranch && cmplx.Abs(x.s.admittance(i, &x.s.on)) < 10 || cmplx.Abs(x.Current(i)) < 0.5*most {
					continue
				}
				for _, e := range [2][2]int32{{br.a, br.b}, {br.b, br.a}} {
					if _, seen := back[e[1]]; e[0] == n && e[1] >= 0 && !seen {
						back[e[1]] = hop{i, n}
						queue = append(queue, e[1])
					}
				}
			}
		}
	}
	return out
}
