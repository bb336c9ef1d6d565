package planner

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// A Target is what the unit is to become.
type Target struct {
	Compressor Compressor `json:"compressor"`
	Indoor     string     `json:"indoor,omitempty"` // "conventional", "digital", or empty: as it is
}

// A Compressor is the single-stage replacement, from its nameplate and data, SI.
type Compressor struct {
	Label     string  `json:"label,omitempty"`
	Volts     float64 `json:"volts"`
	RLA       float64 `json:"rla"`
	LRA       float64 `json:"lra"`
	Farads    float64 `json:"farads"`     // run capacitor
	CapVolts  float64 `json:"cap-volts"`  // run capacitor, least rating
	RunOhms   float64 `json:"run-ohms"`   // common to run, at 25 C; 0: not known
	StartOhms float64 `json:"start-ohms"` // common to start
}

// DefaultTarget is a plausible single-stage compressor, to show a plan before the
// real one is known: invented data, near the middle of residential sizes.
func DefaultTarget() Target {
	return Target{Compressor: Compressor{Label: "single-stage compressor", Volts: 240, RLA: 18, LRA: 102, Farads: 40e-6, CapVolts: 370, RunOhms: 0.6, StartOhms: 2.4}}
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

// Asked are the keys of the decisions that a conversion is not done without: only
// a person at the unit can tell. The others follow from the job (indoor-control),
// or nothing is given up by leaving them at their default (omit: the safety stays).
var Asked = []string{"outdoor-sensor", "airflow", "airflow-per-ton", "crankcase-heater", "hard-start", "time-delay"}

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

// A Result is a plan with its proof, its faults and its check-out list. Refused
// is the reason when there is no plan; the rest is then empty.
type Result struct {
	Format     string            `json:"format"`
	Unit       string            `json:"unit"`
	Refused    string            `json:"refused,omitempty"`
	Target     Target            `json:"target"`
	Decisions  []Decision        `json:"decisions,omitempty"`
	Open       []string          `json:"open,omitempty"` // decisions not yet answered; their defaults are used
	Omitted    []Omission        `json:"omitted,omitempty"`
	Devices    []DeviceAction    `json:"devices,omitempty"`
	Conductors []ConductorAction `json:"conductors,omitempty"`
	Steps      []Step            `json:"steps,omitempty"`
	Cost       float64           `json:"cost"`
	New        *netlist.Unit     `json:"new,omitempty"`
	Before     *netlist.Table    `json:"before,omitempty"`
	After      *netlist.Table    `json:"after,omitempty"`
	Proof      *Proof            `json:"proof,omitempty"`
	Faults     []FaultResult     `json:"faults,omitempty"`
	Checkout   *Checkout         `json:"checkout,omitempty"`
}

// ResultFormat names the JSON form of Result.
const ResultFormat = "retrostage-plan-1"

// Errors of Make. A unit that cannot be converted is no error but a refusal.
var (
	ErrDecision = errors.New("no such decision or answer")
	ErrReason   = errors.New("leaving out a safety needs a stated reason of at least 12 letters")
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
	if r.Before, err = netlist.TruthTable(ctx, old); err != nil {
		return nil, err
	}
	c, err := netlist.Compile(r.New)
	if err != nil {
		return nil, fmt.Errorf("new circuit: %w", err)
	}
	if r.After, err = c.MakeTable(ctx); err != nil {
		return nil, err
	}
	if r.Proof, err = Prove(ctx, r.New); err != nil {
		return nil, err
	}
	if r.Faults, err = TryFaults(ctx, c, progress); err != nil {
		return nil, err
	}
	r.Checkout, err = Choose(ctx, c, r.Faults)
	return r, err
}

// Plan is Make without proof, faults and check-out list.
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
	r := &Result{Format: ResultFormat, Unit: old.Name, Target: target}
	p := &plan{rulebook: bk, old: old, target: target, r: r, refound: map[string]bool{}}
	if r.Refused = p.findRoles(); r.Refused != "" {
		return r, nil
	}
	if err := p.decide(decisions); err != nil {
		return nil, err
	}
	if err := p.search(); err != nil {
		if errors.Is(err, errNoPlan) {
			r.Refused = err.Error()
			return r, nil
		}
		return nil, err
	}
	if err := p.upsize(); err != nil {
		return nil, err
	}
	p.steps()
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
	old     *netlist.Unit
	target  Target
	r       *Result
	refound map[string]bool
	answer  map[string]string

	comps, contactors, caps, fans, relays, fanRelays []*netlist.Device
	safeties, delays, heaters, sensors, boards       []*netlist.Device
	indoor, stat, blower, supply                     *netlist.Device
	oldNet                                           *nets
	capStart                                         map[string]string // run capacitor -> its start-side end
	common                                           map[string]string // run capacitor -> its other end
	digital                                          bool              // the indoor control of the new unit
}

// nets is a union-find over ends.
type nets struct{ up map[string]string }

func newNets() *nets { return &nets{map[string]string{}} }

func (n *nets) find(e string) string {
	for {
		p, ok := n.up[e]
		if !ok || p == e {
			return e
		}
		if g, ok := n.up[p]; ok {
			n.up[e] = g
		}
		e = p
	}
}

func (n *nets) join(a, b string) bool {
	a, b = n.find(a), n.find(b)
	if a == b {
		return false
	}
	n.up[b] = a
	return true
}

func (n *nets) same(a, b string) bool { return n.find(a) == n.find(b) }

func netsOf(u *netlist.Unit) *nets {
	n := newNets()
	for _, c := range u.Conductors {
		if c.From != netlist.Capped && c.To != netlist.Capped {
			n.join(c.From, c.To)
		}
	}
	return n
}

func device(end string) string { d, _, _ := strings.Cut(end, "."); return d }

// windings of a compressor kind: common, run, start.
func windings(kind string) [][3]string {
	if kind == "compressor-two-speed" {
		return [][3]string{{"C", "R1", "S1"}, {"C", "R2", "S2"}}
	}
	return [][3]string{{"C", "R", "S"}}
}

// findRoles finds what each device is for, from its kind and from what it is
// joined to; it returns the reason if the unit cannot be converted.
func (p *plan) findRoles() string {
	u := p.old
	p.oldNet = netsOf(u)
	kinds := func(prefix string) (out []*netlist.Device) {
		for i := range u.Devices {
			if strings.HasPrefix(u.Devices[i].Kind, prefix) {
				out = append(out, &u.Devices[i])
			}
		}
		return out
	}
	for _, d := range slices.Concat(kinds("reversing-valve"), kinds("defrost-board")) {
		return fmt.Sprintf("%s (%s): this is a heat pump. Its reversing valve and defrost need controls that a cooling-only conversion would leave out; heat pumps are not converted by this plan.", d.ID, d.Label)
	}
	p.comps = kinds("compressor-")
	if len(p.comps) == 0 {
		return "no compressor in the unit"
	}
	for _, k := range kinds("contactor-") {
		for _, c := range p.comps {
			for _, w := range windings(c.Kind) {
				if p.oldNet.same(k.ID+".T1", c.ID+"."+w[1]) || p.oldNet.same(k.ID+".T2", c.ID+"."+w[1]) {
					if !slices.Contains(p.contactors, k) {
						p.contactors = append(p.contactors, k)
					}
				}
			}
		}
	}
	if len(p.contactors) == 0 {
		return "no contactor is joined to a compressor's run terminal: compare the unit with its conductors"
	}
	p.capStart, p.common = map[string]string{}, map[string]string{}
	for _, d := range slices.Concat(kinds("capacitor-run"), kinds("capacitor-dual")) {
		ends := [][2]string{{"1", "2"}, {"2", "1"}}
		if d.Kind == "capacitor-dual" {
			ends = [][2]string{{"HERM", "C"}}
		}
		for _, e := range ends {
			for _, c := range p.comps {
				for _, w := range windings(c.Kind) {
					if p.capStart[d.ID] == "" && p.oldNet.same(d.ID+"."+e[0], c.ID+"."+w[2]) {
						p.capStart[d.ID], p.common[d.ID] = d.ID+"."+e[0], d.ID+"."+e[1]
						p.caps = append(p.caps, d)
					}
				}
			}
		}
	}
	if len(p.caps) == 0 {
		return "no run capacitor is joined to a compressor's start terminal: compare the unit with its conductors"
	}
	p.fans, p.relays = kinds("fan-"), kinds("relay")
	for _, k := range p.relays {
		for _, f := range p.fans {
			for _, t := range netlist.Kinds[f.Kind].Terminals {
				if p.oldNet.same(k.ID+".NO", f.ID+"."+t.Name) || p.oldNet.same(k.ID+".COM", f.ID+"."+t.Name) {
					if !slices.Contains(p.fanRelays, k) {
						p.fanRelays = append(p.fanRelays, k)
					}
				}
			}
		}
	}
	p.safeties = slices.Concat(kinds("pressure-high"), kinds("pressure-low"), kinds("thermostat-discharge"))
	p.delays, p.heaters, p.sensors, p.boards = kinds("time-delay"), kinds("heater-crankcase"), kinds("sensor-temperature"), kinds("board-")
	one := func(ds []*netlist.Device) *netlist.Device {
		if len(ds) == 1 {
			return ds[0]
		}
		return nil
	}
	p.indoor, p.stat, p.blower = one(kinds("indoor-")), one(kinds("thermostat")), one(kinds("blower-"))
	for _, s := range kinds("thermostat") { // a discharge thermostat is no room thermostat
		if s.Kind == "thermostat" || s.Kind == "thermostat-digital" {
			p.stat = s
		}
	}
	if p.indoor == nil || p.stat == nil || p.blower == nil {
		return "the plan needs one indoor control, one thermostat and one blower in the unit"
	}
	for _, s := range kinds("supply") {
		if s.Kind == "supply" && s.Place == "outdoor" {
			p.supply = s
		}
	}
	if p.supply == nil {
		return "no outdoor line supply in the unit"
	}
	return ""
}

// decide asks the questions and takes the answers.
func (p *plan) decide(given map[string]string) error {
	isDigital := p.indoor.Kind == "indoor-digital"
	p.answer = map[string]string{}
	used := map[string]bool{}
	var keys []string
	ask := func(d Decision, free bool) error {
		keys = append(keys, d.Key)
		d.Chosen = d.Default
		if a, ok := given[d.Key]; ok {
			used[d.Key] = true
			fits := slices.ContainsFunc(d.Options, func(o Option) bool { return o.Value == a && o.Value != "reason" })
			if !fits && !free {
				var fit []string
				for _, o := range d.Options {
					fit = append(fit, o.Value)
				}
				return fmt.Errorf("%w: %s = %q; it takes %s", ErrDecision, d.Key, a, strings.Join(fit, ", "))
			}
			if !fits && len(strings.TrimSpace(a)) < 12 {
				return fmt.Errorf("%s: %w", d.Key, ErrReason)
			}
			d.Chosen, d.Answered = strings.TrimSpace(a), true
		} else {
			p.r.Open = append(p.r.Open, d.Key)
		}
		p.answer[d.Key] = d.Chosen
		p.r.Decisions = append(p.r.Decisions, d)
		return nil
	}
	yes := func(v bool, a, b string) string {
		if v {
			return a
		}
		return b
	}
	indoor := p.target.Indoor
	if indoor == "" {
		indoor = yes(isDigital, "digital", "conventional")
	}
	var errs []error
	put := func(d Decision) { errs = append(errs, ask(d, strings.HasPrefix(d.Key, "omit:"))) }
	put(Decision{Key: "indoor-control", Question: "Which indoor control will call the unit?", Default: indoor, Source: "the job",
		Options: []Option{{"conventional", "24 V thermostat and terminal strip"}, {"digital", "digital bus indoors, 24 V call to the outdoor unit"}}})
	p.digital = p.answer["indoor-control"] == "digital"
	put(Decision{Key: "outdoor-sensor", Question: "Does the indoor control need an outdoor-air sensor of its own, now that no outdoor board reports to it?",
		Default: yes(p.digital && len(p.sensors) > 0, "wire", "none"), Source: "the indoor control's instructions",
		Options: append([]Option{{"none", "no: the control works without it"}}, func() []Option {
			if p.digital && len(p.sensors) > 0 {
				return []Option{{"wire", "yes: wire the old sensor to the indoor control"}}
			}
			return nil
		}()...)})
	put(Decision{Key: "airflow", Question: "How does the blower come to the single-stage nominal air on a first-stage call?", Default: "setting", Source: p.Rules["airflow-set"].Source,
		Options: func() []Option {
			o := []Option{{"setting", "set the control or the blower's Y1 tap to the nominal air"}}
			if !p.digital {
				o = append(o, Option{"jumper", "feed the blower's Y2 input together with Y1"})
			}
			return o
		}()})
	put(Decision{Key: "airflow-per-ton", Question: "Nominal air per ton of the new compressor, in cfm per ton?", Default: "400", Source: p.Rules["airflow-set"].Source,
		Options: []Option{{"350", "350, humid climate"}, {"375", "375"}, {"400", "400, usual"}, {"450", "450, dry climate"}}})
	heater := []Option{{"none", "the new compressor's instructions ask for none"}, {"keep", "keep one"}}
	if len(p.heaters) == 0 {
		heater[1] = Option{"add", "add one"}
	}
	put(Decision{Key: "crankcase-heater", Question: "Crankcase heater for the new compressor?", Default: yes(len(p.heaters) > 0, "keep", "none"), Options: heater, Source: "the new compressor's instructions"})
	put(Decision{Key: "hard-start", Question: "Hard-start aid?", Default: "none", Source: "the new compressor's instructions; common practice, no source", Caution: p.caution("capacitor"),
		Options: []Option{{"none", "no"}, {"add", "start capacitor with a start relay"}}})
	delay := []Option{{"none", "no: the thermostat or indoor control holds off a restart"}, {"add", "add a time-delay relay"}}
	if len(p.delays) > 0 {
		delay[1] = Option{"keep", "keep the time-delay relay"}
	}
	put(Decision{Key: "time-delay", Question: "What holds off a restart (short cycling)?", Options: delay, Source: p.Rules["delay-add"].Source,
		Default: yes(len(p.delays) > 0, "keep", yes(len(p.boards) > 0, "add", "none"))})
	for _, s := range p.safeties {
		put(Decision{Key: "omit:" + s.ID, Question: fmt.Sprintf("Keep the %s (%s)?", s.Label, s.ID), Default: "keep", Source: "the maker's instructions and the adopted code", Caution: p.caution("safety-omitted"),
			Options: []Option{{"keep", "keep it in the safety string"}, {"reason", "leave it out, for this stated reason: ..."}}})
	}
	for k := range given {
		if !used[k] {
			errs = append(errs, fmt.Errorf("%w: %q; there are %s", ErrDecision, k, strings.Join(keys, ", ")))
		}
	}
	slices.SortStableFunc(errs, func(a, b error) int {
		return strings.Compare(fmt.Sprint(a), fmt.Sprint(b))
	})
	return errors.Join(errs...)
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
