package air

import (
	"fmt"
	"math"
)

// StandardPressure is the pressure of the standard atmosphere, Pa, at altitude
// z, m, for -5000 <= z <= 11000:
//
//	p = 101325 (1 - 2.25577e-5 z)^5.2559
//
// ASHRAE Handbook Fundamentals 2017, chapter 1, equation 3, as restated by a
// reference psychrometric library.
func StandardPressure(z float64) (float64, error) {
	if !(z >= -5000 && z <= 11000) {
		return 0, fmt.Errorf("altitude of %g m is outside -5000 to 11000 m", z)
	}
	return 101325 * math.Pow(1-2.25577e-5*z, 5.2559), nil
}
