package plant

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
		q, err := Draw(f, rng.IntN(2) == 0, rng)
		if err != nil {
			t.Logf("seed %d: %v", seed, err)
			continue
		}
		w := Rated()
		o, err := q.Solve(&w, BySubcooling, 5.5, 0, nil)
		if err != nil {
			t.Logf("seed %d charging fixed %v: %v", seed, q.fixed, err)
			continue
		}
		q.Charge = o.Charge
		w.Out = 300
		b, err := q.Solve(&w, ByCharge, q.Charge, 0, &o)
		if err != nil {
			t.Logf("seed %d: %v", seed, err)
			continue
		}
		solved++
		for _, x := range []float64{(b.AirCooling - b.Cooling) / b.Cooling, (b.AirRejected - b.Rejected) / b.Rejected, (b.Cooling + b.LineGain + b.Power*(1-q.shell) - b.Rejected) / b.Rejected} {
			worst = max(worst, math.Abs(x))
		}
		if !(b.DischargeP < o.DischargeP && b.Power < o.Power && b.Cooling > 0.8*o.Cooling) {
			t.Errorf("seed %d: cooler outdoors: %+v, %+v", seed, o, b)
		}
		if seed < 12 {
			t.Logf("%s fixed %v: %.0f W %.0f W sh %.1f sc %.1f td %.1f te %.1f charge %.2f supply %.1f out %.1f", f.Name(), q.fixed, o.Cooling, o.Power, o.Superheat, o.Subcooling, o.DischargeT-273.15, o.SuctionT-o.Superheat-273.15, o.Charge, o.Supply-273.15, o.CondOut-308.15)
		}
	}
	t.Logf("%d of %d solved, energy open by %.1e", solved, n, worst)
	if solved < n*85/100 || worst > 5e-3 {
		t.Errorf("%d of %d solved, energy open by %.1e", solved, n, worst)
	}
}
