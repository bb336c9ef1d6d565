package cause_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"retrostage/reports/cause"
	"retrostage/wiring/supply"
)

func examine(t *testing.T, e cause.Evidence) cause.Examination {
	t.Helper()
	x, err := cause.Examine(e)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// healthy is a compressor that was looked at in full and has nothing.
func healthy() cause.Evidence {
	return cause.Evidence{Rated: 230, Supply: 231, Call: cause.Yes, Passes: cause.Yes, CapMarked: 45e-6, Cap: 44e-6,
		CS: supply.Read(1.7, 0.02), CR: supply.Read(0.5, 0.02), SR: supply.Read(2.2, 0.02), DataStart: 1.7, DataRun: 0.5, WindingT: 298.15, AtTerminals: cause.Yes,
		Insulation: 500e6, InsulationTaken: true, InsulationT: 298.15, Trial: cause.RunsPumps, TrialGood: cause.Yes, Inrush: 100, LRA: 110,
		Oil: cause.OilClear, Acid: cause.AcidNone, Metal: cause.No, Flood: cause.No, Heat: cause.No, Noise: cause.No, Recovered: 3, Plate: 3, Age: 8, AgeKnown: true}
}

// TestNotDead: a failed capacitor before a sound compressor is told, and why; the words
// wait for the compressor to have run.
func TestNotDead(t *testing.T) {
	e := healthy()
	e.Cap = 9e-6
	x := examine(t, e)
	if x.Call != cause.NotDead || x.First().Kind != cause.NoFault || !strings.Contains(strings.Join(x.Why, "; "), "capacitor") || len(x.Follows) != 0 {
		t.Errorf("%v, %v first, %v, follows %v", x.Call, x.First().Kind, x.Why, x.Follows)
	}
	for name, f := range map[string]func(*cause.Evidence){
		"not tried":           func(e *cause.Evidence) { e.Trial, e.Inrush = cause.NotTried, 0 },
		"hums":                func(e *cause.Evidence) { e.Trial, e.TrialGood = cause.Hums, cause.No },
		"runs and trips":      func(e *cause.Evidence) { e.Trial = cause.RunsTrips },
		"insulation 3 Mohm":   func(e *cause.Evidence) { e.Insulation = 3e6 },
		"insulation not done": func(e *cause.Evidence) { e.InsulationTaken = false },
		"windings not read":   func(e *cause.Evidence) { e.CS = supply.Ohms{} },
		"winding low":         func(e *cause.Evidence) { e.CS = supply.Read(1.2, 0.02) },
		"metal":               func(e *cause.Evidence) { e.Metal = cause.Yes },
		"above locked rotor":  func(e *cause.Evidence) { e.Inrush = 180 },
	} {
		e := healthy()
		e.Cap = 9e-6
		f(&e)
		if x := examine(t, e); x.Call == cause.NotDead {
			t.Errorf("%s: called not dead", name)
		}
	}
	if x := examine(t, cause.Evidence{}); x.Call != cause.CannotTell || x.Named() || len(x.Next) == 0 {
		t.Errorf("nothing done: %v, named %v", x.Call, x.Named())
	}
}

// TestDead: each kind with its own evidence is named, and called dead once what was
// seen is final, not before.
func TestDead(t *testing.T) {
	over := supply.OverRange()
	for _, c := range []struct {
		kind   cause.Kind
		set    func(*cause.Evidence)
		before func(*cause.Evidence) // what takes the final thing away
	}{
		{cause.Grounded, func(e *cause.Evidence) {
			e.Insulation, e.InsulationAgain, e.Trial, e.Inrush, e.Oil, e.Acid = 2e4, cause.Yes, cause.TripsAtOnce, 0, cause.OilBurnt, cause.AcidShown
		}, func(e *cause.Evidence) { e.InsulationAgain = cause.No }},
		{cause.OpenStart, func(e *cause.Evidence) { e.CS, e.SR, e.Trial, e.Inrush = over, over, cause.NotTried, 0 }, func(e *cause.Evidence) { e.AtTerminals = cause.No }},
		{cause.OpenRun, func(e *cause.Evidence) { e.CR, e.SR, e.Trial, e.Inrush = over, over, cause.NotTried, 0 }, func(e *cause.Evidence) { e.AtTerminals = cause.No }},
		{cause.OverloadOpen, func(e *cause.Evidence) {
			e.CS, e.CR, e.ColdAfterWait, e.ClosedAfterWait, e.Trial, e.Inrush = over, over, cause.Yes, cause.No, cause.NotTried, 0
		}, func(e *cause.Evidence) { e.ColdAfterWait, e.ClosedAfterWait = cause.No, cause.NotDone }},
		{cause.ShortedTurns, func(e *cause.Evidence) {
			e.CS, e.Trial, e.Inrush, e.Oil = supply.Read(1.2, 0.02), cause.TripsAtOnce, 170, cause.OilDark
		}, func(e *cause.Evidence) { e.Trial, e.TrialGood, e.Inrush = cause.NotTried, cause.NotDone, 0 }},
		{cause.Seized, func(e *cause.Evidence) { e.Trial, e.Metal, e.Noise = cause.Hums, cause.Yes, cause.Yes }, func(e *cause.Evidence) { e.TrialGood = cause.No }},
		{cause.Worn, func(e *cause.Evidence) { e.Trial, e.Metal, e.Noise, e.Age = cause.RunsNoLift, cause.Yes, cause.Yes, 17 }, func(e *cause.Evidence) { e.Recovered, e.Metal = 0, cause.NotDone }},
		{cause.Flooded, func(e *cause.Evidence) {
			e.Trial, e.Metal, e.Noise, e.Flood, e.Age = cause.RunsNoLift, cause.Yes, cause.Yes, cause.Yes, 3
		}, func(e *cause.Evidence) { e.Recovered, e.Metal = 0, cause.NotDone }},
		{cause.Overheated, func(e *cause.Evidence) {
			e.Trial, e.Insulation, e.Oil, e.Acid, e.Heat = cause.RunsTrips, 8e6, cause.OilBurnt, cause.AcidShown, cause.Yes
		}, func(e *cause.Evidence) { e.Oil, e.Acid = cause.OilDark, cause.AcidDoubtful }},
	} {
		e := healthy()
		c.set(&e)
		x := examine(t, e)
		if x.First().Kind != c.kind || x.Call != cause.Dead {
			t.Errorf("%v: first %v with %.3f, %v %v", c.kind, x.First().Kind, x.First().P, x.Call, x.Why)
		}
		if len(x.First().For) == 0 {
			t.Errorf("%v: nothing speaks for it", c.kind)
		}
		c.before(&e)
		if x := examine(t, e); x.Call != cause.CannotTell || len(x.Why) == 0 {
			t.Errorf("%v, without what is final: %v %v", c.kind, x.Call, x.Why)
		}
	}
}

// anything is evidence of chance.
func anything(rt *rapid.T) cause.Evidence {
	e := healthy()
	answer := func(what string) cause.Answer {
		return rapid.SampledFrom([]cause.Answer{cause.NotDone, cause.Yes, cause.No}).Draw(rt, what)
	}
	ohms := func(what string) supply.Ohms {
		return rapid.SampledFrom([]supply.Ohms{{}, supply.OverRange(), supply.Read(1.7, 0.02), supply.Read(0.5, 0.02), supply.Read(2.2, 0.02)}).Draw(rt, what)
	}
	e.CS, e.CR, e.SR = ohms("cs"), ohms("cr"), ohms("sr")
	e.Call, e.Passes, e.CapBroken, e.Metal, e.Flood, e.Heat, e.Noise = answer("call"), answer("passes"), answer("cap"), answer("metal"), answer("flood"), answer("heat"), answer("noise")
	e.InsulationAgain, e.AtTerminals, e.ColdAfterWait, e.ClosedAfterWait, e.TrialGood = answer("again"), answer("terminals"), answer("cold"), answer("closed"), answer("good")
	e.Trial = rapid.SampledFrom([]cause.Trial{cause.NotTried, cause.TripsAtOnce, cause.Hums, cause.Nothing, cause.RunsNoLift, cause.RunsTrips, cause.RunsPumps}).Draw(rt, "trial")
	e.Oil = rapid.SampledFrom([]cause.Oil{cause.OilNotSeen, cause.OilClear, cause.OilDark, cause.OilBurnt}).Draw(rt, "oil")
	e.Acid = rapid.SampledFrom([]cause.Acid{cause.AcidNotDone, cause.AcidNone, cause.AcidDoubtful, cause.AcidShown}).Draw(rt, "acid")
	e.Insulation = math.Pow(10, rapid.Float64Range(2, 9.5).Draw(rt, "insulation"))
	e.InsulationT = rapid.Float64Range(260, 350).Draw(rt, "temperature")
	return e
}

// TestLaws: more leakage never makes a grounded winding less likely nor a sound
// compressor more so, never turns a call for the better; a compressor is never switched
// on whose insulation is low or not known; probabilities add up to one.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		e := anything(rt)
		a, err := cause.Examine(e)
		if err != nil {
			rt.Fatal(err)
		}
		worse := e
		worse.Insulation *= rapid.Float64Range(1e-4, 1).Draw(rt, "leakier")
		b, err := cause.Examine(worse)
		if err != nil {
			rt.Fatal(err)
		}
		p := func(x cause.Examination, k cause.Kind) float64 {
			i := slices.IndexFunc(x.Ranking, func(r cause.Ranked) bool { return r.Kind == k })
			return x.Ranking[i].P
		}
		// Low once more at clean terminals is a test of its own: it is only made where the
		// first was low, and then speaks for a ground.
		if p(b, cause.Grounded) < p(a, cause.Grounded)-1e-12 {
			rt.Fatalf("leakier, and grounded falls from %g to %g", p(a, cause.Grounded), p(b, cause.Grounded))
		}
		if p(b, cause.NoFault) > p(a, cause.NoFault)+1e-12 {
			rt.Fatalf("leakier, and no fault rises from %g to %g", p(a, cause.NoFault), p(b, cause.NoFault))
		}
		if a.Call != cause.NotDead && b.Call == cause.NotDead || a.Call == cause.Dead && b.Call != cause.Dead {
			rt.Fatalf("leakier, and %v becomes %v", a.Call, b.Call)
		}
		sum := 0.0
		for _, r := range a.Ranking {
			sum += r.P
		}
		if math.Abs(sum-1) > 1e-9 {
			rt.Fatalf("probabilities add up to %g", sum)
		}
		for _, n := range a.Next {
			if n.Observation.When == "try" && e.Ohms40() < 2e6 {
				rt.Fatalf("to be switched on at %g ohm", e.Ohms40())
			}
			if n.Observation.When == "try" && (!e.CS.Taken || !e.CR.Taken || !e.SR.Taken) {
				rt.Fatal("to be switched on before its windings were read")
			}
		}
	})
}

func TestFollows(t *testing.T) {
	e := healthy()
	e.Insulation, e.InsulationAgain, e.Trial = 2e4, cause.Yes, cause.TripsAtOnce
	e.Oil, e.Acid = cause.OilNotSeen, cause.AcidNotDone
	x := examine(t, e)
	if !slices.ContainsFunc(x.Follows, func(c cause.Consequence) bool { return c.Provisional && strings.Contains(c.Do, "suction") }) {
		t.Errorf("a likely burn, oil not seen, and no suction filter at hand: %+v", x.Follows)
	}
	e.Oil, e.Acid = cause.OilClear, cause.AcidNone
	if x := examine(t, e); x.Grade != cause.Clean || slices.ContainsFunc(x.Follows, func(c cause.Consequence) bool { return strings.Contains(c.Do, "suction") }) {
		t.Errorf("clean, and %+v", x.Follows)
	}
	e.Acid = cause.AcidShown
	if x := examine(t, e); x.Grade != cause.Severe || !slices.ContainsFunc(x.Follows, func(c cause.Consequence) bool { return c.Days > 0 }) {
		t.Errorf("acid, and no test again: %+v", x.Follows)
	}
	if g := (cause.Evidence{Oil: cause.OilClear}).Grade(); g != cause.NotSeen {
		t.Errorf("clear oil alone graded %v", g)
	}
}

func TestRoots(t *testing.T) {
	e := healthy()
	if x := examine(t, e); len(x.Roots) != 1 || x.Roots[0].Key != "unknown" {
		t.Errorf("nothing found: %+v", x.Roots)
	}
	e.Recovered, e.CoilFouled, e.Supply = 2, cause.Yes, 200
	x := examine(t, e)
	for _, key := range []string{"leak", "condenser", "voltage"} {
		if !slices.ContainsFunc(x.Roots, func(r cause.Root) bool { return r.Key == key && r.Answer != "" }) {
			t.Errorf("%s is not among %+v", key, x.Roots)
		}
	}
}

func TestRefusals(t *testing.T) {
	for name, f := range map[string]func(*cause.Evidence){
		"insulation": func(e *cause.Evidence) { e.Insulation = math.NaN() },
		"supply":     func(e *cause.Evidence) { e.Supply = -1 },
		"winding":    func(e *cause.Evidence) { e.CR.Value = math.Inf(1) },
	} {
		e := healthy()
		f(&e)
		if _, err := cause.Examine(e); err == nil {
			t.Errorf("%s: want a refusal", name)
		}
	}
	// One open pair alone contradicts the other two: it says nothing.
	e := healthy()
	e.CS = supply.OverRange()
	x := examine(t, e)
	if slices.ContainsFunc(x.Found, func(f cause.Found) bool { return f.Observation.Key == "paths" }) {
		t.Error("contradicting readings were taken")
	}
}

// TestClash: what cannot both be true of one compressor calls it neither dead nor not dead.
func TestClash(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*cause.Evidence)
		clash  bool
	}{
		"sound":                            {func(*cause.Evidence) {}, false},
		"pumps, start open":                {func(e *cause.Evidence) { e.CS, e.SR = supply.OverRange(), supply.OverRange() }, true},
		"pumps, all open at the terminals": {func(e *cause.Evidence) { e.CS, e.CR, e.SR = supply.OverRange(), supply.OverRange(), supply.OverRange() }, true},
		"runs without lift, run open": {func(e *cause.Evidence) {
			e.Trial, e.CR, e.SR = cause.RunsNoLift, supply.OverRange(), supply.OverRange()
		}, true},
		"runs and trips, common open": {func(e *cause.Evidence) { e.Trial, e.CS, e.CR = cause.RunsTrips, supply.OverRange(), supply.OverRange() }, false},
		"hums, start open":            {func(e *cause.Evidence) { e.Trial, e.CS, e.SR = cause.Hums, supply.OverRange(), supply.OverRange() }, false},
		"hums, common open":           {func(e *cause.Evidence) { e.Trial, e.CS, e.CR = cause.Hums, supply.OverRange(), supply.OverRange() }, true},
		"pumps on no current":         {func(e *cause.Evidence) { e.Inrush, e.InrushTaken = 0, true }, true},
		"draws nothing, 60 A":         {func(e *cause.Evidence) { e.Trial, e.Inrush, e.InrushTaken = cause.Nothing, 60, true }, true},
		"hums at locked current on 20 A": {func(e *cause.Evidence) {
			e.Trial, e.LRA, e.Inrush, e.InrushTaken = cause.Hums, 69, 20, true
		}, true},
		"hums on ten times what it draws locked": {func(e *cause.Evidence) {
			e.Trial, e.LRA, e.Inrush, e.InrushTaken = cause.Hums, 69, 660, true
		}, true},
		"hums on 58 A of 69": {func(e *cause.Evidence) {
			e.Trial, e.LRA, e.Inrush, e.InrushTaken = cause.Hums, 69, 58, true
		}, false},
		"pumps, 100 A": {func(e *cause.Evidence) { e.InrushTaken = true }, false},
		"pumps once the overload closed": {func(e *cause.Evidence) {
			e.CS, e.CR, e.ColdAfterWait, e.ClosedAfterWait = supply.OverRange(), supply.OverRange(), cause.Yes, cause.Yes
		}, false},
	} {
		e := healthy()
		c.change(&e)
		x := examine(t, e)
		if words, _ := e.Clash(); (words != "") != c.clash || c.clash && x.Call != cause.CannotTell {
			t.Errorf("%s: %q, %v, %v", name, words, x.Call, x.Why)
		}
	}
	// A capacitor of four times its marking is none that reads well.
	e := healthy()
	e.Cap = 4 * e.CapMarked
	for _, f := range examine(t, e).Found {
		if f.Observation.Key == "capacitor" {
			t.Errorf("four times its marking: %s", f.Category.Words)
		}
	}
}
