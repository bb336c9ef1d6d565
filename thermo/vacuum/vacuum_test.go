package vacuum

import (
	"math"
	"testing"
)

const micron = 101325.0 / 760000

func fahr(f float64) float64 { return (f + 459.67) / 1.8 }

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
