// Package compressor evaluates the ten-coefficient map by which a compressor's
// maker publishes what it pumps and draws.
//
// The idea. At saturation (dew) temperatures S at suction and D at discharge,
// each of mass flow, power, current and capacity is the cubic
//
//	X = C1 + C2 S + C3 D + C4 S^2 + C5 S D + C6 D^2
//	  + C7 S^3 + C8 D S^2 + C9 S D^2 + C10 D^3
//
// (the form of ANSI/AHRI 540; check the order of the mixed terms in any given
// data sheet, see [Order]). The coefficients mean nothing without the units
// they were fitted in, the superheat at which the compressor was rated, and the
// region of S and D that was rated; all of these travel with them in [Map].
// Outside that region a cubic says anything, so [Map.At] refuses.
//
// A machine seldom runs at the rated superheat. Colder or hotter suction gas is
// denser or thinner, and the mass flow follows the specific volume v by
//
//	m = m_map [1 + F (v_map / v - 1)],  F = 0.75
//
// (Dabiri and Rice 1981, as restated in the documentation of an open university
// heat-pump model; the paper itself was not read). The power follows the mass
// flow and the isentropic enthalpy rise dh_s:
//
//	W = W_map (m / m_map) (dh_s / dh_s,map)
//
// [Fit] makes a map from a table of ratings.
package compressor
