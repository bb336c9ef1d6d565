package chart

import (
	"math"
	"strconv"
	"strings"
)

// Steps returns the places of the tick marks between lo and hi (values, not
// mapped), about n of them, and the words for them.
func (a Axis) Steps(lo, hi float64, n int) (at []float64, text []string) {
	if n < 2 {
		n = 2
	}
	if !(hi > lo) {
		return nil, nil
	}
	if a.Log && lo > 0 && hi/lo > 4 {
		sets := [][]float64{{1}, {1, 3}, {1, 2, 5}, {1, 1.5, 2, 3, 4, 5, 6, 8}}
		decades := math.Log10(hi / lo)
		pick := sets[0]
		for _, s := range sets {
			if float64(len(s))*decades <= float64(n)*1.2 {
				pick = s
			}
		}
		for d := math.Floor(math.Log10(lo)); d <= math.Ceil(math.Log10(hi)); d++ {
			for _, m := range pick {
				if v := m * math.Pow(10, d); v >= lo*(1-1e-9) && v <= hi*(1+1e-9) {
					at, text = append(at, v), append(text, tickLabel(v, v/10))
				}
			}
		}
		return at, text
	}
	step := niceStep((hi - lo) / float64(n))
	return every(step, lo, hi)
}

// every are the multiples of step from lo to hi, and the words for them.
func every(step, lo, hi float64) (at []float64, text []string) {
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+1e-9*step; k++ {
		at, text = append(at, k*step), append(text, tickLabel(k*step, step))
	}
	return at, text
}

// niceStep is the smallest of 1, 2, 5 times a power of ten not below x.
func niceStep(x float64) float64 {
	if !(x > 0) || math.IsInf(x, 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= x*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// tickLabel writes a tick's value with the decimals its step needs, at most six,
// and thousands in a group.
func tickLabel(v, step float64) string {
	dec := 0
	if step > 0 && step < 1 {
		dec = min(int(math.Ceil(-math.Log10(step)-1e-9)), 6)
	}
	t := strconv.FormatFloat(v, 'f', dec, 64)
	if strings.Trim(t, "-0.") == "" {
		return "0" // no minus nought
	}
	if dec == 0 && math.Abs(v) >= 1000 {
		t = t[:len(t)-3] + "," + t[len(t)-3:]
	}
	return t
}
