package proof

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// fromEverywhere follows every single change of an input from every position that
// any sequence of such changes reaches, breadth first, and inspects each new one.
func (j *judge) fromEverywhere(ctx context.Context) error {
	seen := map[reach]bool{}
	var queue []reach
	for _, r := range j.reached {
		seen[r] = true
	}
	queue = append(queue, j.reached...)
	quiet := map[int]bool{} // leaves in which the compressor runs from rest
	for _, r := range j.reached {
		if _, err := j.s.From(r.pos, j.state(r.leaf)); err != nil {
			return err
		}
		quiet[r.leaf] = j.running()
	}
	for len(queue) > 0 {
		r := queue[0]
		queue = queue[1:]
		l := j.tree.Leaves[r.leaf]
		for i := range j.now.Inputs {
			if l.Decided>>i&1 == 0 {
				continue // it cannot matter here
			}
			for _, to := range j.tree.Covering(l.Decided, l.State^1<<i) {
				if j.p.Changes >= j.most.changes {
					j.p.Untried = append(j.p.Untried, fmt.Sprintf("sequences of changes beyond %d single changes", j.p.Changes))
					j.p.Positions = len(seen)
					return nil
				}
				if err := ctx.Err(); err != nil {
					return err
				}
				j.p.Changes++
				x, err := j.s.From(r.pos, j.state(to))
				if err != nil {
					return err
				}
				next := reach{to, j.s.Position()}
				if seen[next] {
					continue
				}
				seen[next] = true
				queue = append(queue, next)
				j.reached = append(j.reached, next)
				if err := j.arrived(x, l.State, to, quiet[to]); err != nil {
					return err
				}
			}
		}
		j.tick()
	}
	j.p.Positions = len(seen)
	return nil
}

// running tells whether a compressor runs in the solver's last solution.
func (j *judge) running() bool {
	return j.compressorRuns(j.s.Last())
}

// arrived judges a position that differs from the one reached from rest.
func (j *judge) arrived(x *netlist.Solution, from netlist.State, leaf int, fromRest bool) error {
	st := j.state(leaf)
	w, id, err := j.wanted(st)
	if err != nil {
		return err
	}
	how := fmt.Sprintf("coming from %q to %q", j.now.Words(from), j.now.Words(st))
	for i := range j.comps {
		dev := j.comps[i].Device
		switch status := x.Status(dev); {
		case runs(status) && w == stop:
			j.fail("no-seal-in", Fails, j.now.Words(st), fmt.Sprintf("%s %s, %s; open: %s", label(j.now, dev), does(status), how, j.open(st)), x.Path(dev))
		case runs(status) && w == either && !j.allOmitted(st):
			j.fail(id, NotDecided, j.now.Words(st), fmt.Sprintf("%s %s, %s: is it to?", label(j.now, dev), does(status), how), nil)
		case !runs(status) && w == run && fromRest:
			if latch, err := j.oldLatches(); err != nil {
				return err
			} else if !latch {
				j.fail("no-latch-off", Fails, j.now.Words(st), fmt.Sprintf("%s %s, %s", label(j.now, dev), does(status), how), nil)
			}
		}
	}
	if w != run || j.running() { // a lockout is judged as such
		if err := j.duties(x, st); err != nil {
			return err
		}
	}
	j.inspect(x)
	return nil
}

// trip opens an input of a running circuit and closes it again: whether the
// compressor ran, stopped and stayed off, and which relays then stand otherwise.
func trip(c *netlist.Circuit, comps []purpose.Load, running netlist.State, input int) (latched bool, held []string, err error) {
	s := c.NewSolver()
	on := func(x *netlist.Solution) bool {
		return slices.ContainsFunc(comps, func(l purpose.Load) bool { return runs(x.Status(l.Device)) })
	}
	drawn := func(x *netlist.Solution) (out []bool) {
		for i := range c.Coils {
			d, _ := x.Drawn(i)
			out = append(out, d)
		}
		return
	}
	x, err := s.Solve(running)
	if err != nil || !on(x) {
		return false, nil, err
	}
	before := drawn(x)
	if x, err = s.Continue(running ^ 1<<input); err != nil || on(x) {
		return false, nil, err
	}
	if x, err = s.Continue(running); err != nil || on(x) {
		return false, nil, err
	}
	for i, d := range drawn(x) {
		if d && !before[i] {
			held = append(held, c.Coils[i].Device)
		}
	}
	return true, held, nil
}

// called are the states of a circuit with everything closed and the compressor
// called, without and with the second stage.
func called(c *netlist.Circuit, call, full int) []netlist.State {
	st := c.Rest() | 1<<call
	if full < 0 {
		return []netlist.State{st}
	}
	return []netlist.State{st | 1<<full, st &^ (1 << full)}
}

// oldLatches tells whether any opening locked the old circuit out.
func (j *judge) oldLatches() (bool, error) {
	for _, st := range called(j.old, j.oldCall, j.oldFull) {
		for i := range j.old.Inputs {
			if i == j.oldCall || i == j.oldFull {
				continue
			}
			if l, _, err := trip(j.old, j.oldComps, st, i); l || err != nil {
				return l, err
			}
		}
	}
	return false, nil
}

// lockout asks for every opening that locked the old circuit out whether it locks
// the new one out.
func (j *judge) lockout() error {
	for k, i := range j.oldAt {
		if i < 0 || i == j.oldCall || i == j.oldFull {
			continue
		}
		for _, st := range called(j.old, j.oldCall, j.oldFull) {
			was, held, err := trip(j.old, j.oldComps, st, i)
			if err != nil {
				return err
			}
			if !was || slices.ContainsFunc(held, j.omitted) {
				continue
			}
			for _, now := range called(j.now, j.call, j.full) {
				is, _, err := trip(j.now, j.comps, now, k)
				if err != nil {
					return err
				}
				if !is {
					j.fail("lockout-kept", Fails, j.now.Words(now), fmt.Sprintf("after %s opened and closed the old unit stayed off until the call went; the new one starts again", j.now.Inputs[k].Name), nil)
				}
			}
		}
	}
	return nil
}

// delayAgain opens and closes each interrupter, and the call, while the compressor
// runs: some delay that the compressor waits for must have lost its power in
// between.
func (j *judge) delayAgain() error {
	if len(j.comps) == 0 {
		return nil
	}
	base := called(j.now, j.call, j.full)[0]
	x, err := j.s.Solve(base)
	if err != nil || !j.running() {
		return err // runs-when-called says so
	}
	amps := j.lineAmps(x)
	gates, err := j.gates(base)
	if err != nil {
		return err
	}
	j.delayKept(gates)
	if gates == nil {
		j.noDelayLeft()
		j.p.Notes = append(j.p.Notes, "the new circuit has no restart delay of its own")
		return nil
	}
	j.shortDelay(gates)
	for i, in := range j.now.Inputs {
		if in.Kind == "delay" || i != j.call && in.Default != (base>>i&1 == 1) || i == j.full {
			continue
		}
		x, err := j.s.Solve(base)
		if err != nil {
			return err
		}
		if j.inLine(x, i, amps) {
			continue
		}
		if x, err = j.s.Continue(base ^ 1<<i); err != nil {
			return err
		}
		if !j.running() { // else it is no interrupter, or interrupts fails
			j.restarts(x, i, gates)
		}
	}
	return nil
}

// noDelayLeft asks who holds off a restart after a switch of the unit has reset, where
// a board or a delay of the old one did: a thermostat times its own call and sees no
// switch outdoors.
func (j *judge) noDelayLeft() {
	timed := slices.ContainsFunc(j.old.Inputs, func(in netlist.Input) bool { return in.Kind == "delay" }) || slices.ContainsFunc(j.old.Unit.Devices, func(d netlist.Device) bool {
		return strings.HasPrefix(d.Kind, "board-") && j.now.Unit.Device(d.ID) == nil
	})
	if !timed {
		return
	}
	named := ""
	for _, in := range j.was.Interrupters {
		d := j.now.Unit.Device(in.Device)
		if in.Input == "" || d == nil || in.Opens != purpose.Outside {
			continue
		}
		if stops := j.stopsAlone(d.ID); named == "" || stops { // named is one that stops the compressor, where one does
			named = d.ID
			if stops {
				break
			}
		}
	}
	if named != "" {
		j.fail("delay-again", NotDecided, "", fmt.Sprintf("%s resets under a standing call, and nothing in the new circuit holds off the restart that the old one held off: a thermostat's own delay does not see it. Add a time delay, or leave it out for a stated reason once every such switch is reset by hand", label(j.now, named)), nil)
	}
}

// gates are the delays that the compressor waits for.
func (j *judge) gates(base netlist.State) (out []int, err error) {
	for i, in := range j.now.Inputs {
		if in.Kind != "delay" {
			continue
		}
		if _, err := j.s.Solve(base &^ (1 << i)); err != nil {
			return nil, err
		}
		if !j.running() {
			out = append(out, i)
		}
	}
	return out, nil
}

// restarts judges a solution in which an input has stopped the compressor: is any of
// the delays without power?
func (j *judge) restarts(x *netlist.Solution, input int, gates []int) {
	unknown, words := "", j.now.Words(x.State)
	for _, g := range gates {
		for _, d := range j.now.Users(g) {
			k := slices.IndexFunc(j.now.Coils, func(c netlist.Coil) bool { return c.Device == d })
			if k < 0 {
				unknown = d
			} else if in, _ := x.Drawn(k); !in {
				return
			}
		}
	}
	name := j.now.Inputs[input].Name
	if unknown != "" {
		j.fail("delay-again", NotDecided, words, fmt.Sprintf("whether %s starts its delay again after %s cannot be seen from the circuit", label(j.now, unknown), name), nil)
		return
	}
	j.fail("delay-again", Fails, words, fmt.Sprintf("the delay stays powered while %s is off or open: when it comes back the compressor restarts at once", name), nil)
}

// shortDelay asks whether a delay whose time is known is as long as pressures need.
func (j *judge) shortDelay(gates []int) {
	longest, of := 0.0, ""
	for _, g := range gates {
		for _, d := range j.now.Users(g) {
			s := j.now.Unit.Device(d).P("seconds")
			if math.IsNaN(s) {
				return // a board's own
			}
			if s > longest {
				longest, of = s, d
			}
		}
	}
	if of != "" && longest < j.Limits.RestartSeconds {
		j.fail("delay-again", Fails, "", fmt.Sprintf("%s runs for %.0f s, at least %.0f s let pressures even out", label(j.now, of), longest, j.Limits.RestartSeconds), nil)
	}
}

// delayKept asks, where a delay held the old compressor off, whether one holds the
// new one off.
func (j *judge) delayKept(gates []int) {
	for _, in := range j.was.OfCompressor() {
		if in.Opens == purpose.Delay && len(gates) == 0 && !j.omitted(in.Device) {
			j.fail("delay-kept", Fails, "", fmt.Sprintf("%s held off a restart; nothing in the new circuit does, and no reason is stated", label(j.old, in.Device)), nil)
		}
	}
}

// inLine tells whether an input's contacts carry the compressor's own current, in
// the old circuit as in the new one: no 24 V delay was or is reset by it.
func (j *judge) inLine(x *netlist.Solution, input int, amps float64) bool {
	if !j.was.Line(j.now.Inputs[input].Name) {
		return false
	}
	for b := range j.now.Branches {
		if k, _ := j.now.Worker(b); k == input && abs(x.Current(b)) > 0.5*amps {
			return true
		}
	}
	return false
}

// lineAmps is the current in the compressor's common lead.
func (j *judge) lineAmps(x *netlist.Solution) float64 {
	var sum complex128
	for _, b := range j.windings() {
		sum += x.Current(b)
	}
	return abs(sum)
}

// windings are the branches of the new compressor that end on its common.
func (j *judge) windings() []int {
	if len(j.comps) == 0 {
		return nil
	}
	var out []int
	for _, b := range j.comps[0].Branches {
		if j.now.Branches[b].Worked() { // its impedance changes with the rotor
			out = append(out, b)
		}
	}
	return out
}
