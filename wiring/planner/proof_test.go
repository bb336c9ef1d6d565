package planner

import (
	"context"
	"encoding/json"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"retrostage/assets"
	"retrostage/wiring/netlist"
)

// Each check of the proof fails on a circuit that breaks it, and says in which
// state and how.
func TestProofCanFail(t *testing.T) {
	set := func(device, param string, v float64) func(*netlist.Unit) error {
		return func(u *netlist.Unit) error {
			d := *u.Device(device)
			p := map[string]float64{}
			for k, x := range d.Params {
				p[k] = x
			}
			p[param] = v
			d.Params = p
			return u.SetDevice(d)
		}
	}
	wire := func(from, to string, class netlist.Class) func(*netlist.Unit) error {
		return func(u *netlist.Unit) error {
			gauge := map[netlist.Class]int{netlist.Line: 8, netlist.Class2: 18}[class]
			return u.AddConductor(netlist.Conductor{ID: "bad", From: from, To: to, Colour: "pink", Gauge: gauge, Insulation: 600, Class: class})
		}
	}
	// On the converted unit the call goes IB.Y1 .. HP, LP, DT .. CC.A1 in some order.
	for _, k := range []struct {
		check, how string
		spoil      func(*netlist.Unit) error
	}{
		{"runs-iff-called", "a pressure switch bypassed", wire("HP.1", "HP.2", netlist.Class2)},
		{"runs-iff-called", "the contactor bypassed by a thermostat wire", wire("IB.R", "CC.A1", netlist.Class2)},
		{"stops-when-running", "a relay seals itself in", func(u *netlist.Unit) error {
			if err := u.AddDevice(netlist.Device{ID: "SEAL", Kind: "relay", Label: "seal-in relay", Place: "outdoor"}); err != nil {
				return err
			}
			for i, e := range [][2]string{{"SEAL.A1", "CC.A1"}, {"SEAL.A2", "CC.A2"}, {"IB.R", "SEAL.COM"}, {"SEAL.NO", "CC.A1"}} {
				c := netlist.Conductor{ID: "seal" + string(rune('a'+i)), From: e[0], To: e[1], Colour: "pink", Gauge: 18, Insulation: 600, Class: netlist.Class2}
				if err := u.AddConductor(c); err != nil {
					return err
				}
			}
			return nil
		}},
		{"fan-with-compressor", "the fan on the line side", func(u *netlist.Unit) error {
			for _, end := range []string{"FM.R", "FM.C"} {
				c := *u.At(end)[0]
				line := map[string]string{"FM.R": "CC.L1", "FM.C": "CC.L2"}[end]
				if c.From == end {
					c.To = line
				} else {
					c.From = line
				}
				if err := u.SetConductor(c); err != nil {
					return err
				}
			}
			return nil
		}},
		{"no-chatter", "a relay that opens its own coil circuit", func(u *netlist.Unit) error {
			if err := u.AddDevice(netlist.Device{ID: "BUZZ", Kind: "relay", Label: "buzzer", Place: "outdoor"}); err != nil {
				return err
			}
			for i, e := range [][2]string{{"BUZZ.NC", "BUZZ.A1"}, {"BUZZ.A2", "CC.A2"}, {"CC.A1", "BUZZ.COM"}} {
				c := netlist.Conductor{ID: "buzz" + string(rune('a'+i)), From: e[0], To: e[1], Colour: "pink", Gauge: 18, Insulation: 600, Class: netlist.Class2}
				if err := u.AddConductor(c); err != nil {
					return err
				}
			}
			return nil
		}},
		{"no-short", "R tied to C", wire("IB.R", "IB.C", netlist.Class2)},
		{"class2-limits", "a transformer of 34 V", set("TR", "open-volts", 36)},
		{"class2-limits", "a transformer of 150 VA", set("TR", "va", 150)},
		{"coils", "a coil that needs more than there is", set("CC", "pick-up", 27)},
		{"coils", "a 24 V coil rated 20 V", set("CC", "coil-volts", 20)},
		{"transformer", "a transformer of 10 VA", set("TR", "va", 10)},
		{"contacts", "a contactor of 15 A", set("CC", "contact-amps", 15)},
		{"conductors", "a compressor lead of 14 AWG", func(u *netlist.Unit) error {
			for _, c := range u.At("COMP.R") {
				d := *c
				d.Gauge = 14
				return u.SetConductor(d)
			}
			return nil
		}},
		{"insulation", "the start lead, above line voltage, on 300 V insulation", func(u *netlist.Unit) error {
			c := *u.At("COMP.S")[0]
			c.Insulation = 300
			if err := u.SetConductor(c); err != nil {
				return err
			}
			return set("SUP", "volts", 300)(u)
		}},
		{"motor-volts", "a 208 V compressor on 240 V", set("COMP", "volts", 208)},
		{"motor-volts", "a 250 V capacitor", set("DC", "volts", 250)},
		{"no-live-stub", "a live end capped", wire("SUP.L1", netlist.Capped, netlist.Line)},
	} {
		r, err := Plan(load(t, "two-capacity-conventional"), DefaultTarget(), nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := k.spoil(r.New); err != nil {
			t.Fatalf("%s: %v", k.how, err)
		}
		p, err := Prove(context.Background(), r.New)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, c := range p.Checks {
			if c.ID == k.check {
				found = true
				if c.Holds || p.Holds || c.State == "" || c.Detail == "" {
					t.Errorf("%s: %s holds %v, proof %v, state %q, detail %q", k.how, c.ID, c.Holds, p.Holds, c.State, c.Detail)
				}
				if k.check == "runs-iff-called" && len(c.Path) == 0 {
					t.Errorf("%s: no path is shown", k.how)
				}
			}
		}
		if !found {
			t.Errorf("no check %s", k.check)
		}
	}
}

// The proof can be interrupted.
func TestProofStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Make(ctx, load(t, "two-contactor-digital"), DefaultTarget(), nil, nil); err == nil {
		t.Error("a cancelled plan was made")
	}
}

// Every rule, limit and tolerance says where it comes from.
func TestRulesCiteSources(t *testing.T) {
	bk, err := book()
	if err != nil {
		t.Fatal(err)
	}
	if len(bk.Rules) < 30 {
		t.Errorf("%d rules", len(bk.Rules))
	}
	for k, r := range bk.Rules {
		if r.Reason == "" || r.Source == "" {
			t.Errorf("rule %s: reason %q, source %q", k, r.Reason, r.Source)
		}
		if _, ok := bk.Cautions[r.Caution]; r.Caution != "" && !ok {
			t.Errorf("rule %s: no caution %q", k, r.Caution)
		}
	}
	l := reflect.ValueOf(bk.Limits)
	for i := range l.NumField() {
		if l.Field(i).IsZero() {
			t.Errorf("limit %s has no value", l.Type().Field(i).Name)
		}
	}
	if bk.Meter.Source == "" || bk.Costs["source"] == "" {
		t.Error("tolerances or costs without source")
	}
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		for _, d := range r.Decisions {
			if d.Source == "" || d.Question == "" || len(d.Options) == 0 {
				t.Errorf("%s: decision %+v", name, d)
			}
		}
		for _, c := range r.Proof.Checks {
			if c.Source == "" {
				t.Errorf("%s: check %s without source", name, c.ID)
			}
		}
	})
}

// Nothing is ever called safe: not by the rules, not by a plan, printed or as data.
func TestNeverCalledSafe(t *testing.T) {
	word := regexp.MustCompile(`(?i)\bsafe(ly)?\b`)
	rules, err := assets.FS.ReadFile("wiring-rules/rules.json")
	if err != nil {
		t.Fatal(err)
	}
	look := func(what, s string) {
		for _, at := range word.FindAllStringIndex(s, -1) {
			t.Errorf("%s: ...%s...", what, s[max(0, at[0]-40):min(len(s), at[1]+40)])
		}
	}
	look("rules", string(rules))
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		var text strings.Builder
		if err := WriteText(&text, r); err != nil {
			t.Fatal(err)
		}
		look(name+" printed", text.String())
		data, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		look(name+" as data", string(data))
		if !strings.Contains(r.Proof.Note, "maker's instructions and local code govern") && !strings.Contains(r.Proof.Note, "The maker's instructions") {
			t.Errorf("%s: the proof's note defers to nobody", name)
		}
	})
}
