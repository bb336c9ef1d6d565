// Package target finds what a reading ought to be: the superheat of a fixed
// metering device from indoor wet bulb and outdoor dry bulb, the split between
// return and supply air, and the weather within which such a check means
// anything.
//
// The numbers are data, read from JSON with their source and the confidence it
// deserves; [Load] reads the set that the program ships. The superheat table is
// interpolated linearly in both directions and never extended: a square of four
// cells of which one that counts is blank has no target. Every target carries a
// doubt, because the tables shipped are recalled and not read.
//
// Temperatures are in K, temperature differences in K.
package target
