package fluid

import "math"

// Functions of temperature in a satLine's expansion.
const (
	fnLnP = iota
	fnLnRho
	fnH
	fnS
	fnCount
)

// A satLine is one saturation line in Chebyshev form. Temperature enters as
// sqrt(1 - T/t0): in it the square-root shape of the densities at the critical
// point, or of a blend's dew line where it turns back, becomes smooth.
type satLine struct {
	ends
	t0   float64 // K
	peak float64 // highest temperature on the line, K
	knee float64 // pressure up to which T tells the dew state, Pa
	ofT  *expansion
	ofP  *expansion // T of ln p
}

func (l *satLine) cell(t float64) (int, float64) {
	return l.ofT.cell(math.Sqrt(max(0, 1-t/l.t0)))
}

func (l *satLine) p(t float64) float64 {
	i, u := l.cell(t)
	return math.Exp(l.ofT.at(fnLnP, i, u))
}

func (l *satLine) rho(t float64) float64 {
	i, u := l.cell(t)
	return math.Exp(l.ofT.at(fnLnRho, i, u))
}

func (l *satLine) t(p float64) float64 {
	i, u := l.ofP.cell(math.Log(p))
	return l.ofP.at(0, i, u)
}

// lines returns both fast lines, built on first use from the direct solution.
func (f *Fluid) lines() (*[2]satLine, error) {
	f.fastOnce.Do(func() {
		for line := bubble; line <= dew && f.fastErr == nil; line++ {
			f.fastErr = f.buildLine(line)
		}
	})
	return &f.fast, f.fastErr
}

func (f *Fluid) buildLine(line side) error {
	e, err := f.ends(line)
	if err != nil {
		return err
	}
	l := &f.fast[line]
	l.ends, l.t0, l.peak, l.knee = e, e.tmax, e.tmax, math.Inf(1)
	if f.kind == blendKind {
		k := f.traces[line].peak()
		l.peak = max(l.peak, k)
		if l.peak > e.tmax {
			l.t0 = l.peak
			p, _, err := f.solveT(line, e.tmax)
			if err != nil {
				return err
			}
			l.knee = p
		}
	}
	// Tolerances a good deal tighter than what is promised: 1e-9 for pure
	// fluids, 1e-6 within 0.1 % of the critical temperature where the direct
	// solution itself is noisy; 1e-7 for blends and pseudo-pure fluids.
	tol, depth := 2e-11, 12
	if f.kind != pure {
		tol, depth = 2e-9, 20
	}
	near := 1e-3
	within := func(t float64) float64 {
		if 1-t/l.t0 < near {
			return max(tol, 2e-8)
		}
		return tol
	}
	temp := func(x float64) float64 { return min(max(l.t0*(1-x*x), e.tmin), e.tmax) }
	xlo, xhi := math.Sqrt(max(0, 1-e.tmax/l.t0)), math.Sqrt(1-e.tmin/l.t0)
	l.ofT, err = expand(fnCount, xlo, xhi, depth, func(x float64, out []float64) error {
		p, rho, err := f.solveT(line, temp(x))
		if err != nil {
			return err
		}
		s := f.satPoint(temp(x), p, rho)
		out[fnLnP], out[fnLnRho], out[fnH], out[fnS] = math.Log(p), math.Log(s.Rho), s.H, s.S
		return nil
	}, func(k int, x, err, _ float64) bool {
		// Enthalpy and entropy cross zero: relative to 100 kJ/kg and 1 kJ/(kg K).
		return err <= within(temp(x))*[fnCount]float64{1, 1, 1e5, 1e3}[k]
	})
	if err != nil {
		return err
	}
	l.ofP, err = expand(1, math.Log(e.pmin), math.Log(e.pmax), depth, func(x float64, out []float64) error {
		t, err := f.solveP(line, math.Exp(x))
		out[0] = t
		return err
	}, func(_ int, _, err, t float64) bool { return err <= within(t)*t/4 })
	return err
}

// BubbleSat returns the bubble line at temperature T (K) from the fast
// expansion: pressure, density, enthalpy and entropy of the saturated liquid.
// Subcooling is reckoned from this line. Errors: ErrRange outside [Tmin, Tc].
func (f *Fluid) BubbleSat(T float64) (Sat, error) { return f.sat(bubble, T) }

// DewSat returns the dew line at temperature T (K) from the fast expansion:
// the saturated vapour. Superheat is reckoned from this line. Errors: ErrRange
// outside [Tmin, Tc].
func (f *Fluid) DewSat(T float64) (Sat, error) { return f.sat(dew, T) }

func (f *Fluid) sat(line side, t float64) (Sat, error) {
	l, t, err := f.lineAtT(line, t)
	if err != nil {
		return Sat{}, err
	}
	i, u := l.cell(t)
	return Sat{t, math.Exp(l.ofT.at(fnLnP, i, u)), math.Exp(l.ofT.at(fnLnRho, i, u)),
		l.ofT.at(fnH, i, u), l.ofT.at(fnS, i, u)}, nil
}

func (f *Fluid) lineAtT(line side, t float64) (*satLine, float64, error) {
	ls, err := f.lines()
	if err != nil {
		return nil, 0, err
	}
	l := &ls[line]
	if !(t >= l.tmin && t <= l.tmax) {
		t, err = l.checkT(f, line, t)
	}
	return l, t, err
}

// BubbleP returns the bubble pressure (Pa absolute) at temperature T (K).
// Subcooling is reckoned from the bubble line. Errors: ErrRange outside
// [Tmin, Tc].
func (f *Fluid) BubbleP(T float64) (float64, error) { return f.satP(bubble, T) }

// DewP returns the dew pressure (Pa absolute) at temperature T (K). Superheat
// is reckoned from the dew line. Errors: ErrRange outside [Tmin, Tc].
func (f *Fluid) DewP(T float64) (float64, error) { return f.satP(dew, T) }

func (f *Fluid) satP(line side, t float64) (float64, error) {
	l, t, err := f.lineAtT(line, t)
	if err != nil {
		return 0, err
	}
	return l.p(t), nil
}

// BubbleT returns the bubble temperature (K) at pressure p (Pa absolute):
// subcooling is this less the liquid's temperature. Errors: ErrRange below the
// line's lowest and above the critical pressure.
func (f *Fluid) BubbleT(p float64) (float64, error) { return f.satT(bubble, p) }

// DewT returns the dew temperature (K) at pressure p (Pa absolute): superheat
// is the vapour's temperature less this. Errors: ErrRange below the line's
// lowest and above the critical pressure.
func (f *Fluid) DewT(p float64) (float64, error) { return f.satT(dew, p) }

func (f *Fluid) satT(line side, p float64) (float64, error) {
	ls, err := f.lines()
	if err != nil {
		return 0, err
	}
	l := &ls[line]
	if !(p >= l.pmin && p <= l.pmax) {
		if p, err = l.checkP(f, line, p); err != nil {
			return 0, err
		}
	}
	return l.t(p), nil
}
