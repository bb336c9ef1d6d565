package compressor

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"retrostage/thermo/fluid"
)

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.9g, want %.9g", what, got, want)
	}
}

// kelvin converts Fahrenheit independently of the code under test.
func kelvin(f float64) float64 { return (f-32)*5/9 + 273.15 }

// published is the set that ACHP, the open heat pump model of Purdue University,
// carries in its sample input as "a 3 ton cooling capacity compressor map" for
// R-410A (lb/h and W over dew temperatures in F; the 20 F of superheat is from
// memory).
func published() *Map {
	return &Map{
		Mass: &Curve{Poly{217.3163128, 5.094492028, -0.593170311, 4.38e-02, -2.14e-02, 1.04e-02, 7.90e-05, -5.73e-05, 1.79e-04, -8.08e-05}, LbPerH},
		Power: &Curve{Poly{-561.3615705, -15.62601841, 46.92506685, -0.217949552, 0.435062616, -0.442400826, 2.25e-04, 2.37e-03, -3.32e-03, 2.50e-03},
			Watt},
		Temp: Fahrenheit, Basis: Basis{Superheat: 20 / 1.8}, Envelope: Rectangle(kelvin(30), kelvin(55), kelvin(80), kelvin(130)),
	}
}

// What must hold of any compressor if the terms are taken in the right order and
// units: the overall isentropic efficiency, by the equation of state, of a hermetic
// machine, about the three tons that the set is said to be of, and not with the two
// mixed terms exchanged.
func TestPublishedSet(t *testing.T) {
	f, err := fluid.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	ask := func(x float64, err error) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	efficiency := func(m *Map, s, d float64) (eta, cooling float64) {
		lo, hi := ask(f.DewP(kelvin(s))), ask(f.DewP(kelvin(d)))
		g, err := f.TP(kelvin(s+20), lo)
		ask(0, err)
		out, err := f.PS(hi, g.S)
		ask(0, err)
		l, err := f.TP(kelvin(d-15), hi)
		ask(0, err)
		r, err := m.At(kelvin(s), kelvin(d))
		ask(0, err)
		return r.Mass * (out.H - g.H) / r.Power, r.Mass * (g.H - l.H)
	}
	swapped := published()
	swapped.Order = SD2First
	for s := 35.0; s <= 55; s += 5 {
		for d := 95.0; d <= 130; d += 5 {
			if eta, _ := efficiency(published(), s, d); eta < 0.55 || eta > 0.8 {
				t.Errorf("%g/%g F: efficiency %.3f", s, d, eta)
			}
		}
	}
	if _, q := efficiency(published(), 45, 100); q < 2.7*3516.8528 || q > 3.3*3516.8528 {
		t.Errorf("%.2f tons, stated 3", q/3516.8528)
	}
	if eta, _ := efficiency(swapped, 45, 130); eta > 0.5 {
		t.Errorf("terms exchanged, and the efficiency is %.3f all the same", eta)
	}
}

// TestPolyTermByTerm checks the order of the terms against the form written in
// the package comment, one coefficient at a time.
func TestPolyTermByTerm(t *testing.T) {
	s, d := 45.0, 130.0
	for i, want := range []float64{1, s, d, s * s, s * d, d * d, s * s * s, d * s * s, s * d * d, d * d * d} {
		var c Poly
		c[i] = 1
		near(t, "term", c.At(s, d), want, 1e-14)
	}
}

// invented gives 300 lb/h, 2000 W and 9 A at 45/130 F by construction.
func invented() *Map {
	m := &Map{
		Mass:     &Curve{Poly{300 - 6*45 + 0.5*130, 6, -0.5}, LbPerH},
		Power:    &Curve{Poly{2000 - 18*130, 0, 18}, Watt},
		Current:  &Curve{Poly{9 - 0.07*130, 0, 0.07}, Ampere},
		Capacity: &Curve{Poly{24 - 0.5*45 + 0.1*130, 0.5, -0.1}, KBtuPerH},
		Temp:     Fahrenheit,
		Basis:    Basis{Superheat: 20 / 1.8},
		Envelope: Rectangle(kelvin(30), kelvin(55), kelvin(80), kelvin(150)),
	}
	return m
}

func TestUnitsTravel(t *testing.T) {
	r, err := invented().At(kelvin(45), kelvin(130))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mass", r.Mass, 300*0.45359237/3600, 1e-9)
	near(t, "power", r.Power, 2000, 1e-9)
	near(t, "current", r.Current, 9, 1e-9)
	near(t, "capacity", r.Capacity, 24000*0.293071070, 1e-8)
}

func TestOrderOfMixedTerms(t *testing.T) {
	m := invented()
	m.Mass = &Curve{Poly{0: 100, 7: 1e-4}, LbPerH}
	a, _ := m.At(kelvin(45), kelvin(130))
	m.Order = SD2First
	b, _ := m.At(kelvin(45), kelvin(130))
	near(t, "S2D", a.Mass/float64(LbPerH), 100+1e-4*45*45*130, 1e-9)
	near(t, "SD2", b.Mass/float64(LbPerH), 100+1e-4*45*130*130, 1e-9)
}

func TestEnvelope(t *testing.T) {
	m := invented()
	// A rated region with its corner of low suction, high discharge cut off.
	m.Envelope = []Point{{270, 300}, {290, 300}, {290, 340}, {280, 340}, {270, 320}}
	for _, c := range []struct {
		s, d float64
		ok   bool
	}{
		{280, 310, true}, {270, 300, true}, {290, 340, true}, {275, 330, true},
		{274, 331, false}, {269.9, 310, false}, {280, 340.1, false}, {291, 320, false},
		{270, 320, true}, {math.NaN(), 310, false}, {280, math.Inf(1), false},
	} {
		if err := m.Inside(c.s, c.d); (err == nil) != c.ok {
			t.Errorf("%v/%v: %v", c.s, c.d, err)
		}
	}
	if _, err := m.At(260, 310); err == nil || !strings.Contains(err.Error(), "270.00/300.00") {
		t.Errorf("a refusal must name the region: %v", err)
	}
	m.Envelope = nil
	if err := m.Inside(280, 310); err == nil {
		t.Error("a map without envelope was believed")
	}
}

func TestNonsenseIsRefused(t *testing.T) {
	m := invented()
	m.Power.C[0] = -1e6
	if _, err := m.At(kelvin(45), kelvin(130)); err == nil || !strings.Contains(err.Error(), "power") {
		t.Errorf("negative power: %v", err)
	}
}

func TestBasis(t *testing.T) {
	for _, c := range []struct {
		b    Basis
		want float64
		ok   bool
	}{
		{Basis{Superheat: 11}, 291, true},
		{Basis{ReturnGas: 291.5}, 291.5, true},
		{Basis{ReturnGas: 270}, 0, false},
		{Basis{}, 0, false},
		{Basis{Superheat: 11, ReturnGas: 291}, 0, false},
	} {
		got, err := c.b.SuctionT(280)
		if (err == nil) != c.ok || got != c.want {
			t.Errorf("%+v: %v, %v", c.b, got, err)
		}
	}
}

// The factor lies between none and all of the change in density (Dabiri and Rice
// 1981: three quarters of it), and is 1 at the rating.
func TestMassFactor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0.01, 0.1).Draw(t, "rated volume")
		x := rapid.Float64Range(0.8, 1.25).Draw(t, "volume over rated")
		k, err := MassFactor(v, v*x)
		if err != nil {
			t.Fatal(err)
		}
		if full := 1 / x; !(min(1, full) <= k && k <= max(1, full)) || x != 1 && math.Abs((k-1)/(full-1)-0.75) > 1e-6 && math.Abs(x-1) > 1e-6 {
			t.Fatalf("%v of the rated volume: factor %v", x, k)
		}
	})
	for _, v := range [][2]float64{{0, 1}, {1, 0}, {-1, 1}, {math.NaN(), 1}, {math.Inf(1), 1}} {
		if _, err := MassFactor(v[0], v[1]); err == nil {
			t.Errorf("volumes %v accepted", v)
		}
	}
}

func TestFitRecoversAnyCubic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var c Poly
		for i := range c {
			c[i] = rapid.Float64Range(-1, 1).Draw(t, "c") * math.Pow(40, -float64([]int{0, 1, 1, 2, 2, 2, 3, 3, 3, 3}[i]))
		}
		var at []Point
		var v []float64
		for s := -5.0; s <= 15; s += 5 {
			for d := 25.0; d <= 65; d += 10 {
				at = append(at, Point{s + 273.15, d + 273.15})
				v = append(v, c.At(s, d))
			}
		}
		got, worst, err := Fit(at, v, 3)
		if err != nil {
			t.Fatal(err)
		}
		if worst > 1e-8 {
			t.Fatalf("worst %g", worst)
		}
		if a, b := got.C.At(7.3, 48.1), c.At(7.3, 48.1); math.Abs(a-b) > 1e-8 {
			t.Fatalf("between points %v, want %v", a, b)
		}
	})
}

func TestFitRefusals(t *testing.T) {
	line := make([]Point, 12)
	v := make([]float64, 12)
	for i := range line {
		line[i] = Point{270 + float64(i), 310}
		v[i] = 1
	}
	for name, c := range map[string]struct {
		at     []Point
		v      []float64
		degree int
	}{
		"one discharge temperature": {line, v, 1},
		"too few":                   {line[:9], v[:9], 3},
		"lengths":                   {line, v[:11], 3},
		"degree":                    {line, v, 4},
		"NaN":                       {[]Point{{270, 310}, {280, 320}, {math.NaN(), 330}}, v[:3], 1},
	} {
		if _, _, err := Fit(c.at, c.v, c.degree); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

func BenchmarkMapAt(b *testing.B) {
	m := invented()
	s, d := kelvin(45), kelvin(130)
	for b.Loop() {
		if _, err := m.At(s, d); err != nil {
			b.Fatal(err)
		}
	}
}
