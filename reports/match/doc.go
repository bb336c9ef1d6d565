// Package match holds compressors that could be fitted against the unit that stays:
// does it fit, and what does it do there.
//
// The idea. A compressor alone has no capacity: it has one with the coils, in the
// weather. So every candidate is put into the machine model of package cycle, whose
// coils are those of a usual unit of the old one's plate capacity, and is asked what it
// evaporates at, condenses at, delivers and draws, over the weather of the place
// ([Balance]). Its own figures enter as a map of ten coefficients, or, where there is
// none, as a usual compressor scaled to its one rating point, which is then as good as
// that. All other questions (refrigerant, oil, supply, pressures, conductors, start)
// are asked one by one and answered in words: fits, does not fit, not known, or a note
// ([Judge]). Nothing is hidden behind one score: candidates that do not fit stand last
// with their reasons ([Rank]).
//
// Limits that are common practice stand as such beside the answer.
//
// SI: W, K, Pa absolute (gauge where a name says so), V, A, F, kg, m.
package match
