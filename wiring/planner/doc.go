// Package planner turns a two-stage outdoor unit's wiring into a single-stage
// one by the least change, proves the result by solving it, and says how to
// check it with a meter.
//
// # Idea
//
// A plan is three answers. Which devices stay: by rule, or by a decision that is
// asked and never assumed. Which terminals must be joined: the nets of the new
// circuit. Which conductor joins them: an assignment of least cost, in which each
// old conductor is kept, moved, reused, capped or removed exactly once and only
// what is left over is bought new. The order of the safety string, the contactor
// and the capacitor are varied, and the cheapest plan of all wins.
//
// The proof does not trust the plan: it solves the new circuit in every
// combination of calls, switches and delays, checks the invariants, then breaks
// the circuit one fault at a time and looks whether the compressor can run with a
// safety open. What is checked is said; nothing is ever called safe.
//
// The check-out is a short list of meter readings that tells the faults apart.
//
// # Measured
//
// Six units of the catalogue, each to either indoor control, on a shared two-core
// virtual server: proof over all states 2 to 5 ms; all single faults (265 to 325)
// in all states, from rest and from the running unit, 0.3 to 0.8 s. All harmful
// single faults show in the check-out (220 to 254 of each plan); with all its
// readings taken, 1 or 2 suspects are left in the middle case. Of conductors broken or
// mis-landed at random, 396 of 396 harmful ones showed. Following Next on one of
// the larger plans took 10.5 readings on the average over its harmful faults,
// going down the list 21.4.
package planner
