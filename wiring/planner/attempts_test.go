package planner

import (
	"context"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"retrostage/wiring/netlist"
	"retrostage/wiring/proof"
)

// attempt is an invented unit that once got a wrong yes.
func attempt(t testing.TB, name string) *netlist.Unit {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "attempts", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	u, err := netlist.Parse(b)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

func planned(t testing.TB, u *netlist.Unit, answers map[string]string) *Result {
	t.Helper()
	if one := personAnswers(u)["circuits"]; one != "" {
		answers = maps.Clone(answers)
		if answers == nil {
			answers = map[string]string{}
		}
		answers["circuits"] = one
	}
	r, err := Plan(u, DefaultTarget(), answers)
	if err == nil {
		err = r.Check(context.Background(), nil)
	}
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// as proves a result anew with its new circuit altered.
func as(t testing.TB, r *Result, alter func(u *netlist.Unit)) *proof.Proof {
	t.Helper()
	u := r.New.Clone()
	alter(u)
	p, err := proof.Prove(context.Background(), r.old, u, r.data(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func isHeld(t testing.TB, r *Result) bool {
	t.Helper()
	if !r.Proved() {
		t.Errorf("%s: %s: %s", r.Unit, r.Verdict, r.Why)
		for _, k := range r.Proof.Failed() {
			t.Logf("    %s in %q: %s", k.ID, k.State, k.Detail)
		}
	}
	return r.Proved()
}

// stopsAlone tells whether a switch of the new unit, open alone, stops its
// compressor on a call.
func stopsAlone(t testing.TB, u *netlist.Unit, id string) bool {
	t.Helper()
	c, err := netlist.Compile(u)
	if err != nil {
		t.Fatal(err)
	}
	on := c.With(c.Rest(), "cool-1", true)
	does := func(st netlist.State) bool {
		x, err := c.NewSolver().Solve(st)
		if err != nil {
			t.Fatal(err)
		}
		return slices.ContainsFunc(c.Loads, func(l string) bool {
			return strings.HasPrefix(u.Device(l).Kind, "compressor") && runs(x.Status(l))
		})
	}
	return u.Device(id) != nil && does(on) && !does(c.With(on, id, false))
}

// A switch that does nothing as entered is not taken out without a word: it goes
// back into the string, or a person says why not. The same for what kept the old
// compressor from its full capacity.
func TestWhatWasBypassedOrUnloaded(t *testing.T) {
	for _, q := range []struct{ unit, device, says string }{
		{"hp-lead-moved", "HP", "bypassed"},
		{"valve-thermostat", "DT2", ""},
		{"head-unloads", "HP2", ""},
	} {
		u := attempt(t, q.unit)
		key := "omit:" + q.device
		r := planned(t, u, nil)
		if q.says == "" { // what ended full capacity alone: not decided until a person says
			if r.Verdict != proof.NotDecided {
				t.Errorf("%s: %s without an answer", q.unit, r.Verdict)
			}
			r = planned(t, u, map[string]string{key: "keep"})
		}
		i := slices.IndexFunc(r.Decisions, func(d Decision) bool { return d.Key == key })
		if i < 0 || !strings.Contains(r.Decisions[i].Question, q.says) {
			t.Errorf("%s: nothing is asked about %s", q.unit, q.device)
			continue
		}
		for _, a := range r.Devices {
			if a.ID == q.device && strings.Contains(a.Reason, "alone stopped the compressor") {
				t.Errorf("%s: %s never stopped the old compressor, but: %s", q.unit, q.device, a.Reason)
			}
		}
		if isHeld(t, r) && !stopsAlone(t, r.New, q.device) {
			t.Errorf("%s: %s does not stop the new compressor", q.unit, q.device)
		}
		out := planned(t, u, map[string]string{key: "found broken, and another does its work"})
		if !isHeld(t, out) || out.New.Device(q.device) != nil {
			t.Errorf("%s: left out for a reason: %s", q.unit, out.Verdict)
		}
		d := out.data() // the same circuit without the reason
		delete(d.Omitted, q.device)
		p, err := proof.Prove(context.Background(), u, out.New, d, nil)
		if err != nil || p.Verdict != proof.Fails || p.Check("interrupter-gone").Verdict != proof.Fails {
			t.Errorf("%s: without a reason: %v, %s: %s", q.unit, err, p.Verdict, p.Why)
		}
	}
}

// No sentence that asks to keep a safety leaves it out.
func TestKeepIsNoReason(t *testing.T) {
	for text, good := range map[string]bool{
		"keep the switch in": false, "Keep        it there": false, "yes, keep the high-pressure switch": false, "aaaaaaaaaaaa": false, ". . . . . . . . .": false,
		"no such part fitted": true, "the new compressor has its own": true,
	} {
		if err := Reason(text); (err == nil) != good {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// The compressor's ground, from the disconnect on, is as thick as the overcurrent
// device asks (NEC Table 250.122: 10 AWG up to 60 A): what is thinner is replaced,
// and left in it fails the proof.
func TestThinGroundIsReplaced(t *testing.T) {
	for _, name := range []string{"ground-18awg", "ground-thin", "ground-14"} {
		u := attempt(t, name)
		r := planned(t, u, nil)
		if !isHeld(t, r) {
			continue
		}
		thin := 0
		for _, w := range u.Conductors {
			now := r.New.Conductor(w.ID)
			if w.Class == netlist.Ground && (w.Gauge > 14 || strings.HasPrefix(w.To, "COMP") && w.Gauge > 10) {
				if thin++; now != nil && now.Gauge == w.Gauge {
					t.Errorf("%s: %s of %d AWG stays", name, w.ID, w.Gauge)
				}
			}
		}
		if thin == 0 {
			t.Errorf("%s has no thin ground", name)
		}
		p := as(t, r, func(n *netlist.Unit) {
			for i := range n.Conductors {
				if n.Conductors[i].Class == netlist.Ground {
					n.Conductors[i].Gauge = 18
				}
			}
		})
		if p.Check("ground-size").Verdict != proof.Fails {
			t.Errorf("%s: grounds of 18 AWG: %s", name, p.Verdict)
		}
	}
}

// A run capacitor is bought for what the fan motor's plate asks, whatever the old
// one had; the old value fails the proof.
func TestFanSideOfTheCapacitor(t *testing.T) {
	u := attempt(t, "dual-wrong-fan-side")
	r := planned(t, u, nil)
	if isHeld(t, r); r.New.Device("DC").P("fan-farads") != u.Device("FM").P("farads") {
		t.Errorf("the new part has %v F for a fan of %v F", r.New.Device("DC").P("fan-farads"), u.Device("FM").P("farads"))
	}
	p := as(t, r, func(n *netlist.Unit) { n.Device("DC").Params["fan-farads"] = u.Device("DC").P("fan-farads") })
	if p.Check("capacitor").Verdict != proof.Fails {
		t.Errorf("the old value: %s", p.Verdict)
	}
	// A capacitor of its own, and a dual one whose other side fits.
	for _, name := range []string{"two-contactor-conventional", "two-capacity-conventional"} {
		u := load(t, name)
		for i := range u.Devices {
			d := &u.Devices[i]
			switch {
			case d.Kind == "fan-psc":
				d.Params = map[string]float64{"farads": 5e-6}
			case d.ID == "FC":
				d.Params["farads"] = 10e-6
			case d.Kind == "capacitor-dual":
				d.Params = map[string]float64{"farads": 40e-6, "fan-farads": 10e-6, "volts": 440}
			}
		}
		r := planned(t, u, nil)
		isHeld(t, r)
		if text := strings.Join(reasons(r, "replace"), " "); !strings.Contains(text, "10 uF") || !strings.Contains(text, "5 uF") {
			t.Errorf("%s: what was wrong is not said: %s", name, text)
		}
	}
}

func reasons(r *Result, action string) (out []string) {
	for _, a := range r.Devices {
		if a.Action == action {
			out = append(out, a.Label+": "+a.Reason)
		}
	}
	return out
}

// None of these old units gets a yes as it is: what is wrong in it is mended by the
// plan, or named by the check that sees it.
func TestOldFaultsAreNotPassedOn(t *testing.T) {
	for _, q := range []struct{ unit, check string }{
		{"heater-through-winding", "does-nothing"},
		{"tandem-hpl2", "interrupter-gone"},
		{"thermostat-in-high-common", "interrupts"},
		{"off-cycle-heat", "off-is-off"},
		{"fan-208-on-240", "motor-volts"},
		{"heater-120", "motor-volts"},
		{"blower-240-on-120", "does-nothing"},
		{"hp-jumpered", "bridged"},
		{"ptc-with-cap-100v", "capacitor-volts"},
		{"ground-hot-side", "ground-fault"},
		{"r-grounded", "ground-fault"},
		{"hp-in-common-grounded", "ground-fault"},
	} {
		r := planned(t, attempt(t, q.unit), nil)
		c := &proof.Check{}
		if r.Proof != nil {
			c = r.Proof.Check(q.check)
		}
		if r.Proved() || c.Verdict == proof.Holds {
			t.Errorf("%s: %s; %s: %s %s", q.unit, r.Verdict, r.Why, q.check, c.Verdict)
		}
		t.Logf("%s: %s: %s", q.unit, c.Verdict, c.Detail)
	}
	r := planned(t, attempt(t, "delay-one-second"), nil)
	if isHeld(t, r); !strings.Contains(strings.Join(reasons(r, "set"), " "), "from 1 s to 300 s") {
		t.Errorf("the delay is not set: %v", reasons(r, "set"))
	}
	if p := as(t, r, func(u *netlist.Unit) {
		for i := range u.Devices {
			if d := &u.Devices[i]; d.Kind == "time-delay" {
				d.Params["seconds"] = 1
			}
		}
	}); p.Check("delay-again").Verdict != proof.Fails {
		t.Errorf("a delay of a second: %s", p.Verdict)
	}
	for _, name := range []string{"reversing-valve-as-heater", "indoor-heat-feed"} {
		u := attempt(t, name)
		r := planned(t, u, nil)
		for _, d := range u.Devices {
			if strings.HasPrefix(d.Kind, "heater-") && r.New.Device(d.ID) == nil {
				t.Errorf("%s: %s is taken out", name, d.ID)
			}
		}
	}
}

// With a delay added, a lockout relay's coil stays ahead of it, and locks out.
func TestLockoutWithADelay(t *testing.T) {
	r := planned(t, load(t, "two-contactor-lockout-conventional"), map[string]string{"time-delay": "add"})
	isHeld(t, r)
}
