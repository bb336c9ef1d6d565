package proof

import (
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// A contactor that stays out under a call is taken for a dead compressor. Where another
// load lies between a supply and the contactor's load side, the compressor is live
// through it all the same. The old unit may have been so too: nothing is done about it,
// and it is said.

// liveThrough tries, called and not, each coil open and each contact welded that does not
// carry the compressor's current, and names what then makes a terminal of the resting
// compressor live that is dead at rest.
func (j *judge) liveThrough() error {
	carries, err := j.inCompressorLine()
	if err != nil {
		return err
	}
	if err := j.liveUncalled(); err != nil {
		return err
	}
	call := set(j.now.Rest(), j.call, true)
	for _, f := range j.now.Faults() {
		coil := f.Kind == "dead" && slices.ContainsFunc(j.now.Coils, func(k netlist.Coil) bool { return k.Device == f.Part })
		if !coil && (f.Kind != "welded" || carries[f.Part]) {
			continue
		}
		s, err := j.now.Solver(f)
		if err != nil {
			return err
		}
		for _, st := range []netlist.State{j.now.Rest(), call} {
			x, err := s.Solve(st)
			if err != nil {
				return err
			}
			j.p.Faults++
			what := "with the coil of " + label(j.now, f.Part) + " open"
			if !coil {
				what = "with a contact of " + label(j.now, f.Part) + " welded"
			}
			j.nameLive(x, what)
		}
	}
	return nil
}

// liveUncalled reserves what makes a terminal of the compressor live while nothing is
// called, though no conductor leads there from a supply: what lies across an open pole.
func (j *judge) liveUncalled() error {
	x, err := j.s.Solve(j.now.Rest())
	if err != nil {
		return err
	}
	is := joined(j.now, x)
	for _, l := range j.comps {
		for _, b := range j.windings() {
			is.join(j.now.Branches[b].Nodes())
		}
		for _, t := range lineEnds(j.now, l.Device) {
			end := l.Device + "." + t
			n, ok := j.now.Node(end)
			v, err := x.ToEarth(end)
			if !ok || err != nil || abs(v) <= j.Limits.TouchVolts || x.Status(l.Device) != "" {
				continue
			}
			if slices.ContainsFunc(j.now.Sources, func(s netlist.Source) bool {
				a, b, _, _ := s.Nodes()
				return is.same(n, a) || is.same(n, b)
			}) {
				continue
			}
			j.nameLiveAs(x, "at rest", end, abs(v))
		}
	}
	return nil
}

// nameLive reserves what makes a terminal of a resting compressor live in a solution,
// once for each way that it is fed through.
func (j *judge) nameLive(x *netlist.Solution, what string) {
	if end, volts := j.liveEnd(x); end != "" {
		j.nameLiveAs(x, what, end, volts)
	}
}

func (j *judge) nameLiveAs(x *netlist.Solution, what, end string, volts float64) {
	by := j.throughWhat(x, end)
	if j.through[by] {
		return
	}
	if j.through == nil {
		j.through = map[string]bool{}
	}
	j.through[by] = true
	j.reserve("%s (%s) the compressor stands still and its terminal %s at %.0f V to earth, fed through %s: a contactor that is out does not make the compressor dead", what, j.now.Words(x.State), end, volts, by)
}

// inCompressorLine are the devices whose contacts carry the running compressor's current.
func (j *judge) inCompressorLine() (map[string]bool, error) {
	out := map[string]bool{}
	x, err := j.s.Solve(set(j.now.Rest(), j.call, true))
	if err != nil {
		return nil, err
	}
	amps := j.lineAmps(x)
	for i := range j.now.Branches {
		if br := &j.now.Branches[i]; br.Kind == netlist.ContactBranch && amps > 0 && abs(x.Current(i)) > 0.4*amps {
			out[br.Device] = true
		}
	}
	return out, nil
}

// liveEnd is the terminal of a compressor that is off and live to earth, though dead
// while nothing is called; "" if there is none.
func (j *judge) liveEnd(x *netlist.Solution) (end string, volts float64) {
	for _, l := range j.comps {
		if x.Status(l.Device) != "" {
			continue
		}
		for _, t := range lineEnds(j.now, l.Device) {
			e := l.Device + "." + t
			if v, err := x.ToEarth(e); err == nil && j.deadAtRest[e] && abs(v) > max(volts, j.Limits.TouchVolts) {
				end, volts = e, abs(v)
			}
		}
	}
	return end, volts
}

// throughWhat names the loads on the shortest way from an end to a supply, and the supply.
func (j *judge) throughWhat(x *netlist.Solution, end string) string {
	from, ok := j.now.Node(end)
	if !ok {
		return "an unknown way"
	}
	supply := map[int]string{}
	for i := range j.now.Sources {
		if src := &j.now.Sources[i]; !src.Coupled() && src.Class == netlist.Line {
			a, b, _, _ := src.Nodes()
			for _, n := range []int{a, b} {
				if !j.now.Grounded(n) {
					supply[n] = src.Device
				}
			}
		}
	}
	device, _, _ := strings.Cut(end, ".")
	back := map[int]int{from: -1} // node to the branch by which it was reached
	queue := []int{from}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		if supply[n] != "" {
			var parts []string
			for at := n; back[at] >= 0; {
				br := &j.now.Branches[back[at]]
				if name := label(j.now, br.Device); br.Kind == netlist.LoadBranch && br.Device != device && !slices.Contains(parts, name) {
					parts = append(parts, name)
				}
				a, b := br.Nodes()
				at = a + b - at
			}
			slices.Reverse(parts)
			return strings.Join(append(parts, label(j.now, supply[n])), " and ")
		}
		for i := range j.now.Branches {
			a, b := j.now.Branches[i].Nodes()
			for _, e := range [2][2]int{{a, b}, {b, a}} {
				if _, seen := back[e[1]]; e[0] == n && !seen && x.Conducts(i) && !j.now.Grounded(e[1]) {
					back[e[1]] = i
					queue = append(queue, e[1])
				}
			}
		}
	}
	return "an unknown way"
}
