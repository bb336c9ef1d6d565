// Package judge is a second reading of a unit file, for tests only. It shares no
// code with the solver, the planner and the proof that it judges: it has a
// reader, models of the devices, a network solver and a way of finding where
// relays come to rest of its own, and hands the same networks to ngspice, an
// independent simulator.
//
// What it takes from wiring/netlist is the file format: which kinds there are,
// their terminals and the default numbers. What a device does is modelled here
// from the words of its kind.
//
// A state is every input of the outside world (a call, a switch, a delay) and
// the position of every relay and rotor. Reachable states are found breadth
// first: from power-up at every choice of inputs, then by one input at a time.
// Nothing is sampled and nothing is assumed of the order of events.
package judge
