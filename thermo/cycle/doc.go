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
// static setting, from a bleed up to its full bore; it and the fixed device are orifices
// that choke at a share of the saturation pressure of the liquid before them. What
// flashes before the valve takes the liquid line's pressure with it. Two-phase
// density uses a slip ratio (rho_f/rho_g)^n, n = 1/3 after Zivi 1964 (from memory).
// Refrigerant also stands in the accumulator, if there is one, up to a level at
// which its bleed carries on what arrives, and is dissolved in the compressor's oil.
//
// A fault is a change of one number: see [Fault]; some come in more than one way
// ([Machine.Way]).
//
// What was fitted. The proportions of the typical machine (conductances, volumes,
// air flows, exponents, slip, the valve's reserve, range and bleed, the liquid
// line's drop, the shape of the compressor's efficiency) start from common practice
// and were then fitted together, for R-410A with a thermostatic valve, so that
// [Typical] follows two laboratories' curves of missing and of too much charge and of
// missing condenser air at 27.8 and 40.6 C outdoors, the average curves of capacity
// and power over weather and indoor air, and holds its superheat near 6.5 K from 67 F
// outdoors up. 35 C was left out of what the fit minimised. Some fitted numbers are effective rather than
// anatomical: the condenser's liquid zone conducts as well as it must, its UA hardly
// goes with air flow. Free, and drawn by [Random]: all of these about their fitted
// values, accumulator or none, line losses, gains, oil. The choke was set on the
// fixed bore so that superheat follows the published charging table over the weather; nothing
// else of the fixed bore was fitted, and the valve has the same choke. How well all this agrees is tested
// (TestPublished) and stands in README.
//
// To a unit at hand the model is fitted by [Fit]: what plate and paper leave open moves,
// as far as its prior doubt lets it, until the model shows what was read on the unit when
// it was known to be sound; what the readings leave open comes along as directions.
//
// The model leaves out uneven air and refrigerant, so its numbers are typical, not any
// machine's; it serves to compare, to expect and to test, not to rate.
//
// SI throughout: K, Pa absolute, kg, kg/s, W, W/K, m3.
package cycle
