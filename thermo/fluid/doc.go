// Package fluid computes what a refrigerant does, from published equations of
// state: reduced Helmholtz energies with their mixture rules, never charts.
//
// # Notation
//
// The equation of state gives alpha(tau, delta) = a/(RT) as the sum of an
// ideal part alpha0 and a residual part alphar, with tau = Tr/T and
// delta = rho/rhor. All derivatives in this package are Euler derivatives,
// written here and in the code as
//
//	E f = delta df/d(delta)    D f = tau df/d(tau)
//
// because with them every property loses its stray powers:
//
//	p  = rho R T (1 + E ar)               h  = R T (1 + D(a0+ar) + E ar)
//	dp/drho = R T (1 + E ar + EE ar)      s  = R (D(a0+ar) - a0 - ar)
//	cv = -R (DD-D)(a0+ar)                 cp = cv + R (1+Ear-EDar)^2/(1+Ear+EEar)
//
// Mixtures are treated in molar concentrations c_i = x_i rho: the residual
// energy density is Psi(c) = rho alphar, so that ln f_i = ln(c_i R T) + dPsi/dc_i
// and p/(RT) = rho + sum c_i Psi_i - Psi. A pure fluid is the mixture of one.
//
// # Two lines, never one
//
// Every fluid has a bubble line (saturated liquid) and a dew line (saturated
// vapour). Subcooling is reckoned from the bubble line, superheat from the dew
// line. For pure fluids the two coincide in pressure; for blends they do not,
// and this package offers no mean of them.
//
//   - pure fluids: both lines from equal pressure and equal fugacity;
//   - pseudo-pure fluids (R-410A, R-407C): the two published line equations;
//   - blends (R-454B; R-410A/mixture, R-407C/mixture as a cross-check): the
//     overall composition in one phase, equal fugacities with the other.
//
// # Fast and direct
//
// BubbleP, DewT and the like read piecewise Chebyshev expansions built once
// per fluid, on first use, from the direct solution (after Bell and Alpert
// 2021, who call them superancillary equations). The functions with Direct in
// their name iterate the full equation. Both are safe for concurrent use.
//
// # Units and zero points
//
// SI throughout: K, Pa absolute, kg/m3, J/kg, J/(kg K), m/s. h and s count
// from the reference state of the published files: h = 200 kJ/kg and
// s = 1 kJ/(kg K) for saturated liquid at 0 degC (IIR) for pure and
// pseudo-pure fluids; blends are not zeroed again but count from their
// components' own IIR states. Fluid.Shift gives the difference to another
// convention.
package fluid
