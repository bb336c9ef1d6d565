package proof

import (
	"strings"
	"testing"

	"retrostage/wiring/netlist"
)

// A name of another stage, or of the other compressor, is asked about: what leaves would
// be taken out in the place of what stays. With name-only a person states that it is a
// name, and the verdict says so.
func TestNamesOfAnother(t *testing.T) {
	for _, q := range []struct{ unit, one, other, says string }{
		{"two-contactor-conventional", "CL", "CH", "its name is one of the first"},
		{"two-contactor-conventional", "RCL", "RCH", "its name is one of the second"},
		{"parallel-tandem-conventional", "K1", "K2", "one of another compressor"},
		{"parallel-tandem-conventional", "RC1", "RC2", "one of another compressor"},
	} {
		for _, nameOnly := range []bool{false, true} {
			k := open(t, q.unit)
			if q.unit == "parallel-tandem-conventional" {
				for id, n := range map[string]string{"COMP1": "compressor 1", "COMP2": "compressor 2", "K1": "contactor of compressor 1", "K2": "contactor of compressor 2", "RC1": "run capacitor of compressor 1", "RC2": "run capacitor of compressor 2"} {
					for _, u := range []*netlist.Unit{k.old, k.new} {
						if d := u.Device(id); d != nil && (id != "COMP1" || u == k.old) {
							d.Label = n
						}
					}
				}
			}
			if p := k.prove(); !p.Proved() {
				t.Fatalf("%s as it is: %s", q.unit, p.Why)
			}
			one, other := k.old.Device(q.one).Label, k.old.Device(q.other).Label
			for _, u := range []*netlist.Unit{k.old, k.new} {
				for id, n := range map[string]string{q.one: other, q.other: one} {
					if d := u.Device(id); d != nil {
						d.Label, d.NameOnly = n, nameOnly
					}
				}
			}
			p := k.prove()
			want := NotDecided
			if nameOnly {
				want = Reserved
			}
			if p.Verdict != want || !strings.Contains(p.Why, q.says) && !strings.Contains(p.Why, "one of the") {
				t.Errorf("%s, %s and %s exchanged, name-only %v: %s: %s", q.unit, q.one, q.other, nameOnly, p.Verdict, p.Why)
			}
		}
	}
}

// What stops the outdoor fan or the crankcase heater by hand, and no compressor, is no
// clean yes.
func TestHandSwitchIsReserved(t *testing.T) {
	for conductor, says := range map[string]string{"w10": "oil cold", "w08": "no air"} {
		k := open(t, "two-capacity-conventional")
		for _, u := range []*netlist.Unit{k.old, k.new} {
			insert(t, u, conductor, "HS", "switch", "outdoor", "1", "2")
			u.Device("HS").Label = "hand switch"
			u.Device("HS").Params = map[string]float64{"contact-amps": 15}
		}
		if p := k.prove(); p.Verdict != Reserved || !strings.Contains(p.Why, says) {
			t.Errorf("%s: %s: %s", conductor, p.Verdict, p.Why)
		}
	}
}

// A motor whose start winding has less than its run winding is one with leads exchanged,
// or a rare one: a person who looked says so.
func TestStartWindingOfLess(t *testing.T) {
	for condition, want := range map[string]string{"": NotDecided, "sound": Reserved} {
		k := open(t, "two-capacity-conventional")
		for _, u := range []*netlist.Unit{k.old, k.new} {
			d := u.Device("FM")
			d.Params = map[string]float64{"run-ohms": 60, "start-ohms": 30}
			d.Condition = condition
		}
		if p := k.prove(); p.Verdict != want || !strings.Contains(p.Why, "exchanged") {
			t.Errorf("condition %q: %s: %s", condition, p.Verdict, p.Why)
		}
	}
}

// A unit on ammonia is a slip of the pen; one of which nothing is known here is named.
func TestRefrigerantRead(t *testing.T) {
	for name, want := range map[string]string{"R-410A": Holds, "R-717": NotDecided, "R-999": Reserved, "R-290": Reserved} {
		k := open(t, "two-capacity-conventional")
		k.old.Refrigerant, k.new.Refrigerant = name, name
		if p := k.prove(); p.Verdict != want || want != Holds && !strings.Contains(p.Why, name) {
			t.Errorf("%s: %s: %s", name, p.Verdict, p.Why)
		}
	}
	k := open(t, "two-capacity-conventional")
	k.old.Refrigerant = "R-22"
	if p := k.prove(); p.Check("part-changed").Verdict != Fails {
		t.Errorf("another refrigerant in the new unit: %s", p.Why)
	}
}

// What leaves is called by its name and colour in the work list too, and what is entered
// of supplies and places is held against the rest.
func TestWhatLeavesIsRead(t *testing.T) {
	for _, q := range []struct {
		name, says string
		edit       func(u *netlist.Unit)
	}{
		{"a colour of what leaves", "is no colour", func(u *netlist.Unit) {
			if w := u.Conductor("w18"); w != nil {
				w.Colour = "yellow, jumper HP"
			}
		}},
		{"a name of what leaves", "which no field of it says", func(u *netlist.Unit) {
			if d := u.Device("OB"); d != nil {
				d.Label = "board, safe to touch"
			}
		}},
		{"indoors 108 V, outdoors 252 V", "of no one service", func(u *netlist.Unit) {
			u.Device("IS").Params = map[string]float64{"volts": 108}
			u.Device("SUP").Params = map[string]float64{"volts": 252}
		}},
		{"a thermostat of the discharge line indoors", "which is right?", func(u *netlist.Unit) { u.Device("DT").Place = "indoor" }},
	} {
		k := open(t, "two-capacity-conventional")
		for _, u := range []*netlist.Unit{k.old, k.new} {
			q.edit(u)
		}
		c := k.prove().Check("as-found")
		if c.Verdict == Holds || !strings.Contains(c.Detail, q.says) {
			t.Errorf("%s: %s: %s", q.name, c.Verdict, c.Detail)
		}
	}
}

// A fan between a relay of its own and the contactor's load side makes the compressor
// live when the contactor stays out on a call: the old unit was so too, and the yes
// names the terminal and what it is fed through.
func TestLiveThroughTheFan(t *testing.T) {
	k := open(t, "two-contactor-conventional")
	if p := k.prove(); !p.Proved() || strings.Contains(p.Why, "fed through") {
		t.Fatalf("as it is: %s: %s", p.Verdict, p.Why)
	}
	for _, u := range []*netlist.Unit{k.old, k.new} {
		w := u.Conductor("w15")
		if w == nil || w.From != "CL.L2" {
			t.Fatalf("the fan's return is not w15 from CL.L2: %+v", w)
		}
		w.From = "CL.T2"
	}
	p := k.prove()
	if p.Verdict != Reserved || !strings.Contains(p.Why, "with the coil of low-speed contactor open") || !strings.Contains(p.Why, "COMP.C at 120 V to earth, fed through outdoor fan and outdoor disconnect") {
		t.Errorf("%s: %s", p.Verdict, p.Why)
	}
}
