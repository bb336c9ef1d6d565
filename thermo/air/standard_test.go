package air

import (
	"math"
	"testing"
)

// Standard pressures of ASHRAE Handbook Fundamentals 2017, chapter 1, table 1,
// in psia at altitudes in feet, as printed in the tests of a reference
// psychrometric library (three decimals).
func TestStandardPressure(t *testing.T) {
	const psi, foot = 6894.757293168361, 0.3048
	for ft, want := range map[float64]float64{0: 14.696, 1000: 14.175, 3000: 13.173, 10000: 10.108} {
		p, err := StandardPressure(ft * foot)
		if err != nil || math.Abs(p/psi-want) > 0.0025 {
			t.Errorf("%g ft: %.4f psia, %v; want %.3f", ft, p/psi, err, want)
		}
	}
	for _, z := range []float64{-6000, 12000, math.NaN(), math.Inf(1)} {
		if p, err := StandardPressure(z); err == nil {
			t.Errorf("%g m gave %g", z, p)
		}
	}
}
