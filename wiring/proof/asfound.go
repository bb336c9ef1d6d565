package proof

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// A comparison with the old circuit says nothing of what was wrong there and stays.
// What is plainly so by what the file says, or contradicts itself, is asked about.

// doubt asks about something as it was found; each question once, so that all can be
// answered at one visit.
func (j *judge) doubt(format string, a ...any) {
	say := fmt.Sprintf(format, a...)
	if k := j.at["as-found"]; j.alone == "" && k.Verdict == NotDecided {
		if !strings.Contains(k.Detail, say) && len(k.Detail) < mostDoubts {
			k.Detail += ". Also: " + say
		}
		return
	}
	j.fail("as-found", NotDecided, "", say, nil)
}

// mostDoubts is how many bytes of questions are enough for one visit.
const mostDoubts = 2000

// asFound asks about what no solution shows.
func (j *judge) asFound() {
	for i := range j.now.Unit.Devices {
		j.deviceAsFound(&j.now.Unit.Devices[i])
	}
	for i := range j.now.Unit.Conductors {
		j.conductorAsFound(&j.now.Unit.Conductors[i])
	}
	j.suppliesAgree()
	j.refrigerantRead()
	j.namesThatGo()
	j.disconnectInSight()
	j.groundsGoWithFeeds()
	j.groundsThroughShells()
	j.wireBehindDevice()
	j.fusesInParallel()
	j.acrossPoles()
	j.stopsNoCompressor()
	j.namedApart()
	j.inSeriesSecondaries()
	j.contradictions()
	j.unread()
	j.smallBeside()
	j.oneLegSwitched()
	j.groundedFused()
	j.elsewhere()
	j.overPlate()
	j.tapsExchanged()
}

// worstContact is the resistance of a closed contact beyond which it is asked about.
const worstContact = 1 // ohm; our own, twice what a good one reads at most

func (j *judge) deviceAsFound(d *netlist.Device) {
	name := label(j.now, d.ID)
	if d.Kind == "source" {
		j.doubt("%s is a bare source: what feeds it and opens it is not known. Enter it as a supply, a 120 V supply or a transformer, so that it is locked, proved dead and rated like the others", name)
	}
	if lra, amps := d.Params["contact-lra"], d.P("contact-amps"); lra > 10*amps {
		j.doubt("%s: a locked-rotor rating of %.4g A is %.2g times its rated current; usual are 5 to 6 times (from memory): read it again", name, lra, lra/amps)
	}
	if r, read := d.Params["contact-ohms"]; read && r > worstContact && j.landed(d) {
		j.doubt("%s reads %.3g ohm closed: a good contact reads under half an ohm (common practice, no source). Clean or replace it, and enter what it reads then", name, r)
	}
	if up, down := d.P("pick-up"), d.P("drop-out"); up > 0 && down > 0.9*up {
		j.doubt("%s draws at %.4g V and lets go at %.4g V: so near each other it chatters; read them again", name, up, down)
	}
	if d.Kind == "transformer" {
		if open, plate := d.P("open-volts"), d.P("volts"); open < 0.98*plate || open > 1.3*plate {
			j.doubt("%s: %.4g V open-circuit and %.4g V on its plate contradict each other", name, open, plate)
		}
	}
	if t, entered := d.Params["tolerance"]; entered && strings.HasPrefix(d.Kind, "capacitor") && d.Kind != "capacitor-start" && t > 0.1 {
		j.doubt("%s is marked within %.0f %%: a run capacitor is within 10 %% at most (common practice, no source); measure it, and enter what it is", name, 100*t)
	}
}

func (j *judge) conductorAsFound(w *netlist.Conductor) {
	if colour := colourOf(w); w.Class == netlist.Line && strings.Contains(colour, "green") && !strings.Contains(colour, "marked") {
		j.doubt("%s is green and carries line voltage: green is for equipment ground alone (NEC 250.119, number from memory). Put in another, or mark it anew at both ends and enter its colour as marked", w.ID)
	}
	j.colourRead(w)
	j.colourTells(w)
	if colour := colourOf(w); strings.HasPrefix(w.Metal, "alumin") || strings.HasPrefix(w.Metal, "copper-clad") || strings.Contains(colour, "alumin") || strings.Contains(" "+colour+" ", " al ") {
		j.doubt("%s is entered as aluminium: its ampacity is less than copper's of the same gauge, and its terminals must be marked for it (NEC 110.14, 310). What is planned here is for copper", w.ID)
	}
	if _, one := j.placeOf(w); one || w.Class == netlist.Ground || w.From == netlist.Capped || w.To == netlist.Capped {
		return
	}
	if w.Length == 0 {
		j.doubt("%s runs from one place to another and has no length: the voltage it loses is not known", w.ID)
	}
	if j.old.Unit.Conductor(w.ID) == nil {
		j.doubt("%s would be new between two places (%s and %s): it is a conductor of a cable. Is there a spare one of its class, or which cable is run? Enter it", w.ID, w.From, w.To)
	}
}

// underVoltage tells whether a part has a supply's voltage on it at rest.
func (j *judge) underVoltage(id string) bool {
	x, err := j.s.Solve(j.now.Rest())
	if err != nil {
		return false
	}
	for i := range j.now.Branches {
		if br := &j.now.Branches[i]; br.Device == id && br.Kind == netlist.LoadBranch && abs(x.Across(i)) > 15 {
			return true
		}
	}
	return false
}

// bridgedParts asks about what is kept and has nothing on it in any state.
func (j *judge) bridgedParts() {
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		switch {
		case d.Kind != "impedance" || j.worked[d.ID]:
		case d.Use == "electronics" && j.underVoltage(d.ID): // a surge protector
			j.reserve("%s carries next to nothing, and is entered as electronics: taken for a surge protector or a meter, as a person states", label(j.now, d.ID))
		default:
			j.doubt("%s stays and carries nothing in any state: it is bridged, or on nothing", label(j.now, d.ID))
		}
	}
	for i := range j.now.Sources {
		src := &j.now.Sources[i]
		if d := j.now.Unit.Device(src.Device); !src.Coupled() && src.Class == netlist.Line && d.P("source-ohms") > 0 && d.P("volts")/d.P("source-ohms") > mostFault {
			j.doubt("%s would give %.0f kA into a short: no house has that; is its source resistance right?", label(j.now, d.ID), d.P("volts")/d.P("source-ohms")/1e3)
		}
	}
}

// mostFault is a fault current beyond which a supply's resistance is taken for a slip
// of the pen; from memory: small services have 10 kA at most.
const mostFault = 22e3

// suppliesAgree asks about voltages that no one service has: two pairs of legs that
// differ, or a neutral that is neither in the middle of two legs nor that of three.
func (j *judge) suppliesAgree() {
	const within = 0.1 // our own: what two readings of one service at two times may differ
	near := func(a, b float64) bool { return math.Abs(a-b) <= within*b }
	for i := range j.now.Unit.Devices {
		for k := range i {
			a, b := &j.now.Unit.Devices[k], &j.now.Unit.Devices[i]
			if b.Kind == "supply" {
				a, b = b, a
			}
			v, w := a.P("volts"), b.P("volts")
			legs, neutral := a.Kind == "supply" && b.Kind == "supply", a.Kind == "supply" && b.Kind == "supply-120"
			if legs && !near(min(v, w), max(v, w)) || neutral && !near(w, v/2) && !near(w, v/math.Sqrt(3)) {
				j.doubt("%s of %.4g V and %s of %.4g V are of no one service: read both again; a neutral that came loose shows so too", label(j.now, a.ID), v, label(j.now, b.ID), w)
			}
		}
	}
}

// disconnectInSight asks about a disconnect that is not where the unit is.
func (j *judge) disconnectInSight() {
	for i := range j.now.Sources {
		for _, l := range j.comps {
			d, c := j.now.Unit.Device(j.now.Sources[i].Device), j.now.Unit.Device(l.Device)
			if j.feeds(i, l.Device) && d.Place != c.Place {
				j.doubt("%s feeds the compressor and is entered as %s: what is live beside it while it is open cannot be told. Enter it where it is; it belongs within sight of the unit (NEC 440.14)", label(j.now, d.ID), d.Place)
			}
		}
	}
}

// groundsGoWithFeeds asks whether each motor's ground goes, by ground conductors, to
// the ground of every supply that can feed it.
func (j *judge) groundsGoWithFeeds() {
	net := wires(j.now, func(b *netlist.Branch) bool { return b.Class() == netlist.Ground })
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		shell, has := j.now.Node(d.ID + ".GND")
		if !has || j.supplying(d.ID) || !slices.Contains(j.now.Loads, d.ID) {
			continue
		}
		for s := range j.now.Sources {
			from := j.now.Sources[s].Device
			lug, ok := j.now.Node(from + ".GND")
			if !ok || !j.feeds(s, d.ID) || net.same(shell, lug) {
				continue
			}
			say := fmt.Sprintf("%s is fed by %s, and no ground conductor leads from its shell to the ground there: a ground runs with its circuit (NEC 250.134 and 300.3(B), numbers from memory)", label(j.now, d.ID), label(j.now, from))
			if j.isCompressor(d.ID) {
				j.fail("ground-landed", Fails, "", say, nil)
			} else {
				j.doubt("%s", say)
			}
		}
	}
}

// groundsThroughShells asks about a part whose ground goes on over the shell of a motor:
// with that motor taken out it has none.
func (j *judge) groundsThroughShells() {
	all := earthed(j.now)
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		end := d.ID + ".GND"
		if !all[end] || !slices.Contains(j.now.Loads, d.ID) || len(j.now.Unit.At(end)) < 2 {
			continue
		}
		left := earthedBy(j.now, wires(j.now, func(b *netlist.Branch) bool {
			return b.Class() == netlist.Ground && b.Ends[0] != end && b.Ends[1] != end
		}))
		for _, e := range groundEnds(j.now) {
			if other, _, _ := strings.Cut(e, "."); e != end && all[e] && !left[e] {
				j.doubt("the ground of %s goes over the shell of %s: with that taken out it has none (common practice, no source). Land each on the cabinet's screw, and enter it so", label(j.now, other), label(j.now, d.ID))
				break
			}
		}
	}
}

// smallWire is the largest overcurrent device ahead of small copper that feeds no
// hermetic compressor: NEC 240.4(D), read in the 2023 edition.
var smallWire = map[int]float64{18: 7, 16: 10, 14: 15, 12: 20, 10: 30}

// wireBehindDevice holds the conductors on each supply that feeds no compressor
// against its overcurrent device.
func (j *judge) wireBehindDevice() {
	for i := range j.now.Sources {
		src := &j.now.Sources[i]
		if src.Coupled() || src.Class != netlist.Line || slices.ContainsFunc(j.comps, func(l purpose.Load) bool { return j.feeds(i, l.Device) }) {
			continue
		}
		for _, t := range []string{"L", "L1", "L2"} {
			for _, w := range j.now.Unit.At(src.Device + "." + t) {
				if most := smallWire[w.Gauge]; most > 0 && src.Rating > most {
					j.doubt("%s is %d AWG behind %.0f A of %s; such wire is behind %.0f A at most (NEC 240.4(D))", w.ID, w.Gauge, src.Rating, label(j.now, src.Device), most)
				}
			}
		}
	}
}

// fusesInParallel asks about two fuses side by side: the larger share blows one, and
// then the other carries all (NEC 240.8, number from memory: only as a listed unit).
func (j *judge) fusesInParallel() {
	is := j.wires()
	for i := range j.now.Branches {
		for k := range i {
			a, b := &j.now.Branches[k], &j.now.Branches[i]
			if d, e := j.now.Unit.Device(a.Device), j.now.Unit.Device(b.Device); d == nil || e == nil || d.Kind != "fuse" || e.Kind != "fuse" {
				continue
			}
			m, n := a.Nodes()
			p, q := b.Nodes()
			if is.same(m, p) && is.same(n, q) || is.same(m, q) && is.same(n, p) {
				j.doubt("%s and %s lie side by side: together they let through twice what one does, and what is behind them is not protected by either (NEC 240.8, number from memory). Take one out", label(j.now, a.Device), label(j.now, b.Device))
			}
		}
	}
}

// acrossPoles asks about what lies across the open pole of a contactor or relay in the
// line and is no heater: what is switched off there stays live through it.
func (j *judge) acrossPoles() {
	is := j.wires()
	for i := range j.now.Branches {
		part := &j.now.Branches[i]
		d := j.now.Unit.Device(part.Device)
		if d == nil || !strings.HasPrefix(d.Kind, "capacitor") && d.Kind != "impedance" && d.Kind != "start-ptc" {
			continue
		}
		a, b := part.Nodes()
		for k := range j.now.Branches {
			pole := &j.now.Branches[k]
			o := j.now.Unit.Device(pole.Device)
			if o == nil || pole.Kind != netlist.ContactBranch || !strings.HasPrefix(o.Kind, "contactor") {
				continue
			}
			m, n := pole.Nodes()
			if is.same(a, m) && is.same(b, n) || is.same(a, n) && is.same(b, m) {
				j.doubt("%s lies across %s of %s: with the contactor out, what it switches stays live through it. What is it there for? Take it out, or say what it is", label(j.now, d.ID), pole.Name, label(j.now, o.ID))
			}
		}
	}
}

// stopsNoCompressor reserves a switch of the hand, or one for something else, in the
// outdoor fan's line or the crankcase heater's: open, it leaves the compressor running
// without air, or standing with cold oil, and nothing tells. A fan's that the pressure
// works is meant to be there.
func (j *judge) stopsNoCompressor() {
	leaves := map[string]string{
		"fan":    "leaves the compressor running with no air over the coil",
		"heater": "leaves the oil cold, and the next start is hard on the compressor",
	}
	for _, in := range j.was.Interrupters {
		d := j.now.Unit.Device(in.Device)
		if in.Opens != purpose.Outside || in.Input == "" || d == nil || j.omitted(in.Device) {
			continue
		}
		if slices.ContainsFunc(in.Stops, func(s purpose.Stop) bool { return s.Kind == "compressor" }) {
			continue
		}
		for _, s := range in.Stops {
			if o := j.now.Unit.Device(s.Load); o != nil && leaves[s.Kind] != "" && o.Place == "outdoor" && (d.Kind == "switch" || s.Kind == "heater") {
				j.reserve("%s stops %s and no compressor: open, it %s. See what works it before it is kept", label(j.now, d.ID), label(j.now, s.Load), leaves[s.Kind])
			}
		}
	}
}

// inSeriesSecondaries asks about two transformers that add up.
func (j *judge) inSeriesSecondaries() {
	x, err := j.s.Solve(j.now.Rest())
	if err != nil {
		return
	}
	is := j.wires()
	for i := range j.now.Sources {
		for k := range i {
			a, b := &j.now.Sources[i], &j.now.Sources[k]
			if !a.Coupled() || !b.Coupled() {
				continue
			}
			p, q, _, _ := a.Nodes()
			r, s, _, _ := b.Nodes()
			for _, m := range [][4]int{{p, q, r, s}, {p, q, s, r}, {q, p, r, s}, {q, p, s, r}} {
				one, two := abs(x.NodeVolts(m[1])-x.NodeVolts(m[0])), abs(x.NodeVolts(m[3])-x.NodeVolts(m[2]))
				if sum := abs(x.NodeVolts(m[1]) - x.NodeVolts(m[3])); is.same(m[0], m[2]) && one > 2 && two > 2 && sum > 1.1*max(one, two) && j.throughParts().same(m[1], m[3]) {
					j.doubt("%s and %s add up to %.1f V: outputs of Class 2 sources are not joined unless both say so", label(j.now, a.Device), label(j.now, b.Device), sum)
				}
			}
		}
	}
}

// solvedAsFound asks about what one solution shows, whatever the old circuit did.
func (j *judge) solvedAsFound(x *netlist.Solution) {
	if j.at["as-found"].Verdict != Holds {
		return
	}
	j.bridged(x)
	for i := range j.now.Coils {
		k := &j.now.Coils[i]
		if in, v := x.Drawn(i); in && 0.9*v < k.PickUp && v >= k.PickUp {
			j.doubt("%s has %.1f V where it draws at %.1f V: with 90 %% of the line it does not draw, or chatters", label(j.now, k.Device), v, k.PickUp)
		}
	}
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		if d := j.now.Unit.Device(br.Device); d != nil && d.Kind == "impedance" && j.compressorRuns(x) && abs(x.Current(i)) > 0.5*j.lineAmps(x) {
			j.doubt("%s lies in the compressor's line, and what it is rated for is in no file: what is it, and for how many amperes?", label(j.now, d.ID))
		}
	}
	for _, m := range motorsOf(j.now) {
		for _, b := range []int{m.start, m.run} {
			least := warming / 2
			if j.isCompressor(m.device) {
				least = warming // less is a heater across an open pole
			}
			if a := abs(x.Current(b)); x.Status(m.device) == "" && a > least && !without(x.State, j.call, j.full) {
				j.doubt("%s is stopped, and %.1f A go on through its %s (%s): what opens leaves a way through the capacitor. Let it break the common", label(j.now, m.device), a, j.now.Branches[b].Name, j.now.Words(x.State))
			}
		}
	}
}

// heats asks whether each crankcase heater that stays heats while nothing is called,
// as the reason for keeping it says, and whether air moves while the compressor runs.
func (j *judge) heats() error {
	x, err := j.s.Solve(set(j.now.Rest(), j.call, true))
	if err != nil {
		return err
	}
	j.withoutAir(x, "a plain call")
	if x, err = j.s.Solve(j.now.With(set(j.now.Rest(), j.call, true), "fan", true)); err != nil {
		return err
	}
	j.withoutAir(x, "a call with the fan on")
	if x, err = j.s.Solve(j.now.Rest()); err != nil {
		return err
	}
	for i := range j.now.Branches {
		if d := j.now.Unit.Device(j.now.Branches[i].Device); d != nil && d.Kind == "start-ptc" && abs(x.Across(i)) >= d.P("warm-volts") {
			j.doubt("%s has %.0f V on it while nothing is called: it stays warm and helps no start", label(j.now, d.ID), abs(x.Across(i)))
		}
	}
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		if d.Kind == "heater-crankcase" && d.Place == "outdoor" && len(j.now.Unit.At(d.ID+".1")) > 0 && x.Status(d.ID) == "" {
			j.doubt("%s does not heat while nothing is called, which is what a crankcase heater is for: is it wired as it should be?", label(j.now, d.ID))
		}
	}
	return j.heatsOnOtherCalls(x)
}

// heatsOnOtherCalls asks about a crankcase heater that heats while nothing is called and
// not on a call that leaves the compressor at rest.
func (j *judge) heatsOnOtherCalls(rest *netlist.Solution) error {
	var warm []string
	for i := range j.now.Unit.Devices {
		if d := &j.now.Unit.Devices[i]; d.Kind == "heater-crankcase" && d.Place == "outdoor" && rest.Status(d.ID) != "" {
			warm = append(warm, d.ID)
		}
	}
	for i, in := range j.now.Inputs {
		if in.Kind != "call" || i == j.call {
			continue
		}
		x, err := j.s.Solve(set(j.now.Rest(), i, true))
		if err != nil {
			return err
		}
		for _, id := range warm {
			if x.Status(id) == "" && !j.compressorRuns(x) {
				j.doubt("%s does not heat while the compressor stands (%s): the oil is cold at the next start. Find what opens it, and take that out of its leads", label(j.now, id), j.now.Words(x.State))
			}
		}
	}
	return nil
}

// withoutAir asks about a compressor that runs and moves no air over a coil.
func (j *judge) withoutAir(x *netlist.Solution, when string) {
	for _, kind := range []string{"fan", "blower"} {
		is, turns := false, false
		for i, id := range j.now.Loads {
			is = is || j.now.LoadKind[i] == kind
			turns = turns || j.now.LoadKind[i] == kind && runs(x.Status(id))
		}
		if is && !turns && j.compressorRuns(x) {
			j.doubt("the compressor runs on %s and no %s does", when, kind)
		}
	}
}

// contactAsFound asks about a contact that makes more than such a contact makes.
func (j *judge) contactAsFound(x *netlist.Solution, i int, a float64, compressor bool) {
	br := &j.now.Branches[i]
	d := j.now.Unit.Device(br.Device)
	if need, _ := j.carried(a, j.lineAmps(x), true); compressor && d.Kind == "switch" && (br.Rating < 1.15*need || 6*br.Rating < j.data.Compressor.LRA) {
		j.doubt("%s lies in the compressor's line and is rated %.3g A: closed by hand under a call it makes %.0f A of locked-rotor current (six times its rating is usual at most, from memory), and as a disconnect it is for 115 %% of the currents, %.1f A (NEC 440.12)", label(j.now, d.ID), br.Rating, j.data.Compressor.LRA, 1.15*need)
	}
	if br.Worked() && compressor {
		j.ratingUnread(d)
	}
	if !br.Worked() || compressor {
		return
	}
	for _, l := range j.fans(x) {
		f := j.now.Unit.Device(l)
		if lra := f.Params["lra"]; lra > 6*br.Rating && math.Abs(a-f.P("rla")) < 0.5*f.P("rla") {
			j.doubt("%s of %s is rated %.3g A and makes the %.3g A that %s takes standing (six times is usual at most, from memory)", br.Name, label(j.now, d.ID), br.Rating, lra, label(j.now, l))
		}
	}
}

// leastDevice asks about an overcurrent device or fuse in the compressor's line below
// the circuit's least ampacity: 125 % of the compressor and what goes besides.
func (j *judge) leastDevice(name string, rating, besides float64) {
	if least := j.Limits.CompressorFactor*j.data.Compressor.RLA + besides; rating < 0.995*least {
		j.fail("overcurrent", NotDecided, "", fmt.Sprintf("%s is of %.3g A; the circuit's minimum is %.1f A: it opens at a start or on a hot day. What does the unit's new label say?", name, rating, least), nil)
	}
}

// supplyOff compares, with one disconnect open in both circuits, what still works: a
// part that had a supply of its own keeps it.
func (j *judge) supplyOff(ctx context.Context, supply string) error {
	if j.old.Unit.Device(supply) == nil || j.wereParallel() {
		return nil
	}
	was, err := unfed(j.old.Unit, supply)
	if err != nil {
		return err
	}
	now, err := unfed(j.now.Unit, supply)
	if err != nil {
		return err
	}
	so, s := was.NewSolver(), now.NewSolver()
	for _, call := range []string{"", "fan", j.data.Call} {
		if err := ctx.Err(); err != nil {
			return err
		}
		x, err := so.Solve(was.With(was.Rest(), call, true))
		if err != nil {
			return err
		}
		y, err := s.Solve(now.With(now.Rest(), call, true))
		if err != nil {
			return err
		}
		j.p.Faults++
		for i := range j.loads {
			q := &j.loads[i]
			a, drawn := q.was.Runs(x, 0)
			b, draws := q.is.Runs(y, 0)
			if (runs(a) || drawn) && !runs(b) && !draws {
				j.fail("load-duty", Fails, now.Words(y.State), fmt.Sprintf("with the disconnect at %s open %s worked and does not any more", label(j.now, supply), label(j.now, q.is.Device)), nil)
			}
		}
	}
	return nil
}

// wereParallel tells whether two transformers of the old circuit fed one another:
// parting them takes a supply from what had both.
func (j *judge) wereParallel() bool {
	is := wires(j.old, func(*netlist.Branch) bool { return true })
	for i := range j.old.Sources {
		for k := range i {
			a, b := &j.old.Sources[i], &j.old.Sources[k]
			if !a.Coupled() || !b.Coupled() {
				continue
			}
			p, q, _, _ := a.Nodes()
			r, s, _, _ := b.Nodes()
			if is.same(p, r) && is.same(q, s) || is.same(p, s) && is.same(q, r) {
				return true
			}
		}
	}
	return false
}
