package purpose

import (
	"context"
	"fmt"
	"math/cmplx"
	"slices"
	"sort"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"retrostage/wiring/netlist"
)

func load(t testing.TB, name string) *netlist.Unit {
	t.Helper()
	u, err := netlist.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

func find(t testing.TB, u *netlist.Unit) *Purposes {
	t.Helper()
	p, err := Find(context.Background(), u)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// stopping lists what stops a compressor by opening from outside or by failing.
func stopping(p *Purposes) (out []string) {
	for _, in := range p.OfCompressor() {
		if in.Opens == Outside || in.Opens == Link {
			out = append(out, in.Device)
		}
	}
	sort.Strings(out)
	return slices.Compact(out)
}

// What the drawings of the catalogue say, read by hand: what stops a compressor,
// and what only chooses its stage.
var byHand = []struct {
	unit, stops, stages string
}{
	{"packaged-two-capacity-conventional", "DT HP IF LP", ""},
	{"parallel-tandem-conventional", "DT HP IF LP", "K2 SR"},
	{"parallel-tandem-digital", "DT HP IF LP", "K2 SR"},
	{"parallel-tandem-fan-contactor-digital", "DT HP IF LA LP", "K2 SR"},
	{"parallel-tandem-line-safeties-conventional", "HPL1 HPL2 IF LP OL1 OL2", "K2 SR"},
	{"two-capacity-conventional", "DT HP IF LP", ""},
	{"two-capacity-digital", "DT HP IF LP", ""},
	{"two-capacity-fan-taps-digital", "DT HP IF LP", ""},
	{"two-capacity-float-conventional", "DT FS HP IF LP OF", ""},
	{"two-capacity-monitor-conventional", "DT HP IF LP MON", ""},
	{"two-capacity-two-speed-fan-conventional", "DT HP IF LC", "FR"},
	{"two-contactor-conventional", "DT HP IF LP", "CH CL SR"},
	{"two-contactor-digital", "DT HP IF LP", "CH CL SR"},
	{"two-contactor-lockout-conventional", "DT FS HP IF LP", "CH CL SR"},
	{"two-contactor-outdoor-transformer-conventional", "HP LP OF", "CH CL SR"},
	{"two-contactor-start-kit-conventional", "DT HP IF LC", "CH CL SR"},
}

func TestCatalogue(t *testing.T) {
	for _, want := range byHand {
		p := find(t, load(t, want.unit))
		if got := strings.Join(stopping(p), " "); got != want.stops {
			t.Errorf("%s: the compressor is stopped by %s, want %s", want.unit, got, want.stops)
		}
		stages := stageDevices(p)
		sort.Strings(stages)
		if got := strings.Join(stages, " "); got != want.stages {
			t.Errorf("%s: stage devices %s, want %s", want.unit, got, want.stages)
		}
		if p.Untried != "" || len(p.Leaves) > p.Combinations {
			t.Errorf("%s: %d leaves of %d, untried %q", want.unit, len(p.Leaves), p.Combinations, p.Untried)
		}
		var ask []string
		for _, q := range p.Unclear {
			ask = append(ask, q.Device)
		}
		if got, two := strings.Join(ask, " "), strings.Contains(want.unit, "line-safeties"); two && got != "HPL2 OL2" || !two && got != "" {
			t.Errorf("%s: unclear: %v", want.unit, p.Unclear)
		}
	}
	if n := len(netlist.Catalogue()); n != len(byHand) {
		t.Errorf("%d units in the catalogue, %d read by hand", n, len(byHand))
	}
}

// Line switches carry the compressor's current, control switches do not; the second
// compressor's own stop only that one.
func TestLine(t *testing.T) {
	p := find(t, load(t, "parallel-tandem-line-safeties-conventional"))
	for _, in := range p.Interrupters {
		if in.Opens != Outside {
			continue
		}
		if line := in.Device != "LP"; in.Line != line {
			t.Errorf("%s: line %v", in.Device, in.Line)
		}
		for _, s := range in.Stops {
			if s.Kind == "compressor" && s.Alone != !strings.HasSuffix(in.Device, "2") {
				t.Errorf("%s stops %s, alone %v", in.Device, s.Load, s.Alone)
			}
		}
	}
}

// What devices are called does not matter.
func TestNames(t *testing.T) {
	for _, name := range netlist.Catalogue() {
		u := load(t, name)
		before := find(t, u)
		call := map[string]string{}
		for i, d := range slices.Clone(u.Devices) {
			to := fmt.Sprintf("N%d", len(u.Devices)-i)
			if err := u.RenameDevice(d.ID, "tmp-"+to); err != nil {
				t.Fatal(err)
			}
			call["tmp-"+to] = d.ID
			u.Device("tmp-" + to).Label = ""
		}
		after := find(t, u)
		a, b := stopping(before), stopping(after)
		for i := range b {
			b[i] = call[b[i]]
		}
		sort.Strings(b)
		if !slices.Equal(a, b) {
			t.Errorf("%s: %v, renamed %v", name, a, b)
		}
	}
}

// sameAsLeaf solves a state and the leaf that stands for it and compares what the
// loads do and the voltage on every part that takes current: the argument for
// leaving states out, tried.
func sameAsLeaf(t interface {
	Helper()
	Fatalf(string, ...any)
	Errorf(string, ...any)
}, c *netlist.Circuit, tree *Tree, s *netlist.Solver, st netlist.State) {
	t.Helper()
	k := tree.Leaf(st)
	if k < 0 {
		t.Fatalf("state %b has no leaf", st)
	}
	if l := tree.Covering(1<<len(c.Inputs)-1, st); len(l) != 1 || l[0] != k {
		t.Fatalf("state %b is covered by %v, its leaf is %d", st, l, k)
	}
	solve := func(st netlist.State) (v []float64, does []string) {
		x, err := s.Solve(st)
		if err != nil {
			t.Fatalf("%v", err)
		}
		for i := range c.Branches {
			if br := &c.Branches[i]; br.Kind == netlist.LoadBranch && br.Siemens() != 0 {
				v = append(v, cmplx.Abs(x.Across(i)))
			}
		}
		return v, x.Statuses()
	}
	v, does := solve(st)
	w, did := solve(tree.Leaves[k].State)
	if !slices.Equal(does, did) {
		t.Errorf("%s: %v, its leaf %s: %v", c.Words(st), does, c.Words(tree.Leaves[k].State), did)
	}
	for i := range v {
		if d := v[i] - w[i]; d > 0.1 || d < -0.1 { // leakage of several open contacts over a few 100 kohm; no duty is that small
			t.Errorf("%s: %.4f V, its leaf: %.4f V", c.Words(st), v[i], w[i])
		}
	}
}

// Every state of every catalogue unit is as its leaf.
func TestLeaves(t *testing.T) {
	for _, name := range netlist.Catalogue() {
		c, err := netlist.Compile(load(t, name))
		if err != nil {
			t.Fatal(err)
		}
		tree, err := Split(context.Background(), len(c.Inputs), c.Rest(), MostLeaves, Own(c))
		if err != nil || !tree.Complete || tree.Covered(len(c.Inputs)) != c.States() {
			t.Fatalf("%s: %v, complete %v, %d of %d states", name, err, tree.Complete, tree.Covered(len(c.Inputs)), c.States())
		}
		s := c.NewSolver()
		for st := range netlist.State(c.States()) {
			sameAsLeaf(t, c, tree, s, st)
		}
	}
}

// So is every state of a unit with switches, relays and loads put in anywhere.
func TestLeavesOfAnyUnit(t *testing.T) {
	names := netlist.Catalogue()
	rapid.Check(t, func(t *rapid.T) {
		u, err := netlist.Load(rapid.SampledFrom(names).Draw(t, "unit"))
		if err != nil {
			t.Fatalf("%v", err)
		}
		for i := range rapid.IntRange(1, 5).Draw(t, "changes") {
			w := &u.Conductors[rapid.IntRange(0, len(u.Conductors)-1).Draw(t, "conductor")]
			id := fmt.Sprintf("Q%d", i)
			switch rapid.IntRange(0, 2).Draw(t, "change") {
			case 0: // a switch into a conductor
				u.Devices = append(u.Devices, netlist.Device{ID: id, Kind: "switch", Place: "outdoor"})
				rest := *w
				rest.ID, rest.From = "q"+id, id+".2"
				w.To = id + ".1"
				u.Conductors = append(u.Conductors, rest)
			case 1: // a conductor between any two ends
				ends := u.Ends()
				u.Conductors = append(u.Conductors, netlist.Conductor{ID: "q" + id, Colour: "red", Gauge: 14, Insulation: 600, Class: netlist.Class2,
					From: rapid.SampledFrom(ends).Draw(t, "from"), To: rapid.SampledFrom(ends).Draw(t, "to")})
			case 2: // a conductor left out
				u.Conductors = slices.Delete(u.Conductors, 0, 1)
			}
		}
		c, err := netlist.Assemble(u)
		if err != nil {
			t.Skip(err.Error())
		}
		tree, err := Split(context.Background(), len(c.Inputs), c.Rest(), MostLeaves, Own(c))
		if err != nil {
			t.Fatalf("%v", err)
		}
		s := c.NewSolver()
		for range 8 {
			st := netlist.State(rapid.IntRange(0, c.States()-1).Draw(t, "state"))
			if x, err := s.Solve(st); err != nil || x.Chatter != nil {
				continue // where relays come to rest is another matter
			}
			sameAsLeaf(t, c, tree, s, st)
		}
	})
}

// 13 switches in a string: 16 inputs, 65,536 combinations.
func TestString(t *testing.T) {
	u := load(t, "two-contactor-conventional")
	for i := range 10 {
		id := fmt.Sprintf("S%d", i)
		u.Devices = append(u.Devices, netlist.Device{ID: id, Kind: "switch", Place: "outdoor"})
		w := u.Conductor("w24")
		rest := *w
		rest.ID, rest.From = "w24"+id, id+".2"
		w.To = id + ".1"
		u.Conductors = append(u.Conductors, rest)
	}
	p := find(t, u)
	if p.Combinations != 1<<16 || len(p.Leaves) > 200 || len(stopping(p)) != 14 {
		t.Errorf("%d leaves for %d combinations, stopped by %v", len(p.Leaves), p.Combinations, stopping(p))
	}
}

// A bound that is reached is said, a context that ends ends the search.
func TestBounds(t *testing.T) {
	c, err := netlist.Compile(load(t, "two-contactor-conventional"))
	if err != nil {
		t.Fatal(err)
	}
	tree, err := Split(context.Background(), len(c.Inputs), c.Rest(), 5, Own(c))
	if err != nil || tree.Complete || len(tree.Leaves) != 5 || tree.Covered(len(c.Inputs)) >= c.States() {
		t.Errorf("%v, complete %v, %d leaves", err, tree.Complete, len(tree.Leaves))
	}
	lost := 0
	for st := range netlist.State(c.States()) {
		if tree.Leaf(st) < 0 {
			lost++
		}
	}
	if lost != c.States()-tree.Covered(len(c.Inputs)) {
		t.Errorf("%d states without a leaf, %d left out", lost, c.States()-tree.Covered(len(c.Inputs)))
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Find(ctx, load(t, "two-contactor-conventional")); err != context.Canceled {
		t.Errorf("cancelled: %v", err)
	}
}

// A switch whose opening changes nothing is asked about; one on nothing does
// nothing as entered, and may have been bypassed.
func TestUnclear(t *testing.T) {
	u := load(t, "two-contactor-conventional")
	u.Devices = append(u.Devices, netlist.Device{ID: "A", Kind: "switch", Place: "outdoor"}, netlist.Device{ID: "B", Kind: "switch", Place: "outdoor"})
	for i, e := range [][2]string{{"IB.R", "A.1"}, {"TS.R", "A.2"}, {"HP.1", "B.1"}} {
		u.Conductors = append(u.Conductors, netlist.Conductor{ID: fmt.Sprintf("x%d", i), From: e[0], To: e[1], Colour: "red", Gauge: 18, Insulation: 600, Class: netlist.Class2})
	}
	p := find(t, u)
	if len(p.Unclear) != 2 || p.Unclear[0].Device != "A" || p.Unclear[0].Idle || !strings.Contains(p.Unclear[0].Question, "?") || p.Unclear[1].Device != "B" || !p.Unclear[1].Idle {
		t.Errorf("unclear: %v", p.Unclear)
	}
	if !slices.Equal(p.Irrelevant, []string{"B"}) {
		t.Errorf("irrelevant: %v", p.Irrelevant)
	}
}

func BenchmarkFind(b *testing.B) {
	for _, name := range []string{"two-contactor-conventional", "parallel-tandem-line-safeties-conventional"} {
		u := load(b, name)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				find(b, u)
			}
		})
	}
}

// stageDevices are the devices all of whose contacts are stage contacts.
func stageDevices(p *Purposes) []string {
	stage := func(device, branch string) bool {
		return slices.ContainsFunc(p.Stages, func(t Stage) bool { return t.Device == device && t.Branch == branch })
	}
	var out []string
	for _, s := range p.Stages {
		other := slices.ContainsFunc(p.Circuit.Branches, func(b netlist.Branch) bool {
			return b.Device == s.Device && b.Kind == netlist.ContactBranch && !stage(b.Device, b.Name)
		})
		if !other && !slices.Contains(out, s.Device) {
			out = append(out, s.Device)
		}
	}
	return out
}
