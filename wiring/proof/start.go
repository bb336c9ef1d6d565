package proof

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// starting judges what helps the compressor to start, which the running states do not
// show: where the start parts lie, and what a start relay carries and sees while the
// rotor stands.
func (j *judge) starting() error {
	x, err := j.whileRunning()
	if x == nil || err != nil {
		return err
	}
	var m *motor
	for _, q := range motorsOf(j.now) {
		if len(j.comps) == 1 && q.device == j.comps[0].Device {
			m = &q
		}
	}
	if m == nil {
		return nil
	}
	is := joined(j.now, x) // a start relay is open while the compressor runs
	s, c := j.now.Branches[m.start].Nodes()
	r, _ := j.now.Branches[m.run].Nodes()
	way := newJoin(j.now.NodeCount())
	var parts []*netlist.Device
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		if !slices.Contains([]string{"capacitor-start", "start-relay", "start-ptc"}, d.Kind) {
			continue
		}
		parts = append(parts, d)
		a, _ := j.now.Node(d.ID + ".1")
		b, _ := j.now.Node(d.ID + ".2")
		way.join(is.find(a), is.find(b))
	}
	for _, d := range parts {
		a, _ := j.now.Node(d.ID + ".1")
		at := func(n int) bool { return way.same(is.find(a), is.find(n)) }
		switch {
		case at(c):
			j.fail("start-parts", Fails, "", fmt.Sprintf("%s lies between the compressor's common and its %s lead, not between start and run: it is laid across the line at each start", label(j.now, d.ID), map[bool]string{true: "run", false: "start"}[at(r)]), nil)
		case !at(s) || !at(r):
			j.fail("start-parts", Fails, "", fmt.Sprintf("%s does not lie between the compressor's start and run leads: it helps no start", label(j.now, d.ID)), nil)
		case d.Kind == "start-relay":
			j.standing(x, d, parts, m.start)
		}
	}
	return nil
}

// whileRunning is a solution in which the compressor runs, nil if it never does.
func (j *judge) whileRunning() (*netlist.Solution, error) {
	for _, r := range j.reached {
		x, err := j.s.From(r.pos, j.state(r.leaf))
		if err != nil {
			return nil, err
		}
		for _, l := range j.comps {
			if runs(x.Status(l.Device)) {
				return x, nil
			}
		}
	}
	return nil, nil
}

// standing holds a start relay against what it carries and sees while the rotor
// stands: the start winding in series with run and start capacitor. The winding's
// standing impedance is a usual one, at the low end: what fails by it fails.
func (j *judge) standing(x *netlist.Solution, relay *netlist.Device, parts []*netlist.Device, start int) {
	farads := 0.0
	for _, d := range parts {
		if d.Kind == "capacitor-start" {
			farads += d.P("farads")
		}
	}
	if farads == 0 {
		return
	}
	k := &j.data.Compressor
	z := 1 / j.now.Branches[start].Standing()
	amps := k.Volts / abs(z-complex(0, 1/(2*math.Pi*j.now.Unit.Hertz*(k.Farads+farads))))
	if through := amps * farads / (farads + k.Farads); through > relay.P("contact-amps") {
		j.fail("contacts", Fails, "", fmt.Sprintf("contact of %s: about %.0f A while the rotor stands, rated %.3g A", label(j.now, relay.ID), through, relay.P("contact-amps")), nil)
	}
	switch volts := 1.1 * amps * abs(z); {
	case relay.P("pick-up") <= volts:
		j.fail("start-parts", Fails, "", fmt.Sprintf("%s opens at %.0f V, and up to about %.0f V stand on it before the rotor turns", label(j.now, relay.ID), relay.P("pick-up"), volts), nil)
	case relay.P("pick-up") <= 1.15*volts: // the winding is a usual one; the one bought may be 15 % off
		j.doubt("%s opens at %.0f V; up to %.0f V may stand on it before the rotor turns, and it may open too early: which pick-up do the new compressor's instructions ask for?", label(j.now, relay.ID), relay.P("pick-up"), 1.15*volts)
	}
	if at := j.coilVolts(x, relay.ID); 0.9*at < relay.P("pick-up") {
		j.fail("start-parts", Fails, "", fmt.Sprintf("%s opens at %.0f V, and has %.0f V in the running unit: with 90 %% of the line it never opens, and the start capacitor stays in", label(j.now, relay.ID), relay.P("pick-up"), at), nil)
	}
}

func has[T any](m map[string]T, k string) bool { _, ok := m[k]; return ok }

// coilVolts is what stands on a device's coil in a solution.
func (j *judge) coilVolts(x *netlist.Solution, device string) float64 {
	for i := range j.now.Coils {
		if j.now.Coils[i].Device == device {
			_, v := x.Drawn(i)
			return v
		}
	}
	return 0
}

// guarding are the kinds that are there to stop a compressor.
var guarding = []string{"pressure-high", "pressure-low", "pressure-high-line", "thermostat-discharge", "overload-line", "monitor"}

// stopsNothing asks about a switch that is kept, and in the new circuit stops nothing:
// bridged in every state, alone or with others, it is kept in vain. One that stopped a
// load in the old circuit is named with that load. does gives what each stops: true for
// a compressor.
func (j *judge) stopsNothing(does map[string]bool) {
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		comp, any := does[d.ID]
		input := slices.ContainsFunc(j.now.Inputs, func(in netlist.Input) bool { return in.Name == d.ID && in.Kind != "call" && in.Kind != "delay" })
		switch guard := slices.Contains(guarding, d.Kind); {
		case !input || j.omitted(d.ID) || any && (comp || !guard):
		case any:
			j.doubt("%s stops something, and no compressor: is that what it is there for?", label(j.now, d.ID))
		default:
			j.doubt("%s stops nothing in any state, by itself: it is bridged, alone or with others, or lies on nothing. Compare the string with the unit, conductor by conductor", label(j.now, d.ID))
		}
	}
	for _, in := range j.was.Interrupters {
		d := j.now.Unit.Device(in.Device)
		if in.Input == "" || d == nil || has(does, in.Device) || j.omitted(in.Device) {
			continue
		}
		var of []string
		for _, s := range in.Stops {
			if j.now.Unit.Device(s.Load) != nil {
				of = append(of, label(j.now, s.Load))
			}
		}
		if of != nil {
			j.fail("does-nothing", NotDecided, "", fmt.Sprintf("%s stopped %s and stops nothing any more in any state: is it to do nothing? State why, or join it so that it does", label(j.now, in.Device), strings.Join(of, ", ")), nil)
		}
	}
}
