// Package cause says what failed in a compressor, as far as the evidence goes, and
// what follows from it.
//
// The idea. Each kind of failure, and that there is none, is an explanation. What a
// careful technician finds is sorted into observations ([Observe]), each of which is
// commoner with some kinds than with others; Bayes' rule weighs them ([Examine]). An
// observation not made says nothing, and costs certainty. Observations that go
// together are made one (the colour of oil, its smell and its acid are one word on
// contamination), for counted apart they would say the same thing three times.
//
// Ranking is not condemning. A compressor is called dead only where the ranking is
// all but sure and something final was seen, made again where it could have been a
// lead or a capacitor; it is called not dead only where it ran and pumped, whole and
// insulated, and what kept it from running was found outside it. In between the
// package says what to do next.
//
// How often each finding goes with each kind is judgement (assets/limits/cause.json),
// no source; how well that does on invented failures of another make is tested.
//
// SI: V, ohm, F, K, kg, A.
package cause
