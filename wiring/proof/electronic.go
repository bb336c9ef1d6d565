package proof

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// An electronic motor takes more amperes than its watts over its volts, by its power
// factor. Where the current of its plate was not read, everything it runs through is
// tried once more with what it may take at the worst.

// poorestFactor of an electronic motor without a choke; from memory: 0.5 to 0.7.
const poorestFactor = 0.5

// electronicMotors asks for the amperes of a motor if more than its watts tell would
// be too much for a part, and about amperes that its watts contradict.
func (j *judge) electronicMotors() error {
	heavy := j.now.Unit.Clone()
	var names []string
	for i := range heavy.Devices {
		d := &heavy.Devices[i]
		if !electronic(d) {
			continue
		}
		least := d.P("watts") / d.P("volts")
		switch a := d.P("amps"); {
		case a == 0:
			if d.Params == nil {
				d.Params = map[string]float64{}
			}
			d.Params["amps"] = min(least/poorestFactor, 30)
			names = append(names, fmt.Sprintf("%s (%.3g A by its watts, up to %.3g A)", label(j.now, d.ID), least, least/poorestFactor))
		case a < 0.9*least || a > 4*least:
			j.doubt("%s: %.3g A and %.4g W at %.0f V contradict each other (a power factor of %.2g): read its plate again", label(j.now, d.ID), a, d.P("watts"), d.P("volts"), least/a)
		}
	}
	if names == nil || slices.ContainsFunc(j.p.Checks, func(k Check) bool { return k.Verdict == Fails }) {
		return nil // nothing to ask, or the verdict stands
	}
	now, err := netlist.Assemble(heavy)
	if err != nil {
		return fmt.Errorf("new circuit: %w", err)
	}
	s := now.NewSolver()
	for leaf := range j.tree.Leaves {
		x, err := j.s.Solve(j.state(leaf))
		if err != nil {
			return err
		}
		y, err := s.Solve(j.state(leaf))
		if err != nil {
			return err
		}
		if say := j.tooMuch(x, y); say != "" {
			j.doubt("an electronic motor takes more amperes than its watts over its volts, and the current on its plate is not entered (amps): %s. At the most, %s. Read the plate, and enter it", strings.Join(names, ", "), say)
			return nil
		}
	}
	return nil
}

// tooMuch is the first part that carries too much in the second of two solutions of one
// state, by what it carries there more than in the first.
func (j *judge) tooMuch(x, y *netlist.Solution) string {
	comp, on := j.lineAmps(x), j.compressorRuns(x)
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		a := abs(x.Current(i))
		need, carries := j.carried(a, comp, on)
		extra := abs(y.Current(i)) - a
		if extra < 0.05 {
			continue
		}
		if carries = carries && j.onCompressorsFeed(br); !carries {
			need = a
		}
		need += extra
		switch {
		case br.Kind == netlist.ContactBranch && br.Rating > 0 && need > br.Rating:
			return fmt.Sprintf("%s of %s carries %.1f A and is rated %.3g A", br.Name, label(j.now, br.Device), need, br.Rating)
		case br.Kind == netlist.ConductorBranch:
			w := j.now.Unit.Conductor(br.Name)
			if carries {
				need += (j.Limits.CompressorFactor - 1) * j.data.Compressor.RLA
			}
			if most := j.Limits.ampacity(w.Gauge, w.Class == netlist.Class2); need > most && w.Class != netlist.Ground {
				return fmt.Sprintf("%s (%s, %d AWG) carries %.1f A of %.0f A", w.ID, w.Colour, w.Gauge, need, most)
			}
		}
	}
	for i := range j.now.Sources {
		src := &j.now.Sources[i]
		_, a, _ := y.Feed(i)
		if src.VA == 0 && a > src.Rating {
			return fmt.Sprintf("%s gives %.1f A of %.0f A", label(j.now, src.Device), a, src.Rating)
		}
	}
	return ""
}

// onCompressorsFeed tells whether parts and contacts join a branch to the compressor:
// a blower on a feed of its own is not in its line, whatever it takes.
func (j *judge) onCompressorsFeed(br *netlist.Branch) bool {
	if j.motorsOwn(br) {
		return false
	}
	a, _ := br.Nodes()
	return slices.ContainsFunc(j.comps, func(l purpose.Load) bool {
		return slices.ContainsFunc(lineEnds(j.now, l.Device), func(t string) bool {
			n, ok := j.now.Node(l.Device + "." + t)
			return ok && j.throughParts().same(a, n)
		})
	})
}

// motorsOwn tells whether a conductor or contact lies in an electronic motor's own feed:
// without it no way over conductors and contacts, in any position, is left from that
// motor to a supply, and every way of the compressors is. Where the compressor's ways are
// not found so (they lead through a part), it is not said.
func (j *judge) motorsOwn(br *netlist.Branch) bool {
	with, without := newJoin(j.now.NodeCount()), newJoin(j.now.NodeCount())
	for i := range j.now.Branches {
		b := &j.now.Branches[i]
		d := j.now.Unit.Device(b.Device) // a one-pole contactor's bar is no contact
		if b.Kind != netlist.ConductorBranch && b.Kind != netlist.ContactBranch && (d == nil || !strings.HasPrefix(d.Kind, "contactor") && d.Kind != "impedance") {
			continue
		}
		with.join(b.Nodes())
		if b != br {
			without.join(b.Nodes())
		}
	}
	ways := func(id string, is *join) (n int) {
		for _, t := range lineEnds(j.now, id) {
			at, ok := j.now.Node(id + "." + t)
			for s := range j.now.Sources {
				p, q, _, _ := j.now.Sources[s].Nodes()
				for _, pole := range []int{p, q} {
					if ok && !j.now.Grounded(pole) && is.same(at, pole) {
						n++
					}
				}
			}
		}
		return n
	}
	for _, l := range j.comps {
		if n := ways(l.Device, with); n < 2 || ways(l.Device, without) < n {
			return false
		}
	}
	return slices.ContainsFunc(j.now.Unit.Devices, func(d netlist.Device) bool {
		return electronic(&d) && ways(d.ID, without) < ways(d.ID, with)
	})
}

func electronic(d *netlist.Device) bool {
	return strings.HasPrefix(d.Kind, "fan-ecm") || d.Kind == "blower-ecm"
}

// tapsExchanged asks about an electronic fan that ran high on the first stage of the old
// unit, with a conductor of its own on its low tap: the plan would take the tap that the
// second stage fed for the high one.
func (j *judge) tapsExchanged() {
	if j.oldFull < 0 {
		return
	}
	is := wires(j.old, func(*netlist.Branch) bool { return true })
	call := set(j.old.Rest(), j.oldCall, true)
	high := map[string]int{} // of two calls
	for _, st := range []netlist.State{call, set(call, j.oldFull, true)} {
		x, err := j.so.Solve(st)
		if err != nil {
			return
		}
		for _, d := range j.old.Unit.Devices {
			if d.Kind == "fan-ecm-taps" && x.Status(d.ID) == "runs high" {
				high[d.ID]++
			}
		}
	}
	for _, id := range slices.Sorted(maps.Keys(high)) {
		n := high[id]
		if n < 2 || j.now.Unit.Device(id) == nil || len(j.old.Unit.At(id+".LO")) == 0 {
			continue
		}
		lo, _ := j.old.Node(id + ".LO")
		if hi, _ := j.old.Node(id + ".HI"); !is.same(lo, hi) {
			j.doubt("%s ran high on the first stage already, and what is on its terminal LO never slowed it: are LO and HI exchanged? Trace both conductors, and enter them as they are to be", label(j.now, id))
		}
	}
}
