package vacuum

import (
	"fmt"
	"math"
)

// Form is the shape of a rise.
type Form int

// The forms.
const (
	Flat Form = iota
	Leak
	Moisture
	Both
)

// String gives the form in words.
func (f Form) String() string {
	if f < Flat || f > Both {
		return "unknown"
	}
	return [...]string{"flat", "leak", "moisture", "leak and moisture"}[f]
}

// Rise is a fitted rise.
type Rise struct {
	Form Form // the simplest form that explains the readings

	// The constants of p = Start + Slope t + Gain (1 - exp(-t/Tau)), from the
	// fullest form that the number of readings allows with Slope and Gain not
	// below 0, and their standard uncertainties.
	Start, Slope, Gain, Tau float64 // Pa, Pa/s, Pa, s; Gain and Tau 0 where no bend could be fitted
	USlope, UGain           float64
	Chi2                    float64 // of the form named
	N                       int     // readings used
}

// At is the fitted pressure, Pa, at t, s.
func (r Rise) At(t float64) float64 {
	p := r.Start + r.Slope*t
	if r.Tau > 0 {
		p += r.Gain * -math.Expm1(-t/r.Tau)
	}
	return p
}

// Settle is how long after isolation readings are left out, s: temperature and
// pressure are still evening out (common practice, no source).
const Settle = 120

// Fewest readings: for a straight line, and for one with a bend.
const (
	minLine = 3
	minBend = 5
)

// Fit fits readings of a rise: times since isolation, s, rising, and absolute
// pressures, Pa, each repeatable to a standard deviation abs + rel p (calibration
// is not meant: it cancels in the shape). Readings before Settle are left out if
// enough remain. Where the readings scatter more than that, the uncertainties are
// widened in proportion.
func Fit(t, p []float64, abs, rel float64) (Rise, error) {
	if len(t) != len(p) || len(t) < minLine || len(t) > 100_000 {
		return Rise{}, fmt.Errorf("vacuum: %d times and %d pressures; allowed the same number, %d to 100000", len(t), len(p), minLine)
	}
	if !(abs > 0 && rel >= 0) || math.IsInf(abs+rel, 0) {
		return Rise{}, fmt.Errorf("vacuum: readings repeatable to %g Pa + %g of themselves; allowed above 0 and from 0", abs, rel)
	}
	for i := range t {
		if !(t[i] >= 0 && t[i] < 1e7 && p[i] >= 0 && p[i] < 5e4) || i > 0 && !(t[i] > t[i-1]) {
			return Rise{}, fmt.Errorf("vacuum: reading %d is %g Pa at %g s; allowed 0 to 50 kPa, times rising from 0", i+1, p[i], t[i])
		}
	}
	cut := 0
	for cut < len(t) && t[cut] < Settle {
		cut++
	}
	if len(t)-cut >= minBend {
		t, p = t[cut:], p[cut:]
	}
	f := fitter{t: t, p: p, w: make([]float64, len(t))}
	for i, v := range p {
		f.w[i] = 1 / (abs + rel*v)
	}
	flat, _ := f.solve(false, 0)
	line, err := f.solve(true, 0)
	if err != nil {
		return Rise{}, err
	}
	out := Rise{N: len(t)}
	score, best := flat.chi2+2, flat
	choose := func(form Form, s solution, constants float64) {
		if v := s.chi2 + 2*constants; v < score {
			score, out.Form, best = v, form, s
		}
	}
	if line.slope > 0 {
		choose(Leak, line, 2)
	}
	full := line
	if len(t) >= minBend {
		moist, okM := f.bend(false)
		both, okB := f.bend(true)
		if okM && moist.gain > 0 {
			choose(Moisture, moist, 3)
		}
		if okB && both.gain > 0 && both.slope > 0 {
			choose(Both, both, 4)
		}
		switch {
		case okB && both.gain > 0 && both.slope >= 0:
			full = both
		case out.Form == Moisture && okB:
			// The best slope falls, which no leak does: none, as well as this can tell.
			full = moist
			full.uSlope = both.uSlope
		case out.Form == Moisture:
			full = moist
			full.uSlope = line.uSlope
		case okB:
			full.uSlope, full.uGain = max(line.uSlope, both.uSlope), both.uGain
		}
	}
	if full.slope < 0 {
		full.start, full.slope = flat.start, 0
	}
	out.Start, out.Slope, out.Gain, out.Tau, out.USlope, out.UGain, out.Chi2 = full.start, full.slope, full.gain, full.tau, full.uSlope, full.uGain, best.chi2
	return out, nil
}

type fitter struct{ t, p, w []float64 }

type solution struct {
	start, slope, gain, tau float64
	uSlope, uGain           float64
	chi2                    float64
}

// solve fits what is linear: start, slope if asked, gain if tau is above 0, by
// normal equations whose columns all run from 0 to about 1. Uncertainties are
// widened where the readings scatter more than they should.
func (f *fitter) solve(slope bool, tau float64) (solution, error) {
	scale := f.t[len(f.t)-1]
	n := 1
	if slope {
		n++
	}
	if tau > 0 {
		n++
	}
	row := func(t float64) (c [3]float64) {
		c[0] = 1
		k := 1
		if slope {
			c[k] = t / scale
			k++
		}
		if tau > 0 {
			c[k] = -math.Expm1(-t / tau)
		}
		return c
	}
	// Lower triangle of the normal matrix, beside it the right-hand side.
	var a [3][3]float64
	var b [3]float64
	for i, t := range f.t {
		c, w := row(t), f.w[i]*f.w[i]
		for j := range n {
			for k := range j + 1 {
				a[j][k] += c[j] * c[k] * w
			}
			b[j] += c[j] * f.p[i] * w
		}
	}
	var l, inv [3][3]float64 // Cholesky factor and its inverse
	for j := range n {
		for k := range j + 1 {
			v := a[j][k]
			for m := range k {
				v -= l[j][m] * l[k][m]
			}
			if j != k {
				l[j][k] = v / l[k][k]
			} else if v > 1e-12*a[j][j] {
				l[j][j] = math.Sqrt(v)
			} else {
				return solution{}, fmt.Errorf("vacuum: the %d readings do not fix %d constants", len(f.t), n)
			}
		}
	}
	for j := range n {
		inv[j][j] = 1 / l[j][j]
		for k := range j {
			v := 0.0
			for m := k; m < j; m++ {
				v -= l[j][m] * inv[m][k]
			}
			inv[j][k] = v / l[j][j]
		}
	}
	var x, y, variance [3]float64
	for j := range n {
		for k := range j + 1 {
			y[j] += inv[j][k] * b[k]
		}
	}
	for j := range n {
		for k := j; k < n; k++ {
			x[j] += inv[k][j] * y[k]
			variance[j] += inv[k][j] * inv[k][j]
		}
	}
	s := solution{start: x[0], tau: tau}
	for i, t := range f.t {
		c := row(t)
		r := (f.p[i] - x[0] - c[1]*x[1] - c[2]*x[2]) * f.w[i]
		s.chi2 += r * r
	}
	widen := 1.0
	if dof := len(f.t) - n; dof > 0 {
		widen = max(1, s.chi2/float64(dof))
	}
	if slope {
		s.slope, s.uSlope = x[1]/scale, math.Sqrt(variance[1]*widen)/scale
	}
	if tau > 0 {
		s.gain, s.uGain = x[n-1], math.Sqrt(variance[n-1]*widen)
	}
	return s, nil
}

// bend searches the time constant, from a quarter of the first step to three
// times the whole stretch, and adds its doubt to the others.
func (f *fitter) bend(slope bool) (solution, bool) {
	n := len(f.t)
	lo, hi := math.Log((f.t[1]-f.t[0])/4), math.Log((f.t[n-1]-f.t[0])/2)
	at := func(l float64) float64 {
		s, err := f.solve(slope, math.Exp(l))
		if err != nil {
			return math.Inf(1)
		}
		return s.chi2
	}
	const steps = 24
	best, arg := math.Inf(1), lo
	for i := range steps + 1 {
		l := lo + (hi-lo)*float64(i)/steps
		if v := at(l); v < best {
			best, arg = v, l
		}
	}
	if math.IsInf(best, 1) {
		return solution{}, false
	}
	const golden = 0.6180339887498949
	a, b := max(lo, arg-(hi-lo)/steps), min(hi, arg+(hi-lo)/steps)
	for range 20 {
		x, y := b-golden*(b-a), a+golden*(b-a)
		if at(x) < at(y) {
			b = y
		} else {
			a = x
		}
	}
	tau := math.Exp((a + b) / 2)
	s, err := f.solve(slope, tau)
	if err != nil {
		return s, false
	}
	// A bend and a slope stand in for one another, so their doubt is read off the
	// profile of chi-squared: as far as each reaches at 4 above the least, halved.
	free := n - 3 // constants: start, gain, tau
	if slope {
		free--
	}
	reach := 4 * max(1, s.chi2/float64(max(1, free)))
	least := s
	for i := range steps + 1 {
		p, err := f.solve(slope, math.Exp(lo+(hi-lo)*float64(i)/steps))
		if err != nil || p.chi2 > least.chi2+reach {
			continue
		}
		// p's own uncertainties are widened already where p fits badly.
		own := math.Sqrt((reach - (p.chi2 - least.chi2)) / max(1, p.chi2/float64(free+1)))
		s.uSlope = max(s.uSlope, (math.Abs(p.slope-least.slope)+own*p.uSlope)/2)
		s.uGain = max(s.uGain, (math.Abs(p.gain-least.gain)+own*p.uGain)/2)
	}
	return s, true
}
