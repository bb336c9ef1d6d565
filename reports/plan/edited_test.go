package plan

import (
	"strings"
	"testing"

	"retrostage/reports/record"
	"retrostage/wiring/netlist"
)

func TestAnEditedUnitIsPlannedAndSaysHowItDeparts(t *testing.T) {
	j := demo(t)
	if d, err := Departures(j); err != nil || d != nil {
		t.Fatalf("departures of a catalogue unit: %v, %v", d, err)
	}
	u, err := Drawn(j)
	if err != nil {
		t.Fatal(err)
	}
	n := len(u.Conductors)
	u.Conductors[0].Colour = "orange"
	c := NewConductor(u, u.Conductors[0].From)
	if c.Class != u.Conductors[0].Class || c.Gauge != u.Conductors[0].Gauge || u.Conductor(c.ID) != nil {
		t.Errorf("a new conductor beside %+v is %+v", u.Conductors[0], c)
	}
	if err := u.AddConductor(c); err != nil {
		t.Fatal(err)
	}
	d := NewDevice(u, netlist.KindNames()[0])
	if err := u.AddDevice(d); err != nil {
		t.Fatal(err)
	}
	gone := u.Conductors[3].ID
	if err := u.DeleteConductor(gone); err != nil {
		t.Fatal(err)
	}
	j.Unit = u.JSON()
	got, err := Departures(j)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"device " + d.ID + " added", "conductor " + u.Conductors[0].ID + " changed: orange", "conductor " + c.ID + " added", "conductor " + gone + " left out"} {
		if !strings.Contains(strings.Join(got, "\n"), want) {
			t.Errorf("no %q in %q", want, got)
		}
	}
	if len(got) != 4 {
		t.Errorf("%d departures: %q", len(got), got)
	}
	if u.Device("COMP") == nil || u.Conductor("g2").To != "COMP.GND" {
		t.Fatal("the compressor's ground is not where it was")
	}
	if err := u.DeleteConductor("g2"); err != nil {
		t.Fatal(err)
	}
	if c := NewConductor(u, "COMP.GND"); c.Class != netlist.Ground {
		t.Errorf("a new conductor on a bare ground screw is %+v", c)
	}
	// It is planned at the rated voltage like the catalogue's.
	v, ok := j.SI(record.RatedVoltage, 0)
	at, err := Unit(j)
	if err != nil || !ok {
		t.Fatal(err, ok)
	}
	if at.Device("SUP").P("volts") != v || len(at.Conductors) != n {
		t.Errorf("supply %g V for a rated %g V; %d conductors, want %d", at.Device("SUP").P("volts"), v, len(at.Conductors), n)
	}
	for _, name := range netlist.Catalogue() {
		u, err := netlist.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, kind := range netlist.KindNames() {
			if err := u.Clone().AddDevice(NewDevice(u, kind)); err != nil {
				t.Errorf("%s: %s: %v", name, kind, err)
			}
		}
		for _, end := range Terminals(u)[1:] {
			if err := u.Clone().AddConductor(NewConductor(u, end)); err != nil {
				t.Errorf("%s: a new conductor at %s: %v", name, end, err)
			}
		}
	}
}
