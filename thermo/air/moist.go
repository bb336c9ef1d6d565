package air

import (
	"fmt"
	"math"
)

// Limits of this package's functions.
const (
	Tmin = 173.15 // K, of the saturation equations
	Tmax = 473.15
	Pmin = 10e3 // Pa, of a site's air
	Pmax = 200e3
)

const (
	zero      = 273.15   // K at 0 degC
	triple    = 273.16   // K, where ice gives way to water
	ratio     = 0.621945 // molar masses, water over dry air
	dryGas    = 287.042  // J/(kg K), gas constant of dry air
	dryCp     = 1006.0   // J/(kg K)
	vapourCp  = 1860.0
	latent0   = 2501e3 // J/kg, evaporation at 0 degC
	waterCp   = 4186.0
	sublime0  = 2830e3
	iceCp     = 2100.0
	maxW      = 10.0 // kg/kg: beyond any air a person breathes
	volumeByW = 1.607858
)

func check(what string, x, lo, hi float64, unit string) error {
	if x >= lo && x <= hi {
		return nil
	}
	return fmt.Errorf("air: %s of %.6g %s is outside %g to %g %s", what, x, unit, lo, hi, unit)
}

// SatPressure is the saturation pressure of water, Pa, at temperature T, K,
// for 173.15 <= T <= 473.15: over ice below the triple point, over liquid
// water above. Hyland and Wexler 1983; ASHRAE Handbook Fundamentals 2017,
// chapter 1, equations 5 and 6.
func SatPressure(T float64) (float64, error) {
	if err := check("temperature", T, Tmin, Tmax, "K"); err != nil {
		return 0, err
	}
	return math.Exp(lnSat(T)), nil
}

func lnSat(T float64) float64 {
	if T < triple {
		return -5.6745359e3/T + 6.3925247 + T*(-9.677843e-3+T*(6.2215701e-7+T*(2.0747825e-9-9.484024e-13*T))) + 4.1635019*math.Log(T)
	}
	return -5.8002206e3/T + 1.3914993 + T*(-4.8640239e-2+T*(4.1764768e-5-1.4452093e-8*T)) + 6.5459673*math.Log(T)
}

// A State is moist air: dry-bulb temperature T (K), pressure P (Pa) and
// humidity ratio W (kg water per kg dry air). Make one with Moist, FromRH,
// FromWetBulb or FromDewPoint, which check it.
type State struct{ T, P, W float64 }

// Moist is air of humidity ratio W (kg/kg dry air) at T (K) and p (Pa). It
// refuses air holding more water than saturates it.
func Moist(T, W, p float64) (State, error) {
	if err := site(T, p); err != nil {
		return State{}, err
	}
	if err := check("humidity ratio", W, 0, maxW, "kg/kg"); err != nil {
		return State{}, err
	}
	s := State{T, p, W}
	if rh := s.RH(); rh > 1+1e-9 {
		return State{}, fmt.Errorf("air: humidity ratio %.6g at %.6g K and %.6g Pa is %.4g times saturation", W, T, p, rh)
	}
	return s, nil
}

func site(T, p float64) error {
	if err := check("temperature", T, Tmin, Tmax, "K"); err != nil {
		return err
	}
	return check("pressure", p, Pmin, Pmax, "Pa")
}

// fromVapour makes air of water vapour pressure pv. Chapter 1, equation 20.
func fromVapour(T, pv, p float64) (State, error) {
	W := ratio * pv / (p - pv)
	if !(pv < p) || W > maxW {
		return State{}, fmt.Errorf("air: a vapour pressure of %.6g Pa in air of %.6g Pa is more than %g kg/kg", pv, p, maxW)
	}
	return State{T, p, W}, nil
}

// FromRH is air of relative humidity rh (0 to 1) at T (K) and p (Pa).
// Chapter 1, equations 12 and 20.
func FromRH(T, rh, p float64) (State, error) {
	if err := site(T, p); err != nil {
		return State{}, err
	}
	if err := check("relative humidity", rh, 0, 1, "of saturation"); err != nil {
		return State{}, err
	}
	return fromVapour(T, rh*math.Exp(lnSat(T)), p)
}

// FromDewPoint is air of dew (frost) point Td (K) at T (K) and p (Pa), Td <= T.
func FromDewPoint(T, Td, p float64) (State, error) {
	if err := site(T, p); err != nil {
		return State{}, err
	}
	if err := check("dew point", Td, Tmin, T, "K"); err != nil {
		return State{}, err
	}
	return fromVapour(T, math.Exp(lnSat(Td)), p)
}

// FromWetBulb is air of thermodynamic wet bulb Twb (K) at T (K) and p (Pa),
// Twb <= T. A sling or aspirated wet bulb reads it nearly. It refuses a wet
// bulb lower than dry air would give. Chapter 1, equations 33 and 35.
func FromWetBulb(T, Twb, p float64) (State, error) {
	if err := site(T, p); err != nil {
		return State{}, err
	}
	if err := check("wet bulb", Twb, Tmin, T, "K"); err != nil {
		return State{}, err
	}
	W, ok := wetBulbRatio(T, Twb, p)
	if !ok || W > maxW {
		return State{}, fmt.Errorf("air: a wet bulb of %.6g K boils water at %.6g Pa", Twb, p)
	}
	if W < 0 {
		return State{}, fmt.Errorf("air: a wet bulb of %.6g K is lower than even dry air at %.6g K and %.6g Pa gives", Twb, T, p)
	}
	return State{T, p, W}, nil
}

// wetBulbRatio is the humidity ratio of air at T whose wet bulb is Twb.
func wetBulbRatio(T, Twb, p float64) (W float64, ok bool) {
	ps := math.Exp(lnSat(Twb))
	if !(ps < p) {
		return 0, false
	}
	t, ts, ws := T-zero, Twb-zero, ratio*ps/(p-ps)
	if ts >= 0 {
		return ((latent0-(waterCp-vapourCp)*ts)*ws - dryCp*(t-ts)) / (latent0 + vapourCp*t - waterCp*ts), true
	}
	return ((sublime0-(iceCp-vapourCp)*ts)*ws - dryCp*(t-ts)) / (sublime0 + vapourCp*t - iceCp*ts), true
}

// VapourPressure is the partial pressure of water vapour, Pa.
func (s State) VapourPressure() float64 { return s.P * s.W / (ratio + s.W) }

// RH is the relative humidity, 0 to 1. Chapter 1, equation 12.
func (s State) RH() float64 { return s.VapourPressure() / math.Exp(lnSat(s.T)) }

// H is the enthalpy, J per kg of dry air, from 0 degC. Chapter 1, equation 30.
func (s State) H() float64 {
	t := s.T - zero
	return dryCp*t + s.W*(latent0+vapourCp*t)
}

// V is the volume, m3 per kg of dry air. Chapter 1, equation 26.
func (s State) V() float64 { return dryGas * s.T * (1 + volumeByW*s.W) / s.P }

// Rho is the density of the moist air, kg/m3. Chapter 1, equation 11.
func (s State) Rho() float64 { return (1 + s.W) / s.V() }

// DewPoint is the temperature, K, at which the air's water begins to condense
// or freeze on cooling at constant pressure. Below 173.15 K, for nearly dry
// air, it is an error.
func (s State) DewPoint() (float64, error) {
	pv := s.VapourPressure()
	if !(pv >= math.Exp(lnSat(Tmin))) {
		return 0, fmt.Errorf("air: dew point of %.3g kg/kg is below %g K", s.W, Tmin)
	}
	target := math.Log(pv)
	lo, hi := Tmin, min(s.T, Tmax)
	for hi-lo > 1e-10 {
		if mid := lo + (hi-lo)/2; lnSat(mid) < target {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, nil
}

// WetBulb is the thermodynamic wet bulb, K, found by bisection of equations 33
// (water) and 35 (ice). The two overlap by up to half a kelvin around 0 degC,
// where a wick may be wet or frozen; the wet one is returned if there is one.
func (s State) WetBulb() (float64, error) {
	lo, hi := Tmin, s.T
	if hi >= zero {
		if W, ok := wetBulbRatio(s.T, zero, s.P); ok && W <= s.W {
			lo = zero
		} else {
			hi = math.Nextafter(zero, 0)
		}
	}
	for hi-lo > 1e-10 {
		mid := lo + (hi-lo)/2
		if W, ok := wetBulbRatio(s.T, mid, s.P); ok && W < s.W {
			lo = mid
		} else {
			hi = mid
		}
	}
	if lo == Tmin {
		return 0, fmt.Errorf("air: wet bulb is below %g K", Tmin)
	}
	return hi, nil
}

// SensibleFactor is the sensible heat carried by a cubic metre of this air per
// kelvin, J/(m3 K): the factor 1.08 of the trade (Btu/h per cfm and degF) where
// it is really 1.08. Sensible heat = SensibleFactor x airflow x temperature
// difference, with the airflow measured at this state.
func (s State) SensibleFactor() float64 { return s.Cp() / s.V() }

// TotalFactor is the dry air in a cubic metre of this air, kg/m3: the factor
// 4.5 of the trade (lb/h per cfm). Total heat = TotalFactor x airflow x
// enthalpy difference.
func (s State) TotalFactor() float64 { return 1 / s.V() }
