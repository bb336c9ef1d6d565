package judge

import (
	"math"
	"math/cmplx"

	"retrostage/wiring/netlist"
)

func netlistTerminals(kind string) (out []string) {
	k := netlist.Kinds[kind]
	if k == nil {
		panic("kind " + kind)
	}
	for _, t := range k.Terminals {
		out = append(out, t.Name)
	}
	return out
}

// models say what each kind of device does, from the words of the kind.
var models map[string]func(n *net, d *device)

func (n *net) load(d *device, name, what, t1, t2 string, volts float64) *load {
	n.loads = append(n.loads, load{dev: d.ID, name: name, what: what, a: n.at(d.ID, t1), b: n.at(d.ID, t2), volts: volts})
	return &n.loads[len(n.loads)-1]
}

// source is an emf behind an impedance, a above b.
func (n *net) source(d *device, name, t1, t2 string, emf, ohms float64) {
	n.add(part{dev: d.ID, name: name, a: n.at(d.ID, t1), b: n.at(d.ID, t2), on: rlc{r: ohms}, emf: complex(emf, 0), bit: -1, amps: d.num("breaker-amps")})
}

func (n *net) earth(d *device, t string) {
	n.add(part{dev: d.ID, name: "earth", a: n.at(d.ID, t), b: 0, on: rlc{r: 1e-3}, bit: -1})
	n.earths = append(n.earths, len(n.parts)-1)
}

// coil pulls in at one voltage and lets go at another.
func (n *net) coil(d *device, t1, t2, what string) int {
	n.impede(d, "coil", t1, t2, complex(d.num("coil-ohms"), d.num("coil-reactance")))
	l := n.load(d, "coil", what, t1, t2, d.num("coil-volts"))
	l.lo, l.hi = d.num("drop-out"), d.num("pick-up")
	a, b, lo, hi := l.a, l.b, l.lo, l.hi
	var bit int
	bit = n.signal(d.ID+" coil", func(v view, now bits) bool {
		if now.has(bit) {
			return abs(v.across(a, b)) > lo
		}
		return abs(v.across(a, b)) >= hi
	})
	return bit
}

// powered is a decision of electronics: volts between two terminals are at least so much.
func (n *net) powered(d *device, name, t1, t2 string, least float64) int {
	a, b := n.at(d.ID, t1), n.at(d.ID, t2)
	return n.signal(d.ID+" "+name, func(v view, _ bits) bool { x := abs(v.across(a, b)); return x >= least && x < 60 })
}

func (n *net) all(name string, of ...int) int {
	return n.signal(name, func(_ view, now bits) bool {
		for _, b := range of {
			if !now.has(b) {
				return false
			}
		}
		return true
	})
}

// A motor is a capacitor-run induction motor of one speed.
type motor struct {
	dev, name, kind string
	c, r, s         int
	volts, farads   float64
	turns           int // bit
	hums            func(v view) bool
	start           [2]complex128 // start winding's impedance, standing and turning
}

// motor adds the windings of one speed. Standing, a winding is its copper and
// its leakage: the run winding's impedance is volts over locked-rotor current,
// two fifths of it resistance (copper and the rotor's reflected) unless its
// copper alone is more; the start winding is that times the ratio of the two
// coppers. Turning, the capacitor is taken to stand at 1.5 times the line, 45
// degrees ahead, and the common lead to carry the rated current at a power factor
// of 0.93. Of our own making; they set what a clamp would read and not a rating.
//
// It starts with three quarters of its volts and at least two fifths of the
// torque that it has with its own capacitor; torque goes with the product of the
// two currents and the sine between them. It goes on turning down to three
// fifths of its volts.
func (n *net) motor(d *device, suffix, c, r, s, what string) int {
	volts, rla, lra, farads := d.num("volts"+suffix), d.num("rla"+suffix), d.num("lra"+suffix), d.num("farads"+suffix)
	run, start := d.num("run-ohms"+suffix), d.num("start-ohms"+suffix)
	v := complex(volts, 0)
	xc := complex(0, -1/(n.w*farads))
	z := volts / lra
	standR := complex(math.Max(0.4*z, math.Min(run, 0.95*z)), 0)
	standR += complex(0, math.Sqrt(z*z-real(standR)*real(standR)))
	ratio := math.Min(3, math.Max(1, start/run))
	standS := standR * complex(ratio, 0)
	is := cmplx.Rect(1.5*volts*n.w*farads, math.Pi/4)
	var turnR complex128
	for pf := 0.93; ; pf += 0.01 {
		turnR = v / (cmplx.Rect(rla, -math.Acos(math.Min(1, pf))) - is)
		if real(turnR) > 0 {
			break
		}
		if pf > 1 { // a small motor with a large capacitor: what is left is magnetising current
			turnR = complex(2*volts/rla, 2*volts/rla)
			break
		}
	}
	turnS := v/is - xc
	name := d.ID + suffix
	nc, nr, ns := n.at(d.ID, c), n.at(d.ID, r), n.at(d.ID, s)
	bit := n.newBit()
	n.add(part{dev: d.ID, name: "run winding" + suffix, a: nc, b: nr, on: of(turnR, n.w), off: of(standR, n.w), bit: bit})
	n.add(part{dev: d.ID, name: "start winding" + suffix, a: nc, b: ns, on: of(turnS, n.w), off: of(standS, n.w), bit: bit})
	least, hold := 0.75, 0.6 // of its volts: to start, to go on
	if d.has("low-part") {
		least, hold = 0.5, 0.4
	}
	torque := func(im, is complex128) float64 { return imag(is * cmplx.Conj(im)) }
	own := torque(v/standR, v/(standS+xc))
	n.signals = append(n.signals, signal{name + " turns", true, bit, func(x view, now bits) bool {
		vr, vs := x.across(nc, nr), x.across(nc, ns)
		if now.has(bit) {
			return abs(vr) >= hold*volts
		}
		return abs(vr) >= least*volts && torque(vr/standR, vs/standS) >= 0.7*least*least*own
	}})
	n.motors = append(n.motors, motor{d.ID, name, d.Kind, nc, nr, ns, volts, farads, bit, func(x view) bool { return abs(x.across(nc, nr)) > 0.3*volts }, [2]complex128{standS, turnS}})
	n.load(d, "run winding"+suffix, what, c, r, volts)
	n.load(d, "rotor"+suffix, what, c, r, 5).level = func(_ view, now bits) float64 {
		if now.has(bit) {
			return 1
		}
		return 0
	}
	return bit
}

func (n *net) capacitor(d *device, name, t1, t2 string, farads float64) {
	n.add(part{dev: d.ID, name: name, a: n.at(d.ID, t1), b: n.at(d.ID, t2), on: rlc{r: 0.1, c: farads}, bit: -1})
}

func (n *net) calls() (one, two, fan int) {
	return n.input("cool-1", "", "call", false), n.input("cool-2", "", "call", false), n.input("fan", "", "call", false)
}

// link is a data pair: it works if both wires lead to one thermostat that has
// its 24 V, the right way round, and are not joined to one another.
func (n *net) link(d *device) int {
	a, b := n.at(d.ID, "A"), n.at(d.ID, "B")
	return n.signal(d.ID+" link", func(v view, now bits) bool {
		for i := range n.f.Devices {
			t := &n.f.Devices[i]
			if t.Kind != "thermostat-digital" {
				continue
			}
			if abs(v.across(n.at(t.ID, "R"), n.at(t.ID, "C"))) >= 16 && n.joined(now, a, n.at(t.ID, "A")) && n.joined(now, b, n.at(t.ID, "B")) && !n.joined(now, a, b) {
				return true
			}
		}
		return false
	})
}

// taps adds an electronic motor with 24 V inputs, and gives what each sees.
func (n *net) taps(d *device, t1, t2 string, names ...string) (in []int) {
	for _, t := range names {
		n.impede(d, "input "+t, t, "C", complex(d.num("input-ohms"), 0))
		in = append(in, n.powered(d, t, t, "C", 12))
	}
	v := d.num("volts")
	run := n.signal(d.ID+" run", func(_ view, now bits) bool {
		for _, b := range in {
			if now.has(b) {
				return true
			}
		}
		return false
	})
	n.add(part{dev: d.ID, name: "motor", a: n.at(d.ID, t1), b: n.at(d.ID, t2), on: of(lagging(v, d.num("watts"), d.powerFactor()), n.w), off: rlc{r: v * v / 8}, bit: run})
	return in
}

// powerFactor of an electronic motor, by its plate; where that was not read, 0.7.
func (d *device) powerFactor() float64 {
	if a := d.num("amps"); a > 0 {
		return min(1, d.num("watts")/(a*d.num("volts")))
	}
	return 0.7
}

// electronics takes its supply from R to C.
func (n *net) electronics(d *device) {
	n.impede(d, "electronics", "R", "C", complex(d.num("board-ohms"), 0))
	n.load(d, "electronics", "accessory", "R", "C", 24)
}

func init() {
	contactor := func(poles int) func(n *net, d *device) {
		return func(n *net, d *device) {
			in := n.coil(d, "A1", "A2", "contactor coil")
			n.touch(d, "pole 1", "L1", "T1", in, true)
			if poles == 2 {
				n.touch(d, "pole 2", "L2", "T2", in, true)
			} else {
				n.impede(d, "bar", "L2", "T2", 1e-3)
			}
		}
	}
	opener := func(n *net, d *device) { // a contact that something outside opens
		closed := n.input(d.ID, d.ID, "switch", !d.has("closed") || d.num("closed") == 1)
		n.touch(d, "contact", "1", "2", closed, true)
	}
	capacity := func(n *net, d *device) {
		n.motor(d, "", "C", "R", "S", "compressor")
		n.impede(d, "solenoid", "U1", "U2", complex(d.either("valve-ohms", "solenoid-ohms"), 0))
		n.load(d, "solenoid", "stage", "U1", "U2", 24)
	}
	// The boards that a two-stage outdoor unit has: a stage's relay passes R to the
	// contactor once it is called, both supervised loops are closed and the delay
	// has run; the second stage's output needs the first.
	outdoor := func(n *net, d *device, call1, call2 int) {
		n.electronics(d)
		ran := n.input(d.ID+" delay", d.ID, "delay", true)
		need := []int{n.powered(d, "power", "R", "C", 16), call1, ran}
		for _, l := range []string{"LPS", "DTS"} {
			n.impede(d, l+" feed", "R", l+"1", 120)
			n.impede(d, l+" sense", l+"2", "C", 2000)
			need = append(need, n.powered(d, l, l+"2", "C", 12))
		}
		first := n.all(d.ID+" first", need...)
		n.touch(d, "first relay", "R", "CC", first, true)
		n.touch(d, "second relay", "R", "U1", n.all(d.ID+" second", first, call2), true)
		n.impede(d, "tie", "U2", "C", 1e-3)
		n.impede(d, "sensor", "OAT1", "OAT2", 1e4)
		n.impede(d, "sensor return", "OAT2", "C", 1e-3)
	}
	indoor := func(outputs bool) func(n *net, d *device) {
		return func(n *net, d *device) {
			n.electronics(d)
			one, two, fan := n.calls()
			link, power := n.link(d), n.powered(d, "power", "R", "C", 16)
			single := d.num("stages") == 1
			give := func(t string, f func(c1, c2, g bool) bool) {
				n.touch(d, t+" relay", "R", t, n.signal(d.ID+" "+t, func(_ view, now bits) bool {
					return now.has(link) && now.has(power) && f(now.has(one), now.has(two), now.has(fan))
				}), true)
			}
			if outputs {
				n.impede(d, "sensor", "OAT1", "OAT2", 1e4)
				n.impede(d, "sensor return", "OAT2", "C", 1e-3)
				conv := d.num("outdoor-conventional") == 1
				give("Y1", func(c1, _, _ bool) bool { return conv && c1 })
				give("Y2", func(c1, c2, _ bool) bool { return conv && !single && c1 && c2 })
			}
			give("BG", func(c1, _, g bool) bool { return g || c1 })
			give("BY1", func(c1, _, _ bool) bool { return c1 })
			give("BY2", func(c1, c2, _ bool) bool { return c1 && (single || c2) })
		}
	}
	models = map[string]func(n *net, d *device){
		"supply": func(n *net, d *device) {
			z := d.num("source-ohms") / 2
			n.source(d, "leg 1", "L1", "GND", d.num("volts")/2, z)
			n.source(d, "leg 2", "L2", "GND", -d.num("volts")/2, z)
			n.earth(d, "GND")
		},
		"supply-120": func(n *net, d *device) {
			n.source(d, "hot", "L", "N", d.num("volts"), d.num("source-ohms"))
			n.impede(d, "bond", "N", "GND", 1e-3)
			n.earth(d, "GND")
		},
		// The core takes a magnetising current, here 15 % of the rated one.
		"transformer": func(n *net, d *device) {
			v := d.num("primary-volts")
			n.couplers = append(n.couplers, coupler{d.ID, n.at(d.ID, "P1"), n.at(d.ID, "P2"), n.at(d.ID, "S1"), n.at(d.ID, "S2"),
				d.num("open-volts") / v, of(complex(d.num("ohms"), d.num("reactance")), n.w), d.num("va"), d.num("volts")})
			n.impede(d, "core", "P1", "P2", complex(0, v*v/(0.15*d.num("va"))))
			n.load(d, "primary", "primary", "P1", "P2", v)
		},
		"contactor-1p": contactor(1),
		"contactor-2p": contactor(2),
		"relay": func(n *net, d *device) {
			in := n.coil(d, "A1", "A2", "coil")
			n.touch(d, "NO", "COM", "NO", in, true)
			n.touch(d, "NC", "COM", "NC", in, false)
		},
		"time-delay": func(n *net, d *device) {
			ran := n.input(d.ID+" delay", d.ID, "delay", true)
			n.touch(d, "contact", "IN", "OUT", n.all(d.ID+" out", n.coil(d, "IN", "C", "delay"), ran), true)
		},
		"compressor-single": func(n *net, d *device) { n.motor(d, "", "C", "R", "S", "compressor") },
		"compressor-two-speed": func(n *net, d *device) {
			n.motor(d, "", "C", "R1", "S1", "compressor")
			n.motor(d, "-high", "C", "R2", "S2", "compressor")
		},
		"compressor-unloading":    capacity,
		"compressor-two-capacity": capacity,
		"fan-psc":                 func(n *net, d *device) { n.motor(d, "", "C", "R", "S", "fan") },
		"fan-ecm": func(n *net, d *device) {
			v := d.num("volts")
			n.impede(d, "motor", "1", "2", lagging(v, d.num("watts"), d.powerFactor()))
			n.load(d, "motor", "fan", "1", "2", v)
		},
		"blower-ecm": func(n *net, d *device) {
			in, v := n.taps(d, "L", "N", "G", "Y1", "Y2"), d.num("volts")
			// Its duty is the air it gives: none, the fan's, the first stage's, full.
			l := n.load(d, "air", "blower", "L", "N", 5)
			ln, nn, full := l.a, l.b, d.num("y1-full") == 1
			l.level = func(x view, now bits) float64 {
				switch {
				case abs(x.across(ln, nn)) < 0.75*v:
					return 0
				case now.has(in[2]), now.has(in[1]) && full:
					return 3
				case now.has(in[1]):
					return 2
				case now.has(in[0]):
					return 1
				}
				return 0
			}
		},
		"capacitor-run": func(n *net, d *device) { n.capacitor(d, "capacitor", "1", "2", d.num("farads")) },
		"capacitor-start": func(n *net, d *device) {
			n.capacitor(d, "capacitor", "1", "2", d.num("farads"))
			n.impede(d, "bleed", "1", "2", complex(d.num("bleed-ohms"), 0))
		},
		"capacitor-dual": func(n *net, d *device) {
			n.capacitor(d, "compressor side", "C", "HERM", d.num("farads"))
			n.capacitor(d, "fan side", "C", "FAN", d.num("fan-farads"))
		},
		"start-relay": func(n *net, d *device) {
			n.touch(d, "contact", "1", "2", n.coil(d, "2", "5", "start coil"), false)
		},
		"heater-crankcase": func(n *net, d *device) {
			v := d.num("volts")
			n.impede(d, "heater", "1", "2", complex(v*v/d.num("watts"), 0))
			n.load(d, "heater", "heater", "1", "2", v)
		},
		"pressure-high": opener, "pressure-low": opener, "thermostat-discharge": opener, "switch": opener,
		"sensor-temperature": func(n *net, d *device) { n.impede(d, "sensor", "1", "2", complex(d.num("ohms"), 0)) },
		"fuse": func(n *net, d *device) {
			whole := n.input(d.ID+" whole", d.ID, "fuse", true)
			n.add(part{dev: d.ID, name: "link", a: n.at(d.ID, "1"), b: n.at(d.ID, "2"), on: rlc{r: d.num("ohms")}, bit: whole, contact: true, fuse: true, amps: d.num("amps")})
		},
		"splice": func(*net, *device) {}, "ground-lug": func(*net, *device) {},
		"pressure-high-line": opener, "overload-line": opener, "fan-cycling": opener,
		"lockout-relay": func(n *net, d *device) { n.touch(d, "NC", "COM", "NC", n.coil(d, "A1", "A2", "lockout"), false) },
		"monitor": func(n *net, d *device) {
			n.electronics(d)
			well := n.input(d.ID, d.ID, "switch", true)
			n.touch(d, "contact", "M1", "M2", n.all(d.ID+" contact", n.powered(d, "power", "R", "C", 16), well), true)
		},
		// The thermistor is slow as a rotor is: it warms while the rotor starts.
		"start-ptc": func(n *net, d *device) {
			a, b, at := n.at(d.ID, "1"), n.at(d.ID, "2"), d.num("warm-volts")
			warm := n.newBit()
			n.signals = append(n.signals, signal{d.ID + " warm", true, warm, func(v view, _ bits) bool { return abs(v.across(a, b)) >= at }})
			n.add(part{dev: d.ID, name: "thermistor", a: a, b: b, on: rlc{r: d.num("warm-ohms")}, off: rlc{r: d.num("cold-ohms")}, bit: warm})
		},
		// More turns between LO and HI; the line lies on C and one of the two.
		"fan-two-speed": func(n *net, d *device) {
			n.motor(d, "", "HI", "C", "S", "fan")
			m := &n.motors[len(n.motors)-1]
			run := n.parts[len(n.parts)-2]
			k := 1/d.num("low-part") - 1
			n.add(part{dev: d.ID, name: "low-speed winding", a: n.at(d.ID, "LO"), b: n.at(d.ID, "HI"), on: run.on.times(k), off: run.off.times(k), bit: m.turns})
		},
		"fan-ecm-taps": func(n *net, d *device) {
			in := n.taps(d, "1", "2", "LO", "HI")
			l := n.load(d, "speed", "fan", "1", "2", 5)
			a, b, v := l.a, l.b, d.num("volts")
			l.level = func(x view, now bits) float64 {
				switch {
				case abs(x.across(a, b)) < 0.75*v:
				case now.has(in[1]):
					return 2
				case now.has(in[0]):
					return 1
				}
				return 0
			}
		},
		"indoor-digital-only": indoor(false),
		"impedance": func(n *net, d *device) {
			n.add(part{dev: d.ID, name: "impedance", a: n.at(d.ID, "1"), b: n.at(d.ID, "2"), on: rlc{d.num("ohms"), d.num("henries"), d.num("farads")}, bit: -1})
		},
		"board-two-stage": func(n *net, d *device) {
			for _, t := range []string{"Y1", "Y2"} {
				n.impede(d, "input "+t, t, "C", 1500)
			}
			outdoor(n, d, n.powered(d, "Y1", "Y1", "C", 14), n.powered(d, "Y2", "Y2", "C", 14))
		},
		"board-digital": func(n *net, d *device) {
			one, two, _ := n.calls()
			link := n.link(d)
			outdoor(n, d, n.all(d.ID+" call 1", link, one), n.all(d.ID+" call 2", link, two))
		},
		"indoor-board": func(n *net, d *device) {
			for _, t := range []string{"Y1", "Y2", "G"} {
				n.impede(d, "input "+t, t, "C", 3300)
			}
		},
		"indoor-digital": indoor(true),
		"thermostat": func(n *net, d *device) {
			n.electronics(d)
			one, two, fan := n.calls()
			n.touch(d, "Y1 contact", "R", "Y1", one, true)
			n.touch(d, "Y2 contact", "R", "Y2", two, true)
			n.touch(d, "G contact", "R", "G", fan, true)
		},
		"thermostat-digital": func(n *net, d *device) {
			n.electronics(d)
			n.calls()
		},
	}
}

// lagging is the impedance that takes so many watts at a power factor.
func lagging(volts, watts, pf float64) complex128 {
	z := volts * volts * pf / watts
	return cmplx.Rect(z, math.Acos(pf))
}
