// Package air computes the air around the machine: the standard atmosphere
// and moist air as a mixture of perfect gases, after ASHRAE Handbook
// Fundamentals 2017, chapter 1, with the saturation pressure of Hyland and
// Wexler (1983).
//
// # Notation
//
// SI throughout: K, Pa absolute, m. t is a temperature in degC inside the
// handbook's equations, T in K everywhere else. pv is the partial pressure of
// water vapour, ps the saturation pressure, W the humidity ratio (kg water per
// kg dry air), t* the thermodynamic wet bulb. Enthalpy and volume are per kg
// of dry air, enthalpy counted from dry air at 0 degC and liquid water at
// 0 degC. Below the triple point saturation is that over ice, and the dew
// point is a frost point.
//
// The equations as used here were read in an open reference psychrometric
// library (MIT licence) that implements the same chapter, and are tested
// against the handbook values printed in its tests and against the library.
package air
