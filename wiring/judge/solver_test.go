package judge

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"testing"

	"retrostage/wiring/netlist"
)

// The solver of wiring/netlist against this reading, over every state of every
// catalogue unit: what each load does, and the voltage at every terminal. The
// models differ (angles of a motor, the transformer's core, power factors), so
// voltages agree within a few per cent, not to the last digit; the start winding's
// terminal hangs on the motor's model alone and is left out, and so are the taps
// of a two-speed fan, the data pair and what hangs on nothing.
func TestNetlistSolver(t *testing.T) {
	const within = 0.04
	states, nodes := 0, 0
	worst := map[string]float64{}
	for _, u := range catalogue(t) {
		n := mustCompile(t, reread(u))
		c, err := netlist.Compile(u)
		if err != nil {
			t.Fatal(err)
		}
		bit := map[string]int{}
		for _, in := range n.moving() {
			bit[in.name] = in.bit
		}
		s := c.NewSolver()
		for st := range netlist.State(c.States()) {
			b := n.rest()
			for i, in := range c.Inputs {
				k, ok := bit[in.Name]
				if !ok {
					t.Fatalf("%s: input %s is unknown to the second reading", u.Name, in.Name)
				}
				b = b.with(k, st>>i&1 == 1)
			}
			mine, v, ok := n.settle(b, n.solve)
			sol, err := s.Solve(st)
			if err != nil {
				t.Fatal(err)
			}
			states++
			if ok != (len(sol.Chatter) == 0) {
				t.Errorf("%s, %s: comes to rest %v here, chatter there: %v", u.Name, c.Words(st), ok, sol.Chatter)
			}
			for _, m := range n.motors {
				there := sol.Status(m.dev)
				if strings.HasSuffix(m.name, "-high") {
					continue
				}
				does := motorWords(n, m.dev, mine, v)
				if does != there && !(strings.HasPrefix(does, "runs") && strings.HasPrefix(there, "runs")) {
					t.Errorf("%s, %s: %s %q here, %q there", u.Name, c.Words(st), m.dev, does, there)
				}
			}
			island := n.islands(mine)
			for k := 1; k < len(n.names); k++ {
				name := n.names[k]
				if strings.Contains(name, " ") || skipNode(n, name, mine) {
					continue
				}
				// What floats has no voltage of its own against earth: it is held against
				// the first terminal of its island.
				x, err := sol.ToEarth(name)
				if err != nil {
					t.Fatal(err)
				}
				here := v.v[k]
				if r := island(k); r != 0 {
					if strings.Contains(n.names[r], " ") {
						continue
					}
					y, err := sol.ToEarth(n.names[r])
					if err != nil {
						t.Fatal(err)
					}
					here, x = here-v.v[r], x-y
				}
				nodes++
				d := abs(x-here) / math.Max(24, abs(here))
				key := u.Name + " " + name
				if d > worst[key] {
					worst[key] = d
				}
				if d > within {
					t.Errorf("%s, %s: %s is %.4g V here, %.4g V there", u.Name, c.Words(st), name, here, x)
				}
			}
		}
	}
	var list []string
	for k, d := range worst {
		list = append(list, fmt.Sprintf("%.4f %s", d, k))
	}
	sort.Sort(sort.Reverse(sort.StringSlice(list)))
	t.Logf("%d states, %d voltages; largest differences: %s", states, nodes, strings.Join(list[:8], ", "))
}

// motorWords says what a motor does, as a person would.
func motorWords(n *net, dev string, now bits, v view) string {
	hums := false
	for _, m := range n.motors {
		if m.dev != dev {
			continue
		}
		if now.has(m.turns) {
			return "runs"
		}
		hums = hums || m.hums(v)
	}
	if hums {
		return "stalls"
	}
	return ""
}

// skipNode: a start terminal and what is joined to it, the data pair, and
// terminals on which nothing is landed.
func skipNode(n *net, name string, now bits) bool {
	k := n.node[name]
	for _, m := range n.motors {
		if n.joined(now, k, m.s) {
			return true
		}
	}
	for i := range n.f.Devices {
		d := &n.f.Devices[i]
		for _, t := range netlistTerminals(d.Kind) {
			if d.Kind == "fan-two-speed" && (t == "HI" || t == "LO") && n.joined(now, k, n.at(d.ID, t)) {
				return true // the tap that is not fed hangs on the motor's model too
			}
			if (t == "A" || t == "B") && n.joined(now, k, n.at(d.ID, t)) {
				return true
			}
		}
	}
	for _, p := range n.parts {
		if p.wire >= 0 && (p.a == k || p.b == k) {
			return false
		}
	}
	return true
}
