package proof

import (
	"strings"
	"testing"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
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
		{"a label that says what no field says", "which no field of it says", named("HP", "high-pressure switch of the garage")},
		{"a label that forbids", "which no field of it says", named("HP", "high-pressure switch, leave open")},
		{"a label of another pressure", "says 650 psig", named("HP", "high-pressure switch 650 psig")},
		{"a label of a refrigerant nobody entered", "refrigerant is not entered", named("HP", "R-410A high-pressure switch")},
		{"a label of another refrigerant", "one for this refrigerant?", func(t *testing.T, u *netlist.Unit) {
			u.Refrigerant, u.Device("HP").Label = "R-22", "R-410A high-pressure switch"
		}},
		{"a label of the other switch", "which is it?", named("HP", "low-pressure switch")},
		{"a label of microfarads that are not entered", "no number entered", named("DC", "dual run capacitor 35 uF")},
		{"a label of a voltage of its own", "says 250 V", named("DC", "dual run capacitor 250 V")},
		{"a cut-out of another refrigerant", "one for this refrigerant?", func(t *testing.T, u *netlist.Unit) {
			u.Refrigerant, u.Device("HP").Params = "R-410A", map[string]float64{"opens-at": 2.8e6}
		}},
		{"a cut-out and no refrigerant", "refrigerant is not entered", func(t *testing.T, u *netlist.Unit) {
			u.Device("HP").Params = map[string]float64{"opens-at": 4.3e6}
		}},
		{"a switch found bypassed", "was found bypassed", func(t *testing.T, u *netlist.Unit) { u.Device("LP").Condition = "bypassed" }},
		{"a switch not tested", "was not tested", func(t *testing.T, u *netlist.Unit) { u.Device("LP").Condition = "not-tested" }},
		{"a thermostat inside the motor, by its field", "leaves with the old one", func(t *testing.T, u *netlist.Unit) { u.Device("DT").Sits = "motor" }},
		{"a low-pressure switch at the discharge line", "which is it?", func(t *testing.T, u *netlist.Unit) { u.Device("LP").Sits = "discharge-line" }},
		{"a supply with a high leg, by its field", "another voltage to earth", func(t *testing.T, u *netlist.Unit) { u.Device("SUP").System = "high-leg" }},
		{"a conductor of aluminium, by its field", "aluminium", func(t *testing.T, u *netlist.Unit) { u.Conductor("w01").Metal = "aluminium" }},
		{"a colour that is none", "is no colour", func(t *testing.T, u *netlist.Unit) { u.Conductor("w01").Colour = "yellow, cut this one" }},
		{"a bare impedance in the 24 V", "see what it is", func(t *testing.T, u *netlist.Unit) {
			add(u, "RV", "impedance", "indoor").Params = map[string]float64{"ohms": 200}
			u.Device("RV").Label = "auxiliary"
			wire(u, "x1", "IB.Y1", "RV.1", netlist.Class2)
			wire(u, "x2", "RV.2", "IB.C", netlist.Class2)
		}},
		{"a reversing valve, by its field", "heat pump", func(t *testing.T, u *netlist.Unit) {
			d := add(u, "RV", "impedance", "indoor")
			d.Label, d.Params, d.Use = "auxiliary", map[string]float64{"ohms": 200}, "reversing-valve"
			wire(u, "x1", "IB.Y1", "RV.1", netlist.Class2)
			wire(u, "x2", "RV.2", "IB.C", netlist.Class2)
		}},
		{"a fuse in the line whose voltage nobody read", "voltage marked on it is not entered", func(t *testing.T, u *netlist.Unit) {
			insert(t, u, "w10", "HF", "fuse", "outdoor", "1", "2")
			u.Device("HF").Params = map[string]float64{"amps": 5}
		}},
		{"a blower whose amperes its watts contradict", "contradict each other", func(t *testing.T, u *netlist.Unit) {
			u.Device("BL").Params = map[string]float64{"amps": 1, "y1-full": 1}
		}},
		{"a blower of watts that may be twice the amperes", "takes more amperes", func(t *testing.T, u *netlist.Unit) {
			u.Device("IS").Params = map[string]float64{"breaker-amps": 8}
		}},
		{"a note of a jumper", "the note of the unit says", func(t *testing.T, u *netlist.Unit) { u.Note = "LP jumpered by the last man." }},
		{"a title of a heat pump", "the title of the unit says", func(t *testing.T, u *netlist.Unit) { u.Title = "Heat pump, two stages" }},
		{"a conductor called a jumper", "is called so", func(t *testing.T, u *netlist.Unit) { u.Conductor("w01").ID = "jumper-1" }},
		{"a contact of 4 ohm", "reads 4 ohm", func(t *testing.T, u *netlist.Unit) {
			u.Device("HP").Params = map[string]float64{"contact-ohms": 4}
		}},
		{"a fan call that opens the crankcase heater", "the oil is cold", func(t *testing.T, u *netlist.Unit) {
			add(u, "XR", "relay", "outdoor")
			wire(u, "x1", "IB.G", "XR.A1", netlist.Class2).Length = 15
			wire(u, "x2", "IB.C", "XR.A2", netlist.Class2).Length = 15
			insert(t, u, "w10", "XR", "relay", "outdoor", "COM", "NC")
		}},
		{"a fan call around the high-pressure switch", "", func(t *testing.T, u *netlist.Unit) { // old and new have other conductors at it
			add(u, "XR", "relay", "outdoor")
			wire(u, "x1", "IB.G", "XR.A1", netlist.Class2).Length = 15
			wire(u, "x2", "IB.C", "XR.A2", netlist.Class2).Length = 15
			wire(u, "x3", "HP.1", "XR.COM", netlist.Class2)
			wire(u, "x4", "HP.2", "XR.NO", netlist.Class2)
		}},
		{"a disconnect found burnt, whose breaker is set", "was found burnt", func(t *testing.T, u *netlist.Unit) { u.Device("SUP").Condition = "burnt" }},
		{"a blower found damaged, whose air is set", "was found damaged", func(t *testing.T, u *netlist.Unit) { u.Device("BL").Condition = "damaged" }},
		{"a low-pressure switch that opens at 290 psig", "opens at 290 psig", func(t *testing.T, u *netlist.Unit) {
			u.Device("LP").Params = map[string]float64{"opens-at": 2e6}
		}},
		{"a low-pressure switch that never opens", "opens at 0.29 psig", func(t *testing.T, u *netlist.Unit) {
			u.Device("LP").Params = map[string]float64{"opens-at": 2e3}
		}},
		{"a bare conductor in the line", "is entered as bare", func(t *testing.T, u *netlist.Unit) { u.Conductor("w01").Colour = "bare" }},
		{"a capacitor across a contactor's pole", "stays live through it", func(t *testing.T, u *netlist.Unit) {
			add(u, "C9", "capacitor-run", "outdoor").Params = map[string]float64{"farads": 2e-6}
			wire(u, "x1", "CC.L1", "C9.1", netlist.Line)
			wire(u, "x2", "CC.T1", "C9.2", netlist.Line)
		}},
		{"two fuses side by side", "lie side by side", func(t *testing.T, u *netlist.Unit) {
			add(u, "IF2", "fuse", "indoor").Params = map[string]float64{"amps": 3}
			wire(u, "x1", "IF.1", "IF2.1", netlist.Class2)
			wire(u, "x2", "IF2.2", "IF.2", netlist.Class2)
		}},
		{"a line fuse of a third of an ohm", "warms with", func(t *testing.T, u *netlist.Unit) {
			insert(t, u, "w03", "LF", "fuse", "outdoor", "1", "2")
			u.Device("LF").Params = map[string]float64{"amps": 30, "volts": 250, "ohms": 0.3}
		}},
		{"a high-pressure switch called one of the suction", "which is it?", named("HP", "suction pressure switch")},
		{"a low-pressure switch called one of the high side", "which is it?", named("LP", "high side switch")},
		{"a discharge thermostat called a fan's", "which is it?", named("DT", "fan cycling thermostat")},
		{"an outdoor fan called indoor", "otherwise than its place", named("FM", "indoor fan")},
		{"an indoor blower called outdoor", "otherwise than its place", named("BL", "outdoor fan 2")},
		{"a contactor's coil read open", "open or shorted", param("CC", "coil-dc-ohms", 1e5)},
		{"a contactor's coil read shorted", "open or shorted", param("CC", "coil-dc-ohms", 0.5)},
		{"a coil for 280 V that draws at 18 V", "contradicts itself", param("CC", "coil-volts", 280)},
		{"a transformer's secondary read open", "open or shorted", param("TR", "secondary-dc-ohms", 50)},
		{"a transformer's primary read shorted", "open or shorted", param("TR", "primary-dc-ohms", 0.1)},
		{"a transformer's primary read open", "open or shorted", param("TR", "primary-dc-ohms", 1000)},
		{"a fan's start winding read open", "open or going", param("FM", "start-ohms", 900)},
		{"a fan's run winding read open", "open or going", param("FM", "run-ohms", 500)},
		{"a fan's start winding read shorted", "exchanged", param("FM", "start-ohms", 0.1)},
		{"a cabinet grounded over the compressor's shell", "over the shell", func(t *testing.T, u *netlist.Unit) {
			u.Conductor("g1").To, u.Conductor("g2").From, u.Conductor("g2").To = "COMP.GND", "COMP.GND", "GL.1"
		}},
		{"a supply of two places", "names two places", named("SUP", "indoor and outdoor disconnect")},
		{"a strip called thermostat", "which is it?", named("IB", "thermostat")},
		{"a pressure switch with the other's ID", "the other switch's", func(t *testing.T, u *netlist.Unit) {
			u.Device("HP").Kind = "pressure-low"
			u.Device("LP").Kind = "pressure-high"
			u.Device("HP").Label, u.Device("LP").Label = "pressure switch", "pressure switch"
		}},
		{"a conductor with a part's ID", "has the ID of", func(t *testing.T, u *netlist.Unit) { u.Conductor("w01").ID = "HP" }},
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
				t.Errorf("as-found %s: %s; the proof: %s", c.Verdict, c.Detail, k.prove().Why)
			}
		})
	}
}

// A name is a name if a person says so; it is named in the verdict then. A word of a
// part's state stays a question all the same.
func TestNameOnly(t *testing.T) {
	for text, want := range map[string]string{"garage float": Reserved, "float, stuck closed": NotDecided, "float 2": Holds} {
		k := open(t, "two-capacity-conventional")
		for _, u := range []*netlist.Unit{k.old, k.new} {
			u.Device("FM").Label, u.Device("FM").NameOnly = text, true
		}
		if p := k.prove(); p.Verdict != want || want == Reserved && !strings.Contains(p.Why, "garage") {
			t.Errorf("%q: %s, %s", text, p.Verdict, p.Why)
		}
	}
}

// A colour that tells the next one something untrue is named in the verdict.
func TestColoursReserved(t *testing.T) {
	for conductor, colour := range map[string]string{"g2": "black", "w29": "white", "w30": "black"} {
		for _, marked := range []bool{false, true} {
			k := open(t, "two-capacity-conventional")
			for _, u := range []*netlist.Unit{k.old, k.new} {
				if u.Conductor(conductor).Colour = colour; marked {
					u.Conductor(conductor).Colour = colour + ", marked green at both ends"
				}
			}
			p := k.prove()
			if !marked && (p.Verdict != Reserved || !strings.Contains(p.Why, conductor)) || marked && conductor == "g2" && p.Verdict != Holds {
				t.Errorf("%s %s, marked %v: %s, %s", conductor, colour, marked, p.Verdict, p.Why)
			}
		}
	}
}

// A conductor of the blower's own feed is not in the compressor's line, whatever feeds
// both; one that feeds both is.
func TestMotorsOwnFeed(t *testing.T) {
	k := open(t, "two-capacity-conventional")
	for _, u := range []*netlist.Unit{k.old, k.new} {
		u.Conductor("w29").From, u.Conductor("w30").From = "CC.L1", "CC.L2"
	}
	bk, err := book()
	if err != nil {
		t.Fatal(err)
	}
	was, err := purpose.Find(t.Context(), k.old)
	if err != nil {
		t.Fatal(err)
	}
	j, err := newJudge(bk, was, k.new, k.data, usual)
	if err != nil {
		t.Fatal(err)
	}
	for i := range j.now.Loads {
		if j.now.LoadKind[i] == "compressor" {
			j.comps = []purpose.Load{{Device: j.now.Loads[i]}}
		}
	}
	if j.comps == nil {
		t.Fatal("no compressor")
	}
	want := map[string]bool{"w01": true, "w02": true, "w03": true, "w29": false, "w30": false}
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		if in, asked := want[br.Name]; asked && br.Kind == netlist.ConductorBranch {
			if delete(want, br.Name); j.onCompressorsFeed(br) != in {
				t.Errorf("%s in the compressor's line: %v", br.Name, !in)
			}
		}
	}
	if len(want) != 0 {
		t.Errorf("not found: %v", want)
	}
}

// What nobody entered of a thermostat's place is no clean yes.
func TestSitsNotEntered(t *testing.T) {
	k := open(t, "two-capacity-conventional")
	k.old.Device("DT").Sits, k.new.Device("DT").Sits = "", ""
	if p := k.prove(); p.Verdict != Reserved || !strings.Contains(p.Why, "before it is carried over") {
		t.Errorf("%s: %s", p.Verdict, p.Why)
	}
}

// Every name in the catalogue, and every name that the program gives, is a name.
func TestCatalogueNamesAreNames(t *testing.T) {
	k := open(t, "two-capacity-conventional")
	bk, err := book()
	if err != nil {
		t.Fatal(err)
	}
	was, err := purpose.Find(t.Context(), k.old)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range netlist.Catalogue() {
		u, err := netlist.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		for i := range u.Devices {
			for _, text := range []string{u.Devices[i].Label, netlist.Kinds[u.Devices[i].Kind].Words} {
				d := u.Devices[i]
				d.Label = text
				j, err := newJudge(bk, was, k.new, k.data, usual)
				if err != nil {
					t.Fatal(err)
				}
				if j.labelRead(&d); j.at["as-found"].Verdict != Holds || len(j.p.Reservations) > 0 {
					t.Errorf("%s, %q: %s", name, text, j.at["as-found"].Detail)
				}
			}
		}
	}
}
