package compressor

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Fit makes a curve, in degrees Celsius and SI units, from values at rated
// points (dew temperatures, K) by least squares. Degree is the highest power:
// 3 takes all ten coefficients and needs ten points or more, 2 takes six, 1
// three. It also returns the largest deviation of a point from the curve, in
// the values' unit. Points that do not spread enough to fix the coefficients
// are refused.
func Fit(at []Point, values []float64, degree int) (*Curve, float64, error) {
	terms := map[int]int{1: 3, 2: 6, 3: 10}[degree]
	if terms == 0 {
		return nil, 0, fmt.Errorf("compressor: a fit of degree %d; allowed 1 to 3", degree)
	}
	if len(at) != len(values) || len(at) < terms {
		return nil, 0, fmt.Errorf("compressor: %d points and %d values; a fit of degree %d needs %d or more of both", len(at), len(values), degree, terms)
	}
	a := mat.NewDense(len(at), terms, nil)
	scale := make([]float64, terms)
	for i, p := range at {
		s, d := Celsius.of(p.S), Celsius.of(p.D)
		row := [10]float64{1, s, d, s * s, s * d, d * d, s * s * s, d * s * s, s * d * d, d * d * d}
		for j, v := range row[:terms] {
			if math.IsNaN(v+values[i]) || math.IsInf(v+values[i], 0) {
				return nil, 0, fmt.Errorf("compressor: rated point %d is not a number", i)
			}
			a.Set(i, j, v)
			scale[j] = math.Hypot(scale[j], v)
		}
	}
	for j, w := range scale {
		for i := range at {
			a.Set(i, j, a.At(i, j)/w)
		}
	}
	var qr mat.QR
	qr.Factorize(a)
	if !(qr.Cond() < 1e10) {
		return nil, 0, fmt.Errorf("compressor: the %d rated points do not spread enough for a fit of degree %d", len(at), degree)
	}
	var x mat.VecDense
	if err := qr.SolveVecTo(&x, false, mat.NewVecDense(len(values), values)); err != nil {
		return nil, 0, fmt.Errorf("compressor: fit of degree %d: %w", degree, err)
	}
	c := &Curve{Unit: 1}
	for j, w := range scale {
		c.C[j] = x.AtVec(j) / w
	}
	worst := 0.0
	for i, p := range at {
		worst = max(worst, math.Abs(c.C.At(Celsius.of(p.S), Celsius.of(p.D))-values[i]))
	}
	return c, worst, nil
}
