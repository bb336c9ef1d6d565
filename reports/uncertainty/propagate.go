package uncertainty

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Func computes results from readings, in whatever units the caller chose.
// It must not keep or change x. It may return the same slice every time:
// the callers here copy what they need before they call it again.
type Func func(x []float64) ([]float64, error)

// Inputs are the readings of one computation.
type Inputs struct {
	X []float64 // readings
	U []float64 // standard uncertainties, same length and units, >= 0; 0 means exact

	// R holds correlation coefficients; nil means independent readings.
	// Readings of one instrument share its scale and offset error and are
	// therefore correlated: see Correlated and SharedError.
	R *mat.SymDense

	// DOF holds degrees of freedom; nil, 0 or +Inf means that u_i is known.
	DOF []float64
}

// Correlated returns an n by n correlation matrix, identity but for the given
// pairs.
func Correlated(n int, pairs ...Pair) *mat.SymDense {
	r := mat.NewSymDense(n, nil)
	for i := range n {
		r.SetSym(i, i, 1)
	}
	for _, p := range pairs {
		r.SetSym(p.I, p.J, p.R)
	}
	return r
}

// Pair gives the correlation coefficient R, -1 to 1, of readings I and J.
type Pair struct {
	I, J int
	R    float64
}

// Rectangular is the standard uncertainty of a value that lies somewhere
// within +-a, nothing else being known: a/sqrt(3) (JCGM 100, 4.3.7).
func Rectangular(a float64) float64 { return math.Abs(a) / math.Sqrt(3) }

// Combine is the root sum of squares of independent standard uncertainties.
func Combine(u ...float64) float64 {
	s := 0.0
	for _, v := range u {
		s += v * v
	}
	return math.Sqrt(s)
}

// Result is the outcome of Propagate for m results from n readings.
type Result struct {
	Y   []float64   // m results
	U   []float64   // m combined standard uncertainties
	DOF []float64   // m effective degrees of freedom; +Inf where the u_i are known, 0 where none can be stated
	Z   [][]float64 // m by n contributions c_i u_i; sign tells the direction

	in Inputs
}

// Propagate carries the uncertainties of the readings through f, to first
// order (JCGM 100, 5.1 and 5.2). A reading so near an end of f's range that
// f fails on one side is differenced on the other side alone; if f fails on
// both, or at the readings themselves, its error is returned.
//
// Where readings with finite degrees of freedom are correlated the
// Welch-Satterthwaite formula does not hold, and the results that depend on
// them get DOF 0.
func Propagate(f Func, in Inputs) (Result, error) {
	n := len(in.X)
	if err := in.check(); err != nil {
		return Result{}, err
	}
	y0, err := f(in.X)
	if err != nil {
		return Result{}, err
	}
	m := len(y0)
	block := make([]float64, m*(n+3))
	take := func(k int) []float64 { s := block[:k:k]; block = block[k:]; return s }
	res := Result{Y: take(m), U: take(m), DOF: take(m), Z: make([][]float64, m), in: in}
	for k := range m {
		if bad(y0[k]) {
			return Result{}, fmt.Errorf("uncertainty: result %d is %v", k, y0[k])
		}
		res.Y[k] = y0[k]
		res.Z[k] = take(n)
	}
	x := append(make([]float64, 0, n), in.X...)
	up := make([]float64, m)
	for i, u := range in.U {
		if u == 0 {
			continue
		}
		x[i] = in.X[i] + u
		hi, errHi := f(x)
		if errHi == nil {
			errHi = finite(hi, m)
		}
		copy(up, hi)
		x[i] = in.X[i] - u
		lo, errLo := f(x)
		if errLo == nil {
			errLo = finite(lo, m)
		}
		x[i] = in.X[i]
		if errHi != nil && errLo != nil {
			return Result{}, fmt.Errorf("uncertainty: reading %d moved by its uncertainty %g: %w", i, u, errors.Join(errHi, errLo))
		}
		for k := range m {
			switch {
			case errHi != nil:
				res.Z[k][i] = res.Y[k] - lo[k]
			case errLo != nil:
				res.Z[k][i] = up[k] - res.Y[k]
			default:
				res.Z[k][i] = (up[k] - lo[k]) / 2
			}
		}
	}
	for k := range m {
		res.U[k] = math.Sqrt(max(0, res.Cov(k, k)))
		res.DOF[k] = res.welchSatterthwaite(k)
	}
	return res, nil
}

// With is the result had the readings these correlations instead; nil means none.
func (r Result) With(R *mat.SymDense) Result {
	r.in.R = R
	r.U, r.DOF = make([]float64, len(r.Y)), make([]float64, len(r.Y))
	for k := range r.Y {
		r.U[k] = math.Sqrt(max(0, r.Cov(k, k)))
		r.DOF[k] = r.welchSatterthwaite(k)
	}
	return r
}

// Cov is the covariance of results k and l.
func (r Result) Cov(k, l int) float64 {
	s := 0.0
	zk, zl := r.Z[k], r.Z[l]
	if r.in.R == nil {
		for i, z := range zk {
			s += z * zl[i]
		}
		return s
	}
	for i, z := range zk {
		if z == 0 {
			continue
		}
		for j, w := range zl {
			if w != 0 {
				s += z * r.in.R.At(i, j) * w
			}
		}
	}
	return s
}

// Corr is the correlation coefficient of results k and l, 0 if either is
// exact.
func (r Result) Corr(k, l int) float64 {
	if r.U[k] == 0 || r.U[l] == 0 {
		return 0
	}
	return max(-1, min(1, r.Cov(k, l)/(r.U[k]*r.U[l])))
}

// Shares gives each reading's part of the variance of result k. They sum to 1;
// a correlated reading that cancels others has a negative share. All are 0 for
// an exact result.
func (r Result) Shares(k int) []float64 {
	s := make([]float64, len(r.in.X))
	v := r.U[k] * r.U[k]
	if v == 0 {
		return s
	}
	for i, z := range r.Z[k] {
		if z != 0 {
			s[i] = z * (z + r.others(k, i)) / v
		}
	}
	return s
}

// others is the sum over j != i of r_ij z_kj.
func (r Result) others(k, i int) float64 {
	if r.in.R == nil {
		return 0
	}
	s := 0.0
	for j, w := range r.Z[k] {
		if j != i {
			s += r.in.R.At(i, j) * w
		}
	}
	return s
}

// K is the coverage factor of result k: 2 when its degrees of freedom are
// infinite or cannot be stated, else Student's t for the same 95.45 %
// (JCGM 100, G.3.2 and G.6.4), the degrees of freedom rounded down.
func (r Result) K(k int) float64 {
	return Coverage(r.DOF[k], 0.9545)
}

// Expanded is U = k u_c of result k, with the factor given by K.
func (r Result) Expanded(k int) float64 { return r.K(k) * r.U[k] }

// Coverage is Student's t for a two-sided coverage probability p and nu degrees
// of freedom, rounded down to a whole number; 2 when nu is 0, infinite or large
// enough not to matter and p is 0.9545.
func Coverage(nu, p float64) float64 {
	nu = math.Floor(nu)
	if nu < 1 || nu > 1e4 {
		if p == 0.9545 {
			return 2
		}
		return distuv.UnitNormal.Quantile((1 + p) / 2)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile((1 + p) / 2)
}

// welchSatterthwaite is nu = u_c^4 / sum(z_i^4 / nu_i) (JCGM 100, G.4.1).
func (r Result) welchSatterthwaite(k int) float64 {
	if r.in.DOF == nil || r.U[k] == 0 {
		return math.Inf(1)
	}
	s := 0.0
	for i, z := range r.Z[k] {
		nu := r.in.DOF[i]
		if z == 0 || nu == 0 || math.IsInf(nu, 1) {
			continue
		}
		if r.others(k, i) != 0 {
			return 0
		}
		s += z * z * z * z / nu
	}
	if s == 0 {
		return math.Inf(1)
	}
	u2 := r.U[k] * r.U[k]
	return u2 * u2 / s
}

func (in Inputs) check() error {
	n := len(in.X)
	if len(in.U) != n || in.DOF != nil && len(in.DOF) != n || in.R != nil && in.R.SymmetricDim() != n {
		return fmt.Errorf("uncertainty: %d readings need as many uncertainties, degrees of freedom and rows of correlation", n)
	}
	for i, x := range in.X {
		if bad(x) {
			return fmt.Errorf("uncertainty: reading %d is %v", i, x)
		}
		if u := in.U[i]; !(u >= 0) || math.IsInf(u, 1) {
			return fmt.Errorf("uncertainty: standard uncertainty of reading %d is %v; allowed 0 and up", i, u)
		}
		if in.DOF != nil && !(in.DOF[i] >= 0) {
			return fmt.Errorf("uncertainty: degrees of freedom of reading %d are %v; allowed 0 (known) and up", i, in.DOF[i])
		}
	}
	if in.R == nil {
		return nil
	}
	for i := range n {
		for j := range i + 1 {
			r := in.R.At(i, j)
			if i == j && r != 1 || !(math.Abs(r) <= 1) {
				return fmt.Errorf("uncertainty: correlation of readings %d and %d is %v; allowed -1 to 1, and 1 on the diagonal", i, j, r)
			}
		}
	}
	if !semidefinite(in.R) {
		return errors.New("uncertainty: the correlations contradict each other: their matrix is not positive semidefinite")
	}
	return nil
}

// semidefinite tolerates a rounding-sized negative eigenvalue, which fully
// correlated readings always produce.
func semidefinite(r *mat.SymDense) bool {
	n := r.SymmetricDim()
	a := mat.NewSymDense(n, nil)
	a.CopySym(r)
	for i := range n {
		a.SetSym(i, i, 1+1e-9)
	}
	var c mat.Cholesky
	return c.Factorize(a)
}

func finite(y []float64, m int) error {
	if len(y) != m {
		return fmt.Errorf("uncertainty: %d results, but %d before", len(y), m)
	}
	for k, v := range y {
		if bad(v) {
			return fmt.Errorf("uncertainty: result %d is %v", k, v)
		}
	}
	return nil
}

func bad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }
