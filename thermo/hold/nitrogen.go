package hold

import (
	"fmt"
	"math"
)

// The residual part of nitrogen's Helmholtz energy: R. Span, E. W. Lemmon, R. T
// Jacobsen, W. Wagner, A. Yokozeki, J. Phys. Chem. Ref. Data 29 (2000) 1361; the
// coefficients as an open reference library carries them, the paper itself not
// read. n, exponents of tau and delta, exponent l of exp(-delta^l).
var power = [...]struct{ n, t, d, l float64 }{
	{0.924803575275, 0.25, 1, 0}, {-0.492448489428, 0.875, 1, 0},
	{0.661883336938, 0.5, 2, 0}, {-1.92902649201, 0.875, 2, 0},
	{-0.0622469309629, 0.375, 3, 0}, {0.349943957581, 0.75, 3, 0},
	{0.564857472498, 0.5, 1, 1}, {-1.61720005987, 0.75, 1, 1}, {-0.481395031883, 2, 1, 1},
	{0.421150636384, 1.25, 3, 1}, {-0.0161962230825, 3.5, 3, 1}, {0.172100994165, 1, 4, 1},
	{0.00735448924933, 0.5, 6, 1}, {0.0168077305479, 3, 6, 1},
	{-0.00107626664179, 0, 7, 1}, {-0.0137318088513, 2.75, 7, 1},
	{0.000635466899859, 0.75, 8, 1}, {0.00304432279419, 2.5, 8, 1},
	{-0.0435762336045, 4, 1, 2}, {-0.0723174889316, 6, 2, 2}, {0.0389644315272, 6, 3, 2},
	{-0.021220136391, 3, 4, 2}, {0.00408822981509, 3, 5, 2}, {-5.51990017984e-05, 6, 8, 2},
	{-0.0462016716479, 16, 4, 3}, {-0.00300311716011, 11, 5, 3},
	{0.0368825891208, 15, 5, 3}, {-0.0025585684622, 12, 8, 3},
	{0.00896915264558, 12, 3, 4}, {-0.0044151337035, 7, 5, 4},
	{0.00133722924858, 4, 6, 4}, {0.000264832491957, 16, 9, 4},
}

// n tau^t delta^d exp(-eta (delta-1)^2 - beta (tau-gamma)^2).
var gauss = [...]struct{ n, t, d, eta, beta, gamma float64 }{
	{19.6688194015, 0, 1, 20, 325, 1.16}, {-20.911560073, 1, 1, 20, 325, 1.16},
	{0.0167788306989, 2, 3, 15, 300, 1.13}, {2627.67566274, 3, 2, 25, 275, 1.25},
}

const (
	critT   = 126.192      // K
	critRho = 11183.9      // mol/m3
	gasR    = 8.31451      // J/(mol K), the equation's own
	molar   = 28.01348e-3  // kg/mol
	rhoTop  = 6500 * molar // kg/m3, above what 15 MPa reaches at 230 K
)

// The range in which a field hold is reckoned; the equation's own is wider.
const (
	Tmin, Tmax = 230.0, 350.0 // K
	Pmax       = 15e6         // Pa
)

// z is the compressibility factor at delta = rho/critRho and tau = critT/T.
func z(delta, tau float64) float64 {
	s := 0.0
	ld, lt := math.Log(delta), math.Log(tau)
	for _, c := range power {
		x, e := c.d, 0.0
		if c.l > 0 {
			e = math.Exp(c.l * ld)
			x -= c.l * e
		}
		s += c.n * x * math.Exp(c.t*lt+c.d*ld-e)
	}
	for _, c := range gauss {
		a, b := delta-1, tau-c.gamma
		s += c.n * (c.d - 2*c.eta*delta*a) * math.Exp(c.t*lt+c.d*ld-c.eta*a*a-c.beta*b*b)
	}
	return 1 + s
}

// Pressure of nitrogen, Pa, at T, K, and density rho, kg/m3, for 230 to 350 K and
// densities from above 0 to 182 kg/m3.
func Pressure(T, rho float64) (float64, error) {
	if !(T >= Tmin && T <= Tmax) {
		return 0, fmt.Errorf("hold: nitrogen at %g K; allowed %g to %g K", T, Tmin, Tmax)
	}
	if !(rho > 0 && rho <= rhoTop) {
		return 0, fmt.Errorf("hold: nitrogen of %g kg/m3; allowed above 0 to %.0f kg/m3", rho, rhoTop)
	}
	n := rho / molar
	return n * gasR * T * z(n/critRho, critT/T), nil
}

// Density of nitrogen, kg/m3, at T, K, and p, Pa absolute, for 230 to 350 K and
// pressures from above 0 to 15 MPa.
func Density(T, p float64) (float64, error) {
	if !(T >= Tmin && T <= Tmax) {
		return 0, fmt.Errorf("hold: nitrogen at %g K; allowed %g to %g K", T, Tmin, Tmax)
	}
	if !(p > 0 && p <= Pmax) {
		return 0, fmt.Errorf("hold: nitrogen at %g Pa absolute; allowed above 0 to %g Pa", p, Pmax)
	}
	// Far above the critical temperature Z lies near 1 and changes slowly, so that
	// a secant from the ideal gas and a near neighbour closes in a few steps.
	ideal := p / (gasR * T)
	f := func(n float64) float64 { return n*gasR*T*z(n/critRho, critT/T)/p - 1 }
	a, b := ideal*0.99, ideal
	fa, fb := f(a), f(b)
	for range 50 {
		if math.Abs(fb) < 1e-13 || fb == fa {
			break
		}
		a, b, fa = b, b-fb*(b-a)/(fb-fa), fb
		if !(b > 0) {
			b = ideal / 2
		}
		fb = f(b)
	}
	if !(math.Abs(fb) < 1e-9) {
		return 0, fmt.Errorf("hold: no density of nitrogen found at %g K and %g Pa", T, p)
	}
	return b * molar, nil
}

// Viscosity of thin nitrogen, Pa s: Sutherland's formula with 1.663e-5 Pa s at
// 273 K and 107 K (from memory; about 2 %).
func viscosity(T float64) float64 {
	return 1.663e-5 * math.Pow(T/273, 1.5) * (273 + 107) / (T + 107)
}
