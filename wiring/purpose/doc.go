// Package purpose finds what each device of a circuit does by solving the
// circuit, never by the device's kind or name.
//
// # Idea
//
// A contact is an interrupter of a load if opening it, alone, stops the load in
// some state in which the load runs. A contact that moves with the second-stage
// call while a compressor runs on is a stage contact. The duty of a load is the
// voltage that it gets in each state. What fits none of these is asked about.
//
// # Which states are tried
//
// With n inputs there are 2^n states, but in most of them most inputs cannot
// matter: with the first of eight switches in a string open, the other seven are
// on no closed circuit. Split therefore decides one input after the other, and
// only inputs that still can matter. The argument: give every contact whose
// position is not yet decided the benefit of the doubt (it may conduct), and leave
// out the ones that are decided open and those of a coil that cannot be energised.
// In the graph that is left, current flows only in blocks (biconnected parts) that
// hold a source, or a transformer's winding whose other side lies in such a block;
// by Kirchhoff's current law nothing flows through a cut vertex into a part that
// hangs on it alone. An input whose contacts all lie in blocks without a source
// therefore changes no current and no voltage across any part, whatever the relays
// do; and one that some logic looks at is left out only if no part of that device
// lies in a live block. So one state stands for all that differ in such inputs
// only. The argument is about circuits at rest: a race of relays on the way there
// is not part of it. The leakage of 1 nS that the solver adds is taken as nothing.
//
// All quantities are SI: volt, ampere, watt.
package purpose
