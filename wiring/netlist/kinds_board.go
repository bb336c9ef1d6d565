package netlist

// Boards, indoor controls and thermostats. An input is a resistance to C, and sees a
// call by its voltage; an output is R through a relay.

const carrierLo, carrierHi = 1, 5 // V between A and B: the data pair is alive

var board = []Param{{"contact-amps", 1.5, 0.1, 30, "A"}, {"contact-ohms", 0.05, 0, 10, "ohm"}, {"board-ohms", 250, 20, 1e5, "ohm"}}

func init() {
	// board-two-stage: powered by 16 V or more from R to C. CC is R through a relay once
	// Y1 sees a call (14 V or more to C), both loops LPS1 to LPS2 and DTS1 to DTS2 are
	// closed outside, and its delay has run; U1 is R through another when Y2 sees a call
	// as well. U2 is C. A sensor on OAT1 and OAT2 is read and changes nothing.
	define("board-two-stage", "two-stage outdoor control board, 24 V calls", outdoorLoop("Y1:class2 Y2:class2"),
		board, func(b *builder, d *Device) {
			b.strip(1500, "Y1", "Y2")
			b.outdoor(d, b.sense(d, "Y1", 14, 60), b.sense(d, "Y2", 14, 60))
		})
	// board-digital: the same, with the two calls coming over the data pair A and B while
	// its carrier stands there (1 to 5 V).
	define("board-digital", "two-stage outdoor control board on a digital bus", outdoorLoop("A:class2 B:class2"),
		board, func(b *builder, d *Device) {
			b.load("bus termination", "A", "B", 240, 240)
			b.load("bus bias", "B", "C", 1e5, 1e5)
			link := b.between(d, "bus", "A", "B", carrierLo, carrierHi)
			c1, c2, _ := b.calls()
			b.outdoor(d, b.and(d.ID+" call 1", link, c1), b.and(d.ID+" call 2", link, c2))
		})
	// board-self-staging: the same with one call, Y; it chooses the second stage itself,
	// which is an input of the circuit. Known so that it can be refused.
	define("board-self-staging", "outdoor control board with one call that chooses the stage itself", outdoorLoop("Y:class2"),
		board, func(b *builder, d *Device) {
			b.strip(1500, "Y")
			b.outdoor(d, b.sense(d, "Y", 14, 60), b.input(d.ID+" high", "control", d.say()+" has chosen its second stage", false))
		})
	// defrost-board, reversing-valve: what a heat pump has more; known so that it can be
	// refused.
	define("defrost-board", "defrost control of a heat pump (inputs only)", "R:class2 C:class2 Y:class2 O:class2", nil, func(b *builder, d *Device) {
		b.load("board", "R", "C", 250, 250)
	})
	define("reversing-valve", "reversing valve coil of a heat pump", "1:class2 2:class2", with(coil, "coil-ohms", 40), func(b *builder, d *Device) {
		sig := b.coil(d, "1", "2")
		b.status("valve", func(_ *Solver, on *bits) string { return pick(on.get(sig), "drawn", false, "") })
	})
	// indoor-board: each input a resistance to C.
	define("indoor-board", "indoor unit's terminal strip", "R:class2 C:class2 Y1:class2 Y2:class2 G:class2", nil,
		func(b *builder, d *Device) { b.strip(3300, "Y1", "Y2", "G") })
	// indoor-digital: while powered and with the carrier from A to B it gives R on BG at
	// a fan or first-stage call, on BY1 at a first-stage call, on BY2 at both calls.
	// Settings: outdoor-conventional = 1 makes it give the outdoor unit R on Y1 at a
	// first-stage call (and on Y2 at both, while stages = 2); stages = 1 gives BY2 at a
	// first-stage call.
	define("indoor-digital", "indoor control on a digital bus, with 24 V outdoor outputs", "R:class2 C:class2 A:class2 B:class2 Y1:class2 Y2:class2 BG:class2 BY1:class2 BY2:class2 OAT1:class2 OAT2:class2",
		of(board, []Param{{"outdoor-conventional", 0, 0, 1, ""}, {"stages", 2, 1, 2, ""}}), func(b *builder, d *Device) {
			b.indoorDigital(d)
			b.load("sensor input", "OAT1", "OAT2", 10000, 10000)
			b.load("sensor return", "OAT2", "C", 1e-3, 1e-3)
		})
	// indoor-digital-only: the same without the 24 V outputs for the outdoor unit.
	define("indoor-digital-only", "indoor control on a digital bus, no 24 V outdoor outputs", "R:class2 C:class2 A:class2 B:class2 BG:class2 BY1:class2 BY2:class2",
		of(board, []Param{{"stages", 2, 1, 2, ""}}), func(b *builder, d *Device) { b.indoorDigital(d) })
	// thermostat: R to Y1 at a first-stage call, to Y2 at a second-stage call, to G at a
	// fan call, powered or not; R to C is a load.
	define("thermostat", "thermostat, 24 V", "R:class2 C:class2 Y1:class2 Y2:class2 G:class2", with(board, "board-ohms", 600), func(b *builder, d *Device) {
		b.load("electronics", "R", "C", complex(d.P("board-ohms"), 0), d.P("board-ohms"))
		c1, c2, fan := b.calls()
		b.pole(d, "Y1 contact", "R", "Y1", c1)
		b.pole(d, "Y2 contact", "R", "Y2", c2)
		b.pole(d, "G contact", "R", "G", fan)
	})
	// thermostat-digital: while powered it puts a carrier on A and B; what the calls are
	// the other ends learn from it. The data pair is stood in for by a weak carrier of
	// the line's frequency: present or absent.
	define("thermostat-digital", "thermostat on a digital bus", "R:class2 C:class2 A:class2 B:class2", with(board, "board-ohms", 300), func(b *builder, d *Device) {
		b.load("electronics", "R", "C", complex(d.P("board-ohms"), 0), d.P("board-ohms"))
		b.calls()
		power := b.sense(d, "R", 16, 60)
		x := b.inner("carrier")
		b.source("carrier", x, b.t("B"), 4, 60, 0.1, Class2)
		b.contactN("bus driver", x, b.t("A"), power, false, 1, 0.1)
		b.load("bus bias", "B", "C", 1e5, 1e5)
	})
}

// outdoorLoop is the terminals of an outdoor board with its calls.
func outdoorLoop(calls string) string {
	return "R:class2 C:class2 " + calls + " LPS1:class2 LPS2:class2 DTS1:class2 DTS2:class2 CC:class2 U1:class2 U2:class2 OAT1:class2 OAT2:class2"
}

// outdoor is what the outdoor boards have in common.
func (b *builder) outdoor(d *Device, call1, call2 int) {
	b.load("board", "R", "C", complex(d.P("board-ohms"), 0), d.P("board-ohms"))
	power := b.sense(d, "R", 16, 60)
	var loop [2]int
	for i, l := range []string{"LPS", "DTS"} {
		b.load(l+" feed", "R", l+"1", 100, 100)
		b.load(l+" sense", l+"2", "C", 2200, 2200)
		loop[i] = b.sense(d, l+"2", 12, 60)
	}
	ran := b.input(d.ID+" delay", "delay", d.say()+" has run its delay", true)
	cc := b.and(d.ID+" CC", power, call1, loop[0], loop[1], ran)
	st2 := b.and(d.ID+" U1", cc, call2)
	b.pole(d, "CC relay", "R", "CC", cc)
	b.pole(d, "U1 relay", "R", "U1", st2)
	b.load("U2 tie", "U2", "C", 1e-3, 1e-3)
	b.load("sensor input", "OAT1", "OAT2", 10000, 10000)
	b.load("sensor return", "OAT2", "C", 1e-3, 1e-3)
}

// indoorDigital is what the digital indoor controls have in common; one without the
// outputs for the outdoor unit has no setting for them.
func (b *builder) indoorDigital(d *Device) {
	b.load("board", "R", "C", complex(d.P("board-ohms"), 0), d.P("board-ohms"))
	b.load("bus termination", "A", "B", 240, 240)
	b.load("bus bias", "B", "C", 1e5, 1e5)
	link, power := b.between(d, "bus", "A", "B", carrierLo, carrierHi), b.sense(d, "R", 16, 60)
	c1, c2, fan := b.calls()
	conv, one := d.P("outdoor-conventional") == 1, d.P("stages") == 1
	give := func(t string, f func(on *bits) bool) {
		b.pole(d, t+" relay", "R", t, b.logic(d.ID+" "+t, func(_ *Solver, on *bits, _ bool) bool { return on.get(link) && on.get(power) && f(on) }))
	}
	if Kinds[d.Kind].param("outdoor-conventional") != nil {
		give("Y1", func(on *bits) bool { return conv && on.get(c1) })
		give("Y2", func(on *bits) bool { return conv && !one && on.get(c1) && on.get(c2) })
	}
	give("BG", func(on *bits) bool { return on.get(fan) || on.get(c1) })
	give("BY1", func(on *bits) bool { return on.get(c1) })
	give("BY2", func(on *bits) bool { return on.get(c1) && (one || on.get(c2)) })
}

// strip adds inputs that are a resistance to C.
func (b *builder) strip(ohms complex128, names ...string) {
	for _, t := range names {
		b.load("input "+t, t, "C", ohms, real(ohms))
	}
}

// sense is a signal: a voltage from t to C within a range.
func (b *builder) sense(d *Device, t string, lo, hi float64) int {
	n, c := b.t(t), b.t("C")
	return b.logic(d.ID+" sees "+t, func(s *Solver, _ *bits, _ bool) bool { v := s.mag(n, c); return v >= lo && v <= hi })
}

func (b *builder) between(d *Device, name, t1, t2 string, lo, hi float64) int {
	n1, n2 := b.t(t1), b.t(t2)
	return b.logic(d.ID+" "+name, func(s *Solver, _ *bits, _ bool) bool { v := s.mag(n1, n2); return v >= lo && v <= hi })
}

func (b *builder) and(name string, sigs ...int) int {
	return b.logic(name, func(_ *Solver, on *bits, _ bool) bool {
		for _, s := range sigs {
			if !on.get(s) {
				return false
			}
		}
		return true
	})
}

func (b *builder) calls() (c1, c2, fan int) {
	return b.input("cool-1", "call", "first-stage cooling call", false), b.input("cool-2", "call", "second-stage cooling call", false), b.input("fan", "call", "fan call", false)
}
