package planner

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"math/bits"
	"math/cmplx"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

func cmag(z complex128) float64 { return cmplx.Abs(z) }

// A Test is one reading of the check-out: where the leads go, in which state, and
// what the sound circuit reads.
type Test struct {
	N         int     `json:"n"`
	List      string  `json:"list"`  // dead: ends the Wiring step; live: part of the Running check
	Role      string  `json:"role"`  // find: take it always; narrow: take it when a reading is out
	Meter     string  `json:"meter"` // ohms, volts or amps
	A         string  `json:"a"`     // DEVICE.TERMINAL; for amps the conductor
	B         string  `json:"b,omitempty"`
	State     string  `json:"state"`
	Expect    float64 `json:"expect"` // ohm, volt or ampere; ohms above OpenOhms read as open
	Tolerance float64 `json:"tolerance"`
	Open      bool    `json:"open,omitempty"` // the sound circuit reads an open line
	Where     string  `json:"where"`          // where the two probes go, in words
	Shows     string  `json:"shows"`          // what the meter shows on a sound circuit
	Words     string  `json:"words"`          // both
	Caution   string  `json:"caution"`
	state     netlist.State
	off       string // the switch that is taken off, where the probes do not lie at it
}

// The two lists of a check-out.
const (
	Dead = "dead" // ohms on a locked-out circuit; complete before the Wiring step is done
	Live = "live" // after the charge, behind the gate
)

// A Checkout is the list of readings, dead ones first, and how well it tells the
// faults apart.
type Checkout struct {
	Gate     []string `json:"gate"` // what is to be so before power comes on for the live list
	GateNote string   `json:"gate-caution"`
	Tests    []Test   `json:"tests"`
	Faults   int      `json:"faults"`           // single faults considered
	Find     int      `json:"find"`             // readings that find; the others narrow
	Harmful  int      `json:"harmful"`          // of these, not harmless
	Detected int      `json:"detected"`         // of the harmful, some reading is out of tolerance
	Median   float64  `json:"median-suspects"`  // suspects left after all readings, median over the detected harmful faults
	Missed   []string `json:"missed,omitempty"` // harmful faults that no reading of the list shows
	Astray   int      `json:"astray"`           // conductor ends that would do harm on a terminal of another part
	Shown    int      `json:"astray-shown"`     // of these, a reading of the dead list shows it
	Source   string   `json:"tolerance-source"`
	// What each test of the list reads under each hypothesis, the sound circuit
	// first; nil in a list that was read from a file.
	hyps []netlist.Fault
	val  [][]float64
}

const maxTests = 48

// gate is what is to be so before power comes on for the live list.
var gate = []string{
	"the dead check-out is complete, and every reading is as it should be or its reason found",
	"the equipment ground is measured: supply, cabinet, compressor",
	"the circuit is closed, tested, evacuated and charged (Close-up, Charge)",
	"every cover and barrier is back, the compressor's terminal cover among them",
	"no jumper is left anywhere, and every switch taken off is back on its two conductors",
	"the thermostat calls nothing; once power is on it is set to one stage, and the control's set-up is gone through, before the first reading",
}

// Choose picks the check-out list for a circuit and its faults: of all readings
// that could be taken, first those that together show every harmful fault, then
// those that tell the faults apart; each time the one that gains most for its
// effort. They are listed dead ones first.
func Choose(ctx context.Context, c *netlist.Circuit, faults []FaultResult) (*Checkout, error) {
	bk, err := book()
	if err != nil {
		return nil, err
	}
	r, err := candidates(c)
	if err != nil {
		return nil, err
	}
	tests := r.out
	ps, err := pulls(c)
	if err != nil {
		return nil, err
	}
	out, err := r.looks(ps)
	if err != nil {
		return nil, err
	}
	hyps := []netlist.Fault{{}}
	for _, f := range faults {
		hyps = append(hyps, f.Fault)
	}
	val, err := bk.predict(ctx, c, hyps, tests)
	if err != nil {
		return nil, err
	}
	far, err := bk.astray(ctx, c, ps)
	if err != nil {
		return nil, err
	}
	strays, err := bk.predict(ctx, c, far, tests)
	if err != nil {
		return nil, err
	}
	co := &Checkout{Faults: len(faults), Source: bk.Meter.Source, Gate: slices.Clone(gate), GateNote: bk.caution("power")}

	// Which faults a reading tells apart for certain: groups of hypotheses whose
	// tolerance bands overlap in a chain.
	group := make([][]int32, len(tests))
	idx := make([]int, len(hyps))
	for t := range tests {
		for h := range idx {
			idx[h] = h
		}
		slices.SortFunc(idx, func(a, b int) int { return cmp.Or(cmp.Compare(val[a][t], val[b][t]), a-b) })
		group[t] = make([]int32, len(hyps))
		var g int32
		top := math.Inf(-1)
		for _, h := range idx {
			v := val[h][t]
			tol := bk.Meter.tolerance(tests[t].Meter, v)
			if v-tol > top {
				g++
			}
			top = max(top, v+tol)
			group[t][h] = g
		}
	}
	efforts := make([]float64, len(tests))
	for t := range tests {
		efforts[t] = bk.Meter.effort(tests[t].Meter, mains(c.Unit, tests[t]))
	}
	var chosen []int
	find := map[int]bool{}
	for t := range tests { // grounds are measured whatever the faults
		if tests[t].Role == "find" {
			chosen, find[t] = append(chosen, t), true
		}
	}
	// First what is dangerous, on the dead circuit; then the readings that find: until
	// every harmful fault shows in one of them.
	var dangers []danger
	for f := range faults {
		if faults[f].Dangerous || faults[f].unfused {
			dangers = append(dangers, danger{faults[f].Fault, true, func(t int) bool { return group[t][f+1] != group[t][0] }})
		}
	}
	for f := range far {
		dangers = append(dangers, danger{far[f], false, func(t int) bool {
			v, sound := strays[f][t], val[0][t]
			return math.Abs(v-sound) > bk.Meter.tolerance(tests[t].Meter, v)+bk.Meter.tolerance(tests[t].Meter, sound)
		}})
	}
	picked, unseen := deadFirst(tests, efforts, dangers, chosen, maxTests)
	for _, t := range picked {
		chosen, find[t] = append(chosen, t), true
	}
	if unseen, err = unlooked(unseen, out); err != nil {
		return nil, err
	}
	co.Gate = append(co.Gate, withFuseOut(c.Unit, out)...)
	co.Astray = len(far)
	for _, d := range dangers[len(dangers)-len(far):] {
		if slices.ContainsFunc(chosen, func(t int) bool { return tests[t].Meter == "ohms" && d.shows(t) }) {
			co.Shown++
		}
	}
	co.Gate = append(co.Gate, byEye(c.Unit, unseen)...)
	hidden := map[int]bool{}
	for f := range faults {
		if !faults[f].Harmless {
			hidden[f+1] = true
		}
	}
	for _, t := range chosen { // what is read anyway
		maps.DeleteFunc(hidden, func(h int, _ bool) bool { return group[t][h] != group[t][0] })
	}
	for len(hidden) > 0 && len(chosen) < maxTests {
		best, rate := -1, 0.0
		for t := range tests {
			n := 0
			for h := range hidden {
				if group[t][h] != group[t][0] {
					n++
				}
			}
			if r := float64(n) / efforts[t]; r > rate {
				best, rate = t, r
			}
		}
		if best < 0 {
			break
		}
		for h := range hidden {
			if group[best][h] != group[best][0] {
				delete(hidden, h)
			}
		}
		chosen, find[best] = append(chosen, best), true
	}
	// Then the readings that narrow: most information first.
	class, classes := make([]int32, len(hyps)), 1 // faults not yet told apart share a class
	width := int32(len(hyps) + 1)
	ids := make([]int32, len(hyps)*int(width))
	split := func(t int) (entropy float64, next []int32, n int) {
		clear(ids[:classes*int(width)])
		size := make([]int, 0, 2*classes)
		next = make([]int32, len(hyps))
		for h := range hyps {
			k := class[h]*width + group[t][h]
			if ids[k] == 0 {
				size = append(size, 0)
				ids[k] = int32(len(size))
			}
			next[h] = ids[k] - 1
			size[next[h]]++
		}
		for _, s := range size {
			q := float64(s) / float64(len(hyps))
			entropy -= q * math.Log2(q)
		}
		return entropy, next, len(size)
	}
	known := 0.0
	for _, t := range chosen {
		known, class, classes = split(t)
	}
	for len(chosen) < maxTests && !done(class, faults) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		best, rate := -1, 1e-9
		for t := range tests {
			if e, _, n := split(t); n > classes && (e-known)/efforts[t] > rate {
				best, rate = t, (e-known)/efforts[t]
			}
		}
		if best < 0 {
			break
		}
		chosen = append(chosen, best)
		known, class, classes = split(best)
	}
	rank := map[string]int{"ohms": 0, "volts": 1, "amps": 2}
	away := func(t int) int { return bits.OnesCount32(uint32(tests[t].state ^ c.Rest())) }
	slices.SortStableFunc(chosen, func(a, b int) int {
		return cmp.Or(min(rank[tests[a].Meter], 1)-min(rank[tests[b].Meter], 1), away(a)-away(b), int(tests[a].state)-int(tests[b].state), rank[tests[a].Meter]-rank[tests[b].Meter])
	})
	for _, t := range chosen {
		k := tests[t]
		k.N = len(co.Tests) + 1
		k.Role = "narrow"
		if find[t] {
			k.Role = "find"
			co.Find++
		}
		bk.Meter.expect(&k, val[0][t])
		k.say(c, bk)
		co.Tests = append(co.Tests, k)
	}
	co.hyps, co.val = hyps, make([][]float64, len(hyps))
	for h := range hyps {
		for _, t := range chosen {
			co.val[h] = append(co.val[h], val[h][t])
		}
	}
	// How well the list does when a single fault is there: readings entered as
	// predicted.
	var left []float64
	for f := range faults {
		if faults[f].Harmless {
			continue
		}
		co.Harmful++
		fit := bk.fitting(co, co.val[f+1])
		if len(fit) > 0 && fit[0] == 0 {
			how := ": to be read at the part's own leads, taken off"
			if faults[f].unfused {
				how = ": to be read with the fuse out, before power"
			}
			co.Missed = append(co.Missed, faults[f].Words+how)
			continue
		}
		co.Detected++
		left = append(left, float64(len(fit)))
	}
	if len(left) > 0 {
		slices.Sort(left)
		co.Median = (left[len(left)/2] + left[(len(left)-1)/2]) / 2
	}
	return co, nil
}

// done tells whether half of the harmful faults leave no more than two suspects
// and nine in ten no more than four.
func done(class []int32, faults []FaultResult) bool {
	size := map[int32]int{}
	for _, k := range class {
		size[k]++
	}
	var left []int
	for i, f := range faults {
		if !f.Harmless {
			left = append(left, size[class[i+1]])
		}
	}
	slices.Sort(left)
	return len(left) == 0 || left[len(left)/2] <= 2 && left[len(left)*9/10] <= 4
}

func round3(v float64) float64 {
	if v == 0 || math.IsInf(v, 0) {
		return 0
	}
	m := math.Pow(10, 2-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*m) / m
}

// effort of a reading: what a look with the leads on a dead circuit costs, times
// what a live one costs more. Mains is true for a live reading on line voltage.
func (m *meter) effort(kind string, mains bool) float64 {
	e := m.Effort[kind]
	if mains {
		e *= m.Effort["mains"]
	}
	return e
}

// expect fills in what a meter should show where a sound circuit reads v.
func (m *meter) expect(t *Test, v float64) {
	if t.Meter == "volts" && v < 0.5 || t.Meter == "amps" && v < 0.05 {
		v = 0
	}
	if t.Open && t.Expect > 0 && t.Expect < m.OpenOhms { // across a switch taken off: Least says what is asked for
		t.Tolerance = round3(m.tolerance(t.Meter, t.Expect))
		return
	}
	t.Expect = round3(v)
	t.Tolerance = round3(m.tolerance(t.Meter, t.Expect))
	t.Open = t.Meter == "ohms" && t.Expect >= m.OpenOhms
}

// Expecting fills in what the meter of t should show where a sound circuit reads v,
// ohm, V or A: to three digits, with its tolerance; an open line as one.
func (t *Test) Expecting(v float64) error {
	bk, err := book()
	if err != nil {
		return err
	}
	if t.Meter == "ohms" {
		v = math.Min(v, 2*bk.Meter.OpenOhms)
	}
	bk.Meter.expect(t, v)
	return nil
}

// ExpectingAcross is Expecting for a reading between the two bundles of leads pulled
// off a switch: see Least.
func (t *Test) ExpectingAcross(least float64) error {
	t.Open, t.Expect = true, least
	return t.Expecting(least)
}

// ToleranceSource says where the tolerances of readings come from.
func ToleranceSource() string {
	bk, err := book()
	if err != nil {
		return err.Error()
	}
	return bk.Meter.Source
}

// tolerance of a reading: a part of it plus a fixed amount.
func (m *meter) tolerance(kind string, v float64) float64 {
	q := m.Ohms
	switch kind {
	case "volts":
		q = m.Volts
	case "amps":
		q = m.Amps
	}
	return q[0]*v + q[1]
}

// readable collects the readings worth taking.
type readable struct {
	c     *netlist.Circuit
	rest  netlist.State
	live  []netlist.State // the states in which volts and amps are read
	class map[string]netlist.Class
	comp  map[string]bool                   // compressors, at whose terminals nothing is read, and fans whose leads end elsewhere
	ref   map[string]string                 // place+class -> where the second probe stays
	float map[netlist.State]map[string]bool // ends that nothing joins to a source, by state
	start map[string]bool                   // ends joined to a start winding, whose voltage against anything is a motor's own
	out   []Test
	seen  map[string]bool
}

func (r *readable) put(t Test) {
	if r.comp[device(t.A)] || t.B != "" && r.comp[device(t.B)] {
		return
	}
	if r.behindLock(t.A) || r.behindLock(t.B) || t.Meter == "volts" && (r.start[t.A] || r.start[t.B] || r.float[t.state][t.A] || r.float[t.state][t.B]) {
		return
	}
	if t.B != "" && t.A > t.B {
		t.A, t.B = t.B, t.A
	}
	k := fmt.Sprint(t.Meter, t.A, t.B, t.state)
	if t.A != t.B && !r.seen[k] {
		r.seen[k] = true
		r.out = append(r.out, t)
	}
}

// behindLock tells whether an end lies in a disconnect: its line side stays live
// when it is open, so nothing is read there but where the ground comes in.
func (r *readable) behindLock(e string) bool {
	d := r.c.Unit.Device(device(e))
	return d != nil && strings.HasPrefix(d.Kind, "supply") && !strings.HasSuffix(e, ".GND")
}

// pair puts the readings between two ends of one class.
func (r *readable) pair(a, b string) {
	k := r.class[a]
	if r.class[b] != k {
		return
	}
	r.put(Test{Meter: "ohms", A: a, B: b, Caution: "lockout", state: r.rest})
	caution := "live"
	if k == netlist.Class2 {
		caution = "live24"
	}
	for _, st := range r.live {
		if k != netlist.Ground {
			r.put(Test{Meter: "volts", A: a, B: b, Caution: caution, state: st})
		}
	}
}

// candidates lists every reading worth taking: dead, across each conductor, each
// part, and from each terminal to the common points, also with each switch in turn
// taken off; live, from each terminal to common and across each part, on the calls;
// and the current in each motor lead. Nothing is read at a compressor's terminals.
func candidates(c *netlist.Circuit) (*readable, error) {
	rest := c.Rest()
	call := c.With(rest, "cool-1", true)
	r := &readable{c: c, rest: rest, live: []netlist.State{rest, call}, class: map[string]netlist.Class{}, comp: map[string]bool{}, ref: map[string]string{}, seen: map[string]bool{}}
	for _, in := range c.Inputs {
		switch {
		case in.Kind == "delay":
			r.live = append(r.live, c.With(call, in.Name, false))
		case in.Kind == "call" && in.Name == "fan": // a thermostat of one stage gives no other call
			r.live = append(r.live, c.With(rest, in.Name, true), c.With(call, in.Name, true))
		}
	}
	r.float = map[netlist.State]map[string]bool{}
	for _, st := range r.live {
		sol, err := c.NewSolver().Solve(st)
		if err != nil {
			return nil, err
		}
		r.float[st] = floating(sol, c)
	}
	for _, w := range c.Unit.Conductors {
		r.class[w.From], r.class[w.To] = w.Class, w.Class
	}
	delete(r.class, netlist.Capped)
	motors := map[string]bool{}
	for i, k := range c.LoadKind {
		d := c.Unit.Device(c.Loads[i])
		r.comp[c.Loads[i]] = k == "compressor" || d != nil && (d.Kind == "fan-psc" || d.Kind == "fan-two-speed")
		motors[c.Loads[i]] = k == "compressor" || k == "fan" || k == "heater" || k == "blower"
	}
	r.start = startEnds(c.Unit)
	r.references()
	for _, d := range c.Unit.Devices {
		ends := endsOf(&d)
		for i, a := range ends {
			if r.class[a] == "" {
				continue
			}
			if to := r.ref[d.Place+string(r.class[a])]; to != "" {
				r.pair(a, to)
			}
			for _, b := range ends[:i] {
				if r.class[b] != "" {
					r.pair(a, b)
				}
			}
		}
	}
	if err := r.acrossSwitches(); err != nil {
		return nil, err
	}
	for _, w := range c.Unit.Conductors {
		if w.From == netlist.Capped || w.To == netlist.Capped {
			continue
		}
		r.put(Test{Meter: "ohms", A: w.From, B: w.To, Caution: "lockout", state: rest})
		if w.Class == netlist.Line {
			r.amps(w.ID, call)
			r.amps(w.ID, rest)
		}
	}
	r.grounds()
	bk, err := book()
	if err != nil {
		return nil, err
	}
	return r, r.steady(&bk.Meter)
}

// startEnds are the ends that conductors join to a motor's start winding.
func startEnds(u *netlist.Unit) map[string]bool {
	n := netsOf(u)
	out := map[string]bool{}
	for i := range u.Devices {
		d := &u.Devices[i]
		if !strings.HasPrefix(d.Kind, "compressor-") && !strings.HasPrefix(d.Kind, "fan-") {
			continue
		}
		for _, s := range endsOf(d) {
			if !strings.HasPrefix(s[strings.LastIndexByte(s, '.')+1:], "S") {
				continue
			}
			for _, e := range u.Ends() {
				if n.same(e, s) {
					out[e] = true
				}
			}
		}
	}
	return out
}

// acrossSwitches puts, for each switch taken off, the reading between the far ends of
// the leads that lay on it, or between the two bundles themselves where no far end
// can be reached: continuity is a bypass, or both leads on one screw, whatever else
// is in the circuit. Only what may lie in parallel sets how much is asked for.
func (r *readable) acrossSwitches() error {
	for _, in := range r.c.Inputs {
		if in.Kind == "call" || in.Kind == "delay" || !in.Default {
			continue
		}
		for i := range r.c.Branches {
			br := &r.c.Branches[i]
			if br.Device != in.Name || br.Kind != netlist.ContactBranch || r.class[br.Ends[0]] == "" || r.class[br.Ends[1]] == "" {
				continue
			}
			st := r.c.With(r.rest, in.Name, false)
			if a, b := r.callEnds(); a != "" && r.class[br.Ends[0]] == netlist.Class2 {
				least, err := Least(r.c, st, a, b)
				if err != nil {
					return err
				}
				if least > 0 { // from where the call comes: a way around the switch, wherever it begins
					r.put(Test{Meter: "ohms", A: a, B: b, Caution: "lockout", Open: true, Expect: least, state: st, off: in.Name})
				}
			}
			for _, a := range r.farEnds(br.Ends[0]) {
				for _, b := range r.farEnds(br.Ends[1]) {
					least, err := Least(r.c, st, a, b)
					if err != nil {
						return err
					}
					if least > 0 {
						r.put(Test{Meter: "ohms", A: a, B: b, Caution: "lockout", Role: "find", Open: true, Expect: least, state: st})
					}
				}
			}
		}
	}
	return nil
}

// callEnds are where the call for cooling comes from, and its common.
func (r *readable) callEnds() (call, common string) {
	for _, kind := range []string{"indoor-", "thermostat"} {
		for _, d := range r.c.Unit.Devices {
			if y, c := d.ID+".Y1", d.ID+".C"; strings.HasPrefix(d.Kind, kind) && r.class[y] != "" && r.class[c] != "" {
				return y, c
			}
		}
	}
	return "", ""
}

// farEnds are where the conductors on a terminal come from, as far as a probe may go
// there; the terminal itself where it may go to none.
func (r *readable) farEnds(e string) (out []string) {
	for _, w := range r.c.Unit.At(e) {
		far := w.From
		if far == e {
			far = w.To
		}
		if far != netlist.Capped && !r.behindLock(far) && !r.comp[device(far)] && r.class[far] == r.class[e] {
			out = append(out, far)
		} else if d := r.c.Unit.Device(device(far)); d != nil && r.comp[d.ID] {
			out = append(out, r.throughWindings(d, far)...)
		}
	}
	if out == nil {
		out = []string{e}
	}
	return out
}

// throughWindings are the ends that a motor's other terminals lead to: its windings
// join them to the one that no probe may go to.
func (r *readable) throughWindings(d *netlist.Device, not string) (out []string) {
	for _, e := range endsOf(d) {
		if e == not || r.class[e] != netlist.Line {
			continue
		}
		for _, w := range r.c.Unit.At(e) {
			far := w.From
			if far == e {
				far = w.To
			}
			if far != netlist.Capped && !r.behindLock(far) && !r.comp[device(far)] {
				out = append(out, far)
			}
		}
	}
	return out
}

// electronics is how far, as a factor, the resistance of electronics may lie above
// what is assumed of it (of our own choosing).
const electronics = 8

// Least is the least resistance, ohm, that a meter shows between the two bundles of
// leads pulled off a switch of a sound circuit: half of what lies in parallel, at
// most 100; 0 where so little lies there that a bypass could not be told.
func Least(c *netlist.Circuit, st netlist.State, a, b string) (float64, error) {
	least := 200.0
	for _, f := range []float64{1, electronics} {
		v, err := c.Vary(f)
		if err != nil {
			return 0, err
		}
		x, err := v.NewSolver().Ohms(st, a, b)
		if err != nil {
			return 0, err
		}
		least = min(least, x)
	}
	if least < 10 {
		return 0, nil
	}
	return round3(least / 2), nil
}

// steady drops the dead readings that hang on what electronics happen to have
// inside.
func (r *readable) steady(m *meter) error {
	v, err := r.c.Vary(electronics)
	if err != nil {
		return err
	}
	one, far := r.c.NewSolver(), v.NewSolver()
	var keep []Test
	for _, t := range r.out {
		if t.Meter == "ohms" && !t.Open {
			x, err := one.Ohms(t.state, t.A, t.B)
			if err != nil {
				return err
			}
			y, err := far.Ohms(t.state, t.A, t.B)
			if err != nil {
				return err
			}
			if open := 2 * m.OpenOhms; math.Abs(min(x, open)-min(y, open)) > m.tolerance("ohms", min(x, open))/4 {
				continue
			}
		}
		keep = append(keep, t)
	}
	r.out = keep
	return nil
}

func (r *readable) amps(id string, st netlist.State) {
	k := fmt.Sprint("amps", id, st)
	if !r.seen[k] {
		r.seen[k] = true
		r.out = append(r.out, Test{Meter: "amps", A: id, Caution: "live", state: st})
	}
}

// references finds where the second probe stays: the commons of each place.
func (r *readable) references() {
	for _, d := range r.c.Unit.Devices {
		set := func(k netlist.Class, e string) {
			if r.class[e] == k && r.ref[d.Place+string(k)] == "" {
				r.ref[d.Place+string(k)] = e
			}
		}
		switch {
		case strings.HasPrefix(d.Kind, "contactor"):
			set(netlist.Class2, d.ID+".A2")
			set(netlist.Line, d.ID+".L2")
		case strings.HasPrefix(d.Kind, "indoor-"), strings.HasPrefix(d.Kind, "thermostat"):
			set(netlist.Class2, d.ID+".C")
		case d.Kind == "supply-120":
			for _, w := range r.c.Unit.At(d.ID + ".N") { // at the first part that the neutral comes to
				far := w.From
				if far == d.ID+".N" {
					far = w.To
				}
				if far != netlist.Capped {
					set(netlist.Line, far)
				}
			}
		}
		if strings.HasPrefix(d.Kind, "supply") {
			set(netlist.Ground, d.ID+".GND")
		}
	}
}

// grounds are measured always: from the ground of the supply to every part that
// has one. The compressor's shell is a place for a probe; its terminals are not.
func (r *readable) grounds() {
	for _, d := range r.c.Unit.Devices {
		for _, e := range endsOf(&d) { // a line conductor on a ground screw
			if to := r.ref[d.Place+string(netlist.Ground)]; r.class[e] == netlist.Line && to != "" && !r.start[e] {
				r.put(Test{Meter: "ohms", A: e, B: to, Caution: "lockout", state: r.rest})
			}
		}
		for _, e := range endsOf(&d) {
			to := r.ref[d.Place+string(netlist.Ground)]
			if r.class[e] != netlist.Ground || to == "" || e == to {
				continue
			}
			t := Test{Meter: "ohms", A: e, B: to, Caution: "lockout", Role: "find", state: r.rest}
			if i := slices.IndexFunc(r.out, func(o Test) bool {
				return o.Meter == "ohms" && o.state == r.rest && (o.A == t.A && o.B == t.B || o.A == t.B && o.B == t.A)
			}); i >= 0 {
				r.out[i].Role = "find"
				continue
			}
			r.out = append(r.out, t)
		}
	}
}

// predict gives what each test reads under each hypothesis; the empty fault is
// the sound circuit.
func (bk *rulebook) predict(ctx context.Context, c *netlist.Circuit, hyps []netlist.Fault, tests []Test) ([][]float64, error) {
	out := make([][]float64, len(hyps))
	var states []netlist.State
	for _, t := range tests {
		if t.Meter != "ohms" && !slices.Contains(states, t.state) {
			states = append(states, t.state)
		}
	}
	err := parallel(ctx, len(hyps), func(h int) (err error) {
		out[h], err = bk.predictOne(c, hyps[h], tests, states)
		return err
	}, nil)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return out, err
}

func (bk *rulebook) predictOne(c *netlist.Circuit, f netlist.Fault, tests []Test, states []netlist.State) ([]float64, error) {
	s := c.NewSolver()
	if f.ID != "" {
		var err error
		if s, err = c.Solver(f); err != nil {
			return nil, err
		}
	}
	row := make([]float64, len(tests))
	for i, t := range tests {
		if t.Meter == "ohms" {
			r, err := s.Ohms(t.state, t.A, t.B)
			if err != nil {
				return nil, err
			}
			row[i] = min(r, 2*bk.Meter.OpenOhms) // an open line is an open line
			if t.Open && t.Expect > 0 {
				row[i] = min(row[i], t.Expect) // more than enough is enough
			}
		}
	}
	for _, st := range states {
		sol, err := s.Solve(st)
		if err != nil {
			return nil, err
		}
		read := sol.Reader()
		for i, t := range tests {
			if t.state != st {
				continue
			}
			switch t.Meter {
			case "volts":
				row[i], err = read.Volts(t.A, t.B)
			case "amps":
				row[i], err = sol.Amps(t.A)
			}
			if err != nil {
				return nil, err
			}
		}
	}
	return row, nil
}

// say puts a reading into words.
func (t *Test) say(c *netlist.Circuit, bk *rulebook) {
	u := c.Unit
	t.State = c.Words(t.state)
	t.Caution = bk.caution(t.Caution)
	t.List = Live
	if t.Meter == "ohms" {
		t.List = Dead
		for i, in := range c.Inputs {
			if in.Kind == "call" || in.Kind == "delay" || !in.Default || t.state>>i&1 == 1 {
				continue
			}
			key := "open-switch"
			if d := u.Device(in.Name); d != nil && d.Pigtail {
				key = "open-pigtail"
			}
			t.Caution += " " + bk.caution(key)
		}
	}
	if t.List == Live {
		for i, in := range c.Inputs {
			if in.Kind == "delay" && in.Default && t.state>>i&1 == 1 && strings.Contains(t.State, "call") && t.state != c.Rest() {
				t.Caution += fmt.Sprintf(" Wait until the delay has run after each change of the call: %s.", strings.TrimSuffix(in.Words, " has run its delay"))
			}
		}
	}
	t.Where = Between(u, t.A, t.B)
	for _, e := range []string{t.A, t.B} {
		if d := u.Device(device(e)); d != nil && strings.HasPrefix(d.Kind, "supply") {
			t.Caution += " " + bk.caution("disconnect-line")
			break
		}
	}
	if t.List == Dead && touches(u, t.A, t.B) {
		t.Caution += " " + bk.caution("compressor-leads")
	}
	t.Shows = Shows(t.Meter, t.Expect, bk.Meter.OpenOhms)
	switch {
	case t.off != "" && t.across(bk):
		t.Where = Between(u, t.A, t.B) + ", with the leads pulled off the " + nameIn(u, u.Device(t.off))
		t.Shows = fmt.Sprintf("open, or at least %s; less would be a bypass", amount("ohms", t.Expect-t.Tolerance))
	case t.across(bk):
		t.Where = Between(u, t.A, t.B) + ", the two bundles of leads pulled off the switch"
		t.Shows = fmt.Sprintf("open, or at least %s; continuity would be a bypass", amount("ohms", t.Expect-t.Tolerance))
	}
	t.Words = t.Where + ": " + t.Shows
}

// across tells whether t is read between the bundles pulled off a switch.
func (t *Test) across(bk *rulebook) bool { return t.Open && t.Expect < bk.Meter.OpenOhms }

// touches tells whether a conductor to a compressor lies on one of the ends.
func touches(u *netlist.Unit, ends ...string) bool {
	for _, e := range ends {
		for _, w := range u.At(e) {
			for _, o := range []string{w.From, w.To} {
				if d := u.Device(device(o)); d != nil && strings.HasPrefix(d.Kind, "compressor-") && w.Class == netlist.Line {
					return true
				}
			}
		}
	}
	return false
}
