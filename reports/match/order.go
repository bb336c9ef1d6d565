package match

import (
	"fmt"
	"math"
	"strings"
)

// Line is a line of the order list, or of what to bring.
type Line struct {
	What, Spec, Why string
	Provisional     bool // what is found on opening can change it
}

// Extra is what another step asks for: a suction filter after a burn.
type Extra struct {
	What, Why   string
	Provisional bool
}

// Order is what to buy for j.
func Order(u Unit, j Judged, extras []Extra) []Line {
	c := j.Candidate
	out := []Line{{What: "compressor", Spec: c.Name, Why: j.Says()}}
	if c.Capacitor > 0 {
		out = append(out, Line{What: "run capacitor", Spec: fmt.Sprintf("%.4g µF, %.0f V or more", c.Capacitor*1e6, c.CapacitorVolts), Why: "its data"})
	} else if u.Phases != 3 {
		out = append(out, Line{What: "run capacitor", Spec: "not known yet: ask before ordering", Why: "its data do not say", Provisional: true})
	}
	for _, r := range j.Rows {
		if r.Key == "contactor-fla" {
			spec := fmt.Sprintf("definite purpose, %.0f A full load or more per pole", math.Ceil(c.RLA+u.Conversion.Others))
			if c.LRA > 0 {
				spec += fmt.Sprintf(", %.0f A locked rotor or more", c.LRA)
			}
			if c.RLA > 0 {
				out = append(out, Line{What: "contactor", Spec: spec + ", 24 V coil", Why: "the new compressor's currents and the fan's"})
			}
		}
	}
	if b := j.Balance; b != nil {
		out = append(out, Line{What: "liquid-line drier", Spec: fmt.Sprintf("for %s, %.1f tons or more", u.Fluid.Name(), b.Design.Cooling/btuh/12000), Why: "the circuit is opened"})
		if u.Fixed && math.Abs(b.Bore-1) >= 0.02 {
			spec := fmt.Sprintf("%.2f of the old bore", b.Bore)
			if u.Bore > 0 {
				spec = fmt.Sprintf("%.3f in", b.Bore*u.Bore/0.0254)
			}
			out = append(out, Line{What: "piston", Spec: spec + ", the sizes on either side too", Why: "less flow than before; superheat decides", Provisional: true})
		}
	}
	if c.Oil != "" {
		out = append(out, Line{What: "oil", Spec: c.Oil + ", to top up what was drained", Why: "it comes with its own; measure what is drained", Provisional: true})
	}
	out = append(out, Line{What: "time delay", Spec: "about 5 min before each start", Why: "single-phase compressors start badly against pressure; " + practice})
	for _, r := range j.Reasons {
		switch {
		case r.Topic == "start" && r.Verdict == Note && len(r.Next) > 0:
			out = append(out, Line{What: "start kit", Spec: "the one its data name", Why: r.Words})
		case strings.HasPrefix(r.Topic, "breaker") && r.Verdict == Note, strings.HasPrefix(r.Topic, "disconnect") && r.Verdict == Note:
			what, _, _ := strings.Cut(r.Topic, ":")
			out = append(out, Line{What: what, Spec: r.Words, Why: r.Source})
		case r.Topic == "connections" && r.Verdict == Note:
			out = append(out, Line{What: "fittings", Spec: r.Words, Why: "other stubs"})
		}
	}
	for _, e := range extras {
		out = append(out, Line{What: e.What, Why: e.Why, Provisional: e.Provisional})
	}
	return out
}

// Bring is what has to be on the truck beside the parts.
func Bring(u Unit, c Candidate) []Line {
	var out []Line
	if u.Recovered > 0 {
		out = append(out, Line{What: "recovery cylinder", Spec: fmt.Sprintf("room for %.1f kg (%.0f oz) within 80 %% of its volume", u.Recovered, u.Recovered/0.028349523125), Why: "the charge has to come out; " + u.Fluid.Name() + " only"})
	} else {
		out = append(out, Line{What: "recovery cylinder", Spec: "room for the plate's charge and the lines', within 80 % of its volume", Why: "how much is in it is not entered"})
	}
	out = append(out,
		Line{What: "nitrogen, regulator, relief", Why: "brazing under a trickle, pressure test"},
		Line{What: "vacuum pump, vacuum sensor, valve-core tools, scales", Why: "evacuating and charging"},
		Line{What: "insulation tester, clamp that catches the start, capacitor meter", Why: "dead and live checks"},
		Line{What: "torch, extinguisher, gloves, eye protection", Why: "brazing; oil may be acid"})
	if c.Weight == 0 || c.Weight > 23 {
		w := "its weight is not stated"
		if c.Weight > 0 {
			w = fmt.Sprintf("it weighs %.0f kg (%.0f lb)", c.Weight, c.Weight/0.45359237)
		}
		out = append(out, Line{What: "a second person, or a hoist", Why: w})
	}
	return out
}
