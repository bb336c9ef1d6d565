package hold

import (
	"fmt"
	"math"
)

// A Reading is pressure, Pa absolute (gauge plus the site's barometer at the
// time), and the gas's temperature, K.
type Reading struct{ P, T float64 }

// cover is the factor from standard uncertainty to the 95 % interval (JCGM 100,
// clause 6.3, from memory).
const cover = 2

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

// A Gas is what leaks: molar mass, kg/mol, and viscosity, Pa s, of its vapour.
type Gas struct{ Molar, Viscosity float64 }

// A Hole's ends: pressure inside and outside, Pa absolute, temperature, K.
type Hole struct{ Inside, Outside, T float64 }

// Range is a pair of bounds.
type Range struct{ Low, High float64 }

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
// seconds could have seen: one whose loss reaches twice the standard uncertainty u,
// Pa, of the hold's change. Anything smaller may be there.
func Smallest(volume, u, seconds float64, at Reading, outside float64, gas Gas, run Hole) (Range, error) {
	rate, err := Rate(volume, cover*u, seconds, at)
	if err != nil {
		return Range{}, err
	}
	return Refrigerant(rate, Hole{at.P, outside, at.T}, gas, run)
}
