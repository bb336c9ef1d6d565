package cycle_test

import (
	"math"
	"math/rand/v2"
	"testing"

	. "retrostage/thermo/cycle"
	"retrostage/thermo/cycle/chance"
)

// A machine fitted to what another one shows on one day foretells that one on another
// day better than the typical machine does, and its directions of doubt cover the rest.
func TestFitForetells(t *testing.T) {
	p := props(t, "R-410A")
	rng := rand.New(rand.NewPCG(18, 3))
	var plain, fitted float64
	n, covered, asked := 0, 0, 0
	for n < 30 {
		m, err := chance.Machine(p, false, rng)
		if err != nil {
			continue
		}
		c := Rating()
		c.Outdoor = 300 + 6*rng.Float64()
		s, err := m.Charged(c, BySubcooling, 5.5, nil)
		if err != nil {
			continue
		}
		hot := c
		hot.Outdoor += 8
		want, err := m.Solve(hot, &s)
		if err != nil {
			continue
		}
		typical, err := Typical(p, s.Cooling, false, nil)
		if err != nil {
			t.Fatal(err)
		}
		of := []func(m *Machine, s *State, c *Conditions) float64{
			func(_ *Machine, s *State, _ *Conditions) float64 { return 30 * math.Log(s.SuctionP) },
			func(_ *Machine, s *State, _ *Conditions) float64 { return 30 * math.Log(s.DischargeP) },
			func(_ *Machine, s *State, _ *Conditions) float64 { return s.SuctionT },
			func(_ *Machine, s *State, _ *Conditions) float64 { return s.DischargeT },
			func(_ *Machine, s *State, _ *Conditions) float64 { return s.CondAirOut },
			func(_ *Machine, s *State, _ *Conditions) float64 { return 30 * math.Log(s.Power) },
		}
		var seen []Sight
		for _, f := range of {
			seen = append(seen, Sight{Of: f, Read: f(m, &s, &c) + 0.5*rng.NormFloat64(), U: 0.7})
		}
		by := func(x *float64, share, z float64) { *x *= math.Exp(share * z) }
		free := []Free{
			func(s *Setup, z float64) { by(&s.Machine.Evap.UA, 0.25, z) },
			func(s *Setup, z float64) { by(&s.Machine.Cond.UA, 0.25, z) },
			func(s *Setup, z float64) { by(&s.Machine.Cond.Air, 0.3, z) },
			func(s *Setup, z float64) { s.Machine.Flow = math.Exp(0.1 * z) },
			func(s *Setup, z float64) { s.Machine.Draw = math.Exp(0.1 * z) },
			func(s *Setup, z float64) { s.Machine.Valve.Static += 1.2 * z },
			func(s *Setup, z float64) { s.Target += 0.5 * z },
		}
		f, err := Fit(Setup{*typical, c, 5.5}, BySubcooling, free, seen)
		if err != nil {
			t.Fatal(err)
		}
		a, e1 := typical.Charged(c, BySubcooling, 5.5, nil)
		if e1 != nil {
			t.Fatal(e1)
		}
		a, e1 = typical.Solve(hot, &a)
		b, e2 := f.Machine.Solve(hot, &f.State)
		if e1 != nil || e2 != nil {
			t.Fatal(e1, e2)
		}
		n++
		for _, g := range of {
			x := g(m, &want, &hot)
			plain += math.Pow(g(typical, &a, &hot)-x, 2)
			fitted += math.Pow(g(&f.Machine, &b, &hot)-x, 2)
			sd := 0.3 // parts that were not free
			for i := range f.Vary {
				if v, err := f.Vary[i].Solve(hot, &b); err == nil {
					sd = math.Hypot(sd, g(&f.Vary[i], &v, &hot)-g(&f.Machine, &b, &hot))
				}
			}
			asked++
			if math.Abs(g(&f.Machine, &b, &hot)-x) < 2*sd {
				covered++
			}
		}
	}
	t.Logf("off on another day, K by the root of the mean square: typical %.2f, fitted %.2f; within two deviations %d of %d", math.Sqrt(plain/float64(6*n)), math.Sqrt(fitted/float64(6*n)), covered, asked)
	if fitted > plain/9 || covered < asked*88/100 {
		t.Errorf("off by squares: typical %.1f, fitted %.1f; covered %d of %d", plain, fitted, covered, asked)
	}
	if _, err := Fit(Setup{}, BySubcooling, nil, nil); err == nil {
		t.Error("nothing was fitted to nothing")
	}
}
