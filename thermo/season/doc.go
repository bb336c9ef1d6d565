// Package season finds what a cooling machine takes and delivers over a season
// of weather, by temperature bins.
//
// The method is that of AHRI 210/240 and of 10 CFR 430 subpart B appendix M, as
// a second place restates them; neither text was read. The load of a house is a
// straight line over the outdoor temperature; capacity and power of each stage
// are straight lines through two tests. One stage cycles to meet the load and
// loses by it; two stages cycle on the low one, alternate without loss where the
// load lies between them, and run on the high one where it lies above.
//
// Temperatures are in K, capacities and powers in W. Results are means over the
// hours of the season; times its hours they are energies.
package season
