package planner

import (
	"fmt"
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
		} else if w := f.P("watts") / f.P("volts"); w > 0 {
			amps += w
		}
	}
	return amps
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
	return k.P("contact-amps") >= p.poleAmps() && k.P("contact-lra") >= p.lockedAmps()
}

// margin over the rated current: a supply somewhat above the plate's voltage.
const margin = 1.02

// breaker is the largest overcurrent device that the new compressor alone allows,
// in amperes: the other loads are not counted, which errs on the small side.
func (p *plan) breaker() float64 {
	most := max(p.Limits.OvercurrentFloor, p.Limits.Overcurrent*p.target.Compressor.RLA)
	for _, s := range p.sizes {
		if s >= most {
			return s
		}
	}
	return most
}

// upsize solves the new circuit on full call and replaces each conductor that is
// too thin for what it carries.
func (p *plan) upsize() error {
	c, err := netlist.Compile(p.r.New)
	if err != nil {
		return err
	}
	sol, err := c.NewSolver().Solve(c.With(c.Rest(), "cool-1", true))
	if err != nil {
		return err
	}
	n := len(p.r.New.Conductors)
	for i := range n {
		w := p.r.New.Conductors[i]
		if w.Class != netlist.Line {
			continue
		}
		amps, err := sol.Amps(w.ID)
		if err != nil {
			return err
		}
		if rla := p.target.Compressor.RLA; amps > 0.4*rla {
			amps = max(amps, rla) * p.Limits.CompressorFactor * margin
		}
		if p.Limits.ampacity(w.Gauge, false) >= amps {
			continue
		}
		g, ok := p.Limits.gaugeFor(amps)
		if !ok {
			return fmt.Errorf("%w: no conductor in the table carries %.0f A", ErrTarget, amps)
		}
		r := p.Rules["upsize"]
		for k := range p.r.Conductors {
			if a := &p.r.Conductors[k]; a.ID == w.ID {
				if a.Action == "new" {
					a.Gauge = g
					continue
				}
				a.Action, a.Rule, a.Reason, a.Source, a.Caution, a.From, a.To = "remove", "upsize", r.Reason, r.Source, "", "", ""
			}
		}
		fresh := w
		fresh.Gauge = g
		if !strings.HasPrefix(w.ID, "n") {
			fresh.ID = trim(w.ID, 40) + "-thick"
			p.r.Conductors = append(p.r.Conductors, ConductorAction{ID: fresh.ID, Action: "new", From: w.From, To: w.To, Colour: w.Colour, Gauge: g, Class: w.Class, Rule: "upsize", Reason: r.Reason, Source: r.Source})
			p.r.Cost += p.cost["new"]
		}
		p.r.New.Conductors[i] = fresh
	}
	return p.r.New.Validate()
}
