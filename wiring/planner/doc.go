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
package planner
