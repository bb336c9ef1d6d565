package fluid

import (
	"fmt"
	"math"
)

// thinnest is the lowest reduced density answered: micropascals, far below any
// vacuum pump's reach and far above where digits run out.
const thinnest = 1e-14

// density solves p(rho) = p at the isotherm's temperature for rho in mol/m3,
// between lo and hi where p rises with rho, by Newton's method kept inside the
// shrinking bracket.
func (f *Fluid) density(is *isotherm, t, p, rho, lo, hi float64) (float64, error) {
	rho, _, err := f.densitySteps(is, t, p, rho, lo, hi)
	return rho, err
}

// densitySteps is density with the number of evaluations that it took.
func (f *Fluid) densitySteps(is *isotherm, t, p, rho, lo, hi float64) (float64, int, error) {
	target := p / (f.r * t)
	if !(target >= thinnest*f.rhor) {
		return 0, 0, fmt.Errorf("%s: pressure %.6g Pa is %w: lowest %.3g Pa at %.6g K", f.name, p, ErrRange, thinnest*f.rhor*f.r*t, t)
	}
	last := math.Inf(1)
	for iter := 0; iter < 200; iter++ {
		d, dd := f.res.slope(is, rho/f.rhor)
		e, slope := rho*(1+d)-target, 1+d+dd
		if e > 0 {
			hi = rho
		} else {
			lo = rho
		}
		step := e / slope
		if iter == 0 && slope > 0 && rho > f.rhor && e < 0 {
			// Far up the liquid branch Newton overshoots by the branch's
			// curvature; Murnaghan's form p ~ rho^8 does not.
			step = rho * (1 - math.Pow(1-8*e/(slope*rho), 1.0/8))
		}
		next := rho - step
		if !(slope > 0) || !(next > lo && next < hi) || iter > 10 && math.Abs(e) > last/2 {
			if math.Abs(step) < 1e-12*rho && slope > 0 {
				return rho, iter + 1, nil // rounding at the bracket's edge
			}
			next = lo + (hi-lo)/2
			step = rho - next
		}
		rho, last = next, math.Abs(e)
		// Newton squares the error: what follows a step of 1e-8 is rounding.
		if math.Abs(step) < 1e-8*rho || hi-lo < 1e-14*hi {
			return rho, iter + 1, nil
		}
	}
	return 0, 200, fmt.Errorf("%s: no density found at %.6g K and %.6g Pa", f.name, t, p)
}

// ceiling returns a density in mol/m3 at or above rho where the pressure
// exceeds p, for the upper end of a bracket.
func (f *Fluid) ceiling(is *isotherm, t, p, rho float64) float64 {
	rho = max(rho, thinnest*f.rhor) // from zero no factor leads away
	for rho < 5*f.rhor {
		rho *= 1.08
		if d, _ := f.res.slope(is, rho/f.rhor); rho*(1+d)*f.r*t > p {
			break
		}
	}
	return rho
}

// lineDensity is the density of a pseudo-pure fluid on its published line. The
// equation's own loop need not match the line, so the liquid is approached
// from above and the vapour from below, where p(rho) curves towards the root.
func (f *Fluid) lineDensity(is *isotherm, line side, t, p float64) (float64, error) {
	if line == dew {
		return f.density(is, t, p, p/(f.r*t), 0, 1.5*f.rhor)
	}
	rho := f.ceiling(is, t, p, f.rhoGuess[bubble].at(t))
	return f.density(is, t, p, rho, 0, rho*1.01)
}

// state evaluates every property at temperature t (K) and density rho
// (mol/m3); p is known to the caller more precisely than the density gives it.
func (f *Fluid) state(is *isotherm, t, rho, p float64, phase Phase) State {
	a := f.res.full(is, rho/f.rhor)
	a0, t0, tt0 := f.idealAt(t, rho)
	r := f.r / f.m
	cv := -r * (tt0 - t0 + a.tt - a.t)
	z, k, x := 1+a.d, 1+a.d+a.dd, 1+a.d-a.dt
	s := State{
		T: t, P: p, Rho: rho * f.m,
		H: r * t * (t0 + a.t + z), U: r * t * (t0 + a.t), S: r * (t0 + a.t - a0 - a.a),
		Cv: cv, Cp: cv + r*x*x/k,
		W:     math.Sqrt(max(0, r*t*(k+x*x*r/cv))),
		Phase: phase,
	}
	if phase != Liquid {
		s.Q = 1
	}
	return s
}

// idealAt returns alpha0, D alpha0 and DD alpha0 of the composition, each
// component at its own reducing point and with its own gas constant.
func (f *Fluid) idealAt(t, rho float64) (a, d, dd float64) {
	for i := range f.model.comp {
		c := &f.model.comp[i]
		w := f.z[i] * c.r / f.r
		ai, di, ddi := c.ideal.at(c.tr / t)
		a += w*(ai+math.Log(rho*c.vr)) + f.z[i]*math.Log(f.z[i])
		d += w * di
		dd += w * ddi
	}
	return a, d, dd
}

// enthalpy is the H of state alone, at less cost.
func (f *Fluid) enthalpy(is *isotherm, t, rho float64) float64 {
	d, at := f.res.heat(is, rho/f.rhor)
	var t0 float64
	for i := range f.model.comp {
		c := &f.model.comp[i]
		t0 += f.z[i] * c.r / f.r * c.ideal.slope(c.tr/t)
	}
	return f.r / f.m * t * (1 + t0 + at + d)
}

// entropy is the S of state alone.
func (f *Fluid) entropy(is *isotherm, t, rho float64) float64 {
	a := f.res.full(is, rho/f.rhor)
	a0, t0, _ := f.idealAt(t, rho)
	return f.r / f.m * (t0 + a.t - a0 - a.a)
}
