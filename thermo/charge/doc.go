// Package charge reckons what a unit should hold after its lines, drier, compressor
// or other volumes have changed, and how to go on to the target.
//
// The idea. The plate's charge covers an included length of line. Every part more
// or less than that takes its volume times the density of what fills it:
//
//	m = m_plate + sum of V rho
//
// [Build] is that sum for the liquid line and added volumes. [Plate], [LiquidLine],
// [SuctionLine], [Volume], [Mixed] and [Change] give the terms one by one with
// their doubt, bounds where something is not known, and [Sum] adds them up; the two
// densities act on all terms at once. [Compare] holds a weighing against it: it
// agrees only where that is shown.
//
// The rest is decided by subcooling or superheat. [Trim] learns from each settled
// reading how this unit answers to refrigerant and gives the next amount, never so
// much that the band is passed with more than a small likelihood.
//
// SI throughout: kg, m, m3, kg/m3, K.
package charge
