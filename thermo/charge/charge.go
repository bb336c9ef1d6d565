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

// Build is what makes up the charge.
type Build struct {
	Plate            float64 // kg
	Length, Included float64 // m of liquid line, as it is and as the plate covers
	Bore             float64 // m
	Added            float64 // m3, free volume of a new drier or filter
}

// Total is the charge, kg, with liquid of density rho, kg/m3. A line so much
// shorter than the one included that nothing would be left is refused.
func (b Build) Total(rho float64) (float64, error) {
	if !(b.Plate > 0 && b.Length >= 0 && b.Included >= 0 && b.Bore > 0 && b.Added >= 0 && rho > 0) {
		return 0, fmt.Errorf("charge: plate %g kg, line %g m of which %g m included, bore %g m, added %g m3, density %g kg/m3; allowed above 0, lengths and volume from 0", b.Plate, b.Length, b.Included, b.Bore, b.Added, rho)
	}
	m := b.Plate + ((b.Length-b.Included)*math.Pi/4*b.Bore*b.Bore+b.Added)*rho
	if !(m > 0) || math.IsInf(m, 0) {
		return 0, fmt.Errorf("charge: plate charge %g kg less the line that is missing leaves %g kg; allowed above 0", b.Plate, m)
	}
	return m, nil
}
