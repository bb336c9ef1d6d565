// Package charge reckons what a unit should hold after its lines, drier or other
// volumes have changed.
//
// The idea. The plate's charge covers an included length of liquid line. Every
// metre more, and every free volume added on the liquid side, takes its volume
// times the density of the liquid:
//
//	m = m_plate + ((L - L_included) pi d^2/4 + V_added) rho
//
// A conversion changes compressor volume and oil too, which this sum cannot
// know: it is where to begin, and subcooling or superheat decide the rest.
//
// SI throughout: kg, m, m3, kg/m3.
package charge
