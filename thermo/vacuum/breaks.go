package vacuum

import "fmt"

// Thinned is the share, in moles, that the gas first in a circuit still has of what
// fills it after pulls and breaks with dry nitrogen: low, Pa, is what each pull reached
// before its break, broken, Pa absolute, what the nitrogen then brought it to. Gas and
// nitrogen are taken as ideal and evenly mixed. It is of gas alone: what is liquid,
// frozen, or bound in oil and drier comes out in its own time. As many of each, 1 to
// 20; low from above 0 and below 50 kPa, each break above its low and to 5 MPa.
func Thinned(low, broken []float64) (float64, error) {
	if len(low) != len(broken) || len(low) < 1 || len(low) > 20 {
		return 0, fmt.Errorf("vacuum: %d pulls and %d breaks; allowed as many of each, 1 to 20", len(low), len(broken))
	}
	share := 1.0
	for i := range low {
		if !(low[i] > 0 && low[i] < 5e4 && broken[i] > low[i] && broken[i] <= 5e6) {
			return 0, fmt.Errorf("vacuum: break %d from %g to %g Pa; allowed from above 0 and below 50 kPa, to more than that and at most 5 MPa", i+1, low[i], broken[i])
		}
		share *= low[i] / broken[i]
	}
	return share, nil
}
