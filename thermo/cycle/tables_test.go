package cycle

import (
	"math"
	"math/rand/v2"
	"testing"

	"retrostage/thermo/fluid"
)

// TestTables compares the interpolated tables with the equation of state; 200
// J/kg is about a thousandth of the latent heat.
func TestTables(t *testing.T) {
	for _, name := range []string{"R-22", "R-410A", "R-32", "R-454B"} {
		f, _ := fluid.Get(name)
		p, err := PropsOf(f)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(1, 2))
		for range 200 {
			lp := p.lp0 + p.dlp*(2+(satN-5)*rng.Float64())
			pr := math.Exp(lp)
			s := p.at(lp)
			td, err1 := f.DewT(pr)
			tb, err2 := f.BubbleT(pr)
			l, err3 := f.Bubble(tb)
			th := min(3+70*rng.Float64(), 405-td)
			g, err4 := f.TP(td+th, pr)
			for _, err := range []error{err1, err2, err3, err4} {
				if err != nil {
					t.Fatal(name, err)
				}
			}
			v := p.vapour(lp, th)
			var bar isobar
			p.along(lp, &bar)
			for _, c := range []struct {
				what           string
				got, want, tol float64
			}{
				{"dew T", s.td, td, 1e-4}, {"bubble T", s.tb, tb, 1e-4}, {"liquid h", s.hf, l.H, 5}, {"liquid rho", s.rf, l.Rho, 0.1},
				{"gas h", v.h, g.H, 200}, {"gas s", v.s, g.S, 0.6}, {"gas rho", math.Exp(v.lr), g.Rho, 3e-3 * g.Rho},
				{"liquid by T", p.liquid(tb).h, l.H, 5}, {"superheat of h", find(&bar.h, v.h), th, 1e-6},
			} {
				if !(math.Abs(c.got-c.want) <= c.tol) {
					t.Fatalf("%s %s at %.0f Pa, %.1f K: %v, want %v", name, c.what, pr, th, c.got, c.want)
				}
			}
		}
	}
}
