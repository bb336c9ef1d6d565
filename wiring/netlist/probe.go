package netlist

import (
	"slices"
	"strings"
)

// What a judge of circuits needs to see of one: its graph, what works each
// branch, and the solution by branch and node. Nodes are numbers from 0; Earth is
// the node of the solver's reference.

// Earth is the node of the reference, in which every earth branch ends.
const Earth = -1

// Assemble is Compile without the rules of a unit file (classes, crowded
// terminals, ranges): a circuit that nobody should build can be solved too. Only
// what cannot be solved is an error: an unknown kind, end or gauge.
func Assemble(u *Unit) (*Circuit, error) {
	devs := map[string]*Device{}
	for i := range u.Devices {
		d := &u.Devices[i]
		if Kinds[d.Kind] == nil {
			return nil, fail(ErrKind, "device "+d.ID, "kind %q is not known", d.Kind)
		}
		if devs[d.ID] != nil {
			return nil, fail(ErrDuplicate, "device "+d.ID, "two devices have this name")
		}
		devs[d.ID] = d
	}
	seen := map[string]bool{}
	for i := range u.Conductors {
		w := &u.Conductors[i]
		if seen[w.ID] {
			return nil, fail(ErrDuplicate, "conductor "+w.ID, "two conductors have this name")
		}
		seen[w.ID] = true
		if !(w.Ohms() > 0) {
			return nil, fail(ErrConductor, "conductor "+w.ID, "gauge %d AWG, length %v m", w.Gauge, w.Length)
		}
		for _, e := range []string{w.From, w.To} {
			if e == Capped {
				continue
			}
			if _, err := u.terminal(devs, e); err != nil {
				return nil, err
			}
		}
	}
	return compile(u)
}

// Nodes gives the two nodes that a branch joins, Earth for the reference.
func (b *Branch) Nodes() (from, to int) { return int(b.a), int(b.b) }

// Class of a conductor branch; empty for a part of a device.
func (b *Branch) Class() Class { return b.class }

// Worked tells whether a signal changes the branch at all; what is not worked is
// always as it is.
func (b *Branch) Worked() bool { return b.sig >= 0 }

// CanOpen tells whether the branch carries nothing in one position of its signal.
func (b *Branch) CanOpen() bool { return b.sig >= 0 && b.ac[0] == 0 }

// Siemens is the admittance of the branch while it conducts.
func (b *Branch) Siemens() complex128 { return b.ac[1] }

// Nodes of a source: its two terminals, and the two of its primary or Earth, Earth
// if it has none.
func (s *Source) Nodes() (plus, minus, primary1, primary2 int) {
	return int(s.n[0]), int(s.n[1]), int(s.n[2]), int(s.n[3])
}

// Coupled tells whether the source is a transformer's secondary.
func (s *Source) Coupled() bool { return s.ratio != 0 }

// NodeCount is the number of nodes, earth not counted.
func (c *Circuit) NodeCount() int { return c.nodes }

// Node is the number of an end's node.
func (c *Circuit) Node(end string) (int, bool) {
	n, ok := c.node[end]
	return int(n), ok
}

// Worker says what works a branch: the number of the input whose signal it hangs
// on, or of the coil, -1 each if it is not that; both -1 for a branch that hangs on
// other logic, or on none.
func (c *Circuit) Worker(branch int) (input, coil int) {
	input, coil = -1, -1
	sig := int(c.Branches[branch].sig)
	if sig < 0 {
		return
	}
	input = slices.Index(c.inputs, sig)
	for i := range c.Coils {
		if c.Coils[i].sig == sig {
			coil = i
		}
	}
	return
}

// Plain tells whether an input works contacts and nothing else: no device that
// asks for it has logic of its own, which might look at it.
func (c *Circuit) Plain(input int) bool {
	for dev := range c.askedBy[input] {
		if c.thinks[dev] {
			return false
		}
	}
	return true
}

// Users are the devices that ask for an input, in order of their names.
func (c *Circuit) Users(input int) []string {
	var out []string
	for dev := range c.askedBy[input] {
		out = append(out, dev)
	}
	slices.Sort(out)
	return out
}

// Across is the voltage on a branch from its first end to its second, volts.
func (x *Solution) Across(branch int) complex128 {
	br := &x.s.c.Branches[branch]
	return x.s.volts(br.a, br.b)
}

// NodeVolts is a node's voltage to the reference.
func (x *Solution) NodeVolts(n int) complex128 {
	if n < 0 {
		return 0
	}
	return x.s.x[n]
}

// Grounded tells whether a node is earth or belongs to the equipment ground: a
// terminal for it, or an end of one of its conductors.
func (c *Circuit) Grounded(n int) bool { return n < 0 || c.ground[n] }

// Last is the solution that the solver found last.
func (s *Solver) Last() *Solution { return &s.sol }

// Vary is the circuit with the direct-current resistance of its electronics (boards,
// inputs, data lines, timers, electronic motors, sensors) times factor: nobody's
// plate states it, so what an ohmmeter reads through it hangs on the maker.
func (c *Circuit) Vary(factor float64) (*Circuit, error) {
	v, err := compile(c.Unit)
	if err != nil {
		return nil, err
	}
	for i := range v.Branches {
		br := &v.Branches[i]
		d := v.Unit.Device(br.Device)
		if br.Kind != LoadBranch || d == nil {
			continue
		}
		first, _, _ := strings.Cut(br.Name, " ")
		timer := d.Kind == "time-delay" && first == "coil"
		if timer || slices.Contains([]string{"board", "input", "electronics", "bus", "sensor", "LPS", "DTS"}, first) || first == "motor" && strings.Contains(d.Kind, "ecm") {
			br.dc[0] /= factor
			br.dc[1] /= factor
		}
	}
	return v, nil
}
