// Package diagnose ranks what may be wrong with a running machine by how likely
// each cause makes the whole pattern of its readings.
//
// The idea. From what is known of the machine (refrigerant, metering device, size,
// target, perhaps a compressor map and a design air flow) a typical one is built
// with package cycle and charged to its target in the weather of the readings.
// What it should show is subtracted from what was read. The residuals
//
//	r = features(readings) - features(typical machine in this weather)
//
// are compared with the pattern of every cause, each solved in the same weather at
// several severities s. A residual also moves for reasons that are no fault: the
// doubt of the readings, the difference between this healthy machine and the
// typical one, and the model's own shortcomings. All three go into one covariance
//
//	S = J U J' + P L P' + M
//
// J being the change of r with each reading, U the readings' variances, P the
// change of r with each assumed proportion of the machine, L the variances of
// those. A cause then has the likelihood
//
//	p(r | cause) = mean over s of N(r; pattern(s), S + (a pattern(s))^2)
//
// where a allows for patterns that are only alike. The mean runs over the fault's
// ways and over machines that answer it otherwise for reasons that no plate tells: a
// valve with more in reserve, an accumulator. Two faults at once are weighed with
// their patterns added. A faulty reading has the pattern of its own column of J with
// an unknown size. Bayes' rule with rough prior frequencies ranks the causes; no cause
// is named unless it beats health clearly, and if even the best leaves residuals that
// chance does not explain, no single cause fits. That no fault stands out is said only
// where health is likelier than all else together; between the two it cannot be told.
//
// Causes that the readings do not tell apart are named together, two at most, three
// only where a reading that was not taken would separate them, and that reading is
// asked for ([Report.First], [Report.Ask]).
//
// The assumed spreads are a judgement, stated in [Assume], set beforehand and then
// widened where healthy machines of another model (the plant of the tests) lay
// outside them; the typical proportions are package cycle's. The ranking is a help to
// the eye and never a proof.
package diagnose
