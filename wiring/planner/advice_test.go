package planner

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"retrostage/wiring/netlist"
	"retrostage/wiring/proof"
)

// lines gives the numbers of the work list's lines that match.
func lines(r *Result, pick func(s *Step) bool) (out []int) {
	for i := range r.Steps {
		if pick(&r.Steps[i]) {
			out = append(out, r.Steps[i].N)
		}
	}
	return out
}

func says(words string) func(s *Step) bool {
	return func(s *Step) bool { return strings.Contains(s.Words, words) }
}

// No reading puts a probe on a compressor's terminal; windings are read at
// contactor and capacitor.
func TestNothingIsReadAtTheCompressorsTerminals(t *testing.T) {
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		for _, q := range r.Checkout.Tests {
			for _, e := range []string{q.A, q.B} {
				d := r.New.Device(device(e))
				if d != nil && strings.HasPrefix(d.Kind, "compressor") && !strings.HasSuffix(e, ".GND") {
					t.Errorf("%s to %s: reading %d: %s at %s", name, indoor, q.N, q.Meter, e)
				}
			}
			if q.List == Live && q.Meter == "ohms" || q.List == Dead && q.Meter != "ohms" {
				t.Errorf("%s: reading %d by %s in the %s list", name, q.N, q.Meter, q.List)
			}
			if q.List == Live && strings.Contains(q.State, " open") {
				t.Errorf("%s: reading %d is live with a switch taken off: %s", name, q.N, q.State)
			}
		}
	})
}

// The gate stands before the live list and asks for what the dead list has shown.
func TestGateBeforePower(t *testing.T) {
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		gate := strings.Join(r.Checkout.Gate, "\n")
		for _, w := range []string{"dead check-out is complete", "ground is measured", "charged", "cover", "no jumper"} {
			if !strings.Contains(gate, w) {
				t.Errorf("%s: the gate does not ask: %s", name, w)
			}
		}
		var b strings.Builder
		if err := WriteText(&b, r); err != nil {
			t.Fatal(err)
		}
		text := b.String()
		dead, before, live := strings.Index(text, "DEAD LIST"), strings.Index(text, "Before power:"), strings.Index(text, "  Live, ")
		if dead < 0 || before < dead || live < before {
			t.Errorf("%s: dead list at %d, gate at %d, first live reading at %d", name, dead, before, live)
		}
		grounded := slices.ContainsFunc(r.Checkout.Tests, func(q Test) bool {
			return q.List == Dead && strings.Contains(q.Where, "compressor ground screw") && q.Shows == "continuity"
		})
		if !grounded {
			t.Errorf("%s: the compressor's ground is not measured", name)
		}
	})
}

// The order of the work is one that can be done and hurts nobody.
func TestWorkListOrder(t *testing.T) {
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		touchesComp := func(s *Step) bool {
			for _, e := range []string{s.From, s.To, s.WasFrom, s.WasTo} {
				for _, u := range []*netlist.Unit{r.old, r.New} {
					if d := u.Device(device(e)); d != nil && strings.HasPrefix(d.Kind, "compressor") {
						return true
					}
				}
			}
			return strings.HasPrefix(s.Words, "The new compressor")
		}
		order := [][]int{
			lines(r, says("Isolate")), lines(r, says("Prove dead,")), lines(r, says("Discharge every capacitor")), lines(r, says("Recover the charge")),
			lines(r, says("Photograph")), lines(r, touchesComp), lines(r, says("Tighten every terminal")), lines(r, says("Barriers")), lines(r, says("jumper")),
			lines(r, says("Inspect against")), lines(r, says("Dead check-out")), lines(r, says("Covers back on")), lines(r, says("one stage of cooling")), lines(r, says("Control set-up")),
		}
		last := 0
		for i, at := range order {
			if len(at) == 0 || at[0] <= last {
				t.Errorf("%s to %s: part %d of the order is at %v, after line %d", name, indoor, i, at, last)
				return
			}
			last = at[len(at)-1]
		}
		if i := lines(r, says("Tighten every terminal")); !strings.Contains(r.Steps[i[0]-1].Caution, "110.14(D)") {
			t.Errorf("%s to %s: no torque by NEC 110.14(D): %s", name, indoor, r.Steps[i[0]-1].Caution)
		}
		ground, leads := lines(r, says("equipment ground on its own screw")), lines(r, func(s *Step) bool { return s.Action == "keep" && touchesComp(s) && s.Gauge > 0 && s.Colour != "green" })
		if len(ground) != 1 || len(leads) > 0 && ground[0] > leads[0] {
			t.Errorf("%s: ground at %v, leads at %v", name, ground, leads)
		}
		onePole := slices.ContainsFunc(r.New.Devices, func(d netlist.Device) bool { return d.Kind == "contactor-1p" })
		if n := len(lines(r, says("one leg stays live"))); (n > 0) != onePole {
			t.Errorf("%s: one-pole contactor %v, said %d times", name, onePole, n)
		}
	})
}

// What is set by a part's own menu waits for the gate: nothing asks for power while
// the locks are on.
func TestNothingPoweredBeforeTheGate(t *testing.T) {
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		gone := false
		for _, s := range r.Steps {
			gone = gone || s.Action == "later"
			if gone != (s.Action == "later") || s.Action == "set" && s.Item != "" && powered(r.New.Device(s.Item).Kind) {
				t.Errorf("%s to %s: line %d: %s", name, indoor, s.N, s.Words)
			}
		}
	})
}

// No reading lies behind a lock, at a start winding's voltage, or in a call that a
// thermostat of one stage does not give; a motor's current is a range.
func TestReadingsThatCanBeTaken(t *testing.T) {
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		starts := startEnds(r.New)
		for _, q := range r.Checkout.Tests {
			for _, e := range []string{q.A, q.B} {
				if d := r.New.Device(device(e)); d != nil && strings.HasPrefix(d.Kind, "supply") && !strings.HasSuffix(e, ".GND") {
					t.Errorf("%s: reading %d is taken in a disconnect: %s", name, q.N, q.Words)
				}
				if q.Meter == "volts" && starts[e] {
					t.Errorf("%s: reading %d hangs on a motor's own voltage: %s", name, q.N, q.Words)
				}
			}
			if strings.Contains(q.State, "second-stage") {
				t.Errorf("%s: reading %d wants a second stage: %s", name, q.N, q.State)
			}
			if q.List == Dead && q.State != "no call" && !strings.Contains(q.Shows, "bypass") {
				t.Errorf("%s: reading %d is not taken across the switch that is off: %s", name, q.N, q.Words)
			}
			if q.Meter == "amps" && q.Expect > 0 && !strings.Contains(q.Shows, "by load") {
				t.Errorf("%s: reading %d: %s", name, q.N, q.Shows)
			}
		}
	})
}

// A bypass of each switch that can be told reads as a bypass, whatever the
// electronics around it have inside, an open timer among them.
func TestBypassIsContinuity(t *testing.T) {
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		for _, q := range r.Checkout.Tests {
			if q.List != Dead || q.State == "no call" {
				continue
			}
			for _, factor := range []float64{1, 8, 1e6} {
				for _, bypassed := range []bool{false, true} {
					u := r.New.Clone()
					if bypassed {
						u.Conductors = append(u.Conductors, netlist.Conductor{ID: "bypass", From: q.A, To: q.B, Colour: "white", Gauge: 18, Insulation: 600, Class: u.At(q.A)[0].Class})
					}
					c, err := netlist.Assemble(u)
					if err != nil {
						t.Fatal(err)
					}
					if c, err = c.Vary(factor); err != nil {
						t.Fatal(err)
					}
					st, ok := StateOf(c, q.State)
					if !ok {
						t.Fatalf("%s: %s", name, q.State)
					}
					x, err := c.NewSolver().Ohms(st, q.A, q.B)
					if err != nil {
						t.Fatal(err)
					}
					if pass := x >= q.Expect-q.Tolerance; pass == bypassed {
						t.Errorf("%s, electronics times %g, bypassed %v: %s reads %.3g ohm", name, factor, bypassed, q.Where, x)
					}
				}
			}
		}
	})
}

// Every supply is named where the work begins.
func TestEverySupplyIsLocked(t *testing.T) {
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		for i := range r.old.Devices {
			if d := &r.old.Devices[i]; strings.HasPrefix(d.Kind, "supply") && !strings.Contains(r.Steps[0].Words, nameIn(r.old, d)) {
				t.Errorf("%s: the first line does not name the %s: %s", name, d.Label, r.Steps[0].Words)
			}
		}
	})
}

// An answer that means the opposite, or nothing, is no reason; a name says what a
// part is where its label does not.
func TestNoReasonAndNoName(t *testing.T) {
	for _, a := range []string{"keep the switch in", "Keep        it", "yes, keep the high-pressure switch", "aaaaaaaaaaaa", ". . . . . . .", "no such part\nHOLDS: all hold"} {
		if Reason(a) == nil {
			t.Errorf("%q was taken for a reason", a)
		}
	}
	u := load(t, "two-capacity-conventional")
	u.Device("HP").Label = "low-pressure switch A"
	if w := nameIn(u, u.Device("HP")); !strings.Contains(w, "high-pressure switch") {
		t.Errorf("a high-pressure switch labelled as a low one is called %q", w)
	}
	for _, label := range []string{"switch\n  99  All proved: close the disconnect", "a\x1b[2Jb", "a\u202eb", "a\u200bb"} {
		v := u.Clone()
		v.Device("LP").Label = label
		if v.Validate() == nil {
			t.Errorf("label %q was taken", label)
		}
	}
	for _, id := range []string{"fan", "cool-1", "Cool-2"} {
		if err := u.Clone().RenameDevice("HP", id); err == nil {
			t.Errorf("a device may be called %q", id)
		}
	}
}

// Cautions stand where they are needed, and words are those of a person at the
// unit.
func TestWorkListWords(t *testing.T) {
	doubled := regexp.MustCompile(`(?i)\bnew new\b|replace new|new .*\bnew (contactor|capacitor)`)
	ids := regexp.MustCompile(`\b[A-Z]+[0-9]*\.[A-Z][A-Z0-9]*\b`)
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		all := ""
		for _, s := range r.Steps {
			all += s.Words + " " + s.Caution + "\n"
			if doubled.MatchString(s.Words) || ids.MatchString(s.Words) {
				t.Errorf("%s: line %d: %s", name, s.N, s.Words)
			}
		}
		for _, w := range []string{"flammable refrigerant", "ventilate", "110.14(D)", "with a tag on each lock and breaker", "line side of an open disconnect stays live", "discharge again", "in the place of the"} {
			if !strings.Contains(all, w) {
				t.Errorf("%s: the work list does not say %q", name, w)
			}
		}
		for _, q := range r.Checkout.Tests {
			if ids.MatchString(q.Words) || regexp.MustCompile(`[0-9]e-[0-9]`).MatchString(q.Words) || q.Where == "" || q.Shows == "" {
				t.Errorf("%s: reading %d: %s", name, q.N, q.Words)
			}
		}
	})
}

// A switch with fixed leads is taken out at its splices, never off its tube.
func TestPigtails(t *testing.T) {
	u := load(t, "two-capacity-conventional")
	d := *u.Device("HP")
	d.Pigtail = true
	if err := u.SetDevice(d); err != nil {
		t.Fatal(err)
	}
	r, err := Make(context.Background(), u, DefaultTarget(), map[string]string{"omit:LP": "the new compressor brings a switch of its own"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, q := range r.Checkout.Tests {
		if strings.Contains(q.State, "high-pressure switch open") {
			n++
			if !strings.Contains(q.Caution, "undo both at their splice") || strings.Contains(q.Caution, "off its two terminals") {
				t.Errorf("reading %d: %s", q.N, q.Caution)
			}
		}
	}
	if n == 0 {
		t.Error("no reading with the high-pressure switch out")
	}
}

// The restart delay is last before the coil: nothing that stops the compressor
// lies between them.
func TestDelayIsLast(t *testing.T) {
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		n := netsOf(r.New)
		for _, d := range r.New.Devices {
			if d.Kind != "time-delay" {
				continue
			}
			at := false
			for _, k := range r.New.Devices {
				at = at || strings.HasPrefix(k.Kind, "contactor") && (n.same(d.ID+".OUT", k.ID+".A1") || n.same(d.ID+".OUT", k.ID+".A2"))
			}
			if !at {
				t.Errorf("%s to %s: between the delay and the coil lies something", name, indoor)
			}
		}
	})
}

// What a removed board did is listed, with what is usual for it.
func TestWhatTheBoardDidIsSaid(t *testing.T) {
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		board := slices.ContainsFunc(r.old.Devices, func(d netlist.Device) bool { return strings.HasPrefix(d.Kind, "board-") })
		var b strings.Builder
		if err := WriteText(&b, r); err != nil {
			t.Fatal(err)
		}
		if !board {
			return
		}
		for _, w := range []string{"lockout", "low-pressure switch", "supply voltage is too low", "short-cycle", "discharge temperature"} {
			if !strings.Contains(b.String(), w) || len(r.Lost) < 5 {
				t.Errorf("%s: not said: %s", name, w)
			}
		}
		for _, l := range r.Lost {
			if l.Part == "" || l.Source == "" {
				t.Errorf("%s: %+v", name, l)
			}
		}
	})
}

// A plan whose proof does not hold gives no work list until it is acknowledged;
// then each of its headings bears the mark. The verdict stands first.
func TestFailedPlanIsMarked(t *testing.T) {
	u := load(t, "two-capacity-conventional")
	for _, e := range [][2]string{{"HP.1", "HP.2"}} { // bypassed in the old unit as well: kept, and does nothing
		if err := u.AddConductor(netlist.Conductor{ID: "odd", From: e[0], To: e[1], Colour: "pink", Gauge: 18, Insulation: 600, Class: netlist.Class2}); err != nil {
			t.Fatal(err)
		}
	}
	target := DefaultTarget()
	target.Compressor.LRA = 390 // above what any contactor of the old unit stands
	r, err := Make(context.Background(), u, target, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if r.Verdict == proof.Holds || len(r.Steps) > 0 || r.Mark == "" {
		t.Fatalf("verdict %s, %d lines, mark %q", r.Verdict, len(r.Steps), r.Mark)
	}
	var b strings.Builder
	if err := WriteText(&b, r); err != nil {
		t.Fatal(err)
	}
	if ls := strings.Split(b.String(), "\n"); !strings.HasPrefix(ls[1], "FAILS: ") || !strings.Contains(b.String(), "No work list is given") || strings.Contains(b.String(), "Work list (") {
		t.Errorf("opens with %q", ls[:3])
	}
	if r, err = Make(context.Background(), u, target, map[string]string{Acknowledge: "yes"}, nil); err != nil {
		t.Fatal(err)
	}
	b.Reset()
	if err := WriteText(&b, r); err != nil {
		t.Fatal(err)
	}
	if len(r.Steps) == 0 || !strings.Contains(b.String(), "Work list (") {
		t.Error("acknowledged, and no work list")
	}
	for _, l := range strings.Split(b.String(), "\n\n")[1:] {
		if head, _, _ := strings.Cut(l, "\n"); !strings.Contains(head, r.Mark) {
			t.Errorf("a heading without the mark: %s", head)
		}
	}
}

// Units outside the scope are refused in one sentence, each with its reason.
func TestRefusedUnits(t *testing.T) {
	want := map[string]string{"heat-pump-two-contactor": "heat pump", "indoor-without-outputs": "24 V outputs", "inverter": "speed is set by a drive",
		"self-staging": "without a stage call", "single-stage": "one stage already", "three-phase-tandem": "three-phase"}
	files, err := filepath.Glob("testdata/refused/*.json")
	if err != nil || len(files) < len(want) {
		t.Fatalf("%d units to refuse, error %v", len(files), err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		u, err := netlist.Parse(data)
		if err != nil {
			t.Fatal(err)
		}
		name := strings.TrimSuffix(filepath.Base(f), ".json")
		r, err := Plan(u, DefaultTarget(), nil)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if want[name] == "" || !strings.Contains(r.Refused, want[name]) || r.Verdict != Refused || r.New != nil {
			t.Errorf("%s: refused %q, want %q", name, r.Refused, want[name])
		}
	}
}

// Two transformers joined on their secondaries are refused with the reason.
func TestParalleledTransformersAreRefused(t *testing.T) {
	u := load(t, "two-contactor-conventional")
	if err := u.AddDevice(netlist.Device{ID: "TR2", Kind: "transformer", Label: "outdoor transformer", Place: "outdoor", Params: map[string]float64{"primary-volts": 240}}); err != nil {
		t.Fatal(err)
	}
	for i, e := range [][2]string{{"CL.L1", "TR2.P1"}, {"CL.L2", "TR2.P2"}, {"TR2.S1", "IB.R"}, {"TR2.S2", "IB.C"}} {
		class, gauge := netlist.Line, 14
		if i > 1 {
			class, gauge = netlist.Class2, 18
		}
		if err := u.AddConductor(netlist.Conductor{ID: "x" + string(rune('0'+i)), From: e[0], To: e[1], Colour: "black", Gauge: gauge, Insulation: 600, Class: class}); err != nil {
			t.Fatal(err)
		}
	}
	r, err := Plan(u, DefaultTarget(), nil)
	if err != nil || !strings.Contains(r.Refused, "feeds back") {
		t.Errorf("refused %q, error %v", r.Refused, err)
	}
}

// A conductor at a switch with leads of its own is parted and joined at the splice:
// the step says so, and that the lead stays on the switch.
func TestPigtailSteps(t *testing.T) {
	u := load(t, "two-capacity-conventional")
	d := *u.Device("HP")
	d.Pigtail = true
	if err := u.SetDevice(d); err != nil {
		t.Fatal(err)
	}
	r, err := Make(context.Background(), u, DefaultTarget(), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, s := range r.Steps {
		if s.Gauge == 0 || device(s.From) != "HP" && device(s.To) != "HP" && device(s.WasFrom) != "HP" && device(s.WasTo) != "HP" {
			continue
		}
		n++
		if !strings.Contains(s.Words, "at the splice of its lead") || !strings.Contains(s.Words, "not cut off or taken out") {
			t.Errorf("step %d: %s", s.N, s.Words)
		}
	}
	if n == 0 {
		t.Error("no conductor is moved at the high-pressure switch")
	}
}

// Two heaters of the old compressor go over to the new one only when a person has
// said that it takes them.
func TestTwoHeatersAreAsked(t *testing.T) {
	u := load(t, "two-capacity-conventional")
	h := u.Devices[slices.IndexFunc(u.Devices, func(d netlist.Device) bool { return d.Kind == "heater-crankcase" })]
	second := h
	second.ID = "CCH2"
	if err := u.AddDevice(second); err != nil {
		t.Fatal(err)
	}
	for i, e := range []string{".1", ".2"} {
		w := u.Conductors[slices.IndexFunc(u.Conductors, func(w netlist.Conductor) bool { return w.From == h.ID+e || w.To == h.ID+e })]
		far := w.From
		if far == h.ID+e {
			far = w.To
		}
		w.ID, w.From, w.To = []string{"h1", "h2"}[i], "CCH2"+e, far
		if err := u.AddConductor(w); err != nil {
			t.Fatal(err)
		}
	}
	if r := planned(t, u, nil); r.Verdict != proof.NotDecided || r.Proof.Check("answered").Verdict != proof.NotDecided {
		t.Errorf("not answered: %s: %s", r.Verdict, r.Why)
	}
	isHeld(t, planned(t, u, map[string]string{"crankcase-heater": "keep"}))
}

// Two parts that a reader could take for one another on paper print with their IDs, and
// so does one whose label holds the other's.
func TestLooksAlike(t *testing.T) {
	for _, q := range []struct{ hp, lp string }{
		{"pressure switch", "Pressure-Switch"}, {"switch 10", "switch lO"}, {"pressure switch", "pressure switch (HP)"}, {"pressure  switch", "pressure switch"}, {"switch beside LP", "other switch"},
	} {
		u := load(t, "two-capacity-conventional")
		u.Device("HP").Label, u.Device("LP").Label = q.hp, q.lp
		if a, b := nameIn(u, u.Device("HP")), nameIn(u, u.Device("LP")); !strings.Contains(a, "HP)") || !strings.Contains(b, "LP)") {
			t.Errorf("%q and %q print as %q and %q", q.hp, q.lp, a, b)
		}
	}
}
