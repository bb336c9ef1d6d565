// Package vacuum follows a circuit from the pump's start to the word on its vacuum.
//
// Pull-down. [FitPullDown] finds the pump's speed at the circuit, what is given off,
// the plateau at which water boils, and the time still needed.
//
// Isolated. What may raise the pressure has a shape:
//
//	a leak               a straight line: inflow is choked while it is below half an atmosphere
//	walls                the rate fades as one over the time since pumping began, or nearly
//	refrigerant in oil   the rate fades as the root of that time: it diffuses out of a depth
//	water                tends to an end at or below its vapour pressure, by one or two time constants
//
// [Judge] weighs sums of these against one another by how well and how simply they
// explain the readings, with the gauge's scatter and with temperature let wander
// about the whole; it says tight, leaking, wet (something boils off: water and
// refrigerant out of oil look much alike, and which is likelier is told apart as a
// likelihood only), or wait and how long. While something boils off a leak is
// neither found nor excluded before the test is two time constants long. Tight
// takes more certainty than a word that sends the technician back to work.
//
// Water. [WaterPressure], [WaterBoils] and [AtVacuum] tell where water boils, holds
// the pressure and freezes. A leak's rate ([Inflow]) and a mass of water ([Water])
// need the free volume.
//
// SI throughout: Pa absolute, K, s, m3.
package vacuum
