// Package hold judges a circuit left to stand under nitrogen.
//
// The idea. At constant volume and mass the pressure follows the temperature,
// p2 = Z(T2, rho) R T2 rho / M with the density of the first reading; what is
// missing after that has left. Both readings come from one gauge, so its span and
// zero all but cancel and its repeatability and resolution do not. [Judge] says
// one of four things: a loss is shown; no loss larger than the one that matters
// is possible; the readings are too coarse to tell; there is more pressure than
// temperature explains. A loss that would matter has to be stated: with none
// stated nothing can be shown to agree.
//
// A loss that could hide in the doubt is a leak: [Smallest] tells how large, [Wait]
// how long to stand until a leak of a chosen size would show, [Refrigerant] what
// the same hole passes of the job's refrigerant, between the bounds of viscous and
// of molecular flow.
//
// SI throughout: Pa absolute, K, s, m3, kg, mol.
package hold
