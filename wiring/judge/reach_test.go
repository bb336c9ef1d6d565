package judge

// A spot is one reachable state: every input and every relay and rotor.
type spot struct {
	now     bits
	v       view
	settled bool
}

// moving are the inputs that are tried in both positions; fuses are tried apart.
func (n *net) moving() (out []input) {
	for _, in := range n.inputs {
		if in.kind != "fuse" {
			out = append(out, in)
		}
	}
	return out
}

// A step is one input moved: from where, which, to where.
type walk func(from spot, in input, to spot)

// reach visits every reachable spot once, and every step between them. Power may
// fail and come back in any state of the inputs, so each is begun from rest too.
// It starts from base, whose inputs outside moving stay as they are, and from
// the positions given besides.
func (n *net) reach(base bits, also []bits, visit func(s spot), each walk) {
	seen := map[bits]bool{}
	known := map[bits]spot{} // where a position settles
	var todo []spot
	come := func(b bits) spot {
		s, ok := known[b]
		if !ok {
			s.now, s.v, s.settled = n.settle(b, n.solve)
			known[b] = s
		}
		if !seen[s.now] {
			seen[s.now] = true
			visit(s)
			todo = append(todo, s)
		}
		return s
	}
	ins := n.moving()
	for x := range 1 << len(ins) {
		b := base
		for i, in := range ins {
			b = b.with(in.bit, x>>i&1 == 1)
		}
		come(b)
	}
	for _, b := range also {
		come(b)
	}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for _, in := range ins {
			t := come(s.now.with(in.bit, !s.now.has(in.bit)))
			if each != nil {
				each(s, in, t)
			}
		}
	}
}

// runs tells which compressors turn, a bit each in the order of the motors.
func (n *net) runs(b bits) (mask uint64) {
	for i, m := range n.motors {
		if isCompressor(m.kind) && b.has(m.turns) {
			mask |= 1 << i
		}
	}
	return mask
}
