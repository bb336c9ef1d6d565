// Package vacuum judges how a closed circuit keeps a pressure: nitrogen above the
// atmosphere, and the slow rise of an isolated vacuum.
//
// Nitrogen. At constant volume the absolute pressure follows the absolute
// temperature, p2 = p1 T2 / T1; what is missing after that has left.
//
// Vacuum. A leak lets in a constant flow for as long as the pressure inside stays
// below about half an atmosphere, so the pressure rises in a straight line. Water
// that boils off drives the pressure towards an equilibrium, so the rise flattens:
//
//	p(t) = a + b t + c (1 - exp(-t/tau))
//
// b tells of a leak, c and tau of moisture. [Fit] finds all four by weighted least
// squares with their uncertainties, and names the simplest of the forms flat,
// leak, moisture and both that explains the readings (least chi-squared plus two
// for each constant: Akaike 1974, from memory). Refrigerant that comes out of oil
// looks like moisture.
//
// SI throughout: Pa absolute, K, s, m3.
package vacuum
