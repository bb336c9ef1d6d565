package vacuum

import (
	"fmt"
	"math"
)

// Inflow is the leak, Pa m3/s, that raises a volume, m3, by slope, Pa/s.
func Inflow(volume, slope float64) (float64, error) {
	if !(volume > 0) || math.IsInf(volume, 0) || math.IsNaN(slope) || math.IsInf(slope, 0) {
		return 0, fmt.Errorf("vacuum: volume %g m3 rising by %g Pa/s; volume must be above 0", volume, slope)
	}
	return volume * slope, nil
}
