package netlist

import (
	"fmt"
	"maps"
	"math"
	"math/cmplx"
	"slices"
	"strings"
)

// A Terminal is a lettered place for conductor ends.
type Terminal struct {
	Name  string
	Class Class
}

// A Param is a number a device may carry, SI.
type Param struct {
	Name              string
	Default, Min, Max float64
	Unit              string
}

// A Kind says which terminals a device has and how it behaves.
//
// The default numbers are round values of ordinary parts: common practice, no
// source, except where the trade facts of the project name one. They are what a
// prediction starts from; what is on the nameplate outranks them.
type Kind struct {
	Name      string
	Words     string
	Terminals []Terminal
	Params    []Param
	build     func(b *builder, d *Device)
	check     func(d *Device) string
}

func (k *Kind) param(name string) *Param {
	for i := range k.Params {
		if k.Params[i].Name == name {
			return &k.Params[i]
		}
	}
	return nil
}

func (k *Kind) terminalNames() string {
	var s []string
	for _, t := range k.Terminals {
		s = append(s, t.Name)
	}
	return strings.Join(s, ", ")
}

// KindNames lists the kinds in order.
func KindNames() []string { return slices.Sorted(maps.Keys(Kinds)) }

// terms reads "L1:line A1:class2 COM".
func terms(s string) (out []Terminal) {
	for f := range strings.FieldsSeq(s) {
		name, class, ok := strings.Cut(f, ":")
		if !ok {
			class = string(Any)
		}
		out = append(out, Terminal{name, Class(class)})
	}
	return out
}

func of(lists ...[]Param) []Param { return slices.Concat(lists...) }

var (
	coil = []Param{ // a 24 V coil; pick-up and drop-out near 75 % and 50 %
		{"coil-ohms", 20, 1, 1e5, "ohm"}, {"coil-reactance", 53, 0, 1e5, "ohm"}, {"coil-dc-ohms", 12, 0.5, 1e5, "ohm"},
		{"coil-volts", 24, 5, 280, "V"}, {"pick-up", 18, 1, 280, "V"}, {"drop-out", 10, 0.5, 280, "V"},
	}
	contact = []Param{{"contact-amps", 30, 0.1, 100, "A"}, {"contact-ohms", 0.005, 0, 10, "ohm"}}
	motor   = []Param{
		{"volts", 240, 100, 280, "V"}, {"rla", 18, 0.2, 100, "A"}, {"lra", 100, 0.5, 600, "A"},
		{"farads", 40e-6, 1e-6, 200e-6, "F"}, {"run-ohms", 0.6, 0.05, 500, "ohm"}, {"start-ohms", 2.4, 0.1, 900, "ohm"},
	}
	safety = []Param{{"contact-amps", 2, 0.1, 30, "A"}, {"contact-ohms", 0.05, 0, 10, "ohm"}}
)

func with(ps []Param, name string, v float64) []Param {
	ps = slices.Clone(ps)
	for i := range ps {
		if ps[i].Name == name {
			ps[i].Default = v
		}
	}
	return ps
}

func relayCoil(ps []Param) []Param { // a small control relay, about 4 VA
	return with(with(with(ps, "coil-ohms", 70), "coil-reactance", 120), "coil-dc-ohms", 45)
}

// Kinds is the catalogue of devices, by name.
var Kinds = map[string]*Kind{}

func define(name, words, terminals string, params []Param, build func(b *builder, d *Device)) *Kind {
	k := &Kind{Name: name, Words: words, Terminals: terms(terminals), Params: params, build: build}
	Kinds[name] = k
	return k
}

func init() {
	define("supply", "line supply at the disconnect, two legs", "L1:line L2:line GND:line",
		[]Param{{"volts", 240, 100, 300, "V"}, {"source-ohms", 0.04, 1e-4, 5, "ohm"}, {"breaker-amps", 40, 1, 200, "A"}},
		func(b *builder, d *Device) {
			v, z := complex(d.P("volts")/2, 0), complex(d.P("source-ohms")/2, 0)
			b.source("leg 1", b.t("L1"), b.t("GND"), v, z, d.P("breaker-amps"), Line)
			b.source("leg 2", b.t("L2"), b.t("GND"), -v, z, d.P("breaker-amps"), Line)
			b.load("earth", "GND", "", 1e-3, 1e-3)
		})
	define("supply-120", "line supply, hot and neutral", "L:line N:line GND:line",
		[]Param{{"volts", 120, 90, 150, "V"}, {"source-ohms", 0.05, 1e-4, 5, "ohm"}, {"breaker-amps", 20, 1, 100, "A"}},
		func(b *builder, d *Device) {
			b.source("hot", b.t("L"), b.t("N"), complex(d.P("volts"), 0), complex(d.P("source-ohms"), 0), d.P("breaker-amps"), Line)
			b.load("bond", "N", "GND", 1e-3, 1e-3)
			b.load("earth", "GND", "", 1e-3, 1e-3)
		})
	define("transformer", "control transformer", "P1:line P2:line S1:class2 S2:class2",
		[]Param{{"primary-volts", 120, 100, 280, "V"}, {"open-volts", 26.5, 5, 60, "V"}, {"volts", 24, 5, 60, "V"}, {"va", 40, 5, 200, "VA"},
			{"ohms", 1.2, 0.001, 50, "ohm"}, {"reactance", 0.5, 0, 50, "ohm"}, {"primary-dc-ohms", 18, 0.1, 1000, "ohm"}, {"secondary-dc-ohms", 0.6, 0.01, 50, "ohm"}},
		func(b *builder, d *Device) {
			b.transformer(d)
		})
	pole := func(b *builder, d *Device, name, a, z string, sig int) {
		b.contact(name, a, z, sig, false, d.P("contact-ohms"), d.P("contact-amps"))
	}
	contactor := func(poles int) func(b *builder, d *Device) {
		return func(b *builder, d *Device) {
			sig := b.coil(d, "A1", "A2")
			pole(b, d, "pole 1", "L1", "T1", sig)
			if poles == 2 {
				pole(b, d, "pole 2", "L2", "T2", sig)
			} else {
				b.load("bar", "L2", "T2", 1e-3, 1e-3)
			}
		}
	}
	define("contactor-1p", "contactor, one pole, the other leg through a bar", "L1:line T1:line L2:line T2:line A1:class2 A2:class2", of(coil, contact), contactor(1))
	define("contactor-2p", "contactor, two poles", "L1:line T1:line L2:line T2:line A1:class2 A2:class2", of(coil, contact), contactor(2))
	define("relay", "relay, one change-over contact", "COM NO NC A1:class2 A2:class2", relayCoil(of(coil, with(contact, "contact-amps", 10))),
		func(b *builder, d *Device) {
			sig := b.coil(d, "A1", "A2")
			pole(b, d, "NO contact", "COM", "NO", sig)
			b.contact("NC contact", "COM", "NC", sig, true, d.P("contact-ohms"), d.P("contact-amps"))
		})
	define("time-delay", "time-delay relay: passes IN to OUT once powered for its delay", "IN:class2 OUT:class2 C:class2",
		of(with(relayCoil(coil), "pick-up", 15), with(safety, "contact-amps", 1.5), []Param{{"seconds", 300, 1, 900, "s"}}),
		func(b *builder, d *Device) {
			ran := b.input(d.ID+" delay", "delay", d.say()+" has run its delay", true)
			sig := b.coil(d, "IN", "C")
			out := b.logic(d.ID+" output", func(s *Solver, on *bits, _ bool) bool { return on.get(sig) && on.get(ran) })
			pole(b, d, "contact", "IN", "OUT", out)
		})

	comp := define("compressor-single", "compressor, one speed", "C:line S:line R:line", motor, func(b *builder, d *Device) {
		turn, hum := b.motor(d, "", "C", "R", "S")
		b.status("compressor", func(s *Solver, on *bits) string { return pick(on.get(turn), "runs", hum(s, on), "stalls") })
	})
	comp.check = checkMotor("")
	second := slices.Clone(motor)
	for i := range second {
		second[i].Name += "-high"
	}
	second = with(with(second, "rla-high", 24), "lra-high", 130)
	two := define("compressor-two-speed", "compressor, two windings for two speeds", "C:line S1:line R1:line S2:line R2:line", of(motor, second), func(b *builder, d *Device) {
		low, hum1 := b.motor(d, "", "C", "R1", "S1")
		high, hum2 := b.motor(d, "-high", "C", "R2", "S2")
		b.status("compressor", func(s *Solver, on *bits) string {
			switch {
			case on.get(low) && on.get(high):
				return "both windings"
			case on.get(high):
				return "runs high"
			case on.get(low):
				return "runs low"
			}
			return pick(hum1(s, on) || hum2(s, on), "stalls", false, "")
		})
	})
	two.check = func(d *Device) string {
		if m := checkMotor("")(d); m != "" {
			return m
		}
		return checkMotor("-high")(d)
	}
	cap2 := define("compressor-two-capacity", "compressor of two capacities, internal unloading valve worked by 24 V", "C:line S:line R:line U1:class2 U2:class2",
		of(motor, []Param{{"valve-ohms", 96, 5, 1000, "ohm"}, {"valve-pick-up", 16, 5, 30, "V"}}), func(b *builder, d *Device) {
			turn, hum := b.motor(d, "", "C", "R", "S")
			r := d.P("valve-ohms")
			b.load("unloading valve", "U1", "U2", complex(r, 0), r)
			i, pu := b.last(), d.P("valve-pick-up")
			full := b.logic(d.ID+" valve", func(s *Solver, _ *bits, _ bool) bool { return s.across(i) >= pu })
			b.status("compressor", func(s *Solver, on *bits) string {
				if on.get(turn) {
					return pick(on.get(full), "runs full", true, "runs part")
				}
				return pick(hum(s, on), "stalls", false, "")
			})
		})
	cap2.check = checkMotor("")

	fan := define("fan-psc", "fan motor, capacitor run", "C:line S:line R:line",
		with(with(with(with(with(motor, "rla", 1.3), "lra", 2.5), "farads", 5e-6), "run-ohms", 30), "start-ohms", 60), func(b *builder, d *Device) {
			turn, hum := b.motor(d, "", "C", "R", "S")
			b.status("fan", func(s *Solver, on *bits) string { return pick(on.get(turn), "runs", hum(s, on), "stalls") })
		})
	fan.check = checkMotor("")
	define("fan-ecm", "fan motor, electronically commutated, runs when it has line voltage", "1:line 2:line",
		[]Param{{"volts", 240, 100, 280, "V"}, {"watts", 200, 10, 2000, "W"}, {"dc-ohms", 2e5, 10, 1e7, "ohm"}}, func(b *builder, d *Device) {
			v := d.P("volts")
			b.load("motor", "1", "2", complex(v*v/d.P("watts"), 0), d.P("dc-ohms"))
			i := b.last()
			b.status("fan", func(s *Solver, _ *bits) string { return pick(s.across(i) > 0.75*v, "runs", false, "") })
		})
	define("blower-ecm", "indoor blower, electronically commutated, taps G, Y1 and Y2", "L:line N:line C:class2 G:class2 Y1:class2 Y2:class2",
		[]Param{{"volts", 120, 100, 280, "V"}, {"watts", 500, 20, 2000, "W"}, {"input-ohms", 1200, 100, 1e5, "ohm"}, {"y1-full", 0, 0, 1, ""}, {"dc-ohms", 2e5, 10, 1e7, "ohm"}}, func(b *builder, d *Device) {
			in := map[string]int{}
			for _, t := range []string{"G", "Y1", "Y2"} {
				b.load("input "+t, t, "C", complex(d.P("input-ohms"), 0), d.P("input-ohms"))
				n, c := b.t(t), b.t("C")
				in[t] = b.logic(d.ID+" "+t, func(s *Solver, _ *bits, _ bool) bool { return s.mag(n, c) >= 12 })
			}
			v := d.P("volts")
			br := b.load("motor", "L", "N", complex(v*v/d.P("watts"), 0), d.P("dc-ohms"))
			i := b.last()
			run := b.logic(d.ID+" run", func(s *Solver, on *bits, _ bool) bool {
				return s.across(i) > 0.75*v && (on.get(in["G"]) || on.get(in["Y1"]) || on.get(in["Y2"]))
			})
			br.sig, br.ac[0] = int32(run), complex(10/(v*v), 0) // 10 W at rest
			br.dc[0] = br.dc[1]
			full := d.P("y1-full") == 1
			b.status("blower", func(s *Solver, on *bits) string {
				switch {
				case !on.get(run):
					return ""
				case on.get(in["Y2"]), on.get(in["Y1"]) && full:
					return "full air"
				case on.get(in["Y1"]):
					return "low air"
				}
				return "fan only"
			})
		})

	capacitor := func(b *builder, d *Device, name, t1, t2, farads string) {
		b.load(name, t1, t2, 0.1-1i*complex(1/(b.omega*d.P(farads)), 0), math.Inf(1))
	}
	capR := []Param{{"farads", 40e-6, 1e-6, 200e-6, "F"}, {"volts", 440, 100, 600, "V"}}
	define("capacitor-run", "run capacitor", "1:line 2:line", capR, func(b *builder, d *Device) { capacitor(b, d, "capacitor", "1", "2", "farads") })
	define("capacitor-start", "start capacitor with its bleed resistor", "1:line 2:line",
		[]Param{{"farads", 150e-6, 20e-6, 1400e-6, "F"}, {"volts", 330, 100, 600, "V"}, {"bleed-ohms", 15000, 1000, 1e6, "ohm"}}, func(b *builder, d *Device) {
			capacitor(b, d, "capacitor", "1", "2", "farads")
			b.load("bleed", "1", "2", complex(d.P("bleed-ohms"), 0), d.P("bleed-ohms"))
		})
	define("capacitor-dual", "dual run capacitor, compressor and fan", "C:line HERM:line FAN:line",
		of(capR, []Param{{"fan-farads", 5e-6, 1e-6, 60e-6, "F"}}), func(b *builder, d *Device) {
			capacitor(b, d, "compressor side", "C", "HERM", "farads")
			capacitor(b, d, "fan side", "C", "FAN", "fan-farads")
		})
	define("start-relay", "start relay worked by the start winding's voltage", "1:line 2:line 5:line",
		[]Param{{"coil-ohms", 3000, 100, 1e5, "ohm"}, {"coil-reactance", 9000, 0, 1e5, "ohm"}, {"coil-dc-ohms", 2800, 100, 1e5, "ohm"},
			{"coil-volts", 350, 50, 500, "V"}, {"pick-up", 220, 50, 450, "V"}, {"drop-out", 120, 20, 400, "V"}, {"contact-ohms", 0.02, 0, 10, "ohm"}, {"contact-amps", 35, 1, 100, "A"}},
		func(b *builder, d *Device) {
			sig := b.coil(d, "2", "5")
			b.contact("contact", "1", "2", sig, true, d.P("contact-ohms"), d.P("contact-amps"))
		})

	define("heater-crankcase", "crankcase heater", "1:line 2:line", []Param{{"watts", 40, 5, 200, "W"}, {"volts", 240, 100, 280, "V"}}, func(b *builder, d *Device) {
		v := d.P("volts")
		r := v * v / d.P("watts")
		b.load("heater", "1", "2", complex(r, 0), r)
		i := b.last()
		b.status("heater", func(s *Solver, _ *bits) string { return pick(s.across(i) > 0.8*v, "heats", false, "") })
	})
	for _, k := range [][2]string{{"pressure-high", "high-pressure switch"}, {"pressure-low", "low-pressure switch"}, {"thermostat-discharge", "discharge thermostat"}} {
		define(k[0], k[1], "1:class2 2:class2", safety, func(b *builder, d *Device) {
			in := b.input(d.ID, "safety", d.say()+" closed", true)
			b.contact("contact", "1", "2", in, false, d.P("contact-ohms"), d.P("contact-amps"))
		})
	}
	define("switch", "hand or auxiliary switch", "1 2", of(contact, []Param{{"closed", 1, 0, 1, ""}}), func(b *builder, d *Device) {
		in := b.input(d.ID, "switch", d.say()+" closed", d.P("closed") == 1)
		b.contact("contact", "1", "2", in, false, d.P("contact-ohms"), d.P("contact-amps"))
	})
	define("sensor-temperature", "temperature sensor, a resistance that falls with warmth", "1:class2 2:class2", []Param{{"ohms", 10000, 100, 1e6, "ohm"}},
		func(b *builder, d *Device) { b.load("sensor", "1", "2", complex(d.P("ohms"), 0), d.P("ohms")) })
	define("fuse", "fuse", "1 2", []Param{{"amps", 5, 0.5, 60, "A"}, {"ohms", 0.02, 1e-4, 1, "ohm"}}, func(b *builder, d *Device) {
		br := b.load("link", "1", "2", complex(d.P("ohms"), 0), d.P("ohms"))
		br.Rating, br.Kind = d.P("amps"), ContactBranch
	})
	define("splice", "splice or wire nut", "1", nil, func(*builder, *Device) {})
	define("impedance", "resistance, inductance and capacitance in series", "1 2",
		[]Param{{"ohms", 1e-6, 1e-6, 1e9, "ohm"}, {"henries", 0, 0, 1e3, "H"}, {"farads", 0, 0, 1, "F"}}, func(b *builder, d *Device) {
			z, r := complex(d.P("ohms"), b.omega*d.P("henries")), d.P("ohms")
			if c := d.P("farads"); c > 0 {
				z, r = z-complex(0, 1/(b.omega*c)), math.Inf(1)
			}
			b.load("impedance", "1", "2", z, r)
		})
	define("source", "a source of alternating voltage", "1 2", []Param{{"volts", 120, 0, 1e5, "V"}, {"ohms", 1e-6, 1e-6, 1e6, "ohm"}, {"amps", 30, 0.1, 1e4, "A"}},
		func(b *builder, d *Device) {
			b.source("source", b.t("1"), b.t("2"), complex(d.P("volts"), 0), complex(d.P("ohms"), 0), d.P("amps"), Any)
		})
	define("reversing-valve", "reversing valve coil of a heat pump", "1:class2 2:class2", with(coil, "coil-ohms", 40), func(b *builder, d *Device) {
		sig := b.coil(d, "1", "2")
		b.status("valve", func(_ *Solver, on *bits) string { return pick(on.get(sig), "drawn", false, "") })
	})
	define("defrost-board", "defrost control of a heat pump (inputs only)", "R:class2 C:class2 Y:class2 O:class2", nil, func(b *builder, d *Device) {
		b.load("board", "R", "C", 250, 250)
	})

	strip := func(b *builder, ohms complex128, names ...string) {
		for _, t := range names {
			b.load("input "+t, t, "C", ohms, real(ohms))
		}
	}
	sense := func(b *builder, d *Device, t string, lo, hi float64) int {
		n, c := b.t(t), b.t("C")
		return b.logic(d.ID+" sees "+t, func(s *Solver, _ *bits, _ bool) bool { v := s.mag(n, c); return v >= lo && v <= hi })
	}
	between := func(b *builder, d *Device, name, t1, t2 string, lo, hi float64) int {
		n1, n2 := b.t(t1), b.t(t2)
		return b.logic(d.ID+" "+name, func(s *Solver, _ *bits, _ bool) bool { v := s.mag(n1, n2); return v >= lo && v <= hi })
	}
	and := func(b *builder, name string, sigs ...int) int {
		return b.logic(name, func(_ *Solver, on *bits, _ bool) bool {
			for _, s := range sigs {
				if !on.get(s) {
					return false
				}
			}
			return true
		})
	}
	calls := func(b *builder) (c1, c2, fan int) {
		return b.input("cool-1", "call", "first-stage cooling call", false), b.input("cool-2", "call", "second-stage cooling call", false), b.input("fan", "call", "fan call", false)
	}
	board := []Param{{"contact-amps", 1.5, 0.1, 30, "A"}, {"contact-ohms", 0.05, 0, 10, "ohm"}, {"board-ohms", 250, 20, 1e5, "ohm"}}

	// The outdoor boards. In: calls, two supervised safety loops, a sensor. Out:
	// CC (R through a relay) once a call stands, both loops are closed and the
	// delay has run; U1 likewise for the second stage, U2 tied to C.
	outdoor := func(b *builder, d *Device, call1, call2 int) {
		b.load("board", "R", "C", complex(d.P("board-ohms"), 0), d.P("board-ohms"))
		power := sense(b, d, "R", 16, 60)
		var loop [2]int
		for i, l := range []string{"LPS", "DTS"} {
			b.load(l+" feed", "R", l+"1", 100, 100)
			b.load(l+" sense", l+"2", "C", 2200, 2200)
			loop[i] = sense(b, d, l+"2", 12, 60)
		}
		ran := b.input(d.ID+" delay", "delay", d.say()+" has run its delay", true)
		cc := and(b, d.ID+" CC", power, call1, loop[0], loop[1], ran)
		st2 := and(b, d.ID+" U1", cc, call2)
		pole(b, d, "CC relay", "R", "CC", cc)
		pole(b, d, "U1 relay", "R", "U1", st2)
		b.load("U2 tie", "U2", "C", 1e-3, 1e-3)
		b.load("sensor input", "OAT1", "OAT2", 10000, 10000)
		b.load("sensor return", "OAT2", "C", 1e-3, 1e-3)
	}
	define("board-two-stage", "two-stage outdoor control board, 24 V calls", "R:class2 C:class2 Y1:class2 Y2:class2 LPS1:class2 LPS2:class2 DTS1:class2 DTS2:class2 CC:class2 U1:class2 U2:class2 OAT1:class2 OAT2:class2",
		board, func(b *builder, d *Device) {
			strip(b, 1500, "Y1", "Y2")
			outdoor(b, d, sense(b, d, "Y1", 14, 60), sense(b, d, "Y2", 14, 60))
		})
	const carrierLo, carrierHi = 1, 5
	define("board-digital", "two-stage outdoor control board on a digital bus", "R:class2 C:class2 A:class2 B:class2 LPS1:class2 LPS2:class2 DTS1:class2 DTS2:class2 CC:class2 U1:class2 U2:class2 OAT1:class2 OAT2:class2",
		board, func(b *builder, d *Device) {
			b.load("bus termination", "A", "B", 240, 240)
			b.load("bus bias", "B", "C", 1e5, 1e5)
			link := between(b, d, "bus", "A", "B", carrierLo, carrierHi)
			c1, c2, _ := calls(b)
			outdoor(b, d, and(b, d.ID+" call 1", link, c1), and(b, d.ID+" call 2", link, c2))
		})
	define("indoor-board", "indoor unit's terminal strip", "R:class2 C:class2 Y1:class2 Y2:class2 G:class2", nil,
		func(b *builder, d *Device) { strip(b, 3300, "Y1", "Y2", "G") })
	// The digital indoor control. Settings: outdoor-conventional = 1 makes it give
	// the outdoor unit 24 V calls on Y1 (and Y2 while stages = 2); stages = 1 makes
	// a cooling call ask the blower for its full air (BY2).
	define("indoor-digital", "indoor control on a digital bus, with 24 V outdoor outputs", "R:class2 C:class2 A:class2 B:class2 Y1:class2 Y2:class2 BG:class2 BY1:class2 BY2:class2 OAT1:class2 OAT2:class2",
		of(board, []Param{{"outdoor-conventional", 0, 0, 1, ""}, {"stages", 2, 1, 2, ""}}), func(b *builder, d *Device) {
			b.load("board", "R", "C", complex(d.P("board-ohms"), 0), d.P("board-ohms"))
			b.load("bus termination", "A", "B", 240, 240)
			b.load("bus bias", "B", "C", 1e5, 1e5)
			b.load("sensor input", "OAT1", "OAT2", 10000, 10000)
			b.load("sensor return", "OAT2", "C", 1e-3, 1e-3)
			link, power := between(b, d, "bus", "A", "B", carrierLo, carrierHi), sense(b, d, "R", 16, 60)
			c1, c2, fan := calls(b)
			conv, one := d.P("outdoor-conventional") == 1, d.P("stages") == 1
			give := func(name string, f func(on *bits) bool) int {
				return b.logic(d.ID+" "+name, func(_ *Solver, on *bits, _ bool) bool { return on.get(link) && on.get(power) && f(on) })
			}
			pole(b, d, "Y1 relay", "R", "Y1", give("Y1", func(on *bits) bool { return conv && on.get(c1) }))
			pole(b, d, "Y2 relay", "R", "Y2", give("Y2", func(on *bits) bool { return conv && !one && on.get(c1) && on.get(c2) }))
			pole(b, d, "BG relay", "R", "BG", give("BG", func(on *bits) bool { return on.get(fan) || on.get(c1) }))
			pole(b, d, "BY1 relay", "R", "BY1", give("BY1", func(on *bits) bool { return on.get(c1) }))
			pole(b, d, "BY2 relay", "R", "BY2", give("BY2", func(on *bits) bool { return on.get(c1) && (one || on.get(c2)) }))
		})
	define("thermostat", "thermostat, 24 V", "R:class2 C:class2 Y1:class2 Y2:class2 G:class2", with(board, "board-ohms", 600), func(b *builder, d *Device) {
		b.load("electronics", "R", "C", complex(d.P("board-ohms"), 0), d.P("board-ohms"))
		c1, c2, fan := calls(b)
		pole(b, d, "Y1 contact", "R", "Y1", c1)
		pole(b, d, "Y2 contact", "R", "Y2", c2)
		pole(b, d, "G contact", "R", "G", fan)
	})
	// The data pair is stood in for by a weak 60 Hz carrier: present or absent.
	define("thermostat-digital", "thermostat on a digital bus", "R:class2 C:class2 A:class2 B:class2", with(board, "board-ohms", 300), func(b *builder, d *Device) {
		b.load("electronics", "R", "C", complex(d.P("board-ohms"), 0), d.P("board-ohms"))
		calls(b)
		power := sense(b, d, "R", 16, 60)
		x := b.inner("carrier")
		b.source("carrier", x, b.t("B"), 4, 60, 0.1, Class2)
		b.contactN("bus driver", x, b.t("A"), power, false, 1, 0.1)
		b.load("bus bias", "B", "C", 1e5, 1e5)
	})
}

func (d *Device) say() string {
	if d.Label != "" {
		return d.Label
	}
	return d.ID
}

func pick(c1 bool, s1 string, c2 bool, s2 string) string {
	switch {
	case c1:
		return s1
	case c2:
		return s2
	}
	return ""
}

// windings gives the impedances of a capacitor-run motor, standing and turning,
// main and start winding, from its nameplate and its winding resistances.
//
// Turning: the capacitor is taken to carry 1.46 times line voltage, 40 degrees
// ahead of the line, and the common lead the rated current 16 degrees behind;
// standing: locked-rotor current 50 degrees behind. These angles are common
// practice, no source; they set what a clamp meter is predicted to read and
// whether a winding is energised, not a rating.
func windings(volts, rla, lra, farads, omega, rRun, rStart float64) (standR, turnR, standS, turnS complex128) {
	v := complex(volts, 0)
	xc := complex(0, -1/(omega*farads))
	is := cmplx.Rect(1.46*volts*omega*farads, 40*math.Pi/180)
	ir := cmplx.Rect(rla, -16*math.Pi/180) - is
	turnS, turnR = v/is-xc, v/ir
	standR = cmplx.Rect(volts/lra, 50*math.Pi/180)
	standS = complex(1.4*rStart, 1.2*rStart)
	return
}

func checkMotor(suffix string) func(d *Device) string {
	return func(d *Device) string {
		_, turnR, _, _ := windings(d.P("volts"+suffix), d.P("rla"+suffix), d.P("lra"+suffix), d.P("farads"+suffix), 2*math.Pi*60, 1, 1)
		if real(turnR) <= 0 {
			return fmt.Sprintf("rla%s %v A is too little for a run capacitor of %.3g uF", suffix, d.P("rla"+suffix), 1e6*d.P("farads"+suffix))
		}
		if d.P("lra"+suffix) <= d.P("rla"+suffix) {
			return fmt.Sprintf("lra%s must exceed rla%s", suffix, suffix)
		}
		return ""
	}
}
