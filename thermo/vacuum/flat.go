package vacuum

// still is by how much a rise must have come up between its first and its last third
// to be one, Pa: half a micron.
const still = 0.5 * 101325.0 / 760000

// Flat tells that a rise, s since isolation and Pa, did not come up at all between the
// first and the last third of what is read after Settle. Walls give off something in
// any circuit; what does not rise is a pump that still draws, a gauge off or shut out,
// or a very tight circuit by a gauge that does not see it.
func Flat(t, p []float64) bool {
	rise, _, ok := come(t, p)
	return ok && rise <= still
}

// Drifts tells that a rise came up by no more than a gauge may drift by itself in that
// time, share of the reading: what a pump that still holds the circuit would look like
// too. Readings alone cannot part the two.
func Drifts(t, p []float64, share float64) bool {
	rise, mean, ok := come(t, p)
	return ok && rise <= max(still, share*mean)
}

// come is by how much the last third of what is read after Settle lies above the first,
// and the mean of the first, Pa.
func come(t, p []float64) (rise, mean float64, ok bool) {
	var first, last float64
	var nf, nl int
	if len(t) == 0 || len(t) != len(p) {
		return 0, 0, false
	}
	end := t[len(t)-1]
	for i := range t {
		switch at := (t[i] - Settle) / (end - Settle); {
		case t[i] < Settle:
		case at < 1.0/3:
			first += p[i]
			nf++
		case at > 2.0/3:
			last += p[i]
			nl++
		}
	}
	if nf == 0 || nl == 0 {
		return 0, 0, false
	}
	mean = first / float64(nf)
	return last/float64(nl) - mean, mean, true
}
