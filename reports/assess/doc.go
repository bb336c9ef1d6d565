// Package assess turns a record into findings: pure, deterministic, the same
// record giving the same findings byte for byte.
//
// A finding is one derived quantity with its standard uncertainty, the band
// that it is held against, a verdict, the source of the band, and the next
// step in one line. Each has a rule in this package (what it needs, how it is
// computed, which band applies) and a row of data in assets/limits (the
// numbers, their source and how far to trust it, the advice). The computing
// itself is done by thermo and wiring; the doubt is carried by uncertainty.
//
// Notation: values are SI; T temperature K, p pressure Pa absolute, u standard
// uncertainty, U = k u expanded. Superheat is reckoned from the dew line,
// subcooling from the bubble line.
package assess
