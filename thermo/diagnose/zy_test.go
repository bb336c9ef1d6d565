package diagnose_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"retrostage/thermo/air"
	"retrostage/thermo/cycle"
	"retrostage/thermo/fluid"
)

func TestY(t *testing.T) {
	if os.Getenv("FIT") == "" {
		t.Skip()
	}
	f, _ := fluid.Get("R-410A")
	p, _ := cycle.PropsOf(f)
	for _, fixed := range []bool{false, true} {
		m, err := cycle.Typical(p, 1e4, fixed, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, out := range []float64{67, 75, 82, 95, 105, 115} {
			c, _ := cycle.Weather(degF(out), degF(78), degF(65), 101325)
			s, err := m.Solve(c, nil)
			fmt.Printf("typical %v %3.0f F: SH %.1f coil %.1f SC %.1f te %.1f tc-out %.1f Td-tc %.1f %v\n", fixed, out, s.Superheat, s.CoilSuperheat, s.Subcooling, s.Evaporating-273.15, s.Condensing-c.Outdoor, s.DischargeT-s.Condensing, err)
			sum := op{}
			n := 0.0
			for seed := range uint64(12) {
				rng := rand.New(rand.NewPCG(seed, 99))
				q, err := drawPlant(f, fixed, rng)
				if err != nil {
					continue
				}
				w := rated()
				var o op
				if fixed {
					o, err = q.solve(&w, bySuperheat, 6.7, 0, nil)
				} else {
					o, err = q.solve(&w, bySubcooling, 5.5, 0, nil)
				}
				if err != nil {
					continue
				}
				a, _ := air.FromWetBulb(degF(78), degF(65), 101325)
				w2 := weather{out: degF(out), ret: a.T, wb: degF(65), w: a.W, p: a.P}
				b, err := q.solve(&w2, byCharge, o.charge, 0, &o)
				if err != nil {
					continue
				}
				n++
				te, _ := f.DewT(b.ps)
				tc, _ := f.DewT(b.pl)
				sum.sh += b.sh
				sum.coilSH += b.coilSH
				sum.sc += b.sc
				sum.ts += te - 273.15
				sum.tl += tc - w2.out
				sum.td += b.td - tc
			}
			fmt.Printf("  plants %3.0f: SH %.1f coil %.1f SC %.1f te %.1f tc-out %.1f Td-tc %.1f (%g)\n", out, sum.sh/n, sum.coilSH/n, sum.sc/n, sum.ts/n, sum.tl/n, sum.td/n, n)
		}
	}
}
