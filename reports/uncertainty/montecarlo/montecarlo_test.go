package montecarlo

import (
	"math"
	"testing"

	"retrostage/reports/uncertainty"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.7g, want %.7g +- %.2g", what, got, want, tol)
	}
}

// impedance is that of JCGM 100:2008, H.2: R, X, Z of a voltage, a current and
// their angle.
func impedance(x []float64) ([]float64, error) {
	v, i, phi := x[0], x[1], x[2]
	return []float64{v / i * math.Cos(phi), v / i * math.Sin(phi), v / i}, nil
}

func TestAgreesOnH2(t *testing.T) {
	in := uncertainty.Inputs{
		X: []float64{4.999, 19.661e-3, 1.04446},
		U: []float64{3.2e-3, 9.5e-6, 7.5e-4},
		R: uncertainty.Correlated(3, uncertainty.Pair{I: 0, J: 1, R: -0.36}, uncertainty.Pair{I: 0, J: 2, R: 0.86}, uncertainty.Pair{I: 1, J: 2, R: -0.65}),
	}
	r, err := uncertainty.Propagate(impedance, in)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Run(impedance, in, nil, 100000, 1)
	if err != nil {
		t.Fatal(err)
	}
	for k := range r.Y {
		near(t, "mean", s.Mean[k], r.Y[k], 5*r.U[k]/math.Sqrt(1e5))
		near(t, "sd", s.SD[k], r.U[k], 0.012*r.U[k]) // 5 standard errors of an sd from 1e5 trials
		near(t, "upper end", s.Hi[k], r.Y[k]+1.96*r.U[k], 0.03*r.U[k])
	}
}

// Four rectangular inputs of unit standard uncertainty, added: JCGM 101:2008,
// 9.2.3 gives the shortest 95 % interval as +-3.88 where the normal
// approximation has +-3.92 (from memory).
func TestAdditiveRectangular(t *testing.T) {
	sum := func(x []float64) ([]float64, error) { return []float64{x[0] + x[1] + x[2] + x[3]}, nil }
	in := uncertainty.Inputs{X: make([]float64, 4), U: []float64{1, 1, 1, 1}}
	s, err := Run(sum, in, []Shape{Uniform, Uniform, Uniform, Uniform}, 300000, 7)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lo", s.Lo[0], -3.88, 0.02)
	near(t, "hi", s.Hi[0], 3.88, 0.02)
	tri, err := Run(sum, in, []Shape{Triangle, Triangle, Triangle, Triangle}, 100000, 7)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sd of triangles", tri.SD[0], 2, 0.025)
}
