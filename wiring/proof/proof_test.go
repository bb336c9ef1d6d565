package proof

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"retrostage/wiring/netlist"
)

// kit is one conversion: the old unit, the new one and the data, from testdata.
// The units are generic, of our own making; the new ones were planned, then
// corrected by hand.
type kit struct {
	t        testing.TB
	old, new *netlist.Unit
	data     Data
}

func open(t testing.TB, name string) *kit {
	t.Helper()
	k := &kit{t: t}
	for _, q := range []struct {
		end  string
		into **netlist.Unit
	}{{".old.json", &k.old}, {".new.json", &k.new}} {
		b, err := os.ReadFile(filepath.Join("testdata", name+q.end))
		if err != nil {
			t.Fatal(err)
		}
		if *q.into, err = netlist.Parse(b); err != nil {
			t.Fatal(err)
		}
	}
	b, err := os.ReadFile(filepath.Join("testdata", name+".data.json"))
	if err == nil {
		err = json.Unmarshal(b, &k.data)
	}
	if err != nil {
		t.Fatal(err)
	}
	if k.data.Omitted == nil {
		k.data.Omitted = map[string]string{}
	}
	return k
}

func (k *kit) prove() *Proof {
	k.t.Helper()
	p, err := Prove(context.Background(), k.old, k.new, k.data, nil)
	if err != nil {
		k.t.Fatal(err)
	}
	return p
}

// The edits work on the units past their validation: what nobody should build can
// be judged too.

func (k *kit) set(dev, name string, v float64) {
	k.t.Helper()
	d := k.new.Device(dev)
	if d == nil || netlist.Kinds[d.Kind] == nil {
		k.t.Fatalf("no device %s", dev)
	}
	if d.Params == nil {
		d.Params = map[string]float64{}
	}
	d.Params[name] = v
}

// replaced says that a part under its old name is another.
func (k *kit) replaced(dev string) { k.data.Replaced[dev] = "another part, for a trial" }

func add(u *netlist.Unit, id, kind, place string) *netlist.Device {
	u.Devices = append(u.Devices, netlist.Device{ID: id, Kind: kind, Label: id, Place: place})
	return &u.Devices[len(u.Devices)-1]
}

func wire(u *netlist.Unit, id, from, to string, class netlist.Class) *netlist.Conductor {
	gauge, insulation := 18, 600.0
	if class == netlist.Line {
		gauge = 10
	}
	u.Conductors = append(u.Conductors, netlist.Conductor{ID: id, From: from, To: to, Colour: "white", Gauge: gauge, Insulation: insulation, Class: class})
	return &u.Conductors[len(u.Conductors)-1]
}

func (k *kit) cut(id string) {
	k.t.Helper()
	if k.new.Conductor(id) == nil {
		k.t.Fatalf("no conductor %s", id)
	}
	k.new.Conductors = slices.DeleteFunc(k.new.Conductors, func(c netlist.Conductor) bool { return c.ID == id })
}

func (k *kit) drop(dev string) {
	k.new.Devices = slices.DeleteFunc(k.new.Devices, func(d netlist.Device) bool { return d.ID == dev })
	k.new.Conductors = slices.DeleteFunc(k.new.Conductors, func(c netlist.Conductor) bool {
		return strings.HasPrefix(c.From, dev+".") || strings.HasPrefix(c.To, dev+".")
	})
}

// move lands one end of a conductor of the new circuit elsewhere.
func (k *kit) move(id, from, to string) {
	k.t.Helper()
	c := k.new.Conductor(id)
	switch {
	case c != nil && c.From == from:
		c.From = to
	case c != nil && c.To == from:
		c.To = to
	default:
		k.t.Fatalf("conductor %s has no end on %s", id, from)
	}
}

// insert puts a part with two terminals into a conductor.
func insert(t testing.TB, u *netlist.Unit, conductor, id, kind, place, t1, t2 string) {
	t.Helper()
	c := u.Conductor(conductor)
	if c == nil {
		t.Fatalf("no conductor %s", conductor)
		return
	}
	rest := *c
	rest.ID, rest.From, rest.Length = c.ID+"b", id+"."+t2, 0
	c.To = id + "." + t1
	u.Conductors = append(u.Conductors, rest)
	if u.Device(id) == nil {
		add(u, id, kind, place)
	}
}

const class2, line = netlist.Class2, netlist.Line

// wrong are conversions that must not be called sound; each names a check that has
// to see it.
var wrong = []struct {
	name, kit, check string
	alter            func(k *kit)
}{
	{"the hot side of the 24 V grounded", "two-contactor-conventional", "ground-fault", func(k *kit) {
		for _, u := range []*netlist.Unit{k.old, k.new} {
			wire(u, "gf", "IB.R", "GL.1", class2)
		}
	}},
	{"the compressor's ground too thin, as it was", "two-contactor-conventional", "ground-size", func(k *kit) {
		for _, u := range []*netlist.Unit{k.old, k.new} {
			for i := range u.Conductors {
				if u.Conductors[i].Class == netlist.Ground {
					u.Conductors[i].Gauge = 18
				}
			}
		}
	}},
	{"a compressor live at rest through another load", "two-contactor-conventional", "off-is-off", func(k *kit) {
		add(k.new, "LK", "heater-crankcase", "outdoor")
		k.replaced("LK")
		wire(k.new, "lk1", "SUP.L1", "LK.1", line)
		wire(k.new, "lk2", "LK.2", "COMP.R", line)
	}},
	// Contacts in series that were dropped from the path.
	{"loss-of-charge switch kept on nothing", "two-capacity-conventional", "interrupts", func(k *kit) {
		insert(k.t, k.old, "w14", "LC", "switch", "outdoor", "1", "2")
		add(k.new, "LC", "switch", "outdoor")
	}},
	{"the same, seen as kept for nothing", "two-capacity-conventional", "does-nothing", func(k *kit) {
		insert(k.t, k.old, "w14", "LC", "switch", "outdoor", "1", "2")
		add(k.new, "LC", "switch", "outdoor")
	}},
	{"condensate float in Y gone", "two-capacity-conventional", "interrupter-gone", func(k *kit) { insert(k.t, k.old, "w14", "FLT", "switch", "indoor", "1", "2") }},
	{"a switch that no load shows gone", "two-capacity-conventional", "interrupter-gone", func(k *kit) {
		add(k.old, "AUX", "switch", "indoor")
		wire(k.old, "x1", "IB.R", "AUX.1", class2)
		wire(k.old, "x2", "AUX.2", "TS.R", class2)
	}},
	{"control fuse gone", "two-capacity-conventional", "interrupter-gone", func(k *kit) {
		k.cut("w32")
		k.move("w31", "IF.1", "IB.R")
		k.drop("IF")
	}},
	{"condensate relay gone, its float kept on its own", "two-capacity-conventional", "interrupts", func(k *kit) {
		float(k.t, k.old)
		add(k.new, "FLT", "switch", "indoor")
	}},
	{"line overload in the compressor's common dropped", "two-capacity-conventional", "interrupts", func(k *kit) {
		insert(k.t, k.old, "w04", "OL", "overload-line", "outdoor", "1", "2")
		add(k.new, "OL", "overload-line", "outdoor")
	}},
	{"monitor contact dropped", "two-capacity-conventional", "interrupts", func(k *kit) {
		for _, u := range []*netlist.Unit{k.old, k.new} {
			add(u, "MON", "monitor", "outdoor")
			wire(u, "m1", "IB.R", "MON.R", class2)
			wire(u, "m2", "IB.C", "MON.C", class2)
		}
		insert(k.t, k.old, "w14", "MON", "monitor", "outdoor", "M1", "M2")
	}},
	{"ambient lockout only on the second-stage path of the new", "two-capacity-conventional", "interrupts", func(k *kit) {
		insert(k.t, k.old, "w20", "AL", "switch", "outdoor", "1", "2")
		add(k.new, "AL", "switch", "outdoor")
		k.new.Conductor("w15").From, k.new.Conductor("w15").To = "IB.Y2", "AL.1"
	}},
	{"switch moved to the fan", "two-capacity-conventional", "interrupts", func(k *kit) {
		insert(k.t, k.old, "w14", "LC", "switch", "outdoor", "1", "2")
		insert(k.t, k.new, "w07", "LC", "switch", "outdoor", "1", "2")
	}},
	{"two safeties in parallel", "two-capacity-conventional", "interrupts", func(k *kit) {
		wire(k.new, "x1", "LP.1", "DT.1", class2)
		wire(k.new, "x2", "LP.2", "DT.2", class2)
		k.cut("w17")
	}},
	{"bypass round a safety", "two-capacity-conventional", "interrupts", func(k *kit) { wire(k.new, "x", "HP.1", "HP.2", class2) }},
	{"the same as a bridged contact", "two-capacity-conventional", "bridged", func(k *kit) { wire(k.new, "x", "HP.1", "HP.2", class2) }},
	{"one stray wire round the whole string", "two-contactor-conventional", "interrupts", func(k *kit) { wire(k.new, "x", "OT.1", "CL.A1", class2) }},
	{"a safety in the place of another, one left out", "two-capacity-conventional", "interrupts", func(k *kit) {
		k.move("w20", "HP.1", "TD.IN")
		k.cut("w21")
		add(k.new, "SP1", "splice", "outdoor")
		wire(k.new, "x", "HP.1", "SP1.1", class2)
	}},
	{"fed before the fuse", "two-capacity-conventional", "links-interrupt", func(k *kit) { k.move("w38", "IB.R", "TR.S1") }},
	{"fan fed past the fuse of the fan", "two-capacity-conventional", "links-interrupt", func(k *kit) {
		insert(k.t, k.old, "w07", "FF", "fuse", "outdoor", "1", "2")
		insert(k.t, k.new, "w04", "FF", "fuse", "outdoor", "1", "2")
	}},
	{"called by R", "two-capacity-conventional", "off-without-call", func(k *kit) { k.move("w14", "IB.Y1", "IB.R") }},
	{"called by the fan too", "two-capacity-conventional", "off-without-call", func(k *kit) { wire(k.new, "x", "IB.G", "IB.Y1", class2) }},
	{"called by the second stage alone", "two-capacity-conventional", "runs-when-called", func(k *kit) {
		k.move("w40", "TS.Y1", "TS.Y2")
	}},
	{"safety made to close on a fault", "two-capacity-conventional", "runs-when-called", func(k *kit) {
		k.drop("HP")
		add(k.new, "HP", "relay", "outdoor")
		wire(k.new, "x1", "DT.2", "HP.COM", class2)
		wire(k.new, "x2", "HP.NO", "TD.IN", class2)
	}},
	{"delay bridged", "two-capacity-conventional", "delay-holds", func(k *kit) { wire(k.new, "x", "TD.IN", "TD.OUT", class2) }},
	{"delay ahead of the safeties", "two-capacity-conventional", "delay-again", delayFirst},
	{"delay of 10 s", "two-capacity-conventional", "delay-again", func(k *kit) { k.set("TD", "seconds", 10) }},
	{"delay fed from R, not by the call", "two-capacity-conventional", "delay-again", func(k *kit) {
		// a relay on the string lets the delay's output through
		add(k.new, "RL", "relay", "outdoor")
		k.move("w21", "TD.IN", "RL.A1")
		wire(k.new, "x1", "RL.A2", "CC.A2", class2)
		k.new.Conductor("w12").From, k.new.Conductor("w12").To = "IB.R", "TD.IN"
		k.move("w16", "TD.OUT", "RL.NO")
		wire(k.new, "x2", "TD.OUT", "RL.COM", class2)
	}},
	{"delay gone", "two-capacity-conventional", "delay-kept", func(k *kit) {
		k.move("w21", "TD.IN", "CC.A1")
		k.drop("TD")
	}},
	{"fan runs while the delay waits", "two-contactor-digital", "load-duty", func(k *kit) { k.move("w30", "CL.A1", "TD.IN") }},
	// Relays that hold themselves.
	{"seal-in round the high-pressure switch, armed by a fan call", "two-capacity-conventional", "no-seal-in", sealIn},
	{"lockout relay nobody asked for", "two-capacity-conventional", "no-latch-off", latchOff},
	{"lockout relay kept on nothing", "two-contactor-lockout-conventional", "lockout-kept", func(*kit) {}},
	{"a relay that breaks its own coil", "two-capacity-conventional", "no-chatter", func(k *kit) {
		add(k.new, "BZ", "relay", "outdoor")
		wire(k.new, "x1", "LP.1", "BZ.COM", class2)
		wire(k.new, "x2", "BZ.NC", "BZ.A1", class2)
		wire(k.new, "x3", "CC.A2", "BZ.A2", class2)
	}},
	// Loads.
	{"heater across a pole of a contactor that breaks two", "two-capacity-conventional", "load-duty", func(k *kit) {
		k.new.Device("CC").Kind = "contactor-2p"
		k.replaced("CC")
	}},
	{"heater gone", "two-capacity-conventional", "load-gone", func(k *kit) { k.drop("CCH") }},
	{"heater of another wattage", "two-capacity-conventional", "part-changed", func(k *kit) { k.set("CCH", "watts", 90) }},
	{"heater on one leg and ground", "two-capacity-conventional", "ground-current", func(k *kit) { k.move("w11", "CC.T1", "GL.1") }},
	{"120 V fan between a leg and ground", "two-capacity-conventional", "ground-current", func(k *kit) { k.move("w08", "CC.T2", "GL.1") }},
	{"fan on a pole that is always fed", "two-capacity-conventional", "load-duty", func(k *kit) { k.move("w07", "CC.T1", "CC.L1") }},
	{"fan's capacitor lead off", "two-capacity-conventional", "stalls", func(k *kit) { k.cut("w09") }},
	{"indoor air at half while the compressor runs full", "two-capacity-conventional", "load-duty", func(k *kit) { k.set("BL", "y1-full", 0) }},
	{"blower loses its call", "two-capacity-conventional", "load-duty", func(k *kit) { k.cut("w36") }},
	{"fan relay's coil in series with the contactor's", "two-contactor-conventional", "load-duty", func(k *kit) {
		k.move("w26", "CL.A1", "FR.A1")
		k.move("w27", "FR.A1", "FR.A2")
		k.cut("w32")
	}},
	{"both speeds of a fan fed", "two-capacity-conventional", "winding-shorted", func(k *kit) {
		for _, u := range []*netlist.Unit{k.old, k.new} {
			u.Device("FM").Kind = "fan-two-speed"
			for i := range u.Conductors {
				c := &u.Conductors[i]
				for _, e := range []*string{&c.From, &c.To} {
					*e = map[string]string{"FM.R": "FM.HI"}[*e] + strings.Repeat(*e, map[bool]int{true: 0, false: 1}[*e == "FM.R"])
				}
			}
		}
		wire(k.new, "x", "FM.HI", "FM.LO", line)
	}},
	{"start relay gone", "two-capacity-conventional", "start-parts", func(k *kit) { startKit(k.old) }},
	{"a load that nobody asked for", "two-capacity-conventional", "load-added", func(k *kit) {
		add(k.new, "CCH2", "heater-crankcase", "outdoor")
		wire(k.new, "x1", "CC.L1", "CCH2.1", line)
		wire(k.new, "x2", "CC.L2", "CCH2.2", line)
	}},
	// The compressor.
	{"run capacitor fed ahead of the contactor", "two-capacity-conventional", "off-is-off", func(k *kit) { k.move("w05", "CC.T1", "CC.L1") }},
	{"fan's capacitor of 10 uF", "two-capacity-conventional", "capacitor", func(k *kit) { k.set("DC", "fan-farads", 10e-6) }},
	{"run capacitor of 14 uF", "two-capacity-conventional", "capacitor", func(k *kit) { k.set("DC", "farads", 14e-6) }},
	{"run capacitor of 20 uF", "two-capacity-conventional", "capacitor", func(k *kit) { k.set("DC", "farads", 20e-6) }},
	{"run capacitor of 80 uF", "two-capacity-conventional", "capacitor", func(k *kit) { k.set("DC", "farads", 80e-6) }},
	{"run capacitor of 120 uF", "two-capacity-conventional", "capacitor", func(k *kit) { k.set("DC", "farads", 120e-6) }},
	{"a second run capacitor in parallel", "two-capacity-conventional", "capacitor", func(k *kit) {
		add(k.new, "RC2", "capacitor-run", "outdoor")
		wire(k.new, "x1", "COMP.S", "RC2.1", line)
		wire(k.new, "x2", "COMP.R", "RC2.2", line)
	}},
	{"run capacitor between start and common", "two-capacity-conventional", "stalls", func(k *kit) { k.move("w05", "CC.T1", "COMP.C") }},
	{"start lead on line", "two-capacity-conventional", "capacitor", func(k *kit) {
		k.cut("w06")
		wire(k.new, "x", "COMP.S", "CC.T1", line)
	}},
	{"run capacitor rated 330 V", "two-capacity-conventional", "capacitor-volts", func(k *kit) { k.set("DC", "volts", 330) }},
	{"locked rotor of 400 A on a 30 A contactor", "two-capacity-conventional", "contactor", func(k *kit) {
		k.set("COMP", "lra", 400)
		k.data.Compressor.LRA = 400
	}},
	{"contactor of 15 A", "two-capacity-conventional", "contactor", func(k *kit) { k.set("CC", "contact-amps", 15); k.replaced("CC") }},
	{"another compressor than chosen", "two-capacity-conventional", "compressor-data", func(k *kit) { k.set("COMP", "rla", 24) }},
	{"the old kind of compressor with the new one's plate", "two-capacity-conventional", "compressor-data", func(k *kit) { k.new.Device("COMP").Kind = "compressor-two-capacity" }},
	{"fan runs while the delay waits, beside an overload in the line", "two-contactor-digital", "load-duty", func(k *kit) {
		insert(k.t, k.old, "w06", "OL", "overload-line", "outdoor", "1", "2")
		insert(k.t, k.new, "w06", "OL", "overload-line", "outdoor", "1", "2")
		k.move("w30", "CL.A1", "TD.IN")
	}},
	{"two compressors", "parallel-tandem-conventional", "compressor-data", func(k *kit) { add(k.new, "COMP3", "compressor-single", "outdoor") }},
	{"a pole of two jumpered", "two-contactor-conventional", "poles", func(k *kit) { wire(k.new, "x", "CL.L1", "CL.T1", line) }},
	{"one pole where two were broken", "two-contactor-conventional", "poles", func(k *kit) {
		k.new.Device("CL").Kind = "contactor-1p"
		k.replaced("CL")
	}},
	{"both legs on one pole", "two-contactor-conventional", "runs-when-called", func(k *kit) {
		k.move("w06", "CL.T2", "CL.T1")
	}},
	{"old unit that does not run", "two-capacity-conventional", "old-runs", func(k *kit) {
		k.old.Conductors = slices.DeleteFunc(k.old.Conductors, func(c netlist.Conductor) bool { return c.ID == "w03" })
	}},
	{"compressor for 208 V on 264 V", "two-capacity-conventional", "motor-volts", func(k *kit) {
		k.set("SUP", "volts", 280)
		k.replaced("SUP")
	}},
	// Conductors and sources.
	{"compressor on 14 AWG", "two-capacity-conventional", "conductors", func(k *kit) { k.new.Conductor("w03").Gauge = 14 }},
	{"24 V conductor of 150 V insulation between line conductors", "two-capacity-conventional", "insulation", func(k *kit) { k.new.Conductor("w21").Insulation = 150 }},
	{"line on the insulation of control wire", "two-capacity-conventional", "insulation", func(k *kit) { k.new.Conductor("w03").Insulation = 100 }},
	{"breaker of 60 A", "two-capacity-conventional", "overcurrent", func(k *kit) { k.set("SUP", "breaker-amps", 60) }},
	{"breaker too small for what runs", "two-capacity-conventional", "source-limit", func(k *kit) { k.set("SUP", "breaker-amps", 15) }},
	{"control contact for 0.1 A", "two-capacity-conventional", "contacts", func(k *kit) { k.set("HP", "contact-amps", 0.1); k.replaced("HP") }},
	{"transformer of 10 VA", "two-capacity-conventional", "transformer", func(k *kit) { k.set("TR", "va", 10); k.replaced("TR") }},
	{"control fuse of 20 A", "two-capacity-conventional", "class2-protected", func(k *kit) { k.set("IF", "amps", 20) }},
	{"supply of 50 Hz", "two-capacity-conventional", "compressor-data", func(k *kit) { k.old.Hertz, k.new.Hertz = 50, 50 }},
	{"a compressor for 60 Hz on 50 Hz", "two-capacity-conventional", "compressor-data", func(k *kit) {
		k.old.Hertz, k.new.Hertz, k.data.Compressor.Hertz = 50, 50, 60
	}},
	{"a supply of 265 V", "two-capacity-conventional", "compressor-data", func(k *kit) { k.set("SUP", "volts", 265) }},
	{"an overload that trips at 60 A", "two-contactor-digital", "overload", func(k *kit) { overloaded(k, 60) }},
	{"an overload of which nothing is known", "two-contactor-digital", "overload", func(k *kit) { overloaded(k, 0) }},
	{"a leg on a green conductor", "two-contactor-conventional", "as-found", func(k *kit) {
		k.new.Conductor("w01").Colour, k.new.Conductor("w01").ID = "green", "w01-green"
	}},
	{"a fan whose shell is on no ground", "two-contactor-conventional", "as-found", func(k *kit) { ungrounded(k, "FM") }},
	{"a start aid on an answer that nobody gave", "two-capacity-conventional", "answered", func(k *kit) {
		k.data.Unanswered = map[string]string{"DC": "which values?"}
	}},
	{"control voltage of 48 V", "two-capacity-conventional", "class2-limits", func(k *kit) { k.set("TR", "open-volts", 48); k.replaced("TR") }},
	{"line on the control string", "two-capacity-conventional", "class2-apart", func(k *kit) { wire(k.new, "x", "CC.L1", "CC.A1", line) }},
	{"line and control through one switch of no class", "two-capacity-conventional", "class2-apart", func(k *kit) {
		add(k.new, "AUX", "switch", "outdoor")
		wire(k.new, "x1", "CC.L1", "AUX.1", line)
		wire(k.new, "x2", "AUX.2", "TD.IN", class2)
	}},
	{"second transformer paralleled", "two-capacity-conventional", "paralleled", func(k *kit) { second(k, true) }},
	{"second transformer feeds back to the open disconnect", "two-capacity-conventional", "no-backfeed", func(k *kit) { second(k, true) }},
	{"second transformer joined at the common only", "two-capacity-conventional", "does-nothing", func(k *kit) { second(k, false) }},
	{"paralleled in the old unit and left so", "two-capacity-conventional", "paralleled", func(k *kit) {
		second(k, true)
		o := &kit{t: k.t, new: k.old}
		second(o, true)
	}},
	{"leg to leg", "two-capacity-conventional", "no-short", func(k *kit) { wire(k.new, "x", "CC.T1", "CC.T2", line) }},
	{"R to C", "two-capacity-conventional", "no-short", func(k *kit) { wire(k.new, "x", "IB.R", "IB.C", class2) }},
	{"contactor's coil through 60 ohm", "two-capacity-conventional", "coils", func(k *kit) {
		insert(k.t, k.new, "w13", "Z", "impedance", "outdoor", "1", "2")
		k.set("Z", "ohms", 60)
	}},
	{"capped end on line", "two-capacity-conventional", "no-live-stub", func(k *kit) { wire(k.new, "x", "CC.L1", netlist.Capped, line) }},
	{"class 2 conductor on a line terminal", "two-capacity-conventional", "buildable", func(k *kit) { wire(k.new, "x", "CC.L1", "FM.R", class2) }},
	{"line and control through a switch that is open at rest", "two-capacity-conventional", "class2-apart", func(k *kit) {
		add(k.new, "AUX", "switch", "outdoor").Params = map[string]float64{"closed": 0}
		wire(k.new, "x1", "CC.L1", "AUX.1", line)
		wire(k.new, "x2", "AUX.2", "TD.IN", class2)
	}},
	{"capped end behind a switch that is open at rest", "two-capacity-conventional", "no-live-stub", func(k *kit) {
		add(k.new, "AUX", "switch", "outdoor").Params = map[string]float64{"closed": 0}
		wire(k.new, "x1", "CC.L1", "AUX.1", line)
		wire(k.new, "x2", "AUX.2", netlist.Capped, line)
	}},
	{"larger control fuse", "two-capacity-conventional", "part-changed", func(k *kit) { k.set("IF", "amps", 10); k.replaced("IF") }},
	{"dual capacitor's common and compressor leads exchanged", "two-capacity-conventional", "capacitor", func(k *kit) {
		k.move("w05", "DC.C", "DC.HERM")
		k.move("w06", "DC.HERM", "DC.C")
	}},
	{"dual capacitor's two sides joined", "two-capacity-conventional", "capacitor", func(k *kit) { wire(k.new, "x", "DC.HERM", "DC.FAN", line) }},
	{"control fuse moved into the thermostat's lead", "two-capacity-conventional", "links-interrupt", func(k *kit) {
		k.cut("w32")
		k.move("w31", "IF.1", "IB.R")
		k.move("w38", "IB.R", "IF.2")
		wire(k.new, "x", "IB.R", "IF.1", class2)
	}},
	{"relay that bridges the fuse once the contactor is in", "two-capacity-conventional", "links-interrupt", func(k *kit) {
		add(k.new, "X", "relay", "outdoor")
		wire(k.new, "x1", "CC.A1", "X.A1", class2)
		wire(k.new, "x2", "CC.A2", "X.A2", class2)
		wire(k.new, "x3", "IF.1", "X.COM", class2)
		wire(k.new, "x4", "IF.2", "X.NO", class2)
	}},
	// Grounds.
	{"ground of 18 AWG", "two-capacity-conventional", "ground-size", func(k *kit) { k.new.Conductor("g2").Gauge = 18 }},
	{"control current through the ground", "two-capacity-conventional", "ground-current", func(k *kit) {
		k.move("w13", "CC.A2", "GL.1")
		wire(k.new, "x1", "CC.A2", "GL.1", class2)
		k.new.Conductor("w13").To = "IGL.1"
	}},
	{"switch in the ground", "two-capacity-conventional", "ground-switched", func(k *kit) { insert(k.t, k.new, "g1", "GS", "switch", "outdoor", "1", "2") }},
	{"compressor not grounded", "two-capacity-conventional", "ground-landed", func(k *kit) { k.cut("g2") }},
	{"fan not grounded any more", "two-capacity-conventional", "ground-landed", func(k *kit) { k.cut("g3") }},
	{"cabinet's ground off the supply", "two-capacity-conventional", "ground-landed", func(k *kit) { k.cut("g1") }},
}

// float puts a condensate float that works a relay into the Y of the old unit.
func float(t testing.TB, u *netlist.Unit) {
	add(u, "FLT", "switch", "indoor")
	add(u, "CR", "relay", "indoor")
	wire(u, "f1", "IB.R", "FLT.1", class2)
	wire(u, "f2", "FLT.2", "CR.A1", class2)
	wire(u, "f3", "CR.A2", "IB.C", class2)
	insert(t, u, "w14", "CR", "relay", "indoor", "COM", "NO")
}

// delayFirst puts the delay of the new circuit ahead of the safeties.
func delayFirst(k *kit) {
	k.move("w14", "LP.1", "TD.IN")
	k.move("w16", "TD.OUT", "LP.1")
	k.move("w16", "CC.A1", "TD.OUT")
	k.move("w21", "TD.IN", "CC.A1")
}

// sealIn is a relay that, once a fan call has come with a cooling call, keeps the
// high-pressure switch bridged while the cooling call stands.
func sealIn(k *kit) {
	for _, id := range []string{"Z", "X", "X2"} {
		add(k.new, id, "relay", "outdoor")
		wire(k.new, id+"c", id+".A2", "CC.A2", class2)
	}
	wire(k.new, "z1", "IB.G", "Z.A1", class2)
	wire(k.new, "z2", "HP.1", "Z.COM", class2)
	wire(k.new, "z3", "Z.NO", "X.A1", class2)
	wire(k.new, "x1", "HP.1", "X.COM", class2)
	wire(k.new, "x2", "X.NO", "X.A1", class2)
	wire(k.new, "x3", "X.A1", "X2.A1", class2)
	wire(k.new, "x4", "HP.1", "X2.COM", class2)
	wire(k.new, "x5", "X2.NO", "HP.2", class2)
	k.set("TR", "va", 75)
	k.replaced("TR")
}

// latchOff is a relay that, once the high-pressure switch has opened under a call,
// keeps the string open until the call goes.
func latchOff(k *kit) {
	k.cut("w21")
	add(k.new, "LR", "lockout-relay", "outdoor")
	wire(k.new, "l1", "HP.2", "LR.COM", class2)
	wire(k.new, "l2", "LR.NC", "TD.IN", class2)
	wire(k.new, "l3", "DT.2", "LR.A1", class2)
	wire(k.new, "l4", "TD.IN", "LR.A2", class2)
}

// ungrounded takes a shell's ground off in both circuits.
func ungrounded(k *kit, id string) {
	for _, u := range []*netlist.Unit{k.old, k.new} {
		u.Conductors = slices.DeleteFunc(u.Conductors, func(w netlist.Conductor) bool { return w.From == id+".GND" || w.To == id+".GND" })
	}
}

// startKit adds a potential relay and a start capacitor to the old compressor.
func startKit(u *netlist.Unit) {
	add(u, "PR", "start-relay", "outdoor")
	add(u, "SC", "capacitor-start", "outdoor")
	wire(u, "s1", "PR.5", "COMP.C", line)
	wire(u, "s2", "PR.2", "COMP.S", line)
	wire(u, "s3", "PR.1", "SC.1", line)
	wire(u, "s4", "SC.2", "COMP.R", line)
}

// second is another transformer, in the outdoor unit, joined to the first at both
// ends or at the common only.
func second(k *kit, both bool) {
	d := add(k.new, "TR2", "transformer", "outdoor")
	d.Params = map[string]float64{"primary-volts": 240}
	wire(k.new, "t1", "CC.L1", "TR2.P1", line)
	wire(k.new, "t2", "CC.L2", "TR2.P2", line)
	wire(k.new, "t3", "CC.A2", "TR2.S2", class2)
	if both {
		wire(k.new, "t4", "IB.R", "TR2.S1", class2)
	}
}

var sound = []string{"two-capacity-conventional", "two-capacity-digital", "parallel-tandem-conventional", "two-contactor-conventional",
	"two-contactor-digital", "two-contactor-outdoor-transformer-conventional"}

func TestSound(t *testing.T) {
	for _, name := range sound {
		k := open(t, name)
		p := k.prove()
		want := Holds
		if len(k.data.Omitted) > 0 { // by a person's reason
			want = Reserved
		}
		if p.Verdict != want {
			t.Errorf("%s: %s: %s", name, p.Verdict, p.Why)
		}
		for _, k := range p.Failed() {
			t.Errorf("%s: %s %s: %s: %s %v", name, k.ID, k.Verdict, k.State, k.Detail, k.Path)
		}
	}
}

func TestWrong(t *testing.T) {
	seen := map[string]bool{}
	for _, w := range wrong {
		k := open(t, w.kit)
		w.alter(k)
		p := k.prove()
		if p.Verdict == Holds {
			t.Errorf("%s: holds", w.name)
			continue
		}
		c := p.Check(w.check)
		if c == nil || c.Verdict == Holds {
			var got []string
			for _, f := range p.Failed() {
				got = append(got, f.ID+": "+f.Detail)
			}
			t.Errorf("%s: %s did not see it, but %s", w.name, w.check, strings.Join(got, "; "))
			continue
		}
		if c.Detail == "" {
			t.Errorf("%s: %s fails and says nothing", w.name, w.check)
		}
		seen[w.check] = true
	}
	for _, c := range open(t, sound[0]).prove().Checks {
		if !seen[c.ID] {
			t.Errorf("check %s has no failing example", c.ID)
		}
		if c.Source == "" || c.Words == "" {
			t.Errorf("check %s has no words or no source", c.ID)
		}
	}
}

// What is left out by a bound is said, and then the verdict is not "holds".
func TestBounds(t *testing.T) {
	for _, most := range []bounds{{5, usual.changes}, {usual.leaves, 20}} {
		k := open(t, "two-capacity-conventional")
		p, err := prove(context.Background(), k.old, k.new, k.data, nil, most)
		if err != nil || p.Verdict != NotDecided || len(p.Untried) != 1 || !strings.Contains(p.Why, p.Untried[0]) {
			t.Errorf("%+v: %v, %s: %s, untried %q", most, err, p.Verdict, p.Why, p.Untried)
		}
	}
}

// A context that ends ends the proof; progress only grows and ends at the total.
func TestProgress(t *testing.T) {
	k := open(t, "two-capacity-digital")
	last, end := -1, 0
	p, err := Prove(context.Background(), k.old, k.new, k.data, func(done, total int) {
		if done < last || done > total {
			t.Errorf("progress %d of %d after %d", done, total, last)
		}
		last, end = done, total
	})
	if err != nil || last != end || end == 0 {
		t.Errorf("%v, progress ended at %d of %d", err, last, end)
	}
	ctx, cancel := context.WithCancel(context.Background())
	_, err = Prove(ctx, k.old, k.new, k.data, func(int, int) { cancel() })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	again := k.prove()
	a, _ := json.Marshal(p)
	b, _ := json.Marshal(again)
	if string(a) != string(b) {
		t.Error("two proofs of the same circuits differ")
	}
}

// What only a person can answer makes the verdict not decided, and the answer
// decides it.
func TestAsked(t *testing.T) {
	k := open(t, "parallel-tandem-conventional")
	insert(t, k.old, "w07", "OL2", "overload-line", "outdoor", "1", "2")
	if k.old.Conductor("w07").To != "OL2.1" || !strings.HasPrefix(k.old.Conductor("w07b").To, "COMP2.") {
		t.Fatalf("w07 of the pair is not the second compressor's lead: %v", k.old.Conductor("w07b"))
	}
	p := k.prove()
	if c := p.Check("interrupter-gone"); p.Verdict != NotDecided || c.Verdict != NotDecided || !strings.Contains(c.Detail, "?") {
		t.Errorf("%s: %s", p.Verdict, p.Why)
	}
	k.data.Dropped = map[string]string{"OL2": "it went with the second compressor"}
	if p = k.prove(); p.Verdict != Reserved {
		t.Errorf("dropped with the second compressor: %s: %s", p.Verdict, p.Why)
	}
	k.data.Dropped = nil
	k.data.Omitted["OL2"] = "it went with the second compressor"
	if p = k.prove(); p.Verdict != Reserved {
		t.Errorf("answered: %s: %s", p.Verdict, p.Why)
	}
	k.data.Omitted["OL2"] = "no need"
	if p = k.prove(); p.Verdict == Holds {
		t.Error("a reason of six letters was taken for one")
	}
}

// What stops the new compressor is left out by a person's statement only.
func TestDropped(t *testing.T) {
	for _, q := range []struct {
		omitted, dropped map[string]string
		verdict          string
	}{
		{nil, nil, Fails},
		{nil, map[string]string{"FLT": "nothing is left for it to do"}, Fails},
		{map[string]string{"FLT": "the owner has a pan alarm instead"}, nil, Reserved},
	} {
		k := open(t, "two-capacity-conventional")
		insert(t, k.old, "w14", "FLT", "switch", "indoor", "1", "2")
		k.data.Omitted, k.data.Dropped = q.omitted, q.dropped
		if p := k.prove(); p.Verdict != q.verdict {
			t.Errorf("omitted %v, dropped %v: %s: %s", q.omitted, q.dropped, p.Verdict, p.Why)
		}
	}
	k := open(t, "two-capacity-conventional")
	k.drop("CCH")
	k.data.Dropped = map[string]string{"CCH": "the new compressor needs none"}
	if p := k.prove(); p.Verdict != Holds {
		t.Errorf("heater: %s: %s", p.Verdict, p.Why)
	}
}

// A heater that moves to the line side heats while the compressor runs too: only
// with a stated reason.
func TestExtended(t *testing.T) {
	k := open(t, "two-capacity-conventional")
	k.move("w11", "CC.T1", "CC.L2")
	if p := k.prove(); p.Check("load-duty").Verdict != Fails {
		t.Errorf("unstated: %s", p.Verdict)
	}
	k.data.Extended = map[string]string{"CCH": "heats while the compressor runs too, as answered"}
	if p := k.prove(); p.Verdict != Holds {
		t.Errorf("stated: %s: %s", p.Verdict, p.Why)
	}
	k.cut("w11")
	if p := k.prove(); p.Verdict == Holds {
		t.Error("a heater that is off is held for one that heats more")
	}
}

// Under the open outdoor disconnect the control voltage from indoors is listed.
func TestLive(t *testing.T) {
	p := open(t, "two-capacity-conventional").prove()
	i := slices.IndexFunc(p.Live, func(l Live) bool { return l.Open == "SUP" && l.From == "TR" })
	if i < 0 || !slices.Contains(p.Live[i].Terminals, "CC.A1") || p.Live[i].Volts < 20 || p.Live[i].Volts > 30 {
		t.Errorf("live: %+v", p.Live)
	}
}

// A new switch that stops something more is no failure.
func TestMoreSafety(t *testing.T) {
	k := open(t, "two-capacity-conventional")
	insert(t, k.new, "w14", "FLT", "switch", "outdoor", "1", "2")
	k.new.Device("FLT").Params = map[string]float64{"contact-amps": 2}
	k.new.Conductor("w14b").Insulation = 600 // its lead lies beside line
	if p := k.prove(); p.Verdict != Holds {
		t.Errorf("%s: %s", p.Verdict, p.Why)
	}
}

func TestBadData(t *testing.T) {
	k := open(t, "two-capacity-conventional")
	for _, f := range []func(d *Data){
		func(d *Data) { d.Compressor.RLA = 0 },
		func(d *Data) { d.Compressor.Volts = math.NaN() },
		func(d *Data) { d.Compressor.Tolerance = 2 },
		func(d *Data) { d.Call = "heat" },
	} {
		d := k.data
		f(&d)
		if _, err := Prove(context.Background(), k.old, k.new, d, nil); !errors.Is(err, ErrData) {
			t.Errorf("%+v: %v", d.Compressor, err)
		}
	}
}

// overloaded puts an overload that trips at some amperes into the compressor's line.
func overloaded(k *kit, trips float64) {
	for _, u := range []*netlist.Unit{k.old, k.new} {
		insert(k.t, u, "w06", "OL", "overload-line", "outdoor", "1", "2")
		u.Device("OL").Params = map[string]float64{"trip-amps": trips}
	}
}
