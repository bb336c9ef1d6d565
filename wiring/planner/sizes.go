package planner

import (
	"fmt"
	"math/cmplx"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// poleAmps is the most that one pole of the compressor contactor carries, in
// amperes: compressor and outdoor fans, on a supply above the plate's voltage.
func (p *plan) poleAmps() float64 {
	tc := &p.target.Compressor
	amps := tc.RLA * max(1, p.supply.P("volts")/tc.Volts)
	for _, f := range p.fans {
		if a := f.P("rla"); a > 0 {
			amps += a
		} else if w := max(f.P("watts")/f.P("volts"), f.P("amps")); w > 0 {
			amps += w
		}
	}
	return 1.01 * amps // a fan solved takes a little more than its plate says
}

// lockedAmps is the most that one pole makes and breaks while the motors stand.
func (p *plan) lockedAmps() float64 {
	tc := &p.target.Compressor
	amps := tc.LRA * max(1, p.supply.P("volts")/tc.Volts)
	for _, f := range p.fans {
		if a := f.P("lra"); a > 0 {
			amps += a
		} else if w := f.P("watts") / f.P("volts"); w > 0 {
			amps += w
		}
	}
	return amps
}

// carries tells whether a contactor is rated for the new compressor and the fans.
func (p *plan) carries(k *netlist.Device) bool {
	return k.P("contact-amps") >= p.poleAmps() && k.P("contact-lra") >= p.lockedAmps() && k.P("contact-ohms")*p.poleAmps() <= p.Limits.ContactVolts
}

// margin over the rated current: a supply somewhat above the plate's voltage.
const margin = 1.02

// breaker is the largest overcurrent device that the new compressor and what the old
// unit took besides its compressors on a full call allow, in amperes, taken down to a
// standard size, or up where that is below the circuit's minimum.
func (p *plan) breaker() float64 {
	rla, besides := p.target.Compressor.RLA, p.besides()
	most := max(p.Limits.OvercurrentFloor, p.Limits.Overcurrent*rla+besides)
	down := 0.0
	for _, s := range p.sizes {
		if s <= most*(1+1e-12) {
			down = s
		}
	}
	if down >= p.leastDevice() {
		return down // right by every edition; the next size up only by Exception 1 of 2023
	}
	for _, s := range p.sizes {
		if s >= most {
			return s
		}
	}
	return most
}

// leastDevice is the circuit's minimum: a device below it opens at a start.
func (p *plan) leastDevice() float64 {
	return p.Limits.CompressorFactor*p.target.Compressor.RLA + p.besides()
}

// besides is what the branch carries besides the compressor, A: as its plates say, else
// as the old circuit takes it.
func (p *plan) besides() float64 {
	if p.target.Besides > 0 {
		return p.target.Besides
	}
	return p.seen.besides(p.supply.ID)
}

// besides is what a supply gives on a full call besides the compressors' current, in
// amperes: the difference of the magnitudes, which errs on the small side.
func (v *survey) besides(supply string) float64 {
	sol, err := v.c.NewSolver().Solve(v.states[fullCall])
	if err != nil {
		return 0
	}
	most := 0.0
	for i := range v.c.Sources {
		if _, amps, _ := sol.Feed(i); v.c.Sources[i].Device == supply {
			most = max(most, amps)
		}
	}
	var comp complex128
	for i := range v.c.Branches {
		b := &v.c.Branches[i]
		if d := v.c.Unit.Device(b.Device); b.Kind == netlist.LoadBranch && d != nil && strings.HasPrefix(d.Kind, "compressor") && strings.Contains(b.Name, "winding") {
			comp += sol.Current(i)
		}
	}
	return 0.9 * max(0, most-cmplx.Abs(comp)) // the old compressor's share is of another phase than the new one's
}

// upsize solves the new circuit on full call and replaces each conductor that is
// too thin for what it carries, and each ground that is too thin for the device ahead.
func (p *plan) upsize() error {
	c, err := netlist.Compile(p.r.New)
	if err != nil {
		return err
	}
	sol, err := c.NewSolver().Solve(c.With(c.Rest(), "cool-1", true))
	if err != nil {
		return err
	}
	var start complex128 // what the compressor's start winding takes
	for i := range c.Branches {
		if b := &c.Branches[i]; b.Kind == netlist.LoadBranch && b.Name == "start winding" && strings.HasPrefix(p.r.New.Device(b.Device).Kind, "compressor") {
			start = sol.Current(i)
		}
	}
	at := map[string]complex128{}
	for i := range c.Branches {
		if b := &c.Branches[i]; b.Kind == netlist.ConductorBranch {
			at[b.Name] = sol.Current(i)
		}
	}
	n := len(p.r.New.Conductors)
	for i := range n {
		w := p.r.New.Conductors[i]
		if w.Class != netlist.Line {
			continue
		}
		amps := cmplx.Abs(at[w.ID])
		ownStart := cmplx.Abs(at[w.ID]-start) < 0.05*amps || cmplx.Abs(at[w.ID]+start) < 0.05*amps
		if rla := p.target.Compressor.RLA; ownStart {
			amps *= p.Limits.CompressorFactor * margin
		} else if amps > 0.36*rla { // two in parallel carry half each, at less than rated current
			amps = max(amps, rla) * p.Limits.CompressorFactor * margin
		}
		if p.Limits.ampacity(w.Gauge, false) >= amps {
			continue
		}
		g, ok := p.Limits.gaugeFor(amps)
		if !ok && amps > 2*p.breaker() {
			continue // a short circuit: the proof fails by it
		}
		if !ok && amps > 3*p.target.Compressor.RLA { // not by what was asked for: a short circuit drawn
			return cannotBuild(fmt.Errorf("%s would carry %.0f A, and no conductor in the table carries that", p.r.New.Conductors[i].ID, amps))
		}
		if !ok {
			return fmt.Errorf("%w: no conductor in the table carries %.0f A", ErrTarget, amps)
		}
		r := p.Rules["upsize"]
		p.thicken(i, g, r.Reason, r.Source)
	}
	p.thickenGrounds()
	return p.r.New.Validate()
}

// thicken replaces the conductor i of the new circuit by one of a thicker gauge.
func (p *plan) thicken(i, gauge int, reason, source string) {
	w := p.r.New.Conductors[i]
	fresh := w
	fresh.Gauge = gauge
	p.r.New.Conductors[i].Gauge = gauge
	k := slices.IndexFunc(p.r.Conductors, func(a ConductorAction) bool { return a.ID == w.ID })
	a := &p.r.Conductors[k]
	if a.Action == "new" {
		a.Gauge = gauge
		return
	}
	a.Action, a.Rule, a.Reason, a.Source, a.Caution, a.From, a.To = "remove", "upsize", reason, source, "", "", ""
	fresh.ID = trim(w.ID, 40) + "-thick"
	for n := 2; p.old.Conductor(fresh.ID) != nil || p.r.New.Conductor(fresh.ID) != nil; n++ {
		fresh.ID = fmt.Sprintf("%s-thick-%d", trim(w.ID, 40), n)
	}
	p.r.New.Conductors[i] = fresh
	p.r.Conductors = append(p.r.Conductors, ConductorAction{ID: fresh.ID, Action: "new", From: w.From, To: w.To, Colour: w.Colour, Gauge: gauge, Class: w.Class, Rule: "upsize", Reason: reason, Source: source})
	p.r.Cost += p.cost["new"]
}

// thickenGrounds replaces what is too thin of the compressor's ground, from the
// supply's ground screw on: by the overcurrent device, and no thicker than the
// compressor's own conductors.
func (p *plan) thickenGrounds() {
	comp := slices.IndexFunc(p.r.New.Devices, func(d netlist.Device) bool { return strings.HasPrefix(d.Kind, "compressor") })
	id := p.r.New.Devices[comp].ID
	thick, need := 99, 0
	for _, e := range []string{".C", ".R", ".S"} {
		for _, w := range p.r.New.At(id + e) {
			thick = min(thick, w.Gauge)
		}
	}
	amps := p.r.New.Device(p.supply.ID).P("breaker-amps")
	for _, r := range p.grounds {
		if need = r.gauge; amps <= r.to {
			break
		}
	}
	need = max(need, min(thick, 18))
	for i := range len(p.r.New.Conductors) {
		w := p.r.New.Conductors[i]
		if w.Class == netlist.Ground && w.Gauge > need && (p.groundWay(id, "") != p.groundWay(id, w.ID) || w.From == id+".GND" || w.To == id+".GND") {
			p.thicken(i, need, fmt.Sprintf("too thin a ground for the compressor behind a device of %.0f A", amps), p.groundOf)
		}
	}
}

// groundWay tells whether ground conductors lead from a device to its supply in the
// new circuit, leaving one out.
func (p *plan) groundWay(id, without string) bool {
	n := newNets()
	for _, w := range p.r.New.Conductors {
		if w.Class == netlist.Ground && w.ID != without {
			n.join(w.From, w.To)
		}
	}
	return n.same(id+".GND", p.supply.ID+".GND")
}
