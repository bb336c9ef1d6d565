package fluid

import "math"

// degree of every piece of an expansion: low, so that a piece is a handful of
// multiplications; accuracy comes from splitting.
const degree = 9

// A piece is one function on one interval, interpolated at Chebyshev nodes and
// kept as powers of u from -1 to 1: its higher coefficients are so small that
// powers lose no digits, and they need half the time of Clenshaw's recurrence.
type piece [degree + 1]float64

// An expansion is a set of functions of one variable as Chebyshev pieces over
// shared, adaptively halved intervals.
type expansion struct {
	lo, hi float64
	edges  []float64 // of the intervals, rising
	mid    []float64 // centres
	inv    []float64 // inverse half widths
	bin    []int32   // first interval that reaches into each of equal bins
	perBin float64
	coef   [][]piece // [function][interval]
}

// cell returns the interval of x, clamped to the ends, and the place in it
// from -1 to 1.
func (e *expansion) cell(x float64) (int, float64) {
	x = min(max(x, e.lo), e.hi)
	i := int(e.bin[min(int((x-e.lo)*e.perBin), len(e.bin)-1)])
	for i < len(e.mid)-1 && x > e.edges[i+1] {
		i++
	}
	return i, (x - e.mid[i]) * e.inv[i]
}

// at evaluates function k at place u of interval i, in pairs (Estrin's scheme)
// so that the additions need not wait for each other.
func (e *expansion) at(k, i int, u float64) float64 {
	c := &e.coef[k][i]
	u2 := u * u
	u4 := u2 * u2
	a := c[0] + c[1]*u + (c[2]+c[3]*u)*u2
	b := c[4] + c[5]*u + (c[6]+c[7]*u)*u2
	return a + u4*(b+u4*(c[8]+c[9]*u))
}

// sampler fills out with the functions' values at x.
type sampler func(x float64, out []float64) error

// expand builds an expansion of n functions over [lo, hi]. ok tells whether a
// function's deviation at x is small enough; maxDepth bounds the halving, and
// where it is reached (noise at a critical point) the piece is kept as it is.
func expand(n int, lo, hi float64, maxDepth int, f sampler, ok func(k int, x, err, value float64) bool) (*expansion, error) {
	e := &expansion{lo: lo, hi: hi, coef: make([][]piece, n), edges: []float64{lo}}
	const m = degree + 1
	values := make([][]float64, m)
	for i := range values {
		values[i] = make([]float64, n)
	}
	probe := make([]float64, n)
	var split func(a, b float64, depth int) error
	split = func(a, b float64, depth int) error {
		mid, half := a+(b-a)/2, (b-a)/2
		for j := range values {
			if err := f(mid+half*nodes[j], values[j]); err != nil {
				return err
			}
		}
		p := make([]piece, n)
		for k := range n {
			for i := range m {
				var s float64
				for j := range m {
					s += values[j][k] * cosines[i][j]
				}
				p[k][i] = s * 2 / m
			}
			p[k][0] /= 2
			p[k] = p[k].powers()
		}
		try := &expansion{coef: make([][]piece, n)}
		for k := range n {
			try.coef[k] = p[k : k+1]
		}
		good := true
		// Off the nodes, and the ends, where neighbours must meet.
		for _, u := range []float64{-1, -0.95, -0.31, 0.31, 0.95, 1} {
			if !good || depth >= maxDepth {
				break
			}
			x := mid + half*u
			if err := f(x, probe); err != nil {
				return err
			}
			for k := range n {
				if !ok(k, x, math.Abs(try.at(k, 0, u)-probe[k]), probe[k]) {
					good = false
				}
			}
		}
		if !good {
			if err := split(a, mid, depth+1); err != nil {
				return err
			}
			return split(mid, b, depth+1)
		}
		e.edges = append(e.edges, b)
		e.mid, e.inv = append(e.mid, mid), append(e.inv, 1/half)
		for k := range n {
			e.coef[k] = append(e.coef[k], p[k])
		}
		return nil
	}
	if err := split(lo, hi, 0); err != nil {
		return nil, err
	}
	e.bin = make([]int32, 256)
	e.perBin = float64(len(e.bin)) / (hi - lo)
	for b := range e.bin {
		i, x := 0, lo+float64(b)/e.perBin
		for i < len(e.mid)-1 && e.edges[i+1] < x {
			i++
		}
		e.bin[b] = int32(max(0, i-1))
		if e.edges[i] < x {
			e.bin[b] = int32(i)
		}
	}
	return e, nil
}

// nodes are the roots of T_{degree+1}; cosines[i][j] = T_i(nodes[j]).
var nodes, cosines = func() (x [degree + 1]float64, c [degree + 1][degree + 1]float64) {
	const m = degree + 1
	for j := range m {
		th := math.Pi * (float64(j) + 0.5) / m
		x[j] = math.Cos(th)
		for i := range m {
			c[i][j] = math.Cos(float64(i) * th)
		}
	}
	return x, c
}()

// powers turns the coefficients of T_0 ... T_degree into those of 1 ... u^degree.
func (c piece) powers() (p piece) {
	last, this := piece{}, piece{1} // T_{n-1} and T_n as powers
	for n := range c {
		var next piece // T_{n+1} = 2u T_n - T_{n-1}
		for i := range c {
			p[i] += c[n] * this[i]
			if i > 0 {
				next[i] = 2 * this[i-1]
			}
			next[i] -= last[i]
		}
		if n == 0 {
			next[1] = 1
		}
		last, this = this, next
	}
	return p
}
