// Package cycle is a small steady-state model of a split air conditioner: what a
// machine of given parts and charge does in given weather.
//
// The idea. Four numbers describe the state: the evaporating and condensing
// pressures, how far the gas leaves the evaporator superheated and how far the
// liquid leaves the condenser subcooled. Four balances fix them:
//
//	compressor pumps what the metering device passes
//	the evaporator's two zones (boiling, superheating) fill its surface
//	the condenser's three zones (cooling gas, condensing, cooling liquid) fill its surface
//	the refrigerant in all parts adds up to the charge
//
// The last can be traded for a wanted subcooling or superheat, which then tells
// the charge ([Machine.Charged]). The balances are solved by a damped Newton
// method; energy then closes as far as they do.
//
// Parts. The compressor is a ten-coefficient map with the density correction of
// package compressor. Each zone of an exchanger is a row in cross flow with air
// that enters everywhere at the same state, so that its effectiveness is
// 1 - exp(-NTU) on the air side and the refrigerant decays exponentially along
// it. The evaporator's wet surface is driven by enthalpy (Threlkeld 1970; Braun,
// Klein and Mitchell 1989: effectiveness with a saturation specific heat; both
// from memory). The thermostatic valve opens in proportion to superheat above a
// static setting, up to its full bore; the fixed device is an orifice that chokes
// at a share of the saturation pressure of the liquid before it. Two-phase
// density uses a slip ratio (rho_f/rho_g)^n, n = 1/3 after Zivi 1964 (from
// memory).
//
// A fault is a change of one number: see [Fault]. The model leaves out oil,
// accumulator and uneven air, so its numbers are typical, not any machine's; it
// serves to compare, to expect and to test, not to rate.
//
// SI throughout: K, Pa absolute, kg, kg/s, W, W/K, m3.
package cycle
