package vacuum

import (
	"fmt"
	"math"
)

// Triple is water's triple point: below its pressure no liquid water lasts.
const (
	TripleT = 273.16  // K
	TripleP = 611.657 // Pa
)

// The range of [WaterPressure], K.
const (
	waterMin = 180.0
	waterMax = 373.15
)

// WaterPressure is the vapour pressure of water, Pa, at T, K, from 180 to 373.15:
// over liquid by W. Wagner and A. Pruss (IAPWS SR1-86), over ice by IAPWS R14-08
// of 2011; constants of both from memory, agreeing with the check points tested.
func WaterPressure(T float64) (float64, error) {
	if !(T >= waterMin && T <= waterMax) {
		return 0, fmt.Errorf("vacuum: water at %g K; allowed %g to %g K", T, waterMin, waterMax)
	}
	return waterPressure(T), nil
}

func waterPressure(T float64) float64 {
	if T < TripleT {
		x := T / TripleT
		s := -21.2144006*math.Pow(x, 0.00333333333) + 27.3203819*math.Pow(x, 1.20666667) - 6.1059813*math.Pow(x, 1.70333333)
		return TripleP * math.Exp(s/x)
	}
	const tc, pc = 647.096, 22.064e6
	x := 1 - T/tc
	s := -7.85951783*x + 1.84408259*math.Pow(x, 1.5) - 11.7866497*x*x*x + 22.6807411*math.Pow(x, 3.5) - 15.9618719*x*x*x*x + 1.80122502*math.Pow(x, 7.5)
	return pc * math.Exp(tc/T*s)
}

// WaterBoils is the temperature, K, at which water boils or ice sublimes at p, Pa:
// the inverse of [WaterPressure], for pressures within its range.
func WaterBoils(p float64) (float64, error) {
	if lo, hi := waterPressure(waterMin), waterPressure(waterMax); !(p >= lo && p <= hi) {
		return 0, fmt.Errorf("vacuum: water at %g Pa; allowed %.2g to %.0f Pa", p, lo, hi)
	}
	a, b := waterMin, waterMax
	for range 60 {
		if m := (a + b) / 2; waterPressure(m) < p {
			a = m
		} else {
			b = m
		}
	}
	return (a + b) / 2, nil
}

// Ice tells what water, if there is any, does at a pressure.
type Ice struct {
	Plateau float64 // Pa: where water at the coldest part holds the pressure until it is gone
	Boils   float64 // K: to which boiling water cools itself
	Freezes bool    // boiling water cools itself to ice
	Frozen  bool    // the coldest part is at or below freezing already
}

// AtVacuum tells what water does at p, Pa, where the coldest part has T, K.
func AtVacuum(p, T float64) (Ice, error) {
	plateau, err := WaterPressure(T)
	if err != nil {
		return Ice{}, err
	}
	boils, err := WaterBoils(p)
	if err != nil {
		return Ice{}, err
	}
	return Ice{Plateau: plateau, Boils: min(boils, T), Freezes: p < TripleP, Frozen: T < TripleT}, nil
}

// Water is the mass, kg, of water vapour at p, Pa, in a volume, m3, at T, K: ideal
// gas, which water vapour below 2 kPa departs from by less than 0.2 %. Water that
// is still bound or frozen does not show.
func Water(volume, p, T float64) (float64, error) {
	if !(volume > 0 && p >= 0 && T > 0) || math.IsInf(volume+p+T, 0) {
		return 0, fmt.Errorf("vacuum: water vapour of %g Pa in %g m3 at %g K; allowed above 0, pressure from 0", p, volume, T)
	}
	const molar, r = 18.015268e-3, 8.314462618
	return p * volume * molar / (r * T), nil
}
