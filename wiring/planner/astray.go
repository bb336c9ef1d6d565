package planner

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// A conductor that lands on another part than it should is no single fault of the list:
// there are too many. Those that take the way around a switch that stops the compressor
// or around a fuse, run it without a call, short a source or let current into a ground are
// sought all the same, for the readings to show.

// astray lists them.
func (bk *rulebook) astray(ctx context.Context, c *netlist.Circuit, ps []pull) (out []netlist.Fault, err error) {
	call := c.With(c.Rest(), "cool-1", true)
	states := []netlist.State{c.Rest(), call}
	for i, in := range c.Inputs {
		if in.Kind == "call" || in.Kind == "delay" {
			continue
		}
		if on, err := compressorRuns(c.NewSolver(), call^1<<i); err != nil {
			return nil, err
		} else if !on { // it stops the compressor alone
			states = append(states, call^1<<i)
		}
	}
	all := c.Elsewhere()
	bad := make([]bool, len(all))
	err = parallel(ctx, len(all), func(i int) (err error) {
		if bad[i], err = bk.strays(c, all[i], states, ps); err != nil {
			err = fmt.Errorf("fault %s: %w", all[i].ID, err)
		}
		return err
	}, nil)
	for i, f := range all {
		if bad[i] {
			f.Words = inWords(c.Unit, f.Words)
			out = append(out, f)
		}
	}
	return out, err
}

// groundAmps is from which current a ground is taken for one that carries some.
const groundAmps = 0.05

// strays tells whether a landing does harm: in the first state nothing is called, in the
// third and those after a switch that stops the compressor is open.
func (bk *rulebook) strays(c *netlist.Circuit, f netlist.Fault, states []netlist.State, ps []pull) (bool, error) {
	s, err := c.Solver(f)
	if err != nil {
		return false, err
	}
	fc := s.Circuit()
	t := &trial{c: c}
	for n, st := range states {
		sol, err := s.Solve(st)
		if err != nil {
			return false, err
		}
		if n != 1 && runsIn(sol, fc) {
			return true, nil
		}
		var r FaultResult
		w := &worst{r: &r, t: t}
		if bk.harm(w, sol, fc); w.rank >= 8 {
			return true, nil
		}
		for i := range fc.Branches {
			if br := &fc.Branches[i]; br.Kind == netlist.ConductorBranch && br.Class() == netlist.Ground && cmag(sol.Current(i)) > groundAmps {
				return true, nil
			}
		}
	}
	fuse, err := pastFuse(ps, f)
	return fuse != "", err
}

func compressorRuns(s *netlist.Solver, st netlist.State) (bool, error) {
	sol, err := s.Solve(st)
	return err == nil && runsIn(sol, s.Circuit()), err
}

func runsIn(sol *netlist.Solution, c *netlist.Circuit) bool {
	return slices.ContainsFunc(c.Loads, func(l string) bool {
		return strings.HasPrefix(c.Unit.Device(l).Kind, "compressor") && runs(sol.Status(l))
	})
}

// A danger is a fault that is to show while everything is dead, if any reading can: else
// it is first shown by closing a disconnect on it.
type danger struct {
	netlist.Fault
	single bool // it is among the single faults that are tried
	shows  func(test int) bool
}

// deadFirst picks readings of the dead list until every danger that any can show is
// shown, the most for its effort first; what none shows is left.
func deadFirst(tests []Test, efforts []float64, dangers []danger, chosen []int, most int) (picked []int, left []danger) {
	left = slices.DeleteFunc(slices.Clone(dangers), func(d danger) bool { return slices.ContainsFunc(chosen, d.shows) })
	for len(left) > 0 && len(chosen)+len(picked) < most {
		best, rate := -1, 0.0
		for t := range tests {
			if tests[t].Meter != "ohms" {
				continue
			}
			n := 0
			for _, d := range left {
				if d.shows(t) {
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
		left = slices.DeleteFunc(left, func(d danger) bool { return d.shows(best) })
		picked = append(picked, best)
	}
	return picked, left
}

// byEye is what is looked at before power because no dead reading tells it wrong: each
// single fault by its words, and the conductors whose landing on another part is one.
func byEye(u *netlist.Unit, left []danger) (out []string) {
	var faults, names []string
	for _, d := range left {
		if d.single {
			faults = append(faults, d.Words)
			continue
		}
		if w := u.Conductor(d.Part); w != nil {
			if n := fmt.Sprintf("%s (%s, %s to %s)", w.ID, w.Colour, Spot(u, w.From), Spot(u, w.To)); !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
	}
	slices.Sort(names)
	if faults != nil {
		out = append(out, "no dead reading tells these, and power would be put on them; each is looked at once more against the drawing: "+strings.Join(faults, "; "))
	}
	if names != nil {
		out = append(out, "both ends are looked at once more against the drawing, for no dead reading shows each of their wrong landings that would short a source, carry current to ground, run the compressor without a call or by-pass a switch or a fuse: "+strings.Join(names, "; "))
	}
	return out
}

// floating are the ends that nothing which conducts joins to a source or to earth in a
// state: a meter of high impedance shows there what it picks up, and not 0 V.
func floating(sol *netlist.Solution, c *netlist.Circuit) map[string]bool {
	up := make([]int, c.NodeCount()+1)
	for i := range up {
		up[i] = i
	}
	find := func(n int) int {
		if n < 0 {
			n = c.NodeCount()
		}
		for up[n] != n {
			up[n] = up[up[n]]
			n = up[n]
		}
		return n
	}
	for i := range c.Branches {
		if a, b := c.Branches[i].Nodes(); sol.Conducts(i) && a != b {
			up[find(a)] = find(b)
		}
	}
	fed := map[int]bool{find(netlist.Earth): true}
	for i := range c.Sources {
		a, b, _, _ := c.Sources[i].Nodes()
		fed[find(a)], fed[find(b)] = true, true
	}
	out := map[string]bool{}
	for _, e := range c.Unit.Ends() {
		if n, ok := c.Node(e); ok && !fed[find(n)] {
			out[e] = true
		}
	}
	return out
}
