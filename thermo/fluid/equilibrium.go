package fluid

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// side tells the two saturation lines apart.
type side int

const (
	bubble side = iota // the liquid has the overall composition
	dew                // the vapour has it
)

func (s side) String() string { return [...]string{"bubble", "dew"}[s] }

// unknowns of a phase equilibrium with n components, in this order:
// ln rho of the phase with the overall composition, ln c_1 ... ln c_n of the
// incipient phase, ln T. In logarithms Newton's steps keep everything positive.
type unknowns [maxComp + 2]float64

// spec closes the n+1 equations of equilibrium with one more.
type spec int

const (
	atT spec = iota // ln T
	atP             // ln p
	atS             // s = ln(rho/rho_incipient): regular up to and through the critical point
)

var errNoConvergence = errors.New("phase equilibrium did not converge")

// equilibrium solves equal fugacity of every component and equal pressure by
// Newton's method with the analytic Jacobian, starting at y; value is that of
// the spec. It returns the pressure, taken from the thinner phase because the
// liquid's is a small difference of large numbers.
func (m *model) equilibrium(z *vec, y *unknowns, kind spec, value float64) (p float64, err error) {
	n := len(m.comp)
	last := math.Inf(1)
	for iter := 0; iter < 60; iter++ {
		t := math.Exp(y[n+1])
		var c1, c2 vec
		rho := math.Exp(y[0])
		for i := 0; i < n; i++ {
			c1[i] = z[i] * rho
			c2[i] = math.Exp(y[1+i])
		}
		a, b := m.energy(t, &c1), m.energy(t, &c2)
		thin := &a
		if b.rho < a.rho {
			thin = &b
		}
		p = thin.pi * m.r * t
		var j [maxComp + 2][maxComp + 3]float64
		for i := 0; i < n; i++ {
			r := &j[i]
			r[0] = 1
			for k := 0; k < n; k++ {
				r[0] += a.h[i][k] * c1[k]
				r[1+k] = -b.h[i][k] * c2[k]
			}
			r[1+i]--
			r[n+1] = a.gt[i] - b.gt[i]
			r[n+2] = math.Log(c1[i]) + a.g[i] - y[1+i] - b.g[i]
		}
		r := &j[n]
		for k := 0; k < n; k++ {
			r[0] += a.pic[k] * c1[k]
			r[1+k] = -b.pic[k] * c2[k]
		}
		r[n+1] = a.piT - b.piT
		r[n+2] = a.pi - b.pi
		r = &j[n+1]
		switch kind {
		case atT:
			r[n+1], r[n+2] = 1, y[n+1]-math.Log(value)
		case atP:
			if !(thin.pi > 0) {
				return 0, errNoConvergence
			}
			for k := 0; k < n; k++ {
				if thin == &a {
					r[0] += a.pic[k] * c1[k] / a.pi
				} else {
					r[1+k] = b.pic[k] * c2[k] / b.pi
				}
			}
			r[n+1], r[n+2] = 1+thin.piT/thin.pi, math.Log(p/value)
		case atS:
			r[0] = 1
			for k := 0; k < n; k++ {
				r[1+k] = -c2[k] / b.rho
			}
			r[n+2] = math.Log(a.rho/b.rho) - value
		}
		if !gauss(&j, n+2) {
			return 0, errNoConvergence
		}
		var step float64
		for i := 0; i < n+2; i++ {
			step = max(step, math.Abs(j[i][n+2]))
		}
		if !(step < 1e3) { // NaN too
			return 0, errNoConvergence
		}
		damp := min(1, 0.5/step)
		for i := 0; i < n+2; i++ {
			y[i] -= damp * j[i][n+2]
		}
		// Newton has converged, or rounding stops it from getting nearer.
		if step < 1e-12 || (step < 1e-6 && step > last/4) {
			if kind != atS && math.Abs(math.Log(a.rho/b.rho)) < 1e-4 {
				return 0, errNoConvergence // the trivial solution
			}
			return p, nil
		}
		last = step
	}
	return 0, errNoConvergence
}

// gauss solves the n equations j x = column n in place, with row scaling and
// partial pivoting, leaving x in column n.
func gauss(j *[maxComp + 2][maxComp + 3]float64, n int) bool {
	for i := 0; i < n; i++ {
		var big float64
		for k := 0; k < n; k++ {
			big = max(big, math.Abs(j[i][k]))
		}
		if !(big > 0) || math.IsInf(big, 0) {
			return false
		}
		for k := 0; k <= n; k++ {
			j[i][k] /= big
		}
	}
	for c := 0; c < n; c++ {
		p := c
		for i := c + 1; i < n; i++ {
			if math.Abs(j[i][c]) > math.Abs(j[p][c]) {
				p = i
			}
		}
		j[c], j[p] = j[p], j[c]
		if j[c][c] == 0 {
			return false
		}
		for i := 0; i < n; i++ {
			if i == c {
				continue
			}
			f := j[i][c] / j[c][c]
			for k := c; k <= n; k++ {
				j[i][k] -= f * j[c][k]
			}
		}
	}
	for i := 0; i < n; i++ {
		j[i][n] /= j[i][i]
	}
	return true
}

// A knot is one solved point of a saturation line.
type knot struct {
	s, lnT, lnP float64
	y           unknowns
}

// A trace is a saturation line as a row of knots, evenly spaced in s, from
// below the lowest temperature up to the critical point, where s = 0, and past
// it: there the phase with the overall composition has become the other one.
// So every interpolation near the critical point has knots on both sides. A
// trace starts every direct solution.
type trace struct {
	knots []knot
	crit  int // index of the critical point
	topT  int // knot of the highest temperature up to there, and of the
	topP  int // highest pressure: a blend's line may turn back before its end
}

const (
	// Between knots: short enough that interpolation across the critical point
	// errs by less than rounding does in the knots nearest to it.
	traceStep = 1.0 / 40
	traceNear = 12 // knots in an interpolation
)

// start guesses an equilibrium at temperature t from the components' own
// published curves and Raoult's law.
func (f *Fluid) start(t float64, line side) unknowns {
	m := f.model
	n := len(m.comp)
	var y unknowns
	var p, vl float64
	for i := range m.comp {
		pi := m.comp[i].p.at(t)
		if line == bubble {
			p += f.z[i] * pi
		} else {
			p += f.z[i] / pi
		}
	}
	if line == dew {
		p = 1 / p
	}
	for i := range m.comp {
		x, pi := f.z[i], m.comp[i].p.at(t)
		if line == bubble {
			y[1+i] = math.Log(x * pi / (m.r * t))
		} else {
			x *= p / pi
		}
		vl += x / m.comp[i].rhoL.at(t)
	}
	if line == bubble {
		y[0] = -math.Log(vl)
	} else {
		y[0] = math.Log(p / (m.r * t))
		for i := range m.comp {
			y[1+i] = math.Log(f.z[i] * p / m.comp[i].p.at(t) / vl)
		}
	}
	y[n+1] = math.Log(t)
	return y
}

// trace follows a line from a middling temperature down past the lowest
// temperature, then up to the critical point and past it, in steps of s.
func (f *Fluid) trace(line side) (trace, error) {
	m, n := f.model, len(f.model.comp)
	t0 := 0.75 * f.tr
	y := f.start(t0, line)
	if _, err := m.equilibrium(&f.z, &y, atT, t0); err != nil {
		return trace{}, fmt.Errorf("%s line at %.6g K: %w", line, t0, err)
	}
	s0 := f.s(&y)
	step := math.Copysign(traceStep, s0)
	k0 := int(math.Round(s0 / step))
	walk := func(ks []knot, k, dk int, more func(last knot, k int) bool) ([]knot, error) {
		for ; len(ks) == 0 || more(ks[len(ks)-1], k); k += dk {
			if k == 0 {
				continue // both phases alike: any density is a solution there
			}
			s, g := float64(k)*step, y
			if len(ks) > 0 {
				g = lagrange(ks[max(0, len(ks)-5):], s).y
			}
			p, err := m.equilibrium(&f.z, &g, atS, s)
			if err != nil {
				return ks, fmt.Errorf("%s line at s = %.4g: %w", line, s, err)
			}
			ks = append(ks, knot{s, g[n+1], math.Log(p), g})
		}
		return ks, nil
	}
	down, err := walk(nil, k0, 1, func(last knot, _ int) bool { return last.lnT > math.Log(0.96*f.tmin) })
	if err != nil && (len(down) == 0 || down[len(down)-1].lnT > math.Log(f.tmin)) {
		return trace{}, err
	}
	slices.Reverse(down)
	ks, err := walk(down, k0-1, -1, func(_ knot, k int) bool { return k >= -traceNear/2 })
	if err != nil {
		return trace{}, err
	}
	crit := len(ks) - traceNear/2
	end := lagrange(ks[len(ks)-traceNear:], 0)
	t := trace{knots: slices.Insert(ks, crit, end), crit: crit}
	for i := range t.knots[:crit+1] {
		if t.knots[i].lnT > t.knots[t.topT].lnT {
			t.topT = i
		}
		if t.knots[i].lnP > t.knots[t.topP].lnP {
			t.topP = i
		}
	}
	return t, nil
}

// end is the critical point.
func (t *trace) end() *knot { return &t.knots[t.crit] }

// s returns ln(rho/rho_incipient).
func (f *Fluid) s(y *unknowns) float64 {
	var c float64
	for i := range f.model.comp {
		c += math.Exp(y[1+i])
	}
	return y[0] - math.Log(c)
}

// lagrange interpolates all knots given at s.
func lagrange(ks []knot, s float64) knot {
	o := knot{s: s}
	for i := range ks {
		w := 1.0
		for j := range ks {
			if j != i {
				w *= (s - ks[j].s) / (ks[i].s - ks[j].s)
			}
		}
		o.lnT += w * ks[i].lnT
		o.lnP += w * ks[i].lnP
		for k := range o.y {
			o.y[k] += w * ks[i].y[k]
		}
	}
	return o
}

// around returns the knots for an interpolation between knots i and i+1.
func (t *trace) around(i int) []knot {
	lo := min(max(0, i+1-traceNear/2), len(t.knots)-traceNear)
	return t.knots[lo : lo+traceNear]
}

// atT and atP return the interpolated knot where ln T or ln p has the given
// value, clamped to the line's ends, on the stretch where it rises.
func (t *trace) atT(lnT float64) knot {
	return t.find(func(k *knot) float64 { return k.lnT }, t.topT, lnT)
}
func (t *trace) atP(lnP float64) knot {
	return t.find(func(k *knot) float64 { return k.lnP }, t.topP, lnP)
}

// find looks below knot hi, up to which key rises.
func (t *trace) find(key func(*knot) float64, hi int, value float64) knot {
	ks := t.knots
	lo := 0
	if key(&ks[lo]) >= value {
		return ks[lo]
	}
	if key(&ks[hi]) <= value {
		return ks[hi]
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; key(&ks[mid]) <= value {
			lo = mid
		} else {
			hi = mid
		}
	}
	near := t.around(lo)
	a, b := ks[lo].s, ks[hi].s
	fa, fb := key(&ks[lo])-value, key(&ks[hi])-value
	for range 60 { // Illinois false position
		s := (a*fb - b*fa) / (fb - fa)
		k := lagrange(near, s)
		fs := key(&k) - value
		if math.Abs(fs) < 1e-13 || math.Abs(b-a) < 1e-14 {
			return k
		}
		if fs*fb < 0 {
			a, fa = b, fb
		} else {
			fa /= 2
		}
		b, fb = s, fs
	}
	return lagrange(near, b)
}

// peak returns the highest temperature (K) on the line: the critical one, or
// the point just short of it where a blend's line turns back.
func (t *trace) peak() float64 {
	hi := t.topT
	near := t.around(hi)
	a, b := t.knots[hi-1].s, t.knots[min(hi+1, t.crit)].s
	for range 100 { // ternary search
		c, d := a+(b-a)/3, b-(b-a)/3
		if lagrange(near, c).lnT < lagrange(near, d).lnT {
			a = c
		} else {
			b = d
		}
	}
	return math.Exp(lagrange(near, a).lnT)
}
