package vacuum

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

const (
	micron = 101325.0 / 760000
	psi    = 6894.757293168
)

func fahr(f float64) float64 { return (f + 459.67) / 1.8 }

// The trade facts, section 2.5 (ideal gas, computed there): 500 psig at 70 F and
// 14.696 psia becomes 494.2 psig at 64 F and 505.8 at 76 F.
func TestTemperatureCorrection(t *testing.T) {
	const atm = 14.696
	for _, c := range []struct{ f, psig float64 }{{64, 494.2}, {76, 505.8}} {
		d, err := Change((500+atm)*psi, fahr(70), (500+atm)*psi, fahr(c.f))
		if got := 500 - d/psi; err != nil || math.Abs(got-c.psig) > 0.05 {
			t.Errorf("%g F: %.3f psig, want %.1f; %v", c.f, got, c.psig, err)
		}
	}
	if _, err := Change(1e5, 0, 1e5, 300); err == nil {
		t.Error("took 0 K")
	}
}

// The trade facts, section 2.4: 5 L rising by 100 micron a minute take in
// 1.11e-3 Pa m3/s.
func TestInflow(t *testing.T) {
	if q, err := Inflow(5e-3, 100*micron/60); err != nil || math.Abs(q-1.11e-3) > 0.005e-3 {
		t.Errorf("%g, %v", q, err)
	}
	if _, err := Inflow(0, 1); err == nil {
		t.Error("took no volume")
	}
}

// series makes readings each minute for 20 minutes.
func series(a, b, c, tau, noise float64, rng *rand.Rand) (t, p []float64) {
	for m := 0.0; m <= 20; m++ {
		s := 60 * m
		v := a + b*s + c*(1-math.Exp(-s/tau))
		t, p = append(t, s), append(p, v*(1+noise*rng.NormFloat64()))
	}
	return t, p
}

// Drawn rises are told apart, and the constants lie within their uncertainties
// as often as they should.
func TestTellsApart(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	right, inside, runs := [4]int{}, 0, 0
	const each = 60
	for form := Flat; form <= Both; form++ {
		for range each {
			a := (200 + 200*rng.Float64()) * micron
			b, c, tau := 0.0, 0.0, 200+300*rng.Float64()
			if form == Leak || form == Both {
				b = (30 + 60*rng.Float64()) * micron / 60
			}
			if form == Moisture || form == Both {
				c = (300 + 700*rng.Float64()) * micron
			}
			ts, ps := series(a, b, c, tau, 0.01, rng)
			r, err := Fit(ts, ps, 0.1*micron, 0.01)
			if err != nil {
				t.Fatal(err)
			}
			if r.Form == form {
				right[form]++
			}
			runs++
			if math.Abs(r.Slope-b) <= 2*r.USlope+1e-12 {
				inside++
			}
		}
	}
	t.Logf("right form of %d each: flat %d, leak %d, moisture %d, both %d; slope within 2u in %d of %d", each, right[0], right[1], right[2], right[3], inside, runs)
	for f, n := range right {
		if n < each*3/4 {
			t.Errorf("%s: %d of %d told", Form(f), n, each)
		}
	}
	if share := float64(inside) / float64(runs); share < 0.88 {
		t.Errorf("slope within two standard uncertainties in only %.0f %%", 100*share)
	}
}

// Exact readings give their constants back.
func TestExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for _, c := range [][4]float64{{40, 0.01, 30, 300}, {30, 0.05, 80, 500}, {60, 0.02, 50, 240}} {
		ts, ps := series(c[0], c[1], c[2], c[3], 0, rng)
		r, err := Fit(ts, ps, 0.05, 0)
		if err != nil {
			t.Fatal(err)
		}
		if r.Form != Both || math.Abs(r.Slope/c[1]-1) > 1e-3 || math.Abs(r.Gain/c[2]-1) > 1e-3 || math.Abs(r.Tau/c[3]-1) > 1e-3 {
			t.Errorf("%v: %+v", c, r)
		}
		for i := range ts {
			if math.Abs(r.At(ts[i])-ps[i]) > 1e-3 {
				t.Errorf("%v: %g at %g s, want %g", c, r.At(ts[i]), ts[i], ps[i])
			}
		}
	}
}

// Whatever is read, no constant is below 0 or not a number; a pressure unit does
// not matter to the form.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 20).Draw(t, "n")
		var ts, ps, qs []float64
		s := 0.0
		for range n {
			s += rapid.Float64Range(20, 400).Draw(t, "step")
			p := rapid.Float64Range(1, 400).Draw(t, "p")
			ts, ps, qs = append(ts, s), append(ps, p), append(qs, 2*p)
		}
		r, err := Fit(ts, ps, 1, 0.01)
		if err != nil {
			return
		}
		q, err := Fit(ts, qs, 2, 0.01)
		if err != nil {
			t.Fatal(err)
		}
		if r.Form != q.Form {
			t.Fatalf("%s and %s", r.Form, q.Form)
		}
		for _, v := range []float64{r.Slope, r.Gain, r.Tau, r.USlope, r.UGain} {
			if !(v >= 0) || math.IsInf(v, 0) {
				t.Fatalf("%+v", r)
			}
		}
	})
}

func TestRefuses(t *testing.T) {
	ok := []float64{0, 100, 200, 300}
	for _, c := range []struct {
		t, p     []float64
		abs, rel float64
	}{
		{ok[:2], ok[:2], 1, 0}, {ok, ok[:3], 1, 0}, {ok, ok, 0, 0}, {[]float64{0, 2, 1}, ok[:3], 1, 0}, {ok, []float64{0, 1, math.NaN(), 2}, 1, 0}, {ok, []float64{0, 1, 9e4, 2}, 1, 0},
	} {
		if r, err := Fit(c.t, c.p, c.abs, c.rel); err == nil {
			t.Errorf("%v %v gave %+v", c.t, c.p, r)
		}
	}
}

func BenchmarkFit(b *testing.B) {
	ts, ps := series(40, 0.02, 50, 300, 0.01, rand.New(rand.NewPCG(2, 2)))
	for b.Loop() {
		if _, err := Fit(ts, ps, 0.1, 0.01); err != nil {
			b.Fatal(err)
		}
	}
}
