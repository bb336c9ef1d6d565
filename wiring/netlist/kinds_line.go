package netlist

import (
	"math"
	"math/cmplx"
)

// Supplies, transformers, grounds, capacitors, and what starts a motor.

var (
	capacity  = []Param{{"farads", 40e-6, 1e-6, 200e-6, "F"}, {"volts", 440, 100, 600, "V"}, {"tolerance", 0.06, 0.01, 0.3, ""}}
	rated     = []Param{{"breaker-amps", 40, 1, 200, "A"}, terminalRating}
	startCoil = []Param{{"coil-ohms", 3000, 100, 1e5, "ohm"}, {"coil-reactance", 9000, 0, 1e5, "ohm"}, {"coil-dc-ohms", 2800, 100, 1e5, "ohm"},
		{"coil-volts", 350, 50, 500, "V"}, {"pick-up", 220, 50, 450, "V"}, {"drop-out", 120, 20, 400, "V"}, {"contact-ohms", 0.02, 0, 10, "ohm"}, {"contact-amps", 35, 1, 100, "A"}}
)

func init() {
	// supply: two legs of opposite sign about GND, each of half the voltage and half
	// the source resistance; GND is earth.
	define("supply", "line supply at the disconnect, two legs", "L1:line L2:line GND:ground",
		of([]Param{{"volts", 240, 100, 300, "V"}, {"source-ohms", 0.04, 1e-4, 5, "ohm"}}, rated),
		func(b *builder, d *Device) {
			v, z := complex(d.P("volts")/2, 0), complex(d.P("source-ohms")/2, 0)
			b.source("leg 1", b.t("L1"), b.t("GND"), v, z, d.P("breaker-amps"), Line)
			b.source("leg 2", b.t("L2"), b.t("GND"), -v, z, d.P("breaker-amps"), Line)
			b.load("earth", "GND", "", 1e-3, 1e-3)
		})
	// supply-120: one leg against N, which is bonded to GND; GND is earth.
	define("supply-120", "line supply, hot and neutral", "L:line N:line GND:ground",
		of([]Param{{"volts", 120, 90, 150, "V"}, {"source-ohms", 0.05, 1e-4, 5, "ohm"}}, with(rated, "breaker-amps", 15)),
		func(b *builder, d *Device) {
			b.source("hot", b.t("L"), b.t("N"), complex(d.P("volts"), 0), complex(d.P("source-ohms"), 0), d.P("breaker-amps"), Line)
			b.load("bond", "N", "GND", 1e-3, 1e-3)
			b.load("earth", "GND", "", 1e-3, 1e-3)
		})
	// supply-three-phase: three legs a third of a cycle apart, L1 leading, about GND,
	// which is earth; volts is from leg to leg. Known so that it can be refused.
	define("supply-three-phase", "line supply, three phases", "L1:line L2:line L3:line GND:ground",
		of([]Param{{"volts", 208, 100, 300, "V"}, {"source-ohms", 0.04, 1e-4, 5, "ohm"}}, rated),
		func(b *builder, d *Device) {
			for i, t := range []string{"L1", "L2", "L3"} {
				b.source("leg "+t[1:], b.t(t), b.t("GND"), cmplx.Rect(d.P("volts")/math.Sqrt(3), -2*math.Pi/3*float64(i)), complex(d.P("source-ohms")/2, 0), d.P("breaker-amps"), Line)
			}
			b.load("earth", "GND", "", 1e-3, 1e-3)
		})
	// transformer: S1 to S2 has open-volts times the primary's voltage over
	// primary-volts, behind ohms and reactance; P1 to P2 takes a magnetising current.
	// No end is earthed inside. For the outdoor unit, primary-volts is 240 or 208.
	define("transformer", "control transformer", "P1:line P2:line S1:class2 S2:class2",
		[]Param{{"primary-volts", 120, 100, 280, "V"}, {"open-volts", 26.5, 5, 60, "V"}, {"volts", 24, 5, 60, "V"}, {"va", 40, 5, 200, "VA"},
			{"ohms", 1.2, 0.001, 50, "ohm"}, {"reactance", 0.5, 0, 50, "ohm"}, {"primary-dc-ohms", 18, 0.1, 1000, "ohm"}, {"secondary-dc-ohms", 0.6, 0.01, 50, "ohm"},
			{"class-2", 0, 0, 1, ""}}, // 1: so its plate says
		func(b *builder, d *Device) { b.transformer(d) })
	// ground-lug: the ground screw of a cabinet or the stud of a part; everything on
	// it is joined, like a splice, and a ground conductor brings it to earth.
	define("ground-lug", "equipment ground screw", "1:ground", nil, func(*builder, *Device) {})
	// splice: everything on it is joined.
	define("splice", "splice or wire nut", "1", nil, func(*builder, *Device) {})

	// capacitor-run, -start and -dual: a capacitance with 0.1 ohm in series between
	// each pair of terminals named; open to an ohmmeter.
	define("capacitor-run", "run capacitor", "1:line 2:line", capacity, func(b *builder, d *Device) { b.capacitor("capacitor", "1", "2", d.P("farads")) })
	// The start capacitor has a bleed resistor across it, which an ohmmeter reads.
	define("capacitor-start", "start capacitor with its bleed resistor", "1:line 2:line",
		[]Param{{"farads", 150e-6, 20e-6, 1400e-6, "F"}, {"volts", 330, 100, 600, "V"}, {"tolerance", 0.2, 0.01, 0.3, ""}, {"bleed-ohms", 15000, 1000, 1e6, "ohm"}}, func(b *builder, d *Device) {
			b.capacitor("capacitor", "1", "2", d.P("farads"))
			b.load("bleed", "1", "2", complex(d.P("bleed-ohms"), 0), d.P("bleed-ohms"))
		})
	define("capacitor-dual", "dual run capacitor, compressor and fan", "C:line HERM:line FAN:line",
		of(capacity, []Param{{"fan-farads", 5e-6, 1e-6, 60e-6, "F"}}), func(b *builder, d *Device) {
			b.capacitor("compressor side", "C", "HERM", d.P("farads"))
			b.capacitor("fan side", "C", "FAN", d.P("fan-farads"))
		})
	// start-relay (potential relay): coil from 2 to 5, contact from 1 to 2, closed at
	// rest. Wired with 2 on the start winding, 5 on the common and 1 through the start
	// capacitor to the run side: the start capacitor lies parallel to the run capacitor
	// until the start winding's own voltage, some way above the line's once the rotor
	// turns, opens the contact.
	define("start-relay", "start relay worked by the start winding's voltage", "1:line 2:line 5:line", startCoil,
		func(b *builder, d *Device) {
			sig := b.coil(d, "2", "5")
			b.contact("contact", "1", "2", sig, true, d.P("contact-ohms"), d.P("contact-amps"))
		})
	// start-ptc: a resistance that heats itself: cold-ohms until it stands at
	// warm-volts or more, then warm-ohms until the voltage has gone below that. An
	// ohmmeter finds it cold. It lies parallel to the run capacitor, alone or in series
	// with a start capacitor. (Its seconds of warming and minutes of cooling are not
	// modelled: a restart while it is warm cannot be seen here.)
	define("start-ptc", "start thermistor, low when cold, nearly open when warm", "1:line 2:line",
		[]Param{{"cold-ohms", 25, 5, 200, "ohm"}, {"warm-ohms", 3e4, 1e3, 1e6, "ohm"}, {"warm-volts", 60, 10, 200, "V"}, {"volts", 500, 100, 600, "V"}},
		func(b *builder, d *Device) {
			br := b.load("thermistor", "1", "2", complex(d.P("warm-ohms"), 0), d.P("cold-ohms"))
			i, at := b.last(), d.P("warm-volts")
			warm := b.logic(d.ID+" warm", func(s *Solver, _ *bits, _ bool) bool { return s.across(i) >= at })
			br.sig, br.ac[0], br.dc[0] = int32(warm), complex(1/d.P("cold-ohms"), 0), 1/d.P("cold-ohms")
		})
	// heater-crankcase: a resistance; heats above 0.8 of its voltage.
	define("heater-crankcase", "crankcase heater", "1:line 2:line", []Param{{"watts", 40, 5, 200, "W"}, {"volts", 240, 100, 280, "V"}}, func(b *builder, d *Device) {
		v := d.P("volts")
		r := v * v / d.P("watts")
		b.load("heater", "1", "2", complex(r, 0), r)
		i := b.last()
		b.status("heater", func(s *Solver, _ *bits) string { return pick(s.across(i) > 0.8*v, "heats", false, "") })
	})
	// sensor-temperature: a resistance.
	define("sensor-temperature", "temperature sensor, a resistance that falls with warmth", "1:class2 2:class2", []Param{{"ohms", 10000, 100, 1e6, "ohm"}},
		func(b *builder, d *Device) { b.load("sensor", "1", "2", complex(d.P("ohms"), 0), d.P("ohms")) })
	// impedance and source: what a textbook has, for checks.
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
			class := Any
			if d.P("volts") > 60 { // a feed of another trade: to be locked and listed like the unit's own
				class = Line
			}
			b.source("source", b.t("1"), b.t("2"), complex(d.P("volts"), 0), complex(d.P("ohms"), 0), d.P("amps"), class)
		})
}

func (b *builder) capacitor(name, t1, t2 string, farads float64) {
	b.load(name, t1, t2, 0.1-1i*complex(1/(b.omega*farads), 0), math.Inf(1))
}
