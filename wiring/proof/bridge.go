package proof

import (
	"slices"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// What stops the compressor on a plain call stops it whatever else goes on: a fan call,
// a thermostat, a loss of power indoors. The comparison with the old circuit cannot see
// a way around a switch that was there before.

// findStopping finds what stops the compressor, opened alone on a plain call, and the
// contacts that lie across it.
func (j *judge) findStopping() error {
	base := set(j.now.Rest(), j.call, true)
	x, err := j.s.Solve(base)
	if err != nil || !j.compressorRuns(x) {
		return err // that it does not run is said elsewhere
	}
	j.stopping = map[int]bool{}
	for i, in := range j.now.Inputs {
		if in.Kind == "call" || in.Kind == "delay" || j.omitted(in.Name) {
			continue
		}
		if x, err = j.s.Solve(base ^ 1<<i); err != nil {
			return err
		}
		if !j.compressorRuns(x) {
			j.stopping[i] = true
		}
	}
	j.acrossSafeties()
	return nil
}

// stopsAlone tells whether a device's input, moved alone from rest under a call, stops
// the compressor; true of each where the compressor does not run on a call, which is
// said elsewhere.
func (j *judge) stopsAlone(device string) bool {
	for i := range j.stopping {
		if j.now.Inputs[i].Name == device {
			return true
		}
	}
	return j.stopping == nil
}

func (j *judge) compressorRuns(x *netlist.Solution) bool {
	return slices.ContainsFunc(j.comps, func(l purpose.Load) bool { return runs(x.Status(l.Device)) })
}

// bridged asks about a state in which the compressor runs past an open switch that stops
// it on a plain call.
func (j *judge) bridged(x *netlist.Solution) {
	if len(j.stopping) == 0 || !j.compressorRuns(x) {
		return
	}
	for i := range j.stopping {
		if differs := (x.State^j.now.Rest())>>i&1 == 1; differs {
			j.doubt("%s is open and the compressor runs (%s): on a plain call it stops it. Something leads around it; find that, and take it out", label(j.now, j.now.Inputs[i].Name), j.now.Words(x.State))
			return
		}
	}
}

// acrossSafeties asks about a relay's contact across what stops the compressor, or across
// several in series: a coil that fails, or a contact that sticks, leaves them bridged.
func (j *judge) acrossSafeties() {
	is := j.wires()
	closed := newJoin(j.now.NodeCount())
	for b := range j.now.Branches {
		br := &j.now.Branches[b]
		if d := j.now.Unit.Device(br.Device); d != nil && br.Worked() && j.stopsAlone(d.ID) && len(netlist.Kinds[d.Kind].Terminals) == 2 {
			m, n := br.Nodes()
			closed.join(is.find(m), is.find(n))
		}
	}
	for b := range j.now.Branches {
		br := &j.now.Branches[b]
		if br.Kind != netlist.ContactBranch || !br.Worked() || j.stopsAlone(br.Device) || slices.Contains(guarding, j.now.Unit.Device(br.Device).Kind) {
			continue
		}
		m, n := br.Nodes()
		if m, n = is.find(m), is.find(n); m != n && closed.same(m, n) {
			j.doubt("%s of %s lies across a switch that stops the compressor: while it is closed, or if it sticks, that switch stops nothing", br.Name, label(j.now, br.Device))
		}
	}
}
