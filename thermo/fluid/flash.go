package fluid

import (
	"fmt"
	"math"
)

// onLine is how near, relative, a pressure must be to a pure fluid's
// saturation pressure for temperature and pressure not to tell the phases apart.
const onLine = 1e-9

func (f *Fluid) rangeError(what string, value, lo, hi float64, unit string) error {
	return fmt.Errorf("%s: %s %.9g %s is %w: %.7g to %.7g %s", f.name, what, value, unit, ErrRange, lo, hi, unit)
}

func (f *Fluid) checkT(t float64) error {
	if t >= f.tmin && t <= f.tmax {
		return nil
	}
	return f.rangeError("temperature", t, f.tmin, f.tmax, "K")
}

func (f *Fluid) checkP(p float64) error {
	if p > 0 && p <= f.pmax {
		return nil
	}
	return f.rangeError("pressure", p, 0, f.pmax, "Pa")
}

// locate finds the stable phase at t (K) and p (Pa).
func (f *Fluid) locate(t, p float64) (*[2]satLine, Phase, error) {
	err := f.checkT(t)
	if err == nil {
		err = f.checkP(p)
	}
	if err != nil {
		return nil, 0, err
	}
	l, err := f.lines()
	if err != nil {
		return nil, 0, err
	}
	switch top := &l[bubble].ends; {
	case t < top.tmax:
		switch {
		case p > l[bubble].p(t)*(1+onLine):
			return l, Liquid, nil
		case p < l[dew].p(t)*(1-onLine):
			return l, Vapour, nil
		case p >= top.pmax:
			// A blend's bubble pressure peaks above the critical one, where no
			// dew state and so no quality belongs to p: see TP.
			return l, Liquid, nil
		}
		return l, TwoPhase, nil
	case p >= top.pmax:
		return l, Supercritical, nil
	case f.kind == blendKind && t < l[dew].peak && t < l[dew].t(p):
		// Just above a blend's critical temperature the dew line bends back.
		return l, TwoPhase, nil
	}
	return l, Vapour, nil
}

// dense solves for the density (mol/m3) of a phase at t and p.
func (f *Fluid) dense(l *[2]satLine, is *isotherm, t, p float64, phase Phase) (float64, error) {
	rho, lo, hi := f.guess(l, is, t, p, phase)
	return f.density(is, t, p, rho, lo, hi)
}

// guess starts the density of a phase at t and p from that phase's saturated
// density, which also bounds its branch.
func (f *Fluid) guess(l *[2]satLine, is *isotherm, t, p float64, phase Phase) (rho, lo, hi float64) {
	ideal := p / (f.r * t)
	switch {
	case t >= l[bubble].tmax && phase == Supercritical:
		rho = min(3*ideal, 2*f.rhor)
		return rho, 0, f.ceiling(is, t, p, rho)
	case t >= l[bubble].tmax:
		rho = min(1.3*ideal, f.rhor)
		return rho, 0, f.ceiling(is, t, p, rho)
	case phase == Liquid && p >= l[bubble].pmax && p < l[bubble].p(t):
		rho = l[bubble].rho(t) / f.m
		return 0.98 * rho, 0, rho * (1 + 1e-5)
	case phase == Liquid:
		rho = l[bubble].rho(t) / f.m
		return rho, rho * (1 - 1e-5), f.ceiling(is, t, p, rho)
	}
	i, u := l[dew].cell(t)
	pd, rho := math.Exp(l[dew].ofT.at(fnLnP, i, u)), math.Exp(l[dew].ofT.at(fnLnRho, i, u))/f.m
	// The compressibility factor goes about linearly to its saturated value.
	z := 1 + (pd/(f.r*t*rho)-1)*p/pd
	return ideal / z, 0, rho * (1 + 1e-5)
}

// TP returns the state at temperature T (K) and absolute pressure p (Pa).
//
// Between the bubble and dew pressure of a blend or pseudo-pure fluid the state
// is two-phase; its quality is interpolated linearly in temperature at the
// given pressure, as for the flashes at given pressure (see PQ). The bubble
// pressure of R-407C peaks 11.2 kPa above the critical, that of R-454B 0.7 kPa;
// between the two the state is the equation's one root, called Liquid, as for
// PH and PS. It meets the interpolated one at the critical pressure within
// 0.51 % of density. Exactly on a
// pure fluid's saturation line T and p do not fix the state: ErrTwoPhase; use
// TQ, PH or PS. Out of range: ErrRange.
func (f *Fluid) TP(T, p float64) (State, error) {
	l, phase, err := f.locate(T, p)
	if err != nil {
		return State{}, err
	}
	if phase == TwoPhase {
		if f.kind == pure {
			return State{}, fmt.Errorf("%s at %.9g K and %.9g Pa: %w", f.name, T, p, ErrTwoPhase)
		}
		b, d, err := f.pair(p)
		if err != nil {
			return State{}, err
		}
		q := 0.0
		if d.T > b.T {
			q = min(1, max(0, (T-b.T)/(d.T-b.T)))
		}
		return mix(b, d, q), nil
	}
	return f.single(l, T, p, phase)
}

// single is the state of a phase at t and p.
func (f *Fluid) single(l *[2]satLine, t, p float64, phase Phase) (State, error) {
	var is isotherm
	f.res.at(f.tr/t, &is)
	rho, err := f.dense(l, &is, t, p, phase)
	if err != nil {
		return State{}, err
	}
	return f.state(&is, t, rho, p, phase), nil
}

// TPIn is TP for a reading that is known to be of one phase, Liquid or Vapour
// (a supercritical state counts as either). Where the other phase or both are
// stable it returns ErrMetastable or ErrTwoPhase with the saturation pressure
// instead of a number that would look like a property.
func (f *Fluid) TPIn(T, p float64, phase Phase) (State, error) {
	s, err := f.TP(T, p)
	if err != nil {
		return s, err
	}
	switch {
	case s.Phase == phase || s.Phase == Supercritical && (phase == Liquid || phase == Vapour):
		return s, nil
	case s.Phase == TwoPhase:
		return State{}, fmt.Errorf("%s at %.9g K and %.9g Pa, asked as %v: %w", f.name, T, p, phase, ErrTwoPhase)
	}
	return State{}, fmt.Errorf("%s at %.9g K and %.9g Pa is %v, asked as %v: %w", f.name, T, p, s.Phase, phase, ErrMetastable)
}

// EnthalpyTP returns h (J/kg) of the single phase at temperature T (K) and
// pressure p (Pa), without the cost of the other properties and without
// allocating. Gas up to 85 K of superheat and 0.85 of the critical pressure comes from
// polynomials that keep within 1e-8 of the equation (gastable.go). Errors as TP;
// ErrTwoPhase anywhere between the lines.
func (f *Fluid) EnthalpyTP(T, p float64) (float64, error) {
	if ls, err := f.lines(); err == nil {
		if h, ok := f.gas(ls).enthalpy(&ls[dew], T, p); ok {
			return h, nil
		}
	}
	return f.enthalpyTP(T, p)
}

// enthalpyTP is EnthalpyTP by the equation itself.
func (f *Fluid) enthalpyTP(T, p float64) (float64, error) {
	l, phase, err := f.locate(T, p)
	if err == nil && phase == TwoPhase {
		err = fmt.Errorf("%s at %.9g K and %.9g Pa: %w", f.name, T, p, ErrTwoPhase)
	}
	if err != nil {
		return 0, err
	}
	var is isotherm
	f.res.at(f.tr/T, &is)
	rho, err := f.dense(l, &is, T, p, phase)
	if err != nil {
		return 0, err
	}
	return f.enthalpy(&is, T, rho), nil
}

// Bubble returns the saturated liquid at temperature T (K): subcooling is
// reckoned from this line. Q is 0; Cp, Cv, W are those of the liquid.
func (f *Fluid) Bubble(T float64) (State, error) { return f.saturated(bubble, T) }

// Dew returns the saturated vapour at temperature T (K): superheat is reckoned
// from this line. Q is 1; Cp, Cv, W are those of the vapour.
func (f *Fluid) Dew(T float64) (State, error) { return f.saturated(dew, T) }

func (f *Fluid) saturated(line side, t float64) (State, error) {
	l, err := f.lines()
	if err != nil {
		return State{}, err
	}
	at, err := l[line].checkT(f, line, t)
	if err != nil {
		return State{}, err
	}
	return f.onLine(&l[line], line, at, l[line].p(at)), nil
}

// BubbleAtP returns the saturated liquid at pressure p (Pa), and DewAtP the
// saturated vapour: as Bubble and Dew, but from the pressure.
func (f *Fluid) BubbleAtP(p float64) (State, error) { return f.saturatedAtP(bubble, p) }

// DewAtP returns the saturated vapour at pressure p (Pa).
func (f *Fluid) DewAtP(p float64) (State, error) { return f.saturatedAtP(dew, p) }

func (f *Fluid) saturatedAtP(line side, p float64) (State, error) {
	l, err := f.lines()
	if err != nil {
		return State{}, err
	}
	at, err := l[line].checkP(f, line, p)
	if err != nil {
		return State{}, err
	}
	if t := l[line].t(at); line == bubble {
		return f.onLine(&l[line], line, t, p), nil
	} else {
		return f.dewAtP(&l[line], t, p), nil
	}
}

// onLine is the saturated state at t and p, a point of the line.
func (f *Fluid) onLine(l *satLine, line side, t, p float64) State {
	var is isotherm
	f.res.at(f.tr/t, &is)
	return f.state(&is, t, l.rho(t)/f.m, p, Phase(line))
}

// pair returns both saturated states at pressure p (Pa) below the critical.
func (f *Fluid) pair(p float64) (b, d State, err error) {
	l, err := f.lines()
	if err != nil {
		return
	}
	pb, err := l[bubble].checkP(f, bubble, p)
	if err != nil {
		return
	}
	pd, err := l[dew].checkP(f, dew, p)
	if err != nil {
		return
	}
	tb, td := l[bubble].t(pb), l[dew].t(pd)
	return f.onLine(&l[bubble], bubble, tb, p), f.dewAtP(&l[dew], td, p), nil
}

// dewAtP is onLine for the dew state at given pressure. On the part of a
// blend's dew line that bends back, T does not tell the density; the pressure does.
func (f *Fluid) dewAtP(l *satLine, t, p float64) State {
	if p <= l.knee {
		return f.onLine(l, dew, t, p)
	}
	var is isotherm
	f.res.at(f.tr/t, &is)
	rho, err := f.density(&is, t, p, 0.8*f.rhor, 0, 1.5*f.rhor)
	if err != nil {
		rho = l.rho(l.tmax) / f.m
	}
	return f.state(&is, t, rho, p, Vapour)
}

// mix is the two-phase state of quality q by mass between saturated states.
func mix(b, d State, q float64) State {
	in := func(x, y float64) float64 { return x + q*(y-x) }
	return State{
		T: in(b.T, d.T), P: in(b.P, d.P), Rho: 1 / in(1/b.Rho, 1/d.Rho),
		H: in(b.H, d.H), S: in(b.S, d.S), U: in(b.U, d.U),
		Q: q, Phase: TwoPhase,
	}
}

func (f *Fluid) checkQ(q float64) error {
	if q >= 0 && q <= 1 {
		return nil
	}
	return f.rangeError("quality", q, 0, 1, "")
}

// PQ returns the state at pressure p (Pa) and vapour quality q in [0,1] by
// mass. Temperature, enthalpy, entropy, energy and volume are interpolated by
// quality between the bubble and dew states at that pressure: exact for pure
// fluids, the published prescription for pseudo-pure ones, and for blends an
// approximation within the glide, since the phases' true compositions shift.
func (f *Fluid) PQ(p, q float64) (State, error) {
	if err := f.checkQ(q); err != nil {
		return State{}, err
	}
	b, d, err := f.pair(p)
	if err != nil {
		return State{}, err
	}
	return mix(b, d, q), nil
}

// TQ returns the state at temperature T (K) and vapour quality q in [0,1] by
// mass, consistent with PQ: at the pressure where PQ has this temperature.
func (f *Fluid) TQ(T, q float64) (State, error) {
	if err := f.checkQ(q); err != nil {
		return State{}, err
	}
	l, err := f.lines()
	if err != nil {
		return State{}, err
	}
	tb, err := l[bubble].checkT(f, bubble, T)
	if err != nil {
		return State{}, err
	}
	td, err := l[dew].checkT(f, dew, T)
	if err != nil {
		return State{}, err
	}
	pb, pd := l[bubble].p(tb), l[dew].p(td)
	switch {
	case f.kind == pure || q == 0 || q == 1 || pb <= pd:
		return mix(f.onLine(&l[bubble], bubble, tb, pb), f.onLine(&l[dew], dew, td, pd), q), nil
	}
	top := min(l[bubble].pmax, l[dew].pmax)
	p, ok := solve(pd, min(pb, top), 1e-14, func(p float64) float64 {
		b, d := l[bubble].t(max(p, l[bubble].pmin)), l[dew].t(max(p, l[dew].pmin))
		return b + q*(d-b) - T
	})
	if !ok {
		return State{}, fmt.Errorf("%s: no pressure found for %.9g K and quality %.9g", f.name, T, q)
	}
	return f.PQ(p, q)
}

// PH returns the state at pressure p (Pa) and enthalpy h (J/kg, in the zero
// point of this package). Errors: ErrRange where no temperature in the
// equation's range has that enthalpy.
func (f *Fluid) PH(p, h float64) (State, error) {
	return f.isobar(p, h, "enthalpy", "J/kg",
		func(s *State) (float64, float64) { return s.H, s.Cp })
}

// PS returns the state at pressure p (Pa) and entropy s (J/(kg K), in the zero
// point of this package). Errors as PH.
func (f *Fluid) PS(p, s float64) (State, error) {
	return f.isobar(p, s, "entropy", "J/(kg K)",
		func(s *State) (float64, float64) { return s.S, s.Cp / s.T })
}

// isobar finds the state at p whose property, given with its derivative by
// temperature at constant pressure, has the value wanted. Along an isobar h
// and s rise with T throughout, dome included.
func (f *Fluid) isobar(p, want float64, name, unit string, prop func(*State) (v, slope float64)) (State, error) {
	if err := f.checkP(p); err != nil {
		return State{}, err
	}
	if math.IsNaN(want) || math.IsInf(want, 0) {
		return State{}, fmt.Errorf("%s: %s %g is not a number to look for", f.name, name, want)
	}
	l, err := f.lines()
	if err != nil {
		return State{}, err
	}
	lo, hi := f.tmin, f.tmax
	at := func(t float64) (State, error) { // the stable phase
		_, phase, err := f.locate(t, p)
		if err != nil {
			return State{}, err
		}
		return f.single(l, t, p, phase)
	}
	// Below the critical pressure the phase is known once the side of the dome
	// is, and near its edge must not be looked up again: p of T and T of p
	// agree only to rounding. The edge itself is a saturated state.
	if p >= l[dew].pmin && p < l[bubble].pmax && p < l[dew].pmax {
		if p < l[bubble].pmin {
			// Colder than the bubble line reaches: only its dew side is known.
			d := f.dewAtP(&l[dew], l[dew].t(p), p)
			if v, _ := prop(&d); want < v {
				return State{}, fmt.Errorf("%s: %s %.9g %s at %.9g Pa is %w: the bubble line there is colder than %.7g K", f.name, name, want, unit, p, ErrRange, f.tmin)
			}
			lo, at = d.T, f.beyond(l, p, Vapour, d)
		} else {
			b, d, err := f.pair(p)
			if err != nil {
				return State{}, err
			}
			vb, _ := prop(&b)
			vd, _ := prop(&d)
			switch {
			case want < vb:
				hi, at = b.T, f.beyond(l, p, Liquid, b)
			case want > vd:
				lo, at = d.T, f.beyond(l, p, Vapour, d)
			case vd > vb:
				return mix(b, d, (want-vb)/(vd-vb)), nil
			default:
				return b, nil
			}
		}
	}
	slo, err := at(lo)
	if err != nil {
		return State{}, err
	}
	shi, err := at(hi)
	if err != nil {
		return State{}, err
	}
	vlo, klo := prop(&slo)
	vhi, khi := prop(&shi)
	elo, ehi, scale := vlo-want, vhi-want, math.Abs(vhi-vlo)
	// Beyond an end by rounding is at it: 1e-9 of the span or of the temperature.
	switch {
	case elo >= 0 && elo <= 1e-9*max(scale, klo*lo):
		return slo, nil
	case ehi <= 0 && -ehi <= 1e-9*max(scale, khi*hi):
		return shi, nil
	case elo > 0 || ehi < 0:
		return State{}, fmt.Errorf("%s: %s %.9g %s at %.9g Pa is %w: %.7g to %.7g %s", f.name, name, want, unit, p, ErrRange, vlo, vhi, unit)
	}
	t, last := lo+(hi-lo)*(-elo)/(ehi-elo), math.Inf(1)
	for range 200 {
		s, err := at(t)
		if err != nil {
			return State{}, err
		}
		v, slope := prop(&s)
		e := v - want
		if e > 0 {
			hi = t
		} else {
			lo = t
		}
		// Newton's step, unless it leaves the bracket or, across the sharp rise
		// of cp just above the critical point, fails to halve the error.
		next := t - e/slope
		if !(slope > 0) || !(next > lo && next < hi) || math.Abs(e) > last/2 {
			next = lo + (hi-lo)/2
		}
		if math.Abs(next-t) < 1e-13*t || math.Abs(e) < 1e-13*slope*t || hi-lo < 1e-14*hi {
			return s, nil
		}
		t, last = next, math.Abs(e)
	}
	return State{}, fmt.Errorf("%s: no temperature found for %s %.9g %s at %.9g Pa", f.name, name, want, unit, p)
}

// beyond evaluates one phase along the isobar p, its saturated state being edge.
func (f *Fluid) beyond(l *[2]satLine, p float64, phase Phase, edge State) func(t float64) (State, error) {
	return func(t float64) (State, error) {
		if phase == Liquid && t >= edge.T || phase != Liquid && t <= edge.T {
			return edge, nil
		}
		return f.single(l, t, p, phase)
	}
}

// solve finds a zero of g between a and b, where it changes sign, by the
// Illinois variant of false position.
func solve(a, b, tol float64, g func(float64) float64) (float64, bool) {
	ga, gb := g(a), g(b)
	switch {
	case ga == 0:
		return a, true
	case gb == 0:
		return b, true
	case !(ga*gb < 0):
		if math.Abs(ga) < math.Abs(gb) {
			return a, math.Abs(ga) < 1e-6
		}
		return b, math.Abs(gb) < 1e-6
	}
	for range 200 {
		c := b - gb*(b-a)/(gb-ga)
		gc := g(c)
		if math.IsNaN(gc) {
			return 0, false
		}
		if gc == 0 || math.Abs(c-b) <= tol*math.Abs(c) {
			return c, true
		}
		if gc*gb < 0 {
			a, ga = b, gb
		} else {
			ga /= 2
		}
		b, gb = c, gc
	}
	return b, true
}
