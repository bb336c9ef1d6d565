package proof

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// ErrData is wrapped by errors about what Prove was given.
var ErrData = errors.New("bad data for a proof")

// bounds of what is tried; what lies beyond is said to be untried.
type bounds struct{ leaves, changes int }

var usual = bounds{1 << 13, 1 << 18}

// judge is one proof in the making.
type judge struct {
	*rulebook
	most       bounds
	was        *purpose.Purposes
	old, now   *netlist.Circuit
	data       Data
	p          *Proof
	at         map[string]*Check
	tree       *purpose.Tree // over the new circuit's inputs
	oldAt      []int         // per input of the new circuit: the old circuit's, or -1
	call       int           // inputs of the new circuit, -1 if there is none
	full       int
	oldCall    int // and of the old one
	oldFull    int
	ownDelay   []int // delays that only the new circuit has
	ownOther   []int // its other inputs that only it has, or that did nothing in the old one; calls aside
	back       []int // inputs of what did nothing in the old circuit as entered, and is to stop this one
	oldDelay   []int // and only the old one
	s, so      *netlist.Solver
	before     map[netlist.State]*scene
	loads      []pair
	comps      []purpose.Load // of the new circuit
	oldComps   []purpose.Load
	best       []string           // statuses of the old compressors at a full call, all closed
	parts      []string           // devices that belong to a compressor's start
	reached    []reach            // from rest, then all
	offVolts   float64            // across a winding of an old compressor that is off, the most
	offEarth   map[bool]float64   // to earth at a terminal of one that is off, the most; without a call: true
	restEarth  map[string]float64 // per end of a load of the old circuit, without a call
	deadAtRest map[string]bool    // terminals of the compressor that are, while nothing is called
	through    map[string]bool    // by what a resting compressor was found live
	stopping   map[int]bool       // inputs that stop the compressor, opened alone on a plain call
	side       [][2]int           // contacts in parallel that were not
	caps       map[string]float64 // per motor of the old circuit: the capacitance that it had
	feed       []float64          // per source: the most current seen
	drawn      float64            // the most current of the running compressor
	net        *join              // nodes that conductors join
	alone      string             // while a contact is held open in both circuits: which
	on         map[string]bool    // per load that stays and worked in the old circuit: true once it works without a second-stage call
	worked     map[string]bool    // devices with a load that carried something in any state
	across     map[int]float64    // per net of conductors, of the solution at hand: the most volts on a part at it
	idles      map[string]string  // fans, blowers and heaters not yet seen to do anything, and what they are for
	parted     *join              // nodes that parts and contacts in any position join, ground left out
	progress   func(done, total int)
	done       int
	total      int
}

// scene is what the old circuit showed in a state, from rest.
type scene struct {
	comp  []string // per old compressor: its status
	state []string // per pair: the load's status
	drawn []bool
	volts [][]float64        // per pair, per branch
	sneak []bool             // per pair: a signal of it came through other loads
	coils map[string]float64 // volts on each coil that is released
}

// pair is a load that is in both circuits.
type pair struct {
	was, is  purpose.Load
	branches [][2]int  // of the same name
	real     []bool    // per branch: it takes power, and is no mere input
	full     []float64 // per branch: the most volts that it got
	coil     bool      // compare whether it is drawn
	more     bool      // in the state at hand it may be on where it was off, for a stated reason
}

// signal tells whether a branch is an input or a coil, and not a load that works by
// the power that it takes.
func (q *pair) signal(k int) bool { return q.coil || !q.real[k] }

// works tells whether a load does something by the power that it takes, or works a
// contact.
func (q *pair) works() bool { return q.coil || slices.Contains(q.real, true) }

// poles tells of a node whether what conducts like a wire joins it to a pole of a
// source.
func poles(c *netlist.Circuit, x *netlist.Solution) func(node int) bool {
	is := joined(c, x)
	roots := map[int]bool{}
	for i := range c.Sources {
		a, b, _, _ := c.Sources[i].Nodes()
		roots[is.find(a)], roots[is.find(b)] = true, true
	}
	return func(n int) bool { return roots[is.find(n)] }
}

// reach is a state and where the relays are in it.
type reach struct {
	leaf int
	pos  netlist.Position
}

func newJudge(bk *rulebook, was *purpose.Purposes, unit *netlist.Unit, data Data, most bounds) (*judge, error) {
	if data.Call == "" {
		data.Call = "cool-1"
	}
	if data.Full == "" {
		data.Full = "cool-2"
	}
	k := &data.Compressor
	if k.Tolerance == 0 {
		k.Tolerance = bk.Limits.CapacitorMatch
	}
	for _, q := range []struct {
		name           string
		v, least, most float64
	}{{"volts", k.Volts, 100, 280}, {"rated-load current", k.RLA, 0.5, 100}, {"locked-rotor current", k.LRA, 1, 600},
		{"run capacitance", k.Farads, 1e-6, 200e-6}, {"capacitor tolerance", k.Tolerance, 0.001, 0.3}, {"capacitor volts", k.CapVolts, 100, 700}} {
		if !(q.v >= q.least && q.v <= q.most) {
			return nil, fmt.Errorf("%w: %s of the new compressor is %v, allowed %v to %v", ErrData, q.name, q.v, q.least, q.most)
		}
	}
	now, err := netlist.Assemble(unit)
	if err != nil {
		return nil, fmt.Errorf("new circuit: %w", err)
	}
	j := &judge{rulebook: bk, was: was, old: was.Circuit, now: now, data: data, at: map[string]*Check{}, worked: map[string]bool{}, before: map[netlist.State]*scene{},
		s: now.NewSolver(), so: was.Circuit.NewSolver(), most: most,
		p: &Proof{Checks: bk.checks(), Note: note, Untried: []string{}, Live: []Live{}, Notes: []string{}}}
	for i := range j.p.Checks {
		c := &j.p.Checks[i]
		c.Verdict = Holds
		j.at[c.ID] = c
	}
	index := func(c *netlist.Circuit, name string) int {
		return slices.IndexFunc(c.Inputs, func(in netlist.Input) bool { return in.Name == name })
	}
	j.call, j.full, j.oldCall, j.oldFull = index(now, data.Call), index(now, data.Full), index(j.old, data.Call), index(j.old, data.Full)
	if j.call < 0 || j.oldCall < 0 {
		return nil, fmt.Errorf("%w: %q, the first-stage call, is an input of the old circuit: %v, of the new: %v", ErrData, data.Call, j.oldCall >= 0, j.call >= 0)
	}
	for _, in := range now.Inputs {
		i := index(j.old, in.Name)
		j.oldAt = append(j.oldAt, i)
		idle := slices.ContainsFunc(was.Unclear, func(q purpose.Unclear) bool {
			return q.Idle && i >= 0 && slices.Contains(j.old.Users(i), q.Device) && !j.omitted(q.Device)
		})
		if idle {
			j.back = append(j.back, len(j.oldAt)-1)
			j.ownOther = append(j.ownOther, len(j.oldAt)-1)
		}
		if i < 0 && in.Kind == "delay" {
			j.ownDelay = append(j.ownDelay, len(j.oldAt)-1)
		} else if i < 0 && in.Kind != "call" {
			j.ownOther = append(j.ownOther, len(j.oldAt)-1)
		}
	}
	for i, in := range j.old.Inputs {
		if in.Kind == "delay" && !slices.Contains(j.oldAt, i) {
			j.oldDelay = append(j.oldDelay, i)
		}
	}
	j.feed = make([]float64, len(now.Sources))
	j.comps, j.oldComps = compressors(now), compressors(j.old)
	return j, nil
}

func compressors(c *netlist.Circuit) (out []purpose.Load) {
	for _, l := range purpose.Loads(c) {
		if l.Kind == "compressor" {
			out = append(out, l)
		}
	}
	return
}

// fail marks a check as failed or not decided, unless it is so already.
func (j *judge) fail(id, verdict, state, detail string, path []string) {
	if j.alone != "" {
		id, detail = "links-interrupt", "with "+j.alone+" open: "+detail
	}
	k := j.at[id]
	if k.Verdict == Fails || k.Verdict == NotDecided && verdict == NotDecided {
		return
	}
	k.Verdict, k.State, k.Detail, k.Path = verdict, state, detail, path
}

// stated tells whether a reason worth the name was given for a device: two words of
// two letters or more, twelve letters in all, and not the same few over and over.
// Whether it is a good one only a person can tell; it is shown wherever the verdict is.
func stated(reasons map[string]string, device string) bool {
	letters, words, kinds := 0, 0, map[rune]bool{}
	for word := range strings.FieldsSeq(reasons[device]) {
		n := 0
		for _, r := range word {
			if unicode.IsLetter(r) {
				n++
				kinds[unicode.ToLower(r)] = true
			}
		}
		letters += n
		if n >= 2 {
			words++
		}
	}
	return letters >= 12 && words >= 2 && len(kinds) >= 5
}

func (j *judge) omitted(device string) bool {
	return stated(j.data.Omitted, device) && !contrary.MatchString(j.data.Omitted[device])
}

// contrary is of a reason for leaving out that says the opposite.
var contrary = regexp.MustCompile(`(?i)\b(must|shall|should not|do not|don't|cannot be left|not to be|to stay|stays|remain|remains|is needed|are needed|keep it|never)\b`)

// dropped tells whether any reason was given, the plan's own too.
func (j *judge) dropped(device string) bool {
	return j.omitted(device) || stated(j.data.Dropped, device)
}

func label(c *netlist.Circuit, id string) string {
	if d := c.Unit.Device(id); d != nil && d.Label != "" {
		return d.Label
	}
	return id
}

func (j *judge) run(ctx context.Context) (*Proof, error) {
	view := purpose.Own(j.now)
	past := &purpose.View{Circuit: j.old, Fixed: j.old.Rest()}
	for _, i := range j.oldAt {
		if i == j.oldFull {
			i = -1 // may be either: a state of the new circuit stands for two of the old one
		}
		past.At = append(past.At, i)
	}
	for i := range j.old.Inputs {
		if i != j.oldFull && !slices.Contains(j.oldAt, i) {
			past.Known |= 1 << i
		}
	}
	var err error
	if j.tree, err = purpose.Split(ctx, len(j.now.Inputs), j.now.Rest(), j.most.leaves, view, past); err != nil {
		return nil, err
	}
	n := len(j.tree.Leaves)
	j.p.States, j.p.Combinations = n, j.now.States()
	j.p.Suffices = purpose.Say(n, len(j.now.Inputs), len(purpose.Irrelevant(j.now)))
	if !j.tree.Complete {
		j.p.Untried = append(j.p.Untried, fmt.Sprintf("%d of %d combinations of calls, switches and delays of the new circuit", j.now.States()-j.tree.Covered(len(j.now.Inputs)), j.now.States()))
	}
	if j.was.Untried != "" {
		j.p.Untried = append(j.p.Untried, "of the old circuit: "+j.was.Untried)
	}
	j.total = 3 * n
	if err := j.oldMotors(); err != nil {
		return nil, err
	}
	j.findSides()
	if err := j.findStopping(); err != nil {
		return nil, err
	}
	if err := j.restingEnds(); err != nil {
		return nil, err
	}
	j.wiring()
	j.plates()
	j.asFound()
	j.identity()
	j.pairLoads()
	for _, step := range []func(context.Context) error{j.oldRuns, j.fromRest, j.fromEverywhere, j.openLinks, j.openSources, j.groundFaults} {
		if err := step(ctx); err != nil {
			return nil, err
		}
	}
	if err := j.delayAgain(); err != nil {
		return nil, err
	}
	if err := j.lockout(); err != nil {
		return nil, err
	}
	if err := j.starting(); err != nil {
		return nil, err
	}
	if err := j.heats(); err != nil {
		return nil, err
	}
	if now, err := purpose.Find(ctx, j.now.Unit); err == nil {
		does := map[string]bool{}
		for _, in := range now.Interrupters {
			for _, s := range in.Stops {
				does[in.Device] = does[in.Device] || s.Kind == "compressor" && j.stopsAlone(in.Device)
			}
		}
		j.stopsNothing(does)
	} else if ctx.Err() != nil {
		return nil, err
	}
	if err := j.liveThrough(); err != nil {
		return nil, err
	}
	if err := j.startCoilFused(); err != nil {
		return nil, err
	}
	j.idle()
	j.bridgedParts()
	j.secondOnly()
	if err := j.electronicMotors(); err != nil {
		return nil, err
	}
	j.sum()
	if j.progress != nil {
		j.progress(j.total, j.total)
	}
	return j.p, nil
}

// tick reports progress, seldom.
func (j *judge) tick() {
	j.done++
	if j.progress != nil && j.done&63 == 0 {
		j.progress(min(j.done, j.total-1), j.total)
	}
}

// sum draws the verdict.
func (j *judge) sum() {
	p := j.p
	var failed, open []string
	for _, k := range p.Checks {
		say := k.Words + ": " + k.Detail
		switch k.Verdict {
		case Fails:
			failed = append(failed, say)
		case NotDecided:
			open = append(open, say)
		}
	}
	tried := fmt.Sprintf("%d checks in %d states, %d relay positions and %d faults", len(p.Checks), p.States, p.Positions, p.Faults)
	switch {
	case failed != nil:
		p.Verdict = Fails
		p.Why = fmt.Sprintf("%d of %d checks fail; the first is: %s", len(failed), len(p.Checks), failed[0])
	case open != nil:
		p.Verdict = NotDecided
		p.Why = fmt.Sprintf("%d of %d checks are not decided; the first is: %s", len(open), len(p.Checks), open[0])
	case len(p.Untried) > 0:
		p.Verdict = NotDecided
		p.Why = "nothing failed that was tried, but some was left out: " + strings.Join(p.Untried, "; ")
	default:
		p.Verdict = Holds
		p.Why = "all hold: " + tried
		for _, id := range slices.Sorted(maps.Keys(j.data.Omitted)) {
			if j.omitted(id) && j.old.Unit.Device(id) != nil {
				j.reserve("not judged, because a person states why it is left out: %s (%s)", label(j.old, id), strings.TrimSpace(j.data.Omitted[id]))
			}
		}
		for _, id := range slices.Sorted(maps.Keys(j.data.Trusted)) {
			j.reserve("%s: %s", label(j.old, id), j.data.Trusted[id])
		}
		if p.Reservations != nil {
			p.Verdict = Reserved
			p.Why = fmt.Sprintf("all hold (%s), by a person's word in this: %s", tried, strings.Join(p.Reservations, "; "))
		}
	}
}

// reserve notes what the proof takes from a person and no circuit shows.
func (j *judge) reserve(format string, a ...any) {
	j.p.Reservations = append(j.p.Reservations, fmt.Sprintf(format, a...))
}

// state of the new circuit in which a leaf is tried.
func (j *judge) state(leaf int) netlist.State { return j.tree.Leaves[leaf].State }

// olds lists the states of the old circuit to which one of the new corresponds: the
// same switches; with a call, at the second stage and without it, the second stage
// first.
func (j *judge) olds(st netlist.State) []netlist.State {
	base := j.old.Rest()
	for k, i := range j.oldAt {
		if i >= 0 {
			base = base&^(1<<i) | st>>k&1<<i
		}
	}
	var out []netlist.State
	if st>>j.call&1 == 1 {
		out = append(out, set(base, j.oldFull, true), set(base, j.oldFull, false))
	} else {
		out = append(out, base, set(base, j.oldFull, false))
	}
	return out
}

func set(s netlist.State, i int, v bool) netlist.State {
	if i < 0 {
		return s
	}
	s &^= 1 << i
	if v {
		s |= 1 << i
	}
	return s
}

// heldOff lists states of the old circuit in which a call stands and its compressor
// is off, to which a state corresponds in which a delay of the new circuit holds it
// off: with the old one's delays running, or with one interrupter of its control
// circuit open; if there are none, without a call.
func (j *judge) heldOff(st netlist.State) ([]netlist.State, error) {
	var out []netlist.State
	for _, s := range j.olds(st) {
		try := []netlist.State{s}
		for _, i := range j.oldDelay {
			s = set(s, i, false)
		}
		try = append(try, s)
		for i, in := range j.old.Inputs {
			if in.Kind != "call" && !j.was.Line(in.Name) {
				try = append(try, s^1<<i)
			}
		}
		for _, t := range try {
			sc, err := j.then(t)
			if err != nil {
				return nil, err
			}
			if !slices.ContainsFunc(sc.comp, runs) && !slices.Contains(out, t) {
				out = append(out, t)
			}
		}
	}
	if out == nil {
		out = j.uncalled(st)
	}
	return out, nil
}

// uncalled are the old circuit's states for one of the new, without a call.
func (j *judge) uncalled(st netlist.State) (out []netlist.State) {
	for _, s := range j.olds(st) {
		out = append(out, set(set(s, j.oldCall, false), j.oldFull, false))
	}
	return
}

// novel tells whether something is not as at rest that the old circuit had not.
func (j *judge) novel(st netlist.State) bool {
	for _, i := range j.ownOther {
		if (st>>i&1 == 1) != j.now.Inputs[i].Default {
			return true
		}
	}
	return false
}

func (j *judge) delaying(st netlist.State) bool {
	for _, i := range j.ownDelay {
		if st>>i&1 == 0 {
			return true
		}
	}
	return false
}

// then is what the old circuit showed in one of its states.
func (j *judge) then(st netlist.State) (*scene, error) {
	if s := j.before[st]; s != nil {
		return s, nil
	}
	x, err := j.so.Solve(st)
	if err != nil {
		return nil, err
	}
	sc := &scene{coils: map[string]float64{}}
	for i := range j.old.Coils {
		if in, v := x.Drawn(i); !in {
			sc.coils[j.old.Coils[i].Device] = v
		}
	}
	direct := poles(j.old, x)
	for i := range j.oldComps {
		sc.comp = append(sc.comp, x.Status(j.oldComps[i].Device))
	}
	for i := range j.loads {
		q := &j.loads[i]
		status, drawn := q.was.Runs(x, 0)
		sc.state, sc.drawn = append(sc.state, status), append(sc.drawn, drawn)
		var v []float64
		for _, b := range q.branches {
			v = append(v, abs(x.Across(b[0])))
		}
		sc.volts = append(sc.volts, v)
		sneak := false
		for k, b := range q.branches {
			if q.signal(k) && v[k] > max(q.full[k]/4, j.Limits.DutyVolts) {
				a, z := j.old.Branches[b[0]].Nodes()
				sneak = sneak || !direct(a) || !direct(z)
			}
		}
		sc.sneak = append(sc.sneak, sneak)
	}
	j.before[st] = sc
	return sc, nil
}

func runs(status string) bool { return status != "" && status != "stalls" }

func does(status string) string {
	if status == "" {
		return "off"
	}
	return status
}
