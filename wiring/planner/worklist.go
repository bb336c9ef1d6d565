package planner

import (
	"fmt"
	"slices"
	"strings"
)

// steps writes the work list in the order of the work.
func (p *plan) steps() {
	r := p.r
	put := func(s Step) {
		s.N = len(r.Steps) + 1
		r.Steps = append(r.Steps, s)
	}
	put(Step{Action: "prepare", Words: "Lock out, prove dead, photograph and label every conductor before the first one is moved.", Caution: p.caution("lockout")})
	put(Step{Action: "prepare", Words: "Discharge every capacitor and measure it.", Caution: p.caution("capacitor")})
	dev := func(actions ...string) {
		for _, a := range r.Devices {
			if slices.Contains(actions, a.Action) {
				w := fmt.Sprintf("%s %s (%s)", strings.ToUpper(a.Action[:1])+a.Action[1:], a.Label, a.ID)
				put(Step{Action: a.Action, Item: a.ID, Words: w, Reason: a.Reason, Source: a.Source, Caution: a.Caution})
			}
		}
	}
	wire := func(pick func(a *ConductorAction) bool) {
		for i := range r.Conductors {
			a := &r.Conductors[i]
			if !pick(a) {
				continue
			}
			name := fmt.Sprintf("%s, %d AWG, %s", a.Colour, a.Gauge, a.ID)
			var w string
			switch a.Action {
			case "cap":
				w = fmt.Sprintf("Cap %s at both ends (was %s to %s)", name, a.WasFrom, a.WasTo)
			case "remove":
				w = fmt.Sprintf("Take out %s (was %s to %s)", name, a.WasFrom, a.WasTo)
			case "new":
				w = fmt.Sprintf("New conductor %s from %s to %s", name, a.From, a.To)
			case "keep":
				w = fmt.Sprintf("Land %s on the new part: %s to %s (was %s to %s)", name, a.From, a.To, a.WasFrom, a.WasTo)
			default:
				w = fmt.Sprintf("%s %s: now %s to %s (was %s to %s)", strings.ToUpper(a.Action[:1])+a.Action[1:], name, a.From, a.To, a.WasFrom, a.WasTo)
			}
			put(Step{Action: a.Action, Item: a.ID, From: a.From, To: a.To, WasFrom: a.WasFrom, WasTo: a.WasTo, Colour: a.Colour, Gauge: a.Gauge, Words: w, Reason: a.Reason, Source: a.Source, Caution: a.Caution})
		}
	}
	wire(func(a *ConductorAction) bool { return a.Action == "cap" || a.Action == "remove" })
	dev("remove")
	dev("replace", "add", "move")
	wire(func(a *ConductorAction) bool { return a.Action == "keep" && a.Rule == "reland" })
	wire(func(a *ConductorAction) bool { return a.Action == "move" || a.Action == "reuse" })
	wire(func(a *ConductorAction) bool { return a.Action == "new" })
	dev("set")
	put(Step{Action: "check", Words: "Go through the check-out list: dead readings first, then live.", Caution: p.caution("live")})
	put(Step{Action: "label", Words: "Post the new ladder and the new label beside the old plate.", Caution: p.caution("plate")})
}
