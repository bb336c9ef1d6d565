// Package circuit turns the readings at a running machine into what they say
// about its refrigerant: saturation temperatures, superheat, subcooling, the
// corner points of the cycle, and what it delivers for what it draws.
//
// The idea. Five readings fix a cycle. Suction pressure and temperature give
// point 1, discharge pressure and temperature point 2, liquid pressure and
// temperature point 3, and since a valve neither heats nor works, point 4 has
// the enthalpy of 3 at suction pressure.
//
//	1  suction gas at the compressor      superheat  = T1 - Tdew(p1)
//	2  discharge gas
//	3  liquid at the outdoor unit         subcooling = Tbubble(p3) - T3
//	4  after the metering device          h4 = h3
//
// A blend boils and condenses over a glide, so there are two saturation
// temperatures at each pressure. Superheat is always reckoned from the dew line
// and subcooling from the bubble line.
//
// Close to a saturation line a pressure and a temperature no longer tell the
// enthalpy, so the phase is decided before one is read, with the doubt of both
// readings: [Gas] and [Liquid] give a state only where the reading lies clear of
// the line by [Coverage] standard uncertainties, and a [PhaseError] elsewhere that
// says how near it is and which reading would settle it.
//
// SI throughout: K, Pa absolute, J/kg, W, m, m3/s, kg/m3. The package holds no
// limits and judges nothing.
package circuit
