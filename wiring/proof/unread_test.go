package proof

import (
	"strings"
	"testing"

	"retrostage/wiring/netlist"
)

// What nobody read, what lies beside a pole of the compressor, what is fused or switched
// in one leg, and what is entered at a place where it cannot work takes the clean yes from
// a circuit that else has it. Each row alters the old and the new unit alike.
func TestUnreadAndMisplaced(t *testing.T) {
	const c, f = "two-contactor-conventional", "two-capacity-conventional"
	place := func(id, at string) func(*testing.T, *netlist.Unit) {
		return func(t *testing.T, u *netlist.Unit) {
			u.Device(id).Place = at
			for i := range u.Conductors {
				if w := &u.Conductors[i]; strings.HasPrefix(w.From, id+".") || strings.HasPrefix(w.To, id+".") {
					w.Length = 12
				}
			}
		}
	}
	for _, q := range []struct {
		name, kit, says string
		want            string
		edit            func(*testing.T, *netlist.Unit)
	}{
		{"fan capacitor's volts not entered", c, "was not entered (volts)", NotDecided, func(t *testing.T, u *netlist.Unit) { delete(u.Device("FC").Params, "volts") }},
		{"a delay's time not entered", "parallel-tandem-conventional", "was not entered (seconds)", NotDecided, func(t *testing.T, u *netlist.Unit) { delete(u.Device("TD").Params, "seconds") }},
		{"30 VA of a transformer nobody read", c, "what it is rated was not entered", Reserved, func(t *testing.T, u *netlist.Unit) {
			v := add(u, "LV", "impedance", "outdoor")
			v.Label, v.Use, v.Params = "liquid-line solenoid valve", "solenoid-valve", map[string]float64{"ohms": 30}
			wire(u, "x1", "OT.1", "LV.1", netlist.Class2)
			wire(u, "x2", "OC.1", "LV.2", netlist.Class2)
			delete(u.Device("TR").Params, "va")
		}},
		{"a fan relay beside a pole", c, "lies beside a pole", NotDecided, func(t *testing.T, u *netlist.Unit) { wire(u, "x1", "CL.T1", "FR.NO", netlist.Line).Gauge = 10 }},
		{"a bar beside a pole", f, "the bar of a one-pole contactor join", NotDecided, func(t *testing.T, u *netlist.Unit) {
			k := add(u, "FK", "contactor-1p", "outdoor")
			k.Label, k.Params = "fan contactor", map[string]float64{"contact-amps": 30}
			wire(u, "x1", "FK.L2", "CC.L1", netlist.Line).Gauge = 8
			wire(u, "x2", "FK.T2", "CC.T1", netlist.Line).Gauge = 8
			wire(u, "x3", "FK.A1", "CC.A1", netlist.Class2)
			wire(u, "x4", "FK.A2", "CC.A2", netlist.Class2)
		}},
		{"a switch in one leg of the feed", c, "opens one leg alone", Reserved, func(t *testing.T, u *netlist.Unit) {
			insert(t, u, "w02", "SS", "switch", "outdoor", "1", "2")
			d := u.Device("SS")
			d.Label, d.Params, d.Sits = "service switch", map[string]float64{"contact-amps": 40}, "cabinet"
		}},
		{"a float's rating not entered", c, "float switch carries 0.66 A, and what its contact is rated was not entered", Reserved, func(t *testing.T, u *netlist.Unit) {
			insert(t, u, "w39", "FS", "switch", "indoor", "1", "2")
			u.Device("FS").Label, u.Device("FS").Sits = "condensate float switch", "drain-pan"
		}},
		{"the control fuse in the grounded side", c, "lies in the grounded side", NotDecided, func(t *testing.T, u *netlist.Unit) {
			u.Conductor("w38").To, u.Conductor("w39").From = "IB.R", "IF.2"
			u.Conductor("w39").To = "IB.C"
			u.Conductor("w40").To = "IF.1"
			wire(u, "x1", "IB.C", "IGL.1", netlist.Class2).Colour = "green"
		}},
		{"a high-pressure switch in the room", c, "entered as at the place room, away from the compressor", Reserved, place("HP", "room")},
		{"a run capacitor indoors", c, "entered as at the place indoor", NotDecided, place("FC", "indoor")},
		{"a fuse in the room", c, "entered as at the place room", NotDecided, place("IF", "room")},
		{"the cabinet's ground screw in the room", c, "from one place to another", NotDecided, place("GL", "room")},
		{"a fan relay indoors", c, "from one place to another", NotDecided, place("FR", "indoor")},
		{"a 24 V conductor between two grounds", c, "joins two grounds", NotDecided, func(t *testing.T, u *netlist.Unit) { wire(u, "x1", "GL.1", "COMP.GND", netlist.Class2) }},
		{"an overload at the coil", c, "sitting at the coil", NotDecided, func(t *testing.T, u *netlist.Unit) {
			insert(t, u, "w06", "OL", "overload-line", "outdoor", "1", "2")
			u.Device("OL").Params, u.Device("OL").Sits = map[string]float64{"trip-amps": 22, "contact-amps": 40}, "coil"
		}},
	} {
		t.Run(strings.ReplaceAll(q.name, " ", "-"), func(t *testing.T) {
			k := open(t, q.kit)
			if p := k.prove(); !p.Proved() || strings.Contains(p.Why, q.says) {
				t.Fatalf("as it is: %s", p.Why)
			}
			q.edit(t, k.old)
			q.edit(t, k.new)
			p := k.prove()
			var said []string
			for _, c := range p.Checks {
				said = append(said, c.Detail)
			}
			if got := p.Verdict; got != q.want && !(q.want == NotDecided && got == Fails) || !strings.Contains(strings.Join(append(said, p.Why), "\n"), q.says) {
				t.Errorf("%s: %s %q", p.Verdict, p.Why, said)
			}
		})
	}
}
