package season

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const btu = 0.2930710701722222 // W of 1 Btu/h

func point(f, q, p float64) Point { return Point{fahrenheit(f), q * btu, p} }

func published() Machine {
	low := Stage{point(67, 34000, 2500), point(82, 30000, 2200)}
	// The example's tests: B low 30,000 Btu/h 2,200 W at 82 °F, F low 34,000 Btu/h
	// 2,500 W at 67 °F, as the record has them.
	return Machine{Full: Stage{point(82, 52000, 3900), point(95, 48000, 4300)}, Low: &low, CdFull: 0.20, CdLow: 0.20}
}

// TestPublished holds the example against the record of a rating body's
// calculation (input and result read in an open test record).
func TestPublished(t *testing.T) {
	m := published()
	l := Sized(48000 * btu)
	r, err := Run(m, l, Standard())
	if err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got/want-1) > 1e-12 {
			t.Errorf("%s: %.15g, published %.15g", what, got, want)
		}
	}
	near("cooling, Btu/h", r.Cooling/btu, 17117.202797202794)
	near("power, W", r.Power, 1374.4302560987994)
	near("ratio, Btu/Wh", r.Ratio()/btu, 12.454035205677503)
	modes := []Mode{CyclesLow, CyclesLow, CyclesLow, CyclesLow, Alternates, Alternates, Alternates, RunsFull}
	for i, h := range r.Hours {
		if h.Mode != modes[i] {
			t.Errorf("bin %d: %s, published %s", i+1, h.Mode, modes[i])
		}
	}
	m.Low = nil
	one, err := Run(m, l, Standard())
	if err != nil {
		t.Fatal(err)
	}
	near("one stage, Btu/Wh", one.Ratio()/btu, 11.92674129969376)
}

// TestAverages holds the curves against the values beside them in the table.
func TestAverages(t *testing.T) {
	for i, od := range []float64{67, 82, 95, 115} {
		q, p, err := Average(OneSpeed, fahrenheit(67), fahrenheit(od))
		if err != nil {
			t.Fatal(err)
		}
		wantQ, wantP := []float64{1.129, 1.060, 0.994, 0.883}[i], []float64{0.745, 0.853, 1.003, 1.293}[i]
		if math.Abs(q-wantQ) > 6e-4 || math.Abs(p-wantP) > 6e-4 {
			t.Errorf("%g °F: %.4f %.4f, table %.3f %.3f", od, q, p, wantQ, wantP)
		}
	}
}

// TestLaws: cooling never exceeds the load, more loss by cycling never saves, and
// a second stage that is no worse per watt never costs more.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		q := rapid.Float64Range(4000, 20000).Draw(rt, "q")
		eer := rapid.Float64Range(2.2, 4.5).Draw(rt, "eer")
		full, err := ByAverage(HighOfTwo, q, q/eer)
		if err != nil {
			rt.Fatal(err)
		}
		cd := rapid.Float64Range(0, 0.25).Draw(rt, "cd")
		l := Sized(q * rapid.Float64Range(0.6, 1.3).Draw(rt, "size"))
		one, err := Run(Machine{Full: full, CdFull: cd}, l, Standard())
		if err != nil {
			rt.Fatal(err)
		}
		worse, err := Run(Machine{Full: full, CdFull: math.Min(1, cd+0.1)}, l, Standard())
		if err != nil {
			rt.Fatal(err)
		}
		if worse.Power < one.Power {
			rt.Fatalf("more loss takes less: %g, %g", worse.Power, one.Power)
		}
		share := rapid.Float64Range(0.5, 0.85).Draw(rt, "share")
		low := Stage{scaled(full, 67, share), scaled(full, 82, share)}
		two, err := Run(Machine{Full: full, Low: &low, CdFull: cd, CdLow: cd}, l, Standard())
		if err != nil {
			rt.Fatal(err)
		}
		if two.Power > one.Power*(1+1e-12) {
			rt.Fatalf("a low stage as good per watt takes more: %g, %g", two.Power, one.Power)
		}
		for _, h := range one.Hours {
			if h.Cooling > h.Load*(1+1e-12) {
				rt.Fatalf("%v cools more than the load", h)
			}
		}
	})
}

func scaled(s Stage, f, share float64) Point {
	q, p := s.At(fahrenheit(f))
	return Point{fahrenheit(f), q * share, p * share}
}

func TestRefusals(t *testing.T) {
	m, l := published(), Sized(14000)
	bad := map[string]func() (Machine, Load, []Bin){
		"shares":       func() (Machine, Load, []Bin) { return m, l, Standard()[:5] },
		"no load":      func() (Machine, Load, []Bin) { return m, Load{fahrenheit(65), fahrenheit(95), 0}, Standard() },
		"not a number": func() (Machine, Load, []Bin) { return m, Load{fahrenheit(65), fahrenheit(95), math.NaN()}, Standard() },
		"coefficient":  func() (Machine, Load, []Bin) { n := m; n.CdLow = 1.2; return n, l, Standard() },
		"one test":     func() (Machine, Load, []Bin) { n := m; n.Full.B = n.Full.A; return n, l, Standard() },
		"low above": func() (Machine, Load, []Bin) {
			n := m
			low := Stage{point(67, 60000, 2500), point(82, 58000, 2600)}
			n.Low = &low
			return n, l, Standard()
		},
	}
	for name, f := range bad {
		if r, err := Run(f()); err == nil {
			t.Errorf("%s: %+v, want a refusal", name, r)
		}
	}
}
