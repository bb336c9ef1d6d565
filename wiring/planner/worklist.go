package planner

import (
	"fmt"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// workList writes the work in an order that is physically possible: isolate,
// recover, prove dead, discharge, photograph and label, remove, replace, ground,
// land, torque, cover, inspect, set, and check dead.
func (p *plan) workList() []Step {
	l := &list{p: p, r: p.r}
	l.say("prepare", "Isolate: thermostat off, then open and lock every supply of the unit, "+l.supplies()+", with a tag on each lock and breaker.", "lockout")
	l.say("prepare", "Look at plate and label for the refrigerant and its class before anything is opened.", "flammable")
	l.say("prepare", "Prove dead, line and 24 V, in every cabinet, at the contactor's line side, at each heater, fan and transformer, leg to leg and to ground, with a meter tried before and after on a live point.", "disconnect-line")
	l.say("prepare", "Discharge every capacitor and measure it.", "capacitor")
	l.say("prepare", "Recover the charge, and open the circuit to the air only when gauges and scale agree that it is out.", "recover")
	l.say("prepare", "Photograph, and label both ends of every conductor with where it lies, before the first one is moved.", "")
	l.wires(func(a *ConductorAction) bool { return a.Action == "cap" || a.Action == "remove" })
	l.devices("remove")
	l.devices("replace", "add", "move")
	l.takeOver()
	l.seeWhereItSits()
	l.wires(func(a *ConductorAction) bool {
		return a.Class == netlist.Ground && a.Action != "cap" && a.Action != "remove" && landed(a)
	})
	l.grounds()
	line := func(a *ConductorAction) bool { return a.Class != netlist.Ground }
	l.wires(func(a *ConductorAction) bool { return line(a) && a.Action == "keep" && a.Rule == "reland" })
	l.wires(func(a *ConductorAction) bool { return line(a) && (a.Action == "move" || a.Action == "reuse") })
	l.wires(func(a *ConductorAction) bool { return line(a) && a.Action == "new" })
	l.devices("set")
	l.close()
	return l.steps
}

// list is a work list in the making.
type list struct {
	p     *plan
	r     *Result
	steps []Step
}

func (l *list) put(s Step) {
	s.N = len(l.steps) + 1
	l.steps = append(l.steps, s)
}

func (l *list) say(action, words, caution string) {
	l.put(Step{Action: action, Words: words, Caution: l.p.caution(caution)})
}

// landed tells whether the work list has a line for a conductor that stays.
func landed(a *ConductorAction) bool { return a.Action != "keep" || a.Rule != "keep" }

// devices writes what is done to parts.
func (l *list) devices(actions ...string) {
	for i := range l.r.Devices {
		a := &l.r.Devices[i]
		if !slices.Contains(actions, a.Action) {
			continue
		}
		caution := a.Caution
		if d := l.p.old.Device(a.ID); d != nil && a.Action == "remove" && d.Pigtail {
			caution = strings.TrimSpace(caution + " " + l.p.caution("open-pigtail"))
		}
		if strings.HasPrefix(a.Kind, "supply") {
			caution = l.p.caution("disconnect-line")
		}
		if strings.HasPrefix(a.Kind, "capacitor") && caution == "" {
			caution = l.p.caution("capacitor")
		}
		if a.Action == "set" && powered(a.Kind) {
			continue // set with power on, behind the gate
		}
		reason := a.Reason
		if a.Action == "set" { // it is in the words
			reason = ""
		}
		l.put(Step{Action: a.Action, Item: a.ID, Words: l.partWords(a), Reason: reason, Source: a.Source, Caution: caution})
	}
}

// partWords says what is done to a part, by its name on the unit.
func (l *list) partWords(a *DeviceAction) string {
	old := l.p.old.Device(a.ID)
	name := a.Label
	if old != nil {
		name = l.p.name(old)
	}
	fixed := ""
	if old != nil && old.Pigtail {
		fixed = " at the splices of its leads"
	}
	switch a.Action {
	case "remove":
		return "Take out the " + name + fixed + "."
	case "replace":
		if strings.HasPrefix(a.Kind, "compressor") {
			return "The new compressor, in the place of the " + name + ": mounted and brazed in as Close-up has it, terminal cover at hand."
		}
		return "The new " + plain(a.Kind) + ", in the place of the " + name + ": " + l.rating(a) + "."
	case "add":
		return "Mount the " + name + ": " + l.rating(a) + "."
	case "move":
		return "Leave the " + name + " where it sits, in the air that it measures; its conductors land elsewhere."
	case "set":
		if strings.HasPrefix(a.Kind, "supply") && old != nil && l.p.breakerAlone(old) {
			return "Change the breaker in the panel that feeds the " + name + ": " + a.Reason + "."
		}
		if strings.HasPrefix(a.Kind, "supply") {
			return "Change what protects the circuit of the " + name + " (the breaker in the panel, or fuses in the disconnect): " + a.Reason + "."
		}
		if a.Kind == "fuse" {
			return "Change the " + name + ": " + a.Reason + "."
		}
		return "Set the " + name + ": " + a.Reason + "."
	}
	return "The " + name + "."
}

// plain is the common word for a kind of part.
func plain(kind string) string {
	w := netlist.Kinds[kind].Words
	w, _, _ = strings.Cut(w, ",")
	w, _, _ = strings.Cut(w, ":")
	return w
}

// rating says what to ask for at the counter.
func (l *list) rating(a *DeviceAction) string {
	d := l.r.New.Device(a.ID)
	if d == nil {
		return "as planned"
	}
	var w []string
	add := func(param, format string, scale float64) {
		if v, ok := d.Params[param]; ok {
			w = append(w, fmt.Sprintf(format, v*scale))
		}
	}
	add("farads", "%.3g uF", 1e6)
	add("fan-farads", "%.3g uF for the fan", 1e6)
	add("volts", "%.0f V at least", 1)
	add("contact-amps", "%.0f A contacts at least", 1)
	add("contact-lra", "%.0f A locked rotor at least", 1)
	if strings.HasPrefix(d.Kind, "contactor") {
		w = append(w, fmt.Sprintf("%s, %.0f V coil", map[bool]string{true: "two poles", false: "one pole"}[strings.HasSuffix(d.Kind, "2p")], d.P("coil-volts")))
	}
	if d.Kind == "time-delay" {
		w = append(w, fmt.Sprintf("24 V, about %.0f s, delay on make", d.P("seconds")))
	}
	if len(w) == 0 {
		return "as the instructions have it"
	}
	return strings.Join(w, ", ")
}

// wires writes what is done to conductors.
func (l *list) wires(pick func(a *ConductorAction) bool) {
	for i := range l.r.Conductors {
		a := &l.r.Conductors[i]
		if !pick(a) || a.Action == "keep" && !landed(a) {
			continue
		}
		caution := a.Caution
		for _, e := range []string{a.From, a.To, a.WasFrom, a.WasTo} {
			if d := l.p.old.Device(device(e)); d != nil && strings.HasPrefix(d.Kind, "supply") {
				caution = l.p.caution("disconnect-line")
			}
		}
		l.put(Step{Action: a.Action, Item: a.ID, From: a.From, To: a.To, WasFrom: a.WasFrom, WasTo: a.WasTo, Colour: a.Colour, Gauge: a.Gauge,
			Words: l.wireWords(a), Reason: a.Reason, Source: a.Source, Caution: caution})
	}
}

// fixedLead says, of a conductor that met a switch with leads of its own, where the
// two part and meet: at a splice, and the switch keeps its lead.
func (l *list) fixedLead(a *ConductorAction) string {
	for _, e := range []string{a.WasFrom, a.WasTo, a.From, a.To} {
		if d := l.p.old.Device(device(e)); d != nil && d.Pigtail {
			return " At the " + l.p.name(d) + " this is done at the splice of its lead; the lead itself is the switch's own and is not cut off or taken out."
		}
	}
	return ""
}

func (l *list) wireWords(a *ConductorAction) string {
	return l.plainWireWords(a) + l.fixedLead(a)
}

func (l *list) plainWireWords(a *ConductorAction) string {
	name := fmt.Sprintf("%s %d AWG (%s)", a.Colour, a.Gauge, a.ID)
	was := func() string { return Spot(l.p.old, a.WasFrom) + " to " + Spot(l.p.old, a.WasTo) }
	now := func() string { return Spot(l.r.New, a.From) + " to " + Spot(l.r.New, a.To) }
	switch a.Action {
	case "cap":
		return fmt.Sprintf("Cap %s at both ends; it was %s.", name, was())
	case "remove":
		return fmt.Sprintf("Take out %s; it was %s.", name, was())
	case "new":
		return fmt.Sprintf("New conductor %s: %s.", name, now())
	case "keep":
		if a.From == a.WasFrom && a.To == a.WasTo {
			return fmt.Sprintf("Land %s on the new part as it lay on the old one: %s.", name, now())
		}
		return fmt.Sprintf("Land %s on the new part: %s; it was %s.", name, now(), was())
	}
	return fmt.Sprintf("%s %s: now %s; it was %s.", strings.ToUpper(a.Action[:1])+a.Action[1:], name, now(), was())
}

// grounds asks for the compressor's equipment ground, drawn or not.
func (l *list) grounds() {
	l.put(Step{Action: "ground", Words: "Land the compressor's equipment ground on its own screw before any other lead; the cabinet's ground likewise, bare metal under it.",
		Reason: "a replaced part is grounded again before it can become live", Source: "NEC Article 250, title only read; the equipment's instructions govern"})
}

// close writes what comes after the landing.
func (l *list) close() {
	l.say("inspect", "Tighten every terminal touched to its marked value, with a tool.", "torque")
	for _, d := range l.r.New.Devices {
		if d.Kind == "contactor-1p" {
			l.say("inspect", "Mark beside the "+nameIn(l.r.New, &d)+": one leg stays live.", "one-leg")
		}
	}
	l.say("inspect", "Barriers between line and 24 V back in place, conductors tied clear of fan, pipes and edges.", "class2")
	if thin := l.thinlyInsulated(); thin != "" {
		l.say("inspect", "Keep these 24 V conductors behind the barrier, or well apart from every line conductor and terminal: their insulation is not rated for the line ("+thin+").", "class2")
	}
	l.say("inspect", "Take every jumper out that was set for testing, and count them.", "")
	l.say("inspect", "Inspect against the new ladder: every conductor traced by a second look, none on a terminal that the plan does not name.", "")
	l.say("check", "Dead check-out: every reading of the dead list, nothing powered. It ends the Wiring step.", "lockout")
	l.say("cover", "Covers back on, the compressor's terminal cover first.", "")
	l.say("label", "Post the new ladder and the new label beside the old plate.", "plate")
	l.say("later", "The live check-out belongs to the Running check, after Close-up and Charge, behind its gate; the locks stay on until then. After any run: lock out, prove dead and discharge before a switch or a conductor is taken off.", "discharge-again")
	l.say("later", "Behind the gate, with power on and before the first live reading: set the thermostat to one stage of cooling, so that no second stage is called.", "")
	for i := range l.r.Devices {
		if a := &l.r.Devices[i]; a.Action == "set" && powered(a.Kind) {
			l.put(Step{Action: "later", Item: a.ID, Words: "Behind the gate, before the first live reading. " + l.partWords(a), Source: a.Source, Caution: a.Caution})
		}
	}
	l.put(Step{Action: "later", Item: "control-setup", Words: "Behind the gate, before the first live reading. Control set-up: go through the set-up of whatever calls the unit now (the indoor control; the thermostat, where it has a menu) for a one-stage outdoor unit, by its instructions. Write down what it then reports: stages, size, air, and what it found. The air measured in the Running check shows that it took.",
		Reason: "a control keeps what it learnt of the old unit until its set-up is gone through again", Source: "the indoor control's instructions; common practice, no source"})
}

// supplies names every supply of the unit, and how many they are.
func (l *list) supplies() string {
	var names []string
	for i := range l.p.old.Devices {
		if d := &l.p.old.Devices[i]; strings.HasPrefix(d.Kind, "supply") || d.Kind == "source" && d.P("volts") > 30 {
			name := "the " + l.p.name(d)
			if d.Kind == "source" { // what another trade brings in
				name += fmt.Sprintf(" of %.0f V, which the unit's own disconnect does not open", d.P("volts"))
			}
			names = append(names, name)
		}
	}
	n := len(names)
	if n < 2 {
		return strings.Join(names, "")
	}
	return fmt.Sprintf("all %d of them (%s and %s)", n, strings.Join(names[:n-1], ", "), names[n-1])
}

// powered tells whether a part is set by its own menu, which needs power.
func powered(kind string) bool {
	return strings.HasPrefix(kind, "indoor-") || strings.HasPrefix(kind, "thermostat") && kind != "thermostat-discharge"
}

// thinlyInsulated lists the 24 V conductors that come into the outdoor cabinet with
// insulation for less than the line's voltage. The unit file does not say where the
// barriers are: a person has to look.
func (l *list) thinlyInsulated() string {
	line := 0.0
	for i := range l.r.New.Devices {
		if d := &l.r.New.Devices[i]; strings.HasPrefix(d.Kind, "supply") && d.Place == "outdoor" {
			line = max(line, d.P("volts"))
		}
	}
	var out []string
	for i := range l.r.New.Conductors {
		c := &l.r.New.Conductors[i]
		if c.Class != netlist.Class2 || c.Insulation >= line {
			continue
		}
		for _, end := range []string{c.From, c.To} {
			if d := l.r.New.Device(device(end)); d != nil && d.Place == "outdoor" {
				out = append(out, fmt.Sprintf("%s of %.0f V", c.ID, c.Insulation))
				break
			}
		}
	}
	return strings.Join(out, ", ")
}

// takeOver says what sits on the old compressor or its pipes, stays, and has to go
// over to the new one. The kind gives the words, or the seat that is entered of a switch.
func (l *list) takeOver() {
	where := map[string]string{
		"heater-crankcase":     "on the new compressor's shell, where its instructions have it",
		"thermostat-discharge": "on the new discharge line, as far from the compressor as it sat, tight on bare pipe and insulated",
		"overload-line":        "on the new compressor's shell, where its instructions allow one",
	}
	for i := range l.r.Devices {
		a := &l.r.Devices[i]
		to, ok := where[a.Kind]
		d := l.p.old.Device(a.ID)
		if d != nil && !ok {
			to, ok = map[string]string{"outside-of-shell": where["overload-line"], "discharge-line": where["thermostat-discharge"]}[d.Sits], d.Kind == "switch"
			ok = ok && to != ""
		}
		if ok && d != nil && d.Place == "outdoor" && (a.Action == "keep" || a.Action == "move") {
			words := "Take the " + l.p.name(d) + " over from the old compressor: " + to + "."
			if len(l.p.heaters) > 1 && slices.Contains(l.p.heaters, d) && d != l.p.heaters[0] {
				words = "Look where the " + l.p.name(d) + " sits. If on the old compressor, it goes " + to + "; if elsewhere, it stays where it is."
			}
			l.put(Step{Action: "move", Item: a.ID, Words: words,
				Reason: "it sits on what is replaced; left hanging it heats or feels nothing", Source: "common practice, no source"})
		}
	}
}

// seeWhereItSits warns of a switch that may leave with the old compressor.
func (l *list) seeWhereItSits() {
	for i := range l.r.Devices {
		a := &l.r.Devices[i]
		if strings.HasPrefix(a.Kind, "pressure-") && a.Place == "outdoor" && (a.Action == "keep" || a.Action == "move") {
			l.put(Step{Action: "move", Item: a.ID, Words: "Read on the " + a.Label + " what pressure it opens at, and compare with the refrigerant on the unit's plate and the new compressor's instructions. If it is for another refrigerant, or opens elsewhere, or nothing is marked, put in the one that they name.",
				Reason: "a switch for another refrigerant opens too late or always", Source: "common practice, no source; the new compressor's instructions govern"})
		}
		if d := l.p.old.Device(a.ID); a.Kind == "switch" && a.Place == "outdoor" && a.Action == "keep" && (d == nil || d.Sits == "") {
			l.put(Step{Action: "move", Item: a.ID, Words: "See where the " + a.Label + " sits. If it is inside the old compressor's shell, it leaves with it: stop here, enter it as left out with that reason, and plan again; its leads are never joined to each other for it.",
				Reason: "a winding thermostat is a switch to the circuit, and cannot stay when the shell goes", Source: "common practice, no source"})
		}
	}
}

// lost lists what a board that is taken out did, and what does it now.
func (p *plan) lost() (out []Lost) {
	gone := ""
	for _, a := range p.r.Devices {
		if d := p.old.Device(a.ID); d != nil && a.Action == "remove" && (slices.Contains(p.boards, d) || slices.Contains(p.delays, d)) {
			gone = a.Label
			if slices.Contains(p.boards, d) {
				break
			}
		}
	}
	if gone == "" {
		return nil
	}
	for _, l := range p.Lost {
		l.Now = p.doesNow(l.ID)
		if l.ID != "short-cycle" && len(p.boards) == 0 {
			continue
		}
		out = append(out, l)
	}
	return out
}

// doesNow is the part of the new unit that does what the board did; "" if none.
func (p *plan) doesNow(what string) string {
	kinds := map[string]string{"lockout": "lockout-relay", "short-cycle": "time-delay", "discharge": "thermostat-discharge"}
	for i := range p.r.New.Devices {
		if d := &p.r.New.Devices[i]; d.Kind == kinds[what] {
			return nameIn(p.r.New, d)
		}
	}
	return ""
}
