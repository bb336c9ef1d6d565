// Package choice compares what can be done about a failed compressor: what each
// option costs to do, how long it lasts, what it takes to run, and how sure all
// that is.
//
// The idea. An option is bought once and serves until the first of its parts that
// ends it fails. Its cost per year is
//
//	E[capital] / E[a(T)] + running
//
// a(T) being the present value of 1 a year over the T years it serves: what the
// option comes to a year if the same were done again and again (the renewal-reward
// argument; from memory). The mean of capital / a(T) itself does not exist, for a
// part of some age can fail on the first day. Running costs are levelled over one
// stretch of years that is the same for all options, so that one that lasts longer
// is not charged with dearer later years. Money is today's; the discount rate is
// above inflation.
//
// The expected cost is found by quadrature, without drawing, so that a ranking
// hangs on no seed: see [Compare]. Draws ([Simulate]) tell how wide the outcome is
// and how often each option turns out the cheapest in hindsight.
//
// Lives are Weibull, conditional on the age that a part has reached. Their parameters
// are recalled unless someone brings a source; a result names those it rests on.
// Warranty is shown and not priced: to price it would need to know what the maker
// grants, and a part that failed early would then look better than one that lasts.
package choice
