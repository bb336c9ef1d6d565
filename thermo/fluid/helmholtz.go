package fluid

import "math"

// Sizes of the compiled residual part. load refuses data that do not fit.
const (
	maxL     = 4  // exponent l in exp(-delta^l)
	maxD     = 11 // exponent d in delta^d
	maxGauss = 8  // Gaussian terms
	maxComp  = 3  // components of a blend
)

// A term is one summand of a published residual part:
// n tau^t delta^d times exp(-delta^l), exp(-tau^m) and a Gaussian, each where present.
type term struct {
	N       float64 `json:"n"`
	T       float64 `json:"t"`
	D       int     `json:"d"`
	L       int     `json:"l"`
	M       float64 `json:"m"`
	Eta     float64 `json:"eta"`
	Epsilon float64 `json:"epsilon"`
	Beta    float64 `json:"beta"`
	Gamma   float64 `json:"gamma"`
}

// A tauFactor is tau^t exp(-tau^m); terms that share it share its exponential.
type tauFactor struct{ t, m float64 }

// residual is a residual part compiled for speed: at one temperature it
// collapses into a few polynomials in delta, one for each exp(-delta^l).
type residual struct {
	factors []tauFactor
	terms   []polyTerm // sorted by factor
	gauss   []term
	dmax    [maxL + 1]int // highest delta exponent with this l; 0: none
}

type polyTerm struct {
	n       float64
	f, l, d int
}

// compile merges term lists; the i-th list is weighted by w[i].
func compile(w []float64, lists ...[]term) residual {
	var r residual
	index := map[tauFactor]int{}
	for i, list := range lists {
		for _, t := range list {
			t.N *= w[i]
			if t.Eta != 0 {
				r.gauss = append(r.gauss, t)
				continue
			}
			k := tauFactor{t.T, t.M}
			f, ok := index[k]
			if !ok {
				f = len(r.factors)
				index[k] = f
				r.factors = append(r.factors, k)
			}
			r.terms = append(r.terms, polyTerm{t.N, f, t.L, t.D})
			r.dmax[t.L] = max(r.dmax[t.L], t.D)
		}
	}
	return r
}

// An isotherm is a residual part at one tau: c[k][l][d] is the coefficient of
// delta^d exp(-delta^l) in D^k alphar, g[k][i] that of the i-th Gaussian.
type isotherm struct {
	c [3][maxL + 1][maxD + 1]float64
	g [3][maxGauss]float64
}

// at fills the isotherm for tau. It allocates nothing.
func (r *residual) at(tau float64, is *isotherm) {
	*is = isotherm{}
	lt := math.Log(tau)
	var fac [64][3]float64
	for i, f := range r.factors {
		x, a, da := f.t*lt, f.t, 0.0
		if f.m != 0 {
			tm := math.Exp(f.m * lt)
			x -= tm
			a -= f.m * tm
			da = -f.m * f.m * tm
		}
		e := math.Exp(x)
		fac[i] = [3]float64{e, a * e, (a*a + da) * e}
	}
	for i := range r.terms {
		t := &r.terms[i]
		f := &fac[t.f]
		is.c[0][t.l][t.d] += t.n * f[0]
		is.c[1][t.l][t.d] += t.n * f[1]
		is.c[2][t.l][t.d] += t.n * f[2]
	}
	for i := range r.gauss {
		g := &r.gauss[i]
		y := tau - g.Gamma
		e := g.N * math.Exp(g.T*lt-g.Beta*y*y)
		a := g.T - 2*g.Beta*tau*y
		is.g[0][i] = e
		is.g[1][i] = a * e
		is.g[2][i] = (a*a - 2*g.Beta*tau*(tau+y)) * e
	}
}

// slope returns E ar and EE ar, all that a density iteration needs.
func (r *residual) slope(is *isotherm, delta float64) (d, dd float64) {
	for l := range r.dmax {
		top := r.dmax[l]
		if top == 0 {
			continue
		}
		c := &is.c[0][l]
		var s0, s1, s2 float64
		p := 1.0
		for k := 1; k <= top; k++ {
			p *= delta
			x, fk := c[k]*p, float64(k)
			s0 += x
			s1 += fk * x
			s2 += fk * fk * x
		}
		if l == 0 {
			d += s1
			dd += s2
			continue
		}
		fl := float64(l)
		dl := powi(delta, l)
		q := fl * dl
		e := math.Exp(-dl)
		d += (s1 - q*s0) * e
		dd += (s2 - 2*q*s1 + q*(q-fl)*s0) * e
	}
	for i := range r.gauss {
		b, db, e := r.gauss[i].delta(delta)
		e *= is.g[0][i]
		d += b * e
		dd += (b*b + db) * e
	}
	return d, dd
}

// delta returns b = E ln f, E b and f for f = delta^d exp(-eta (delta-epsilon)^2).
func (g *term) delta(delta float64) (b, db, f float64) {
	y := delta - g.Epsilon
	f = powi(delta, g.D) * math.Exp(-g.Eta*y*y)
	return float64(g.D) - 2*g.Eta*delta*y, -2 * g.Eta * delta * (delta + y), f
}

// deriv holds a function of (tau, delta) and its Euler derivatives.
type deriv struct{ a, d, dd, t, tt, dt float64 }

// full returns alphar and its Euler derivatives up to second order.
func (r *residual) full(is *isotherm, delta float64) deriv {
	var o deriv
	for l := range r.dmax {
		top := r.dmax[l]
		if top == 0 {
			continue
		}
		c0, c1, c2 := &is.c[0][l], &is.c[1][l], &is.c[2][l]
		var s0, s1, s2, t0, t1, u0 float64
		p := 1.0
		for k := 1; k <= top; k++ {
			p *= delta
			fk := float64(k)
			x, y := c0[k]*p, c1[k]*p
			s0 += x
			s1 += fk * x
			s2 += fk * fk * x
			t0 += y
			t1 += fk * y
			u0 += c2[k] * p
		}
		e, q, fl := 1.0, 0.0, float64(l)
		if l > 0 {
			dl := powi(delta, l)
			q = fl * dl
			e = math.Exp(-dl)
		}
		o.a += s0 * e
		o.d += (s1 - q*s0) * e
		o.dd += (s2 - 2*q*s1 + q*(q-fl)*s0) * e
		o.t += t0 * e
		o.dt += (t1 - q*t0) * e
		o.tt += u0 * e
	}
	for i := range r.gauss {
		b, db, f := r.gauss[i].delta(delta)
		e, et := is.g[0][i]*f, is.g[1][i]*f
		o.a += e
		o.d += b * e
		o.dd += (b*b + db) * e
		o.t += et
		o.dt += b * et
		o.tt += is.g[2][i] * f
	}
	return o
}

func powi(x float64, n int) float64 {
	switch n {
	case 1:
		return x
	case 2:
		return x * x
	case 3:
		return x * x * x
	case 4:
		x *= x
		return x * x
	}
	return math.Pow(x, float64(n))
}

// ideal is alpha0 of one component at its own reducing point.
type ideal struct {
	A1       float64 `json:"a1"`
	A2       float64 `json:"a2"`
	Log      float64 `json:"log"`
	Power    []nt    `json:"power"`
	Einstein []nt    `json:"einstein"`
}

type nt struct {
	N float64 `json:"n"`
	T float64 `json:"t"`
}

// at returns alpha0 less ln(delta), D alpha0 and DD alpha0.
func (o *ideal) at(tau float64) (a, t, tt float64) {
	lt := math.Log(tau)
	a = o.A1 + o.A2*tau + o.Log*lt
	t = o.A2*tau + o.Log
	tt = o.A2 * tau
	for _, p := range o.Power {
		x := p.N * math.Exp(p.T*lt)
		a += x
		t += p.T * x
		tt += p.T * p.T * x
	}
	for _, p := range o.Einstein {
		y := p.T * tau
		e := math.Exp(-y)
		f := 1 / (1 - e)
		a += p.N * math.Log1p(-e)
		x := p.N * y * e * f
		t += x
		tt += x * (1 - y*f)
	}
	return a, t, tt
}

// slope returns D alpha0 alone: what enthalpy needs.
func (o *ideal) slope(tau float64) float64 {
	t := o.A2*tau + o.Log
	if len(o.Power) > 0 {
		lt := math.Log(tau)
		for _, p := range o.Power {
			t += p.N * p.T * math.Exp(p.T*lt)
		}
	}
	for _, p := range o.Einstein {
		y := p.T * tau
		t += p.N * y / (math.Exp(y) - 1)
	}
	return t
}

// heat returns E ar and D ar: the residual part of enthalpy.
func (r *residual) heat(is *isotherm, delta float64) (d, t float64) {
	for l := range r.dmax {
		top := r.dmax[l]
		if top == 0 {
			continue
		}
		c0, c1 := &is.c[0][l], &is.c[1][l]
		var s0, s1, t0 float64
		p := 1.0
		for k := 1; k <= top; k++ {
			p *= delta
			x := c0[k] * p
			s0 += x
			s1 += float64(k) * x
			t0 += c1[k] * p
		}
		if l == 0 {
			d, t = d+s1, t+t0
			continue
		}
		dl := powi(delta, l)
		e := math.Exp(-dl)
		d += (s1 - float64(l)*dl*s0) * e
		t += t0 * e
	}
	for i := range r.gauss {
		b, _, f := r.gauss[i].delta(delta)
		d += b * f * is.g[0][i]
		t += f * is.g[1][i]
	}
	return d, t
}
