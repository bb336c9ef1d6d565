package planner

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"retrostage/wiring/netlist"
	"retrostage/wiring/proof"
)

// A Target is what the unit is to become.
type Target struct {
	Compressor Compressor `json:"compressor"`
	Indoor     string     `json:"indoor,omitempty"` // "conventional", "digital", or empty: as it is
	// Besides is what the branch carries besides the compressor by the plates, A; 0: not known.
	Besides float64 `json:"besides,omitempty"`
	// Assumed says that nobody named the compressor: it stands in until one is.
	Assumed bool `json:"assumed,omitempty"`
}

// A Compressor is the single-stage replacement, from its nameplate and data, SI.
type Compressor struct {
	Label     string  `json:"label,omitempty"`
	Volts     float64 `json:"volts"`
	RLA       float64 `json:"rla"`
	LRA       float64 `json:"lra"`
	Farads    float64 `json:"farads"`          // run capacitor
	CapVolts  float64 `json:"cap-volts"`       // run capacitor, least rating
	RunOhms   float64 `json:"run-ohms"`        // common to run, at 25 C; 0: not known
	StartOhms float64 `json:"start-ohms"`      // common to start
	Hertz     float64 `json:"hertz,omitempty"` // 0: not known
}

// DefaultTarget is a plausible single-stage compressor, to show a plan before the
// real one is known: invented data, near the middle of residential sizes.
func DefaultTarget() Target {
	return Target{Assumed: true, Compressor: Compressor{Label: "single-stage compressor", Volts: 240, RLA: 18, LRA: 102, Farads: 40e-6, CapVolts: 370, RunOhms: 0.6, StartOhms: 2.4, Hertz: 60}}
}

// A Decision is a question that the plan depends on and does not answer itself.
type Decision struct {
	Key      string   `json:"key"`
	Question string   `json:"question"`
	Options  []Option `json:"options"`
	Default  string   `json:"default"`
	Chosen   string   `json:"chosen"`
	Answered bool     `json:"answered"`
	Caution  string   `json:"caution,omitempty"`
	Source   string   `json:"source"`
}

// An Option is one answer. Value "reason" stands for any sentence of 12 letters
// or more: the stated reason.
type Option struct {
	Value string `json:"value"`
	Words string `json:"words"`
}

// A DeviceAction says what becomes of one device.
type DeviceAction struct {
	ID      string `json:"id"`
	Kind    string `json:"kind"` // what it is in the new unit, or was
	Label   string `json:"label"`
	Place   string `json:"place"`
	Action  string `json:"action"` // keep, move, set, replace, remove or add
	Rule    string `json:"rule"`
	Reason  string `json:"reason"`
	Source  string `json:"source"`
	Caution string `json:"caution,omitempty"`
	Marked  bool   `json:"marked,omitempty"` // departs from the unit as built: to be signed for
	// Extended says why the part is served in more states than it was.
	Extended string `json:"extended,omitempty"`
}

// A ConductorAction says what becomes of one conductor. Each old conductor has
// exactly one.
type ConductorAction struct {
	ID      string        `json:"id"`
	Action  string        `json:"action"` // keep, move, reuse, cap, remove or new
	WasFrom string        `json:"was-from,omitempty"`
	WasTo   string        `json:"was-to,omitempty"`
	From    string        `json:"from,omitempty"`
	To      string        `json:"to,omitempty"`
	Colour  string        `json:"colour"`
	Gauge   int           `json:"gauge"`
	Class   netlist.Class `json:"class"`
	Rule    string        `json:"rule"`
	Reason  string        `json:"reason"`
	Source  string        `json:"source"`
	Caution string        `json:"caution,omitempty"`
}

// A Step is one line of the work list, in the order of the work.
type Step struct {
	N       int    `json:"n"`
	Action  string `json:"action"`
	Item    string `json:"item,omitempty"`
	From    string `json:"from,omitempty"`
	To      string `json:"to,omitempty"`
	WasFrom string `json:"was-from,omitempty"`
	WasTo   string `json:"was-to,omitempty"`
	Colour  string `json:"colour,omitempty"`
	Gauge   int    `json:"gauge,omitempty"` // AWG
	Words   string `json:"words"`
	Reason  string `json:"reason,omitempty"`
	Source  string `json:"source,omitempty"`
	Caution string `json:"caution,omitempty"`
}

// An Omission is a safety left out, with the reason stated for it.
type Omission struct {
	Device  string `json:"device"`
	Label   string `json:"label"`
	Reason  string `json:"reason"`
	Caution string `json:"caution"`
}

// A Lost is something that the old board did and nothing does in the new unit, or
// that another part now does.
type Lost struct {
	ID     string `json:"id"`
	What   string `json:"what"`
	Part   string `json:"part"`          // what is usual for it
	Now    string `json:"now,omitempty"` // what does it in the plan; empty: nothing
	Source string `json:"source"`
}

// A Result is a plan with its proof, its faults and its check-out list. Refused
// is the reason when there is no plan; the rest is then empty, but for the
// questions. Verdict, Why and Tried are said first wherever a plan is shown. A
// plan whose proof fails or is not decided has no Steps until it is acknowledged,
// and then Mark stands on every page of it.
type Result struct {
	Format       string            `json:"format"`
	Unit         string            `json:"unit"`
	Verdict      string            `json:"verdict"` // holds, holds with reservations, fails, not decided, refused; empty: not proved yet
	Why          string            `json:"why,omitempty"`
	Tried        string            `json:"tried,omitempty"` // how many states and faults
	Mark         string            `json:"mark,omitempty"`
	Refused      string            `json:"refused,omitempty"`
	Acknowledged bool              `json:"acknowledged,omitempty"`
	Target       Target            `json:"target"`
	Decisions    []Decision        `json:"decisions,omitempty"`
	Open         []string          `json:"open,omitempty"` // decisions not yet answered; their defaults are used
	Omitted      []Omission        `json:"omitted,omitempty"`
	Untried      []string          `json:"untried,omitempty"` // what the search left out
	Devices      []DeviceAction    `json:"devices,omitempty"`
	Conductors   []ConductorAction `json:"conductors,omitempty"`
	Steps        []Step            `json:"steps,omitempty"`
	Lost         []Lost            `json:"lost,omitempty"`
	Cost         float64           `json:"cost"`
	New          *netlist.Unit     `json:"new,omitempty"`
	Before       *netlist.Table    `json:"before,omitempty"` // calls alone, all else at rest
	After        *netlist.Table    `json:"after,omitempty"`
	Proof        *proof.Proof      `json:"proof,omitempty"`
	Faults       []FaultResult     `json:"faults,omitempty"`
	Checkout     *Checkout         `json:"checkout,omitempty"`

	old  *netlist.Unit
	list []Step // the work list, until the proof lets it out

	tandem string          // the second of two compressors, if they are asked about
	passes map[string]bool // devices of the old unit that only pass on: transformers, contacts, splices
}

// ResultFormat names the JSON form of Result.
const ResultFormat = "retrostage-plan-1"

// Errors of Make. A unit that cannot be converted is no error but a refusal.
var (
	ErrDecision = errors.New("no such decision or answer")
	ErrReason   = errors.New("leaving out a safety needs a stated reason: three different words and 12 letters at least")
	ErrTarget   = errors.New("bad target")
)

// Make plans the conversion, proves it, tries the single faults and picks the
// check-out list. Decisions are answered by key; what is not answered takes its
// default and is listed as open. Progress is called from one goroutine at a time.
func Make(ctx context.Context, old *netlist.Unit, target Target, decisions map[string]string, progress func(done, total int)) (*Result, error) {
	r, err := Plan(old, target, decisions)
	if err != nil || r.Refused != "" {
		return r, err
	}
	if err := r.Check(ctx, nil); err != nil {
		return nil, err
	}
	if r.Before, err = onCalls(old); err != nil {
		return nil, err
	}
	if r.After, err = onCalls(r.New); err != nil {
		return nil, err
	}
	c, err := netlist.Compile(r.New)
	if err != nil {
		return nil, fmt.Errorf("new circuit: %w", err)
	}
	var untried string
	if r.Faults, untried, err = TryFaults(ctx, c, progress); err != nil {
		return nil, err
	}
	if untried != "" {
		r.Untried = append(r.Untried, untried)
	}
	if !r.Proved() && !r.Acknowledged {
		return r, nil // no list of readings on a circuit that nobody is to power
	}
	r.Checkout, err = Choose(ctx, c, r.Faults)
	return r, err
}

// onCalls is what every load does on each combination of calls, all else at rest.
func onCalls(u *netlist.Unit) (*netlist.Table, error) {
	c, err := netlist.Compile(u)
	if err != nil {
		return nil, err
	}
	t := &netlist.Table{Inputs: c.Inputs, Loads: c.Loads}
	s := c.NewSolver()
	states := []netlist.State{c.Rest()}
	for i, in := range c.Inputs {
		if in.Kind == "call" {
			for _, st := range slices.Clone(states) {
				states = append(states, st^1<<i)
			}
		}
	}
	for _, st := range states {
		sol, err := s.Solve(st)
		if err != nil {
			return nil, err
		}
		t.Rows = append(t.Rows, netlist.Row{State: st, Does: sol.Statuses(), Chatter: sol.Chatter})
	}
	return t, nil
}

// Plan is Make without proof, faults and check-out list, and therefore without a
// work list: see Check.
func Plan(old *netlist.Unit, target Target, decisions map[string]string) (*Result, error) {
	bk, err := book()
	if err != nil {
		return nil, err
	}
	if err := old.Validate(); err != nil {
		return nil, err
	}
	if err := target.check(); err != nil {
		return nil, err
	}
	r := &Result{Format: ResultFormat, Unit: old.Name, Target: target, old: old, Acknowledged: decisions[Acknowledge] == "yes"}
	p := &plan{rulebook: bk, old: old, target: target, r: r}
	if p.seen, err = look(old); err != nil {
		return nil, err
	}
	refuse := func(why string) (*Result, error) {
		r.Refused, r.Why, r.Verdict = why, why, Refused
		return r, nil
	}
	if why := p.findRoles(); why != "" {
		return refuse(why)
	}
	if err := p.decide(decisions); err != nil {
		return nil, err
	}
	if p.digital && p.answer["indoor-outputs"] == "no" {
		return refuse("the indoor control has no 24 V outputs, and the converted outdoor unit needs a 24 V call: choose another control, or plan for a conventional one.")
	}
	if p.answer["circuits"] == "two" {
		return refuse("the two compressors pump in circuits of their own: each is a unit by itself with its own charge and its own switches, and is planned by itself.")
	}
	if len(p.comps) > 1 {
		r.tandem = p.comps[1].ID
	}
	r.passes = map[string]bool{}
	for i := range old.Devices {
		d := &old.Devices[i]
		r.passes[d.ID] = d.Kind == "transformer" || d.Kind == "splice" || len(p.seen.of(d.ID)) > 0
	}
	for _, step := range []func() error{p.search, p.upsize} {
		if err := step(); errors.Is(err, errNoPlan) {
			return refuse(err.Error())
		} else if err != nil {
			return nil, err
		}
	}
	r.Untried = append(r.Untried, "other orders of what stops the compressor: the string keeps the order of the old unit, what a board watched first")
	r.list, r.Lost = p.workList(), p.lost()
	return r, nil
}

func (t *Target) check() error {
	c := &t.Compressor
	for _, q := range []struct {
		name           string
		v, least, most float64
		unit           string
	}{{"volts", c.Volts, 200, 260, "V"}, {"rla", c.RLA, 2, 60, "A"}, {"lra", c.LRA, 5, 400, "A"}, {"farads", c.Farads, 5e-6, 120e-6, "F"},
		{"cap-volts", c.CapVolts, 100, 700, "V"}, {"run-ohms", c.RunOhms, 0, 100, "ohm"}, {"start-ohms", c.StartOhms, 0, 200, "ohm"}} {
		if !(q.v >= q.least && q.v <= q.most) {
			return fmt.Errorf("%w: %s is %v %s, allowed %v to %v", ErrTarget, q.name, q.v, q.unit, q.least, q.most)
		}
	}
	if t.Indoor != "" && t.Indoor != "conventional" && t.Indoor != "digital" {
		return fmt.Errorf("%w: indoor control %q, want conventional or digital", ErrTarget, t.Indoor)
	}
	return nil
}

// plan is the work in progress.
type plan struct {
	*rulebook
	old    *netlist.Unit
	seen   *survey
	target Target
	r      *Result
	answer map[string]string

	comps, contactors, caps, fans, stages, interrupters []*netlist.Device
	delays, heaters, sensors, boards, starters          []*netlist.Device
	indoor, stat, blower, supply                        *netlist.Device
	oldNet                                              *nets
	capStart                                            map[string]string // run capacitor -> its start-side end
	common                                              map[string]string // run capacitor -> its other end
	digital                                             bool              // the indoor control of the new unit
}

// Marks gives what is done to each device and conductor, by name, for a drawing.
func (r *Result) Marks() map[string]string {
	m := map[string]string{}
	for _, d := range r.Devices {
		m[d.ID] = d.Action
	}
	for _, c := range r.Conductors {
		m[c.ID] = c.Action
	}
	return m
}
