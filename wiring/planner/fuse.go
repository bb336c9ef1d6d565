package planner

import (
	"fmt"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// A conductor that lands on the wrong side of a fuse changes nothing in what the unit
// does and nothing that a meter shows while the fuse is in: what it feeds is behind no
// fuse any more. Such landings are sought with the fuse out.

// A pull is the circuit with one fuse out.
type pull struct {
	fuse   string
	c      *netlist.Circuit
	states []netlist.State
	runs   [][]bool // per state and load: what runs all the same
}

// pulls gives the circuit with each fuse out that something depends on.
func pulls(c *netlist.Circuit) (out []pull, err error) {
	states := []netlist.State{c.With(c.Rest(), "cool-1", true), c.With(c.Rest(), "fan", true)}
	sound, err := running(c.NewSolver(), states)
	if err != nil {
		return nil, err
	}
	for _, d := range c.Unit.Devices {
		if d.Kind != "fuse" {
			continue
		}
		u := c.Unit.Clone()
		f := u.Device(d.ID)
		if f.Params == nil {
			f.Params = map[string]float64{}
		}
		f.Params["ohms"] = 1e9
		without, err := netlist.Assemble(u)
		if err != nil {
			return nil, err
		}
		p := pull{d.ID, without, states, nil}
		if p.runs, err = running(without.NewSolver(), states); err != nil {
			return nil, err
		}
		if beyond(sound, p.runs) {
			out = append(out, p)
		}
	}
	return out, nil
}

// running tells which loads run, or are drawn, in each of some states.
func running(s *netlist.Solver, states []netlist.State) (out [][]bool, err error) {
	for _, st := range states {
		sol, err := s.Solve(st)
		if err != nil {
			return nil, err
		}
		var row []bool
		for i := range s.Circuit().Loads {
			row = append(row, runs(sol.Status(s.Circuit().Loads[i])))
		}
		for i := range s.Circuit().Coils {
			in, _ := sol.Drawn(i)
			row = append(row, in)
		}
		out = append(out, row)
	}
	return out, nil
}

// beyond tells whether something runs in a that does not in b.
func beyond(a, b [][]bool) bool {
	for i := range a {
		for k := range a[i] {
			if a[i][k] && !b[i][k] {
				return true
			}
		}
	}
	return false
}

// pastFuse is the fuse that a fault takes something out from behind; "" if none.
func pastFuse(ps []pull, f netlist.Fault) (string, error) {
	if f.Kind != "shift" && f.Kind != "swap" {
		return "", nil
	}
	for _, p := range ps {
		s, err := p.c.Solver(f)
		if err != nil {
			return "", err
		}
		now, err := running(s, p.states)
		if err != nil {
			return "", err
		}
		if beyond(now, p.runs) {
			return p.fuse, nil
		}
	}
	return "", nil
}

// A fuseLook is a reading with a fuse out, from what feeds it to what it feeds. It has no
// number in the list, for a record keeps no reading by a fuse that is out: it is among
// what is to be so before power.
type fuseLook struct {
	*pull
	a, b  string
	least float64 // ohm; what a sound circuit shows is no less
}

// looks gives for each fuse the readings that tell what by-passes it.
func (r *readable) looks(ps []pull) (out []fuseLook, err error) {
	for i := range ps {
		p := &ps[i]
		feed, load := p.fuse+".1", p.fuse+".2"
		if p.fed(load) {
			feed, load = load, feed
		}
		n := netsOf(r.c.Unit)
		from := r.farEnds(feed)[0]
		for _, e := range r.c.Unit.Ends() {
			if e == load || !n.same(e, load) || r.class[e] != r.class[load] || r.behindLock(e) || r.comp[device(e)] {
				continue
			}
			least, err := Least(p.c, p.c.Rest(), from, e)
			if err != nil {
				return nil, err
			}
			if least > 0 {
				out = append(out, fuseLook{p, from, e, least})
			}
		}
	}
	return out, nil
}

// fed tells whether conductors and contacts lead from an end to a source's pole without
// the fuse.
func (p *pull) fed(end string) bool {
	n := newNets()
	name := func(node int) string { return fmt.Sprint(node) }
	for i := range p.c.Branches {
		br := &p.c.Branches[i]
		if a, b := br.Nodes(); br.Device != p.fuse && (br.Kind == netlist.ConductorBranch || br.Kind == netlist.ContactBranch) {
			n.join(name(a), name(b))
		}
	}
	at, _ := p.c.Node(end)
	for i := range p.c.Sources {
		a, b, _, _ := p.c.Sources[i].Nodes()
		if n.same(name(at), name(a)) || n.same(name(at), name(b)) {
			return true
		}
	}
	return false
}

// shows tells whether a reading with the fuse out is surely less on a faulty circuit.
func (l fuseLook) shows(f netlist.Fault) (bool, error) {
	s, err := l.c.Solver(f)
	if err != nil {
		return false, err
	}
	ohms, err := s.Ohms(l.c.Rest(), l.a, l.b)
	return ohms < l.least/2, err
}

// unlooked leaves of some dangers those that no reading with a fuse out shows.
func unlooked(ds []danger, looks []fuseLook) (left []danger, err error) {
	for _, d := range ds {
		shown := false
		for _, l := range looks {
			if !shown {
				if shown, err = l.shows(d.Fault); err != nil {
					return nil, err
				}
			}
		}
		if !shown {
			left = append(left, d)
		}
	}
	return left, nil
}

// withFuseOut says what is read with each fuse out before power; nothing without one.
func withFuseOut(u *netlist.Unit, looks []fuseLook) (out []string) {
	for i := 0; i < len(looks); {
		l, least := looks[i], looks[i].least
		var to []string
		for ; i < len(looks) && looks[i].fuse == l.fuse; i++ {
			to = append(to, Spot(u, looks[i].b))
			least = min(least, looks[i].least)
		}
		slices.Sort(to)
		out = append(out, fmt.Sprintf("with the %s taken out (locked out, proved dead) the meter shows open, or at least %s, from the %s to each of these: %s; less is a way around the fuse. Then put it back", nameIn(u, u.Device(l.fuse)), amount("ohms", least/2), Spot(u, l.a), strings.Join(to, "; ")))
	}
	return out
}
