package fluid

import (
	"errors"
	"math"
	"testing"
)

// TestSweep asks everything of every fluid from the lowest temperature of its
// equation to 0.5 K below the critical one: nothing may fail, and the flashes
// must give back the state, the edges of the dome included.
func TestSweep(t *testing.T) {
	n := 700
	if testing.Short() {
		n = 200
	}
	for _, f := range all(t) {
		l, err := f.lines()
		if err != nil {
			t.Fatal(err)
		}
		top := min(l[bubble].topT, l[dew].topT) - 0.5
		asked := 0
		for i := range n + 1 {
			T := f.tmin + (top-f.tmin)*float64(i)/float64(n)
			for _, line := range []side{bubble, dew} {
				fast, e1 := f.sat(line, T)
				direct, e2 := f.satDirect(line, T)
				full, e3 := f.saturated(line, T)
				backT, e4 := f.satT(line, fast.P)
				backD, e5 := f.satTDirect(line, fast.P)
				again, e6 := f.saturatedAtP(line, fast.P)
				if err := errors.Join(e1, e2, e3, e4, e5, e6); err != nil {
					t.Fatalf("%s %v line at %.9g K: %v", f.name, line, T, err)
				}
				for _, x := range []float64{direct.P / fast.P, full.P / fast.P, again.P / fast.P, backT / T, backD / T, again.T / T} {
					if !(math.Abs(x-1) < 1e-7) {
						t.Fatalf("%s %v line at %.9g K: %v", f.name, line, T, x-1)
					}
				}
			}
			for _, q := range []float64{0, 1e-9, 0.37, 1 - 1e-9, 1} {
				s, err := f.TQ(T, q)
				if err != nil && f.kind != pure && errors.Is(err, ErrRange) && T < f.tmin+15 {
					continue // one end of that isobar lies below the equation's range
				}
				if err != nil {
					t.Fatalf("%s at %.9g K, q %g: %v", f.name, T, q, err)
				}
				ph, e1 := f.PH(s.P, s.H)
				ps, e2 := f.PS(s.P, s.S)
				if err := errors.Join(e1, e2); err != nil {
					if f.kind != pure && errors.Is(err, ErrRange) && T < f.tmin+15 {
						continue
					}
					t.Fatalf("%s at %.9g K, q %g: %v", f.name, T, q, err)
				}
				asked++
				for _, r := range []State{ph, ps} {
					if !(math.Abs(r.T/s.T-1) < 2e-8) || !(math.Abs(r.H-s.H) < 1e-7*(math.Abs(s.H)+1e5)) ||
						!(math.Abs(r.Q-s.Q) < 1e-6) {
						t.Fatalf("%s at %.9g K, q %g: %+v back as %+v", f.name, T, q, s, r)
					}
				}
			}
			pb, _ := f.satP(bubble, T)
			pd, _ := f.satP(dew, T)
			for _, p := range []float64{pb * (1 + 1e-6), min(2*pb+1e5, f.pmax), f.pmax, pd * (1 - 1e-6), pd / 2, pd / 1e3} {
				s, err := f.TP(T, p)
				if err != nil {
					t.Fatalf("%s at %.9g K, %.9g Pa: %v", f.name, T, p, err)
				}
				if want := map[bool]Phase{true: Liquid, false: Vapour}[p > pb]; s.Phase != want {
					t.Fatalf("%s at %.9g K, %.9g Pa: %v", f.name, T, p, s.Phase)
				}
				h, err := f.EnthalpyTP(T, p)
				if err != nil || !(math.Abs(h-s.H) < 1e-9*(math.Abs(s.H)+1e5)) || !(s.Cp > 0 && s.Cv > 0 && s.W > 0) {
					t.Fatalf("%s at %.9g K, %.9g Pa: h %g, %v; %+v", f.name, T, p, h, err, s)
				}
			}
		}
		if asked < 4*n {
			t.Errorf("%s: only %d round trips of %d", f.name, asked, 5*(n+1))
		}
	}
}

// TestDewAtVeryLowPressure: a saturated vapour of 130.73 K (R-22, some pascals)
// once came back from its enthalpy as the liquid's neighbour.
func TestDewAtVeryLowPressure(t *testing.T) {
	f, err := Get("R-22")
	if err != nil {
		t.Fatal(err)
	}
	for _, T := range []float64{130.73, 130.731, 130.725, 130.7349} {
		s, err := f.TQ(T, 1)
		if err != nil {
			t.Fatal(err)
		}
		if s.H < 300e3 || s.Rho > 1 {
			t.Fatalf("TQ(%g, 1) is no vapour: %+v", T, s)
		}
		for name, flash := range map[string]func() (State, error){
			"PH": func() (State, error) { return f.PH(s.P, s.H) },
			"PS": func() (State, error) { return f.PS(s.P, s.S) },
			"PQ": func() (State, error) { return f.PQ(s.P, 1) },
		} {
			r, err := flash()
			if err != nil || math.Abs(r.H-s.H) > 1 || math.Abs(r.T-T) > 1e-5 || r.Rho > 1 {
				t.Errorf("%s at %g K: %+v, %v; want %+v", name, T, r, err, s)
			}
		}
	}
}

// TestInterpolatedNearCritical: within nearCritical the direct solution
// interpolates between knots. There the equations are solved anew off the
// knots, with the density ratio given, which stays regular; both must agree
// far within the 1e-6 that the fast lines promise.
func TestInterpolatedNearCritical(t *testing.T) {
	for _, f := range all(t) {
		if f.kind == pseudoPure {
			continue
		}
		n := len(f.model.comp)
		for line := bubble; line <= dew; line++ {
			tr, err := f.traced(line)
			if err != nil {
				t.Fatal(err)
			}
			sign := math.Copysign(1, tr.knots[0].s)
			var worst [3]float64
			for _, s := range []float64{0.031, 0.034, 0.045, 0.055, 0.07, 0.09, 0.17, 0.44} {
				i := 0
				for i < tr.crit && math.Abs(tr.knots[i+1].s) > s {
					i++
				}
				k := lagrange(tr.around(i), sign*s)
				y := k.y
				y[0] *= 1 + 1e-7 // from a little beside, so that Newton has work to do
				p, err := f.model.equilibrium(&f.z, &y, atS, sign*s)
				if err != nil {
					t.Fatalf("%s %v line, s = %g: %v", f.name, line, s, err)
				}
				for j, d := range [3]float64{k.y[0] - y[0], k.lnT - y[n+1], k.lnP - math.Log(p)} {
					worst[j] = max(worst[j], math.Abs(d))
				}
			}
			t.Logf("%s %v: ln rho %.1e, ln T %.1e, ln p %.1e", f.name, line, worst[0], worst[1], worst[2])
			for j, tol := range [3]float64{2e-7, 3e-10, 1e-9} {
				if !(worst[j] <= tol) {
					t.Errorf("%s %v line: %v off by %.2g", f.name, line, [3]string{"ln rho", "ln T", "ln p"}[j], worst[j])
				}
			}
		}
	}
}
