package planner

import (
	"cmp"
	"context"
	"fmt"
	"math"
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
	Role      string  `json:"role"`  // find: take it always; narrow: take it when a reading is out
	Meter     string  `json:"meter"` // ohms, volts or amps
	A         string  `json:"a"`     // DEVICE.TERMINAL; for amps the conductor
	B         string  `json:"b,omitempty"`
	State     string  `json:"state"`
	Expect    float64 `json:"expect"` // ohm, volt or ampere; ohms above OpenOhms read as open
	Tolerance float64 `json:"tolerance"`
	Open      bool    `json:"open,omitempty"` // the sound circuit reads an open line
	Words     string  `json:"words"`
	Caution   string  `json:"caution"`
	state     netlist.State
}

// A Checkout is the list of readings, dead ones first, and how well it tells the
// faults apart.
type Checkout struct {
	Tests    []Test   `json:"tests"`
	Faults   int      `json:"faults"`           // single faults considered
	Find     int      `json:"find"`             // readings that find; the others narrow
	Harmful  int      `json:"harmful"`          // of these, not harmless
	Detected int      `json:"detected"`         // of the harmful, some reading is out of tolerance
	Median   float64  `json:"median-suspects"`  // suspects left after all readings, median over the detected harmful faults
	Missed   []string `json:"missed,omitempty"` // harmful faults that no reading of the list shows
	Source   string   `json:"tolerance-source"`
	// What each test of the list reads under each hypothesis, the sound circuit
	// first; nil in a list that was read from a file.
	hyps []netlist.Fault
	val  [][]float64
}

const maxTests = 48

// Choose picks the check-out list for a circuit and its faults: of all readings
// that could be taken, first those that together show every harmful fault, then
// those that tell the faults apart; each time the one that gains most for its
// effort. They are listed dead ones first.
func Choose(ctx context.Context, c *netlist.Circuit, faults []FaultResult) (*Checkout, error) {
	bk, err := book()
	if err != nil {
		return nil, err
	}
	tests, err := candidates(c)
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
	co := &Checkout{Faults: len(faults), Source: bk.Meter.Source}

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
	// First the readings that find: until every harmful fault shows in one of them.
	hidden := map[int]bool{}
	for f := range faults {
		if !faults[f].Harmless {
			hidden[f+1] = true
		}
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
	slices.SortStableFunc(chosen, func(a, b int) int {
		return cmp.Or(rank[tests[a].Meter]-rank[tests[b].Meter], int(tests[a].state)-int(tests[b].state))
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
			co.Missed = append(co.Missed, faults[f].ID)
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

// candidates lists every reading worth taking: dead, across each conductor, each
// part, and from each terminal to the outdoor common points; live, from each
// terminal to common and across each part, in the states a technician can make;
// and the current in each motor lead.
func candidates(c *netlist.Circuit) ([]Test, error) {
	var out []Test
	seen := map[string]bool{}
	put := func(t Test) {
		if t.B != "" && t.A > t.B {
			t.A, t.B = t.B, t.A
		}
		k := fmt.Sprint(t.Meter, t.A, t.B, t.state)
		if t.A != t.B && !seen[k] {
			seen[k] = true
			out = append(out, t)
		}
	}
	rest := c.Rest()
	call := c.With(rest, "cool-1", true)
	states := []netlist.State{rest, call}
	for _, in := range c.Inputs {
		switch {
		case in.Kind == "safety" || in.Kind == "delay":
			states = append(states, c.With(call, in.Name, false))
		case in.Kind == "call" && in.Name != "cool-1":
			states = append(states, c.With(rest, in.Name, true), c.With(call, in.Name, true))
		}
	}
	class := map[string]netlist.Class{}
	for _, w := range c.Unit.Conductors {
		for _, e := range []string{w.From, w.To} {
			if e != netlist.Capped {
				class[e] = w.Class
			}
		}
	}
	ref := map[string]string{} // place+class -> where the second lead stays
	for _, d := range c.Unit.Devices {
		set := func(k netlist.Class, e string) {
			if class[e] == k && ref[d.Place+string(k)] == "" {
				ref[d.Place+string(k)] = e
			}
		}
		switch {
		case strings.HasPrefix(d.Kind, "contactor"):
			set(netlist.Class2, d.ID+".A2")
			set(netlist.Line, d.ID+".L2")
		case strings.HasPrefix(d.Kind, "indoor-"), strings.HasPrefix(d.Kind, "thermostat"):
			set(netlist.Class2, d.ID+".C")
		case d.Kind == "supply-120":
			set(netlist.Line, d.ID+".N")
		}
	}
	caution := func(meter string, k netlist.Class) string {
		switch {
		case meter == "ohms":
			return "lockout"
		case k == netlist.Class2:
			return "live24"
		}
		return "live"
	}
	pair := func(a, b string) {
		k := class[a]
		if class[b] != k {
			return
		}
		put(Test{Meter: "ohms", A: a, B: b, Caution: caution("ohms", k), state: rest})
		for _, st := range states {
			put(Test{Meter: "volts", A: a, B: b, Caution: caution("volts", k), state: st})
		}
	}
	for _, d := range c.Unit.Devices {
		ts := netlist.Kinds[d.Kind].Terminals
		for i := range ts {
			a := d.ID + "." + ts[i].Name
			if class[a] == "" {
				continue
			}
			if r := ref[d.Place+string(class[a])]; r != "" {
				pair(a, r)
			}
			for j := range i {
				if b := d.ID + "." + ts[j].Name; class[b] != "" {
					pair(a, b)
				}
			}
		}
	}
	motors := map[string]bool{}
	for i, k := range c.LoadKind {
		if k == "compressor" || k == "fan" || k == "heater" || k == "blower" {
			motors[c.Loads[i]] = true
		}
	}
	for _, w := range c.Unit.Conductors {
		if w.From == netlist.Capped || w.To == netlist.Capped {
			continue
		}
		put(Test{Meter: "ohms", A: w.From, B: w.To, Caution: "lockout", state: rest})
		if motors[device(w.From)] || motors[device(w.To)] || w.Class == netlist.Line {
			if w.Class == netlist.Line {
				put(Test{Meter: "amps", A: w.ID, Caution: "live", state: call})
				put(Test{Meter: "amps", A: w.ID, Caution: "live", state: rest})
			}
		}
	}
	return out, nil
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

func (t *Test) say(c *netlist.Circuit, bk *rulebook) {
	t.State = c.Words(t.state)
	t.Caution = bk.caution(t.Caution)
	if openSafety(c, t.state) != "" {
		t.Caution += " " + bk.caution("open-switch")
	}
	switch {
	case t.Meter == "amps":
		w := c.Unit.Conductor(t.A)
		t.Words = fmt.Sprintf("Clamp on conductor %s (%s, %s to %s): %.3g A", t.A, w.Colour, w.From, w.To, t.Expect)
	case t.Open:
		t.Words = fmt.Sprintf("Ohms %s to %s, locked out: open", t.A, t.B)
	case t.Meter == "ohms":
		t.Words = fmt.Sprintf("Ohms %s to %s, locked out: %.3g ohm", t.A, t.B, t.Expect)
	default:
		t.Words = fmt.Sprintf("Volts %s to %s: %.3g V", t.A, t.B, t.Expect)
	}
}
