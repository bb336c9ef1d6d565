package netlist

import "math"

// Compressors, fans and the indoor blower. GND is the motor's shell: nothing inside
// is joined to it while the insulation is sound.

func init() {
	// compressor-single: run winding R to C, start winding S to C. It turns when the
	// run winding has 0.75 of its voltage and the start winding, through a capacitor,
	// 0.3 of its usual current; it keeps turning down to 0.6. With voltage and without
	// turning it stalls and draws its locked-rotor current.
	comp := define("compressor-single", "compressor, one speed", "C:line S:line R:line GND:ground", motor, func(b *builder, d *Device) {
		turn, hum := b.motor(d, "", "C", "R", "S", 1)
		b.status("compressor", func(s *Solver, on *bits) string { return pick(on.get(turn), "runs", hum(s, on), "stalls") })
	})
	comp.check = checkMotor("")
	// compressor-two-speed: two pairs of windings on one common, R1 and S1 for low
	// speed, R2 and S2 for high, each as in a compressor of one speed.
	second := []Param{}
	for _, p := range motor {
		p.Name += "-high"
		second = append(second, p)
	}
	second = with(with(second, "rla-high", 24), "lra-high", 130)
	two := define("compressor-two-speed", "compressor, two windings for two speeds", "C:line S1:line R1:line S2:line R2:line GND:ground", of(motor, second), func(b *builder, d *Device) {
		low, hum1 := b.motor(d, "", "C", "R1", "S1", 1)
		high, hum2 := b.motor(d, "-high", "C", "R2", "S2", 1)
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
	// compressor-two-capacity: one motor as above; with valve-pick-up volts or more
	// from U1 to U2 it runs full, without it runs part.
	part := define("compressor-two-capacity", "compressor of two capacities, internal unloading valve worked by 24 V", "C:line S:line R:line U1:class2 U2:class2 GND:ground",
		of(motor, []Param{{"valve-ohms", 96, 5, 1000, "ohm"}, {"valve-pick-up", 16, 5, 30, "V"}}), func(b *builder, d *Device) {
			turn, hum := b.motor(d, "", "C", "R", "S", 1)
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
	part.check = checkMotor("")
	// compressor-three-phase: three equal impedances in delta; runs while each has 0.75
	// of its voltage. Known so that it can be refused.
	define("compressor-three-phase", "compressor on three phases", "T1:line T2:line T3:line GND:ground",
		[]Param{{"volts", 208, 100, 280, "V"}, {"rla", 14, 0.2, 100, "A"}, {"lra", 90, 0.5, 600, "A"}, {"run-ohms", 1, 0.05, 500, "ohm"}}, func(b *builder, d *Device) {
			z, v := d.P("volts")*math.Sqrt(3)/d.P("rla"), d.P("volts")
			at := [3]int{}
			for i, t := range [3][2]string{{"T1", "T2"}, {"T2", "T3"}, {"T3", "T1"}} {
				b.load("run winding "+t[0], t[0], t[1], complex(0.85*z, 0.53*z), d.P("run-ohms")*1.5)
				at[i] = b.last()
			}
			b.status("compressor", func(s *Solver, _ *bits) string {
				return pick(min(s.across(at[0]), s.across(at[1]), s.across(at[2])) > 0.75*v, "runs", false, "")
			})
		})
	// compressor-inverter and inverter-drive: three windings behind an electronic drive
	// that is a load on the line. What the drive puts out is not modelled: known so that
	// it can be refused.
	define("compressor-inverter", "compressor worked by an inverter", "U:line V:line W:line GND:ground", []Param{{"run-ohms", 0.8, 0.05, 500, "ohm"}}, func(b *builder, d *Device) {
		for _, t := range [3][2]string{{"U", "V"}, {"V", "W"}, {"W", "U"}} {
			b.load("run winding "+t[0], t[0], t[1], complex(d.P("run-ohms"), 0), d.P("run-ohms"))
		}
		b.status("compressor", func(*Solver, *bits) string { return "" })
	})
	define("inverter-drive", "electronic drive of a compressor", "L1:line L2:line U:line V:line W:line R:class2 C:class2 A:class2 B:class2 GND:ground",
		[]Param{{"watts", 60, 1, 9000, "W"}}, func(b *builder, d *Device) {
			b.load("drive", "L1", "L2", complex(240*240/d.P("watts"), 0), 1e5)
			b.load("board", "R", "C", 250, 250)
			b.load("bus termination", "A", "B", 240, 240)
			b.load("bus bias", "B", "C", 1e5, 1e5)
		})

	small := with(with(with(with(with(motor, "rla", 1.3), "lra", 2.5), "farads", 5e-6), "run-ohms", 30), "start-ohms", 60)
	// fan-psc: as a compressor of one speed.
	fan := define("fan-psc", "fan motor, capacitor run", "C:line S:line R:line GND:ground", small, func(b *builder, d *Device) {
		turn, hum := b.motor(d, "", "C", "R", "S", 1)
		b.status("fan", func(s *Solver, on *bits) string { return pick(on.get(turn), "runs", hum(s, on), "stalls") })
	})
	fan.check = checkMotor("")
	// fan-two-speed: run winding from C to HI, start winding from S to HI, and more
	// turns from HI to LO. The line lies on C and either HI or LO; the run capacitor
	// between C and S. Fed on LO, the run winding gets low-part of the line's voltage
	// and HI is live too: never feed both. It turns from 0.5 of its voltage and runs
	// high above 0.9 of it.
	fan2 := define("fan-two-speed", "fan motor, capacitor run, two speed taps", "C:line S:line HI:line LO:line GND:ground",
		of(small, []Param{{"low-part", 0.75, 0.6, 0.85, ""}}), func(b *builder, d *Device) {
			turn, hum := b.motor(d, "", "HI", "C", "S", 0.65)
			i, v := b.motors[len(b.motors)-1].run, d.P("volts")
			k := complex(1/d.P("low-part")-1, 0)
			_, run, _, _ := windings(v, d.P("rla"), d.P("lra"), d.P("farads"), b.omega, d.P("run-ohms"), d.P("start-ohms"))
			b.load("low-speed winding", "LO", "HI", k*run, real(k)*d.P("run-ohms"))
			b.status("fan", func(s *Solver, on *bits) string {
				if on.get(turn) {
					return pick(s.across(i) > 0.9*v, "runs high", true, "runs low")
				}
				return pick(hum(s, on), "stalls", false, "")
			})
		})
	fan2.check = checkMotor("")
	ecm := []Param{{"volts", 240, 100, 280, "V"}, {"watts", 200, 10, 2000, "W"}, {"dc-ohms", 2e5, 10, 1e7, "ohm"}, {"amps", 0, 0, 30, "A"}}
	// amps is the current on the plate, more than watts over volts by the motor's power
	// factor; 0: not read. Where it was read the resistance is the one that takes it.
	// fan-ecm: a resistance; runs above 0.75 of its voltage.
	define("fan-ecm", "fan motor, electronically commutated, runs when it has line voltage", "1:line 2:line GND:ground", ecm, func(b *builder, d *Device) {
		v := d.P("volts")
		b.load("motor", "1", "2", complex(v*v/d.voltAmperes(), 0), d.P("dc-ohms"))
		i := b.last()
		b.status("fan", func(s *Solver, _ *bits) string { return pick(s.across(i) > 0.75*v, "runs", false, "") })
	})
	// fan-ecm-taps: runs high while it has 0.75 of its line voltage and 12 V or more from
	// HI to C, low with 12 V on LO alone; at rest it takes 10 W from the line.
	define("fan-ecm-taps", "fan motor, electronically commutated, line power and 24 V speed taps", "1:line 2:line C:class2 LO:class2 HI:class2 GND:ground",
		of(ecm, []Param{{"input-ohms", 1200, 100, 1e5, "ohm"}}), func(b *builder, d *Device) {
			in := b.taps(d, "LO", "HI")
			run := b.driven(d, "1", "2", in)
			b.status("fan", func(_ *Solver, on *bits) string {
				if !on.get(run) {
					return ""
				}
				return pick(on.get(in[1]), "runs high", true, "runs low")
			})
		})
	// blower-ecm: the same with three taps: full air on Y2 (and on Y1 where y1-full is
	// 1), low air on Y1, fan only on G alone.
	define("blower-ecm", "indoor blower, electronically commutated, taps G, Y1 and Y2", "L:line N:line C:class2 G:class2 Y1:class2 Y2:class2 GND:ground",
		of(with(with(ecm, "volts", 120), "watts", 500), []Param{{"input-ohms", 1200, 100, 1e5, "ohm"}, {"y1-full", 0, 0, 1, ""}}), func(b *builder, d *Device) {
			in := b.taps(d, "G", "Y1", "Y2")
			run := b.driven(d, "L", "N", in)
			full := d.P("y1-full") == 1
			b.status("blower", func(s *Solver, on *bits) string {
				switch {
				case !on.get(run):
					return ""
				case on.get(in[2]), on.get(in[1]) && full:
					return "full air"
				case on.get(in[1]):
					return "low air"
				}
				return "fan only"
			})
		})
}

// voltAmperes is what an electronic motor takes by its plate.
func (d *Device) voltAmperes() float64 { return max(d.P("watts"), d.P("amps")*d.P("volts")) }

// taps adds 24 V inputs against C; each sees a call from 12 V.
func (b *builder) taps(d *Device, names ...string) (sigs []int) {
	for _, t := range names {
		b.load("input "+t, t, "C", complex(d.P("input-ohms"), 0), d.P("input-ohms"))
		n, c := b.t(t), b.t("C")
		sigs = append(sigs, b.logic(d.ID+" "+t, func(s *Solver, _ *bits, _ bool) bool { return s.mag(n, c) >= 12 }))
	}
	return sigs
}

// driven adds an electronic motor that runs while it has line voltage and any of its
// taps calls.
func (b *builder) driven(d *Device, t1, t2 string, in []int) (run int) {
	v := d.P("volts")
	br := b.load("motor", t1, t2, complex(v*v/d.voltAmperes(), 0), d.P("dc-ohms"))
	i := b.last()
	run = b.logic(d.ID+" run", func(s *Solver, on *bits, _ bool) bool {
		if s.across(i) <= 0.75*v {
			return false
		}
		for _, t := range in {
			if on.get(t) {
				return true
			}
		}
		return false
	})
	br.sig, br.ac[0] = int32(run), complex(10/(v*v), 0) // 10 W at rest
	br.dc[0] = br.dc[1]
	return run
}
