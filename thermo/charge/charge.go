package charge

import (
	"fmt"
	"math"

	"retrostage/thermo/fluid"
)

// The condition at which liquid in the line is counted: 105 F condensing, 10 F
// subcooled (common practice, no source).
const (
	Condensing = (105 + 459.67) / 1.8 // K, bubble line
	Subcooled  = 10 / 1.8             // K
)

// LiquidDensity is the density of liquid, kg/m3, at the condition above.
func LiquidDensity(f *fluid.Fluid) (float64, error) {
	p, err := f.BubbleP(Condensing)
	if err != nil {
		return 0, fmt.Errorf("charge: %w", err)
	}
	s, err := f.TP(Condensing-Subcooled, p)
	if err != nil {
		return 0, fmt.Errorf("charge: %w", err)
	}
	return s.Rho, nil
}

// Bore is the inside diameter, m, of a tube with outside diameter od and wall,
// m. A wall that leaves no bore is refused.
func Bore(od, wall float64) (float64, error) {
	if b := od - 2*wall; b > 0 && wall >= 0 && !math.IsInf(b, 0) {
		return b, nil
	}
	return 0, fmt.Errorf("charge: outside diameter %g m and wall %g m leave no bore", od, wall)
}
