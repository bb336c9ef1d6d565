package netlist

import (
	"errors"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// eachUnit calls f with every unit of the catalogue.
func eachUnit(t *testing.T, f func(name string, u *Unit, c *Circuit)) {
	t.Helper()
	for _, n := range Catalogue() {
		u, err := Load(n)
		if err != nil {
			t.Fatal(err)
		}
		c, err := Compile(u)
		if err != nil {
			t.Fatal(err)
		}
		f(n, u, c)
	}
}

// mustVolts is the voltage between two ends, its magnitude.
func mustVolts(t *testing.T, x *Solution, a, b string) float64 {
	t.Helper()
	v, err := x.Voltage(a, b)
	if err != nil {
		t.Fatal(err)
	}
	return cmplx.Abs(v)
}

// ampsOf is the current in a part of a device.
func ampsOf(t *testing.T, x *Solution, device, part string) float64 {
	t.Helper()
	for i := range x.s.c.Branches {
		if b := &x.s.c.Branches[i]; b.Device == device && b.Name == part {
			return cmplx.Abs(x.Current(i))
		}
	}
	t.Fatalf("no %s of %s", part, device)
	return 0
}

// Three legs of a wye: line to line is the square root of three times line to
// neutral, 208 to 120 V (any circuits textbook), and the three add up to nothing.
func TestThreePhase(t *testing.T) {
	c := bench(t, []Device{dev("S", "supply-three-phase"), dev("A", "heater-crankcase"), dev("B", "heater-crankcase"), dev("C", "heater-crankcase")},
		[]string{"S.L1", "A.1"}, []string{"S.L2", "B.1"}, []string{"S.L3", "C.1"}, []string{"A.2", "B.2", "C.2"})
	x := solved(t, c, 0)
	for _, p := range [][2]string{{"S.L1", "S.L2"}, {"S.L2", "S.L3"}, {"S.L3", "S.L1"}} {
		loose(t, p[0]+" to "+p[1], mustVolts(t, x, p[0], p[1]), 208, 0.01)
	}
	loose(t, "leg to ground", mustVolts(t, x, "S.L2", "S.GND"), 120.09, 0.01)
	loose(t, "star point", mustVolts(t, x, "A.2", "S.GND"), 0, 0.01)
}

// motorBench is a single-speed compressor with its run capacitor behind a switch W,
// and what is added across the run capacitor or the start winding.
func motorBench(t *testing.T, more []Device, nets ...[]string) *Circuit {
	t.Helper()
	ds := append([]Device{dev("S", "supply"), dev("W", "switch", "closed", 0), dev("M", "compressor-single"), dev("RC", "capacitor-run")}, more...)
	return bench(t, ds, append([][]string{{"S.L1", "W.1"}, {"W.2", "M.R", "RC.1"}, {"RC.2", "M.S"}, {"S.L2", "M.C"}}, nets...)...)
}

// A potential relay: closed at rest, so that the start capacitor helps; open once
// the rotor turns, for then the start winding has more than the line's voltage
// (common practice, no source); closed again when all is off.
func TestPotentialRelay(t *testing.T) {
	c := motorBench(t, []Device{dev("PR", "start-relay"), dev("SC", "capacitor-start")},
		[]string{"M.S", "PR.2"}, []string{"PR.5", "M.C"}, []string{"PR.1", "SC.1"}, []string{"SC.2", "M.R"})
	s := c.NewSolver()
	off, err := s.Solve(0)
	if err != nil || off.Status("M") != "" {
		t.Fatal(err, off.Status("M"))
	}
	if r, err := s.Ohms(0, "PR.1", "PR.2"); err != nil || r > 0.1 {
		t.Errorf("contact at rest: %v ohm, %v", r, err)
	}
	on, err := s.Solve(1)
	if err != nil {
		t.Fatal(err)
	}
	if drawn, v := on.Drawn(0); !drawn || v < 250 || on.Status("M") != "runs" || on.Chatter != nil {
		t.Errorf("running: relay %v with %.0f V, motor %s, chatter %v", drawn, v, on.Status("M"), on.Chatter)
	}
	if a := ampsOf(t, on, "SC", "capacitor"); a > 0.1 {
		t.Errorf("the start capacitor still carries %.2f A", a)
	}
	if on, err = s.Continue(0); err != nil || on.Status("M") != "" {
		t.Errorf("off again: %v", err)
	} else if drawn, _ := on.Drawn(0); drawn {
		t.Error("the relay stays drawn with the power off")
	}
	for i := range c.Branches { // its contact welded: the start capacitor stays in
		if c.Branches[i].Device == "PR" && c.Branches[i].Name == "contact" {
			s.Hold(map[int]bool{i: true})
		}
	}
	if on, err = s.Solve(1); err != nil || ampsOf(t, on, "SC", "capacitor") < 3 {
		t.Errorf("with the contact welded the start capacitor carries %.2f A (%v)", ampsOf(t, on, "SC", "capacitor"), err)
	}
}

// A start thermistor: cold and low before, warm and nearly open when the motor runs,
// cold again when all is off.
func TestStartThermistor(t *testing.T) {
	c := motorBench(t, []Device{dev("PT", "start-ptc")}, []string{"M.R", "PT.1"}, []string{"PT.2", "M.S"})
	s := c.NewSolver()
	if r, err := s.Ohms(0, "PT.1", "PT.2"); err != nil || math.Abs(r-1/(1/25.0+1/(0.6+2.4))) > 0.01 {
		t.Errorf("cold, parallel to both windings in series: %v ohm, %v", r, err)
	}
	x, err := s.Solve(1)
	if err != nil {
		t.Fatal(err)
	}
	v := mustVolts(t, x, "PT.1", "PT.2")
	if a := ampsOf(t, x, "PT", "thermistor"); x.Status("M") != "runs" || x.Chatter != nil || math.Abs(a-v/3e4) > 1e-6 || v < 240 {
		t.Errorf("motor %s, thermistor %.4f A at %.0f V, chatter %v", x.Status("M"), a, v, x.Chatter)
	}
	if x, err = s.Continue(0); err != nil || x.Status("M") != "" {
		t.Errorf("off: %v", err)
	}
	if x, err = s.Continue(1); err != nil || x.Status("M") != "runs" {
		t.Errorf("on again: %v", err)
	}
}

// A fan with two taps: the whole line on the winding and more current when fed on
// high; less of both on low, and the high tap live; one speed at a time.
func TestTwoSpeedFan(t *testing.T) {
	c := bench(t, []Device{dev("S", "supply"), dev("H", "switch", "closed", 0), dev("L", "switch", "closed", 0), dev("F", "fan-two-speed"), dev("FC", "capacitor-run", "farads", 5e-6)},
		[]string{"S.L1", "F.C", "FC.1"}, []string{"FC.2", "F.S"}, []string{"S.L2", "H.1", "L.1"}, []string{"H.2", "F.HI"}, []string{"L.2", "F.LO"})
	if x := solved(t, c, 0); x.Status("F") != "" {
		t.Errorf("off it %s", x.Status("F"))
	}
	x := solved(t, c, c.With(0, "H", true))
	high := ampsOf(t, x, "F", "run winding")
	loose(t, "high: winding", mustVolts(t, x, "F.C", "F.HI"), 240, 0.5)
	if x.Status("F") != "runs high" {
		t.Errorf("on high it %s", x.Status("F"))
	}
	x = solved(t, c, c.With(0, "L", true))
	v, low := mustVolts(t, x, "F.C", "F.HI"), ampsOf(t, x, "F", "run winding")
	if x.Status("F") != "runs low" || x.Chatter != nil || v < 0.6*240 || v > 0.85*240 || low > 0.9*high {
		t.Errorf("on low it %s with %.0f V and %.2f A of %.2f A", x.Status("F"), v, low, high)
	}
}

// The taps of an electronic fan: high wins over low, none without line power.
func TestFanTaps(t *testing.T) {
	c := bench(t, []Device{dev("S", "supply"), dev("B", "switch"), dev("V", "source", "volts", 24.0), dev("H", "switch", "closed", 0), dev("L", "switch", "closed", 0), dev("F", "fan-ecm-taps")},
		[]string{"S.L1", "B.1"}, []string{"B.2", "F.1"}, []string{"S.L2", "F.2"}, []string{"V.1", "H.1", "L.1"}, []string{"H.2", "F.HI"}, []string{"L.2", "F.LO"}, []string{"V.2", "F.C"})
	for _, k := range []struct {
		b, h, l bool
		want    string
	}{{true, false, false, ""}, {true, true, false, "runs high"}, {true, false, true, "runs low"}, {true, true, true, "runs high"}, {false, true, true, ""}} {
		st := c.With(c.With(c.With(0, "B", k.b), "H", k.h), "L", k.l)
		if got := solved(t, c, st).Status("F"); got != k.want {
			t.Errorf("%s: %q, want %q", c.Words(st), got, k.want)
		}
	}
}

// A lockout relay keeps the compressor off after a safety has opened and closed
// again, until the call has gone and come back; one that opens between calls locks
// nothing.
func TestLockout(t *testing.T) {
	u, err := Load("two-contactor-lockout-conventional")
	if err != nil {
		t.Fatal(err)
	}
	c, err := Compile(u)
	if err != nil {
		t.Fatal(err)
	}
	s := c.NewSolver()
	at := func(call, hp bool, want string) {
		t.Helper()
		st := c.With(c.With(c.Rest(), "cool-1", call), "HP", hp)
		x, err := s.Continue(st)
		if err != nil {
			t.Fatal(err)
		}
		if got := x.Status("COMP"); got != want || x.Chatter != nil {
			t.Errorf("call %v, switch closed %v: %q, want %q; chatter %v", call, hp, got, want, x.Chatter)
		}
	}
	if _, err := s.Solve(c.Rest()); err != nil {
		t.Fatal(err)
	}
	at(true, true, "runs low")
	at(true, false, "")
	at(true, true, "") // locked out
	at(false, true, "")
	at(true, true, "runs low")
	at(false, true, "")
	at(false, false, "")
	at(false, true, "")
	at(true, true, "runs low")
}

// A monitor's contact is open without power, whatever it would say.
func TestMonitorWithoutPower(t *testing.T) {
	c := bench(t, []Device{dev("V", "source", "volts", 24.0), dev("P", "switch"), dev("MON", "monitor"), dev("K", "relay")},
		[]string{"V.1", "P.1", "MON.M1"}, []string{"P.2", "MON.R"}, []string{"MON.M2", "K.A1"}, []string{"V.2", "MON.C", "K.A2"})
	for st := range State(c.States()) {
		want := c.Has(st, "P") && c.Has(st, "MON")
		if on, _ := solved(t, c, st).Drawn(0); on != want {
			t.Errorf("%s: relay drawn %v, want %v", c.Words(st), on, want)
		}
	}
}

// The rating for making and breaking a standing motor's current follows the
// contact's, unless it was read.
func TestContactLRA(t *testing.T) {
	d := dev("K", "contactor-2p", "contact-amps", 40.0)
	if got := d.P("contact-lra"); got != 200 {
		t.Errorf("not read: %v A", got)
	}
	d.Params["contact-lra"] = 240
	if got := d.P("contact-lra"); got != 240 {
		t.Errorf("read: %v A", got)
	}
	if r := dev("R", "relay"); !math.IsNaN(r.P("contact-lra")) {
		t.Error("a relay has a contactor's rating")
	}
}

// Ground joins shells and nothing else: no current in any ground conductor of any
// catalogue unit in any state, each motor's shell at earth; and a 24 V common that is
// grounded at one point is no bond to the line, while a line conductor on it is.
func TestGrounds(t *testing.T) {
	eachUnit(t, func(n string, u *Unit, c *Circuit) {
		seen, s := 0, c.NewSolver()
		for st := range State(c.States()) {
			x, err := s.Solve(st)
			if err != nil {
				t.Fatal(err)
			}
			for i := range c.Branches {
				if b := &c.Branches[i]; b.class == Ground {
					seen++
					if a := cmplx.Abs(x.Current(i)); a > 1e-5 {
						t.Fatalf("%s, %s: %g A in ground conductor %s", n, c.Words(st), a, b.Name)
					}
				}
			}
		}
		for _, d := range u.Devices {
			if strings.HasPrefix(d.Kind, "compressor-") || strings.HasPrefix(d.Kind, "fan-") && d.Kind != "fan-cycling" || d.Kind == "blower-ecm" {
				if len(u.At(d.ID+".GND")) == 0 {
					t.Errorf("%s: %s has no ground", n, d.ID)
				}
				if r, err := s.Ohms(c.Rest(), d.ID+".GND", "SUP.GND"); err != nil || r > 0.1 {
					t.Errorf("%s: %s.GND is %.3g ohm from ground (%v)", n, d.ID, r, err)
				}
			}
		}
		if seen == 0 {
			t.Errorf("%s has no ground conductor", n)
		}
		v := u.Clone()
		add := func(id, from, to string, class Class) {
			if err := v.AddConductor(Conductor{ID: id, From: from, To: to, Colour: "green", Gauge: 14, Insulation: 600, Class: class}); err != nil {
				t.Fatal(err)
			}
		}
		bonded := func() bool {
			c, err := Compile(v)
			if err != nil {
				t.Fatal(err)
			}
			_, _, b := solved(t, c, c.With(c.Rest(), "cool-1", true)).Bonded()
			return b
		}
		add("common", "TR.S2", "GL.1", Class2)
		if bonded() {
			t.Errorf("%s: a grounded common counts as joined to the line", n)
		}
		if err := v.DeleteConductor("g1"); err != nil { // the screw's own ground
			t.Fatal(err)
		}
		add("leg", "SUP.L1", "GL.1", Line)
		if !bonded() {
			t.Errorf("%s: a leg and the common on one screw do not count as joined", n)
		}
	})
	for _, c := range []Conductor{
		{ID: "bare", From: "GL.1", To: Capped, Colour: "bare", Gauge: 10, Class: Ground},
		{ID: "wrong", From: "SUP.L1", To: "GL.1", Colour: "black", Gauge: 10, Insulation: 600, Class: Line},
	} {
		v, _ := Load("two-contactor-conventional")
		if err := v.AddConductor(c); err != nil {
			t.Errorf("%s: %v", c.ID, err) // what is found must be sayable, right or wrong
		}
	}
}

// The units to be refused read, solve and hold what they are to be refused for.
func TestRefusedUnitsRead(t *testing.T) {
	files, err := filepath.Glob("../planner/testdata/refused/*.json")
	if err != nil || len(files) < 6 {
		t.Fatal(files, err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		u, err := Parse(data)
		if err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		if u.Name != strings.TrimSuffix(filepath.Base(f), ".json") || slices.Contains(Catalogue(), u.Name) {
			t.Errorf("%s calls itself %s", f, u.Name)
		}
		if _, err := truthTable(t.Context(), u); err != nil {
			t.Errorf("%s: %v", f, err)
		}
	}
}

// Every kind can be put down alone, with its numbers in range, and solved; each has
// words, and each number a range that holds its default.
func TestEveryKindAlone(t *testing.T) {
	for _, n := range KindNames() {
		k := Kinds[n]
		if k.Words == "" || len(k.Terminals) == 0 {
			t.Errorf("%s has no words or no terminals", n)
		}
		for _, p := range k.Params {
			if !(p.Default >= p.Min && p.Default <= p.Max) {
				t.Errorf("%s: %s is %v, allowed %v to %v", n, p.Name, p.Default, p.Min, p.Max)
			}
		}
		u := benchUnit([]Device{dev("D", n)})
		c, err := Compile(u)
		if err != nil {
			t.Errorf("%s: %v", n, err)
			continue
		}
		for st := range State(c.States()) {
			if x := solved(t, c, st); x.Chatter != nil {
				t.Errorf("%s alone chatters: %v", n, x.Chatter)
			}
		}
		u.Devices[0].Pigtail = true
		if err := u.Validate(); (err == nil) != k.fixed || err != nil && !errors.Is(err, ErrParam) {
			t.Errorf("%s with fixed leads: %v", n, err)
		}
	}
}
