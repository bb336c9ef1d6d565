package proof

import (
	"strings"
	"testing"

	"retrostage/wiring/netlist"
)

// The altered plans of the second of two attackers (testdata/attempts/wiring,
// attempts-y2.md; the number is that of the row): the new circuit or what is said of it
// is not what was planned. None is proved; where a person's reason is all that is wrong,
// the reason stands in the verdict.
func TestAlteredPlans(t *testing.T) {
	const worn = "the switch was worn and another one was fitted"
	label := func(k *kit, a, b string) {
		x, y := k.new.Device(a), k.new.Device(b)
		x.Label, y.Label = y.Label, x.Label
	}
	for _, q := range []struct {
		row  string
		edit func(*kit)
	}{
		{"18 a high-pressure switch that is a low-pressure switch now", func(k *kit) { k.new.Device("HP").Kind = "pressure-low" }},
		{"19 the same, replaced for a reason", func(k *kit) { k.new.Device("HP").Kind = "pressure-low"; k.data.Replaced["HP"] = worn }},
		{"20 a hand switch in its place", func(k *kit) { k.new.Device("HP").Kind = "switch"; k.data.Replaced["HP"] = worn }},
		{"21 labels exchanged", func(k *kit) { label(k, "HP", "LP") }},
		{"22 a kept conductor thicker", func(k *kit) { k.new.Conductor("w10").Gauge = 10 }},
		{"23 a kept cable of other insulation", func(k *kit) { k.new.Conductor("w13").Insulation = 600 }},
		{"24 a fuse of 60 A", func(k *kit) { k.set("IF", "amps", 60) }},
		{"25 a fuse of 20 A for a reason", func(k *kit) { k.set("IF", "amps", 20); k.data.Replaced["IF"] = worn }},
		{"26 another frequency", func(k *kit) { k.new.Hertz = 50 }},
		{"27 another compressor than the data's", func(k *kit) { k.set("COMP", "rla", 9) }},
		{"28 data of a smaller compressor", func(k *kit) { k.data.Compressor.RLA = 5 }},
		{"29 a fan of 9 A for a reason", func(k *kit) {
			k.set("FM", "rla", 9)
			k.set("FM", "lra", 30)
			k.data.Replaced["FM"] = worn
		}},
		{"30 no heater, for letters alone", func(k *kit) { k.drop("CCH"); k.data.Omitted = map[string]string{"CCH": "aaaaaaaaaaaaaaa"} }},
		{"31 kept cables shorter", func(k *kit) { k.new.Conductor("w13").Length = 0.6 }},
		{"33 a delay of a second", func(k *kit) { k.set("TD", "seconds", 1) }},
		{"73 the cabinet's ground through the house", func(k *kit) { k.move("g1", "SUP.GND", "IGL.1"); k.new.Conductor("g1").Length = 15 }},
		{"75 the run capacitor on the line side", func(k *kit) { k.move("w05", "CC.T1", "CC.L1") }},
		{"76 the high-pressure switch in the room", func(k *kit) { k.new.Device("HP").Place = "room" }},
		{"77 fixed leads where there were none", func(k *kit) { k.new.Device("HP").Pigtail = true }},
		{"80 a kept contact of 30 A", func(k *kit) { k.set("DT", "contact-amps", 30) }},
		{"81 a second compressor", func(k *kit) {
			c := *k.new.Device("COMP")
			c.ID, c.Label = "COMP2", "compressor 2"
			k.new.Devices = append(k.new.Devices, c)
		}},
		{"84 a resistor of 500 ohm over the low-pressure switch", func(k *kit) {
			add(k.new, "RX", "impedance", "outdoor").Params = map[string]float64{"ohms": 500}
			wire(k.new, "x1", "LP.1", "RX.1", class2)
			wire(k.new, "x2", "RX.2", "LP.2", class2)
		}},
		{"131 the ground through the house by two new conductors", func(k *kit) {
			k.cut("g1")
			wire(k.new, "n1", "GL.1", "IGL.1", netlist.Ground).Length = 15
			wire(k.new, "n2", "IGL.1", "IS.GND", netlist.Ground)
		}},
		{"132 a heater of a tenth, for a reason", func(k *kit) {
			k.set("CCH", "watts", 5)
			k.data.Replaced["CCH"] = "the heater was burnt and another one was fitted"
		}},
		{"133 a fan of a third, for a reason", func(k *kit) { k.set("FM", "rla", 0.5); k.data.Replaced["FM"] = worn }},
		{"134 a blower of 10 W", func(k *kit) { k.set("BL", "watts", 10) }},
		{"135 another source resistance", func(k *kit) { k.set("SUP", "source-ohms", 0.3) }},
		{"136 a run capacitor within 30 %", func(k *kit) { k.set("DC", "tolerance", 0.3) }},
		{"137 a contactor whose coil takes 1.8 A", func(k *kit) {
			k.set("CC", "coil-ohms", 5)
			k.set("CC", "coil-reactance", 12)
			k.data.Replaced["CC"] = worn
		}},
		{"138 a contactor that draws at 24.9 V", func(k *kit) { k.set("CC", "pick-up", 24.9); k.data.Replaced["CC"] = worn }},
		{"139 a transformer of 29.9 V", func(k *kit) { k.set("TR", "open-volts", 33); k.data.Replaced["TR"] = worn }},
		{"141 a high-pressure switch of 10 ohm", func(k *kit) { k.set("HP", "contact-ohms", 10); k.data.Replaced["HP"] = worn }},
		{"196 a switch across the high-pressure switch", func(k *kit) {
			add(k.new, "BY", "switch", "outdoor")
			wire(k.new, "x1", "HP.1", "BY.1", class2)
			wire(k.new, "x2", "BY.2", "HP.2", class2)
		}},
		{"197 low air on Y1", func(k *kit) { k.set("BL", "y1-full", 0) }},
		{"202 the delay ahead of the safeties", delayFirst},
		{"213 no heater, for words that say nothing", func(k *kit) {
			k.drop("CCH")
			k.data.Omitted = map[string]string{"CCH": "one two three four five"}
		}},
		{"214 no heater, for a reason that says the opposite", func(k *kit) {
			k.drop("CCH")
			k.data.Omitted = map[string]string{"CCH": "the heater must stay in its place"}
		}},
		// Ours: what the fields say is part of what a part is.
		{"a thermostat that sits elsewhere now", func(k *kit) { k.new.Device("DT").Sits = "coil" }},
		{"a part that is sound now, with no reason", func(k *kit) { k.old.Device("HP").Condition = "bypassed" }},
		{"a kept conductor of copper that was aluminium", func(k *kit) { k.old.Conductor("w01").Metal = "aluminium" }},
		{"a name that is only one now", func(k *kit) { k.new.Device("HP").NameOnly = true }},
		{"amperes of the blower entered in the new unit alone", func(k *kit) { k.set("BL", "amps", 4.2); delete(k.data.Replaced, "BL") }},
	} {
		t.Run(strings.ReplaceAll(q.row, " ", "-"), func(t *testing.T) {
			k := open(t, "two-capacity-conventional")
			q.edit(k)
			switch p := k.prove(); {
			case p.Verdict == Holds:
				t.Errorf("proved")
			case p.Verdict == Reserved && !strings.HasPrefix(q.row, "213 "):
				t.Errorf("proved, with reservations: %v", p.Reservations)
			case p.Verdict == Reserved && !strings.Contains(p.Why, "one two three four five"):
				t.Errorf("the reason is not in the verdict: %s", p.Why)
			default:
				t.Logf("%s: %s", p.Verdict, p.Why)
			}
		})
	}
}
