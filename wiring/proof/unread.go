package proof

import (
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// What nobody read of a part that stays has the value that such a part usually has: a
// circuit is solved with it, and nothing is known by it.

// unread asks about numbers that a check would else take for read.
func (j *judge) unread() {
	asks := map[string][]string{
		"capacitor-run": {"farads", "volts"}, "capacitor-dual": {"farads", "fan-farads", "volts"}, "time-delay": {"seconds"}, "supply": {"breaker-amps"},
	}
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		if j.old.Unit.Device(d.ID) == nil || stated(j.data.Replaced, d.ID) || j.omitted(d.ID) || !j.landed(d) || d.Kind == "supply" && !j.feedsCompressor(d.ID) {
			continue
		}
		var lacks []string
		for _, name := range asks[d.Kind] {
			if _, read := d.Params[name]; !read {
				lacks = append(lacks, name)
			}
		}
		if lacks != nil {
			j.doubt("%s stays, and what is marked on it was not entered (%s): read it", label(j.now, d.ID), strings.Join(lacks, ", "))
		}
	}
	j.transformerUnread()
	j.switchesUnread()
}

// switchesUnread reserves a switch that carries a current and whose rating nobody read. A
// pressure switch, a relay or a contactor has a usual rating; what is entered as a plain
// switch may be anything, a reed in a float too.
func (j *judge) switchesUnread() {
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		d := j.now.Unit.Device(br.Device)
		if d == nil || d.Kind != "switch" || br.Kind != netlist.ContactBranch || j.omitted(d.ID) || stated(j.data.Replaced, d.ID) {
			continue
		}
		if _, read := d.Params["contact-amps"]; read {
			continue
		}
		amps, comp := 0.0, 0.0
		rest := j.now.With(j.now.Rest(), d.ID, true)
		for _, st := range []netlist.State{rest, set(rest, j.call, true), set(set(rest, j.call, true), j.full, true)} {
			if x, err := j.s.Solve(st); err == nil {
				amps, comp = max(amps, abs(x.Current(i))), max(comp, j.lineAmps(x))
			}
		}
		if amps > leastSwitched && !(comp > 0 && amps > 0.4*comp) { // in the compressor's line it is asked about
			j.reserve("%s carries %.2g A, and what its contact is rated was not entered (contact-amps): read it on the part, with the volts that it is for; one of less is replaced", label(j.now, d.ID), amps)
		}
	}
}

// leastSwitched is a current that any contact carries, A (our own).
const leastSwitched = 0.01

// transformerUnread reserves a transformer whose volt-amperes nobody read, where more is
// asked of it than small ones give.
func (j *judge) transformerUnread() {
	x, err := j.s.Solve(set(set(j.now.Rest(), j.call, true), j.full, true))
	if err != nil {
		return
	}
	for i := range j.now.Sources {
		src := &j.now.Sources[i]
		if !src.Coupled() {
			continue
		}
		if _, read := j.now.Unit.Device(src.Device).Params["va"]; read {
			continue
		}
		if _, _, va := x.Feed(i); va > smallTransformer {
			j.reserve("%.0f VA are asked of %s on a call, and what it is rated was not entered (va): read it on the transformer; one of less is replaced", va, label(j.now, src.Device))
		}
	}
}

// smallTransformer is what the smaller control transformers of such units give, VA, with
// something to spare (from memory).
const smallTransformer = 28

func (j *judge) feedsCompressor(supply string) bool {
	for i := range j.now.Sources {
		for _, l := range j.comps {
			if j.now.Sources[i].Device == supply && j.feeds(i, l.Device) {
				return true
			}
		}
	}
	return false
}

// smallBeside asks about a relay's contact beside a pole that carries the running
// compressor: with that pole late or burnt it makes and breaks the whole current, whether
// it lay so before or not.
func (j *judge) smallBeside() {
	x, err := j.s.Solve(set(j.now.Rest(), j.call, true))
	if err != nil || !j.compressorRuns(x) {
		return
	}
	amps := j.lineAmps(x)
	for _, q := range sides(j.now) {
		if !x.Conducts(q[0]) || !x.Conducts(q[1]) || abs(x.Current(q[0]))+abs(x.Current(q[1])) < 0.5*amps {
			continue
		}
		for _, i := range q {
			br := &j.now.Branches[i]
			if _, coil := j.now.Worker(i); coil < 0 {
				continue
			}
			d := j.now.Unit.Device(br.Device)
			if lra := d.P("contact-lra"); !(lra >= j.data.Compressor.LRA) || br.Rating < j.data.Compressor.RLA {
				j.doubt("%s of %s lies beside a pole that carries the compressor, and is not rated for it (%.3g A): with that pole late or burnt it makes and breaks the whole current. Take out what joins them", br.Name, label(j.now, d.ID), br.Rating)
			}
		}
	}
}

// bridgedByBar asks about a contact whose ends are joined by conductors and the bar of
// another contactor, which has no pole there.
func (j *judge) bridgedByBar() {
	is := wires(j.now, func(*netlist.Branch) bool { return true })
	for i := range j.now.Branches {
		if br := &j.now.Branches[i]; br.Name == "bar" && br.Kind == netlist.LoadBranch {
			is.join(br.Nodes())
		}
	}
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		if a, b := br.Nodes(); br.Kind == netlist.ContactBranch && a >= 0 && b >= 0 && is.same(a, b) {
			j.fail("bridged", NotDecided, "", br.Name+" of "+label(j.now, br.Device)+": conductors and the bar of a one-pole contactor join "+br.Ends[0]+" and "+br.Ends[1]+", it breaks nothing. Which of the two is to open that leg?", nil)
		}
	}
}

// startCoilFused asks about a fuse in the coil of a start relay: blown, it leaves the
// start capacitor in.
func (j *judge) startCoilFused() error {
	call := set(j.now.Rest(), j.call, true)
	drawn := func(s *netlist.Solver) (map[string]bool, bool, error) {
		out := map[string]bool{}
		x, err := s.Solve(call)
		if err != nil {
			return nil, false, err
		}
		for i := range j.now.Coils {
			if in, _ := x.Drawn(i); in {
				out[j.now.Coils[i].Device] = true
			}
		}
		return out, j.compressorRuns(x), nil
	}
	sound, _, err := drawn(j.s)
	if err != nil {
		return err
	}
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		if d := j.now.Unit.Device(br.Device); d == nil || d.Kind != "fuse" {
			continue
		}
		s := j.now.NewSolver()
		s.Hold(map[int]bool{i: false})
		with, on, err := drawn(s)
		if err != nil {
			return err
		}
		for id := range sound {
			if d := j.now.Unit.Device(id); on && !with[id] && d.Kind == "start-relay" {
				j.doubt("%s, blown, lets %s go while the compressor runs: the start capacitor stays in until it fails. Land the coil without a fuse, as the start parts' instructions show", label(j.now, br.Device), label(j.now, id))
			}
		}
	}
	return nil
}

// oneLegSwitched reserves a switch in one leg of the compressor's feed: open, it is taken
// for a disconnect.
func (j *judge) oneLegSwitched() {
	x, err := j.s.Solve(set(j.now.Rest(), j.call, true))
	if err != nil || !j.compressorRuns(x) {
		return
	}
	amps := j.lineAmps(x)
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		d := j.now.Unit.Device(br.Device)
		if d == nil || d.Kind != "switch" || br.Kind != netlist.ContactBranch || abs(x.Current(i)) < 0.7*amps {
			continue
		}
		j.reserve("%s opens one leg alone: with it open all behind it stays live at the other leg's voltage to earth. It is no disconnect: open and lock the supply, and prove dead", label(j.now, d.ID))
	}
}

// groundedFused asks about a fuse in the side of a transformer that is grounded: blown,
// it leaves the other side live to the cabinet, and a fault to ground by-passes it.
func (j *judge) groundedFused() {
	ground := map[int]bool{}
	for end := range earthed(j.now) {
		if n, ok := j.now.Node(end); ok {
			ground[j.wires().find(n)] = true
		}
	}
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		if d.Kind != "fuse" {
			continue
		}
		for _, t := range []string{".1", ".2"} {
			if n, ok := j.now.Node(d.ID + t); ok && ground[j.wires().find(n)] && j.landed(d) {
				j.doubt("%s lies in the grounded side (NEC 240.22, number from memory): a conductor that touches the cabinet is fed past it. Put it in the other side", label(j.now, d.ID))
				break
			}
		}
	}
}

// senses are the kinds that feel the outdoor unit's refrigerant: one can be in a line that
// runs to the house, and seldom is.
var senses = []string{"pressure", "thermostat-discharge"}

// atUnit are the kinds that are where the compressor is: what heats it, starts it or
// carries its current or the outdoor fan's.
var atUnit = []string{"heater-crankcase", "capacitor", "start", "overload", "contactor", "fan"}

// notInRoom are kinds of a cabinet, which a room has none of.
var notInRoom = []string{"transformer", "fuse", "indoor", "relay", "lockout", "time-delay", "blower", "supply", "ground-lug"}

// begins tells whether a kind is one of a family, each told by how its kinds begin.
func begins(kinds []string, kind string) bool {
	return slices.ContainsFunc(kinds, func(k string) bool { return strings.HasPrefix(kind, k) })
}

// elsewhere asks about what is entered at a place at which it cannot do its work, or from
// which its line conductors or its ground would run through the house.
func (j *judge) elsewhere() {
	if len(j.comps) == 0 {
		return
	}
	home := j.now.Unit.Device(j.comps[0].Device).Place
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		if j.omitted(d.ID) || !j.landed(d) {
			continue
		}
		if begins(senses, d.Kind) && d.Place != home {
			j.reserve("%s is entered as at the place %s, away from the compressor: see that it is there before a conductor is taken off", label(j.now, d.ID), d.Place)
		}
		if begins(atUnit, d.Kind) && d.Place != home || begins(notInRoom, d.Kind) && d.Place == "room" {
			j.doubt("%s is entered as at the place %s: is it there? It belongs in the cabinet of what it works for", label(j.now, d.ID), d.Place)
		}
	}
	j.elsewhereBefore(home)
	for i := range j.now.Unit.Conductors {
		w := &j.now.Unit.Conductors[i]
		if w.From == netlist.Capped || w.To == netlist.Capped {
			continue
		}
		if w.Class == netlist.Class2 {
			m, _ := j.now.Node(w.From)
			n, _ := j.now.Node(w.To)
			if j.now.Grounded(m) && j.now.Grounded(n) {
				j.doubt("%s is entered as a 24 V conductor and joins two grounds: a fault's current would take that way too. What is it?", w.ID)
			}
			continue
		}
		a, _, _ := strings.Cut(w.From, ".")
		b, _, _ := strings.Cut(w.To, ".")
		c, d := j.now.Unit.Device(a), j.now.Unit.Device(b)
		if c == nil || d == nil || c.Place == d.Place || strings.HasPrefix(c.Kind, "supply") || strings.HasPrefix(d.Kind, "supply") {
			continue
		}
		j.doubt("%s runs from %s to %s, from one place to another: a line conductor and an equipment ground stay in the cabinet of what they serve. Is one of the two entered at the wrong place?", w.ID, label(j.now, a), label(j.now, b))
	}
}

// elsewhereBefore reserves parts of the old unit that are looked for, and conductors taken
// off them, at a place at which they are of no use: parts that leave, and relays all of
// whose contacts work at another place.
func (j *judge) elsewhereBefore(home string) {
	for i := range j.old.Unit.Devices {
		d := &j.old.Unit.Devices[i]
		here, there := 0, 0
		for _, t := range netlist.Kinds[d.Kind].Terminals {
			if slices.Contains([]string{"A1", "A2", "C"}, t.Name) && !begins(atUnit, d.Kind) {
				continue // a coil may be called from anywhere
			}
			for _, w := range j.old.Unit.At(d.ID + "." + t.Name) {
				for _, end := range []string{w.From, w.To} {
					id, _, _ := strings.Cut(end, ".")
					switch e := j.old.Unit.Device(id); {
					case e == nil || id == d.ID:
					case e.Place == d.Place:
						here++
					default:
						there++
					}
				}
			}
		}
		gone := j.now.Unit.Device(d.ID) == nil
		if gone && begins(atUnit, d.Kind) && d.Place != home && here+there > 0 ||
			begins([]string{"relay", "lockout", "time-delay"}, d.Kind) && here == 0 && there > 0 {
			j.reserve("%s is entered as at the place %s, away from what it works: see that it is there before a conductor is taken off", label(j.old, d.ID), d.Place)
		}
	}
}

// overPlate reserves an old compressor that had more capacitance on its start winding than
// its plate asks for: a second capacitor was put beside the first, and both leave.
func (j *judge) overPlate() {
	for _, l := range j.oldComps {
		d := j.old.Unit.Device(l.Device)
		asks := max(d.Params["farads"], d.Params["farads-high"])
		if had := j.caps[l.Device]; asks > 0 && had > overPlateFactor*asks {
			j.reserve("%s ran with %.0f uF on its start winding, and its plate as entered asks for %.0f uF: that overheats the winding. See why a capacitor was put beside the other, and that no more than the new one's is left there", label(j.old, l.Device), 1e6*had, 1e6*asks)
		}
	}
}

// overPlateFactor is beyond what tolerances of capacitors explain (our own).
const overPlateFactor = 1.3
