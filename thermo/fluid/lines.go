package fluid

import (
	"fmt"
	"math"
)

// A Sat is one point of a saturation line, in the units of State.
type Sat struct{ T, P, Rho, H, S float64 }

// ends are the limits of a line: lowest temperature and its pressure, and the
// critical end. On a blend's bubble line the pressure peaks just short of the
// critical point; T of p means the colder branch there.
type ends struct {
	tmin, tmax float64 // K; between tmax and topT the end point answers
	pmin, pmax float64 // Pa
	topT, topP float64 // the published critical point where that is higher
}

// BubbleDirect returns the saturated liquid at temperature T (K) by iterating
// the full equation; subcooling is reckoned from this line. Errors: ErrRange
// outside [Tmin, Tc].
func (f *Fluid) BubbleDirect(T float64) (Sat, error) { return f.satDirect(bubble, T) }

// DewDirect returns the saturated vapour at temperature T (K) by iterating the
// full equation; superheat is reckoned from this line. Errors: ErrRange
// outside [Tmin, Tc].
func (f *Fluid) DewDirect(T float64) (Sat, error) { return f.satDirect(dew, T) }

// BubbleTDirect returns the bubble temperature (K) at pressure p (Pa) by
// iterating the full equation. Errors: ErrRange outside the line.
func (f *Fluid) BubbleTDirect(p float64) (float64, error) { return f.satTDirect(bubble, p) }

// DewTDirect returns the dew temperature (K) at pressure p (Pa) by iterating
// the full equation. Errors: ErrRange outside the line.
func (f *Fluid) DewTDirect(p float64) (float64, error) { return f.satTDirect(dew, p) }

func (f *Fluid) satDirect(line side, t float64) (Sat, error) {
	e, err := f.ends(line)
	if err == nil {
		t, err = e.checkT(f, line, t)
	}
	if err != nil {
		return Sat{}, err
	}
	p, rho, err := f.solveT(line, t)
	if err != nil {
		return Sat{}, err
	}
	return f.satPoint(t, p, rho), nil
}

// satPoint completes a saturated point from T (K), p (Pa) and rho (mol/m3).
func (f *Fluid) satPoint(t, p, rho float64) Sat {
	var is isotherm
	f.res.at(f.tr/t, &is)
	return Sat{t, p, rho * f.m, f.enthalpy(&is, t, rho), f.entropy(&is, t, rho)}
}

// nearCritical is the |s| below which Newton's method cannot tell the phases
// apart well: their difference enters the equations as s cubed, and rounding
// grows by its inverse. Interpolation between converged knots on both sides of
// the critical point is better there.
const nearCritical = 1.0 / 20

// solveT returns p (Pa) and rho (mol/m3) of a line at t (K) within its ends.
func (f *Fluid) solveT(line side, t float64) (p, rho float64, err error) {
	if f.kind == pseudoPure {
		var is isotherm
		f.res.at(f.tr/t, &is)
		p = f.curve[line].at(t)
		rho, err = f.lineDensity(&is, line, t, p)
		return p, rho, err
	}
	tr, err := f.traced(line)
	if err != nil {
		return 0, 0, err
	}
	k := tr.atT(math.Log(t))
	p = math.Exp(k.lnP)
	if math.Abs(k.s) > nearCritical {
		if p, err = f.model.equilibrium(&f.z, &k.y, atT, t); err != nil {
			return 0, 0, fmt.Errorf("%s: %s line at %.9g K: %w", f.name, line, t, err)
		}
	}
	return p, math.Exp(k.y[0]), nil
}

func (f *Fluid) satTDirect(line side, p float64) (float64, error) {
	e, err := f.ends(line)
	if err == nil {
		p, err = e.checkP(f, line, p)
	}
	if err != nil {
		return 0, err
	}
	return f.solveP(line, p)
}

// solveP returns T (K) of a line at p (Pa) within its ends.
func (f *Fluid) solveP(line side, p float64) (float64, error) {
	if f.kind == pseudoPure {
		return f.curve[line].inverse(p, f.tmin, f.peakT(line))
	}
	tr, err := f.traced(line)
	if err != nil {
		return 0, err
	}
	k := tr.atP(math.Log(p))
	if math.Abs(k.s) > nearCritical {
		if _, err = f.model.equilibrium(&f.z, &k.y, atP, p); err != nil {
			return 0, fmt.Errorf("%s: %s line at %.9g Pa: %w", f.name, line, p, err)
		}
		return math.Exp(k.y[len(f.model.comp)+1]), nil
	}
	return math.Exp(k.lnT), nil
}

// ends returns the limits of a line.
func (f *Fluid) ends(line side) (ends, error) {
	if f.kind == pseudoPure {
		return ends{f.tmin, f.tc, f.curve[line].at(f.tmin), f.pc, f.tc, f.pc}, nil
	}
	tr, err := f.traced(line)
	if err != nil {
		return ends{}, err
	}
	if e := f.endsOf[line].Load(); e != nil {
		return *e, nil
	}
	pmin, _, err := f.solveT(line, f.tmin)
	if err != nil {
		return ends{}, err
	}
	k := tr.end()
	t, p := math.Exp(k.lnT), math.Exp(k.lnP)
	e := ends{f.tmin, t, pmin, p, max(t, f.tc), max(p, f.pc)}
	f.endsOf[line].Store(&e)
	return e, nil
}

// checkT refuses temperatures off the line and clamps those between the
// equation's own critical point and the published one.
func (e *ends) checkT(f *Fluid, line side, t float64) (float64, error) {
	if t >= e.tmin && t <= e.tmax {
		return t, nil
	}
	if t > e.tmax && t <= e.topT {
		return e.tmax, nil
	}
	return 0, fmt.Errorf("%s: %s line: temperature %.9g K is %w: %.7g K to the critical %.7g K", f.name, line, t, ErrRange, e.tmin, e.topT)
}

func (e *ends) checkP(f *Fluid, line side, p float64) (float64, error) {
	if p >= e.pmin && p <= e.pmax {
		return p, nil
	}
	if p > e.pmax && p <= e.topP {
		return e.pmax, nil
	}
	if p > e.pmin*(1-1e-7) && p < e.pmin { // rounding of a pressure that came from tmin
		return e.pmin, nil
	}
	return 0, fmt.Errorf("%s: %s line: pressure %.9g Pa is %w: %.7g Pa to the critical %.7g Pa", f.name, line, p, ErrRange, e.pmin, e.topP)
}

// peakT is where a pseudo-pure line's pressure stops rising: the critical
// temperature, or just short of it.
func (f *Fluid) peakT(line side) float64 {
	lo, hi := 0.99*f.tc, f.tc*(1-1e-13)
	if _, s := f.curve[line].logSlope(hi); s > 0 {
		return f.tc
	}
	for hi-lo > 1e-13*hi {
		mid := lo + (hi-lo)/2
		if _, s := f.curve[line].logSlope(mid); s > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// inverse solves y(T) = y between lo and hi, where y rises, by Newton's method
// on ln y over 1/T (nearly straight), kept inside the bracket.
func (a *ancillary) inverse(y, lo, hi float64) (float64, error) {
	target := math.Log(y)
	t := lo + (hi-lo)/2
	for range 200 {
		ln, slope := a.logSlope(t)
		e := ln - target
		if e > 0 {
			hi = t
		} else {
			lo = t
		}
		next := t / (1 + e/(slope*t))
		if !(slope > 0) || !(next > lo && next < hi) {
			next = lo + (hi-lo)/2
		}
		if math.Abs(next-t) < 1e-15*t || hi-lo < 1e-14*hi {
			return next, nil
		}
		t = next
	}
	return t, nil
}
