package circuit

import (
	"fmt"

	"retrostage/thermo/fluid"
)

// Isentropic is (h(p2, s1) - h1) / (h2 - h1), the efficiency of an adiabatic
// compression from suction gas at p1, t1 to discharge gas at p2, t2 (Pa
// absolute, K). The second law keeps it at 1 or below for a shell that loses
// no heat. It fails where either state is not a single-phase gas or the
// discharge holds no more enthalpy than the suction.
func Isentropic(f *fluid.Fluid, p1, t1, p2, t2 float64) (float64, error) {
	s1, err := f.TP(t1, p1)
	if err != nil {
		return 0, fmt.Errorf("suction: %w", err)
	}
	s2, err := f.TP(t2, p2)
	if err != nil {
		return 0, fmt.Errorf("discharge: %w", err)
	}
	ideal, err := f.PS(p2, s1.S)
	if err != nil {
		return 0, fmt.Errorf("ideal discharge: %w", err)
	}
	if !(s2.H > s1.H) {
		return 0, fmt.Errorf("the discharge gas at %.2f K holds no more than the suction gas at %.2f K", t2, t1)
	}
	return (ideal.H - s1.H) / (s2.H - s1.H), nil
}
