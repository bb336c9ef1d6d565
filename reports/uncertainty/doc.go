// Package uncertainty carries the doubt of readings through to results, and
// decides when a result is too close to a limit to call.
//
// The idea. A result y = f(x) is computed from readings x_i, each known only
// to a standard uncertainty u_i. Shifting one reading at a time by its own
// u_i and looking at what happens to the results gives the contributions
//
//	z_i = (f(x_i + u_i) - f(x_i - u_i)) / 2 = c_i u_i
//
// (JCGM 100:2008, 5.1.3 note 2), and from them the covariance of the results
//
//	u(y_k, y_l) = sum_i sum_j z_ki r_ij z_lj
//
// (JCGM 100, 5.2.2 and H.2.3). One pass over the readings serves every
// result, so a whole check of a machine costs 2n+1 evaluations of f.
//
// Notation. x readings, u standard uncertainties, r correlation coefficients,
// c sensitivities dy/dx, u_c combined standard uncertainty, k coverage factor,
// U = k u_c expanded uncertainty, nu degrees of freedom.
//
// The rule. A result is judged against an interval of permitted values with a
// guard band as wide as U on both sides of each limit (JCGM 106:2012, 8.3):
//
//	within     lo <= y-U  and  y+U <= hi
//	outside    y+U < lo   or   y-U > hi
//	too close  anything else
//
// so both a pass and a fail are given only when the reading's doubt leaves
// room for no other answer at about 97.5 % confidence or more. For a result
// too close to call, [Result.Settle] names the reading to improve.
//
// The clause numbers of the two guides are given from memory.
//
// [MonteCarlo] (JCGM 101:2008) propagates whole distributions. It is slow and
// assumes no linearity; the tests use it to check [Propagate].
package uncertainty
