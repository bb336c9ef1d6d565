package purpose

import (
	"context"
	"fmt"
	"math/cmplx"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// What opens a contact.
const (
	Outside = "outside" // the outside world: pressure, temperature, a float, a hand
	Call    = "call"    // a call for cooling, or the fan's
	Delay   = "delay"   // time
	Link    = "link"    // failing: a fuse
	Relay   = "relay"   // a coil or a board's logic
)

// An Interrupter is a contact whose opening, alone, stops a load that runs.
type Interrupter struct {
	Device string    `json:"device"`
	Label  string    `json:"label"`
	Place  string    `json:"place"`
	Branch string    `json:"branch"`
	Ends   [2]string `json:"ends"`
	Opens  string    `json:"opens"`           // Outside, Call, Delay, Link or Relay
	Input  string    `json:"input,omitempty"` // the input that it follows
	// Moves tells of a Relay contact what moves it: "call", "stage", "state" (some
	// other input) or "" (nothing in any state tried: it only opens by an event that
	// the circuit does not show).
	Moves string `json:"moves,omitempty"`
	Line  bool   `json:"line"` // it carries a compressor's own current
	Stops []Stop `json:"stops"`
}

// A Stop is one load that an interrupter stops, and in which of the leaves. Alone
// is false if, with everything else closed, another compressor runs on wherever it
// stops this one. Part says that a compressor ran on, but not at its full capacity
// any more, wherever it is not stopped.
type Stop struct {
	Load  string `json:"load"`
	Kind  string `json:"kind"` // compressor, fan, heater, ...; coil or part
	In    []int  `json:"in"`
	Alone bool   `json:"alone"`
	Part  bool   `json:"part,omitempty"`
}

// A Stage is a contact that moves with the second-stage call while a compressor
// runs on in both positions, of a device one of whose contacts, so moved, stops
// something: it changes which stage runs.
type Stage struct {
	Device string `json:"device"`
	Label  string `json:"label"`
	Branch string `json:"branch"`
}

// A Duty is what a load gets in each leaf: volts across the part named, and
// whether the device runs (is heated, drawn, fed).
type Duty struct {
	Device string    `json:"device"`
	Label  string    `json:"label"`
	Kind   string    `json:"kind"` // as in Stop
	Branch string    `json:"branch"`
	Volts  []float64 `json:"volts"`
	Runs   []bool    `json:"runs"`
}

// An Unclear is what the circuit does not tell, and what to ask. Idle says that
// the part lies on no closed circuit in any state: as entered it can do nothing,
// and may have been bypassed.
type Unclear struct {
	Device   string `json:"device"`
	Question string `json:"question"`
	Idle     bool   `json:"idle,omitempty"`
}

// Purposes is what the devices of a circuit do.
type Purposes struct {
	Circuit      *netlist.Circuit `json:"-"`
	Tree         *Tree            `json:"-"`
	Leaves       []Leaf           `json:"-"`      // of the tree
	Words        []string         `json:"states"` // of the leaves
	Interrupters []Interrupter    `json:"interrupters"`
	Stages       []Stage          `json:"stages"`
	Duties       []Duty           `json:"duties"`
	Irrelevant   []string         `json:"irrelevant"` // inputs that cannot matter in any state
	Unclear      []Unclear        `json:"unclear"`
	Inputs       int              `json:"inputs"`
	Combinations int              `json:"combinations"`
	Solved       int              `json:"solved"` // circuits solved
	Why          string           `json:"why"`    // why the states tried suffice
	Untried      string           `json:"untried,omitempty"`
}

// MostLeaves bounds the states that Find tries.
const MostLeaves = 1 << 14

// OfCompressor lists the interrupters of any compressor.
func (p *Purposes) OfCompressor() []Interrupter {
	var out []Interrupter
	for _, in := range p.Interrupters {
		if slices.ContainsFunc(in.Stops, func(s Stop) bool { return s.Kind == "compressor" }) {
			out = append(out, in)
		}
	}
	return out
}

// Line tells whether an input's contact carries a compressor's own current.
func (p *Purposes) Line(input string) bool {
	return slices.ContainsFunc(p.Interrupters, func(in Interrupter) bool { return in.Input == input && in.Line })
}

// Find solves the circuit in every state that can differ and says what each
// device does in it. The unit must be valid.
func Find(ctx context.Context, u *netlist.Unit) (*Purposes, error) {
	c, err := netlist.Compile(u)
	if err != nil {
		return nil, err
	}
	f := &finder{c: c, Purposes: &Purposes{Circuit: c, Inputs: len(c.Inputs), Combinations: c.States()}, given: map[int]bool{}}
	for _, step := range []func(context.Context) error{f.solveLeaves, f.findMoves, f.openInputs, f.openOthers} {
		if err := step(ctx); err != nil {
			return nil, err
		}
	}
	f.stages()
	f.duties()
	f.ask()
	return f.Purposes, nil
}

// finder is the work in progress.
type finder struct {
	c *netlist.Circuit
	*Purposes
	loads []Load
	best  []string   // per load: its status on all calls, with nothing open
	at    []snapshot // per leaf
	moves map[int]string
	given map[int]bool // contacts already named with their input
}

// snapshot is what one solution showed.
type snapshot struct {
	volts  []float64 // per branch
	amps   []float64
	closed []bool
	status []string // per load
	runs   []bool   // per load
}

// A Load is a device that turns current into something: one with a status, a
// relay's coil, or a plain part that takes real power.
type Load struct {
	Device, Kind string
	Branches     []int
	status       int // in Circuit.Loads, -1 if it has none
	coil         int // in Circuit.Coils, -1
	full         float64
}

// Loads lists the loads of a circuit, devices with a status first. A capacitor and
// a sensor are none; a board is one for what it takes.
func Loads(c *netlist.Circuit) []Load {
	var out []Load
	branches := func(dev string) (of []int) {
		for i := range c.Branches {
			if br := &c.Branches[i]; br.Device == dev && br.Kind == netlist.LoadBranch && real(br.Siemens()) > 0 {
				of = append(of, i)
			}
		}
		return
	}
	have := map[string]bool{}
	for i, d := range c.Loads {
		if !have[d] {
			have[d] = true
			out = append(out, Load{Device: d, Kind: c.LoadKind[i], Branches: branches(d), status: i, coil: -1})
		}
	}
	for i := range c.Coils {
		if d := c.Coils[i].Device; !have[d] {
			have[d] = true
			out = append(out, Load{Device: d, Kind: "coil", Branches: branches(d), status: -1, coil: i})
		}
	}
	for i := range c.Unit.Devices {
		d := c.Unit.Devices[i].ID
		if have[d] {
			continue
		}
		var of []int
		for _, b := range branches(d) {
			y := c.Branches[b].Siemens() // a bar or a tie is a conductor, a capacitor no load
			if cmplx.Abs(y) < 100 && real(y) > 0.1*cmplx.Abs(y) {
				of = append(of, b)
			}
		}
		if of != nil {
			out = append(out, Load{Device: d, Kind: "part", Branches: of, status: -1, coil: -1})
		}
	}
	return out
}

// HasStatus tells whether the device says of itself what it does.
func (l *Load) HasStatus() bool { return l.status >= 0 }

// IsCoil tells whether the load is a relay's coil.
func (l *Load) IsCoil() bool { return l.coil >= 0 }

// Runs tells whether the load does its work in a solution; full is the voltage
// that a plain part has at most in any state.
func (l *Load) Runs(x *netlist.Solution, full float64) (string, bool) {
	switch {
	case l.status >= 0:
		s := x.Status(l.Device)
		return s, s != "" && s != "stalls"
	case l.coil >= 0:
		in, _ := x.Drawn(l.coil)
		return "", in
	}
	return "", full > 1 && most(x, l.Branches) > full/2
}

func most(x *netlist.Solution, branches []int) (v float64) {
	for _, b := range branches {
		v = max(v, cmplx.Abs(x.Across(b)))
	}
	return
}

func (f *finder) snap(x *netlist.Solution) snapshot {
	n := len(f.c.Branches)
	s := snapshot{volts: make([]float64, n), amps: make([]float64, n), closed: make([]bool, n)}
	for i := range f.c.Branches {
		s.volts[i], s.amps[i], s.closed[i] = cmplx.Abs(x.Across(i)), cmplx.Abs(x.Current(i)), x.Conducts(i)
	}
	for i := range f.loads {
		w, r := f.loads[i].Runs(x, f.loads[i].full)
		s.status, s.runs = append(s.status, w), append(s.runs, r)
	}
	return s
}

// solveLeaves finds the states to try and solves them from rest.
func (f *finder) solveLeaves(ctx context.Context) error {
	c := f.c
	for _, i := range Irrelevant(c) {
		f.Irrelevant = append(f.Irrelevant, c.Inputs[i].Name)
	}
	var err error
	if f.Tree, err = Split(ctx, len(c.Inputs), c.Rest(), MostLeaves, Own(c)); err != nil {
		return err
	}
	f.Leaves = f.Tree.Leaves
	f.Why = Say(len(f.Leaves), len(c.Inputs), len(f.Irrelevant))
	if !f.Tree.Complete {
		f.Untried = fmt.Sprintf("%d of %d combinations of inputs", c.States()-f.Tree.Covered(len(c.Inputs)), c.States())
	}
	f.loads = Loads(c)
	s := c.NewSolver()
	called := c.Rest()
	for i, in := range c.Inputs {
		if in.Kind == "call" {
			called |= 1 << i
		}
	}
	x, err := s.Solve(called)
	if err != nil {
		return err
	}
	for i := range f.loads {
		status, _ := f.loads[i].Runs(x, 0)
		f.best = append(f.best, status)
	}
	for pass := range 2 { // a plain part's full voltage has to be known first
		f.at = f.at[:0]
		for _, l := range f.Leaves {
			if err := ctx.Err(); err != nil {
				return err
			}
			x, err := s.Solve(l.State)
			if err != nil {
				return err
			}
			f.Solved++
			if pass == 0 {
				for i := range f.loads {
					f.loads[i].full = max(f.loads[i].full, most(x, f.loads[i].Branches))
				}
				continue
			}
			f.at = append(f.at, f.snap(x))
			f.Words = append(f.Words, c.Words(l.State))
		}
	}
	return nil
}

func ones(s netlist.State) (n int) {
	for ; s != 0; s &= s - 1 {
		n++
	}
	return
}

// findMoves says of every worked contact what moves it.
func (f *finder) findMoves(context.Context) error {
	f.moves = map[int]string{}
	rank := map[string]int{"": 0, "call": 1, "stage": 2, "state": 3}
	for k, l := range f.Leaves {
		for i, in := range f.c.Inputs {
			if l.Decided>>i&1 == 0 {
				continue
			}
			m := f.Tree.Leaf(l.State ^ 1<<i)
			if m < 0 {
				continue
			}
			what := "state"
			if in.Kind == "call" {
				what = "call"
				if f.compressorRuns(k) && f.compressorRuns(m) && f.stageDiffers(k, m) {
					what = "stage"
				}
			}
			for b := range f.c.Branches {
				if f.at[k].closed[b] != f.at[m].closed[b] && rank[what] > rank[f.moves[b]] {
					if what == "state" && f.moves[b] == "stage" {
						continue // stage contacts move with safeties too
					}
					f.moves[b] = what
				}
				if what == "stage" && f.at[k].closed[b] != f.at[m].closed[b] {
					f.moves[b] = "stage"
				}
			}
		}
	}
	return nil
}

func (f *finder) compressorRuns(leaf int) bool {
	for i := range f.loads {
		if f.loads[i].Kind == "compressor" && f.at[leaf].runs[i] {
			return true
		}
	}
	return false
}

// stageDiffers tells whether any compressor does something else in one leaf than in
// the other: a fan call is no stage.
func (f *finder) stageDiffers(k, m int) bool {
	for i := range f.loads {
		if f.loads[i].Kind == "compressor" && f.at[k].status[i] != f.at[m].status[i] {
			return true
		}
	}
	return false
}

// stopped adds to the stops of a contact what a solution with it open shows
// against the leaf.
func (f *finder) stopped(stops []Stop, leaf int, open snapshot) []Stop {
	for i := range f.loads {
		l := &f.loads[i]
		less := l.Kind == "compressor" && open.runs[i] && f.at[leaf].status[i] == f.best[i] && open.status[i] != f.best[i]
		if !f.at[leaf].runs[i] || open.runs[i] && !less {
			continue
		}
		alone := !less && (l.Kind != "compressor" || f.allClosed(leaf))
		for j := range f.loads {
			if j != i && f.loads[j].Kind == l.Kind && l.Kind == "compressor" && open.runs[j] {
				alone = false
			}
		}
		k := slices.IndexFunc(stops, func(s Stop) bool { return s.Load == l.Device })
		if k < 0 {
			k = len(stops)
			stops = append(stops, Stop{Load: l.Device, Kind: l.Kind, Part: less})
		}
		stops[k].Part = stops[k].Part && less
		stops[k].In = append(stops[k].In, leaf)
		stops[k].Alone = stops[k].Alone || alone
	}
	return stops
}

// allClosed tells whether in a leaf everything but the calls is as it is at rest.
func (f *finder) allClosed(leaf int) bool {
	l := f.Leaves[leaf]
	for i, in := range f.c.Inputs {
		if in.Kind != "call" && (l.State>>i&1 == 1) != in.Default {
			return false
		}
	}
	return true
}

// openInputs opens every input's contact in every leaf in which it is closed and
// decided; where it is not decided it cannot stop anything.
func (f *finder) openInputs(ctx context.Context) error {
	for i, in := range f.c.Inputs {
		var stops []Stop
		for k, l := range f.Leaves {
			if err := ctx.Err(); err != nil {
				return err
			}
			if l.Decided>>i&1 == 0 {
				continue
			}
			if m := f.Tree.Leaf(l.State ^ 1<<i); m >= 0 {
				stops = f.stopped(stops, k, f.at[m])
			}
		}
		opens := Outside
		switch in.Kind {
		case "call":
			opens = Call
		case "delay":
			opens = Delay
		}
		direct := false
		for b := range f.c.Branches {
			if k, _ := f.c.Worker(b); k == i && f.c.Branches[b].CanOpen() {
				direct = true
				f.add(b, opens, in.Name, stops)
				stops = slices.Clone(stops)
			}
		}
		if !direct && opens != Call && len(stops) > 0 { // it works its contacts by logic
			f.addInput(i, opens, stops)
		}
	}
	return nil
}

func (f *finder) add(b int, opens, input string, stops []Stop) {
	if len(stops) == 0 {
		return
	}
	br := &f.c.Branches[b]
	d := f.c.Unit.Device(br.Device)
	line := false
	for i := range f.loads {
		for k := range f.at {
			if f.loads[i].Kind == "compressor" && f.at[k].runs[i] && f.at[k].amps[b] > 0.5*most2(f.at[k].amps, f.loads[i].Branches) {
				line = true
			}
		}
	}
	f.Interrupters = append(f.Interrupters, Interrupter{Device: br.Device, Label: d.Label, Place: d.Place, Branch: br.Name, Ends: br.Ends,
		Opens: opens, Input: input, Moves: f.moves[b], Line: line, Stops: stops})
}

func most2(of []float64, at []int) (v float64) {
	for _, i := range at {
		v = max(v, of[i])
	}
	return
}

// addInput adds an input that works its device's contacts by logic: a delay, a
// monitor. The contact is named if the device has but one.
func (f *finder) addInput(i int, opens string, stops []Stop) {
	for _, id := range f.c.Users(i) {
		d := f.c.Unit.Device(id)
		var own []int
		for b := range f.c.Branches {
			if br := &f.c.Branches[b]; br.Device == id && br.Kind == netlist.ContactBranch {
				own = append(own, b)
			}
		}
		if len(own) == 1 {
			f.add(own[0], opens, f.c.Inputs[i].Name, stops)
			f.given[own[0]] = true
			continue
		}
		f.Interrupters = append(f.Interrupters, Interrupter{Device: id, Label: d.Label, Place: d.Place, Opens: opens, Input: f.c.Inputs[i].Name, Stops: stops})
	}
}

// openOthers opens every contact that no input works, alone, in every leaf in
// which it carries something.
func (f *finder) openOthers(ctx context.Context) error {
	carries := Carries(f.c)
	for b := range f.c.Branches {
		in, _ := f.c.Worker(b)
		if br := &f.c.Branches[b]; br.Kind != netlist.ContactBranch || in >= 0 || !carries[b] || f.given[b] {
			continue
		}
		s := f.c.NewSolver()
		s.Hold(map[int]bool{b: false})
		var stops []Stop
		for k, l := range f.Leaves {
			if err := ctx.Err(); err != nil {
				return err
			}
			if !f.at[k].closed[b] || f.at[k].amps[b] < 1e-5 {
				continue
			}
			x, err := s.Solve(l.State)
			if err != nil {
				return err
			}
			f.Solved++
			stops = f.stopped(stops, k, f.snap(x))
		}
		opens := Relay
		if !f.c.Branches[b].Worked() {
			opens = Link
		}
		f.add(b, opens, "", stops)
	}
	return nil
}

func (f *finder) stages() {
	acts := map[string]bool{}
	for _, in := range f.Interrupters {
		acts[in.Device] = acts[in.Device] || in.Moves == "stage"
	}
	for b := range f.c.Branches {
		br := &f.c.Branches[b]
		if in, _ := f.c.Worker(b); br.Kind == netlist.ContactBranch && in < 0 && f.moves[b] == "stage" && acts[br.Device] {
			f.Stages = append(f.Stages, Stage{br.Device, f.c.Unit.Device(br.Device).Label, br.Name})
		}
	}
}

func (f *finder) duties() {
	for i := range f.loads {
		l := &f.loads[i]
		for _, b := range l.Branches {
			d := Duty{Device: l.Device, Label: f.c.Unit.Device(l.Device).Label, Kind: l.Kind, Branch: f.c.Branches[b].Name}
			for k := range f.at {
				d.Volts, d.Runs = append(d.Volts, f.at[k].volts[b]), append(d.Runs, f.at[k].runs[i])
			}
			f.Duties = append(f.Duties, d)
		}
	}
}

// ask lists what the circuit does not tell.
func (f *finder) ask() {
	question := func(dev, format string, a ...any) {
		f.Unclear = append(f.Unclear, Unclear{Device: dev, Question: fmt.Sprintf(format, a...)})
	}
	name := func(id string) string {
		if d := f.c.Unit.Device(id); d != nil && d.Label != "" {
			return d.Label
		}
		return id
	}
	for _, in := range f.Interrupters {
		for _, s := range in.Stops {
			switch {
			case s.Kind != "compressor" || s.Alone || in.Opens != Outside:
			case s.Part:
				question(in.Device, "%s, open, ended the full capacity of %s, which ran on: is it to stop the new compressor?", name(in.Device), name(s.Load))
			default:
				question(in.Device, "%s stops %s, while the other compressor runs on: is it to stop the new compressor?", name(in.Device), name(s.Load))
			}
		}
	}
	for i, in := range f.c.Inputs {
		if in.Kind == "call" || in.Kind == "delay" {
			continue
		}
		if slices.Contains(f.Irrelevant, in.Name) {
			for _, d := range f.c.Users(i) {
				question(d, "%s does nothing as entered, open or closed: is it bypassed? Put it back in the string, or state why not", name(d))
				f.Unclear[len(f.Unclear)-1].Idle = true
			}
			continue
		}
		if slices.ContainsFunc(f.Interrupters, func(x Interrupter) bool { return x.Input == in.Name }) {
			continue
		}
		if !f.changes(i) {
			question(strings.Join(f.c.Users(i), ", "), "%s is wired, and no load shows what it is for: what does it do?", strings.TrimSuffix(in.Words, " closed"))
		}
	}
}

// changes tells whether an input changes what any load does, in any leaf.
func (f *finder) changes(i int) bool {
	for k, l := range f.Leaves {
		if l.Decided>>i&1 == 0 {
			continue
		}
		if m := f.Tree.Leaf(l.State ^ 1<<i); m >= 0 && (!slices.Equal(f.at[k].status, f.at[m].status) || !slices.Equal(f.at[k].runs, f.at[m].runs)) {
			return true
		}
	}
	return false
}
