// Package netlist holds a cooling unit's wiring as devices, terminals and
// conductors, and solves what the electrons do in it.
//
// # Idea
//
// A Unit is what can be seen with the panel off: devices with lettered
// terminals, and conductors with a colour, a gauge and two ends. Compile turns
// it into nodes and branches; a Solver finds, for one State of the outside
// world (who calls, which safety switch is closed, which delay has run), the
// steady sinusoidal voltages and currents and the resting position of every
// relay.
//
// # Notation
//
// Node voltages are RMS phasors against earth, in volts. The network equation
// is the modified nodal one (Ho, Ruehli and Brennan 1975): Y v + B i = 0 and
// B' v - Z i = E, with one extra unknown current per source and transformer.
// Every terminal and every capped end is a node, every conductor a resistance
// from its gauge and length, so that a broken or a misplaced conductor is one
// changed branch and not a new model. A leakage of 1 nS from each node to earth
// keeps floating circuits defined.
//
// Relays, thermostats, boards and motors are signals: booleans that read the
// solution and set contacts. They are iterated to a fixed point; a position that
// comes back without settling is chatter, reported with its cycle. A motor's
// rotor is such a signal too: it takes up its running impedances only when the
// run winding has its voltage and the start winding its current, so a motor with
// an open capacitor lead is found to stall and not to run.
//
// Equipment ground is a circuit of its own: ground screws, shells of motors and
// ground conductors, joined to earth at the supplies. Nothing inside a sound part is
// joined to it, so a current there means that something is wrong. A file may land any
// conductor on a ground screw, for that is found; no ground conductor lands on a
// terminal of another circuit.
//
// What each kind of device does is said beside its definition (kinds_*.go), in words
// enough to model it again without this package. An Input's Kind is a hint for words,
// never a reason to treat one contact unlike another.
//
// What is not modelled: transients, inrush of coils, mutual inductance of
// windings, temperature (a start thermistor is cold or warm by its voltage alone), the
// content of a data bus (only its presence), three phases beyond what it takes to
// refuse them, inverters.
//
// # Speed
//
// Measured with the benchmarks beside the code on a shared two-core virtual
// server with the first six units. All their states (64 or 128), compiling included:
// 0.7 to 2.2 ms. One network solution with 10, 20, 40 and 80 devices (41, 91, 191, 391
// nodes): 1.3, 3.2, 8.0, 12.6 microseconds, so in proportion to the devices; all
// 32 states of the same circuits, whose relays pull in one after the other: 0.11,
// 0.65, 1.7, 5.0 ms.
//
// All quantities are SI: volt, ampere, ohm, henry, farad, second, metre.
package netlist
