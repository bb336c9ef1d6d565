package diagnose

import (
	"slices"
	"testing"

	"retrostage/thermo/cycle"
	"retrostage/thermo/fluid"
)

// shown makes the exact readings of a typical R-410A machine of 8.8 kW with a fault.
func caseReadings(t *testing.T, fixed bool, f cycle.Fault, s float64, full bool) (Machine, Readings) {
	t.Helper()
	fl, err := fluid.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	p, err := cycle.PropsOf(fl)
	if err != nil {
		t.Fatal(err)
	}
	m, err := cycle.Typical(p, 8800, fixed, nil)
	if err != nil {
		t.Fatal(err)
	}
	c, err := cycle.Weather(305.4, 299, 291.5, 101325)
	if err != nil {
		t.Fatal(err)
	}
	mode, target := cycle.BySubcooling, 5.5
	if fixed {
		mode, target = cycle.BySuperheat, 6.5
	}
	h, err := m.Charged(c, mode, target, nil)
	if err != nil {
		t.Fatal(err)
	}
	st, err := m.With(f, s, &h).Solve(c, &h)
	if err != nil {
		t.Fatal(err)
	}
	var r Readings
	for q, v := range Show(m.With(f, s, &h), &st, c) {
		extra := Quantity(q) == ValveT || Quantity(q) == RestP || Quantity(q) == RestT
		r[q] = Reading{Value: v, U: noise(Quantity(q), v), Have: full || !extra}
	}
	return Machine{Props: p, Fixed: fixed, Capacity: 8800, DesignAir: m.Evap.Rated, Pressure: 101325, Target: target, UTarget: 0.9}, r
}

func firstSet(rep *Report) (fs []cycle.Fault) {
	for _, c := range rep.Causes[:rep.First] {
		if !c.IsProbe {
			fs = append(fs, c.Fault)
		}
	}
	return fs
}

// Overcharge and foreign gas look alike to plain readings: neither may stand alone,
// and the standing pressure is asked for. With it the right one is alone.
func TestOverchargeAgainstForeignGas(t *testing.T) {
	for _, fixed := range []bool{false, true} {
		for _, c := range []struct {
			f cycle.Fault
			s float64
		}{{cycle.Overcharge, 0.15}, {cycle.Overcharge, 0.25}, {cycle.NonCondensable, 0.1}} {
			k, r := caseReadings(t, fixed, c.f, c.s, false)
			rep, err := Run(k, r)
			if err != nil {
				t.Fatal(err)
			}
			set := firstSet(rep)
			if !slices.Contains(set, c.f) {
				t.Errorf("fixed %v, %v %.2f, plain readings: first are %v (%.2f), then %v", fixed, c.f, c.s, set, rep.Causes[0].P, rep.Causes[rep.First].Label)
			}
			if len(set) > 1 && !slices.Contains(rep.Ask, RestP) && slices.Contains(set, cycle.NonCondensable) {
				t.Errorf("fixed %v, %v: %v are not separated, and %v is asked for", fixed, c.f, set, rep.Ask)
			}
			if len(set) == 1 && rep.Outcome == Found && set[0] != c.f {
				t.Errorf("fixed %v: %v named for %v", fixed, set, c.f)
			}
			k, r = caseReadings(t, fixed, c.f, c.s, true)
			if rep, err = Run(k, r); err != nil {
				t.Fatal(err)
			}
			if set := firstSet(rep); !slices.Contains(set, c.f) {
				t.Errorf("fixed %v, %v %.2f, full readings: first are %v, %s", fixed, c.f, c.s, set, rep.Causes[0].Label)
			}
			if rep.Causes[0].Fault == cycle.NonCondensable && c.f == cycle.Overcharge {
				t.Errorf("fixed %v: overcharge taken for foreign gas with the standing pressure at hand", fixed)
			}
		}
	}
}

// A subcooling of 2 K for 5.5 K is a lack of refrigerant, not a worn compressor or a
// wrong gauge.
func TestUndercharge(t *testing.T) {
	for _, full := range []bool{false, true} {
		for _, s := range []float64{0.08, 0.15, 0.2} {
			k, r := caseReadings(t, false, cycle.Undercharge, s, full)
			rep, err := Run(k, r)
			if err != nil {
				t.Fatal(err)
			}
			if set := firstSet(rep); !slices.Contains(set, cycle.Undercharge) {
				t.Errorf("full %v, %.0f %% missing (subcooling %.1f K): first %v %s", full, 100*s, rep.Residual[Subcooling]+rep.Expected[Subcooling], set, rep.Causes[0].Label)
			}
		}
	}
}

// Each reading that can be wrong can be suspected: a gross error of it puts it first
// or into the first set, and no other reading stands for it as certain.
func TestEveryReadingCanBeSuspected(t *testing.T) {
	for _, fixed := range []bool{false, true} {
		for _, q := range []Quantity{IndoorAir, Power, RestP, RestT, SuctionP, LiquidP, SuctionT, LiquidT, DischargeT, WetBulb, SupplyT} {
			for _, way := range []float64{-1.3, 1.3} {
				k, r := caseReadings(t, fixed, cycle.Healthy, 0, true)
				r[q].Value += way * gross(q, r[q].Value)
				if r[WetBulb].Value > r[ReturnT].Value {
					continue
				}
				rep, err := Run(k, r)
				if err != nil {
					t.Fatal(err)
				}
				in := false
				for _, c := range rep.Causes[:rep.First] {
					in = in || c.IsProbe && c.Probe == q
				}
				top := rep.Causes[0]
				if !in {
					t.Logf("fixed %v, %v wrong by %.1f of a gross error: told %s %.2f, %s", fixed, q, way, top.Label, top.P, rep.Outcome)
				}
				if top.IsProbe && top.Probe != q && top.P > 0.9 {
					t.Errorf("fixed %v, %v wrong: %s named with %.2f", fixed, q, top.Label, top.P)
				}
				if q == IndoorAir && !in {
					t.Errorf("fixed %v: a wrong airflow is told as %s", fixed, top.Label)
				}
			}
		}
	}
}

// Three are left together only where a reading that separates them was not taken.
func TestSetsAreSmall(t *testing.T) {
	for _, full := range []bool{false, true} {
		for f := cycle.Fault(1); int(f) < cycle.Faults; f++ {
			k, r := caseReadings(t, false, f, 0.2, full)
			rep, err := Run(k, r)
			if err != nil {
				t.Fatal(err)
			}
			if rep.First < 1 || rep.First > 3 || rep.First == 3 && len(rep.Ask) == 0 {
				t.Errorf("%v: %d together, asking for %v", f, rep.First, rep.Ask)
			}
			for _, q := range rep.Ask {
				if r[q].Have {
					t.Errorf("%v: asks for the %v, which was read", f, q)
				}
			}
		}
	}
}
