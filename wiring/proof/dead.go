package proof

import (
	"context"
	"fmt"
	"slices"

	"retrostage/wiring/netlist"
)

// openSources opens the disconnect of each supply in turn, in every state: what
// lies in its line circuit must be dead; what stays live in its cabinet from
// another source is listed.
func (j *judge) openSources(ctx context.Context) error {
	var done []string
	for i := range j.now.Sources {
		src := &j.now.Sources[i]
		if src.Coupled() || src.Class != netlist.Line || slices.Contains(done, src.Device) {
			continue
		}
		done = append(done, src.Device)
		if err := j.openSource(ctx, src.Device); err != nil {
			return err
		}
		if err := j.supplyOff(ctx, src.Device); err != nil {
			return err
		}
	}
	return nil
}

// unfed is the circuit with a supply's disconnect open: no voltage behind it, and
// next to no current through it.
func unfed(u *netlist.Unit, supply string) (*netlist.Circuit, error) {
	v := u.Clone()
	d := v.Device(supply)
	if d.Params == nil {
		d.Params = map[string]float64{}
	}
	for _, p := range netlist.Kinds[d.Kind].Params {
		switch p.Name {
		case "volts":
			d.Params[p.Name] = 0
		case "source-ohms", "ohms":
			d.Params[p.Name] = 1e9
		}
	}
	return netlist.Assemble(v)
}

func (j *judge) openSource(ctx context.Context, supply string) error {
	c, err := unfed(j.now.Unit, supply)
	if err != nil {
		return err
	}
	part := below(c, supply)
	live := map[string]*Live{}
	s := c.NewSolver()
	for _, r := range j.reached {
		if err := ctx.Err(); err != nil {
			return err
		}
		x, err := s.From(r.pos, j.state(r.leaf))
		if err != nil {
			return err
		}
		j.p.Faults++
		if n, v := hottest(x, part); v > j.Limits.TouchVolts {
			j.fail("no-backfeed", Fails, c.Words(x.State), fmt.Sprintf("with the disconnect at %s open, %s stands at %.0f V", label(c, supply), endAt(c, n), v), nil)
		}
		j.stillLive(x, c, supply, live)
		j.tick()
	}
	for i := range c.Sources { // in the order of the circuit
		if l := live[c.Sources[i].Device]; l != nil {
			slices.Sort(l.Terminals)
			j.p.Live = append(j.p.Live, *l)
			delete(live, c.Sources[i].Device)
		}
	}
	return nil
}

// below lists the nodes of a supply's line circuit: what its legs reach through
// parts and conductors, not through ground nor a transformer's coupling.
func below(c *netlist.Circuit, supply string) []int {
	is := newJoin(c.NodeCount())
	for i := range c.Branches {
		a, b := c.Branches[i].Nodes()
		if c.Branches[i].Siemens() != 0 && !c.Grounded(a) && !c.Grounded(b) {
			is.join(a, b)
		}
	}
	roots := map[int]bool{}
	for i := range c.Sources {
		if a, b, _, _ := c.Sources[i].Nodes(); c.Sources[i].Device == supply {
			for _, n := range []int{a, b} {
				if !c.Grounded(n) {
					roots[is.find(n)] = true
				}
			}
		}
	}
	var out []int
	for n := range c.NodeCount() {
		if roots[is.find(n)] {
			out = append(out, n)
		}
	}
	return out
}

// hottest is the node with the highest voltage to earth or to another of the nodes.
func hottest(x *netlist.Solution, nodes []int) (node int, volts float64) {
	for k, n := range nodes {
		v := x.NodeVolts(n)
		if a := abs(v); a > volts {
			node, volts = n, a
		}
		for _, m := range nodes[:k] {
			if a := abs(v - x.NodeVolts(m)); a > volts {
				node, volts = n, a
			}
		}
	}
	return
}

// endAt names a node by a terminal.
func endAt(c *netlist.Circuit, node int) string {
	for _, e := range c.Unit.Ends() {
		if n, ok := c.Node(e); ok && n == node {
			return e
		}
	}
	return "a conductor's end"
}

// stillLive notes the terminals in a supply's cabinet that another source feeds.
func (j *judge) stillLive(x *netlist.Solution, c *netlist.Circuit, supply string, live map[string]*Live) {
	is := newJoin(c.NodeCount())
	for i := range c.Branches {
		a, b := c.Branches[i].Nodes()
		if x.Conducts(i) && !c.Grounded(a) && !c.Grounded(b) {
			is.join(a, b)
		}
	}
	place := c.Unit.Device(supply).Place
	for i := range c.Sources {
		src := &c.Sources[i]
		a, b, _, _ := src.Nodes()
		v, w := x.NodeVolts(a), x.NodeVolts(b)
		if src.Device == supply || !src.Coupled() && src.Class != netlist.Line || abs(v-w) < j.Limits.DutyVolts || place != "outdoor" && place != "indoor" {
			continue
		}
		for _, d := range c.Unit.Devices {
			if d.Place != place {
				continue
			}
			for _, t := range netlist.Kinds[d.Kind].Terminals {
				end := d.ID + "." + t.Name
				n, _ := c.Node(end)
				if c.Grounded(n) || !is.same(n, a) && !is.same(n, b) || len(c.Unit.At(end)) == 0 {
					continue
				}
				l := live[src.Device]
				if l == nil {
					l = &Live{Open: supply, From: src.Device}
					live[src.Device] = l
				}
				l.Volts = max(l.Volts, abs(x.NodeVolts(n)-v), abs(x.NodeVolts(n)-w))
				if !slices.Contains(l.Terminals, end) {
					l.Terminals = append(l.Terminals, end)
				}
			}
		}
	}
}
