package diagnose_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"retrostage/thermo/fluid"
)

// The plant's own balances: heat taken up and given off on both sides of each coil,
// and the signs that any machine shows.
func TestPlant(t *testing.T) {
	n, solved := 40, 0
	worst := 0.0
	for seed := range uint64(n) {
		rng := rand.New(rand.NewPCG(seed, 4))
		f, err := fluid.Get([]string{"R-22", "R-410A", "R-32", "R-454B", "R-407C"}[rng.IntN(5)])
		if err != nil {
			t.Fatal(err)
		}
		q, err := drawPlant(f, rng.IntN(2) == 0, rng)
		if err != nil {
			t.Logf("seed %d: %v", seed, err)
			continue
		}
		w := rated()
		o, err := q.solve(&w, bySubcooling, 5.5, 0, nil)
		if err != nil {
			t.Logf("seed %d charging fixed %v: %v", seed, q.fixed, err)
			continue
		}
		q.charge = o.charge
		w.out = 300
		b, err := q.solve(&w, byCharge, q.charge, 0, &o)
		if err != nil {
			t.Logf("seed %d: %v", seed, err)
			continue
		}
		solved++
		for _, x := range []float64{(b.airCooling - b.cooling) / b.cooling, (b.airRejected - b.rejected) / b.rejected, (b.cooling + b.lineGain + b.power*(1-q.shell) - b.rejected) / b.rejected} {
			worst = max(worst, math.Abs(x))
		}
		if !(b.pd < o.pd && b.power < o.power && b.cooling > 0.8*o.cooling) {
			t.Errorf("seed %d: cooler outdoors: %+v, %+v", seed, o, b)
		}
		if seed < 12 {
			t.Logf("%s fixed %v: %.0f W %.0f W sh %.1f sc %.1f td %.1f te %.1f charge %.2f supply %.1f out %.1f", f.Name(), q.fixed, o.cooling, o.power, o.sh, o.sc, o.td-273.15, o.ts-o.sh-273.15, o.charge, o.supply-273.15, o.condOut-308.15)
		}
	}
	t.Logf("%d of %d solved, energy open by %.1e", solved, n, worst)
	if solved < n*85/100 || worst > 5e-3 {
		t.Errorf("%d of %d solved, energy open by %.1e", solved, n, worst)
	}
}
