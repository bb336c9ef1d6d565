package proof

import (
	"context"
	"fmt"
	"maps"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

func abs(v complex128) float64 { return cmplx.Abs(v) }

// oldRuns asks whether the old circuit runs at all, and notes what its compressors
// do at a full call with everything closed.
func (j *judge) oldRuns(context.Context) error {
	st := j.old.Rest() | 1<<j.oldCall
	if j.oldFull >= 0 {
		st |= 1 << j.oldFull
	}
	sc, err := j.then(st)
	if err != nil {
		return err
	}
	j.best = sc.comp
	if !slices.ContainsFunc(sc.comp, runs) {
		j.fail("old-runs", NotDecided, j.old.Words(st), "the old compressor does not run: compare the entered circuit with the unit", nil)
	}
	if len(j.comps) != 1 {
		j.fail("compressor-data", Fails, "", fmt.Sprintf("%d compressors in the new circuit", len(j.comps)), nil)
		return nil
	}
	d, k := j.now.Unit.Device(j.comps[0].Device), &j.data.Compressor
	if len(j.comps[0].Branches) != len(j.windings()) || len(j.windings()) != 2 {
		j.fail("compressor-data", Fails, "", fmt.Sprintf("%s has more than one winding pair, or a valve: it has more than one stage", label(j.now, d.ID)), nil)
	}
	for _, q := range []struct {
		name string
		v    float64
	}{{"volts", k.Volts}, {"rla", k.RLA}, {"lra", k.LRA}, {"farads", k.Farads}} {
		if v := d.P(q.name); !(v >= 0.999*q.v && v <= 1.001*q.v) {
			j.fail("compressor-data", Fails, "", fmt.Sprintf("%s: %s is %.4g, the chosen compressor's is %.4g", label(j.now, d.ID), q.name, v, q.v), nil)
		}
	}
	return nil
}

// What the compressor is to do in a state.
type want int

const (
	stop want = iota
	run
	either // only a person can tell, unless it stops
)

// wanted says what the new compressor is to do in a state, and why not run.
func (j *judge) wanted(st netlist.State) (want, string, error) {
	if st>>j.call&1 == 0 {
		return stop, "off-without-call", nil
	}
	states := j.olds(st)
	full, err := j.then(states[0])
	if err != nil {
		return stop, "", err
	}
	low, err := j.then(states[1])
	if err != nil {
		return stop, "", err
	}
	if !slices.ContainsFunc(full.comp, runs) || !slices.ContainsFunc(low.comp, runs) {
		return stop, "interrupts", nil
	}
	if j.delaying(st) {
		return stop, "delay-holds", nil
	}
	for i := range full.comp {
		if runs(j.best[i]) && full.comp[i] != j.best[i] { // another ran on, or this one at less than its full capacity
			return either, "interrupts", nil
		}
	}
	return run, "", nil
}

// open lists what is open in a state of the new circuit: devices by their labels.
func (j *judge) open(st netlist.State) string {
	var out []string
	for i, in := range j.now.Inputs {
		if in.Kind != "call" && in.Kind != "delay" && (st>>i&1 == 1) != in.Default {
			for _, d := range j.now.Users(i) {
				out = append(out, label(j.now, d))
			}
		}
	}
	if out == nil {
		return "nothing"
	}
	return strings.Join(out, ", ")
}

// fromRest compares each state, all relays starting released.
func (j *judge) fromRest(ctx context.Context) error {
	for leaf := range j.tree.Leaves {
		if err := ctx.Err(); err != nil {
			return err
		}
		st := j.state(leaf)
		x, err := j.s.Solve(st)
		if err != nil {
			return err
		}
		if err := j.compressor(x, st); err != nil {
			return err
		}
		if err := j.duties(x, st); err != nil {
			return err
		}
		j.inspect(x)
		j.reached = append(j.reached, reach{leaf, j.s.Position()})
		j.tick()
	}
	return nil
}

// compressor asks whether the compressor does what it is to do.
func (j *judge) compressor(x *netlist.Solution, st netlist.State) error {
	w, id, err := j.wanted(st)
	if err != nil {
		return err
	}
	for i := range j.comps {
		dev := j.comps[i].Device
		status := x.Status(dev)
		words := fmt.Sprintf("%s: %s", label(j.now, dev), does(status))
		for _, k := range j.back {
			if in := j.now.Inputs[k]; runs(status) && (st>>k&1 == 1) != in.Default {
				j.fail("interrupter-gone", Fails, j.now.Words(st), fmt.Sprintf("%s does nothing as entered, and does not stop the new compressor either: put it back in the string, or state why not", in.Name), nil)
			}
		}
		switch {
		case w == run && !runs(status) && !j.novel(st) && j.alone == "":
			j.fail("runs-when-called", Fails, j.now.Words(st), words, x.Path(dev))
		case w == stop && runs(status):
			if id == "interrupts" {
				words += "; open: " + j.open(st)
			}
			j.fail(id, Fails, j.now.Words(st), words, x.Path(dev))
		case w == either && runs(status):
			if !j.allOmitted(st) {
				j.fail(id, NotDecided, j.now.Words(st), fmt.Sprintf("%s; in the old unit this ended full capacity while something ran on (open: %s): is it to stop the new one?", words, j.open(st)), nil)
			}
		}
	}
	return nil
}

// allOmitted tells whether everything open in a state was said to do nothing more.
func (j *judge) allOmitted(st netlist.State) bool {
	for i, in := range j.now.Inputs {
		if in.Kind != "call" && in.Kind != "delay" && (st>>i&1 == 1) != in.Default {
			for _, d := range j.now.Users(i) {
				if !j.omitted(d) {
					return false
				}
			}
		}
	}
	return true
}

// pairLoads finds the loads that are in both circuits, and those that are gone.
func (j *judge) pairLoads() {
	j.idles, j.on = map[string]string{}, map[string]bool{}
	has := purpose.Loads(j.now)
	command := j.commanding()
	for _, was := range purpose.Loads(j.old) {
		if was.Kind == "compressor" || slices.Contains(j.parts, was.Device) {
			continue
		}
		d := j.now.Unit.Device(was.Device)
		if d == nil {
			j.gone(&was)
			continue
		}
		if j.omitted(was.Device) || d.P("farads") > 0 && !was.HasStatus() {
			continue // to do nothing more; or a capacitor, which is no load
		}
		if was.IsCoil() && command[was.Device] {
			continue // its contacts work the compressor: what they do there is judged there
		}
		k := slices.IndexFunc(has, func(l purpose.Load) bool { return l.Device == was.Device })
		if k < 0 {
			continue // another kind of part: part-changed says so
		}
		q := pair{was: was, is: has[k], coil: was.IsCoil()}
		for _, b := range was.Branches {
			for _, m := range has[k].Branches {
				if j.now.Branches[m].Name == j.old.Branches[b].Name {
					q.branches = append(q.branches, [2]int{b, m})
					watts, volts := j.mostOf(b)
					q.real, q.full = append(q.real, watts >= j.Limits.LoadWatts), append(q.full, volts)
				}
			}
		}
		j.loads = append(j.loads, q)
		if j.fullOnly(&q.was) {
			j.on[was.Device] = false
		}
		if verb := map[string]string{"fan": "runs", "blower": "runs", "heater": "heats"}[was.Kind]; verb != "" {
			j.idles[was.Device] = verb
		}
	}
}

// fullOnly tells whether a load of the old circuit worked on a second-stage call and
// never without one.
func (j *judge) fullOnly(l *purpose.Load) bool {
	with, without := false, false
	for _, d := range j.was.Duties {
		if d.Device != l.Device || j.oldFull < 0 {
			continue
		}
		for i, runs := range d.Runs {
			called := j.was.Leaves[i].State>>j.oldFull&1 == 1
			with, without = with || runs && called, without || runs && !called
		}
	}
	return with && !without
}

// secondOnly asks about what works on a second-stage call alone: nothing gives one any
// more.
func (j *judge) secondOnly() {
	for _, id := range slices.Sorted(maps.Keys(j.on)) {
		if !j.on[id] && !stated(j.data.Dropped, id) {
			j.fail("answered", NotDecided, "", fmt.Sprintf("%s works on a second-stage call only, and with one stage nothing calls it any more: is it to work on the first stage's call, or to do nothing? State which", label(j.now, id)), nil)
		}
	}
}

// mostOf is the most power and voltage that a branch of the old circuit took.
func (j *judge) mostOf(b int) (watts, volts float64) {
	br := &j.old.Branches[b]
	for _, d := range j.was.Duties {
		if d.Device == br.Device && d.Branch == br.Name {
			for _, v := range d.Volts {
				volts = max(volts, v)
			}
		}
	}
	return volts * volts * real(br.Siemens()), volts
}

// commanding are the devices whose contacts worked a compressor of the old circuit.
func (j *judge) commanding() map[string]bool {
	out := map[string]bool{}
	for _, in := range j.was.OfCompressor() {
		out[in.Device] = true
	}
	return out
}

// gone judges a load of the old circuit that is not in the new one.
func (j *judge) gone(l *purpose.Load) {
	if j.dropped(l.Device) {
		return
	}
	most := 0.0
	for i := range j.old.Branches {
		br := &j.old.Branches[i]
		if br.Device != l.Device {
			continue
		}
		if br.Kind == netlist.ContactBranch {
			return // a relay, a board: what its contacts did is judged there
		}
		if br.Kind == netlist.LoadBranch {
			w, _ := j.mostOf(i)
			most = max(most, w)
		}
	}
	if d := j.old.Unit.Device(l.Device); d.P("farads") > 0 && !l.HasStatus() {
		return
	}
	for i := range j.old.Sources {
		if j.old.Sources[i].Device == l.Device {
			return // a transformer: what it fed is judged there
		}
	}
	if most >= j.Limits.LoadWatts {
		j.fail("load-gone", Fails, "", fmt.Sprintf("%s is gone, and no reason is stated", label(j.old, l.Device)), nil)
	}
}

// duties compares every load that stays with what it did and got.
func (j *judge) duties(x *netlist.Solution, st netlist.State) error {
	if j.novel(st) && !j.running() {
		return nil // a switch that was added stops something more
	}
	states := j.olds(st)
	held := j.delaying(st) && !j.running()
	if held { // everything else is as it was while the compressor was held off
		var err error
		if states, err = j.heldOff(st); err != nil {
			return err
		}
	}
	for i := range j.loads { // what it does in any state is enough
		q := &j.loads[i]
		if _, worked := j.on[q.is.Device]; worked && (j.full < 0 || st>>j.full&1 == 0) {
			if status, drawn := q.is.Runs(x, 0); runs(status) || drawn {
				j.on[q.is.Device] = true
			}
		}
		if j.idles[q.is.Device] != "" && runs(x.Status(q.is.Device)) {
			delete(j.idles, q.is.Device)
		}
	}
	var all []*scene
	for _, s := range states {
		sc, err := j.then(s)
		if err != nil {
			return err
		}
		all = append(all, sc)
	}
	// Where the old unit ran on with less and the new one is stopped, each load may
	// also be as it was while the old compressor was held off, or not called.
	if w, _, err := j.wanted(st); err != nil {
		return err
	} else if w == either && !j.running() {
		states, err := j.heldOff(st)
		if err != nil {
			return err
		}
		held = true
		for _, s := range append(states, j.uncalled(st)...) {
			sc, err := j.then(s)
			if err != nil {
				return err
			}
			all = append(all, sc)
		}
	}
	for i := range j.loads {
		q := &j.loads[i]
		if q.more = stated(j.data.Extended, q.is.Device); q.more {
			cut, err := j.cut(i, st)
			if err != nil {
				return err
			}
			q.more = !cut
		}
		among := all
		if !held && st>>j.call&1 == 1 && (q.was.Kind == "fan" || j.running() && (q.was.Kind == "blower" || q.works())) {
			among = all[:1] // the new compressor has the full capacity: so have its fan, the indoor air and whatever else went with it
		}
		why := ""
		for _, sc := range among {
			if why = j.differs(q, i, x, sc, nil); why == "" {
				break
			}
		}
		if why != "" && slices.ContainsFunc(among, func(sc *scene) bool { return sc.sneak[i] }) {
			var err error
			if why, err = j.unsneaked(q, i, x, st, among, why); err != nil {
				return err
			}
		}
		if why != "" {
			j.fail("load-duty", Fails, j.now.Words(st), why, x.Path(q.is.Device))
		}
	}
	return nil
}

// cut tells whether what is open in a state took a load from its supply in the old
// circuit: a reason for which it is served in more states than it was is none to
// serve it then.
func (j *judge) cut(i int, st netlist.State) (bool, error) {
	closed := st
	for k, in := range j.now.Inputs {
		if in.Kind != "call" && j.oldAt[k] >= 0 {
			closed = set(closed, k, in.Default)
		}
	}
	if closed == st {
		return false, nil
	}
	was, is := j.olds(closed), j.olds(st)
	for k := range was {
		a, err := j.then(was[k])
		if err != nil {
			return false, err
		}
		b, err := j.then(is[k])
		if err != nil {
			return false, err
		}
		if a.served(i) && !b.served(i) {
			return true, nil
		}
	}
	return false, nil
}

// served tells whether a load worked, or its coil was drawn.
func (s *scene) served(i int) bool { return runs(s.state[i]) || s.drawn[i] }

// differs says in what a load does not do what it did, "" if it does. With a
// contact held open it may do less. With another scene, a signal of a part without a
// status may also be as in that one.
func (j *judge) differs(q *pair, i int, x *netlist.Solution, sc *scene, other *scene) string {
	l := &j.Limits
	name := label(j.now, q.is.Device)
	status, drawn := q.is.Runs(x, 0)
	on, was := drawn, sc.drawn[i]
	less := j.alone != "" // it may be off where it was on
	more := q.more
	switch {
	case q.was.HasStatus() && status != sc.state[i] && !(less && !on) && !(more && !was) && !(j.alone != "" && was):
		return fmt.Sprintf("%s: %s, was %s", name, does(status), does(sc.state[i]))
	case q.coil && on != was && !(less && was) && !(more && on):
		return fmt.Sprintf("%s: drawn %v, was %v", name, on, was)
	}
	for k, b := range q.branches {
		v, w := abs(x.Across(b[1])), sc.volts[i][k]
		if runs(status) && j.now.Branches[b[1]].Name == "start winding" {
			continue // that is the capacitor's doing, and judged with it
		}
		off := max(v-w, w-v) > max(l.DutyPart*max(v, w), l.DutyVolts)
		if q.was.HasStatus() && status == "" && sc.state[i] == "" && v < w {
			continue // off, with less left on it than there was
		}
		switch {
		case q.coil: // of a released coil half of what lets it go is no signal
			off = off && (on && was || !on && !was && v > w && v > j.letsGo(q.is.Device)/2)
		case q.was.HasStatus():
			off = off && q.real[k]
		case !q.real[k]: // a signal is there or not
			there := v > q.full[k]/2
			off = off && there != (w > q.full[k]/2) && (other == nil || there != (other.volts[i][k] > q.full[k]/2))
		}
		if off && !(less && v < w) && !(more && v > w) {
			return fmt.Sprintf("%s, %s: %.1f V, was %.1f V", name, j.now.Branches[b[1]].Name, v, w)
		}
	}
	return ""
}

// letsGo is the least drop-out of a device's coils.
func (j *judge) letsGo(device string) float64 {
	least := math.Inf(1)
	for i := range j.now.Coils {
		if k := &j.now.Coils[i]; k.Device == device {
			least = min(least, k.DropOut)
		}
	}
	return least
}

// unsneaked judges a load that in the old circuit got something only through other
// loads, because a switch was open: that nobody meant. It is to be as with all
// closed, or off.
func (j *judge) unsneaked(q *pair, i int, x *netlist.Solution, st netlist.State, was []*scene, why string) (string, error) {
	if _, on := q.is.Runs(x, 0); !on && (q.was.HasStatus() || q.coil) {
		return "", nil
	}
	for k, in := range j.now.Inputs {
		if in.Kind != "call" {
			st = set(st, k, in.Default)
		}
	}
	for _, s := range j.olds(st) {
		sc, err := j.then(s)
		if err != nil {
			return "", err
		}
		if !sc.sneak[i] && j.differs(q, i, x, sc, nil) == "" {
			return "", nil
		}
		for _, o := range was {
			if !sc.sneak[i] && o.sneak[i] && j.differs(q, i, x, o, sc) == "" {
				return "", nil
			}
		}
	}
	return why, nil
}
