package vacuum

import "math"

// Scatter is how far single readings of a rise lie off a line through their neighbours,
// standard, as a share of the reading, with what abs, Pa, explains taken off: what the
// gauge's repeatability is at least. A rise's own bend adds to it, so it errs upward. t
// and p as [Judge] takes them, the first Settle seconds left out; 0 where fewer than
// three are left.
func Scatter(t, p []float64, abs float64) float64 {
	sum, n := 0.0, 0
	for i := 1; i+1 < len(t) && i+1 < len(p); i++ {
		if t[i-1] < Settle || !(t[i+1] > t[i-1]) || !(p[i] > 0) {
			continue
		}
		w := (t[i] - t[i-1]) / (t[i+1] - t[i-1])
		off := p[i] - p[i-1]*(1-w) - p[i+1]*w
		of := 1 + w*w + (1-w)*(1-w) // variance of off where each reading's is 1
		sum += max(0, off*off/of-abs*abs) / (p[i] * p[i])
		n++
	}
	if n == 0 {
		return 0
	}
	return math.Sqrt(sum / float64(n))
}
