package proof

import (
	"context"
	"fmt"
	"slices"

	"retrostage/wiring/netlist"
)

// groundFaults joins, where one side of a control transformer is at earth, each other
// part of the 24 V circuit to earth alone, in every state in which the compressor is
// to be off for want of a call or because something is open: a chafed conductor is
// not to run it. Where the old circuit was so too, a person has to say what is to be
// done about it.
func (j *judge) groundFaults(ctx context.Context) error {
	screw := ""
	for _, end := range groundEnds(j.now) {
		if screw == "" && earthed(j.now)[end] {
			screw = end
		}
	}
	x, err := j.s.Solve(j.now.Rest())
	if err != nil || screw == "" || !j.oneSideGrounded(x) {
		return err
	}
	done := map[int]bool{}
	for _, end := range j.now.Unit.Ends() {
		n, ok := j.now.Node(end)
		class2End := slices.ContainsFunc(j.now.Unit.At(end), func(w *netlist.Conductor) bool { return w.Class == netlist.Class2 })
		if !ok || !class2End || done[j.wires().find(n)] {
			continue
		}
		done[j.wires().find(n)] = true
		found, err := j.groundFault(ctx, end, screw)
		if found || err != nil {
			return err
		}
	}
	return nil
}

// oneSideGrounded tells whether a control transformer has one side at earth.
func (j *judge) oneSideGrounded(x *netlist.Solution) bool {
	for i := range j.now.Sources {
		if src := &j.now.Sources[i]; src.Coupled() {
			a, b, _, _ := src.Nodes()
			v, w := abs(x.NodeVolts(a)), abs(x.NodeVolts(b))
			if min(v, w) < j.Limits.DutyVolts && max(v, w) > 15 {
				return true
			}
		}
	}
	return false
}

// groundFault tries one end at earth.
func (j *judge) groundFault(ctx context.Context, end, screw string) (found bool, err error) {
	u := j.now.Unit.Clone()
	u.Conductors = append(u.Conductors, netlist.Conductor{ID: "ground-fault", From: end, To: screw, Colour: "none", Gauge: 18, Insulation: 600, Class: netlist.Class2})
	c, err := netlist.Assemble(u)
	if err != nil {
		return false, err
	}
	s := c.NewSolver()
	if _, err := s.Solve(set(j.now.Rest(), j.call, true)); err != nil {
		return false, err
	}
	running := s.Position() // what lets go from rest may hold once drawn
	for leaf := range j.tree.Leaves {
		if err := ctx.Err(); err != nil {
			return false, err
		}
		st := j.state(leaf)
		w, why, err := j.wanted(st)
		if err != nil || w != stop || why == "delay-holds" {
			if err != nil {
				return false, err
			}
			continue
		}
		x, err := s.Solve(st)
		if err != nil {
			return false, err
		}
		j.p.Faults++
		y, err := c.NewSolver().From(running, st)
		if err != nil {
			return false, err
		}
		for _, l := range j.comps {
			if runs(x.Status(l.Device)) || runs(y.Status(l.Device)) {
				j.fail("ground-fault", NotDecided, j.now.Words(st), fmt.Sprintf("one side of the 24 V is grounded: with %s touching the cabinet %s runs (open: %s). Ground the common alone, with everything that stops the compressor on the other side, or leave it ungrounded", end, label(j.now, l.Device), j.open(st)), nil)
				return true, nil
			}
		}
	}
	return false, nil
}
