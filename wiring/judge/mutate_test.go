package judge

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
	"retrostage/wiring/proof"
)

// A mutation alters a circuit in place and says what it did; "" if it found
// nothing to alter. It may leave a circuit that no file could hold.
type mutation struct {
	name string
	do   func(u *netlist.Unit, r *rand.Rand) string
}

func one[T any](r *rand.Rand, list []T) (x T, ok bool) {
	if len(list) == 0 {
		return x, false
	}
	return list[r.IntN(len(list))], true
}

func devices(u *netlist.Unit, ok func(d *netlist.Device) bool) (out []*netlist.Device) {
	for i := range u.Devices {
		if ok(&u.Devices[i]) {
			out = append(out, &u.Devices[i])
		}
	}
	return out
}

func kind(names ...string) func(d *netlist.Device) bool {
	return func(d *netlist.Device) bool {
		return slices.ContainsFunc(names, func(n string) bool { return strings.HasPrefix(d.Kind, n) })
	}
}

// switchy: a contact with two terminals that something outside works.
var switchy = kind("pressure-", "thermostat-discharge", "switch", "overload-line", "fan-cycling", "fuse")

// ends gives the terminals of a class; class "" is all.
func ends(u *netlist.Unit, class string) (out []string) {
	for _, d := range u.Devices {
		for _, t := range netlist.Kinds[d.Kind].Terminals {
			if class == "" || string(t.Class) == class || t.Class == netlist.Any && groupOf(u, d.ID) == class {
				out = append(out, d.ID+"."+t.Name)
			}
		}
	}
	return out
}

// groupOf is the class of the first conductor on a device.
func groupOf(u *netlist.Unit, id string) string {
	for _, c := range u.Conductors {
		if strings.HasPrefix(c.From, id+".") || strings.HasPrefix(c.To, id+".") {
			return string(c.Class)
		}
	}
	return ""
}

func classOf(u *netlist.Unit, end string) netlist.Class {
	id, t, _ := strings.Cut(end, ".")
	c := terminalClass(u.Device(id).Kind, t)
	if c == "any" {
		c = groupOf(u, id)
	}
	if c == "" {
		c = "class2"
	}
	return netlist.Class(c)
}

func wire(u *netlist.Unit, from, to string) string {
	if from == to || from == "" || to == "" {
		return ""
	}
	class := classOf(u, from)
	c := netlist.Conductor{ID: fmt.Sprintf("m%d", len(u.Conductors)), From: from, To: to, Colour: "black", Gauge: 10, Insulation: 600, Class: class}
	if class == netlist.Class2 {
		c.Gauge = 18
	}
	u.Conductors = append(u.Conductors, c)
	return fmt.Sprintf("%s joined to %s", from, to)
}

func landed(u *netlist.Unit) (out []*netlist.Conductor) {
	for i := range u.Conductors {
		if c := &u.Conductors[i]; c.From != netlist.Capped && c.To != netlist.Capped {
			out = append(out, c)
		}
	}
	return out
}

// swapEnds puts whatever is on one terminal on another, and the other way round.
func swapEnds(u *netlist.Unit, a, b string) string {
	for i := range u.Conductors {
		for _, e := range []*string{&u.Conductors[i].From, &u.Conductors[i].To} {
			switch *e {
			case a:
				*e = b
			case b:
				*e = a
			}
		}
	}
	return a + " and " + b + " exchanged"
}

func set(d *netlist.Device, name string, v float64) string {
	p := map[string]float64{}
	for k, x := range d.Params {
		p[k] = x
	}
	p[name] = v
	d.Params = p
	return fmt.Sprintf("%s %s = %.4g", d.ID, name, v)
}

func scaled(name string, kinds []string, factors ...float64) func(u *netlist.Unit, r *rand.Rand) string {
	return func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, func(d *netlist.Device) bool {
			return kind(kinds...)(d) && slices.ContainsFunc(netlist.Kinds[d.Kind].Params, func(p netlist.Param) bool { return p.Name == name })
		}))
		if !ok {
			return ""
		}
		return set(d, name, d.P(name)*factors[r.IntN(len(factors))])
	}
}

// coilOf is a contactor that carries the compressor, by where the conductors lead.
func contactors(u *netlist.Unit) []*netlist.Device { return devices(u, kind("contactor")) }

func others(u *netlist.Unit, of *netlist.Device) (out []string) {
	for _, t := range netlist.Kinds[of.Kind].Terminals {
		if t.Class != netlist.Ground {
			out = append(out, of.ID+"."+t.Name)
		}
	}
	return out
}

var mutations = []mutation{
	{"switch bypassed", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, switchy))
		if !ok {
			return ""
		}
		return wire(u, d.ID+".1", d.ID+".2")
	}},
	{"several switches bypassed by one conductor", func(u *netlist.Unit, r *rand.Rand) string {
		s := devices(u, switchy)
		a, ok := one(r, s)
		b, _ := one(r, s)
		if !ok || a == b || classOf(u, a.ID+".1") != classOf(u, b.ID+".1") {
			return ""
		}
		return wire(u, a.ID+"."+string("12"[r.IntN(2)]), b.ID+"."+string("12"[r.IntN(2)]))
	}},
	{"both leads on one screw", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, switchy))
		if !ok {
			return ""
		}
		a, b := d.ID+".1", d.ID+".2"
		if r.IntN(2) == 0 {
			a, b = b, a
		}
		for i := range u.Conductors {
			for _, e := range []*string{&u.Conductors[i].From, &u.Conductors[i].To} {
				if *e == a {
					*e = b
				}
			}
		}
		return d.ID + ": both leads on " + b
	}},
	{"relay contact bypassed", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("relay", "time-delay", "lockout-relay", "monitor")))
		if !ok {
			return ""
		}
		p := map[string][2]string{"relay": {"COM", "NO"}, "time-delay": {"IN", "OUT"}, "lockout-relay": {"COM", "NC"}, "monitor": {"M1", "M2"}}[d.Kind]
		return wire(u, d.ID+"."+p[0], d.ID+"."+p[1])
	}},
	{"terminals of one device exchanged", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, func(d *netlist.Device) bool { return len(netlist.Kinds[d.Kind].Terminals) > 1 }))
		if !ok {
			return ""
		}
		t := others(u, d)
		a, _ := one(r, t)
		b, _ := one(r, t)
		if a == b || classOf(u, a) != classOf(u, b) {
			return ""
		}
		return swapEnds(u, a, b)
	}},
	{"two ends exchanged", func(u *netlist.Unit, r *rand.Rand) string {
		l := landed(u)
		a, b := l[r.IntN(len(l))], l[r.IntN(len(l))]
		if a == b || a.Class != b.Class {
			return ""
		}
		a.To, b.To = b.To, a.To
		return "far ends of " + a.ID + " and " + b.ID + " exchanged"
	}},
	{"conductor left out", func(u *netlist.Unit, r *rand.Rand) string {
		l := landed(u)
		c := *l[r.IntN(len(l))]
		u.Conductors = slices.DeleteFunc(u.Conductors, func(x netlist.Conductor) bool { return x.ID == c.ID })
		return c.ID + " left out: " + c.From + " to " + c.To
	}},
	{"conductor too many", func(u *netlist.Unit, r *rand.Rand) string {
		a, _ := one(r, ends(u, []string{"line", "class2"}[r.IntN(2)]))
		b, _ := one(r, ends(u, string(classOf(u, a))))
		return wire(u, a, b)
	}},
	{"end moved", func(u *netlist.Unit, r *rand.Rand) string {
		l := landed(u)
		c := l[r.IntN(len(l))]
		to, _ := one(r, ends(u, string(c.Class)))
		if to == c.From || to == c.To || to == "" {
			return ""
		}
		was := c.To
		c.To = to
		return c.ID + " moved from " + was + " to " + to
	}},
	{"end left loose", func(u *netlist.Unit, r *rand.Rand) string {
		l := landed(u)
		c := l[r.IntN(len(l))]
		if r.IntN(2) == 0 {
			c.From = netlist.Capped
		} else {
			c.To = netlist.Capped
		}
		return c.ID + " loose at one end"
	}},
	{"capacitance", scaled("farads", []string{"capacitor-run", "capacitor-dual"}, 0.35, 0.5, 0.7, 0.85, 1.15, 1.3, 2, 3)},
	{"fan capacitance", scaled("fan-farads", []string{"capacitor-dual"}, 0.3, 0.5, 2, 4)},
	{"capacitor's volts", scaled("volts", []string{"capacitor-run", "capacitor-dual"}, 0.5, 0.7)},
	{"contactor's amperes", scaled("contact-amps", []string{"contactor"}, 0.3, 0.45, 0.55)},
	{"contactor's locked-rotor amperes", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, contactors(u))
		if !ok || !slices.ContainsFunc(netlist.Kinds[d.Kind].Params, func(p netlist.Param) bool { return p.Name == "contact-lra" }) {
			return ""
		}
		return set(d, "contact-lra", []float64{30, 60, 90, 98}[r.IntN(4)])
	}},
	{"relay's amperes", scaled("contact-amps", []string{"relay", "fan-cycling", "pressure-high-line", "overload-line"}, 0.05, 0.1)},
	{"transformer's volt-amperes", scaled("va", []string{"transformer"}, 0.13, 0.2, 0.4)},
	{"transformer's tap", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("transformer")))
		if !ok {
			return ""
		}
		if d.P("primary-volts") < 160 {
			return set(d, "primary-volts", []float64{208, 240}[r.IntN(2)])
		}
		return set(d, "primary-volts", 120)
	}},
	{"pole jumpered", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, contactors(u))
		if !ok {
			return ""
		}
		p := []string{"1", "2"}[r.IntN(2)]
		if d.Kind == "contactor-1p" {
			p = "1"
		}
		return wire(u, d.ID+".L"+p, d.ID+".T"+p)
	}},
	{"both poles jumpered", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, contactors(u))
		if !ok {
			return ""
		}
		return wire(u, d.ID+".L1", d.ID+".T1") + ", " + wire(u, d.ID+".L2", d.ID+".T2")
	}},
	{"one pole for two", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("contactor-2p")))
		if !ok {
			return ""
		}
		d.Kind = "contactor-1p"
		return d.ID + " has one pole"
	}},
	{"two poles for one", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("contactor-1p")))
		if !ok {
			return ""
		}
		d.Kind = "contactor-2p"
		return d.ID + " has two poles"
	}},
	// A relay whose coil lies across the contactor's keeps itself in around what
	// stands ahead of it.
	{"seal-in", func(u *netlist.Unit, r *rand.Rand) string {
		k, ok := one(r, contactors(u))
		s, ok2 := one(r, devices(u, switchy))
		if !ok || !ok2 || classOf(u, s.ID+".1") != netlist.Class2 {
			return ""
		}
		u.Devices = append(u.Devices, netlist.Device{ID: "SEAL", Kind: "relay", Place: "outdoor"})
		wire(u, k.ID+".A1", "SEAL.A1")
		wire(u, k.ID+".A2", "SEAL.A2")
		wire(u, s.ID+".1", "SEAL.COM")
		return wire(u, s.ID+".2", "SEAL.NO") + " while " + k.ID + " is in"
	}},
	// The same, but it arms only after something else was on.
	{"seal-in armed by another call", func(u *netlist.Unit, r *rand.Rand) string {
		k, ok := one(r, contactors(u))
		s, ok2 := one(r, devices(u, switchy))
		var g []string
		for _, c := range u.Conductors {
			for _, e := range []string{c.From, c.To} {
				if strings.HasSuffix(e, ".G") || strings.HasSuffix(e, ".BG") {
					g = append(g, e)
				}
			}
		}
		at, ok3 := one(r, g)
		if !ok || !ok2 || !ok3 || classOf(u, s.ID+".1") != netlist.Class2 {
			return ""
		}
		// ARM draws with the fan call and holds by its own contact; its second relay
		// SEAL, worked by the contactor's coil, bridges the switch only through ARM.
		u.Devices = append(u.Devices, netlist.Device{ID: "ARM", Kind: "relay", Place: "outdoor"}, netlist.Device{ID: "SEAL", Kind: "relay", Place: "outdoor"})
		wire(u, at, "ARM.A1")
		wire(u, k.ID+".A2", "ARM.A2")
		wire(u, k.ID+".A1", "SEAL.A1")
		wire(u, k.ID+".A2", "SEAL.A2")
		wire(u, s.ID+".1", "ARM.COM")
		wire(u, "ARM.NO", "SEAL.COM")
		return wire(u, "SEAL.NO", s.ID+".2") + " once " + at + " was called"
	}},
	{"a seal-in that lasts over the call", func(u *netlist.Unit, r *rand.Rand) string {
		k, ok := one(r, contactors(u))
		t, ok2 := one(r, devices(u, kind("thermostat", "indoor-board", "indoor-digital")))
		if !ok || !ok2 || t.Kind == "thermostat-discharge" {
			return ""
		}
		u.Devices = append(u.Devices, netlist.Device{ID: "SEAL", Kind: "relay", Place: "outdoor"})
		wire(u, k.ID+".A1", "SEAL.A1")
		wire(u, k.ID+".A2", "SEAL.A2")
		wire(u, t.ID+".R", "SEAL.COM")
		return wire(u, "SEAL.NO", k.ID+".A1") + ", fed from " + t.ID + ".R"
	}},
	// A relay anywhere: its coil from some control terminal to a common, its contact
	// over a switch or between any two terminals.
	{"a relay that bridges a switch", func(u *netlist.Unit, r *rand.Rand) string {
		s, ok := one(r, devices(u, switchy))
		at, _ := one(r, ends(u, "class2"))
		com, ok2 := aCommon(u, r)
		if !ok || !ok2 {
			return ""
		}
		u.Devices = append(u.Devices, netlist.Device{ID: "CHANCE", Kind: "relay", Place: "outdoor"})
		wire(u, at, "CHANCE.A1")
		wire(u, com, "CHANCE.A2")
		class := classOf(u, s.ID+".1")
		c := netlist.Conductor{ID: "chance1", From: s.ID + ".1", To: "CHANCE.COM", Colour: "red", Gauge: 10, Insulation: 600, Class: class}
		no := []string{"NO", "NC"}[r.IntN(2)]
		u.Conductors = append(u.Conductors, c, netlist.Conductor{ID: "chance2", From: s.ID + ".2", To: "CHANCE." + no, Colour: "red", Gauge: 10, Insulation: 600, Class: class})
		return s.ID + " bridged by " + no + " of a relay from " + at + " to " + com
	}},
	{"a relay between two control terminals", func(u *netlist.Unit, r *rand.Rand) string {
		at, _ := one(r, ends(u, "class2"))
		com, ok := aCommon(u, r)
		a, _ := one(r, ends(u, "class2"))
		b, _ := one(r, ends(u, "class2"))
		if !ok || a == b {
			return ""
		}
		u.Devices = append(u.Devices, netlist.Device{ID: "CHANCE", Kind: "relay", Place: "outdoor"})
		wire(u, at, "CHANCE.A1")
		wire(u, com, "CHANCE.A2")
		wire(u, a, "CHANCE.COM")
		no := []string{"NO", "NC"}[r.IntN(2)]
		return wire(u, b, "CHANCE."+no) + ", from " + a + ", by a relay from " + at + " to " + com
	}},
	// A latch: ARM, drawn by some call, feeds HOLD, which feeds itself from R and
	// bridges a switch by a second relay from then on.
	{"a latch that bridges a switch from then on", func(u *netlist.Unit, r *rand.Rand) string {
		s, ok := one(r, devices(u, switchy))
		t, ok2 := one(r, devices(u, kind("thermostat", "indoor-board", "indoor-digital")))
		at, _ := one(r, ends(u, "class2"))
		com, ok3 := aCommon(u, r)
		if !ok || !ok2 || !ok3 || t.Kind == "thermostat-discharge" {
			return ""
		}
		for _, id := range []string{"ARM", "HOLD", "OVER"} {
			u.Devices = append(u.Devices, netlist.Device{ID: id, Kind: "relay", Place: "outdoor"})
			wire(u, com, id+".A2")
		}
		wire(u, at, "ARM.A1")
		wire(u, t.ID+".R", "ARM.COM")
		wire(u, "ARM.NO", "HOLD.A1")
		wire(u, t.ID+".R", "HOLD.COM")
		wire(u, "HOLD.NO", "HOLD.A1")
		wire(u, "HOLD.A1", "OVER.A1")
		class := classOf(u, s.ID+".1")
		for i, e := range []string{"COM", "NO"} {
			u.Conductors = append(u.Conductors, netlist.Conductor{ID: fmt.Sprintf("over%d", i), From: fmt.Sprintf("%s.%d", s.ID, i+1), To: "OVER." + e, Colour: "red", Gauge: 10, Insulation: 600, Class: class})
		}
		return s.ID + " bridged for good once " + at + " was live"
	}},
	{"leg from another supply", func(u *netlist.Unit, r *rand.Rand) string {
		s := devices(u, kind("supply"))
		if len(s) < 2 {
			return ""
		}
		a, b := s[0], s[1]
		if r.IntN(2) == 0 {
			a, b = b, a
		}
		var to []string
		for _, e := range ends(u, "line") {
			id, _, _ := strings.Cut(e, ".")
			if d := u.Device(id); d.Place == b.Place && d != b {
				to = append(to, e)
			}
		}
		at, ok := one(r, to)
		if !ok {
			return ""
		}
		return wire(u, a.ID+"."+netlist.Kinds[a.Kind].Terminals[r.IntN(2)].Name, at)
	}},
	{"second transformer", func(u *netlist.Unit, r *rand.Rand) string {
		t, ok := one(r, devices(u, kind("transformer")))
		s, ok2 := one(r, devices(u, kind("supply")))
		if !ok || !ok2 {
			return ""
		}
		tt := netlist.Kinds[s.Kind].Terminals
		v := 240.0
		if s.Kind == "supply-120" {
			v = 120
		}
		u.Devices = append(u.Devices, netlist.Device{ID: "TX2", Kind: "transformer", Place: s.Place, Params: map[string]float64{"primary-volts": v}})
		wire(u, s.ID+"."+tt[0].Name, "TX2.P1")
		wire(u, s.ID+"."+tt[1].Name, "TX2.P2")
		a, b := "S1", "S2"
		if r.IntN(4) == 0 {
			a, b = b, a
		}
		wire(u, "TX2."+a, t.ID+".S1")
		return wire(u, "TX2."+b, t.ID+".S2")
	}},
	// A line load's return goes to the ground instead of the other leg.
	{"return over the ground", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("heater", "fan-", "blower", "compressor")))
		g, ok2 := one(r, ends(u, "ground"))
		if !ok || !ok2 {
			return ""
		}
		t, _ := one(r, others(u, d))
		if classOf(u, t) != netlist.Line {
			return ""
		}
		for i := range u.Conductors {
			for _, e := range []*string{&u.Conductors[i].From, &u.Conductors[i].To} {
				if *e == t {
					*e = g
				}
			}
		}
		return t + " taken to " + g
	}},
	{"load from leg to ground", func(u *netlist.Unit, r *rand.Rand) string {
		g, ok := one(r, ends(u, "ground"))
		leg, _ := one(r, ends(u, "line"))
		if !ok {
			return ""
		}
		if r.IntN(2) == 0 {
			u.Devices = append(u.Devices, netlist.Device{ID: "AUX", Kind: "heater-crankcase", Place: "outdoor", Params: map[string]float64{"volts": 120}})
		} else {
			u.Devices = append(u.Devices, netlist.Device{ID: "AUX", Kind: "fan-ecm", Place: "outdoor", Params: map[string]float64{"volts": 120}})
		}
		wire(u, leg, "AUX.1")
		u.Conductors = append(u.Conductors, netlist.Conductor{ID: "aux2", From: "AUX.2", To: g, Colour: "white", Gauge: 14, Insulation: 600, Class: netlist.Line})
		return "a load from " + leg + " to " + g
	}},
	{"ground not landed", func(u *netlist.Unit, r *rand.Rand) string {
		var g []string
		for _, c := range u.Conductors {
			if string(c.Class) == "ground" {
				g = append(g, c.ID)
			}
		}
		id, ok := one(r, g)
		if !ok {
			return ""
		}
		u.Conductors = slices.DeleteFunc(u.Conductors, func(x netlist.Conductor) bool { return x.ID == id })
		return id + " not landed"
	}},
	// A switch taken out of its string (the string closed behind it) and put into a
	// fan's or a blower's lead, or into an input's.
	{"switch moved", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, switchy))
		if !ok {
			return ""
		}
		class := classOf(u, d.ID+".1")
		a, b := d.ID+".1", d.ID+".2"
		var in []*netlist.Conductor
		for _, c := range landed(u) {
			if c.Class == class && c.From != a && c.To != a && c.From != b && c.To != b {
				in = append(in, c)
			}
		}
		c, ok := one(r, in)
		if !ok {
			return ""
		}
		id := "SPL"
		u.Devices = append(u.Devices, netlist.Device{ID: id, Kind: "splice", Place: d.Place})
		for i := range u.Conductors {
			for _, e := range []*string{&u.Conductors[i].From, &u.Conductors[i].To} {
				if *e == a || *e == b {
					*e = id + ".1"
				}
			}
		}
		far := c.To
		c.To = a
		wire(u, b, far)
		return d.ID + " moved into " + c.ID
	}},
	{"switch left out", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, switchy))
		if !ok {
			return ""
		}
		id := d.ID
		u.Devices = append(u.Devices, netlist.Device{ID: "SPL", Kind: "splice", Place: d.Place})
		for i := range u.Conductors {
			for _, e := range []*string{&u.Conductors[i].From, &u.Conductors[i].To} {
				if strings.HasPrefix(*e, id+".") {
					*e = "SPL.1"
				}
			}
		}
		u.Devices = slices.DeleteFunc(u.Devices, func(d netlist.Device) bool { return d.ID == id })
		return id + " left out"
	}},
	{"coil fed early", func(u *netlist.Unit, r *rand.Rand) string {
		k, ok := one(r, contactors(u))
		s, ok2 := one(r, devices(u, switchy))
		if !ok || !ok2 || classOf(u, s.ID+".1") != netlist.Class2 {
			return ""
		}
		to := s.ID + "." + string("12"[r.IntN(2)])
		for i := range u.Conductors {
			for _, e := range []*string{&u.Conductors[i].From, &u.Conductors[i].To} {
				if *e == k.ID+".A1" {
					*e = to
				}
			}
		}
		return wire(u, to, k.ID+".A1")
	}},
	{"NO and NC exchanged", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("relay")))
		if !ok {
			return ""
		}
		return swapEnds(u, d.ID+".NO", d.ID+".NC")
	}},
	{"common broken", func(u *netlist.Unit, r *rand.Rand) string {
		var l []string
		for _, c := range landed(u) {
			if strings.HasSuffix(c.From, ".C") || strings.HasSuffix(c.To, ".C") || strings.HasSuffix(c.To, ".A2") || strings.HasSuffix(c.From, ".A2") {
				l = append(l, c.ID)
			}
		}
		id, ok := one(r, l)
		if !ok {
			return ""
		}
		u.Conductors = slices.DeleteFunc(u.Conductors, func(x netlist.Conductor) bool { return x.ID == id })
		return id + " broken"
	}},
	{"capacitor leads exchanged", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("capacitor-dual", "capacitor-run")))
		if !ok {
			return ""
		}
		if d.Kind == "capacitor-run" {
			// its start lead with that of another capacitor
			e, ok := one(r, devices(u, kind("capacitor-run")))
			if !ok || e == d {
				return ""
			}
			return swapEnds(u, d.ID+".2", e.ID+".2")
		}
		p := [][2]string{{"C", "HERM"}, {"C", "FAN"}, {"HERM", "FAN"}}[r.IntN(3)]
		return swapEnds(u, d.ID+"."+p[0], d.ID+"."+p[1])
	}},
	{"motor leads exchanged", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("compressor-single", "fan-psc", "fan-two-speed")))
		if !ok {
			return ""
		}
		t := others(u, d)
		a, _ := one(r, t)
		b, _ := one(r, t)
		if a == b {
			return ""
		}
		return swapEnds(u, a, b)
	}},
	{"thinner conductor", func(u *netlist.Unit, r *rand.Rand) string {
		l := landed(u)
		c := l[r.IntN(len(l))]
		if c.Class != netlist.Line || c.Gauge > 14 {
			return ""
		}
		c.Gauge = []int{14, 16, 18}[r.IntN(3)]
		return fmt.Sprintf("%s %d AWG", c.ID, c.Gauge)
	}},
	// Past what a file may hold: a coil on a leg, a control conductor on a pole.
	{"24 V and line joined", func(u *netlist.Unit, r *rand.Rand) string {
		a, _ := one(r, ends(u, "line"))
		b, _ := one(r, ends(u, "class2"))
		return wire(u, a, b)
	}},
	{"heater moved", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("heater")))
		if !ok {
			return ""
		}
		t := d.ID + "." + string("12"[r.IntN(2)])
		to, _ := one(r, ends(u, "line"))
		for i := range u.Conductors {
			for _, e := range []*string{&u.Conductors[i].From, &u.Conductors[i].To} {
				if *e == t && to != u.Conductors[i].From && to != u.Conductors[i].To {
					*e = to
				}
			}
		}
		return t + " to " + to
	}},
	{"fan moved", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("fan-psc", "fan-ecm", "fan-two-speed")))
		if !ok {
			return ""
		}
		ts := others(u, d)
		t, _ := one(r, ts)
		to, _ := one(r, ends(u, "line"))
		for i := range u.Conductors {
			for _, e := range []*string{&u.Conductors[i].From, &u.Conductors[i].To} {
				if *e == t && to != u.Conductors[i].From && to != u.Conductors[i].To {
					*e = to
				}
			}
		}
		return t + " to " + to
	}},
	{"blower's input moved", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("blower")))
		if !ok {
			return ""
		}
		t := []string{"G", "Y1", "Y2", "C"}
		a, b := r.IntN(4), r.IntN(4)
		if a == b {
			return ""
		}
		return swapEnds(u, d.ID+"."+t[a], d.ID+"."+t[b])
	}},
	{"coil of another voltage", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, kind("contactor", "relay", "time-delay")))
		if !ok {
			return ""
		}
		k := []float64{5, 10}[r.IntN(2)]
		for _, p := range []string{"coil-volts", "pick-up", "drop-out"} {
			set(d, p, k*d.P(p))
		}
		for _, p := range []string{"coil-ohms", "coil-reactance", "coil-dc-ohms"} {
			set(d, p, k*k*d.P(p))
		}
		return fmt.Sprintf("%s has a coil for %.0f V", d.ID, d.P("coil-volts"))
	}},
	{"switch's contact in another's place", func(u *netlist.Unit, r *rand.Rand) string {
		d, ok := one(r, devices(u, switchy))
		e, _ := one(r, devices(u, kind("heater", "sensor", "fan-ecm", "capacitor-run")))
		if !ok || e == nil || d == e {
			return ""
		}
		swapEnds(u, d.ID+".1", e.ID+".1")
		return swapEnds(u, d.ID+".2", e.ID+".2")
	}},
}

// aCommon is a terminal of the control's common.
func aCommon(u *netlist.Unit, r *rand.Rand) (string, bool) {
	var out []string
	for _, d := range u.Devices {
		for _, t := range netlist.Kinds[d.Kind].Terminals {
			if t.Name == "C" && t.Class == netlist.Class2 {
				out = append(out, d.ID+".C")
			}
		}
	}
	return one(r, out)
}

// A subject is a plan that holds, to be altered.
type subject struct {
	name string
	old  *netlist.Unit
	new  *netlist.Unit
	life *life
	want wanted
	data proof.Data
}

// subjects are the plans of the catalogue that hold, and the pairs beside the
// proof.
func subjects(t testing.TB) (out []*subject) {
	all := pairs(t)
	for _, u := range catalogue(t) {
		for _, indoor := range []string{"conventional", "digital"} {
			target := planner.DefaultTarget()
			target.Indoor = indoor
			name := u.Name + ", " + indoor + " indoor control"
			r, err := planned(u, target)
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			if r.New == nil {
				t.Logf("%s: refused: %s", name, r.Refused)
				continue
			}
			all = append(all, &subject{name: name, old: u, new: r.New, data: dataOf(r), want: wantOf(dataOf(r).Compressor, stated(r)...)})
		}
	}
	for _, s := range all {
		if verdict, why := prove(s.old, s.new, s.data); verdict != holds {
			t.Logf("%s: %s: %s", s.name, verdict, why)
			continue
		}
		var err error
		if s.life, err = observe(reread(s.old)); err != nil {
			t.Fatal(err)
		}
		if s.want.rla == 0 {
			s.want = wantOf(s.data.Compressor, sortedKeys(s.data.Omitted)...)
		}
		if h := harmful(s.life, reread(s.new), s.want); len(h) > 0 {
			t.Errorf("FALSE PROOF of the plan itself, %s: %v", s.name, h)
			continue
		}
		out = append(out, s)
	}
	return out
}

// A mutant is one alteration and what came of it.
type mutant struct {
	n       int
	subject *subject
	kind    string
	words   string
	unit    *netlist.Unit
	harm    []string
	verdict string
	why     string
}

// mutate makes mutant number i: the same each time.
func mutate(subs []*subject, i int) *mutant {
	r := rand.New(rand.NewPCG(20261126, uint64(i)))
	for {
		s := subs[r.IntN(len(subs))]
		m := mutations[(i+r.IntN(2)*r.IntN(len(mutations)))%len(mutations)]
		u := s.new.Clone()
		w := m.do(u, r)
		if w == "" {
			i2 := r.IntN(len(mutations)) // this plan has nothing of the kind: another
			m = mutations[i2]
			if w = m.do(u, r); w == "" {
				continue
			}
		}
		name := m.name
		if r.IntN(6) == 0 { // and another on top
			m2 := mutations[r.IntN(len(mutations))]
			if w2 := m2.do(u, r); w2 != "" {
				w, name = w+"; "+w2, m.name+" and "+m2.name
			}
		}
		return &mutant{n: i, subject: s, kind: name, words: w, unit: u}
	}
}

// soak tells how many of something to try.
func soak(quick, full int) (from, to int) {
	if os.Getenv("RETROSTAGE_SOAK") == "" {
		return 0, quick
	}
	if f, n, ok := strings.Cut(os.Getenv("RETROSTAGE_SOAK"), "-"); ok { // a stretch: from-to
		a, _ := strconv.Atoi(f)
		b, _ := strconv.Atoi(n)
		return a, b
	}
	return 0, full
}

// Of the altered circuits that do harm none is proved.
func TestMutants(t *testing.T) {
	from, to := soak(120, 2000)
	subs := subjects(t)
	if len(subs) == 0 {
		t.Fatal("no plan of the catalogue holds: nothing to alter")
	}
	start := time.Now()
	all := make([]*mutant, to-from)
	var wg sync.WaitGroup
	next := make(chan int)
	for range 2 {
		wg.Go(func() {
			for i := range next {
				m := mutate(subs, from+i)
				m.harm = harmful(m.subject.life, reread(m.unit), m.subject.want)
				m.verdict, m.why = prove(m.subject.old, m.unit, m.subject.data)
				all[i] = m
			}
		})
	}
	for i := range all {
		next <- i
	}
	close(next)
	wg.Wait()
	score(t, all)
	t.Logf("%d mutants of %d plans by %d kinds of alteration, %v", len(all), len(subs), len(mutations), time.Since(start).Round(time.Second))
}

func score(t *testing.T, all []*mutant) {
	var harm, caught, decided, clean, held int
	kinds := map[string][3]int{}
	alive := map[string]int{}
	reasons := map[string]int{}
	for _, m := range all {
		k := kinds[m.kind]
		if strings.Contains(m.kind, " and ") && !slices.ContainsFunc(mutations, func(x mutation) bool { return x.name == m.kind }) {
			k = kinds["two at once"]
		}
		k[0]++
		if len(m.harm) > 0 {
			k[1]++
			harm++
			first, _, _ := strings.Cut(m.harm[0], ":")
			reasons[first]++
			switch m.verdict {
			case holds:
				k[2]++
				t.Errorf("FALSE PROOF, mutant %d of %s: %s: %s: %v", m.n, m.subject.name, m.kind, m.words, m.harm)
				attempt(t, "mutant-"+m.subject.old.Name, m.n, m.subject.old, m.unit)
			case undecided:
				caught++
			default:
				caught++
				decided++
			}
		} else {
			clean++
			if m.verdict == holds {
				held++
				alive[m.kind]++
				if os.Getenv("RETROSTAGE_VERBOSE") != "" {
					t.Logf("judged harmless, proved: mutant %d of %s: %s: %s", m.n, m.subject.name, m.kind, m.words)
				}
			} else if os.Getenv("RETROSTAGE_VERBOSE") != "" {
				t.Logf("judged harmless, not proved: mutant %d of %s: %s: %s: %s", m.n, m.subject.name, m.kind, m.words, m.why)
			}
		}
		name := m.kind
		if strings.Contains(m.kind, " and ") && !slices.ContainsFunc(mutations, func(x mutation) bool { return x.name == m.kind }) {
			name = "two at once"
		}
		kinds[name] = k
	}
	t.Logf("mutation score: %d mutants, %d harmful, %d of them not proved (%d of these fail, %d not decided), %d proved; %d harmless, %d of them proved", len(all), harm, caught, decided, caught-decided, harm-caught, clean, held)
	var lines []string
	for _, k := range sortedKeys(kinds) {
		lines = append(lines, fmt.Sprintf("| %s | %d | %d | %d |", k, kinds[k][0], kinds[k][1], kinds[k][2]))
	}
	t.Logf("| alteration | tried | harmful | proved although harmful |\n|---|---|---|---|\n%s", strings.Join(lines, "\n"))
	lines = nil
	for _, k := range sortedKeys(alive) {
		lines = append(lines, fmt.Sprintf("%s %d", k, alive[k]))
	}
	t.Logf("harmless and proved, by alteration: %s", strings.Join(lines, "; "))
	lines = nil
	for _, k := range sortedKeys(reasons) {
		lines = append(lines, fmt.Sprintf("%s %d", k, reasons[k]))
	}
	t.Logf("first reason of harm: %s", strings.Join(lines, "; "))
}

// attempt keeps a circuit that was proved although it does harm.
func attempt(t testing.TB, what string, n int, us ...*netlist.Unit) {
	dir := os.Getenv("RETROSTAGE_ATTEMPTS")
	if dir == "" {
		return
	}
	for i, u := range us {
		name := fmt.Sprintf("%s-%d", what, n)
		if len(us) > 1 {
			name += []string{"-old", "-new"}[i]
		}
		if err := os.WriteFile(filepath.Join(dir, name+".json"), u.JSON(), 0o644); err != nil {
			t.Log(err)
		}
	}
}
