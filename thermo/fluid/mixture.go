package fluid

// A component carries one published pure-fluid equation into a model.
type component struct {
	name   string
	m, r   float64 // molar mass kg/mol, the paper's gas constant J/(mol K)
	tr, vr float64 // reducing temperature K, reducing volume m3/mol
	ideal  ideal
	terms  []term
	res    residual
	p      ancillary // starting guesses for saturation
	rhoL   ancillary
}

// A pair couples components i and j: reducing parameters and departure.
// The parameters belong to the order (i, j) as published.
type pair struct {
	i, j                     int
	betaT, gamT, betaV, gamV float64
	tij, vij                 float64 // (Ti Tj)^(1/2); (vi^(1/3)+vj^(1/3))^3/8
	f                        float64
	res                      residual
}

// A model is a residual Helmholtz energy with its composition dependence.
type model struct {
	r     float64 // gas constant used throughout, J/(mol K)
	comp  []component
	pairs []pair
}

// vec and mat are over components; unused entries stay zero.
type (
	vec [maxComp]float64
	mat [maxComp]vec
)

// quadratic accumulates q += 2 beta gamma k x y (x+y)/(beta^2 x + y) and its
// first and second derivatives, the cross term of both reducing functions
// (Kunz and Wagner 2012, equations 16 and 17), for components i and j.
func quadratic(i, j int, beta, gamma, k, x, y float64, q *float64, g *vec, h *mat) {
	b := beta * beta
	s := b*x + y
	c := 2 * beta * gamma * k
	n := x * y * (x + y)
	nx, ny := y*(2*x+y), x*(x+2*y)
	f := n / s
	fx := (nx - b*f) / s
	fy := (ny - f) / s
	*q += c * f
	g[i] += c * fx
	g[j] += c * fy
	fxx := (2*y - 2*b*fx) / s
	fyy := (2*x - 2*fy) / s
	fxy := (2*(x+y) - b*fy - fx) / s
	h[i][i] += c * fxx
	h[j][j] += c * fyy
	h[i][j] += c * fxy
	h[j][i] += c * fxy
}

// reduce returns Tr and vr times (sum c)^2 with derivatives by c: both
// reducing functions are homogeneous of degree two in the concentrations.
func (m *model) reduce(c *vec, t, v *float64, tg, vg *vec, th, vh *mat) {
	for i := range m.comp {
		o := &m.comp[i]
		*t += c[i] * c[i] * o.tr
		*v += c[i] * c[i] * o.vr
		tg[i] += 2 * c[i] * o.tr
		vg[i] += 2 * c[i] * o.vr
		th[i][i] += 2 * o.tr
		vh[i][i] += 2 * o.vr
	}
	for k := range m.pairs {
		p := &m.pairs[k]
		quadratic(p.i, p.j, p.betaT, p.gamT, p.tij, c[p.i], c[p.j], t, tg, th)
		quadratic(p.i, p.j, p.betaV, p.gamV, p.vij, c[p.i], c[p.j], v, vg, vh)
	}
}

// energy is Psi = rho alphar (mol/m3) and what phase equilibrium needs of it.
type energy struct {
	rho     float64
	psi     float64
	g       vec     // dPsi/dc_i
	h       mat     // d2Psi/dc_i dc_j
	t       float64 // T dPsi/dT
	gt      vec     // T d2Psi/dc_i dT
	pi, piT float64 // p/(RT) mol/m3 and T times its derivative by T
	pic     vec     // d(p/RT)/dc_i
}

// energy evaluates Psi at temperature t (K) and concentrations c (mol/m3).
func (m *model) energy(t float64, c *vec) energy {
	n := len(m.comp)
	var e energy
	for i := 0; i < n; i++ {
		e.rho += c[i]
	}
	rho := e.rho
	var q, v float64
	var qg, vg vec
	var qh, vh mat
	m.reduce(c, &q, &v, &qg, &vg, &qh, &vh)
	delta, tau := v/rho, q/(rho*rho*t)
	// Logarithmic derivatives of delta (l) and tau (k) by the concentrations.
	var l, k vec
	var ll, kk mat
	for i := 0; i < n; i++ {
		l[i] = vg[i]/v - 1/rho
		k[i] = qg[i]/q - 2/rho
	}
	for i := 0; i < n; i++ {
		for j := 0; j < n; j++ {
			ll[i][j] = vh[i][j]/v - vg[i]*vg[j]/(v*v) + 1/(rho*rho)
			kk[i][j] = qh[i][j]/q - qg[i]*qg[j]/(q*q) + 2/(rho*rho)
		}
	}
	// add one function f(tau, delta) with weight w(c).
	var is isotherm
	add := func(r *residual, w float64, wg *vec, wh *mat) {
		r.at(tau, &is)
		f := r.full(&is, delta)
		e.psi += w * f.a
		e.t -= w * f.t
		var fg vec
		for i := 0; i < n; i++ {
			fg[i] = f.d*l[i] + f.t*k[i]
			e.g[i] += wg[i]*f.a + w*fg[i]
			e.gt[i] -= wg[i]*f.t + w*(f.dt*l[i]+f.tt*k[i])
		}
		for i := 0; i < n; i++ {
			for j := 0; j < n; j++ {
				e.h[i][j] += wh[i][j]*f.a + wg[i]*fg[j] + wg[j]*fg[i] +
					w*(f.dd*l[i]*l[j]+f.dt*(l[i]*k[j]+k[i]*l[j])+f.tt*k[i]*k[j]+f.d*ll[i][j]+f.t*kk[i][j])
			}
		}
	}
	for i := range m.comp {
		var wg vec
		var wh mat
		wg[i] = 1
		add(&m.comp[i].res, c[i], &wg, &wh)
	}
	for p := range m.pairs {
		pr := &m.pairs[p]
		i, j, f := pr.i, pr.j, pr.f/rho
		w := f * c[i] * c[j]
		var wg, raw vec
		var wh mat
		raw[i], raw[j] = f*c[j], f*c[i]
		for a := 0; a < n; a++ {
			wg[a] = raw[a] - w/rho
			for b := 0; b < n; b++ {
				wh[a][b] = 2*w/(rho*rho) - (raw[a]+raw[b])/rho
			}
		}
		wh[i][j] += f
		wh[j][i] += f
		add(&pr.res, w, &wg, &wh)
	}
	e.pi = rho - e.psi
	e.piT = -e.t
	for i := 0; i < n; i++ {
		e.pi += c[i] * e.g[i]
		e.piT += c[i] * e.gt[i]
		e.pic[i] = 1
		for j := 0; j < n; j++ {
			e.pic[i] += c[j] * e.h[i][j]
		}
	}
	return e
}
