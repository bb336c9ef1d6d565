package compressor

import (
	"testing"

	"pgregory.net/rapid"

	"retrostage/thermo/fluid"
)

func TestRate(t *testing.T) {
	f, err := fluid.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	m := invented()
	ps, _ := f.DewP(kelvin(45))
	pd, _ := f.DewP(kelvin(130))
	e, err := m.Rate(f, ps, kelvin(65), pd)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "at the rated superheat, factor", e.Factor, 1, 1e-6)
	near(t, "mass", e.Mass, e.AtMap.Mass, 1e-6)
	near(t, "power", e.Power, 2000, 1e-5)

	// Against the formula with densities asked for separately.
	hot, err := m.Rate(f, ps, kelvin(85), pd)
	if err != nil {
		t.Fatal(err)
	}
	a, _ := f.TP(kelvin(65), ps)
	b, _ := f.TP(kelvin(85), ps)
	near(t, "hot gas", hot.Mass/e.Mass, 1+0.75*(b.Rho/a.Rho-1), 1e-6)

	for name, c := range map[string][3]float64{
		"wet": {ps, kelvin(44), pd}, "outside": {ps, kelvin(65), ps * 1.1}, "no pressure": {0, kelvin(65), pd},
	} {
		if _, err := m.Rate(f, c[0], c[1], c[2]); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	m.Power = nil
	if _, err := m.Rate(f, ps, kelvin(65), pd); err == nil {
		t.Error("a map without power was accepted")
	}
}

// Hotter suction gas never pumps more.
func TestHotterGasPumpsLess(t *testing.T) {
	f, err := fluid.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	m := invented()
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.Float64Range(kelvin(31), kelvin(54)).Draw(t, "s")
		d := rapid.Float64Range(kelvin(85), kelvin(148)).Draw(t, "d")
		sh := rapid.Float64Range(0.5, 30).Draw(t, "sh")
		ps, err1 := f.DewP(s)
		pd, err2 := f.DewP(d)
		a, err3 := m.Rate(f, ps, s+sh, pd)
		b, err4 := m.Rate(f, ps, s+sh+1, pd)
		for _, err := range []error{err1, err2, err3, err4} {
			if err != nil {
				t.Fatal(err)
			}
		}
		if b.Mass >= a.Mass {
			t.Fatalf("%v then %v kg/s", a.Mass, b.Mass)
		}
	})
}
