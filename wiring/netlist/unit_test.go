package netlist

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCatalogue(t *testing.T) {
	names := Catalogue()
	if len(names) < 14 {
		t.Fatalf("only %d units in the catalogue", len(names))
	}
	for _, n := range names {
		u, err := Load(n)
		if err != nil {
			t.Fatal(err)
		}
		if u.Name != n {
			t.Errorf("%s calls itself %s", n, u.Name)
		}
		again, err := Parse(u.JSON())
		if err != nil {
			t.Fatalf("%s does not read back: %v", n, err)
		}
		if !bytes.Equal(again.JSON(), u.JSON()) {
			t.Errorf("%s changes by being written and read", n)
		}
		tab, err := truthTable(context.Background(), u)
		if err != nil {
			t.Fatal(err)
		}
		checkTwoStage(t, n, tab)
	}
}

// What an open input stops, where it is not every compressor and the outdoor fan.
var stopsOnly = map[string]map[string]string{
	"parallel-tandem-line-safeties-conventional": {"HPL1": "COMP1", "OL1": "COMP1", "HPL2": "COMP2", "OL2": "COMP2"},
	"two-capacity-float-conventional":            {"FCY": "FM"},
}

// checkTwoStage: the old units do what a two-stage unit is for. A compressor runs
// only with a first-stage call and everything closed that stops it and every delay
// run, more of it with both calls, and the fan with it.
func checkTwoStage(t *testing.T, name string, tab *Table) {
	t.Helper()
	for _, row := range tab.Rows {
		call, second, open := false, false, map[string]bool{}
		for i, in := range tab.Inputs {
			on := row.State>>i&1 == 1
			switch {
			case in.Name == "cool-1":
				call = on
			case in.Name == "cool-2":
				second = on
			case in.Kind != "call" && !on:
				open[in.Name] = true
			}
		}
		free := func(load string) bool {
			for in := range open {
				if only := stopsOnly[name][in]; only == "" || only == load {
					return false
				}
			}
			return call
		}
		for i, l := range tab.Loads {
			want := ""
			switch {
			case !strings.HasPrefix(l, "COMP") && l != "FM" || name == "two-capacity-fan-taps-digital" && l == "FM" && open["HP"]:
				continue // there the high tap hangs before the switch
			case free(l) && (l != "COMP2" || second):
				want = "runs"
			}
			got := row.Does[i]
			if word, how, _ := strings.Cut(got, " "); word != want || how != "" && (how == "high" || how == "full") != second || l == "COMP" && want != "" && how == "" {
				t.Errorf("%s, state %b: %s %q, want %q; second stage %v, open %v", name, row.State, l, got, want, second, open)
			}
		}
		if row.Chatter != nil {
			t.Errorf("%s, state %b: chatter %v", name, row.State, row.Chatter)
		}
	}
}

// A file of an earlier version, with the names of then, is the unit of today.
func TestOldNames(t *testing.T) {
	now, err := Load("two-capacity-conventional")
	if err != nil {
		t.Fatal(err)
	}
	now.Device("COMP").Params["valve-ohms"] = 120
	old := strings.NewReplacer(`"two-capacity-conventional"`, `"unloading-scroll-conventional"`, `"compressor-two-capacity"`, `"compressor-unloading"`, `"valve-ohms"`, `"solenoid-ohms"`).Replace(string(now.JSON()))
	u, err := Parse([]byte(old))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(u.JSON(), now.JSON()) || old == string(now.JSON()) {
		t.Error("the old names were not taken for the new ones")
	}
	if u, err = Load("unloading-scroll-digital"); err != nil || u.Name != "two-capacity-digital" {
		t.Errorf("a unit's old name: %v", err)
	}
	both := strings.Replace(old, `"solenoid-ohms"`, `"valve-ohms":96,"solenoid-ohms"`, 1)
	if _, err := Parse([]byte(both)); !errors.Is(err, ErrParam) {
		t.Errorf("a number under both names: %v", err)
	}
	if _, err := Parse([]byte(strings.Replace(string(now.JSON()), `"valve-ohms"`, `"solenoid-ohms"`, 1))); !errors.Is(err, ErrParam) {
		t.Errorf("an old number of a new kind: %v", err)
	}
}

func TestNamedErrors(t *testing.T) {
	good, err := Load("two-contactor-conventional")
	if err != nil {
		t.Fatal(err)
	}
	edit := func(old, new string) []byte {
		s := string(good.JSON())
		if !strings.Contains(s, old) {
			t.Fatalf("nothing to edit: %s", old)
		}
		return []byte(strings.Replace(s, old, new, 1))
	}
	for _, k := range []struct {
		name string
		data []byte
		want error
	}{
		{"empty", nil, ErrSyntax},
		{"cut off", good.JSON()[:500], ErrSyntax},
		{"two documents", append(good.JSON(), "{}"...), ErrSyntax},
		{"unknown field", edit(`"title"`, `"titel"`), ErrSyntax},
		{"text for a number", edit(`"gauge":8`, `"gauge":"8"`), ErrSyntax},
		{"other format", edit(Format, "retrostage-unit-9"), ErrFormat},
		{"frequency", edit(`"hertz":60`, `"hertz":400`), ErrParam},
		{"device name", edit(`"id":"SUP"`, `"id":"S U P"`), ErrName},
		{"device twice", edit(`"id":"CH"`, `"id":"CL"`), ErrDuplicate},
		{"kind", edit(`"kind":"relay"`, `"kind":"relais"`), ErrKind},
		{"place", edit(`"place":"outdoor"`, `"place":"roof"`), ErrName},
		{"number of the wrong kind", edit(`"contact-amps":30`, `"contact-amp":30`), ErrParam},
		{"number out of range", edit(`"contact-amps":30`, `"contact-amps":-3`), ErrParam},
		{"motor that cannot be", edit(`"rla":14`, `"rla":1`), ErrParam},
		{"conductor twice", edit(`"id":"w02"`, `"id":"w01"`), ErrDuplicate},
		{"dangling end", edit(`"to":"CL.L1"`, `"to":""`), ErrDangling},
		{"end on no device", edit(`"to":"CL.L1"`, `"to":"CX.L1"`), ErrDangling},
		{"unknown terminal", edit(`"to":"CL.L1"`, `"to":"CL.L9"`), ErrTerminal},
		{"both ends on one", edit(`"from":"SUP.L1","to":"CL.L1"`, `"from":"CL.L1","to":"CL.L1"`), ErrLoop},
		{"class mixing", edit(`"to":"CL.A1"`, `"to":"CL.L1"`), ErrClass},
		{"line on a relay used for 24 V", edit(`"from":"SR.NC","to":"CL.A1"`, `"from":"FR.COM","to":"CL.A1"`), ErrClass},
		{"gauge", edit(`"gauge":8`, `"gauge":9`), ErrConductor},
		{"insulation", edit(`"insulation":600`, `"insulation":100`), ErrConductor},
		{"class", edit(`"class":"line"`, `"class":"mains"`), ErrConductor},
		{"ground conductor on a line terminal", edit(`"to":"COMP.GND"`, `"to":"COMP.C"`), ErrClass},
		{"line conductor without insulation", edit(`"insulation":600`, `"insulation":0`), ErrConductor},
		{"fixed leads on a contactor", edit(`"place":"outdoor","params":{"contact-amps":30}`, `"place":"outdoor","pigtail":true`), ErrParam},
		{"fixed leads in words", edit(`"label":"high-pressure switch"`, `"label":"","pigtail":"yes"`), ErrSyntax},
		{"no colour", edit(`"colour":"black"`, `"colour":" "`), ErrConductor},
		{"too large", bytes.Repeat([]byte(" "), maxFile+1), ErrTooBig},
		{"member twice", edit(`"hertz":60`, `"hertz":60,"hertz":50`), ErrSyntax},
		{"devices twice", edit(`"hertz":60`, `"devices":[],"hertz":60`), ErrSyntax},
		{"number twice", edit(`"contact-amps":30`, `"contact-amps":30,"contact-amps":90`), ErrSyntax},
	} {
		_, err := Parse(k.data)
		var e *Error
		if !errors.Is(err, k.want) || !errors.As(err, &e) || e.Where == "" || e.Detail == "" || e.Line < 1 && k.name != "too large" {
			t.Errorf("%s: error %v, want %v with line, where and why", k.name, err, k.want)
		}
	}
	lines := "{\n\"format\": \"" + Format + "\",\n"
	for _, k := range []struct {
		data string
		want int
	}{
		{lines + "\"titel\": 1,\n\"note\": \"\"\n}", 3},
		{lines + "\"hertz\": \"60\"\n}", 3},
		{lines + "\n,}", 4},
		{lines, 3},
		{"", 1},
		{lines + "\"name\":\n\"x y\"}", 3},
		{lines + "\"name\": \"x\",\n\n\"hertz\": 5}", 5},
		{lines + "\"name\": \"x\",\n\"name\": \"y\"}", 4},
		{lines + "\"name\": \"x\", \"hertz\": 60}\n\n{}", 5},
		{lines + "\"name\": \"x\", \"hertz\": 60, \"devices\": [\n{\"id\":\n\"A\"}]}", 4},
	} {
		var e *Error
		if _, err := Parse([]byte(k.data)); !errors.As(err, &e) || e.Line != k.want {
			t.Errorf("%q: %v, want line %d", k.data, err, k.want)
		}
	}
	crowd := good.Clone()
	for i := range endsPerTerminal + 1 {
		crowd.Conductors = append(crowd.Conductors, Conductor{ID: fmt.Sprintf("x%d", i), From: "OC.1", To: Capped, Colour: "blue", Gauge: 18, Insulation: 300, Class: Class2})
	}
	if err := crowd.Validate(); !errors.Is(err, ErrCrowded) {
		t.Errorf("crowded terminal: %v", err)
	}
}

// Whatever is wrong with a unit, the error names the device or conductor, and the
// terminal where it is about one; read from a file it names the line too.
func TestInvalidUnitsAreNamed(t *testing.T) {
	// What the drawing reaches is told from set draws, the law is tried on others.
	refused := map[error]int{}
	for seed := range 400 {
		var e *Error
		if err := spoilt.Example(seed).Validate(); errors.As(err, &e) {
			refused[e.Kind]++
		}
	}
	t.Logf("refused: %v", refused)
	if len(refused) < 7 {
		t.Errorf("only these kinds of error came up: %v", refused)
	}
	rapid.Check(t, func(r *rapid.T) {
		u := spoilt.Draw(r, "unit")
		err := u.Validate()
		if err == nil {
			if _, err := Compile(u); err != nil {
				r.Fatalf("valid, and does not compile: %v", err)
			}
			return
		}
		var e *Error
		if !errors.As(err, &e) || e.Line != 0 || e.Detail == "" {
			r.Fatalf("%v", err)
		}
		_, err = Parse(u.JSON())
		if !errors.As(err, &e) || !errors.Is(err, e.Kind) || e.Line < 1 {
			r.Fatalf("from a file: %v", err)
		}
		line := strings.Split(string(u.JSON()), "\n")[e.Line-1]
		what, id, named := strings.Cut(e.Where, " ")
		if named && !strings.Contains(line, fmt.Sprintf(`"id":%q`, id)) {
			r.Fatalf("%v, and the line is %s", err, line)
		}
		if what != "device" && what != "conductor" || !named && !strings.Contains(line, `"id":`) {
			r.Fatalf("%v names nothing; the line is %s", err, line)
		}
		if (errors.Is(err, ErrTerminal) || errors.Is(err, ErrClass) || errors.Is(err, ErrLoop)) && !strings.Contains(e.Detail, "terminal") && !strings.Contains(e.Detail, ".") {
			r.Fatalf("%v names no terminal", err)
		}
	})
}

// spoilt is a unit of the catalogue with something of it overwritten, mostly by
// what cannot be.
var spoilt = rapid.Custom(func(r *rapid.T) *Unit {
	u, err := Load(rapid.SampledFrom(Catalogue()).Draw(r, "unit"))
	if err != nil {
		r.Fatal(err)
	}
	d := &u.Devices[rapid.IntRange(0, len(u.Devices)-1).Draw(r, "device")]
	c := &u.Conductors[rapid.IntRange(0, len(u.Conductors)-1).Draw(r, "conductor")]
	number := rapid.SampledFrom([]float64{-1, 0, 1e-9, 31, 1e12, 7})
	name := rapid.SampledFrom([]string{"", "a b", "SUP", "w01", "ü", strings.Repeat("x", 49), "N1"})
	end := rapid.SampledFrom([]string{"", ".", "SUP", "SUP.", "SUP.X", "X.L1", "SUP.L1", "IB.R", "a.b.c", Capped})
	switch rapid.IntRange(0, 12).Draw(r, "what") {
	case 0:
		d.ID = name.Draw(r, "id")
	case 1:
		d.Kind = rapid.SampledFrom(append(KindNames(), "", "gadget")).Draw(r, "kind")
	case 2:
		d.Place = rapid.SampledFrom([]string{"", "roof", "room"}).Draw(r, "place")
	case 3:
		ps := Kinds[d.Kind].Params
		p := "strange"
		if len(ps) > 0 && rapid.Bool().Draw(r, "known") {
			p = rapid.SampledFrom(ps).Draw(r, "param").Name
		}
		d.Params = map[string]float64{p: number.Draw(r, "number")}
	case 4:
		d.Label = strings.Repeat("x", rapid.IntRange(70, 90).Draw(r, "label"))
	case 5:
		c.ID = name.Draw(r, "id")
	case 6:
		c.From = end.Draw(r, "from")
	case 7:
		c.To = end.Draw(r, "to")
	case 8:
		c.Gauge = rapid.IntRange(0, 20).Draw(r, "gauge")
	case 9:
		c.Insulation = number.Draw(r, "insulation")
	case 10:
		c.Class = rapid.SampledFrom([]Class{"", Any, Line, Class2}).Draw(r, "class")
	case 11:
		c.Length = number.Draw(r, "length")
	case 12:
		c.Colour = rapid.SampledFrom([]string{"", " ", strings.Repeat("x", 41), "red"}).Draw(r, "colour")
	}
	return u
})

func FuzzParse(f *testing.F) {
	for _, n := range Catalogue() {
		u, err := Load(n)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(u.JSON())
	}
	f.Add([]byte(`{"format":"retrostage-unit-1","name":"x","title":"","hertz":60,"devices":[{"id":"a","kind":"source","label":"","place":"room"}],"conductors":[]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		u, err := Parse(data)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) {
				t.Fatalf("unnamed error %v", err)
			}
			return
		}
		v, err := Parse(u.JSON())
		if err != nil {
			t.Fatalf("accepted but does not read back: %v", err)
		}
		if !bytes.Equal(u.JSON(), v.JSON()) {
			t.Fatal("changes by being written and read")
		}
		c, err := Compile(u)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) {
				t.Fatalf("unnamed error %v", err)
			}
			return
		}
		x, err := c.NewSolver().Solve(c.Rest())
		if err != nil {
			return
		}
		for _, v := range x.s.x {
			if cmplx.IsNaN(v) || cmplx.IsInf(v) {
				t.Fatal("NaN left the solver")
			}
		}
	})
}

// Edits either keep the unit valid or leave it alone.
func TestEdits(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		u, err := Load(rapid.SampledFrom(Catalogue()).Draw(r, "unit"))
		if err != nil {
			r.Fatal(err)
		}
		for range rapid.IntRange(1, 12).Draw(r, "edits") {
			before := u.JSON()
			ids := []string{"nothing"}
			for _, d := range u.Devices {
				ids = append(ids, d.ID)
			}
			wires := []string{"nothing"}
			for _, c := range u.Conductors {
				wires = append(wires, c.ID)
			}
			id, wire := rapid.SampledFrom(ids).Draw(r, "device"), rapid.SampledFrom(wires).Draw(r, "conductor")
			name := rapid.SampledFrom([]string{"NEW", "SUP", "bad name", "", "w01"}).Draw(r, "name")
			ends := append(u.Ends(), "", "X.1", Capped)
			c := Conductor{ID: name, From: rapid.SampledFrom(ends).Draw(r, "from"), To: rapid.SampledFrom(ends).Draw(r, "to"), Colour: "blue", Gauge: 18, Insulation: 600, Class: rapid.SampledFrom([]Class{Line, Class2, Any}).Draw(r, "class")}
			switch rapid.IntRange(0, 7).Draw(r, "edit") {
			case 0:
				err = u.AddDevice(Device{ID: name, Kind: rapid.SampledFrom(KindNames()).Draw(r, "kind"), Place: "outdoor"})
			case 1:
				err = u.DeleteDevice(id)
			case 2:
				err = u.RenameDevice(id, name)
			case 3:
				err = u.SetDevice(Device{ID: id, Kind: rapid.SampledFrom(KindNames()).Draw(r, "kind"), Place: "room"})
			case 4:
				err = u.AddConductor(c)
			case 5:
				err = u.DeleteConductor(wire)
			case 6:
				err = u.RenameConductor(wire, name)
			case 7:
				c.ID = wire
				err = u.SetConductor(c)
			}
			if err != nil && !bytes.Equal(before, u.JSON()) {
				r.Fatalf("a refused edit changed the unit: %v", err)
			}
			if e := u.Validate(); e != nil {
				r.Fatalf("an accepted edit broke the unit: %v", e)
			}
		}
		c, err := Compile(u)
		if err != nil {
			r.Fatal(err)
		}
		if _, err := c.NewSolver().Solve(c.Rest()); err != nil {
			r.Fatal(err)
		}
	})
}

// Each edit: what it does, and the named error when it cannot.
func TestEachEdit(t *testing.T) {
	load := func() *Unit {
		u, err := Load("two-contactor-conventional")
		if err != nil {
			t.Fatal(err)
		}
		return u
	}
	relay := Device{ID: "NEW", Kind: "relay", Label: "new relay", Place: "outdoor"}
	wire := Conductor{ID: "new", From: "CL.A1", To: "CL.A2", Colour: "blue", Gauge: 18, Insulation: 300, Class: Class2}
	with := func(f func(c *Conductor)) Conductor { c := wire; f(&c); return c }
	for _, k := range []struct {
		name string
		edit func(u *Unit) error
		want error // nil: it succeeds, and then done tells
		done func(u *Unit) bool
	}{
		{"add a device", func(u *Unit) error { return u.AddDevice(relay) }, nil, func(u *Unit) bool { return u.Device("NEW").Label == "new relay" }},
		{"add a device twice", func(u *Unit) error { d := relay; d.ID = "CL"; return u.AddDevice(d) }, ErrDuplicate, nil},
		{"add a device without name", func(u *Unit) error { d := relay; d.ID = ""; return u.AddDevice(d) }, ErrName, nil},
		{"add a device of no kind", func(u *Unit) error { d := relay; d.Kind = "gadget"; return u.AddDevice(d) }, ErrKind, nil},
		{"add a device nowhere", func(u *Unit) error { d := relay; d.Place = ""; return u.AddDevice(d) }, ErrName, nil},
		{"add a device with a wrong number", func(u *Unit) error {
			d := relay
			d.Params = map[string]float64{"pick-up": math.NaN()}
			return u.AddDevice(d)
		}, ErrParam, nil},
		{"delete a device", func(u *Unit) error { return u.DeleteDevice("HP") }, nil, func(u *Unit) bool {
			return u.Device("HP") == nil && len(u.At("HP.1")) == 0 && slices.ContainsFunc(u.Conductors, func(c Conductor) bool { return c.From == Capped || c.To == Capped })
		}},
		{"delete a device that is not there", func(u *Unit) error { return u.DeleteDevice("NEW") }, ErrUnknown, nil},
		{"rename a device", func(u *Unit) error { return u.RenameDevice("CL", "K7") }, nil, func(u *Unit) bool { return u.Device("K7") != nil && u.Device("CL") == nil && len(u.At("K7.A1")) > 0 }},
		{"rename a device to itself", func(u *Unit) error { return u.RenameDevice("CL", "CL") }, nil, func(u *Unit) bool { return u.Device("CL") != nil }},
		{"rename a device to a name in use", func(u *Unit) error { return u.RenameDevice("CL", "CH") }, ErrDuplicate, nil},
		{"rename a device to no name", func(u *Unit) error { return u.RenameDevice("CL", "") }, ErrName, nil},
		{"rename a device to a conductor's end", func(u *Unit) error { return u.RenameDevice("CL", "C.L") }, ErrName, nil},
		{"rename a device that is not there", func(u *Unit) error { return u.RenameDevice("NEW", "K7") }, ErrUnknown, nil},
		{"change a device", func(u *Unit) error { d := *u.Device("CL"); d.Label = "low"; return u.SetDevice(d) }, nil, func(u *Unit) bool { return u.Device("CL").Label == "low" }},
		{"change a device's kind under its conductors", func(u *Unit) error { d := *u.Device("CL"); d.Kind, d.Params = "fuse", nil; return u.SetDevice(d) }, ErrTerminal, nil},
		{"change a device that is not there", func(u *Unit) error { return u.SetDevice(relay) }, ErrUnknown, nil},
		{"add a conductor", func(u *Unit) error { return u.AddConductor(wire) }, nil, func(u *Unit) bool { return *u.Conductor("new") == wire }},
		{"add a conductor twice", func(u *Unit) error { return u.AddConductor(with(func(c *Conductor) { c.ID = "w01" })) }, ErrDuplicate, nil},
		{"add a conductor on nothing", func(u *Unit) error { return u.AddConductor(with(func(c *Conductor) { c.To = "" })) }, ErrDangling, nil},
		{"add a conductor on no device", func(u *Unit) error { return u.AddConductor(with(func(c *Conductor) { c.To = "XX.1" })) }, ErrDangling, nil},
		{"add a conductor on no terminal", func(u *Unit) error { return u.AddConductor(with(func(c *Conductor) { c.To = "CL.9" })) }, ErrTerminal, nil},
		{"add a conductor on one terminal", func(u *Unit) error { return u.AddConductor(with(func(c *Conductor) { c.To = c.From })) }, ErrLoop, nil},
		{"add a conductor from 24 V to line", func(u *Unit) error { return u.AddConductor(with(func(c *Conductor) { c.To = "CL.L1" })) }, ErrClass, nil},
		{"add a conductor of no gauge", func(u *Unit) error { return u.AddConductor(with(func(c *Conductor) { c.Gauge = 0 })) }, ErrConductor, nil},
		{"delete a conductor", func(u *Unit) error { return u.DeleteConductor("w01") }, nil, func(u *Unit) bool { return u.Conductor("w01") == nil }},
		{"delete a conductor that is not there", func(u *Unit) error { return u.DeleteConductor("new") }, ErrUnknown, nil},
		{"rename a conductor", func(u *Unit) error { return u.RenameConductor("w01", "feed") }, nil, func(u *Unit) bool { return u.Conductor("feed") != nil && u.Conductor("w01") == nil }},
		{"rename a conductor to a name in use", func(u *Unit) error { return u.RenameConductor("w01", "w02") }, ErrDuplicate, nil},
		{"rename a conductor to a bad name", func(u *Unit) error { return u.RenameConductor("w01", "w 1") }, ErrName, nil},
		{"rename a conductor that is not there", func(u *Unit) error { return u.RenameConductor("new", "newer") }, ErrUnknown, nil},
		{"move a conductor", func(u *Unit) error { c := *u.Conductor("w01"); c.To = "CL.L2"; return u.SetConductor(c) }, nil, func(u *Unit) bool { return u.Conductor("w01").To == "CL.L2" }},
		{"move a conductor to nothing", func(u *Unit) error { c := *u.Conductor("w01"); c.To = ""; return u.SetConductor(c) }, ErrDangling, nil},
		{"change a conductor that is not there", func(u *Unit) error { return u.SetConductor(wire) }, ErrUnknown, nil},
	} {
		u := load()
		before := u.JSON()
		err := k.edit(u)
		var e *Error
		switch {
		case !errors.Is(err, k.want) || k.want == nil && err != nil:
			t.Errorf("%s: error %v, want %v", k.name, err, k.want)
		case err != nil && (!errors.As(err, &e) || e.Where == "" || e.Detail == ""):
			t.Errorf("%s: error %v without where and why", k.name, err)
		case err != nil && !bytes.Equal(before, u.JSON()):
			t.Errorf("%s: refused, and the unit changed", k.name)
		case err == nil && (!k.done(u) || u.Validate() != nil):
			t.Errorf("%s: not done, or no longer valid: %v", k.name, u.Validate())
		}
	}
	if _, err := Load("no-such-unit"); !errors.Is(err, ErrUnknown) {
		t.Errorf("loading what is not there: %v", err)
	}
	if _, err := Load("../demo"); !errors.Is(err, ErrName) {
		t.Errorf("loading by a path: %v", err)
	}
}

func TestRenameKeepsTheCircuit(t *testing.T) {
	u, err := Load("two-capacity-conventional")
	if err != nil {
		t.Fatal(err)
	}
	v := u.Clone()
	if err := v.RenameDevice("CC", "K9"); err != nil {
		t.Fatal(err)
	}
	a, err := truthTable(context.Background(), u)
	if err != nil {
		t.Fatal(err)
	}
	b, err := truthTable(context.Background(), v)
	if err != nil {
		t.Fatal(err)
	}
	for i := range a.Rows {
		if !slices.Equal(a.Rows[i].Does, b.Rows[i].Does) {
			t.Fatalf("state %d differs after renaming", i)
		}
	}
	if len(v.At("K9.A1")) == 0 || v.Device("CC") != nil {
		t.Error("the ends did not follow the device")
	}
}

// Kirchhoff: at every node the currents add up to nothing, in any state.
func TestKirchhoff(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		u, err := Load(rapid.SampledFrom(Catalogue()).Draw(r, "unit"))
		if err != nil {
			r.Fatal(err)
		}
		c, err := Compile(u)
		if err != nil {
			r.Fatal(err)
		}
		x, err := c.NewSolver().Solve(State(rapid.IntRange(0, c.States()-1).Draw(r, "state")))
		if err != nil {
			r.Fatal(err)
		}
		sum, size := make([]complex128, c.nodes), make([]float64, c.nodes)
		add := func(n int32, i complex128) {
			if n >= 0 {
				sum[n] += i
				size[n] += cmplx.Abs(i)
			}
		}
		for i := range c.Branches {
			cur := x.Current(i)
			add(c.Branches[i].a, cur)
			add(c.Branches[i].b, -cur)
		}
		for i := range c.Sources {
			s := &c.Sources[i]
			cur := x.s.x[s.x]
			add(s.n[0], cur)
			add(s.n[1], -cur)
			add(s.n[2], -complex(s.ratio, 0)*cur)
			add(s.n[3], complex(s.ratio, 0)*cur)
		}
		for n := range sum {
			sum[n] += leakage * x.s.x[n]
			if cmplx.Abs(sum[n]) > 1e-8*(1+size[n]) {
				r.Fatalf("node %d: %v A left over of %v", n, sum[n], size[n])
			}
		}
	})
}

// The sparse program solves what a dense elimination with pivoting solves.
func TestSparseAgainstDense(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		n := 2 + rng.IntN(30)
		var pairs [][2]int32
		for range 2 * n {
			pairs = append(pairs, [2]int32{int32(rng.IntN(n)), int32(rng.IntN(n))})
		}
		p := compileLU(n, pairs)
		a := make([]complex128, p.size)
		dense := make([][]complex128, n)
		for i := range dense {
			dense[i] = make([]complex128, n+1)
		}
		for _, e := range pairs {
			v := complex(rng.NormFloat64(), rng.NormFloat64())
			a[p.at(e[0], e[1])] += v
			dense[e[0]][e[1]] += v
		}
		x := make([]complex128, n)
		for i := range n {
			a[p.at(int32(i), int32(i))] += 20
			dense[i][i] += 20
			x[i] = complex(rng.NormFloat64(), 0)
			dense[i][n] = x[i]
		}
		if err := p.solve(a, x); err != nil {
			t.Fatal(err)
		}
		for i, w := range denseSolve(dense) {
			if cmplx.Abs(x[i]-w) > 1e-12 {
				t.Fatalf("unknown %d: %v, dense %v", i, x[i], w)
			}
		}
	}
}

func denseSolve(m [][]complex128) []complex128 {
	n := len(m)
	for k := range n {
		best := k
		for i := k; i < n; i++ {
			if cmplx.Abs(m[i][k]) > cmplx.Abs(m[best][k]) {
				best = i
			}
		}
		m[k], m[best] = m[best], m[k]
		for i := k + 1; i < n; i++ {
			f := m[i][k] / m[k][k]
			for j := k; j <= n; j++ {
				m[i][j] -= f * m[k][j]
			}
		}
	}
	x := make([]complex128, n)
	for k := n - 1; k >= 0; k-- {
		s := m[k][n]
		for j := k + 1; j < n; j++ {
			s -= m[k][j] * x[j]
		}
		x[k] = s / m[k][k]
	}
	return x
}

// An ohmmeter: series, parallel, an open line, and blindness to a live supply.
func TestOhms(t *testing.T) {
	c := bench(t, []Device{dev("S", "source", "volts", 120), dev("A", "impedance", "ohms", 30), dev("B", "impedance", "ohms", 60), dev("C", "impedance", "ohms", 20), dev("K", "impedance", "farads", 10e-6), dev("W", "switch", "closed", 0)},
		[]string{"A.1", "B.1"}, []string{"A.2", "B.2", "C.1"}, []string{"C.2", "K.1", "W.1"}, []string{"W.2", "S.1"}, []string{"S.2", "A.1"})
	s := c.NewSolver()
	for _, k := range []struct {
		a, b string
		want float64
	}{{"A.1", "A.2", 20}, {"A.1", "C.2", 40}, {"C.1", "C.2", 20}} {
		got, err := s.Ohms(0, k.a, k.b)
		if err != nil {
			t.Fatal(err)
		}
		loose(t, k.a+" to "+k.b, got, k.want, 0.001)
	}
	if got, _ := s.Ohms(0, "K.1", "K.2"); got < 1e7 {
		t.Errorf("a capacitor reads %g ohm", got)
	}
	if _, err := s.Ohms(0, "A.1", "A.9"); !errors.Is(err, ErrUnknown) {
		t.Errorf("unknown end: %v", err)
	}
	if x, err := s.Solve(1); err != nil {
		t.Fatal(err)
	} else if v, _ := x.Voltage("A.1", "A.2"); math.Abs(cmplx.Abs(v)-60) > 0.01 {
		t.Errorf("after the ohmmeter the circuit gives %v V, want 60", v)
	}
}

// A supply's conductors crossed by a swap: reported, not panicked over.
func TestEveryFaultSolves(t *testing.T) {
	eachUnit(t, func(n string, _ *Unit, c *Circuit) {
		ids := map[string]bool{}
		for _, f := range c.Faults() {
			if ids[f.ID] {
				t.Errorf("%s: fault %s twice", n, f.ID)
			}
			ids[f.ID] = true
			s, err := c.Solver(f)
			if err != nil {
				t.Fatalf("%s: %s: %v", n, f.ID, err)
			}
			if _, err := s.Solve(c.With(c.Rest(), "cool-1", true)); err != nil {
				t.Errorf("%s: %s: %v", n, f.ID, err)
			}
		}
	})
}

// An open capacitor lead stalls the compressor: it hums and does not run.
func TestOpenStartLeadStalls(t *testing.T) {
	u, err := Load("two-capacity-conventional")
	if err != nil {
		t.Fatal(err)
	}
	for i := range u.Conductors {
		if c := &u.Conductors[i]; c.To == "COMP.S" {
			c.To = Capped
		}
	}
	c, err := Compile(u)
	if err != nil {
		t.Fatal(err)
	}
	x := solved(t, c, c.With(c.Rest(), "cool-1", true))
	if got := x.Status("COMP"); got != "stalls" {
		t.Errorf("compressor with an open start lead: %q, want stalls", got)
	}
	l, err := x.Leads("COMP")
	if err != nil {
		t.Fatal(err)
	}
	if l[0].Amps < 80 {
		t.Errorf("stalled compressor draws %.0f A, want its locked-rotor current (115 A)", l[0].Amps)
	}
}

// grown is a unit of about n devices: the fixed parts of a supply, then relays
// each feeding the next.
func grown(n int) *Unit {
	ds := []Device{dev("S", "supply-120"), dev("T", "transformer", "va", 200.0, "ohms", 0.001, "reactance", 0.0), dev("TS", "thermostat"), dev("HP", "pressure-high"), dev("LP", "pressure-low")}
	nets := [][]string{{"S.L", "T.P1"}, {"S.N", "T.P2"}, {"T.S1", "TS.R"}, {"TS.Y1", "HP.1"}, {"HP.2", "LP.1"}}
	hot, com, feed := "LP.2", "T.S2", "TS.R"
	for i := len(ds); i < n; i++ {
		id := fmt.Sprintf("K%d", i)
		k := dev(id, "relay", "coil-ohms", 700.0, "coil-reactance", 1200.0)
		ds = append(ds, k)
		nets = append(nets, []string{hot, id + ".A1"}, []string{com, id + ".A2"}, []string{feed, id + ".COM"})
		hot, com, feed = id+".NO", id+".A2", id+".COM"
	}
	return benchUnit(ds, nets...)
}

// BenchmarkStates: compile an old unit and solve all its states; wanted: under
// 50 ms.
func BenchmarkStates(b *testing.B) {
	for _, n := range Catalogue() {
		u, err := Load(n)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(n, func(b *testing.B) {
			states := 0
			for b.Loop() {
				tab, err := truthTable(context.Background(), u)
				if err != nil {
					b.Fatal(err)
				}
				states = len(tab.Rows)
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms/unit")
			b.ReportMetric(float64(states), "states")
		})
	}
}

// BenchmarkGrowth: one network solution, and all 32 states, with 10, 20, 40 and 80
// devices; the devices added are relays, each pulled in through the one before, so
// that the moves to rest grow with them too.
func BenchmarkGrowth(b *testing.B) {
	for _, n := range []int{10, 20, 40, 80} {
		c, err := Compile(grown(n))
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("devices-%d", n), func(b *testing.B) {
			s := c.NewSolver()
			for b.Loop() {
				if err := s.network(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(c.nodes), "nodes")
			b.ReportMetric(float64(c.prog.size), "nonzeros")
		})
		b.Run(fmt.Sprintf("devices-%d-states", n), func(b *testing.B) {
			steps := 0
			for b.Loop() {
				s := c.NewSolver()
				steps = 0
				for st := range State(c.States()) {
					x, err := s.Solve(st)
					if err != nil {
						b.Fatal(err)
					}
					steps += x.Steps
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms/all")
			b.ReportMetric(float64(steps), "solutions")
		})
	}
}

// BenchmarkFactor: why the factorisation is sparse and worked out in advance.
func BenchmarkFactor(b *testing.B) {
	c, err := Compile(grown(40))
	if err != nil {
		b.Fatal(err)
	}
	b.Run("sparse", func(b *testing.B) {
		s := c.NewSolver()
		for b.Loop() {
			if err := s.network(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("dense", func(b *testing.B) {
		n := c.prog.n
		rng := rand.New(rand.NewPCG(1, 2))
		for b.Loop() {
			m := make([][]complex128, n)
			for i := range m {
				m[i] = make([]complex128, n+1)
				m[i][i], m[i][rng.IntN(n)] = 10, 1
			}
			denseSolve(m)
		}
	})
}

// A solver that remembers gives what a fresh one gives, in any order of states,
// with a part held open or closed, and after an ohmmeter.
func TestMemoryIsTheSame(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		u, err := Load(rapid.SampledFrom(Catalogue()).Draw(r, "unit"))
		if err != nil {
			r.Fatal(err)
		}
		c, err := Compile(u)
		if err != nil {
			r.Fatal(err)
		}
		old := c.NewSolver()
		held := map[int]bool(nil)
		for range rapid.IntRange(1, 12).Draw(r, "moves") {
			switch rapid.IntRange(0, 5).Draw(r, "move") {
			case 0:
				held = map[int]bool{rapid.IntRange(0, len(c.Branches)-1).Draw(r, "branch"): rapid.Bool().Draw(r, "closed")}
				old.Hold(held)
			case 1:
				e := u.Ends()
				if _, err := old.Ohms(c.Rest(), e[0], e[len(e)-1]); err != nil {
					r.Fatal(err)
				}
			default:
				st := State(rapid.IntRange(0, c.States()-1).Draw(r, "state"))
				a, err := old.Solve(st)
				if err != nil {
					r.Fatal(err)
				}
				fresh := c.NewSolver()
				fresh.Hold(held)
				b, err := fresh.Solve(st)
				if err != nil {
					r.Fatal(err)
				}
				if !slices.Equal(old.x, fresh.x) || !slices.Equal(a.Statuses(), b.Statuses()) || a.Steps != b.Steps {
					r.Fatalf("state %d: %v, fresh %v", st, a.Statuses(), b.Statuses())
				}
			}
		}
	})
}

// truthTable compiles a unit and solves every state.
func truthTable(ctx context.Context, u *Unit) (*Table, error) {
	c, err := Compile(u)
	if err != nil {
		return nil, err
	}
	return c.MakeTable(ctx)
}

// A label is in letters that a reader can tell apart: no strokes over others, no
// letters of another script that look like Latin ones.
func TestLabelsOfOtherScripts(t *testing.T) {
	for label, good := range map[string]bool{
		"pressure switch": true, "presóstato de alta, 35 µF": true, "relé nº 2": true,
		"\u0440ressure switch": false, "p\u0336r\u0336e\u0336ssure": false, "pressure\u034f switch": false, "pressure\ufe0e switch": false, "\u039d\u03a1 switch": false,
	} {
		if err := goodText("device", label); (err == nil) != good {
			t.Errorf("%q: %v", label, err)
		}
	}
}
