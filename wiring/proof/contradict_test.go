package proof

import (
	"strings"
	"testing"

	"retrostage/wiring/netlist"
)

// What is entered of a part and contradicts itself, or what nobody read on it, takes
// the yes from a circuit that else holds. Each row alters the old and the new unit
// alike, so that no comparison of the two can see it.
func TestContradictions(t *testing.T) {
	param := func(id, name string, v float64) func(*testing.T, *netlist.Unit) {
		return func(t *testing.T, u *netlist.Unit) {
			d := u.Device(id)
			if d.Params == nil {
				d.Params = map[string]float64{}
			}
			d.Params[name] = v
		}
	}
	named := func(id, text string) func(*testing.T, *netlist.Unit) {
		return func(t *testing.T, u *netlist.Unit) { u.Device(id).Label = text }
	}
	for _, q := range []struct {
		name, says string
		edit       func(*testing.T, *netlist.Unit)
	}{
		{"contactor whose rating nobody entered", "is not entered", func(t *testing.T, u *netlist.Unit) { delete(u.Device("CC").Params, "contact-amps") }},
		{"overload in the line, rating not entered", "is not entered", func(t *testing.T, u *netlist.Unit) {
			insert(t, u, "w03", "OL", "overload-line", "outdoor", "1", "2")
			u.Device("OL").Params = map[string]float64{"trip-amps": 22}
		}},
		{"pull-out in the line, rating not entered", "is not entered", func(t *testing.T, u *netlist.Unit) {
			insert(t, u, "w01", "PO", "switch", "outdoor", "1", "2")
		}},
		{"reactor in the compressor's line", "rated for is in no file", func(t *testing.T, u *netlist.Unit) {
			insert(t, u, "w03", "RX", "impedance", "outdoor", "1", "2")
			u.Device("RX").Params, u.Device("RX").Use = map[string]float64{"ohms": 0.05}, "resistor"
		}},
		{"a thermostat in the winding, by its label", "leaves with the old one", named("DT", "winding thermostat")},
		{"a thermostat inside the shell, by its label", "leaves with the old one", named("DT", "thermostat inside compressor")},
		{"a label of 208 V on 240 V entered", "says 208 V", named("SUP", "208 V disconnect")},
		{"a label of three phases on two legs", "three phases", named("SUP", "3-phase disconnect, two legs used")},
		{"a fan's winding of a tenth of an ohm", "is shorted", param("FM", "run-ohms", 0.1)},
		{"a fuse whose label says other amperes", "which is it?", named("IF", "30 A control fuse")},
		{"a transformer whose label says other volts", "which is it?", named("TR", "transformer 240 V")},
		{"a supply with a high leg, by its label", "three phases", named("SUP", "disconnect, high leg on L2")},
		{"a part found stuck, by its label", "its label says", named("DT", "discharge thermostat, stuck closed")},
		{"a conductor of aluminium", "aluminium", func(t *testing.T, u *netlist.Unit) { u.Conductor("w01").Colour = "bare aluminium" }},
		{"a fuse in the neutral", "opens the neutral", func(t *testing.T, u *netlist.Unit) {
			insert(t, u, "w30", "NF", "fuse", "indoor", "1", "2")
			u.Device("NF").Params = map[string]float64{"amps": 15, "volts": 250}
		}},
		{"a contactor that lets go where it draws", "chatters", func(t *testing.T, u *netlist.Unit) {
			u.Device("CC").Params["drop-out"] = 17.9
		}},
		{"a fan call around the high-pressure switch", "", func(t *testing.T, u *netlist.Unit) { // old and new have other conductors at it
			add(u, "XR", "relay", "outdoor")
			wire(u, "x1", "IB.G", "XR.A1", netlist.Class2).Length = 15
			wire(u, "x2", "IB.C", "XR.A2", netlist.Class2).Length = 15
			wire(u, "x3", "HP.1", "XR.COM", netlist.Class2)
			wire(u, "x4", "HP.2", "XR.NO", netlist.Class2)
		}},
		{"a switch in the fan call", "stops the indoor blower and no compressor", func(t *testing.T, u *netlist.Unit) {
			insert(t, u, "w35", "FLT", "switch", "indoor", "1", "2")
		}},
	} {
		t.Run(strings.ReplaceAll(q.name, " ", "-"), func(t *testing.T) {
			k := open(t, "two-capacity-conventional")
			if p := k.prove(); p.Verdict != Holds {
				t.Fatalf("as it is: %s", p.Why)
			}
			q.edit(t, k.old)
			q.edit(t, k.new)
			c := k.prove().Check("as-found")
			if c.Verdict == Holds || !strings.Contains(c.Detail, q.says) {
				t.Errorf("as-found %s: %s", c.Verdict, c.Detail)
			}
		})
	}
}
