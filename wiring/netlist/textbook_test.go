package netlist

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"
)

// bench builds a unit from devices and from nets written as lists of ends; each
// net is wired in a chain with short thick conductors.
func bench(t testing.TB, devices []Device, nets ...[]string) *Circuit {
	t.Helper()
	c, err := Compile(benchUnit(devices, nets...))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func benchUnit(devices []Device, nets ...[]string) *Unit {
	u := &Unit{Format: Format, Name: "bench", Hertz: 60, Devices: devices}
	class := func(end string) Class {
		for _, d := range devices {
			for _, t := range Kinds[d.Kind].Terminals {
				if d.ID+"."+t.Name == end && t.Class != Any {
					return t.Class
				}
			}
		}
		return ""
	}
	for _, n := range nets {
		k := Class2
		for _, e := range n {
			if class(e) == Line {
				k = Line
			}
		}
		for i := range n[1:] {
			u.Conductors = append(u.Conductors, Conductor{ID: "c" + string(rune('A'+len(u.Conductors)/26)) + string(rune('a'+len(u.Conductors)%26)), From: n[i], To: n[i+1], Colour: "black", Gauge: 4, Insulation: 600, Class: k, Length: 1e-3})
		}
	}
	return u
}

func dev(id, kind string, kv ...any) Device {
	d := Device{ID: id, Kind: kind, Place: "indoor", Params: map[string]float64{}}
	for i := 0; i < len(kv); i += 2 {
		switch v := kv[i+1].(type) {
		case int:
			d.Params[kv[i].(string)] = float64(v)
		case float64:
			d.Params[kv[i].(string)] = v
		}
	}
	return d
}

func solved(t testing.TB, c *Circuit, st State) *Solution {
	t.Helper()
	x, err := c.NewSolver().Solve(st)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// The worked examples of Kuphaldt, Lessons In Electric Circuits, volume II (AC),
// chapter "Reactance and impedance -- R, L, and C": 120 V, 60 Hz, with the values
// that the book prints from its own SPICE runs (four digits).
func TestLessonsRLC(t *testing.T) {
	v := dev("V", "source", "volts", 120)
	cases := []struct {
		name string
		c    *Circuit
		want map[string][2]float64 // across a device: volts, degrees
		amps map[string][2]float64 // through a device: amperes, degrees
	}{
		{"series R L C", bench(t, []Device{v, dev("R", "impedance", "ohms", 250), dev("L", "impedance", "henries", 0.65), dev("C", "impedance", "farads", 1.5e-6)},
			[]string{"V.1", "R.1"}, []string{"R.2", "L.1"}, []string{"L.2", "C.1"}, []string{"C.2", "V.2"}),
			map[string][2]float64{"R": {19.43, 80.68}, "L": {19.05, 170.7}, "C": {137.5, -9.320}},
			map[string][2]float64{"R": {77.73e-3, 80.68}}}, // the book's i(v1) is the source's own, 180 degrees away
		{"parallel R L C", bench(t, []Device{v, dev("R", "impedance", "ohms", 250), dev("L", "impedance", "henries", 0.65), dev("C", "impedance", "farads", 1.5e-6)},
			[]string{"V.1", "R.1", "L.1", "C.1"}, []string{"V.2", "R.2", "L.2", "C.2"}),
			nil, map[string][2]float64{"R": {0.4800, 0}, "L": {0.4897, -90}, "C": {67.86e-3, 90}}},
		{"series-parallel", bench(t, []Device{v, dev("C1", "impedance", "farads", 4.7e-6), dev("L", "impedance", "henries", 0.65), dev("C2", "impedance", "farads", 1.5e-6), dev("R", "impedance", "ohms", 470)},
			[]string{"V.1", "C1.1"}, []string{"C1.2", "L.1", "R.1"}, []string{"L.2", "C2.1"}, []string{"C2.2", "R.2", "V.2"}),
			map[string][2]float64{"C1": {82.76, -31.63}, "L": {10.59, -138.8}, "C2": {76.45, 41.22}, "R": {65.86, 41.22}},
			map[string][2]float64{"C1": {0.1466, 58.37}, "L": {43.23e-3, 131.2}, "R": {0.1401, 41.22}}},
	}
	for _, k := range cases {
		x := solved(t, k.c, 0)
		for d, w := range k.want {
			got, err := x.Voltage(d+".1", d+".2")
			if err != nil {
				t.Fatal(err)
			}
			near(t, k.name+" volts "+d, got, w)
		}
		for i, br := range k.c.Branches {
			if w, ok := k.amps[br.Device]; ok {
				near(t, k.name+" amps "+br.Device, x.Current(i), w)
			}
		}
	}
}

// near compares a phasor with a printed magnitude (four digits) and angle.
func near(t *testing.T, what string, got complex128, want [2]float64) {
	t.Helper()
	m, a := cmplx.Abs(got), cmplx.Phase(got)*180/math.Pi
	if math.Abs(m-want[0]) > 6e-4*want[0] || math.Abs(math.Remainder(a-want[1], 360)) > 0.06 {
		t.Errorf("%s: %.5g at %.2f degrees, want %.4g at %.2f", what, m, a, want[0], want[1])
	}
}

// Split-phase and capacitor motor at standstill: Hubert, Electric Machines,
// Examples 6.1 (page 257) and 6.2 (page 265), as worked in an open textbook
// companion: main winding 2.00+j3.50, auxiliary 9.15+j8.40 ohm, 120 V, 60 Hz. A
// series reactance of 13.6 ohm sets the currents 90 degrees apart. (The companion
// notes that the book's own capacitance is wrong; the reactance is used.)
func TestHubertMotor(t *testing.T) {
	const w = 2 * math.Pi * 60
	main := dev("M", "impedance", "ohms", 2.0, "henries", 3.5/w)
	aux := dev("A", "impedance", "ohms", 9.15, "henries", 8.4/w)
	v := dev("V", "source", "volts", 120)
	c := bench(t, []Device{v, main, aux}, []string{"V.1", "M.1", "A.1"}, []string{"V.2", "M.2", "A.2"})
	im, ia := throughOf(t, c, "M"), throughOf(t, c, "A")
	loose(t, "main amps", cmplx.Abs(im), 29.8, 0.1)
	loose(t, "main degrees", deg(im), -60.3, 0.1)
	loose(t, "aux amps", cmplx.Abs(ia), 9.66, 0.02)
	loose(t, "aux degrees", deg(ia), -42.6, 0.1)
	loose(t, "displacement", deg(ia/im), 17.7, 0.1)

	// (d) 5.25 ohm in series with the auxiliary winding: 30 degrees, 7.2 A.
	aux.Params = map[string]float64{"ohms": 9.15 + 5.25, "henries": 8.4 / w}
	c = bench(t, []Device{v, main, aux}, []string{"V.1", "M.1", "A.1"}, []string{"V.2", "M.2", "A.2"})
	loose(t, "with 5.25 ohm: amps", cmplx.Abs(throughOf(t, c, "A")), 7.2, 0.05)
	loose(t, "with 5.25 ohm: displacement", deg(throughOf(t, c, "A")/throughOf(t, c, "M")), 30, 0.1)

	// 6.2: the capacitor.
	aux = dev("A", "impedance", "ohms", 9.15, "henries", 8.4/w)
	c = bench(t, []Device{v, main, aux, dev("C", "impedance", "farads", 1/(w*13.6))},
		[]string{"V.1", "M.1", "C.1"}, []string{"C.2", "A.1"}, []string{"V.2", "M.2", "A.2"})
	loose(t, "with capacitor: amps", cmplx.Abs(throughOf(t, c, "A")), 11.4, 0.05)
	loose(t, "with capacitor: degrees", deg(throughOf(t, c, "A")), 29.7, 0.15)
	loose(t, "with capacitor: displacement", deg(throughOf(t, c, "A")/throughOf(t, c, "M")), 90, 0.15)
}

// A public review problem for electrical engineers: 220 V, 60 Hz, main winding
// 3.5+j2.5, auxiliary 8.6+j2.5 ohm: 182.43 uF puts the currents 90 degrees apart
// at starting.
func TestReviewProblemCapacitor(t *testing.T) {
	const w = 2 * math.Pi * 60
	c := bench(t, []Device{dev("V", "source", "volts", 220), dev("M", "impedance", "ohms", 3.5, "henries", 2.5/w), dev("A", "impedance", "ohms", 8.6, "henries", 2.5/w), dev("C", "impedance", "farads", 182.43e-6)},
		[]string{"V.1", "M.1", "C.1"}, []string{"C.2", "A.1"}, []string{"V.2", "M.2", "A.2"})
	loose(t, "displacement", deg(throughOf(t, c, "A")/throughOf(t, c, "M")), 90, 0.02)
}

func throughOf(t *testing.T, c *Circuit, device string) complex128 {
	t.Helper()
	x := solved(t, c, 0)
	for i := range c.Branches {
		if c.Branches[i].Device == device {
			return x.Current(i)
		}
	}
	t.Fatalf("no branch of %s", device)
	return 0
}

func deg(z complex128) float64 { return cmplx.Phase(z) * 180 / math.Pi }

func loose(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.5g, want %.5g within %g", what, got, want, tol)
	}
}

// Transformer regulation at rated load: Hubert, Electric Machines, Examples 2.9
// and 2.10 (pages 69 and 70): 1.3 % resistance, 3.8 % reactance, power factor 0.75
// lagging: 3.51 %; leading: -1.47 %.
func TestHubertRegulation(t *testing.T) {
	const va, volts = 40.0, 24.0
	base := volts * volts / va
	for _, k := range []struct {
		name string
		sign float64
		want float64
	}{{"lagging", 1, 3.51}, {"leading", -1, -1.47}} {
		r, x := base*0.75, base*math.Sqrt(1-0.75*0.75)
		load := dev("Z", "impedance", "ohms", r)
		if k.sign > 0 {
			load.Params["henries"] = x / (2 * math.Pi * 60)
		} else {
			load.Params["farads"] = 1 / (2 * math.Pi * 60 * x)
		}
		tr := dev("T", "transformer", "va", va, "volts", volts, "open-volts", 24.0, "ohms", 0.013*base, "reactance", 0.038*base)
		c := bench(t, []Device{dev("S", "supply-120", "source-ohms", 1e-4), tr, load},
			[]string{"S.L", "T.P1"}, []string{"S.N", "T.P2"}, []string{"T.S1", "Z.1"}, []string{"T.S2", "Z.2"})
		sol := solved(t, c, 0)
		loaded, _ := sol.Voltage("T.S1", "T.S2")
		loose(t, k.name, (24.0/cmplx.Abs(loaded)-1)*100, k.want, 0.02)
	}
}

// Relay logic: Kuphaldt, Lessons In Electric Circuits, volume IV (Digital),
// chapter "Ladder logic": parallel contacts are OR, series contacts AND, a
// normally closed contact NOT; permissive strings; interlocks; seal-in contacts.
func TestRelayLogic(t *testing.T) {
	supply := []Device{dev("S", "supply-120"), dev("T", "transformer", "va", 100.0, "ohms", 0.05, "reactance", 0.01)}
	feed := [][]string{{"S.L", "T.P1"}, {"S.N", "T.P2"}}
	sw := func(ids ...string) (out []Device) {
		for _, id := range ids {
			out = append(out, dev(id, "switch", "closed", 0))
		}
		return out
	}
	relay := func(id string) Device { return dev(id, "relay") }
	in := func(x *Solution, coil string) bool {
		for i, k := range x.s.c.Coils {
			if k.Device == coil {
				on, _ := x.Drawn(i)
				return on
			}
		}
		t.Fatalf("no coil %s", coil)
		return false
	}
	c := bench(t, slices.Concat(supply, sw("A", "B"), []Device{relay("AND"), relay("OR"), relay("NOT"), relay("LAMP")}, sw("A2", "B2")),
		append(feed,
			[]string{"T.S1", "A.1"}, []string{"A.2", "B.1"}, []string{"B.2", "AND.A1"}, []string{"AND.A2", "T.S2"},
			[]string{"T.S1", "A2.1", "B2.1"}, []string{"A2.2", "B2.2", "OR.A1"}, []string{"OR.A2", "T.S2"},
			[]string{"A2.1", "OR.COM"}, []string{"OR.NC", "NOT.A1"}, []string{"NOT.A2", "OR.A2"})...)
	for st := range State(c.States()) {
		x := solved(t, c, st)
		a, b := c.Has(st, "A"), c.Has(st, "B")
		a2, b2 := c.Has(st, "A2"), c.Has(st, "B2")
		if got := in(x, "AND"); got != (a && b) {
			t.Errorf("AND of %v %v: %v", a, b, got)
		}
		if got := in(x, "OR"); got != (a2 || b2) {
			t.Errorf("OR of %v %v: %v", a2, b2, got)
		}
		if got := in(x, "NOT"); got != !(a2 || b2) {
			t.Errorf("NOR of %v %v: %v", a2, b2, got)
		}
	}

	// Seal-in: START in parallel with the relay's own contact, STOP in series.
	c = bench(t, slices.Concat(supply, sw("START"), []Device{dev("STOP", "switch", "closed", 1), relay("M")}),
		append(feed, []string{"T.S1", "STOP.1"}, []string{"STOP.2", "START.1", "M.COM"}, []string{"START.2", "M.NO", "M.A1"}, []string{"M.A2", "T.S2"})...)
	s := c.NewSolver()
	rest := c.Rest()
	step := func(st State, first bool) bool {
		f := s.Continue
		if first {
			f = s.Solve
		}
		x, err := f(st)
		if err != nil {
			t.Fatal(err)
		}
		return in(x, "M")
	}
	for i, k := range []struct {
		st   State
		want bool
	}{{rest, false}, {c.With(rest, "START", true), true}, {rest, true}, {c.With(rest, "STOP", false), false}, {rest, false}} {
		if got := step(k.st, i == 0); got != k.want {
			t.Errorf("seal-in, move %d (%s): coil %v, want %v", i, c.Words(k.st), got, k.want)
		}
	}

	// Interlock: each coil through the other's normally closed contact. Whichever
	// is in first keeps the other out; called together, one wins and all is at rest.
	c = bench(t, slices.Concat(supply, sw("F", "R"), []Device{relay("M1"), relay("M2")}),
		append(feed, []string{"T.S1", "F.1", "R.1"}, []string{"F.2", "M2.COM"}, []string{"M2.NC", "M1.A1"}, []string{"R.2", "M1.COM"}, []string{"M1.NC", "M2.A1"}, []string{"M1.A2", "M2.A2", "T.S2"})...)
	x := solved(t, c, 3)
	if in(x, "M1") == in(x, "M2") || x.Chatter != nil {
		t.Errorf("interlock called both ways: M1 %v, M2 %v, chatter %v", in(x, "M1"), in(x, "M2"), x.Chatter)
	}

	// A relay that opens its own coil circuit chatters, and says so.
	c = bench(t, slices.Concat(supply, []Device{relay("BUZZ")}), append(feed, []string{"T.S1", "BUZZ.COM"}, []string{"BUZZ.NC", "BUZZ.A1"}, []string{"BUZZ.A2", "T.S2"})...)
	if x := solved(t, c, 0); !slices.Equal(x.Chatter, []string{"BUZZ coil on", "BUZZ coil off"}) && !slices.Equal(x.Chatter, []string{"BUZZ coil off", "BUZZ coil on"}) {
		t.Errorf("a buzzer's cycle is %q", x.Chatter)
	}
}

// The running model gives back the nameplate: rated current in the common lead,
// common = start + run, and the capacitor current by I = V 2 pi f C.
func TestMotorLeads(t *testing.T) {
	u, err := Load("two-contactor-conventional")
	if err != nil {
		t.Fatal(err)
	}
	c, err := Compile(u)
	if err != nil {
		t.Fatal(err)
	}
	x := solved(t, c, c.With(c.Rest(), "cool-1", true))
	ls, err := x.Leads("COMP")
	if err != nil {
		t.Fatal(err)
	}
	ph := map[string]complex128{}
	for _, l := range ls {
		ph[l.Name] = cmplx.Rect(l.Amps, l.Degrees*math.Pi/180)
	}
	if d := cmplx.Abs(ph["common"] - ph["start"] - ph["run"]); d > 1e-9 {
		t.Errorf("common is not start + run: off by %g A", d)
	}
	v, _ := x.Voltage("COMP.R1", "COMP.C")
	loose(t, "common", cmplx.Abs(ph["common"]), 14*cmplx.Abs(v)/240, 0.01)
	vc, _ := x.Voltage("RCL.1", "RCL.2")
	loose(t, "capacitor", cmplx.Abs(ph["start"]), cmplx.Abs(vc)*2*math.Pi*60*35e-6, 0.01)
}
