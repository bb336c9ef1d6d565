// Package supply reckons what the electrical side of a single-stage outdoor
// unit must show, from dead circuit to running unit: windings, insulation,
// contacts, coils, capacitors, conductors, overcurrent protection, voltage,
// and the currents of the compressor's three leads.
//
// The idea. Each quantity is a plain function of numbers, so that a caller can
// push the doubt of its instruments through it; each judgement is a [Check],
// plain data that carries the value, the limits it was held against, the rule
// in words, where the rule comes from and how far to trust that. Limits are
// never in this code: they are the tables and rules of assets/electrical,
// loaded once by [Load]. A Check says what was checked and what came out. It
// never says that a circuit is safe, and the code edition adopted locally
// governs over anything here.
//
// Notation. C, S, R are the compressor's common, start and run terminals;
// R(C-S) the resistance between two of them. RLA is rated-load current, BCSC
// branch-circuit selection current, LRA locked-rotor current, MCA minimum
// circuit ampacity, MOCP maximum overcurrent protection. SI throughout: V, A,
// ohm, F, Hz, W, VA, m, K, s; gauges are the strings "14" to "1/0"; tolerances
// and fractions are 1-based (0.06 is 6 %). Phasors are complex128, peak
// convention of no matter: magnitudes are RMS, the reference is line voltage.
//
// A zero field in the input structs means not known. An input that cannot be a
// reading (NaN, infinite, negative, zero where a quotient needs it) is a
// [RangeError] that names the quantity and the allowed range. A limit reached is
// a limit kept.
//
// Where to start: [Tables.OldNew] for the parts that a new compressor changes,
// [Tables.CheckWindings] and [IdentifyPins] for the dead circuit, [LeadClosure]
// and [LeadPhasors] for the running one. A single reading against its limit is
// judged where findings are, not here.
package supply
