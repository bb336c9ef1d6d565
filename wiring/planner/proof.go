package planner

import (
	"context"
	"fmt"
	"math/cmplx"
	"strings"

	"retrostage/wiring/netlist"
)

// A Proof is what was checked in every state. Holds says that no check failed;
// it does not say that the circuit is safe.
type Proof struct {
	Holds  bool    `json:"holds"`
	States int     `json:"states"`
	Checks []Check `json:"checks"`
	Note   string  `json:"note"`
}

// A Check is one invariant over all states; if it fails, State and Path show the
// first way in which it does.
type Check struct {
	ID     string   `json:"id"`
	Words  string   `json:"words"`
	Holds  bool     `json:"holds"`
	State  string   `json:"state,omitempty"`
	Detail string   `json:"detail,omitempty"`
	Path   []string `json:"path,omitempty"`
	Source string   `json:"source"`
}

var checks = []Check{
	{ID: "runs-iff-called", Words: "the compressor runs if and only if a first-stage call stands, every safety in the unit is closed and every delay has run", Source: "the purpose of the circuit"},
	{ID: "stops-when-running", Words: "the same holds when the state changes while the unit runs: nothing seals itself in", Source: "the purpose of the circuit"},
	{ID: "fan-with-compressor", Words: "the outdoor fan runs with the compressor and not without, and never stalls", Source: "the purpose of the circuit"},
	{ID: "no-chatter", Words: "every relay comes to rest", Source: "the purpose of the circuit"},
	{ID: "no-short", Words: "no state short-circuits a source"},
	{ID: "class2-limits", Words: "no Class 2 source above its voltage or power limit"},
	{ID: "class2-apart", Words: "no Class 2 conductor joined to a line conductor", Source: "NEC Article 725 separation, common practice"},
	{ID: "coils", Words: "every coil is either between pick-up and its upper limit, or released below drop-out"},
	{ID: "transformer", Words: "every transformer within its volt-amperes", Source: "rating of the transformer"},
	{ID: "contacts", Words: "every contact and fuse within its rating", Source: "rating of the part"},
	{ID: "conductors", Words: "every conductor within its ampacity, compressor conductors at 125 %"},
	{ID: "insulation", Words: "every conductor's insulation rated for the voltage on it", Source: "rating of the conductor"},
	{ID: "motor-volts", Words: "every motor that runs has its rated voltage within the band, and its capacitor no more than its rated voltage"},
	{ID: "no-live-stub", Words: "no capped end is live", Source: "common practice, no source"},
}

// Prove checks the invariants of a single-stage circuit over all its states.
func Prove(ctx context.Context, u *netlist.Unit) (*Proof, error) {
	bk, err := book()
	if err != nil {
		return nil, err
	}
	c, err := netlist.Compile(u)
	if err != nil {
		return nil, err
	}
	pr := &Proof{Holds: true, States: c.States(), Checks: append([]Check(nil), checks...),
		Note: "Checked by solving the planned circuit with typical parts in every combination of calls, switches and delays. It says nothing about damaged parts, other faults, or the unit as actually wired: use the check-out list. The maker's instructions and local code govern."}
	at := map[string]*Check{}
	for i := range pr.Checks {
		k := &pr.Checks[i]
		k.Holds = true
		at[k.ID] = k
	}
	l := &bk.Limits
	at["no-short"].Source, at["class2-limits"].Source, at["coils"].Source = l.ShortSource, l.Class2Source, l.CoilSource
	at["conductors"].Source = l.AmpacitySource + "; " + l.CompressorSource + "; " + l.Class2AmpSource
	at["motor-volts"].Source = l.MotorSource
	s := c.NewSolver()
	if _, err := s.Solve(c.With(c.Rest(), "cool-1", true)); err != nil {
		return nil, err
	}
	running := s.Position()
	for st := range netlist.State(c.States()) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		sol, err := s.Solve(st)
		if err != nil {
			return nil, err
		}
		bk.inspect(c, sol, func(id, detail, device string) {
			if k := at[id]; k.Holds {
				k.Holds, pr.Holds = false, false
				k.State, k.Detail = c.Words(st), detail
				if device != "" {
					k.Path = sol.Path(device)
				}
			}
		})
		if sol, err = s.From(running, st); err != nil {
			return nil, err
		}
		if want, k := shouldRun(c, st), at["stops-when-running"]; k.Holds {
			for i, kind := range c.LoadKind {
				if kind == "compressor" && runs(sol.Status(c.Loads[i])) != want {
					k.Holds, pr.Holds = false, false
					k.State, k.Detail = c.Words(st), fmt.Sprintf("%s: %s", c.Loads[i], does(sol.Status(c.Loads[i])))
					k.Path = sol.Path(c.Loads[i])
				}
			}
		}
	}
	return pr, nil
}

func does(status string) string {
	if status == "" {
		return "off"
	}
	return status
}

// shouldRun is what the compressor of a single-stage unit is to do.
func shouldRun(c *netlist.Circuit, st netlist.State) bool {
	ok := c.Has(st, "cool-1")
	for i, in := range c.Inputs {
		if in.Kind == "safety" || in.Kind == "delay" {
			ok = ok && st>>i&1 == 1
		}
	}
	return ok
}

// inspect reports every invariant that a solution breaks.
func (bk *rulebook) inspect(c *netlist.Circuit, sol *netlist.Solution, bad func(id, detail, device string)) {
	want, l := shouldRun(c, sol.State), &bk.Limits
	statuses := sol.Statuses()
	compRuns := false
	rla := 0.0
	for i, kind := range c.LoadKind {
		d := c.Unit.Device(c.Loads[i])
		if kind == "compressor" {
			compRuns = compRuns || runs(statuses[i])
			rla = max(rla, d.P("rla"))
			if runs(statuses[i]) != want || statuses[i] == "stalls" {
				bad("runs-iff-called", fmt.Sprintf("%s: %s", d.ID, does(statuses[i])), d.ID)
			}
		}
	}
	for i, kind := range c.LoadKind {
		if kind == "fan" && (runs(statuses[i]) != compRuns || statuses[i] == "stalls") {
			bad("fan-with-compressor", fmt.Sprintf("%s: %s", c.Loads[i], does(statuses[i])), c.Loads[i])
		}
	}
	if sol.Chatter != nil {
		bad("no-chatter", strings.Join(sol.Chatter, "; "), "")
	}
	for i := range c.Sources {
		src := &c.Sources[i]
		v, a, va := sol.Feed(i)
		if open := abs(src.Open); v < l.ShortFraction*open && a > 2*src.Rating {
			bad("no-short", fmt.Sprintf("%s (%s): %.1f V of %.1f V at %.1f A", src.Device, src.Name, v, open, a), "")
		}
		if src.VA > 0 {
			if v > l.Class2Volts || src.VA > l.Class2VA {
				bad("class2-limits", fmt.Sprintf("%s: %.1f V, rated %.0f VA; limits %.0f V, %.0f VA", src.Device, v, src.VA, l.Class2Volts, l.Class2VA), "")
			}
			if va > src.VA {
				bad("transformer", fmt.Sprintf("%s: %.1f VA of %.0f VA", src.Device, va, src.VA), "")
			}
		}
	}
	if a, b, bonded := sol.Bonded(); bonded {
		bad("class2-apart", fmt.Sprintf("line conductor %s and Class 2 conductor %s", a, b), "")
	}
	for i := range c.Coils {
		k := &c.Coils[i]
		in, v := sol.Drawn(i)
		switch {
		case in && (v < k.PickUp || v > l.CoilHigh*k.Rated):
			bad("coils", fmt.Sprintf("%s pulled in at %.1f V; pick-up %.1f V, limit %.1f V", k.Device, v, k.PickUp, l.CoilHigh*k.Rated), k.Device)
		case !in && v > k.DropOut:
			bad("coils", fmt.Sprintf("%s released at %.1f V, above drop-out %.1f V", k.Device, v, k.DropOut), k.Device)
		}
	}
	for i := range c.Branches {
		br := &c.Branches[i]
		a := cmplx.Abs(sol.Current(i))
		switch br.Kind {
		case netlist.ContactBranch:
			if br.Rating > 0 && a > br.Rating {
				bad("contacts", fmt.Sprintf("%s of %s: %.2f A of %.2f A", br.Name, br.Device, a, br.Rating), br.Device)
			}
		case netlist.ConductorBranch:
			w := c.Unit.Conductor(br.Name)
			if rla > 0 && a > 0.6*rla {
				a *= l.CompressorFactor
			}
			if m := l.ampacity(w.Gauge, w.Class == netlist.Class2); a > m {
				bad("conductors", fmt.Sprintf("%s (%s, %d AWG): %.1f A of %.0f A", w.ID, w.Colour, w.Gauge, a, m), "")
			}
			for k, e := range []string{w.From, w.To} {
				if e == netlist.Capped {
					e = w.ID + [2]string{" from", " to"}[k]
				}
				v, err := sol.ToEarth(e)
				if err == nil && cmplx.Abs(v) > w.Insulation {
					bad("insulation", fmt.Sprintf("%s: %.0f V on %.0f V insulation", w.ID, cmplx.Abs(v), w.Insulation), "")
				}
				if (w.From == netlist.Capped || w.To == netlist.Capped) && err == nil && cmplx.Abs(v) > 1 {
					bad("no-live-stub", fmt.Sprintf("%s (%s) is capped and at %.1f V", w.ID, w.Colour, cmplx.Abs(v)), "")
				}
			}
		}
	}
	for i, kind := range c.LoadKind {
		d := c.Unit.Device(c.Loads[i])
		if !runs(statuses[i]) || kind != "compressor" && d.Kind != "fan-psc" {
			continue
		}
		v, err := sol.Voltage(d.ID+".R", d.ID+".C")
		if err != nil {
			continue // a two-speed compressor: not a single-stage unit
		}
		if r := cmplx.Abs(v) / d.P("volts"); r < l.MotorVolts[0] || r > l.MotorVolts[1] {
			bad("motor-volts", fmt.Sprintf("%s: %.0f V, rated %.0f V", d.ID, cmplx.Abs(v), d.P("volts")), d.ID)
		}
	}
	for i := range c.Unit.Devices {
		d := &c.Unit.Devices[i]
		var pairs [][2]string
		switch d.Kind {
		case "capacitor-run":
			pairs = [][2]string{{".1", ".2"}}
		case "capacitor-dual":
			pairs = [][2]string{{".C", ".HERM"}, {".C", ".FAN"}}
		}
		for _, q := range pairs {
			if v, err := sol.Voltage(d.ID+q[0], d.ID+q[1]); err == nil && cmplx.Abs(v) > d.P("volts") {
				bad("motor-volts", fmt.Sprintf("%s: %.0f V on a capacitor rated %.0f V", d.ID, cmplx.Abs(v), d.P("volts")), d.ID)
			}
		}
	}
}

func abs(x float64) float64 { return max(x, -x) }
