package netlist

import (
	"fmt"
	"strings"
)

// A Fault is one thing wrong with a circuit.
type Fault struct {
	ID     string `json:"id"`
	Kind   string `json:"kind"`  // open, swap, shift, welded, stuck or dead
	Part   string `json:"part"`  // the conductor or the device to look at
	Other  string `json:"other"` // the second conductor of a swap
	Words  string `json:"words"`
	branch int
	at     [2]string // the two ends exchanged
}

// Faults lists the single faults of a unit: each conductor open; each swap of two
// ends on neighbouring terminals of one device; each end landed on a neighbouring
// terminal, such as both leads of a switch on one of its screws; each power or
// relay contact welded; each switch, contact, coil, winding and capacitor stuck
// open.
func (c *Circuit) Faults() []Fault {
	var out []Fault
	u := c.Unit
	for i := range c.Branches {
		br := &c.Branches[i]
		switch {
		case br.Kind == ConductorBranch:
			if w := u.Conductor(br.Name); w.From != Capped && w.To != Capped {
				out = append(out, Fault{ID: "open:" + br.Name, Kind: "open", Part: br.Name, branch: i,
					Words: fmt.Sprintf("conductor %s (%s) open, %s to %s", br.Name, w.Colour, w.From, w.To)})
			}
		case br.Kind == ContactBranch && br.sig >= 0:
			if c.signals[br.sig].next != nil && br.Ends[0] != "" {
				out = append(out, Fault{ID: "welded:" + br.Device + "/" + br.Name, Kind: "welded", Part: br.Device, branch: i,
					Words: fmt.Sprintf("%s of %s welded closed", br.Name, br.Device)})
			}
			out = append(out, Fault{ID: "stuck:" + br.Device + "/" + br.Name, Kind: "stuck", Part: br.Device, branch: i,
				Words: fmt.Sprintf("%s of %s stuck open", br.Name, br.Device)})
		case br.Kind == LoadBranch && deadParts[strings.Fields(br.Name)[0]]:
			out = append(out, Fault{ID: "dead:" + br.Device + "/" + br.Name, Kind: "dead", Part: br.Device, branch: i,
				Words: fmt.Sprintf("%s of %s open inside", br.Name, br.Device)})
		}
	}
	for _, d := range u.Devices {
		ts := Kinds[d.Kind].Terminals
		for i := range ts {
			for j := i + 1; j <= i+reach && j < len(ts); j++ {
				if ts[i].Class != ts[j].Class {
					continue // line and Class 2 ends are told apart by size and barrier
				}
				out = append(out, u.misland(d.ID+"."+ts[i].Name, d.ID+"."+ts[j].Name)...)
			}
		}
	}
	return out
}

// reach is how far a hand errs on a row of terminals, or across a two-pole
// contactor: to the next terminal or the one after.
const reach = 2

// misland lists the faults between two terminals: each end on either landed on the
// other, and each pair of ends exchanged.
func (u *Unit) misland(e1, e2 string) (out []Fault) {
	for _, q := range [2][2]string{{e1, e2}, {e2, e1}} {
		for _, w := range u.At(q[0]) {
			_, to, _ := strings.Cut(q[1], ".")
			out = append(out, Fault{ID: fmt.Sprintf("shift:%s:%s>%s", w.ID, q[0], to), Kind: "shift", Part: w.ID, branch: -1, at: q,
				Words: fmt.Sprintf("conductor %s (%s) landed on %s instead of %s", w.ID, w.Colour, q[1], q[0])})
		}
	}
	for _, c1 := range u.At(e1) {
		for _, c2 := range u.At(e2) {
			if c1.ID == c2.ID {
				continue
			}
			d, _, _ := strings.Cut(e1, ".")
			out = append(out, Fault{ID: fmt.Sprintf("swap:%s:%s/%s", d, c1.ID, c2.ID), Kind: "swap", Part: c1.ID, Other: c2.ID, branch: -1, at: [2]string{e1, e2},
				Words: fmt.Sprintf("conductors %s (%s) and %s (%s) exchanged at %s and %s", c1.ID, c1.Colour, c2.ID, c2.Colour, e1, e2)})
		}
	}
	return out
}

// Elsewhere lists the single ends landed on another part of the same place: on a terminal
// of the same class, or of a line conductor on one for ground. They are many, and most
// do nothing that another would not show: who asks keeps those that matter.
func (c *Circuit) Elsewhere() (out []Fault) {
	u := c.Unit
	of := func(end string) (*Device, Class) {
		id, name, _ := strings.Cut(end, ".")
		d := u.Device(id)
		if d == nil {
			return nil, ""
		}
		for _, t := range Kinds[d.Kind].Terminals {
			if t.Name == name && t.Class != Any {
				return d, t.Class
			}
		}
		for _, w := range u.At(end) {
			return d, w.Class
		}
		return d, ""
	}
	for i := range u.Conductors {
		w := &u.Conductors[i]
		if w.From == Capped || w.To == Capped || w.Class == Ground {
			continue
		}
		for _, at := range [2]string{w.From, w.To} {
			d, _ := of(at)
			for _, to := range u.Ends() {
				o, class := of(to)
				if o == nil || o.ID == d.ID || o.Place != d.Place || class != w.Class && !(class == Ground && w.Class == Line) || to == w.From || to == w.To {
					continue
				}
				out = append(out, Fault{ID: fmt.Sprintf("astray:%s:%s>%s", w.ID, at, to), Kind: "shift", Part: w.ID, branch: -1, at: [2]string{at, to},
					Words: fmt.Sprintf("conductor %s (%s) landed on %s instead of %s", w.ID, w.Colour, to, at)})
			}
		}
	}
	return out
}

// deadParts are the loads that can be open inside, by the first word of their name.
var deadParts = map[string]bool{"coil": true, "capacitor": true, "compressor": true, "fan": true, "run": true, "start": true,
	"high": true, "low-speed": true, "heater": true, "link": true, "motor": true, "bar": true, "thermistor": true, "unloading": true}

// Solver returns a solver for the circuit with the fault in it.
func (c *Circuit) Solver(f Fault) (*Solver, error) {
	if f.Kind == "swap" || f.Kind == "shift" {
		u := c.Unit.Clone()
		moves := [][3]string{{f.Part, f.at[0], f.at[1]}, {f.Other, f.at[1], f.at[0]}}
		if f.Kind == "shift" {
			moves = moves[:1]
		}
		for _, p := range moves {
			w := u.Conductor(p[0])
			if w == nil {
				return nil, fail(ErrUnknown, "fault "+f.ID, "conductor %s", p[0])
			}
			if w.From == p[1] {
				w.From = p[2]
			} else {
				w.To = p[2]
			}
		}
		// A mis-landed end may put a conductor's both ends on one terminal or a
		// contact in the wrong class: the circuit is solved all the same.
		d, err := compile(u)
		if err != nil {
			return nil, err
		}
		return d.NewSolver(), nil
	}
	if f.branch < 0 || f.branch >= len(c.Branches) {
		return nil, fail(ErrUnknown, "fault "+f.ID, "no such part")
	}
	s := c.NewSolver()
	s.Hold(map[int]bool{f.branch: f.Kind == "welded"})
	return s, nil
}

// Circuit of the solver; that of a swap or a shift differs from the
// sound one only in ends.
func (s *Solver) Circuit() *Circuit { return s.c }
