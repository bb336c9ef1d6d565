package proof

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// wires are the nodes of the new circuit that conductors join.
func (j *judge) wires() *join {
	if j.net == nil {
		j.net = wires(j.now, func(*netlist.Branch) bool { return true })
	}
	return j.net
}

func wires(c *netlist.Circuit, count func(*netlist.Branch) bool) *join {
	is := newJoin(c.NodeCount())
	for i := range c.Branches {
		if br := &c.Branches[i]; br.Kind == netlist.ConductorBranch && count(br) {
			is.join(br.Nodes())
		}
	}
	return is
}

// wiring judges what needs no solution: bridged contacts, what helps to start, and
// grounds.
func (j *judge) wiring() {
	c := j.now
	for i := range c.Branches {
		br := &c.Branches[i]
		if a, b := br.Nodes(); br.Kind == netlist.ContactBranch && a >= 0 && b >= 0 && j.wires().same(a, b) {
			j.fail("bridged", Fails, "", fmt.Sprintf("%s of %s: conductors join %s and %s, it breaks nothing", br.Name, label(c, br.Device), br.Ends[0], br.Ends[1]), nil)
		}
	}
	j.bridgedByBar()
	if err := c.Unit.Validate(); err != nil {
		j.fail("buildable", Fails, "", err.Error(), nil)
	}
	j.apart()
	j.stubs()
	j.startLeads()
	j.startParts()
	j.groundsLanded()
	j.groundSizes()
	j.added()
	j.addedSources()
}

// added asks for loads that the old circuit had not and nobody asked for. Relays
// and boards are judged by what their contacts do.
func (j *judge) added() {
	had := func(id string) bool { return j.old.Unit.Device(id) != nil || stated(j.data.Replaced, id) }
	for _, l := range purpose.Loads(j.now) {
		if l.Kind == "compressor" || had(l.Device) || j.now.Unit.Device(l.Device).P("farads") > 0 && !l.HasStatus() {
			continue
		}
		contacts := slices.ContainsFunc(j.now.Branches, func(br netlist.Branch) bool {
			return br.Device == l.Device && br.Kind == netlist.ContactBranch
		})
		if !contacts {
			j.fail("load-added", Fails, "", fmt.Sprintf("%s is new, and no reason is stated", label(j.now, l.Device)), nil)
		}
	}
}

// addedSources asks for sources that the old circuit had not.
func (j *judge) addedSources() {
	for i := range j.now.Sources {
		if src := &j.now.Sources[i]; src.Class != netlist.Class2 || src.Coupled() {
			if j.old.Unit.Device(src.Device) == nil && !stated(j.data.Replaced, src.Device) {
				j.fail("load-added", Fails, "", fmt.Sprintf("%s is a new source, and no reason is stated", label(j.now, src.Device)), nil)
			}
		}
	}
}

// groundSizes asks whether each ground conductor on which the new compressor's
// ground depends, and each that is new or thinner than it was, is as thick as the
// overcurrent device ahead asks, or as the line conductors of what it grounds.
func (j *judge) groundSizes() {
	all := earthed(j.now)
	for i := range j.now.Unit.Conductors {
		w := &j.now.Unit.Conductors[i]
		if w.Class != netlist.Ground {
			continue
		}
		lost, compressor := j.loses(w.ID, all)
		was := j.old.Unit.Conductor(w.ID)
		kept := was != nil && was.Gauge >= w.Gauge && !compressor
		for _, dev := range lost {
			if g, amps := j.groundNeed(dev); w.Gauge > g && kept {
				j.doubt("%s is a ground of %d AWG as it was; for %s behind a device of %.0f A it is %d AWG (%s)", w.ID, w.Gauge, label(j.now, dev), amps, g, j.groundOf)
			} else if w.Gauge > g {
				j.fail("ground-size", Fails, "", fmt.Sprintf("%s is a ground of %d AWG; for %s behind a device of %.0f A it is %d AWG", w.ID, w.Gauge, label(j.now, dev), amps, g), nil)
			}
		}
	}
}

// loses lists the devices whose ground hangs on a conductor; if it is one of two
// ways, those at its ends. It tells whether the compressor is among them.
func (j *judge) loses(conductor string, all map[string]bool) (out []string, compressor bool) {
	is := wires(j.now, func(b *netlist.Branch) bool { return b.Class() == netlist.Ground && b.Name != conductor })
	left := earthedBy(j.now, is)
	w := j.now.Unit.Conductor(conductor)
	ends := slices.Sorted(maps.Keys(all))
	if !slices.ContainsFunc(ends, func(e string) bool { return !left[e] }) {
		ends, left = []string{w.From, w.To}, nil
	}
	for _, e := range ends {
		dev, _, _ := strings.Cut(e, ".")
		if left[e] || j.now.Unit.Device(dev) == nil || slices.Contains(out, dev) || len(lineEnds(j.now, dev)) == 0 || j.supplying(dev) {
			continue
		}
		out = append(out, dev)
		compressor = compressor || j.isCompressor(dev)
	}
	return out, compressor
}

// groundNeed is the thinnest ground that a device may have, and the overcurrent
// device ahead of it.
func (j *judge) groundNeed(dev string) (gauge int, amps float64) {
	thick := 99
	for _, t := range lineEnds(j.now, dev) {
		for _, w := range j.now.Unit.At(dev + "." + t) {
			thick = min(thick, w.Gauge)
		}
	}
	for i := range j.now.Sources {
		if j.feeds(i, dev) {
			amps = max(amps, j.now.Sources[i].Rating)
		}
	}
	return max(j.groundGauge(amps), min(thick, 18)), amps
}

// feeds tells whether a supply can deliver to the line terminals of a device, in any
// position of the contacts.
func (j *judge) feeds(source int, dev string) bool {
	src := &j.now.Sources[source]
	if src.Coupled() || src.Class != netlist.Line {
		return false
	}
	parts := j.throughParts()
	a, _, _, _ := src.Nodes()
	return slices.ContainsFunc(lineEnds(j.now, dev), func(t string) bool {
		n, ok := j.now.Node(dev + "." + t)
		return ok && !j.now.Grounded(a) && parts.same(n, a)
	})
}

// throughParts joins the nodes that parts and contacts in any position join, ground
// and sources left out.
func (j *judge) throughParts() *join {
	if j.parted == nil {
		j.parted = newJoin(j.now.NodeCount())
		for i := range j.now.Branches {
			if a, b := j.now.Branches[i].Nodes(); !j.now.Grounded(a) && !j.now.Grounded(b) && j.now.Branches[i].Siemens() != 0 {
				j.parted.join(a, b)
			}
		}
	}
	return j.parted
}

// starters are the devices with an end on a start lead of the compressors, other
// than these and the capacitors that carry the start current while they run.
func (j *judge) starters() []string {
	c := j.old
	net := wires(c, func(*netlist.Branch) bool { return true })
	on := map[int]bool{}
	for _, l := range j.oldComps {
		for _, b := range l.Branches {
			if br := &c.Branches[b]; br.Worked() && strings.HasPrefix(br.Name, "start") {
				n, _ := br.Nodes()
				on[net.find(n)] = true
			}
		}
	}
	var out []string
	for i := range c.Branches {
		br := &c.Branches[i]
		d := c.Unit.Device(br.Device)
		if br.Device == "" || slices.Contains(out, br.Device) || d.P("farads") > 0 {
			continue
		}
		if a, b := br.Nodes(); on[net.find(a)] || on[net.find(b)] {
			out = append(out, br.Device)
		}
	}
	return out
}

func (j *judge) startParts() {
	j.parts = j.starters()
	for _, id := range j.parts {
		if j.now.Unit.Device(id) == nil && !j.dropped(id) {
			j.fail("start-parts", Fails, "", fmt.Sprintf("%s is gone, and it is not stated that the new compressor starts without it", label(j.old, id)), nil)
		}
	}
}

// earthed are the ends that ground conductors join to a supply's ground.
func earthed(c *netlist.Circuit) map[string]bool {
	return earthedBy(c, wires(c, func(b *netlist.Branch) bool { return b.Class() == netlist.Ground }))
}

func earthedBy(c *netlist.Circuit, is *join) map[string]bool {
	roots := map[int]bool{}
	for i := range c.Branches { // a supply's own ground is joined to earth inside it
		br := &c.Branches[i]
		if a, b := br.Nodes(); b == netlist.Earth && br.Kind == netlist.LoadBranch && abs(br.Siemens()) > 100 {
			roots[is.find(a)] = true
		}
	}
	out := map[string]bool{}
	for _, end := range groundEnds(c) {
		if n, ok := c.Node(end); ok && roots[is.find(n)] {
			out[end] = true
		}
	}
	return out
}

// groundEnds lists the terminals for equipment ground.
func groundEnds(c *netlist.Circuit) (out []string) {
	for i := range c.Unit.Devices {
		d := &c.Unit.Devices[i]
		for _, t := range netlist.Kinds[d.Kind].Terminals {
			if t.Class == netlist.Ground {
				out = append(out, d.ID+"."+t.Name)
			}
		}
	}
	return
}

func (j *judge) groundsLanded() {
	was, is := earthed(j.old), earthed(j.now)
	grounded := false
	old := map[string]bool{}
	for _, l := range j.oldComps {
		old[l.Device] = true
	}
	for _, end := range slices.Sorted(maps.Keys(was)) {
		dev, _, _ := strings.Cut(end, ".")
		if j.supplying(dev) {
			continue
		}
		grounded = true
		if j.now.Unit.Device(dev) != nil && !is[end] && !j.omitted(dev) {
			j.fail("ground-landed", Fails, "", fmt.Sprintf("%s was grounded and is not", label(j.old, dev)), nil)
		}
		if j.now.Unit.Device(dev) == nil && !old[dev] && !j.dropped(dev) && netlist.Kinds[j.old.Unit.Device(dev).Kind] != nil && len(netlist.Kinds[j.old.Unit.Device(dev).Kind].Terminals) == 1 {
			j.fail("ground-landed", Fails, "", fmt.Sprintf("%s, a ground screw, is gone", label(j.old, dev)), nil)
		}
	}
	if !grounded {
		j.p.Notes = append(j.p.Notes, "the old unit as entered shows no equipment grounds: look for them and see that each is landed")
		return
	}
	for _, l := range j.comps {
		if end := l.Device + ".GND"; !is[end] {
			j.fail("ground-landed", Fails, "", fmt.Sprintf("%s is not grounded", label(j.now, l.Device)), nil)
		}
	}
}

// identity judges what is kept under its name, and interrupters that are gone.
func (j *judge) identity() {
	comp := map[string]bool{}
	for _, l := range slices.Concat(j.comps, j.oldComps) {
		comp[l.Device] = true
	}
	for i := range j.old.Unit.Devices {
		was := &j.old.Unit.Devices[i]
		is := j.now.Unit.Device(was.ID)
		if is == nil || comp[was.ID] {
			continue
		}
		if stated(j.data.Replaced, was.ID) {
			if is.Kind != was.Kind && (j.guards(was.ID) || family(is.Kind) != family(was.Kind)) {
				j.fail("part-changed", Fails, "", fmt.Sprintf("%s: a %s has taken the place of a %s; a stated reason replaces a part by one of its kind", label(j.old, was.ID), netlist.Kinds[is.Kind].Words, netlist.Kinds[was.Kind].Words), nil)
			}
			j.replacedAlike(was, is)
			continue
		}
		if is.Place != was.Place || is.Pigtail != was.Pigtail {
			j.fail("part-changed", Fails, "", fmt.Sprintf("%s is kept, and sits elsewhere or has other leads now", label(j.old, was.ID)), nil)
		}
		if is.Condition != was.Condition || is.Sits != was.Sits || is.System != was.System || is.Use != was.Use || is.NameOnly != was.NameOnly {
			j.fail("part-changed", Fails, "", fmt.Sprintf("%s is kept, and is entered in other words now", label(j.old, was.ID)), nil)
		}
		if is.Label != was.Label {
			j.fail("part-changed", Fails, "", fmt.Sprintf("%s is called %s now: readings would be taken at another part", label(j.old, was.ID), label(j.now, was.ID)), nil)
		}
		if is.Kind != was.Kind {
			j.fail("part-changed", Fails, "", fmt.Sprintf("%s is another kind of part now, and no reason is stated", label(j.old, was.ID)), nil)
			continue
		}
		for _, p := range netlist.Kinds[was.Kind].Params {
			if v, w := is.P(p.Name), was.P(p.Name); v != w {
				j.fail("part-changed", Fails, "", fmt.Sprintf("%s: %s is %.4g, was %.4g, and no reason is stated", label(j.old, was.ID), p.Name, v, w), nil)
			}
		}
	}
	if j.now.Unit.Hertz != j.old.Unit.Hertz {
		j.fail("part-changed", Fails, "", fmt.Sprintf("%v Hz, was %v Hz", j.now.Unit.Hertz, j.old.Unit.Hertz), nil)
	}
	if j.now.Unit.Refrigerant != j.old.Unit.Refrigerant {
		j.fail("part-changed", Fails, "", fmt.Sprintf("the refrigerant is entered as %q, was %q", j.now.Unit.Refrigerant, j.old.Unit.Refrigerant), nil)
	}
	j.conductorsKept()
	for i := range j.old.Branches { // a fuse may be replaced, but not by a larger one
		was := &j.old.Branches[i]
		if was.Kind != netlist.ContactBranch || was.Worked() {
			continue
		}
		for k := range j.now.Branches {
			if is := &j.now.Branches[k]; is.Device == was.Device && is.Name == was.Name && is.Rating > was.Rating {
				j.fail("part-changed", Fails, "", fmt.Sprintf("%s is of %.3g A, was %.3g A", label(j.now, is.Device), is.Rating, was.Rating), nil)
			}
		}
	}
	for _, in := range j.was.Interrupters {
		j.interrupterGone(&in)
	}
	acts := func(id string) bool { // what stops something is judged as such
		return slices.ContainsFunc(j.was.Interrupters, func(in purpose.Interrupter) bool { return in.Device == id })
	}
	idle := map[string]bool{}
	for _, i := range purpose.Irrelevant(j.now) {
		for _, d := range j.now.Users(i) {
			idle[d] = true
		}
	}
	for _, q := range j.was.Unclear {
		if q.Idle {
			if (idle[q.Device] || j.now.Unit.Device(q.Device) == nil) && !j.omitted(q.Device) {
				j.fail("interrupter-gone", Fails, "", q.Question, nil)
			}
			continue
		}
		for id := range strings.SplitSeq(q.Device, ", ") {
			if !acts(id) && j.now.Unit.Device(id) == nil && !j.omitted(id) {
				j.fail("interrupter-gone", NotDecided, "", q.Question, nil)
			}
		}
	}
}

// replacedAlike holds a load or a supply that was replaced for a stated reason against
// what it was: the reason is for another part, not for another purpose.
func (j *judge) replacedAlike(was, is *netlist.Device) {
	switch family(was.Kind) {
	case "heater", "fan", "blower", "supply":
	default:
		return
	}
	for _, name := range []string{"watts", "volts", "rla", "farads", "source-ohms"} {
		if v, w := is.P(name), was.P(name); is.Kind == was.Kind && (v > 1.15*w || v < 0.85*w) {
			j.fail("part-changed", Fails, "", fmt.Sprintf("%s: %s is %.4g, was %.4g: a stated reason replaces a part by its like", label(j.old, was.ID), name, v, w), nil)
		}
	}
}

// guards tells whether a device opens by something outside the circuit, or by
// failing: a switch or a fuse.
func (j *judge) guards(device string) bool {
	return slices.ContainsFunc(j.was.Interrupters, func(in purpose.Interrupter) bool {
		return in.Device == device && (in.Opens == purpose.Outside || in.Opens == purpose.Link)
	})
}

// family is what kinds of part have in common that may take each other's place.
func family(kind string) string {
	if kind == "relay" {
		return "contactor"
	}
	f, _, _ := strings.Cut(kind, "-")
	return f
}

// conductorsKept asks whether a conductor that is in both circuits is the same piece
// of wire: only where its ends lie may differ.
func (j *judge) conductorsKept() {
	for i := range j.old.Unit.Conductors {
		was := &j.old.Unit.Conductors[i]
		is := j.now.Unit.Conductor(was.ID)
		if is == nil {
			continue
		}
		same := *is
		same.From, same.To = was.From, was.To
		if same != *was {
			j.fail("part-changed", Fails, "", fmt.Sprintf("conductor %s is kept and was %s, %d AWG, %.0f V, %.3g m; now it is %s, %d AWG, %.0f V, %.3g m", was.ID, was.Colour, was.Gauge, was.Insulation, was.Length, is.Colour, is.Gauge, is.Insulation, is.Length), nil)
		}
	}
}

// interrupterGone judges one interrupter of the old circuit that the new one may
// lack. A contact that calls or other inputs move is a means: what it did for them
// is judged by them.
func (j *judge) interrupterGone(in *purpose.Interrupter) {
	standing := in.Opens == purpose.Outside || in.Opens == purpose.Link || in.Opens == purpose.Relay && in.Moves == "" && in.Ends[0] != ""
	if !standing || j.now.Unit.Device(in.Device) != nil || j.omitted(in.Device) {
		return
	}
	name := label(j.old, in.Device)
	ask := ""
	for _, s := range in.Stops {
		switch {
		case s.Kind == "compressor" && s.Part && !in.Line:
			j.fail("interrupter-gone", Fails, "", fmt.Sprintf("%s ended the full capacity of %s and is gone; the new one has no other; no reason is stated", name, label(j.old, s.Load)), nil)
			return
		case s.Kind == "compressor" && s.Alone, s.Kind != "compressor" && j.now.Unit.Device(s.Load) != nil:
			j.fail("interrupter-gone", Fails, "", fmt.Sprintf("%s stopped %s and is gone; no reason is stated", name, label(j.old, s.Load)), nil)
			return
		case s.Kind == "compressor":
			ask = s.Load
		}
	}
	// In the line of a compressor that is gone a fuse or that motor's overload may go
	// with it; what guards the refrigerant's circuit guarded the other one too.
	// Not so where one of its kind stays in the other's line.
	kind := j.old.Unit.Device(in.Device).Kind
	its := in.Line && (in.Opens == purpose.Link || kind == "overload-line" || slices.ContainsFunc(j.was.Interrupters, func(o purpose.Interrupter) bool {
		d := j.now.Unit.Device(o.Device)
		return o.Line && o.Device != in.Device && d != nil && d.Kind == kind
	}))
	if ask != "" && !(its && j.dropped(in.Device)) {
		j.fail("interrupter-gone", NotDecided, "", fmt.Sprintf("%s stopped %s while another compressor ran on, and is gone: is nothing to stop the new one instead?", name, label(j.old, ask)), nil)
	}
}

// idle judges, after everything was tried, what is there and does nothing.
func (j *judge) idle() {
	carried := purpose.Carries(j.old)
	could := purpose.Carries(j.now)
	did, can, parts := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for i := range j.old.Branches {
		did[j.old.Branches[i].Device] = did[j.old.Branches[i].Device] || carried[i]
	}
	for i := range j.now.Branches {
		d := j.now.Branches[i].Device
		parts[d] = true
		can[d] = can[d] || could[i]
	}
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		ends := 0
		for _, t := range netlist.Kinds[d.Kind].Terminals {
			ends += len(j.now.Unit.At(d.ID + "." + t.Name))
		}
		switch {
		case j.omitted(d.ID):
		case j.idles[d.ID] != "":
			j.fail("does-nothing", Fails, "", fmt.Sprintf("%s is kept, but %s in no state", label(j.now, d.ID), j.idles[d.ID]), nil)
		case ends == 0 && len(netlist.Kinds[d.Kind].Terminals) > 1, parts[d.ID] && did[d.ID] && !can[d.ID]:
			j.fail("does-nothing", Fails, "", fmt.Sprintf("%s is kept, but does nothing", label(j.now, d.ID)), nil)
		}
	}
	for i := range j.now.Sources {
		src := &j.now.Sources[i]
		if src.Coupled() && j.feed[i] < j.Limits.IdleAmps && !j.omitted(src.Device) {
			j.fail("does-nothing", Fails, "", fmt.Sprintf("%s is live and feeds nothing: take it out", label(j.now, src.Device)), nil)
		}
	}
	j.poles()
	j.overcurrent()
}

// legs counts the supply's live legs that are joined to a compressor at rest.
func legs(c *netlist.Circuit, dev string) (int, error) {
	x, err := c.NewSolver().Solve(c.Rest())
	if err != nil {
		return 0, err
	}
	is := joined(c, x)
	n := 0
	for i := range c.Sources {
		live, _, _, _ := c.Sources[i].Nodes()
		if c.Sources[i].Coupled() || c.Sources[i].Class != netlist.Line {
			continue
		}
		for _, t := range netlist.Kinds[c.Unit.Device(dev).Kind].Terminals {
			if node, ok := c.Node(dev + "." + t.Name); ok && is.same(node, live) {
				n++
				break
			}
		}
	}
	return n, nil
}

func (j *judge) poles() {
	was := 0
	for _, l := range j.oldComps {
		if n, err := legs(j.old, l.Device); err == nil {
			was = max(was, n)
		}
	}
	for _, l := range j.comps {
		if n, err := legs(j.now, l.Device); err == nil && n > was {
			j.fail("poles", Fails, j.now.Words(j.now.Rest()), fmt.Sprintf("%d legs stand on %s at rest, were %d", n, label(j.now, l.Device), was), nil)
		}
	}
}

// overcurrent holds the device of each source that feeds the compressor against
// what the compressor and the other loads on it allow.
func (j *judge) overcurrent() {
	k, l := &j.data.Compressor, &j.Limits
	factor := l.Overcurrent
	if j.data.StartNeedsMore {
		factor = l.OvercurrentStart
	}
	for i := range j.now.Sources {
		src := &j.now.Sources[i]
		if !slices.ContainsFunc(j.comps, func(l purpose.Load) bool { return j.feeds(i, l.Device) }) {
			continue
		}
		most := max(l.OvercurrentFloor, factor*k.RLA+j.others(i))
		if !j.data.StartNeedsMore {
			most = j.sizeUp(most)
		}
		j.leastDevice(label(j.now, src.Device), src.Rating, j.others(i))
		if src.Rating > most {
			j.fail("overcurrent", Fails, "", fmt.Sprintf("%s is on %.0f A; at most %.0f A for %.1f A of compressor and %.1f A besides", label(j.now, src.Device), src.Rating, most, k.RLA, j.others(i)), nil)
		}
	}
}

// others is what a source delivers besides the compressor's current, at most.
func (j *judge) others(source int) float64 { return max(0, j.feed[source]-j.drawn) }

// openLinks opens, alone and in both circuits, each fuse and each contact that
// opens by failing, in every position reached: what it stopped in the old one it
// stops in the new one.
func (j *judge) openLinks(ctx context.Context) error {
	so, before, s := j.so, j.before, j.s
	defer func() { j.so, j.before, j.s, j.alone = so, before, s, "" }()
	for _, in := range j.was.Interrupters {
		if in.Input != "" || in.Opens == purpose.Relay && in.Moves != "" || in.Ends[0] == "" || j.omitted(in.Device) {
			continue
		}
		is := func(br netlist.Branch) bool {
			return br.Device == in.Device && br.Name == in.Branch && br.Kind == netlist.ContactBranch
		}
		b := slices.IndexFunc(j.now.Branches, is)
		if b < 0 {
			continue // gone: interrupter-gone says so
		}
		j.so, j.before = j.old.NewSolver(), map[netlist.State]*scene{}
		j.so.Hold(map[int]bool{slices.IndexFunc(j.old.Branches, is): false})
		j.s = j.now.NewSolver()
		j.s.Hold(map[int]bool{b: false})
		j.alone = in.Branch + " of " + label(j.old, in.Device)
		j.linkGuards(&in, is)
		for _, r := range j.reached {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := j.opened(r.pos, j.state(r.leaf)); err != nil {
				return err
			}
		}
	}
	return nil
}

// opened judges what stands after a contact has opened in a position, and then
// after a delay that lost its supply by that has gone back.
func (j *judge) opened(pos netlist.Position, st netlist.State) error {
	x, err := j.s.From(pos, st)
	if err != nil {
		return err
	}
	j.p.Faults++
	if err := cmp.Or(j.compressor(x, st), j.duties(x, st)); err != nil {
		return err
	}
	back := st
	for i, in := range j.now.Inputs {
		if in.Kind == "delay" {
			back = set(back, i, false)
		}
	}
	if back == st {
		return nil
	}
	if x, err = j.s.Continue(back); err != nil {
		return err
	}
	return cmp.Or(j.compressor(x, back), j.duties(x, back))
}

// linkGuards asks whether every end that a fuse cut off from its source, in any
// position of the contacts, is cut off by it still.
func (j *judge) linkGuards(in *purpose.Interrupter, is func(netlist.Branch) bool) {
	if in.Opens != purpose.Link {
		return
	}
	behind, before := fed(j.old, nil), fed(j.old, is)
	now := fed(j.now, is)
	for _, end := range j.old.Unit.Ends() {
		if behind[end] && !before[end] && now[end] && !strings.HasPrefix(end, in.Device+".") {
			j.fail("links-interrupt", Fails, "", fmt.Sprintf("%s of %s stays live", strings.TrimPrefix(end[strings.IndexByte(end, '.'):], "."), label(j.now, end[:strings.IndexByte(end, '.')])), nil)
		}
	}
}

// fed are the landed ends that conductors and contacts, in any position, join to a
// pole of a source; without the branch named.
func fed(c *netlist.Circuit, without func(netlist.Branch) bool) map[string]bool {
	is := newJoin(c.NodeCount())
	for i := range c.Branches {
		if br := c.Branches[i]; br.Kind != netlist.LoadBranch && (without == nil || !without(br)) {
			is.join(br.Nodes())
		}
	}
	roots := map[int]bool{}
	for i := range c.Sources {
		a, b, _, _ := c.Sources[i].Nodes()
		for _, n := range []int{a, b} {
			if !c.Grounded(n) {
				roots[is.find(n)] = true
			}
		}
	}
	out := map[string]bool{}
	for _, end := range c.Unit.Ends() {
		if n, ok := c.Node(end); ok && roots[is.find(n)] && len(c.Unit.At(end)) > 0 {
			out[end] = true
		}
	}
	return out
}

// shortedWindings asks whether any winding of a motor has both ends joined by what
// conducts like a wire: both taps fed, or a lead on two terminals.
func (j *judge) shortedWindings(x *netlist.Solution) {
	if j.at["winding-shorted"].Verdict == Fails {
		return
	}
	is := joined(j.now, x)
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		if a, b := br.Nodes(); br.Kind == netlist.LoadBranch && strings.HasSuffix(br.Name, "winding") && is.same(a, b) {
			j.bad(x, "winding-shorted", "", "%s of %s has both ends on one lead", br.Name, label(j.now, br.Device))
		}
	}
}

// joined are the nodes that what conducts like a wire joins in a solution.
func joined(c *netlist.Circuit, x *netlist.Solution) *join {
	is := newJoin(c.NodeCount())
	for i := range c.Branches {
		br := &c.Branches[i]
		if x.Conducts(i) && (br.Kind != netlist.LoadBranch || abs(br.Siemens()) > 100) {
			is.join(br.Nodes())
		}
	}
	return is
}

// startLeads asks whether the start leads of two motors are joined.
func (j *judge) startLeads() {
	list := motorsOf(j.now)
	for k, m := range list {
		a, _ := j.now.Branches[m.start].Nodes()
		for _, o := range list[:k] {
			if b, _ := j.now.Branches[o.start].Nodes(); j.wires().same(a, b) {
				j.fail("capacitor", Fails, "", fmt.Sprintf("the start leads of %s and %s are joined", label(j.now, m.device), label(j.now, o.device)), nil)
			}
		}
	}
}
