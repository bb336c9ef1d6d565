package purpose

import (
	"context"
	"fmt"

	"retrostage/wiring/netlist"
)

// A View is a circuit whose inputs are found in a common list: At[k] is the
// circuit's input that the k-th common input sets, or -1. An input of the circuit
// that no common input sets keeps its value in Fixed if Known says so; else it may
// be either.
type View struct {
	Circuit      *netlist.Circuit
	At           []int
	Known, Fixed netlist.State
	g            *graph
}

// A Leaf is one state that stands for all states that agree with it in the inputs
// of Decided: the others cannot matter in it.
type Leaf struct {
	Decided, State netlist.State // over the common inputs
}

// A Tree is the decisions by which the leaves were found.
type Tree struct {
	Leaves   []Leaf
	Complete bool // no bound was reached
	root     *fork
}

// fork decides one input; a nil child is what was left out.
type fork struct {
	input int
	leaf  int // if input < 0
	to    [2]*fork
}

// Covering lists the leaves that have a state which agrees with state in decided.
func (t *Tree) Covering(decided, state netlist.State) (out []int) {
	var down func(f *fork)
	down = func(f *fork) {
		switch {
		case f == nil:
		case f.input < 0:
			out = append(out, f.leaf)
		case decided>>f.input&1 == 1:
			down(f.to[state>>f.input&1])
		default:
			down(f.to[0])
			down(f.to[1])
		}
	}
	down(t.root)
	return out
}

// Leaf is the number of the leaf that covers a state, -1 if it was left out.
func (t *Tree) Leaf(state netlist.State) int {
	f := t.root
	for f != nil && f.input >= 0 {
		f = f.to[state>>f.input&1]
	}
	if f == nil {
		return -1
	}
	return f.leaf
}

// Covered is the number of states over n inputs that the leaves cover.
func (t *Tree) Covered(n int) (sum int) {
	for _, l := range t.Leaves {
		sum += 1 << (n - ones(l.Decided))
	}
	return sum
}

// Split finds the leaves over n common inputs: each state of the views is covered
// by exactly one of them. Inputs are decided in order, the default value first. If
// there are more than most, the rest is left out.
func Split(ctx context.Context, n int, defaults netlist.State, most int, views ...*View) (*Tree, error) {
	for _, v := range views {
		v.g = newGraph(v.Circuit)
	}
	t := &Tree{Complete: true}
	var visit func(l Leaf) (*fork, error)
	visit = func(l Leaf) (*fork, error) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if len(t.Leaves) >= most {
			t.Complete = false
			return nil, nil
		}
		k := next(n, l, views)
		if k < 0 {
			t.Leaves = append(t.Leaves, l)
			return &fork{input: -1, leaf: len(t.Leaves) - 1}, nil
		}
		l.Decided |= 1 << k
		f := &fork{input: k}
		for range 2 {
			var err error
			if f.to[l.State>>k&1], err = visit(l); err != nil {
				return nil, err
			}
			l.State ^= 1 << k
		}
		return f, nil
	}
	var err error
	t.root, err = visit(Leaf{State: defaults})
	return t, err
}

// next is the first undecided input that can matter in any view, -1 if none.
func next(n int, l Leaf, views []*View) int {
	first := n
	for _, v := range views {
		known, value := v.Known, v.Fixed
		for k, i := range v.At {
			if i >= 0 {
				bit := netlist.State(1) << i
				known, value = known&^bit, value&^bit
				if l.Decided>>k&1 == 1 {
					known |= bit
					value |= l.State >> k & 1 << i
				}
			}
		}
		matter := v.g.matters(known, value)
		for k, i := range v.At[:first] {
			if i >= 0 && l.Decided>>k&1 == 0 && matter>>i&1 == 1 {
				first = k
				break
			}
		}
	}
	if first == n {
		return -1
	}
	return first
}

// Own is the view of a circuit on its own inputs.
func Own(c *netlist.Circuit) *View {
	v := &View{Circuit: c}
	for i := range c.Inputs {
		v.At = append(v.At, i)
	}
	return v
}

// Irrelevant lists the inputs that can matter in no state at all.
func Irrelevant(c *netlist.Circuit) []int {
	m := newGraph(c).matters(0, 0)
	var out []int
	for i := range c.Inputs {
		if m>>i&1 == 0 {
			out = append(out, i)
		}
	}
	return out
}

// Carries tells of each branch whether it can carry current in any state.
func Carries(c *netlist.Circuit) []bool {
	g := newGraph(c)
	g.matters(0, 0)
	return g.live[:len(c.Branches)]
}

// graph is the circuit's graph: one edge for each branch, then for each source its
// own edge and, for a transformer, its primary's.
type graph struct {
	c     *netlist.Circuit
	edges []edge
	plain []bool    // per input
	using [][]int   // per input: branches of the devices that look at it by logic
	from  [][]int32 // per node: edges
	on    []bool    // per edge: may conduct
	live  []bool    // per edge: in a block with a source
	dead  []bool    // per coil

	// of the search for blocks
	depth, low []int32
	stack      []int32
	clock      int32
	block      []int32 // per edge
	blocks     int32
}

type edge struct {
	a, b        int32
	input, coil int // what works it, -1 if nothing
	closed      bool
	canOpen     bool
	dead        bool  // never conducts
	source      bool  // drives current by itself
	twin        int32 // the other winding of the transformer; -1
}

func newGraph(c *netlist.Circuit) *graph {
	g := &graph{c: c}
	earth := c.NodeCount()
	node := func(n int) int32 {
		if n < 0 {
			return int32(earth)
		}
		return int32(n)
	}
	for i := range c.Branches {
		br := &c.Branches[i]
		a, b := br.Nodes()
		in, coil := c.Worker(i)
		g.edges = append(g.edges, edge{a: node(a), b: node(b), input: in, coil: coil, closed: br.Closed(), canOpen: br.CanOpen(), dead: br.Siemens() == 0, twin: -1})
	}
	for i := range c.Sources {
		p, m, p1, p2 := c.Sources[i].Nodes()
		k := int32(len(g.edges))
		e := edge{a: node(p), b: node(m), input: -1, coil: -1, twin: -1, source: !c.Sources[i].Coupled()}
		if c.Sources[i].Coupled() {
			e.twin = k + 1
			g.edges = append(g.edges, e, edge{a: node(p1), b: node(p2), input: -1, coil: -1, twin: k})
		} else {
			g.edges = append(g.edges, e)
		}
	}
	g.from = make([][]int32, earth+1)
	for i, e := range g.edges {
		g.from[e.a] = append(g.from[e.a], int32(i))
		if e.a != e.b {
			g.from[e.b] = append(g.from[e.b], int32(i))
		}
	}
	byDevice := map[string][]int{}
	for i := range c.Branches {
		byDevice[c.Branches[i].Device] = append(byDevice[c.Branches[i].Device], i)
	}
	for i := range c.Inputs {
		g.plain = append(g.plain, c.Plain(i))
		var use []int
		for _, d := range c.Users(i) {
			use = append(use, byDevice[d]...)
		}
		g.using = append(g.using, use)
	}
	g.on, g.live, g.block = make([]bool, len(g.edges)), make([]bool, len(g.edges)), make([]int32, len(g.edges))
	g.dead = make([]bool, len(c.Coils))
	g.depth, g.low = make([]int32, earth+1), make([]int32, earth+1)
	return g
}

// matters gives the inputs that can matter while those of known have their values.
func (g *graph) matters(known, value netlist.State) (out netlist.State) {
	clear(g.dead)
	for g.pass(known, value) {
	}
	for i := range g.edges {
		if e := &g.edges[i]; g.live[i] && e.input >= 0 && e.canOpen {
			out |= 1 << e.input
		}
	}
	for i, plain := range g.plain {
		if plain {
			continue
		}
		for _, b := range g.using[i] {
			if g.live[b] {
				out |= 1 << i
				break
			}
		}
	}
	return out &^ known
}

// pass finds the live edges and the coils that cannot be energised; it tells
// whether there were more of these than before.
func (g *graph) pass(known, value netlist.State) bool {
	for i := range g.edges {
		e := &g.edges[i]
		g.on[i] = !e.dead && e.a != e.b
		if !e.canOpen {
			continue
		}
		if e.input >= 0 && known>>e.input&1 == 1 && (value>>e.input&1 == 1) == e.closed {
			g.on[i] = false
		}
		if e.coil >= 0 && g.dead[e.coil] && !e.closed {
			g.on[i] = false
		}
	}
	g.findBlocks()
	driven := make([]bool, g.blocks)
	for i, e := range g.edges {
		if g.on[i] && e.source {
			driven[g.block[i]] = true
		}
	}
	for again := true; again; {
		again = false
		for i, e := range g.edges {
			if g.on[i] && e.twin >= 0 && g.on[e.twin] && driven[g.block[i]] && !driven[g.block[e.twin]] {
				driven[g.block[e.twin]], again = true, true
			}
		}
	}
	count := make([]int, g.blocks)
	for i := range g.edges {
		if g.on[i] {
			count[g.block[i]]++
		}
	}
	for i := range g.edges { // a block of one edge is a bridge: nothing flows in it
		g.live[i] = g.on[i] && driven[g.block[i]] && count[g.block[i]] > 1
	}
	more := false
	for k := range g.c.Coils {
		if !g.dead[k] && !g.coilLive(k) {
			g.dead[k], more = true, true
		}
	}
	return more
}

// coilLive tells whether a branch across a coil's ends lies in a live block.
func (g *graph) coilLive(k int) bool {
	a, _ := g.c.Node(g.c.Coils[k].Ends[0])
	b, _ := g.c.Node(g.c.Coils[k].Ends[1])
	for _, i := range g.from[a] {
		e := &g.edges[i]
		if g.live[i] && (int(e.a) == b || int(e.b) == b) {
			return true
		}
	}
	return false
}

// findBlocks numbers the biconnected parts (Hopcroft and Tarjan 1973, depth-first
// with a stack of edges; from memory).
func (g *graph) findBlocks() {
	clear(g.depth)
	g.clock, g.blocks, g.stack = 0, 0, g.stack[:0]
	for n := range g.depth {
		if g.depth[n] == 0 {
			g.walk(int32(n), -1)
		}
	}
}

func (g *graph) walk(n, by int32) {
	g.clock++
	g.depth[n], g.low[n] = g.clock, g.clock
	for _, i := range g.from[n] {
		if i == by || !g.on[i] {
			continue
		}
		e := &g.edges[i]
		m := e.a + e.b - n
		if g.depth[m] != 0 {
			if g.depth[m] < g.depth[n] { // an edge back up
				g.stack = append(g.stack, i)
				g.low[n] = min(g.low[n], g.depth[m])
			}
			continue
		}
		g.stack = append(g.stack, i)
		g.walk(m, i)
		g.low[n] = min(g.low[n], g.low[m])
		if g.low[m] >= g.depth[n] {
			for {
				k := g.stack[len(g.stack)-1]
				g.stack = g.stack[:len(g.stack)-1]
				g.block[k] = g.blocks
				if k == i {
					break
				}
			}
			g.blocks++
		}
	}
}

// Say counts what was tried against what there is.
func Say(states, inputs, never int) string {
	s := fmt.Sprintf("%d states stand for all %d combinations of %d inputs: the rest differ only in inputs whose contacts lie on no closed circuit in that state", states, 1<<inputs, inputs)
	if never > 0 {
		s += fmt.Sprintf("; %d of the inputs lie on none in any state", never)
	}
	return s
}
