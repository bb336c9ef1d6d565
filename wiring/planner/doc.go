// Package planner turns a two-stage outdoor unit's wiring into a single-stage one
// by the least change, has the result judged, and says how to do and how to check
// it.
//
// # Idea
//
// The planner looks at the old unit by solving it: at rest, on a first-stage and on
// a full call, and once more with each contact in turn held open. That tells what
// stops a compressor, what only chooses the stage, and which leads carry the
// compressor's current. What a part is (a compressor, a capacitor, a board) is its
// kind; what it does is not.
//
// A plan is three answers. Which devices stay: by what they do, or by a decision
// that is asked and never assumed. Which ends are joined: the old nets as far as
// their parts stay, but for the control string between call and coil, which is cut
// and joined again in the order it had: call, what a removed board watched, what
// else stopped the compressor, delay, coil. Which conductor joins them: an
// assignment of least cost, in which each old conductor is kept, moved, reused,
// capped or removed exactly once and only what is left over is bought new. Nothing
// is enumerated but contactors times capacitors; what is not tried is said.
//
// The planner does not judge its own work. Package proof does, from both circuits,
// with a reading of its own of what each device does. Until it says that the plan
// holds there is no work list, unless a person takes the failing plan on; then
// every page bears the mark.
//
// The check-out is two short lists of meter readings that tell the faults apart: a
// dead one, which ends the wiring, and a live one behind a gate, which belongs to
// the running unit. No probe touches a compressor's terminals.
package planner
