package judge

import (
	"math/rand/v2"
	"testing"

	"retrostage/wiring/netlist"
)

func catalogue(t testing.TB) (out []*netlist.Unit) {
	for _, name := range netlist.Catalogue() {
		u, err := netlist.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, u)
	}
	return out
}

func mustCompile(t testing.TB, f *file, dead ...string) *net {
	t.Helper()
	n, err := compile(f, dead...)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// ngspice comes to the same rest as this package's own solver: the contacts are
// iterated on its voltages too.
func TestSpiceAgrees(t *testing.T) {
	needSpice(t)
	dir := t.TempDir()
	var states int
	var worst float64
	for i, u := range catalogue(t) {
		n := mustCompile(t, reread(u))
		rng := rand.New(rand.NewPCG(1, uint64(i)))
		var start []bits
		ins := n.moving()
		for range 24 {
			b := n.rest()
			for _, in := range ins {
				if rng.IntN(3) == 0 {
					b = b.with(in.bit, !b.has(in.bit))
				}
			}
			start = append(start, b)
		}
		for _, call := range []string{"cool-1", "cool-2", "fan"} { // and each call with the rest as it should be
			for _, in := range ins {
				if in.name == call {
					start = append(start, n.rest().with(in.bit, true))
				}
			}
		}
		// Each position's path to rest, the voltages from ngspice. All positions of
		// one round go into one run.
		seen := map[bits]view{}
		for round := 0; ; round++ {
			var ask []bits
			want := map[bits]bool{}
			for _, b := range start {
				func() {
					defer func() {
						if r := recover(); r != nil && r != errAsk {
							panic(r)
						}
					}()
					n.settle(b, func(now bits) view {
						v, ok := seen[now.and(n.ctl)]
						if !ok {
							if k := now.and(n.ctl); !want[k] {
								want[k] = true
								ask = append(ask, k)
							}
							panic(errAsk)
						}
						return v
					})
				}()
			}
			if len(ask) == 0 {
				break
			}
			vs, err := n.spice(dir, ask)
			if err != nil {
				t.Fatalf("%s: %v", u.Name, err)
			}
			for k, v := range vs {
				seen[ask[k]] = v
			}
		}
		for _, b := range start {
			mine, mv, ok1 := n.settle(b, n.solve)
			theirs, sv, ok2 := n.settle(b, func(now bits) view { return seen[now.and(n.ctl)] })
			if mine != theirs || ok1 != ok2 {
				t.Errorf("%s: comes to another rest in ngspice", u.Name)
			}
			for k := range mv.v {
				d := abs(mv.v[k]-sv.v[k]) / max(1, abs(sv.v[k]))
				worst = max(worst, d)
				if d > 1e-4 {
					t.Errorf("%s: %s is %.6g V here and %.6g V in ngspice", u.Name, n.names[k], mv.v[k], sv.v[k])
				}
			}
			states++
		}
	}
	t.Logf("%d states of %d units, worst difference of a node voltage %.2g of its size", states, len(netlist.Catalogue()), worst)
}

type askError struct{}

var errAsk = askError{}
