package planner

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/assets/soak"
	"retrostage/wiring/netlist"
	"retrostage/wiring/proof"
)

// Of the attackers' units those of must-not-hold.txt are wrong, or ask for what only
// a person knows: no plan with default answers holds. A file that the reader refuses,
// or a unit that the planner does, holds nothing either. "once" marks those that got
// a wrong yes.
func TestMustNotHold(t *testing.T) {
	dir := filepath.Join("..", "..", "testdata", "attempts", "wiring")
	list, err := os.ReadFile(filepath.Join(dir, "must-not-hold.txt"))
	if err != nil {
		t.Fatal(err)
	}
	tried, verdicts := 0, map[string]int{}
	at := -1
	for line := range strings.Lines(string(list)) {
		name, _, _ := strings.Cut(strings.TrimSpace(line), " ")
		if at++; name == "" || !soak.On() && at%6 != 0 { // the usual run takes every sixth
			continue
		}
		tried++
		b, err := os.ReadFile(filepath.Join(dir, name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		said := defaultVerdict(t, name, b)
		verdicts[said]++
		if said == proof.Holds || said == proof.Reserved {
			t.Errorf("%s: WRONG YES", name)
		}
	}
	if tried < 50 {
		t.Errorf("only %d tried", tried)
	}
	t.Logf("%d tried: %v", tried, verdicts)
}

// defaultVerdict is what comes of a unit file with no question answered.
func defaultVerdict(t *testing.T, name string, b []byte) string {
	u, err := netlist.Parse(b)
	if err != nil {
		return "not read"
	}
	r, err := Plan(u, DefaultTarget(), nil)
	if err == nil && r.Refused == "" {
		err = r.Check(context.Background(), nil)
	}
	switch {
	case err != nil:
		t.Errorf("%s: %v", name, err)
		return "error"
	case r.Refused != "":
		return "refused"
	}
	return string(r.Verdict)
}

// What technicians call their parts is no reason for a no: names of the trade, letters of
// diagrams, a rating in the name of a capacitor that is replaced.
func TestHonestLabelsHold(t *testing.T) {
	dir := filepath.Join("..", "..", "testdata", "attempts", "wiring")
	for _, name := range []string{"capacitor-label", "colour-codes", "hp-label", "lamp", "lockout-label", "model-number-label", "pilot-lamp", "pull-out",
		"pump-switch", "rating-label", "short-labels", "solenoid-valve", "timer-label", "trade-labels", "trade-labels-2", "two-hp", "valve-label", "valve-label-2"} {
		b, err := os.ReadFile(filepath.Join(dir, "x-honest-"+name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		u, err := netlist.Parse(b)
		if err != nil {
			t.Fatal(err)
		}
		r := planned(t, u, nil)
		if r.Verdict != proof.Holds && r.Verdict != proof.Reserved {
			t.Errorf("%s: %s: %s", name, r.Verdict, r.Why)
		}
		for _, say := range r.Proof.Reservations {
			if strings.Contains(say, "label") {
				t.Errorf("%s: reserved for a label: %s", name, say)
			}
		}
		if name != "capacitor-label" {
			continue
		}
		for _, d := range r.New.Devices { // the new one does not bear the old one's rating
			if strings.Contains(d.Label, "35 uF") {
				t.Errorf("the new capacitor is called %s", d.Label)
			}
		}
	}
}

// Letters that are another part's are asked about, and so are those that tell how a part
// was found.
func TestLettersOfAnother(t *testing.T) {
	for _, q := range []struct{ id, label string }{
		{"LP", "HPS"}, {"HP", "LPS"}, {"FM", "IFM"}, {"BL", "OFM 1"}, {"HP", "HPS JMP"}, {"LP", "BP"}, {"CL", "DC"}, {"HP", "lock out"}, {"FR", "relay 120-240"}, {"HP", "HPS 410-610"}, {"SUP", "furnace circuit"},
	} {
		u := load(t, "two-contactor-conventional")
		u.Device(q.id).Label = q.label
		if r := planned(t, u, nil); r.Verdict != proof.NotDecided || !strings.Contains(r.Why, "label of "+q.label) && !strings.Contains(r.Why, q.label+" is called") && !strings.Contains(r.Why, "which is it?") {
			t.Errorf("%s called %s: %s: %s", q.id, q.label, r.Verdict, r.Why)
		}
	}
}

// What nobody read is not kept as if it had been: a breaker is read and set, a capacitor
// replaced, a delay set. One that was read and is right stays.
func TestUnreadIsNotKept(t *testing.T) {
	action := func(r *Result, id string) (a DeviceAction) {
		for _, a = range r.Devices {
			if a.ID == id {
				return a
			}
		}
		t.Fatalf("nothing is said of %s", id)
		return
	}
	target := DefaultTarget()
	target.Compressor.RLA, target.Compressor.LRA, target.Compressor.Farads = 24, 132, 35e-6
	for _, read := range []bool{false, true} {
		u := load(t, "two-contactor-conventional")
		u.Device("RCH").Params = map[string]float64{"farads": 60e-6, "volts": 440}
		delete(u.Device("RCL").Params, "volts")
		if read {
			u.Device("SUP").Params = map[string]float64{"breaker-amps": 40}
			u.Device("RCL").Params["volts"] = 440
		}
		r, err := Plan(u, target, nil)
		if err != nil {
			t.Fatal(err)
		}
		breaker, capacitor := action(r, "SUP"), action(r, "RCL")
		if read && (breaker.Action == "set" || capacitor.Action != "keep") {
			t.Errorf("read: %+v, %+v", breaker, capacitor)
		}
		if !read && (breaker.Action != "set" || !strings.Contains(breaker.Reason, "was not entered: read it") || capacitor.Action == "keep") {
			t.Errorf("not read: %+v, %+v", breaker, capacitor)
		}
	}
	u := load(t, "parallel-tandem-conventional")
	r, err := Plan(u, DefaultTarget(), personAnswers(u))
	if err != nil {
		t.Fatal(err)
	}
	if a := action(r, "TD"); a.Action != "set" || r.New.Device("TD").Params["seconds"] != 300 {
		t.Errorf("a delay nobody read: %+v", a)
	}
}

// A start relay whose coil lies behind a fuse leaves its capacitor in when that blows; one
// whose coil lands on the line side makes the resting compressor live, and the yes says so.
func TestStartRelaysCoil(t *testing.T) {
	for name, says := range map[string]string{"h-kit-fuse-in-coil": "the start capacitor stays in", "h-kit-coil-through-fan-relay": "fed through potential relay", "h-kit-in-room": "entered as at the place room"} {
		b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "attempts", "wiring", name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		u, err := netlist.Parse(b)
		if err != nil {
			t.Fatal(err)
		}
		if r := planned(t, u, map[string]string{"hard-start": "keep"}); r.Verdict == proof.Holds || !strings.Contains(r.Why, says) {
			t.Errorf("%s: %s: %s", name, r.Verdict, r.Why)
		}
	}
}

// What only a look at the part settles is named in the yes, and what the plan says of a
// part is true: a switch of no read rating, a capacitor beside the other, fuses of the old
// compressor, parts that leave from a place where they are of no use, a fan's taps.
func TestNamedInTheYes(t *testing.T) {
	dir := filepath.Join("..", "..", "testdata", "attempts", "wiring")
	for _, q := range []struct {
		name, verdict string
		says          []string // in the verdict
		reasons       []string // of parts
	}{
		{"h-switch-unrated-string", proof.Reserved, []string{"condensate float switch carries 0.67 A, and what its contact is rated was not entered"}, nil},
		{"h-heater-thermostat-no-rating", proof.Reserved, []string{"crankcase heater thermostat carries 0.21 A, and what its contact is rated was not entered"}, nil},
		{"h-dual-half-replaced-parallel", proof.Reserved, []string{"ran with 90 uF on its start winding, and its plate as entered asks for 45 uF"}, []string{"it lay beside dual run capacitor on one winding"}},
		{"h-roof-fuses-60", proof.Holds, nil, []string{"breaker of 30 A in the place of 60 A", "fuse of 30 A in the place of 60 A"}},
		{"h-ecm-taps-exchanged", proof.NotDecided, []string{"are LO and HI exchanged?"}, nil},
		{"h-speed-relay-indoors", proof.Reserved, []string{"speed relay is entered as at the place indoor, away from what it works"}, nil},
		{"h-kit-in-room", proof.Reserved, []string{"potential relay is entered as at the place room, away from what it works", "start capacitor is entered as at the place room"}, nil},
	} {
		b, err := os.ReadFile(filepath.Join(dir, q.name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		u, err := netlist.Parse(b)
		if err != nil {
			t.Fatal(err)
		}
		r := planned(t, u, map[string]string{"hard-start": "none"})
		if r.Verdict != q.verdict {
			t.Errorf("%s: %s: %s", q.name, r.Verdict, r.Why)
		}
		for _, say := range q.says {
			if !strings.Contains(r.Why, say) {
				t.Errorf("%s does not say %q: %s", q.name, say, r.Why)
			}
		}
		said := ""
		for _, a := range r.Devices {
			said += a.ID + ": " + a.Reason + "\n"
		}
		for _, say := range q.reasons {
			if !strings.Contains(said, say) {
				t.Errorf("%s: no part's reason is %q:\n%s", q.name, say, said)
			}
		}
	}
}

// A fuse in the compressor's line is changed where it is of more than the new compressor
// allows, and only there.
func TestLineFusesAreSized(t *testing.T) {
	for _, amps := range []float64{30, 60} {
		b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "attempts", "wiring", "h-roof-fuses-60.json"))
		if err != nil {
			t.Fatal(err)
		}
		u, err := netlist.Parse(b)
		if err != nil {
			t.Fatal(err)
		}
		u.Device("F1").Params["amps"] = amps
		r := planned(t, u, nil)
		steps := ""
		for _, s := range r.Steps {
			steps += s.Words + "\n"
		}
		changed := strings.Contains(steps, "Change the disconnect fuse left")
		if r.Verdict != proof.Holds || r.New.Device("F1").P("amps") != 30 || changed != (amps > 30) || !strings.Contains(steps, "Change the breaker in the panel that feeds the outdoor disconnect") || r.New.Device("IF").P("amps") != 3 {
			t.Errorf("fuse of %g A: %s, now of %g A, %q", amps, r.Verdict, r.New.Device("F1").P("amps"), steps)
		}
	}
}

// A conductor that has the name which the plan would give another is no error, and a short
// circuit drawn in the unit is refused in words.
func TestNamesAndShorts(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "attempts", "wiring", "h-id-w02-thick.json"))
	if err != nil {
		t.Fatal(err)
	}
	u, err := netlist.Parse(b)
	if err != nil {
		t.Fatal(err)
	}
	if r := planned(t, u, nil); r.Verdict != proof.Holds || r.New.Conductor("w02-thick-2") == nil {
		t.Errorf("w02-thick: %s: %s", r.Verdict, r.Why)
	}
	for _, breaker := range []float64{0, 40} {
		u := load(t, "two-contactor-conventional")
		if breaker > 0 {
			u.Device("SUP").Params = map[string]float64{"breaker-amps": breaker}
		}
		u.Conductors = append(u.Conductors, netlist.Conductor{ID: "q1", From: "IS.N", To: "SUP.L1", Colour: "white", Gauge: 14, Insulation: 600, Class: netlist.Line, Length: 10})
		if r, err := Plan(u, DefaultTarget(), nil); err != nil || !strings.Contains(r.Refused, "cannot be built") {
			t.Errorf("a leg on the neutral, breaker %g A: %v, %+v", breaker, err, r)
		}
	}
}

// "hot" is a splice's name where it is hot, and is asked about where it is not.
func TestHotSplice(t *testing.T) {
	for _, q := range []struct{ label, at, verdict string }{{"splice: hot", "IS.L", ""}, {"splice: hot", "IS.N", "says \"hot\""}, {"splice: hot", "IB.R", "says \"hot\""}} {
		u := load(t, "two-contactor-conventional")
		was := u.At(q.at)
		if len(was) == 0 {
			t.Fatal(q.at)
		}
		u.Devices = append(u.Devices, netlist.Device{ID: "SX", Kind: "splice", Label: q.label, Place: "indoor"})
		w := u.Conductor(was[0].ID)
		tail := *w
		tail.ID = "x1"
		if w.From == q.at {
			w.To, tail.From = "SX.1", "SX.1"
		} else {
			w.From, tail.To = "SX.1", "SX.1"
		}
		u.Conductors = append(u.Conductors, tail)
		r := planned(t, u, nil)
		if q.verdict == "" && r.Verdict != proof.Holds || q.verdict != "" && (r.Verdict != proof.NotDecided || !strings.Contains(r.Why, q.verdict)) {
			t.Errorf("%s at %s: %s: %s", q.label, q.at, r.Verdict, r.Why)
		}
	}
}

// Without its delay a unit is asked about by a switch that stops the compressor, not by one
// that cycles the fan.
func TestTheSwitchNamedStopsTheCompressor(t *testing.T) {
	r := planned(t, load(t, "two-capacity-float-conventional"), map[string]string{"time-delay": "none"})
	if r.Verdict != proof.NotDecided || !strings.Contains(r.Why, "resets under a standing call") || strings.Contains(r.Why, "fan cycling") {
		t.Errorf("%s: %s", r.Verdict, r.Why)
	}
}

// A dual capacitor of which another took over one side is the usual repair: it holds by a
// person's word that names the dead side, once what stays was read.
func TestADeadSideIsReserved(t *testing.T) {
	for name, side := range map[string]string{"h-honest-dual-half-replaced": "HERM", "h-honest-dual-fan-own": "FAN"} {
		b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "attempts", "wiring", name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		u, err := netlist.Parse(b)
		if err != nil {
			t.Fatal(err)
		}
		for i, d := range u.Devices {
			if d.Kind == "capacitor-dual" {
				u.Devices[i].Params["volts"] = 440
			}
		}
		if r := planned(t, u, nil); r.Verdict != proof.Reserved || !strings.Contains(strings.Join(r.Proof.Reservations, "\n"), "had nothing on its "+side+" terminal") {
			t.Errorf("%s: %s: %s", name, r.Verdict, r.Why)
		}
	}
}
