package judge

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
)

// wanted is what the new compressor asks for, from its data.
type wanted struct {
	volts, rla, lra, farads, capVolts float64
	omitted                           map[string]bool // interrupters left out for a stated reason
}

// A record is what a unit does in one reachable state, as far as two units are
// compared.
type trace struct {
	in      uint64 // inputs, by their place in net.inputs
	turn    uint64 // compressors that turn
	runs    bool   // one of those that count does
	settled bool
	volts   []float64 // of each load
}

// A life is all that a unit does: every reachable state, and what was found on
// the way.
type life struct {
	n       *net
	traces  []trace
	spots   []bits
	stops   map[string]uint64 // inputs that stop a running compressor by changing alone, and which
	fuses   map[string]*life
	wire    []float64 // largest current of each conductor, nothing stalled
	extra   []float64 // largest change of it that goes with the compressor
	contact []float64 // largest current of each part, nothing stalled
	carries []float64 // the same, whatever stalls
	comp    []float64 // the least of it while a compressor runs
	va      []float64 // of each transformer
	earth   float64   // largest current into earth
	feed    float64   // largest source current over its breaker's rating
	feedAt  string
	coils   map[string]string // coils that are weak or burn, and how
	compV   map[string]float64
	idle    bool // the compressor is live at rest
	eff     map[string]float64
	live    map[int]float64 // largest voltage of a conductor with one loose end
	caps    map[string]map[string]bool
	shell   map[string]float64 // largest voltage of a ground terminal
}

func (n *net) inputSet(b bits) (x uint64) {
	for i, in := range n.inputs {
		if b.has(in.bit) {
			x |= 1 << i
		}
	}
	return x
}

// observe lives through every reachable state.
func observe(f *file) (*life, error) {
	n, err := compile(f)
	if err != nil {
		return nil, err
	}
	l := n.live(n.rest(), nil)
	l.fuses = map[string]*life{}
	for _, in := range n.inputs {
		if in.kind == "fuse" { // a fuse may blow in any state, and be found blown at power-up
			var from []bits
			for _, b := range l.spots {
				from = append(from, b.with(in.bit, false))
			}
			l.fuses[in.dev] = n.live(n.rest().with(in.bit, false), from)
		}
	}
	l.spots = nil
	return l, nil
}

// live goes through all states that are reached from base, and from what is
// given besides.
func (n *net) live(base bits, also []bits) *life {
	l := &life{n: n, stops: map[string]uint64{}, wire: make([]float64, len(n.f.Conductors)), extra: make([]float64, len(n.f.Conductors)),
		contact: make([]float64, len(n.parts)), carries: make([]float64, len(n.parts)), va: make([]float64, len(n.couplers)), coils: map[string]string{}, compV: map[string]float64{},
		eff: map[string]float64{}, live: map[int]float64{}, caps: map[string]map[string]bool{}, shell: map[string]float64{}}
	n.reach(base, also, func(s spot) { l.note(s) }, func(from spot, in input, to spot) {
		if in.kind != "call" {
			l.stops[in.name] |= n.runs(from.now) &^ n.runs(to.now)
		}
	})
	rest, v, _ := n.settle(base, n.solve)
	for _, m := range n.motors {
		if isCompressor(m.kind) && (abs(v.v[m.c]) > 30 || abs(v.v[m.r]) > 30) {
			l.idle = true
		}
	}
	l.share(rest)
	return l
}

// note keeps what is seen in one state.
func (l *life) note(s spot) {
	n := l.n
	t := trace{in: n.inputSet(s.now), turn: n.runs(s.now), runs: n.runs(s.now) != 0, settled: s.settled, volts: make([]float64, len(n.loads))}
	for i, d := range n.loads {
		v := abs(s.v.across(d.a, d.b))
		if d.level != nil {
			v = d.level(s.v, s.now)
		}
		t.volts[i] = v
		if strings.HasSuffix(d.what, "coil") || d.what == "delay" {
			key := d.dev + " " + d.name
			switch {
			case v > 1.3*d.volts:
				l.coils[key] = fmt.Sprintf("%s has %.0f V of %.0f", key, v, d.volts)
			case d.what != "start coil" && s.settled && v > d.hi && v < 0.7*d.volts:
				l.coils[key] = fmt.Sprintf("%s pulls with %.1f V of %.0f", key, v, d.volts)
			}
		}
	}
	l.traces, l.spots = append(l.traces, t), append(l.spots, s.now)
	for i, a := range n.motors {
		for _, b := range n.motors[i+1:] {
			if a.s != b.s && a.dev != b.dev && n.startsJoined(a.s, b.s) {
				l.coils[a.name+" and "+b.name] = "the start windings of " + a.name + " and " + b.name + " are joined"
			}
		}
	}
	for _, k := range n.shells {
		l.shell[n.names[k]] = max(l.shell[n.names[k]], abs(s.v.v[k]))
	}
	for _, d := range n.f.Devices {
		if d.Kind == "fan-two-speed" && abs(s.v.across(n.at(d.ID, "C"), n.at(d.ID, "HI"))) > 30 && n.joined(s.now, n.at(d.ID, "HI"), n.at(d.ID, "LO")) {
			l.coils[d.ID+" taps"] = d.ID + " is fed on both taps"
		}
	}
	stalled := false
	for _, m := range n.motors {
		on := s.now.has(m.turns)
		if !on && m.hums(s.v) {
			stalled = true
		}
		if on {
			is := s.v.across(m.s, m.c) / m.start[1]
			if c := abs(is) / (n.w * abs(s.v.across(m.s, m.r))); math.Abs(c/m.farads-1) > math.Abs(l.eff[m.name]/m.farads-1) || l.eff[m.name] == 0 {
				l.eff[m.name] = c
			}
			if d := abs(s.v.across(m.c, m.r)); math.Abs(d-m.volts) > math.Abs(l.compV[m.name]-m.volts) || l.compV[m.name] == 0 {
				l.compV[m.name] = d
			}
			if l.caps[m.name] == nil {
				l.caps[m.name] = map[string]bool{}
				for i := range n.parts {
					if p := &n.parts[i]; p.on.c > 0 && (n.joined(s.now, p.a, m.s) || n.joined(s.now, p.b, m.s)) {
						l.caps[m.name][p.dev] = true
					}
				}
			}
		}
	}
	for i := range n.parts {
		p := &n.parts[i]
		if p.wire < 0 && !p.contact && p.emf == 0 && p.b != 0 {
			continue
		}
		a := abs(n.current(p, s.v, s.now))
		l.carries[i] = max(l.carries[i], a)
		if stalled {
			continue
		}
		l.contact[i] = max(l.contact[i], a)
		if p.wire >= 0 {
			l.wire[p.wire] = max(l.wire[p.wire], a)
		}
		if p.emf != 0 && !n.dead[p.dev] && a/p.amps > l.feed {
			l.feed, l.feedAt = a/p.amps, p.dev
		}
	}
	for _, i := range n.earths {
		l.earth = max(l.earth, l.contact[i])
	}
	for _, p := range n.parts {
		if p.wire >= 0 && (n.ground[p.a] || n.ground[p.b]) {
			l.earth = max(l.earth, l.wire[p.wire])
		}
	}
	for i, c := range n.couplers {
		if !n.dead[c.dev] && !stalled {
			a := (complex(c.ratio, 0)*s.v.across(c.p1, c.p2) - s.v.across(c.s1, c.s2)) / c.z.ohms(n.w)
			l.va[i] = max(l.va[i], abs(a)*c.volts)
		}
	}
	for i, c := range n.f.Conductors {
		if (c.From == "capped") != (c.To == "capped") {
			end := c.From
			if end == "capped" {
				end = c.To
			}
			k := n.node[end]
			ref := 0
			if r := n.islands(s.now)(k); r != 0 {
				ref = r
				for _, cp := range n.couplers {
					if n.islands(s.now)(cp.s2) == r {
						ref = cp.s2
					}
				}
			}
			l.live[i] = max(l.live[i], abs(s.v.across(k, ref)))
		}
	}
}

// share finds which conductors and contacts carry the compressor: by stopping
// its rotor in thought, in the running state of a plain call.
func (l *life) share(rest bits) {
	n := l.n
	l.comp = make([]float64, len(n.parts))
	for _, two := range []bool{false, true} {
		b := rest
		for _, in := range n.inputs {
			if in.name == "cool-1" || two && in.name == "cool-2" {
				b = b.with(in.bit, true)
			}
		}
		now, v, ok := n.settle(b, n.solve)
		if !ok || n.runs(now) == 0 {
			continue
		}
		for _, m := range n.motors {
			if !isCompressor(m.kind) || !now.has(m.turns) {
				continue
			}
			// The windings' currents taken out as injections: what they alone drive.
			still := now.with(m.turns, false)
			w := n.solve(still)
			for i := range n.parts {
				p := &n.parts[i]
				if p.wire < 0 && !p.contact {
					continue
				}
				i1, i2 := n.current(p, v, now), n.current(p, w, still)
				if d := abs(i2 - i1); d > 0 {
					lra := n.f.device(m.dev)
					l.comp[i] = max(l.comp[i], d/(abs2(lra.num("lra"), lra.num("rla"))))
				}
			}
		}
	}
}

func abs2(lra, rla float64) float64 { return lra - 0.6*rla }

// only gives the life as it is if of the compressors some count alone: those
// whose place the new one takes. If there is none of them, all count.
func (l *life) only(counts func(dev string) bool) *life {
	var mask uint64
	for i, m := range l.n.motors {
		if isCompressor(m.kind) && counts(m.dev) {
			mask |= 1 << i
		}
	}
	if mask == 0 {
		mask = ^uint64(0)
	}
	c := *l
	c.traces = slices.Clone(l.traces)
	for i := range c.traces {
		c.traces[i].runs = c.traces[i].turn&mask != 0
	}
	c.stops = map[string]uint64{}
	for k, m := range l.stops {
		if m&mask != 0 {
			c.stops[k] = m & mask
		}
	}
	c.fuses = map[string]*life{}
	for k, f := range l.fuses {
		c.fuses[k] = f.only(counts)
	}
	return &c
}

// names of the loads that are compared: what they are for does not change with
// the stage.
func compared(l load) bool {
	switch l.what {
	case "heater", "fan", "blower", "coil", "primary", "accessory":
		return true
	}
	return false
}

// harmful says by brute force what is wrong with a new unit, given the old one.
// Nothing wrong found is an empty list.
func harmful(old *life, f *file, want wanted) []string {
	l, err := observe(f)
	if err != nil {
		return []string{"unreadable: " + err.Error()}
	}
	old = old.only(func(dev string) bool { d := f.device(dev); return d != nil && isCompressor(d.Kind) })
	var out []string
	say := func(kind, format string, a ...any) {
		if len(out) < 40 {
			out = append(out, kind+": "+fmt.Sprintf(format, a...))
		}
	}
	compareRuns(old, l, "", say)
	compare(old, l, want, true, say)
	for id, o := range old.fuses {
		stops := ranSomewhere(old) && !ranAs(o, old)
		m, kept := l.fuses[id]
		switch {
		case !kept && stops && !want.omitted[id]:
			say("interrupter lost", "%s", id)
		case kept:
			compareRuns(o, m, fmt.Sprintf("%s open", id), say)
			compare(o, m, want, false, func(kind, format string, a ...any) {
				say(kind, "with "+id+" open, "+format, a...)
			})
		}
	}
	ratings(old, l, want, say)
	sources(old, l, f, say)
	metal(l, say)
	sort.Strings(out)
	return slices.Compact(out)
}

func ranSomewhere(l *life) bool {
	for _, t := range l.traces {
		if t.runs {
			return true
		}
	}
	return false
}

// ranAs tells whether a life runs in every state of inputs in which another does.
func ranAs(a, b *life) bool {
	runs := map[uint64]bool{}
	for _, t := range a.traces {
		if t.runs {
			runs[t.in&^fuseBits(a.n)] = true
		}
	}
	for _, t := range b.traces {
		if t.runs && !runs[t.in&^fuseBits(b.n)] {
			return false
		}
	}
	return true
}

func fuseBits(n *net) (x uint64) {
	for i, in := range n.inputs {
		if in.kind == "fuse" {
			x |= 1 << i
		}
	}
	return x
}

// A key is what two units' states have in common: the inputs that both have. A
// second-stage call says nothing while a first-stage call stands, for the new
// unit has one stage.
type key struct {
	in   uint64
	runs bool
}

type common struct{ old, new []int } // places in the inputs, pairwise

func shared(a, b *net) (c common) {
	for i, x := range a.inputs {
		for j, y := range b.inputs {
			if x.name == y.name && x.kind != "fuse" {
				c.old, c.new = append(c.old, i), append(c.new, j)
			}
		}
	}
	return c
}

func project(n *net, at []int, t trace, calls bool) (x uint64) {
	one, two := false, -1
	for i, k := range at {
		if t.in>>k&1 == 1 && (calls || n.inputs[k].kind != "call") {
			x |= 1 << i
		}
		switch n.inputs[k].name {
		case "cool-1":
			one = t.in>>k&1 == 1
		case "cool-2":
			two = i
		}
	}
	if one && two >= 0 {
		x &^= 1 << two
	}
	return x
}

// onlySecond gives the key without a second-stage call that stands alone: the new
// unit need not know it.
func onlySecond(n *net, at []int, t trace, k uint64) (uint64, bool) {
	for i, j := range at {
		if n.inputs[j].name == "cool-2" && k>>i&1 == 1 {
			return k &^ (1 << i), true
		}
	}
	return k, false
}

// waits tells whether a delay that only the new unit has is running.
func waits(n *net, at []int, t trace) bool {
	for i, in := range n.inputs {
		if in.kind == "delay" && !slices.Contains(at, i) && t.in>>i&1 == 0 {
			return true
		}
	}
	return false
}

// startsJoined tells whether two start terminals are one piece of metal, by
// conductors alone.
func (n *net) startsJoined(a, b int) bool {
	if n.metal == nil {
		n.metal = newUnion(len(n.names))
		for i := range n.parts {
			if p := &n.parts[i]; p.wire >= 0 {
				n.metal.join(p.a, p.b)
			}
		}
	}
	return n.metal.root(a) == n.metal.root(b)
}

// words say a state.
func words(n *net, t trace) string {
	var s []string
	for i, in := range n.inputs {
		if v := t.in>>i&1 == 1; v != in.rest {
			if in.kind == "call" {
				s = append(s, in.name)
			} else {
				s = append(s, in.name+" moved")
			}
		}
	}
	if s == nil {
		return "at rest"
	}
	return strings.Join(s, ", ")
}

// compareRuns: the new unit runs nowhere where the old one does not.
func compareRuns(old, l *life, with string, say func(kind, format string, a ...any)) {
	c := shared(old.n, l.n)
	runs := map[uint64]bool{}
	for _, t := range old.traces {
		if t.runs {
			runs[project(old.n, c.old, t, true)] = true
		}
	}
	best := ""
	for _, t := range l.traces {
		if t.runs && !runs[project(l.n, c.new, t, true)] {
			if w := words(l.n, t); best == "" || len(w) < len(best) {
				best = w
			}
		}
	}
	if best != "" {
		if with != "" {
			best = with + ", " + best
		}
		say("runs where it must not", "%s", best)
	}
}

func compare(old, l *life, want wanted, whole bool, say func(kind, format string, a ...any)) {
	c := shared(old.n, l.n)
	for _, in := range old.n.inputs {
		if old.stops[in.name] != 0 && in.kind != "delay" && !want.omitted[in.dev] && l.n.f.device(in.dev) == nil {
			say("interrupter lost", "%s", in.name)
		}
	}
	// The states of the old unit by what is comparable.
	type seen struct{ volts [][]float64 }
	table := map[key]*seen{}
	idle := map[key]*seen{}     // the same with the calls left out
	full := map[key]*seen{}     // those with both calls, or without
	alone := map[string]*seen{} // what the calls alone do, nothing open
	chatter := map[uint64]bool{}
	put := func(m map[key]*seen, k key, v []float64) {
		if m[k] == nil {
			m[k] = &seen{make([][]float64, len(v))}
		}
		for i, x := range v {
			x = math.Round(2*x) / 2
			if !slices.Contains(m[k].volts[i], x) {
				m[k].volts[i] = append(m[k].volts[i], x)
			}
		}
	}
	var default1 = func(n *net, t trace) bool { // a cooling call and nothing else unusual
		for i, in := range n.inputs {
			on := t.in>>i&1 == 1
			if in.name == "cool-1" && !on || in.kind != "call" && on != in.rest {
				return false
			}
		}
		return true
	}
	oldAll := true
	for _, t := range old.traces {
		k := project(old.n, c.old, t, true)
		if !t.settled {
			chatter[k] = true
		}
		put(table, key{k, t.runs}, t.volts)
		if c := callsOf(old.n, t); !moved(old.n, t) {
			if alone[c] == nil {
				alone[c] = &seen{make([][]float64, len(t.volts))}
			}
			for i, x := range t.volts {
				alone[c].volts[i] = append(alone[c].volts[i], x)
			}
		}
		if called2(old.n, t) {
			put(full, key{k, t.runs}, t.volts)
		}
		if !t.runs && !called(old.n, t) {
			put(idle, key{project(old.n, c.old, t, false), false}, t.volts)
		}
		if default1(old.n, t) && !t.runs {
			oldAll = false
		}
	}
	where := map[string]int{}
	for i, d := range old.n.loads {
		where[d.dev+" "+d.name] = i
	}
	bad := map[string]string{}
	ran := false
	for _, t := range l.traces {
		k := project(l.n, c.new, t, true)
		if t.runs {
			for i, in := range l.n.inputs {
				if in.kind == "delay" && t.in>>i&1 == 0 {
					if _, kept := bad["delay "+in.name]; !kept {
						bad["delay "+in.name] = fmt.Sprintf("the compressor runs before %s: %s", in.name, words(l.n, t))
					}
				}
			}
		}
		if !t.settled && !chatter[k] {
			say("does not come to rest", "%s", words(l.n, t))
		}
		if whole && default1(l.n, t) {
			if t.runs {
				ran = true
			} else if oldAll {
				say("does not run when called", "%s", words(l.n, t))
			}
		}
		for i, d := range l.n.loads {
			name := d.dev + " " + d.name
			j, ok := where[name]
			if !ok || !compared(d) || bad[name] != "" && len(bad[name]) < 60 {
				continue
			}
			near := func(s *seen) bool {
				if s == nil {
					return false
				}
				for _, x := range s.volts[j] {
					if math.Abs(x-t.volts[i]) <= 0.1*d.volts {
						return true
					}
				}
				return false
			}
			same := table[key{k, t.runs}]
			// The new compressor gives its full capacity on every call: what moves air
			// does what it did at full capacity.
			if f := full[key{k, true}]; t.runs && f != nil && (d.what == "fan" || d.what == "blower") {
				same = f
			}
			if near(same) {
				continue
			}
			// A sneak path of the old unit, past an open switch and through loads: what
			// has less than that, and what these calls give it with nothing open, is
			// none the worse; nor what has what they give without a lone call of the
			// second stage. Not so where the compressor is called for.
			// A coil that has less than half of what lets it go, by its own data, is let
			// go: what remains on it then is no signal, in either circuit.
			if same != nil && d.what == "coil" && t.volts[i] < d.lo/2 && slices.Max(same.volts[j]) < d.lo/2 {
				continue
			}
			// A fan that had less than a fifth of its voltage by such a path stood still, and
			// has less yet.
			if same != nil && d.what == "fan" && slices.Max(same.volts[j]) < 0.2*d.volts && t.volts[i] < slices.Min(same.volts[j]) {
				continue
			}
			if same != nil && !t.runs && moved(l.n, t) && !asked(l.n, t, "cool-1") && (d.what == "blower" || d.what == "fan" || d.what == "coil") &&
				t.volts[i] < slices.Min(same.volts[j]) && (near(alone[callsOf(l.n, t)]) || near(alone[strings.Replace(callsOf(l.n, t), "cool-2 ", "", 1)]) || t.volts[i] < 0.2*d.volts) {
				continue
			}
			if !whole { // with a fuse open a load may have less, but nothing it had not
				most := 0.0
				for _, s := range []*seen{same, table[key{k, !t.runs}]} {
					if s != nil {
						most = max(most, slices.Max(s.volts[j]))
					}
				}
				if t.volts[i] <= most+0.1*d.volts {
					continue
				}
			}
			if k2, ok := onlySecond(l.n, c.new, t, k); ok && near(table[key{k2, t.runs}]) {
				continue
			}
			// A delay that the old unit has not got holds off the compressor alone:
			// everything else may be as at rest or as when it runs.
			if (same == nil || waits(l.n, c.new, t)) && (near(idle[key{project(l.n, c.new, t, false), false}]) || near(table[key{k, !t.runs}])) {
				continue
			}
			var had []float64
			if same != nil {
				had = same.volts[j]
			}
			bad[name] = fmt.Sprintf("%s has %.0f V, had %.0f V: %s, runs %v", name, t.volts[i], had, words(l.n, t), t.runs)
		}
	}
	for _, name := range sortedKeys(bad) {
		say("another voltage", "%s", bad[name])
	}
	if whole && !ran {
		say("does not run when called", "in no state")
	}
}

// called2: the second stage is called wherever the first one is.
func called2(n *net, t trace) bool {
	one, two, known := false, false, false
	for i, in := range n.inputs {
		switch in.name {
		case "cool-1":
			one = t.in>>i&1 == 1
		case "cool-2":
			two, known = t.in>>i&1 == 1, true
		}
	}
	return !known || one == two
}

func asked(n *net, t trace, call string) bool {
	for i, in := range n.inputs {
		if in.name == call {
			return t.in>>i&1 == 1
		}
	}
	return false
}

func callsOf(n *net, t trace) (s string) {
	for _, c := range []string{"cool-1", "cool-2", "fan"} {
		if asked(n, t, c) {
			s += c + " "
		}
	}
	return s
}

// moved: a switch or a delay is not as it is at rest.
func moved(n *net, t trace) bool {
	for i, in := range n.inputs {
		if in.kind != "call" && (t.in>>i&1 == 1) != in.rest {
			return true
		}
	}
	return false
}

func called(n *net, t trace) bool {
	for i, in := range n.inputs {
		if in.kind == "call" && t.in>>i&1 == 1 {
			return true
		}
	}
	return false
}

func sortedKeys[V any](m map[string]V) []string {
	var s []string
	for k := range m {
		s = append(s, k)
	}
	sort.Strings(s)
	return s
}

// ampacity of copper, 60 C column (NEC Table 310.16 as restated in the project's
// own electrical tables); 18 and 16 AWG from memory.
var ampacity = map[int]float64{18: 7, 16: 10, 14: 15, 12: 20, 10: 30, 8: 40, 6: 55, 4: 70}

// ratings: what each part carries against what it is made for.
func ratings(old, l *life, want wanted, say func(kind, format string, a ...any)) {
	n := l.n
	was := map[string]float64{}
	for i, p := range old.n.parts {
		if p.amps > 0 {
			was[p.dev+" "+p.name] = old.contact[i] / p.amps
		}
	}
	for i := range n.parts {
		p := &n.parts[i]
		name := strings.TrimSpace(p.dev + " " + p.name)
		if p.wire >= 0 {
			c := n.f.Conductors[p.wire]
			need := l.wire[p.wire]
			if l.comp[i] > 0.5 {
				need += 0.25 * want.rla
			}
			if cap := ampacity[c.Gauge]; need > 1.02*cap {
				say("conductor too thin", "%s carries %.1f A with its 25 %%, %d AWG takes %.0f", c.ID, need, c.Gauge, cap)
			}
			continue
		}
		if !p.contact || p.amps == 0 {
			continue
		}
		if l.contact[i] > 1.05*p.amps && l.contact[i]/p.amps > 1.02*was[p.dev+" "+p.name] {
			say("contact overloaded", "%s carries %.1f A of %.1f", name, l.contact[i], p.amps)
		}
		if l.comp[i] > 0.5 {
			if d := n.f.device(p.dev); strings.HasPrefix(d.Kind, "contactor") || d.Kind == "relay" {
				most := 6 * p.amps
				if d.has("contact-lra") && d.Params["contact-lra"] > 0 {
					most = d.num("contact-lra")
				}
				if want.lra > 1.02*most {
					say("contact overloaded", "%s breaks %.0f A locked, is made for %.0f", name, want.lra, most)
				}
			}
		}
	}
	for i, c := range n.couplers {
		before := 0.0
		for j, o := range old.n.couplers {
			if o.dev == c.dev {
				before = old.va[j] / o.va
			}
		}
		if l.va[i] > 1.05*c.va && l.va[i]/c.va > 1.02*before {
			say("transformer overloaded", "%s gives %.0f VA of %.0f", c.dev, l.va[i], c.va)
		}
	}
	if l.feed > 3 && l.feed > 1.02*old.feed {
		say("short circuit", "%s gives %.0f times its breaker", l.feedAt, l.feed)
	}
	for _, name := range sortedKeys(l.coils) {
		if old.coils[name] == "" {
			say("coil voltage", "%s", l.coils[name])
		}
	}
	for _, m := range n.motors {
		c := l.eff[m.name]
		if c == 0 {
			continue // does not run: said elsewhere
		}
		if isCompressor(m.kind) {
			if math.Abs(c/want.farads-1) > 0.12 {
				say("run capacitor", "%s works with %.3g uF, wants %.3g", m.name, 1e6*c, 1e6*want.farads)
			}
			if v := l.compV[m.name]; math.Abs(v/want.volts-1) > 0.1 {
				say("another voltage", "%s has %.0f V", m.name, v)
			}
		} else if o := old.eff[m.name]; math.Abs(c/m.farads-1) > 0.12 && (o == 0 || math.Abs(c/o-1) > 0.05) {
			say("run capacitor", "%s works with %.3g uF, wants %.3g", m.name, 1e6*c, 1e6*m.farads)
		}
		for dev := range l.caps[m.name] {
			d := n.f.device(dev)
			if !d.has("volts") || !strings.HasPrefix(d.Kind, "capacitor-") || d.Kind == "capacitor-start" {
				continue
			}
			if isCompressor(m.kind) && d.num("volts") < want.capVolts {
				say("run capacitor", "%s is for %.0f V, the compressor wants %.0f", dev, d.num("volts"), want.capVolts)
			}
			if o := old.n.f.device(dev); !isCompressor(m.kind) && o != nil && d.num("volts") < o.num("volts") && d.num("volts") < 370 {
				say("run capacitor", "%s is for %.0f V", dev, d.num("volts"))
			}
		}
	}
	if l.idle && !old.idle {
		say("poles", "the compressor is live at rest and was dead")
	}
	if l.earth > 0.01 && l.earth > 1.05*old.earth+0.01 {
		say("current in the ground", "%.3g A", l.earth)
	}
	for _, t := range sortedKeys(l.shell) {
		if l.shell[t] > 30 && old.shell[t] < 30 {
			say("live shell", "%s has %.0f V", t, l.shell[t])
		}
	}
	grounded(old.n, n, say)
	for i, v := range l.live {
		if v > 1 {
			c := n.f.Conductors[i]
			say("loose end", "%s has %.0f V", c.ID, v)
		}
	}
	// A switch that is there and carries nothing.
	for i := range n.parts {
		p := &n.parts[i]
		d := n.f.device(p.dev)
		if !p.contact || d == nil || len(netlistTerminals(d.Kind)) != 2 {
			continue
		}
		for j, q := range old.n.parts {
			if q.dev == p.dev && q.name == p.name && old.carries[j] > 1e-3 && l.carries[i] < 1e-4 {
				say("carries nothing", "%s", p.dev)
			}
		}
	}
}

// grounded: what lay on the equipment ground by conductors of its own still does,
// the new compressor for the old.
func grounded(old, n *net, say func(kind, format string, a ...any)) {
	landed := func(n *net) map[string]bool {
		u := newUnion(len(n.names))
		for i := range n.parts {
			if p := &n.parts[i]; p.wire >= 0 || p.name == "earth" {
				u.join(p.a, p.b)
			}
		}
		m := map[string]bool{}
		for _, k := range n.shells {
			m[n.names[k]] = u.root(k) == u.root(0)
		}
		return m
	}
	was, is := landed(old), landed(n)
	comp := false
	for i := range old.f.Devices {
		if d := &old.f.Devices[i]; isCompressor(d.Kind) && was[d.ID+".GND"] {
			comp = true
		}
	}
	for _, t := range sortedKeys(is) {
		if is[t] {
			continue
		}
		d := n.f.device(strings.Split(t, ".")[0])
		if was[t] || comp && isCompressor(d.Kind) {
			say("ground not landed", "%s", t)
		}
	}
}

// isSupply: a source that a disconnect opens.
func isSupply(kind string) bool { return strings.HasPrefix(kind, "supply") }

// sources opens each disconnect and each transformer and looks what is still live.
func sources(old, l *life, f *file, say func(kind, format string, a ...any)) {
	states := func(n *net, see func(now bits, v view)) {
		for x := range 8 {
			b := n.rest()
			for _, in := range n.inputs {
				for k, c := range []string{"cool-1", "cool-2", "fan"} {
					if in.name == c {
						b = b.with(in.bit, x>>k&1 == 1)
					}
				}
			}
			now, v, _ := n.settle(b, n.solve)
			see(now, v)
		}
	}
	// live gives the line terminals with voltage while a supply is off: fed by
	// another supply through metal and loads, or by a transformer backwards.
	live := func(f *file, id string) (fed, back map[string]float64) {
		fed, back = map[string]float64{}, map[string]float64{}
		n, err := compile(f, id)
		if err != nil {
			return
		}
		states(n, func(now bits, v view) {
			root := n.spread()
			other := map[int]bool{}
			for i := range n.f.Devices {
				if d := &n.f.Devices[i]; isSupply(d.Kind) && d.ID != id {
					for _, t := range netlistTerminals(d.Kind) {
						if terminalClass(d.Kind, t) != "ground" {
							other[root(n.at(d.ID, t))] = true
						}
					}
				}
			}
			for i := range n.f.Devices {
				d := &n.f.Devices[i]
				for _, t := range netlistTerminals(d.Kind) {
					if k := n.at(d.ID, t); terminalClass(d.Kind, t) == "line" && abs(v.v[k]) > 30 {
						if other[root(k)] {
							fed[d.ID+"."+t] = abs(v.v[k])
						} else {
							back[d.ID+"."+t] = abs(v.v[k])
						}
					}
				}
			}
		})
		return
	}
	for i := range f.Devices {
		d := &f.Devices[i]
		if isSupply(d.Kind) {
			fed, back := live(f, d.ID)
			for _, t := range sortedKeys(back) {
				say("backfeed", "%s has %.0f V with %s open", t, back[t], d.ID)
			}
			var before map[string]float64
			for _, t := range sortedKeys(fed) {
				dev := f.device(strings.Split(t, ".")[0])
				if dev.Place != d.Place {
					continue
				}
				if before == nil {
					before, _ = live(old.n.f, d.ID)
				}
				if before[t] == 0 {
					say("backfeed", "%s has %.0f V with %s open, from another supply", t, fed[t], d.ID)
				}
			}
		}
	}
	if len(l.n.couplers) < 2 {
		return
	}
	for _, c := range l.n.couplers {
		n, err := compile(f, c.dev)
		if err != nil {
			continue
		}
		states(n, func(_ bits, v view) {
			if x := abs(v.across(c.s1, c.s2)); x > 5 {
				say("sources joined", "%s has %.0f V from another transformer", c.dev, x)
			}
		})
	}
}

// grounds are the nodes that are meant to be at earth.
func (n *net) grounds() map[int]bool {
	g := map[int]bool{0: true}
	for i := range n.f.Devices {
		d := &n.f.Devices[i]
		for _, t := range netlistTerminals(d.Kind) {
			if terminalClass(d.Kind, t) == "ground" {
				g[n.at(d.ID, t)] = true
			}
		}
	}
	for more := true; more; {
		more = false
		for i, p := range n.parts {
			if p.wire >= 0 && n.f.Conductors[p.wire].Class == "ground" && g[n.parts[i].a] != g[n.parts[i].b] {
				g[p.a], g[p.b], more = true, true, true
			}
		}
	}
	return g
}

// spread joins everything that could conduct, whichever way the contacts stand,
// grounds and transformer couplings apart.
func (n *net) spread() func(int) int {
	u, g := newUnion(len(n.names)), n.grounds()
	for i := range n.parts {
		if p := &n.parts[i]; !g[p.a] && !g[p.b] {
			u.join(p.a, p.b)
		}
	}
	return u.root
}

// metal: line and Class 2 have nothing in common but ground.
func metal(l *life, say func(kind, format string, a ...any)) {
	n := l.n
	root := n.spread()
	line := map[int]string{}
	g := n.grounds()
	for i := range n.f.Devices {
		d := &n.f.Devices[i]
		for _, t := range netlistTerminals(d.Kind) {
			if k := n.at(d.ID, t); terminalClass(d.Kind, t) == "line" && !g[k] {
				line[root(k)] = d.ID + "." + t
			}
		}
	}
	for i := range n.f.Devices {
		d := &n.f.Devices[i]
		for _, t := range netlistTerminals(d.Kind) {
			if k := n.at(d.ID, t); terminalClass(d.Kind, t) == "class2" && line[root(k)] != "" {
				say("class 2 meets line", "%s and %s", d.ID+"."+t, line[root(k)])
				return
			}
		}
	}
}
