package netlist

// Contactors, relays, switches and fuses: what opens and closes.

func init() {
	contactor := func(poles int) func(b *builder, d *Device) {
		return func(b *builder, d *Device) {
			sig := b.coil(d, "A1", "A2")
			b.pole(d, "pole 1", "L1", "T1", sig)
			if poles == 2 {
				b.pole(d, "pole 2", "L2", "T2", sig)
			} else {
				b.load("bar", "L2", "T2", 1e-3, 1e-3)
			}
		}
	}
	// contactor-1p, contactor-2p: the poles close while the coil from A1 to A2 is drawn;
	// it draws at pick-up and lets go at drop-out. With one pole L2 and T2 are joined
	// for good.
	define("contactor-1p", "contactor, one pole, the other leg through a bar", "L1:line T1:line L2:line T2:line A1:class2 A2:class2", of(coil, contact, lockedRotor), contactor(1))
	define("contactor-2p", "contactor, two poles", "L1:line T1:line L2:line T2:line A1:class2 A2:class2", of(coil, contact, lockedRotor), contactor(2))
	// relay: COM to NC at rest, COM to NO while the coil is drawn.
	define("relay", "relay, one change-over contact", "COM NO NC A1:class2 A2:class2", relayCoil(of(coil, with(contact, "contact-amps", 10))),
		func(b *builder, d *Device) {
			sig := b.coil(d, "A1", "A2")
			b.pole(d, "NO contact", "COM", "NO", sig)
			b.contact("NC contact", "COM", "NC", sig, true, d.P("contact-ohms"), d.P("contact-amps"))
		})
	// lockout-relay: a coil of high impedance and a contact COM to NC that opens while it
	// is drawn. The coil lies across the contact and the safeties in series with it: a
	// safety that opens puts the coil in series with the contactor's, which lets go; the
	// contact then keeps the way open until the call is gone, whatever the safety does.
	define("lockout-relay", "lockout relay, coil of high impedance, one contact closed at rest", "COM:class2 NC:class2 A1:class2 A2:class2",
		of(with(with(with(with(with(coil, "coil-ohms", 400), "coil-reactance", 900), "coil-dc-ohms", 350), "pick-up", 15), "drop-out", 8), with(contact, "contact-amps", 3)),
		func(b *builder, d *Device) {
			sig := b.coil(d, "A1", "A2")
			b.contact("NC contact", "COM", "NC", sig, true, d.P("contact-ohms"), d.P("contact-amps"))
		})
	// time-delay: IN to OUT while the coil from IN to C is drawn and the delay has run,
	// which is an input of the circuit.
	define("time-delay", "time-delay relay: passes IN to OUT once powered for its delay", "IN:class2 OUT:class2 C:class2",
		of(with(relayCoil(coil), "pick-up", 15), with(safety, "contact-amps", 1.5), []Param{{"seconds", 300, 1, 900, "s"}}),
		func(b *builder, d *Device) {
			ran := b.input(d.ID+" delay", "delay", d.say()+" has run its delay", true)
			sig := b.coil(d, "IN", "C")
			b.pole(d, "contact", "IN", "OUT", b.and(d.ID+" output", sig, ran))
		})
	// monitor: M1 to M2 while R to C has 16 V or more and the monitor finds the
	// compressor well, which is an input of the circuit; open without power.
	define("monitor", "compressor monitor with a contact", "R:class2 C:class2 M1 M2", of(safety, []Param{{"board-ohms", 300, 20, 1e5, "ohm"}}),
		func(b *builder, d *Device) {
			b.load("board", "R", "C", complex(d.P("board-ohms"), 0), d.P("board-ohms"))
			well := b.input(d.ID, "safety", d.say()+" closed", true)
			b.pole(d, "contact", "M1", "M2", b.and(d.ID+" contact", b.sense(d, "R", 16, 60), well))
		})

	// The switches: 1 to 2 while the input of the circuit that bears the device's name
	// says closed.
	for _, k := range []struct {
		name, words, class, input string
		params                    []Param
	}{
		{"pressure-high", "high-pressure switch", "class2", "safety", of(safety, opensAt)},
		{"pressure-low", "low-pressure switch", "class2", "safety", of(safety, opensAt)},
		{"thermostat-discharge", "discharge thermostat", "class2", "safety", safety},
		{"pressure-high-line", "high-pressure switch in the compressor's line", "line", "safety", of(with(contact, "contact-amps", 25), opensAt)},
		{"overload-line", "overload switch in the compressor's common lead", "line", "safety", of(contact, []Param{{"trip-amps", 0, 0, 200, "A"}})},
		{"fan-cycling", "fan switch worked by pressure or temperature, in the fan's line", "line", "control", with(contact, "contact-amps", 8)},
		{"switch", "hand or auxiliary switch", "any", "switch", of(contact, []Param{{"closed", 1, 0, 1, ""}})},
	} {
		sw := define(k.name, k.words, "1:"+k.class+" 2:"+k.class, k.params, func(b *builder, d *Device) {
			closed := Kinds[d.Kind].param("closed") == nil || d.P("closed") == 1
			in := b.input(d.ID, k.input, d.say()+" closed", closed)
			b.pole(d, "contact", "1", "2", in)
		})
		sw.fixed = true
	}
	// fuse: a resistance; nothing blows it but a fault that is tried. volts is what it
	// may part, as marked on it; 0: not read.
	define("fuse", "fuse", "1 2", []Param{{"amps", 5, 0.5, 60, "A"}, {"ohms", 0.02, 1e-4, 1, "ohm"}, {"volts", 0, 0, 1000, "V"}}, func(b *builder, d *Device) {
		br := b.load("link", "1", "2", complex(d.P("ohms"), 0), d.P("ohms"))
		br.Rating, br.Kind = d.P("amps"), ContactBranch
	})
}
