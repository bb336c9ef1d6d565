package planner

import (
	"strings"

	"retrostage/wiring/netlist"
)

// nets is a union-find over ends.
type nets struct{ up map[string]string }

func newNets() *nets { return &nets{map[string]string{}} }

func (n *nets) find(e string) string {
	for {
		p, ok := n.up[e]
		if !ok || p == e {
			return e
		}
		if g, ok := n.up[p]; ok {
			n.up[e] = g
		}
		e = p
	}
}

func (n *nets) join(a, b string) bool {
	a, b = n.find(a), n.find(b)
	if a == b {
		return false
	}
	n.up[b] = a
	return true
}

func (n *nets) same(a, b string) bool { return n.find(a) == n.find(b) }

// netsOf joins what the conductors of a unit join.
func netsOf(u *netlist.Unit) *nets {
	n := newNets()
	for _, c := range u.Conductors {
		if c.From != netlist.Capped && c.To != netlist.Capped {
			n.join(c.From, c.To)
		}
	}
	return n
}

// device is the device of an end.
func device(end string) string { d, _, _ := strings.Cut(end, "."); return d }

// endsOf lists the terminals of a device as ends.
func endsOf(d *netlist.Device) (out []string) {
	for _, t := range netlist.Kinds[d.Kind].Terminals {
		out = append(out, d.ID+"."+t.Name)
	}
	return out
}
