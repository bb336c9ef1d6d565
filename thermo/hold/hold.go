package hold

import (
	"fmt"
	"math"
)

// A Reading is pressure, Pa absolute (gauge plus the site's barometer at the
// time), and the gas's temperature, K.
type Reading struct{ P, T float64 }

// Doubt is the standard uncertainty of what makes up the two readings.
type Doubt struct {
	Repeat     float64 // Pa, of one reading: what repeatability leaves
	Resolution float64 // Pa, the step of the display; the reading lies anywhere in one
	Span       float64 // relative, of both readings alike: gain of the one gauge
	Zero       float64 // Pa, of both readings alike: its zero, and a barometer taken once
	Barometer  float64 // Pa, by which the air may have changed unseen between them
	T          float64 // K, of one temperature against the gas, apart for each
	TBoth      float64 // K, of both temperatures alike
}

// Finding is what a hold shows.
type Finding int

// The findings.
const (
	TooCoarse Finding = iota // cannot be told with these readings
	Lost                     // a loss is shown
	NoLoss                   // no loss as large as the one that matters
	Gained                   // more pressure than temperature explains: check both readings
)

// String gives the finding in words.
func (f Finding) String() string {
	if f < TooCoarse || f > Gained {
		return "unknown"
	}
	return [...]string{"too coarse to tell", "loss shown", "no loss that matters", "more than temperature explains"}[f]
}

// cover is the factor from standard uncertainty to the 95 % interval (JCGM 100,
// clause 6.3, from memory).
const cover = 2

// Result is a judged hold, Pa.
type Result struct {
	Expected float64 // second pressure had nothing left
	Change   float64 // what was gained (above 0) or lost beyond that
	U        float64 // standard uncertainty of Change
	LossMax  float64 // largest loss that the readings allow: -Change + 2 U, not below 0
	Finding  Finding
}

// Change is what a hold gained (above 0) or lost, Pa, beyond what the temperature
// explains, real nitrogen at constant volume.
func Change(a, b Reading) (float64, error) {
	want, err := expected(a, b.T)
	if err != nil {
		return 0, err
	}
	if !(b.P >= 0 && b.P <= Pmax) {
		return 0, fmt.Errorf("hold: second reading %g Pa absolute; allowed 0 to %g Pa", b.P, Pmax)
	}
	return b.P - want, nil
}

func expected(a Reading, t float64) (float64, error) {
	rho, err := Density(a.T, a.P)
	if err != nil {
		return 0, err
	}
	return Pressure(t, rho)
}

// Judge judges two readings of one gauge against a loss that would matter, Pa;
// with 0 nothing can be shown to agree. Errors of Change, and doubts or losses
// below 0.
func Judge(a, b Reading, d Doubt, matters float64) (Result, error) {
	for _, v := range [...]float64{d.Repeat, d.Resolution, d.Span, d.Zero, d.Barometer, d.T, d.TBoth, matters} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return Result{}, fmt.Errorf("hold: doubt %+v, loss that matters %g Pa; allowed from 0", d, matters)
		}
	}
	change, err := Change(a, b)
	if err != nil {
		return Result{}, err
	}
	// Each source moves what it moves in both readings; slopes by difference.
	var v float64
	var bad error
	add := func(u float64, move func(x float64) (Reading, Reading)) {
		if u == 0 || bad != nil {
			return
		}
		p, q := move(u)
		hi, err := Change(p, q)
		if err != nil { // at the edge of the range: from the other side
			p, q = move(-u)
			hi, bad = Change(p, q)
		}
		v += (hi - change) * (hi - change)
	}
	single := math.Hypot(d.Repeat, d.Resolution/math.Sqrt(12))
	add(single, func(u float64) (Reading, Reading) { return Reading{a.P + u, a.T}, b })
	add(math.Hypot(single, d.Barometer), func(u float64) (Reading, Reading) { return a, Reading{b.P + u, b.T} })
	add(d.Span, func(u float64) (Reading, Reading) { return Reading{a.P * (1 + u), a.T}, Reading{b.P * (1 + u), b.T} })
	add(d.Zero, func(u float64) (Reading, Reading) { return Reading{a.P + u, a.T}, Reading{b.P + u, b.T} })
	add(d.T, func(u float64) (Reading, Reading) { return Reading{a.P, a.T + u}, b })
	add(d.T, func(u float64) (Reading, Reading) { return a, Reading{b.P, b.T + u} })
	add(d.TBoth, func(u float64) (Reading, Reading) { return Reading{a.P, a.T + u}, Reading{b.P, b.T + u} })
	if bad != nil {
		return Result{}, bad
	}
	r := Result{Expected: b.P - change, Change: change, U: math.Sqrt(v)}
	r.LossMax = max(0, -change+cover*r.U)
	switch {
	case change < 0 && change+cover*r.U < 0:
		r.Finding = Lost
	case change > 0 && change-cover*r.U > 0:
		r.Finding = Gained
	case matters > 0 && r.U > 0 && r.LossMax <= matters:
		r.Finding = NoLoss
	}
	return r, nil
}

// A Gas is what leaks: molar mass, kg/mol, and viscosity, Pa s, of its vapour.
type Gas struct{ Molar, Viscosity float64 }

// A Hole's ends: pressure inside and outside, Pa absolute, temperature, K.
type Hole struct{ Inside, Outside, T float64 }

// Range is a pair of bounds.
type Range struct{ Low, High float64 }

// year is the seconds of 365.25 days.
const year = 365.25 * 86400

// PerYear turns kg/s into g a year.
func PerYear(kgs float64) float64 { return kgs * 1e3 * year }

// Rate is the nitrogen, kg/s, that leaves a free volume, m3, where the pressure
// falls by loss, Pa, within a time, s, about the reading given. The mass follows
// from the densities before and after.
func Rate(volume, loss, seconds float64, at Reading) (float64, error) {
	if !(volume > 0 && loss >= 0 && loss < at.P && seconds > 0) || math.IsInf(volume+seconds, 0) {
		return 0, fmt.Errorf("hold: %g Pa lost of %g Pa in %g m3 and %g s; allowed volume and time above 0, loss from 0 to below the pressure", loss, at.P, volume, seconds)
	}
	a, err := Density(at.T, at.P)
	if err != nil {
		return 0, err
	}
	b, err := Density(at.T, at.P-loss)
	if err != nil {
		return 0, err
	}
	return volume * (a - b) / seconds, nil
}

// Refrigerant is the mass flow of the job's refrigerant, kg/s, as vapour through
// the hole that passed nitrogen kg/s in the test: between viscous flow,
//
//	m ~ M (p1^2 - p2^2) / (viscosity T)      (Poiseuille, from memory)
//
// and molecular flow,
//
//	m ~ (p1 - p2) (M / T)^0.5                (Knudsen, from memory)
//
// Liquid behind the hole loses more than either.
func Refrigerant(nitrogen float64, test Hole, gas Gas, run Hole) (Range, error) {
	ok := nitrogen >= 0 && gas.Molar > 0 && gas.Viscosity > 0 && !math.IsInf(nitrogen+gas.Molar+gas.Viscosity, 0)
	for _, h := range [...]Hole{test, run} {
		ok = ok && h.Inside > h.Outside && h.Outside >= 0 && h.T > 0 && !math.IsInf(h.Inside+h.T, 0)
	}
	if !ok {
		return Range{}, fmt.Errorf("hold: %g kg/s of nitrogen through %+v as %+v through %+v; allowed from 0, pressure inside above outside", nitrogen, test, gas, run)
	}
	sq := func(h Hole) float64 { return (h.Inside - h.Outside) * (h.Inside + h.Outside) / h.T }
	viscous := nitrogen * gas.Molar / molar * viscosity(test.T) / gas.Viscosity * sq(run) / sq(test)
	molecular := nitrogen * math.Sqrt(gas.Molar/molar*test.T/run.T) * (run.Inside - run.Outside) / (test.Inside - test.Outside)
	return Range{min(viscous, molecular), max(viscous, molecular)}, nil
}

// Smallest is the smallest leak of refrigerant, kg/s, that a hold of so many
// seconds could have seen: one whose loss reaches twice the uncertainty u
// (Result.U). Anything smaller may be there.
func Smallest(volume, u, seconds float64, at Reading, outside float64, gas Gas, run Hole) (Range, error) {
	rate, err := Rate(volume, cover*u, seconds, at)
	if err != nil {
		return Range{}, err
	}
	return Refrigerant(rate, Hole{at.P, outside, at.T}, gas, run)
}

// Wait is how long to stand, s, until a leak of so many kg/s of refrigerant would
// show: from the bound that passes the least nitrogen to the one that passes the
// most.
func Wait(leak, volume, u float64, at Reading, outside float64, gas Gas, run Hole) (Range, error) {
	if !(leak > 0) || math.IsInf(leak, 0) {
		return Range{}, fmt.Errorf("hold: leak of %g kg/s; allowed above 0", leak)
	}
	one, err := Smallest(volume, u, 1, at, outside, gas, run)
	if err != nil {
		return Range{}, err
	}
	return Range{one.Low / leak, one.High / leak}, nil
}
