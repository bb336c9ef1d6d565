package fluid_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"retrostage/thermo/fluid"
)

var everyName = append(fluid.Names(), "R-410A/mixture", "R-407C/mixture")

func anyFluid(t *rapid.T) *fluid.Fluid {
	f, err := fluid.Get(rapid.SampledFrom(everyName).Draw(t, "fluid"))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func isPure(f *fluid.Fluid) bool { return len(f.Info().Parts) == 1 && !isPseudo(f) }
func isPseudo(f *fluid.Fluid) bool {
	return f.Name() == "R-410A" || f.Name() == "R-407C"
}

// single draws a single-phase state within what a unit meets and beyond.
func single(t *rapid.T, f *fluid.Fluid) fluid.State {
	lo, hi, _ := f.Limits()
	T := rapid.Float64Range(lo, hi).Draw(t, "T")
	p := math.Exp(rapid.Float64Range(math.Log(1e3), math.Log(2e7)).Draw(t, "ln p"))
	if pb, err := f.BubbleP(lo); err == nil && p < pb && T < lo+20 {
		t.Skip("the bubble line is colder than the equation's range")
	}
	s, err := f.TP(T, p)
	if err != nil {
		t.Fatal(err)
	}
	if s.Phase == fluid.TwoPhase {
		t.Skip("between the lines")
	}
	return s
}

func close(t *rapid.T, what string, got, want, tol float64) {
	if !(math.Abs(got-want) <= tol) {
		t.Fatalf("%s: %.12g against %.12g, off by %.2g > %.2g", what, got, want, got-want, tol)
	}
}

// Maxwell relations and the definitions of cp, cv and w, with the derivatives
// on the other side taken by central differences of TP. Near the critical
// point, where differences are poor, cp is large: those draws are left out.
func TestMaxwell(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyFluid(t)
		s := single(t, f)
		tc, _, rhoc := f.Critical()
		if math.Abs(s.T/tc-1) < 0.05 && s.Rho > 0.3*rhoc && s.Rho < 2*rhoc {
			t.Skip("near critical")
		}
		lo, hi, pmax := f.Limits()
		dT, dp := 1e-4*s.T, 1e-4*s.P
		if s.Phase == fluid.Liquid {
			dp = 3e3 // the liquid hardly notices a pressure
			if dp > s.P/4 {
				t.Skip("liquid at very low pressure")
			}
		}
		if s.T-dT < lo || s.T+dT > hi || s.P+dp > pmax {
			t.Skip("at the range's end")
		}
		var n [4]fluid.State
		for i, d := range [4][2]float64{{dT, 0}, {-dT, 0}, {0, dp}, {0, -dp}} {
			var err error
			if n[i], err = f.TP(s.T+d[0], s.P+d[1]); err != nil || n[i].Phase == fluid.TwoPhase || n[i].Phase == fluid.Liquid != (s.Phase == fluid.Liquid) {
				t.Skip("across a line")
			}
		}
		dvdT := (1/n[0].Rho - 1/n[1].Rho) / (2 * dT)
		dsdp := (n[2].S - n[3].S) / (2 * dp)
		dhdp := (n[2].H - n[3].H) / (2 * dp)
		noise := 1e-12 * math.Abs(s.S) / dp
		close(t, "(dv/dT)p = -(ds/dp)T", dvdT, -dsdp, 2e-5*math.Abs(dvdT)+10*noise)
		close(t, "(dh/dp)T = v - T(dv/dT)p", dhdp, 1/s.Rho-s.T*dvdT, 2e-5*(1/s.Rho+s.T*math.Abs(dvdT))+10*s.T*noise)
		close(t, "cp = (dh/dT)p", (n[0].H-n[1].H)/(2*dT), s.Cp, 1e-5*s.Cp)
		close(t, "cp = T(ds/dT)p", s.T*(n[0].S-n[1].S)/(2*dT), s.Cp, 1e-5*s.Cp)
		kT := (n[2].Rho - n[3].Rho) / (2 * dp) / s.Rho
		close(t, "cp - cv", s.Cp-s.Cv, s.T*dvdT*dvdT*s.Rho/kT, 1e-3*s.Cp)
		close(t, "w2 = cp/(cv rho kT)", s.W*s.W, s.Cp/s.Cv/(s.Rho*kT), 1e-3*s.W*s.W)
		close(t, "h = u + p/rho", s.H, s.U+s.P/s.Rho, 1e-9*math.Abs(s.H)+1e-4)
		if !(s.Cp > s.Cv && s.Cv > 0 && s.W > 0) {
			t.Fatalf("unstable: %+v", s)
		}
	})
}

// Clausius-Clapeyron along pure lines: dp/dT = (s”-s')/(v”-v'), with equal
// Gibbs energy on both sides.
func TestClausiusClapeyron(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyFluid(t)
		if !isPure(f) {
			t.Skip("a blend has two lines")
		}
		lo, _, _ := f.Limits()
		tc, _, _ := f.Critical()
		T := rapid.Float64Range(lo+0.1, tc-0.5).Draw(t, "T")
		b, e1 := f.Bubble(T)
		d, e2 := f.Dew(T)
		h := 1e-4 * T * min(1, (tc-T)/10)
		up, e3 := f.BubbleP(T + h)
		dn, e4 := f.BubbleP(T - h)
		if err := errors.Join(e1, e2, e3, e4); err != nil {
			t.Fatal(err)
		}
		slope := (d.S - b.S) / (1/d.Rho - 1/b.Rho)
		close(t, "dp/dT", (up-dn)/(2*h), slope, 1e-5*slope)
		close(t, "g' = g''", b.H-T*b.S, d.H-T*d.S, 1e-9*(math.Abs(b.H)+T*math.Abs(b.S))+1e-4)
		close(t, "h''-h' = T(s''-s')", d.H-b.H, T*(d.S-b.S), 1e-9*(math.Abs(b.H)+T*math.Abs(b.S))+1e-4)
	})
}

// p_sat rises with T on both lines, the bubble pressure is not below the dew
// pressure, and T(p) inverts p(T).
func TestLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyFluid(t)
		lo, _, _ := f.Limits()
		tc, _, _ := f.Critical()
		T := rapid.Float64Range(lo, tc-0.5).Draw(t, "T")
		dT := rapid.Float64Range(1e-6, 0.4).Draw(t, "dT")
		for _, line := range []struct {
			p, t func(float64) (float64, error)
		}{{f.BubbleP, f.BubbleT}, {f.DewP, f.DewT}} {
			a, e1 := line.p(T)
			b, e2 := line.p(T + dT)
			back, e3 := line.t(a)
			if err := errors.Join(e1, e2, e3); err != nil {
				t.Fatal(err)
			}
			if !(b > a) {
				t.Fatalf("p(%g) = %g, p(%g) = %g", T, a, T+dT, b)
			}
			close(t, "T(p(T))", back, T, 1e-8*T)
		}
		pb, _ := f.BubbleP(T)
		pd, _ := f.DewP(T)
		if pb < pd*(1-1e-9) {
			t.Fatalf("bubble pressure %g below dew pressure %g", pb, pd)
		}
	})
}

// Every flash gives back the state it was asked from.
func TestFlashRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyFluid(t)
		var s fluid.State
		if rapid.Bool().Draw(t, "two-phase") {
			lo, _, _ := f.Limits()
			tc, _, _ := f.Critical()
			T := rapid.Float64Range(lo+15, tc-0.6).Draw(t, "T")
			q := rapid.Float64Range(0, 1).Draw(t, "q")
			var err error
			if s, err = f.TQ(T, q); err != nil {
				t.Fatal(err)
			}
			close(t, "T of TQ", s.T, T, 1e-8*T)
			close(t, "q of TQ", s.Q, q, 1e-8)
		} else {
			s = single(t, f)
		}
		ph, err := f.PH(s.P, s.H)
		if err != nil {
			t.Fatal("PH: ", err)
		}
		ps, err := f.PS(s.P, s.S)
		if err != nil {
			t.Fatal("PS: ", err)
		}
		for _, r := range []fluid.State{ph, ps} {
			close(t, "T", r.T, s.T, 2e-8*s.T)
			close(t, "h", r.H, s.H, 1e-7*(math.Abs(s.H)+1e5))
			close(t, "s", r.S, s.S, 1e-7*(math.Abs(s.S)+1e3))
			// Near the critical point the density follows T with a huge slope;
			// in the dome the quality says it all.
			tc, pc, _ := f.Critical()
			if s.Phase == fluid.TwoPhase {
				close(t, "q", r.Q, s.Q, 1e-6)
			} else if math.Abs(s.T/tc-1) > 0.02 || math.Abs(s.P/pc-1) > 0.1 {
				close(t, "rho", r.Rho, s.Rho, 2e-6*s.Rho)
			}
		}
	})
}

// At low density a vapour is an ideal gas: p = rho R T, and w2 = (cp/cv) R T.
func TestIdealGasLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyFluid(t)
		_, hi, _ := f.Limits()
		T := rapid.Float64Range(250, hi).Draw(t, "T")
		s, err := f.TP(T, 1)
		if err != nil {
			t.Fatal(err)
		}
		R := 8.31446 / f.Info().MolarMass
		close(t, "p/(rho R T)", s.P/(s.Rho*R*T), 1, 1e-5)
		close(t, "cp - cv", s.Cp-s.Cv, R, 1e-4*R)
		close(t, "w2", s.W*s.W, s.Cp/s.Cv*R*T, 1e-4*s.W*s.W)
	})
}

func TestRefusals(t *testing.T) {
	f, err := fluid.Get("R-454B")
	if err != nil {
		t.Fatal(err)
	}
	tc, pc, _ := f.Critical()
	check := func(what string, err, want error, words ...string) {
		t.Helper()
		if !errors.Is(err, want) {
			t.Errorf("%s: %v, want %v", what, err, want)
			return
		}
		for _, w := range words {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %q does not mention %q", what, err, w)
			}
		}
	}
	_, err = f.BubbleT(pc * 1.01)
	check("above critical", err, fluid.ErrRange, "critical", "53041")
	_, err = f.DewT(pc * 1.01)
	check("above critical", err, fluid.ErrRange, "critical", "53041")
	_, err = f.DewP(tc + 1)
	check("above critical temperature", err, fluid.ErrRange, "351.43")
	_, err = f.TP(1000, 1e5)
	check("hot", err, fluid.ErrRange, "410")
	_, err = f.TP(300, 1e9)
	check("high pressure", err, fluid.ErrRange)
	_, err = f.TP(math.NaN(), 1e5)
	check("NaN", err, fluid.ErrRange)
	_, err = f.TQ(300, 1.5)
	check("quality", err, fluid.ErrRange)
	_, err = f.PH(1e6, 1e9)
	check("enthalpy", err, fluid.ErrRange)
	_, err = f.TPIn(300, 1e5, fluid.Liquid)
	check("metastable liquid", err, fluid.ErrMetastable, "vapour")
	_, err = f.TPIn(300, 3e6, fluid.Vapour)
	check("metastable vapour", err, fluid.ErrMetastable, "liquid")
	_, err = f.EnthalpyTP(300, 1.63e6)
	check("inside the dome", err, fluid.ErrTwoPhase)
	if s, err := f.TP(300, 1.63e6); err != nil || s.Phase != fluid.TwoPhase || !(s.Q > 0 && s.Q < 1) || s.Cp != 0 {
		t.Errorf("inside a blend's dome: %+v, %v", s, err)
	}
	r22, _ := fluid.Get("r-22")
	p, _ := r22.BubbleP(300)
	_, err = r22.TP(300, p)
	check("on a pure line", err, fluid.ErrTwoPhase)
	if _, err := fluid.Get("R-999"); err == nil || !strings.Contains(err.Error(), "R-454B") {
		t.Errorf("unknown fluid: %v", err)
	}
}

// The cross-check that the pseudo-pure equations exist for: the same blend by
// its components agrees within the models' doubt.
func TestPseudoPureAgainstMixture(t *testing.T) {
	for _, name := range []string{"R-410A", "R-407C"} {
		a, _ := fluid.Get(name)
		b, err := fluid.Get(name + "/mixture")
		if err != nil {
			t.Fatal(err)
		}
		for T := 240.0; T <= 330; T += 10 {
			ab, e1 := a.BubbleSat(T)
			bb, e2 := b.BubbleSat(T)
			ad, e3 := a.DewSat(T)
			bd, e4 := b.DewSat(T)
			if err := errors.Join(e1, e2, e3, e4); err != nil {
				t.Fatal(err)
			}
			for _, x := range [][3]float64{
				{ab.P, bb.P, 0.004}, {ad.P, bd.P, 0.004}, {ab.Rho, bb.Rho, 0.002}, {ad.Rho, bd.Rho, 0.008},
				{ad.H - ab.H, bd.H - bb.H, 0.008},
			} {
				if math.Abs(x[0]/x[1]-1) > x[2] {
					t.Errorf("%s at %g K: pseudo-pure %g, mixture %g", name, T, x[0], x[1])
				}
			}
		}
	}
}

func FuzzTP(f *testing.F) {
	f.Add(uint8(0), 300.0, 1e5)
	f.Add(uint8(7), 351.43, 5.3041e6)
	f.Add(uint8(5), 344.49, 4.9e6)
	f.Add(uint8(3), 121.6, 1e8)
	f.Add(uint8(2), 374.2119640, 4.05928e6)
	f.Add(uint8(1), math.Inf(1), math.NaN())
	f.Fuzz(func(t *testing.T, n uint8, T, p float64) {
		fl, _ := fluid.Get(everyName[int(n)%len(everyName)])
		s, err := fl.TP(T, p)
		noNaN(t, s, err)
		h, err2 := fl.EnthalpyTP(T, p)
		if math.IsNaN(h) || err == nil && s.Phase != fluid.TwoPhase && err2 != nil {
			t.Fatalf("EnthalpyTP %g, %v where TP answers", h, err2)
		}
		if err == nil && !(s.Rho > 0) {
			t.Fatalf("%+v", s)
		}
	})
}

func FuzzPH(f *testing.F) {
	f.Add(uint8(0), 1e5, 4e5)
	f.Add(uint8(7), 5.304e6, 3.7e5)
	f.Add(uint8(6), 2e3, 2e5)
	f.Add(uint8(4), math.Inf(-1), math.NaN())
	f.Fuzz(func(t *testing.T, n uint8, p, x float64) {
		fl, _ := fluid.Get(everyName[int(n)%len(everyName)])
		s, err := fl.PH(p, x)
		noNaN(t, s, err)
		s, err = fl.PS(p, x)
		noNaN(t, s, err)
		s, err = fl.PS(p, x/200)
		noNaN(t, s, err)
		s, err = fl.PQ(p, x)
		noNaN(t, s, err)
		s, err = fl.TQ(p, x)
		noNaN(t, s, err)
	})
}

func FuzzSat(f *testing.F) {
	f.Add(uint8(0), 300.0)
	f.Add(uint8(7), 351.4302113570257)
	f.Add(uint8(8), 4.90123e6)
	f.Add(uint8(6), 4.6317e6)
	f.Add(uint8(2), math.NaN())
	f.Fuzz(func(t *testing.T, n uint8, x float64) {
		fl, _ := fluid.Get(everyName[int(n)%len(everyName)])
		for _, g := range []func(float64) (float64, error){fl.BubbleP, fl.DewP, fl.BubbleT, fl.DewT, fl.BubbleTDirect, fl.DewTDirect, fl.Glide} {
			y, err := g(x)
			if math.IsNaN(y) || math.IsInf(y, 0) || err == nil && y < 0 {
				t.Fatalf("%s at %g: %g, %v", fl.Name(), x, y, err)
			}
		}
		for _, g := range []func(float64) (fluid.Sat, error){fl.BubbleSat, fl.DewSat, fl.BubbleDirect, fl.DewDirect} {
			y, err := g(x)
			noNaN(t, fluid.State{T: y.T, P: y.P, Rho: y.Rho, H: y.H, S: y.S}, err)
		}
		for _, g := range []func(float64) (fluid.State, error){fl.Bubble, fl.Dew, fl.BubbleAtP, fl.DewAtP} {
			y, err := g(x)
			noNaN(t, y, err)
		}
	})
}

// noNaN: no NaN or infinity leaves a function, with or without an error.
func noNaN(t *testing.T, s fluid.State, err error) {
	t.Helper()
	for _, x := range []float64{s.T, s.P, s.Rho, s.H, s.S, s.U, s.Cp, s.Cv, s.W, s.Q} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%+v, %v", s, err)
		}
	}
}
