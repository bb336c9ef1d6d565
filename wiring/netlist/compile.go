package netlist

import (
	"math"
	"math/cmplx"
	"strings"
)

// BranchKind tells conductors, contacts and loads apart.
type BranchKind int

const (
	LoadBranch BranchKind = iota
	ContactBranch
	ConductorBranch
)

// A Branch joins two nodes. Its admittance is ac[1] (dc[1] for an ohmmeter) while
// its signal is on, ac[0] while it is off; without a signal it is always on.
type Branch struct {
	Device string // empty for a conductor
	Name   string // the conductor's name, or what part of the device
	Kind   BranchKind
	Ends   [2]string // DEVICE.TERMINAL, Capped or earth
	Rating float64   // A; 0 if none
	class  Class     // of a conductor
	a, b   int32
	ac     [2]complex128
	dc     [2]float64
	sig    int32
	inv    bool
}

// A Coil is something that pulls at one voltage and lets go at another.
type Coil struct {
	Device                 string
	Ends                   [2]string
	Rated, PickUp, DropOut float64
	sig                    int
}

// An Input is a fact of the outside world that the circuit depends on.
type Input struct {
	Name    string `json:"name"`
	Kind    string `json:"kind"` // call, safety, delay or switch
	Words   string `json:"words"`
	Default bool   `json:"default"`
}

// A State is one choice for every input: bit i is input i.
type State uint32

// A Source is what feeds the circuit: a supply leg or a transformer.
type Source struct {
	Device string
	Name   string
	Class  Class
	Open   float64 // open-circuit volts
	Rating float64 // A
	VA     float64 // transformers only
	n      [4]int32
	ratio  float64 // secondary over primary; 0 for a plain source
	e, z   complex128
	dcPri  float64
	dcSec  float64
	x      int32 // its unknown current
}

type signal struct {
	name string
	next func(s *Solver, on *bits, prev bool) bool // nil for an input
}

type load struct {
	device, kind string
	status       func(s *Solver, on *bits) string
}

// A Circuit is a Unit made ready for solving. It is immutable and may be shared;
// each goroutine takes its own Solver.
type Circuit struct {
	Unit     *Unit
	Inputs   []Input
	Branches []Branch
	Coils    []Coil
	Sources  []Source
	Loads    []string // devices that have a status, in order
	LoadKind []string

	omega    float64
	contacts bits              // the signals that some branch hangs on
	askedBy  []map[string]bool // per input: the devices that asked for it
	thinks   map[string]bool   // devices with logic of their own
	node     map[string]int32
	nodes    int
	ground   []bool // per node: a terminal for equipment ground, or an end of its conductors
	signals  []signal
	inputs   []int // signal of each input
	loads    []load
	motors   []motorPart
	prog     *program
	slots    [][4]int32 // per branch: aa, bb, ab, ba; -1 where earth
	leak     []int32
	srcSlot  [][]int32
}

type motorPart struct {
	device, suffix, c, r, s string
	run, start              int
}

const maxSignals = 256

type bits [maxSignals / 64]uint64

func (b *bits) get(i int) bool { return b[i>>6]>>(i&63)&1 == 1 }
func (b *bits) set(i int, v bool) {
	if v {
		b[i>>6] |= 1 << (i & 63)
	} else {
		b[i>>6] &^= 1 << (i & 63)
	}
}

func (b bits) and(c *bits) bits {
	for i := range b {
		b[i] &= c[i]
	}
	return b
}

type builder struct {
	*Circuit
	dev *Device
}

// Compile makes a unit ready for solving.
func Compile(u *Unit) (*Circuit, error) {
	if err := u.Validate(); err != nil {
		return nil, err
	}
	return compile(u)
}

func compile(u *Unit) (*Circuit, error) {
	c := &Circuit{Unit: u.Clone(), omega: 2 * math.Pi * u.Hertz, node: map[string]int32{}, thinks: map[string]bool{}}
	b := &builder{Circuit: c}
	alike := map[string]int{}
	for _, d := range c.Unit.Devices {
		if d.Label != "" {
			alike[d.Label]++
		}
	}
	for i := range c.Unit.Devices {
		d := &c.Unit.Devices[i]
		b.dev = d
		for _, t := range Kinds[d.Kind].Terminals {
			c.node[d.ID+"."+t.Name] = int32(c.nodes)
			c.nodes++
			c.ground = append(c.ground, t.Class == Ground)
		}
		said := *d // parts that are called alike are told apart by their ids
		if alike[d.Label] > 1 {
			said.Label += " (" + d.ID + ")"
		}
		Kinds[d.Kind].build(b, &said)
	}
	b.dev = nil
	for i := range c.Unit.Conductors {
		w := &c.Unit.Conductors[i]
		g := 1 / w.Ohms()
		br := Branch{Name: w.ID, Kind: ConductorBranch, class: w.Class, Ends: [2]string{w.From, w.To}, sig: -1, ac: [2]complex128{0, complex(g, 0)}, dc: [2]float64{0, g}}
		br.a, br.b = b.end(w.From, w.ID+" from"), b.end(w.To, w.ID+" to")
		c.Branches = append(c.Branches, br)
		if w.Class == Ground {
			c.ground[br.a], c.ground[br.b] = true, true
		}
	}
	if len(c.signals) > maxSignals {
		return nil, fail(ErrTooBig, "unit", "%d relays and inputs, at most %d", len(c.signals), maxSignals)
	}
	if len(c.Inputs) > 16 {
		return nil, fail(ErrTooBig, "unit", "%d calls, safeties and delays, at most 16", len(c.Inputs))
	}
	for i := range c.Branches {
		if s := c.Branches[i].sig; s >= 0 {
			c.contacts.set(int(s), true)
		}
	}
	c.pattern()
	return c, nil
}

func (b *builder) end(s, capName string) int32 {
	if s != Capped {
		return b.node[s]
	}
	b.node[capName] = int32(b.nodes)
	b.nodes++
	b.ground = append(b.ground, false)
	return int32(b.nodes - 1)
}

func (c *Circuit) pattern() {
	n := c.nodes
	var pairs [][2]int32
	join := func(i, j int32) {
		if i >= 0 && j >= 0 {
			pairs = append(pairs, [2]int32{i, j})
		}
	}
	for i := range c.Branches {
		join(c.Branches[i].a, c.Branches[i].b)
	}
	for i := range c.Sources {
		s := &c.Sources[i]
		s.x = int32(n)
		n++
		for _, k := range s.n {
			join(k, s.x)
		}
	}
	p := compileLU(n, pairs)
	at := func(i, j int32) int32 {
		if i < 0 || j < 0 {
			return -1
		}
		return p.at(i, j)
	}
	size := p.size
	for i := range c.Branches {
		a, b := c.Branches[i].a, c.Branches[i].b
		c.slots = append(c.slots, [4]int32{at(a, a), at(b, b), at(a, b), at(b, a)})
	}
	for i := range c.nodes {
		c.leak = append(c.leak, p.at(int32(i), int32(i)))
	}
	for i := range c.Sources {
		s := &c.Sources[i]
		var q []int32
		for _, k := range s.n {
			q = append(q, at(k, s.x), at(s.x, k))
		}
		c.srcSlot = append(c.srcSlot, append(q, at(s.x, s.x)))
	}
	if p.size != size {
		panic("netlist: pattern grew after ordering") // a bug in pattern, not in a unit
	}
	p.slot = nil
	c.prog = p
}

// t is the node of a terminal of the device being built; "" is earth.
func (b *builder) t(name string) int32 {
	if name == "" {
		return -1
	}
	return b.node[b.dev.ID+"."+name]
}

func (b *builder) inner(name string) int32 {
	b.node[b.dev.ID+"/"+name] = int32(b.nodes)
	b.nodes++
	b.ground = append(b.ground, false)
	return int32(b.nodes - 1)
}

func (b *builder) endName(name string) string {
	if name == "" {
		return "earth"
	}
	return b.dev.ID + "." + name
}

func (b *builder) load(name, t1, t2 string, z complex128, rdc float64) *Branch {
	b.Branches = append(b.Branches, Branch{Device: b.dev.ID, Name: name, Ends: [2]string{b.endName(t1), b.endName(t2)},
		a: b.t(t1), b: b.t(t2), sig: -1, ac: [2]complex128{0, 1 / z}, dc: [2]float64{0, 1 / rdc}})
	return &b.Branches[len(b.Branches)-1]
}

func (b *builder) contact(name, t1, t2 string, sig int, inv bool, ohms, rating float64) {
	b.contactN(name, b.t(t1), b.t(t2), sig, inv, ohms, rating)
	b.Branches[len(b.Branches)-1].Ends = [2]string{b.endName(t1), b.endName(t2)}
}

func (b *builder) contactN(name string, n1, n2 int32, sig int, inv bool, ohms, rating float64) {
	g := 1 / max(ohms, 1e-4)
	b.Branches = append(b.Branches, Branch{Device: b.dev.ID, Name: name, Kind: ContactBranch, Rating: rating,
		a: n1, b: n2, sig: int32(sig), inv: inv, ac: [2]complex128{0, complex(g, 0)}, dc: [2]float64{0, g}})
}

func (b *builder) source(name string, n1, n2 int32, e, z complex128, amps float64, class Class) {
	b.Sources = append(b.Sources, Source{Device: b.dev.ID, Name: name, Class: class, Open: cmplx.Abs(e), Rating: amps, n: [4]int32{n1, n2, -1, -1}, e: e, z: z})
}

func (b *builder) transformer(d *Device) {
	pv := d.P("primary-volts")
	b.Sources = append(b.Sources, Source{Device: d.ID, Name: "secondary", Class: Class2, Open: d.P("open-volts"), VA: d.P("va"), Rating: d.P("va") / d.P("volts"),
		n: [4]int32{b.t("S1"), b.t("S2"), b.t("P1"), b.t("P2")}, ratio: d.P("open-volts") / pv, z: complex(d.P("ohms"), d.P("reactance")),
		dcPri: d.P("primary-dc-ohms"), dcSec: d.P("secondary-dc-ohms")})
	// Magnetising branch: about a tenth of the rated load, mostly reactive.
	zm := pv * pv / d.P("va") * 8
	b.load("primary", "P1", "P2", complex(0.25*zm, zm), d.P("primary-dc-ohms"))
	br := b.load("secondary", "S1", "S2", 1, d.P("secondary-dc-ohms"))
	br.ac[1] = 0 // only the ohmmeter sees it; the phasor solver has the source row
}

// coil adds a coil and its signal.
func (b *builder) coil(d *Device, t1, t2 string) int {
	b.load("coil", t1, t2, complex(d.P("coil-ohms"), d.P("coil-reactance")), d.P("coil-dc-ohms"))
	i, in, out := b.last(), d.P("pick-up"), d.P("drop-out")
	sig := b.logic(d.ID+" coil", func(s *Solver, _ *bits, prev bool) bool {
		v := s.across(i)
		return v >= in || prev && v > out
	})
	b.Coils = append(b.Coils, Coil{Device: d.ID, Ends: [2]string{b.endName(t1), b.endName(t2)}, Rated: d.P("coil-volts"), PickUp: in, DropOut: out, sig: sig})
	return sig
}

// last is the number of the branch added last.
func (b *builder) last() int { return len(b.Branches) - 1 }

func (b *builder) logic(name string, next func(s *Solver, on *bits, prev bool) bool) int {
	b.signals = append(b.signals, signal{name, next})
	if next != nil && b.dev != nil {
		b.thinks[b.dev.ID] = true
	}
	return len(b.signals) - 1
}

// input finds or makes an input; two thermostats share the calls.
func (b *builder) input(name, kind, words string, def bool) int {
	for i, in := range b.Inputs {
		if in.Name == name {
			b.askedBy[i][b.dev.ID] = true
			return b.inputs[i]
		}
	}
	b.askedBy = append(b.askedBy, map[string]bool{b.dev.ID: true})
	b.Inputs = append(b.Inputs, Input{name, kind, words, def})
	b.inputs = append(b.inputs, b.logic(name, nil))
	return b.inputs[len(b.inputs)-1]
}

func (b *builder) status(kind string, f func(s *Solver, on *bits) string) {
	b.loads = append(b.loads, load{b.dev.ID, kind, f})
	b.Loads = append(b.Loads, b.dev.ID)
	b.LoadKind = append(b.LoadKind, kind)
}

// motor adds one pair of windings; turn is its rotor, hum tells whether it is
// energised without turning. With least below 1 it turns on so much less voltage.
func (b *builder) motor(d *Device, suffix, c, r, s string, least float64) (turn int, hum func(*Solver, *bits) bool) {
	p := func(n string) float64 { return d.P(n + suffix) }
	sr, tr, ss, ts := windings(p("volts"), p("rla"), p("lra"), p("farads"), b.omega, p("run-ohms"), p("start-ohms"))
	v := p("volts")
	need := least * 0.3 * b.omega * p("farads") * v // A through the start winding, to turn from rest
	var run, start int
	turn = b.logic(d.ID+" rotor"+suffix, func(x *Solver, _ *bits, prev bool) bool {
		vr := x.across(run)
		if prev {
			return vr >= least*0.6*v
		}
		return vr >= least*0.75*v && x.across(start) >= need*cmplx.Abs(ss)
	})
	add := func(name, t string, stand, run complex128, rdc float64) int {
		br := b.load(name, t, c, run, rdc)
		br.sig, br.ac[0], br.dc[0] = int32(turn), 1/stand, 1/rdc
		return b.last()
	}
	what := "winding"
	if suffix != "" {
		what = strings.TrimPrefix(suffix, "-") + " winding"
	}
	run = add("run "+what, r, sr, tr, p("run-ohms"))
	start = add("start "+what, s, ss, ts, p("start-ohms"))
	b.motors = append(b.motors, motorPart{d.ID, suffix, c, r, s, run, start})
	return turn, func(x *Solver, on *bits) bool { return !on.get(turn) && x.across(run) >= least*0.3*v }
}

// Standing is the admittance of a branch while the signal that works it is off: of a
// motor's winding while the rotor stands.
func (b *Branch) Standing() complex128 { return b.ac[0] }

// Closed tells whether a contact is closed while its relay is at rest.
func (b *Branch) Closed() bool { return b.inv }
