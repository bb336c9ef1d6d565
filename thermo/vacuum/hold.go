package vacuum

import (
	"fmt"
	"math"
)

// Change is what a pressure test gained (above 0) or lost, Pa, beyond what the
// temperature explains: p2 - p1 T2/T1, ideal gas at constant volume, absolute
// pressures and temperatures. Nitrogen deviates by less than 0.2 % of the change
// over 11 K at 35 bar (from memory).
func Change(p1, t1, p2, t2 float64) (float64, error) {
	if !(p1 > 0 && p2 >= 0 && t1 > 0 && t2 > 0) || math.IsInf(p1+p2+t1+t2, 0) {
		return 0, fmt.Errorf("vacuum: hold from %g Pa at %g K to %g Pa at %g K; pressures and temperatures must be absolute and above 0", p1, t1, p2, t2)
	}
	return p2 - p1*t2/t1, nil
}

// Inflow is the leak, Pa m3/s, that raises a volume, m3, by slope, Pa/s.
func Inflow(volume, slope float64) (float64, error) {
	if !(volume > 0) || math.IsInf(volume, 0) || math.IsNaN(slope) || math.IsInf(slope, 0) {
		return 0, fmt.Errorf("vacuum: volume %g m3 rising by %g Pa/s; volume must be above 0", volume, slope)
	}
	return volume * slope, nil
}
