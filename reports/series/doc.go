// Package series takes readings that were logged over time, finds the stretch
// in which the machine ran steadily, and reports what drifted.
//
// The idea. A log is text with one line per instant and one column per reading.
// [Detect] looks at it and proposes a [Layout]: delimiter, decimal sign, time
// stamp, names and units. A person confirms or corrects the proposal; nothing
// detected is used unseen. [Read] then makes a [Log], which holds columns of numbers:
// seconds since the first line, and the readings as logged, in their own units.
//
// [Log.Steady] looks for the latest stretch that is long enough and in which
// every chosen reading passes two tests: its fitted slope would move it by no
// more than an allowed drift over the stretch, and its scatter about that line
// is no more than allowed. The stretch is extended backwards as far as both
// tests hold, since a longer mean is a surer one.
//
// Notation. t seconds from the first line; slope b from an ordinary least
// squares line; s the standard deviation about that line; the mean's standard
// uncertainty is s/sqrt(n_eff), with n_eff = n (1-r)/(1+r) for a lag-one
// autocorrelation r, because readings taken every second do not each bring news
// (first-order autoregressive process; common practice, no source).
package series
