// Package demo makes up jobs to try the program on: invented throughout, marked
// as demonstrations wherever they show, and physically consistent. Pressures
// come from the equations of state at a chosen evaporating and condensing
// temperature, the discharge from an isentropic efficiency, the capacitor's
// current from its capacitance, the nitrogen's pressure from its temperature.
// Readings are then rounded to what an instrument shows.
//
// The same seed and number give the same job, byte for byte. Some jobs have a
// finding outside its limits, some lack entries, some come back unsigned.
package demo
