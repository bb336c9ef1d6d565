// Package montecarlo propagates distributions by trials, which assumes nothing of
// the computation but that it runs. Only tests use it: it judges
// [uncertainty.Propagate] by another way.
package montecarlo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"

	"retrostage/reports/uncertainty"
)

// Shape is the distribution assigned to a reading.
type Shape int

// The shapes. A Uniform or Triangle one is as wide as gives it the
// standard uncertainty of the reading.
const (
	Normal Shape = iota
	Uniform
	Triangle
)

// Sample is the outcome of Run.
type Sample struct {
	Mean, SD []float64
	Lo, Hi   []float64 // ends of the probabilistically symmetric 95 % interval
}

// Run propagates distributions through f by n trials (JCGM 101:2008,
// clause 7), 1000 at the least. The shapes are one for each reading; nil means
// normal. Correlated readings must be normal. The same seed gives the same
// sample. An error of f in any trial ends it.
func Run(f uncertainty.Func, in uncertainty.Inputs, shapes []Shape, n int, seed uint64) (Sample, error) {
	if len(in.U) != len(in.X) {
		return Sample{}, fmt.Errorf("montecarlo: %d readings, but %d uncertainties", len(in.X), len(in.U))
	}
	if n < 1000 {
		return Sample{}, fmt.Errorf("montecarlo: %d Monte Carlo trials; allowed 1000 and up", n)
	}
	d := len(in.X)
	if shapes == nil {
		shapes = make([]Shape, d)
	}
	if len(shapes) != d {
		return Sample{}, fmt.Errorf("montecarlo: %d readings, but %d shapes", d, len(shapes))
	}
	var low *mat.TriDense
	if in.R != nil {
		for i := range d {
			for j := range i {
				if in.R.At(i, j) != 0 && (shapes[i] != Normal || shapes[j] != Normal) {
					return Sample{}, fmt.Errorf("montecarlo: readings %d and %d are correlated and must be normal", i, j)
				}
			}
		}
		a := mat.NewSymDense(d, nil)
		a.CopySym(in.R)
		for i := range d {
			a.SetSym(i, i, 1+1e-9)
		}
		var c mat.Cholesky
		c.Factorize(a)
		low = mat.NewTriDense(d, mat.Lower, nil)
		c.LTo(low)
	}
	rng := rand.New(rand.NewPCG(seed, 0))
	x, g := make([]float64, d), make([]float64, d)
	var ys [][]float64
	for range n {
		for i := range d {
			switch shapes[i] {
			case Uniform:
				g[i] = math.Sqrt(3) * (2*rng.Float64() - 1)
			case Triangle:
				g[i] = math.Sqrt(6) * (rng.Float64() - rng.Float64())
			default:
				g[i] = rng.NormFloat64()
			}
		}
		for i := range d {
			e := g[i]
			if low != nil {
				e = 0
				for j := range i + 1 {
					e += low.At(i, j) * g[j]
				}
			}
			x[i] = in.X[i] + in.U[i]*e
		}
		y, err := f(x)
		if err != nil {
			return Sample{}, err
		}
		if ys == nil {
			ys = make([][]float64, len(y))
		}
		if len(y) != len(ys) {
			return Sample{}, fmt.Errorf("montecarlo: %d results, but %d before", len(y), len(ys))
		}
		for k, v := range y {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return Sample{}, fmt.Errorf("montecarlo: result %d is %v", k, v)
			}
			ys[k] = append(ys[k], v)
		}
	}
	m := len(ys)
	s := Sample{make([]float64, m), make([]float64, m), make([]float64, m), make([]float64, m)}
	for k, v := range ys {
		sum, sq := 0.0, 0.0
		for _, e := range v {
			sum += e
		}
		mean := sum / float64(n)
		for _, e := range v {
			sq += (e - mean) * (e - mean)
		}
		slices.Sort(v)
		s.Mean[k], s.SD[k] = mean, math.Sqrt(sq/float64(n-1))
		s.Lo[k], s.Hi[k] = v[int(0.025*float64(n))], v[int(0.975*float64(n))]
	}
	return s, nil
}
