// Package proof judges a single-stage circuit against the circuit that it came
// from.
//
// # Idea
//
// Both circuits are solved, in every state that can differ (package purpose says
// which and why that is enough), and compared: the compressor is to run exactly
// when it is called and nothing is open that stopped the old one; every load that
// stays is to get the voltage that it got; nothing is to flow where nothing may.
// What a device does is read from the circuit and not from its kind. From every
// position of the relays that any sequence of single changes reaches, the same is
// asked again. Ratings are read from the parts' data.
//
// The verdict is "holds", "fails" or "not decided". It holds only if every check
// was made in all states and none failed; a bound that was reached, or a question
// that only a person can answer, makes it not decided. It never says that a circuit
// is safe: the parts may be damaged and the wires may lie elsewhere.
//
// This package shares no code with the planner, which makes what is judged here.
package proof
