package proof

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// inspect asks of one solution of the new circuit everything that does not depend
// on the old one.
func (j *judge) inspect(x *netlist.Solution) {
	if x.Chatter != nil {
		j.bad(x, "no-chatter", "", "%s", strings.Join(x.Chatter, "; "))
	}
	amps := j.lineAmps(x)
	on := j.running()
	if on {
		j.drawn = max(j.drawn, amps)
	}
	j.sources(x)
	j.coils(x)
	j.solvedAsFound(x)
	j.across = map[int]float64{}
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		if br.Kind != netlist.LoadBranch || br.Device == "" {
			continue
		}
		v := abs(x.Across(i))
		a, b := br.Nodes()
		for _, n := range []int{a, b} {
			j.across[j.wires().find(n)] = max(j.across[j.wires().find(n)], v)
		}
		if abs(x.Current(i)) > j.Limits.IdleAmps {
			j.worked[br.Device] = true
		}
		if d := j.now.Unit.Device(br.Device); d.Kind == "impedance" && v > 60 && v*abs(x.Current(i)) > j.Limits.LoadWatts && !stated(j.data.Replaced, d.ID) {
			j.doubt("%s takes %.0f VA at %.0f V and is entered as a bare impedance: what is it, and whose? Enter it as what it is", label(j.now, d.ID), v*abs(x.Current(i)), v)
		}
	}
	for i := range j.now.Branches {
		a := abs(x.Current(i))
		switch j.now.Branches[i].Kind {
		case netlist.ContactBranch:
			j.contact(x, i, a, amps, on)
		case netlist.ConductorBranch:
			j.conductor(x, i, a, amps, on)
		case netlist.LoadBranch:
			j.inSeries(i, a, amps, on)
		}
		j.ground(x, i, a)
	}
	j.motors(x)
	j.capacitors(x)
	j.startVolts(x)
	j.offIsOff(x)
	if on {
		j.twoWays(x, amps)
	}
	j.parallel(x)
	j.shortedWindings(x)
}

func (j *judge) bad(x *netlist.Solution, id, device, format string, a ...any) {
	if j.at[id].Verdict == Fails {
		return
	}
	var path []string
	if device != "" {
		path = x.Path(device)
	}
	j.fail(id, Fails, j.now.Words(x.State), fmt.Sprintf(format, a...), path)
}

func (j *judge) sources(x *netlist.Solution) {
	l := &j.Limits
	for i := range j.now.Sources {
		src := &j.now.Sources[i]
		v, a, va := x.Feed(i)
		j.feed[i] = max(j.feed[i], a)
		open := math.Abs(src.Open)
		name := label(j.now, src.Device) + " (" + src.Name + ")"
		if src.Coupled() { // what its primary gets, and not what its plate says
			_, _, p1, p2 := src.Nodes()
			primary, rated := abs(x.NodeVolts(p1)-x.NodeVolts(p2)), j.now.Unit.Device(src.Device).P("primary-volts")
			if r := primary / rated; r > j.Limits.MotorVolts[1] {
				j.bad(x, "transformer", "", "%s: %.0f V on a primary for %.0f V", name, primary, rated)
			}
			open *= abs(x.NodeVolts(p1)-x.NodeVolts(p2)) / j.now.Unit.Device(src.Device).P("primary-volts")
		}
		if v < l.ShortFraction*open && a > 2*src.Rating {
			j.bad(x, "no-short", "", "%s: %.1f V of %.1f V at %.1f A", name, v, open, a)
		}
		if src.VA == 0 {
			if a > src.Rating {
				j.bad(x, "source-limit", "", "%s: %.1f A of %.1f A", name, a, src.Rating)
			}
			continue
		}
		if v > l.Class2Volts || src.VA > l.Class2VA {
			j.bad(x, "class2-limits", "", "%s: %.1f V, rated %.0f VA; limits %.0f V, %.0f VA", name, v, src.VA, l.Class2Volts, l.Class2VA)
		}
		if va > src.VA {
			j.bad(x, "transformer", "", "%s: %.1f VA of %.0f VA", name, va, src.VA)
		}
	}
}

func (j *judge) coils(x *netlist.Solution) {
	for i := range j.now.Coils {
		k := &j.now.Coils[i]
		in, v := x.Drawn(i)
		switch high := j.Limits.CoilHigh * k.Rated; {
		case in && (v < k.PickUp || v > high):
			j.bad(x, "coils", k.Device, "%s drawn at %.1f V; pick-up %.1f V, limit %.1f V", label(j.now, k.Device), v, k.PickUp, high)
		case !in && 1.05*v > k.DropOut && v <= k.DropOut && j.remained(k.Device, x.State, v):
			j.doubt("%s is released with %.1f V left on it, as it was, and lets go at %.1f V: with 105 %% of the line it may hold on (%s)", label(j.now, k.Device), v, k.DropOut, j.now.Words(x.State))
		case !in && 1.05*v > k.DropOut && !j.remained(k.Device, x.State, v):
			j.bad(x, "coils", k.Device, "%s released at %.1f V, with 105 %% of the line above drop-out %.1f V", label(j.now, k.Device), v, k.DropOut)
		}
	}
}

// remained tells whether a released coil had as much on it in the old circuit, in
// a corresponding state: a remainder through other loads that was there before.
func (j *judge) remained(device string, st netlist.State, volts float64) bool {
	return slices.ContainsFunc(j.olds(st), func(s netlist.State) bool {
		sc, err := j.then(s)
		return err == nil && sc.coils[device] > volts*(1-j.Limits.DutyPart)
	})
}

// carried is what a part in the compressor's line carries by the plates: the
// compressor's rated-load current in place of the one solved, and what the fan and
// others take besides.
func (j *judge) carried(a, comp float64, on bool) (amps float64, compressor bool) {
	if !on || a < 0.4*comp { // two in parallel carry half each
		return a, false
	}
	return max(a, j.data.Compressor.RLA+max(0, a-comp)), true
}

func (j *judge) contact(x *netlist.Solution, i int, a, comp float64, on bool) {
	br := &j.now.Branches[i]
	if br.Rating > 0 && a > br.Rating {
		j.bad(x, "contacts", br.Device, "%s of %s: %.2f A of %.2f A", br.Name, label(j.now, br.Device), a, br.Rating)
	}
	need, carries := j.carried(a, comp, on)
	j.contactAsFound(x, i, a, carries)
	d := j.now.Unit.Device(br.Device)
	if drop := abs(x.Across(i)); br.Worked() && d.Kind != "start-relay" && a > 1 && drop > j.Limits.ContactVolts {
		j.bad(x, "contacts", "", "%s of %s loses %.2f V and warms with %.0f W at %.1f A: a good contact loses less than %.1f V", br.Name, label(j.now, br.Device), drop, drop*a, a, j.Limits.ContactVolts)
	}
	if _, read := d.Params["ohms"]; d.Kind == "fuse" && read && a > 1 && abs(x.Across(i)) > j.Limits.ContactVolts {
		j.doubt("%s, of %.3g ohm as entered, loses %.2f V and warms with %.0f W at %.1f A: the fuse, its clips or the reading is bad", label(j.now, d.ID), d.P("ohms"), abs(x.Across(i)), a*abs(x.Across(i)), a)
	}
	if !carries {
		return
	}
	if !br.Worked() {
		j.leastDevice(label(j.now, d.ID), br.Rating, max(0, need-j.data.Compressor.RLA))
	}
	if need > br.Rating {
		j.bad(x, "contactor", "", "%s of %s carries %.1f A by the plates, rated %.1f A", br.Name, label(j.now, d.ID), need, br.Rating)
	}
	locked := j.data.Compressor.LRA
	for _, l := range j.fans(x) {
		if f := j.now.Unit.Device(l); f.P("lra") > 0 && a-comp > 0.3*f.P("rla") {
			locked += f.P("lra")
		}
	}
	in, _ := j.now.Worker(i)
	switch r := d.P("contact-lra"); {
	case math.IsNaN(r) && br.Worked() && in < 0: // what the outside opens does not make the current
		j.bad(x, "contactor", "", "%s of %s makes the compressor's current and has no locked-rotor rating", br.Name, label(j.now, d.ID))
	case r < locked:
		j.bad(x, "contactor", "", "%s of %s makes and breaks %.0f A of locked-rotor current, rated %.0f A", br.Name, label(j.now, d.ID), locked, r)
	}
}

// inSeries asks about a part without a rating in the compressor's line.
func (j *judge) inSeries(i int, a, comp float64, on bool) {
	br := &j.now.Branches[i]
	d := j.now.Unit.Device(br.Device)
	if _, carries := j.carried(a, comp, on); !carries || d.Kind != "impedance" || stated(j.data.Replaced, d.ID) {
		return
	}
	j.fail("answered", NotDecided, "", fmt.Sprintf("%s lies in the compressor's line, and nothing says for what current it is: %.1f A by the plates", label(j.now, d.ID), j.data.Compressor.RLA), nil)
}

// startCurrent is what the compressor's start winding takes.
func (j *judge) startCurrent(x *netlist.Solution) complex128 {
	for _, b := range j.windings() {
		if strings.HasPrefix(j.now.Branches[b].Name, "start") {
			return x.Current(b)
		}
	}
	return 0
}

// fans that run in a solution.
func (j *judge) fans(x *netlist.Solution) (out []string) {
	for i, kind := range j.now.LoadKind {
		if kind == "fan" && runs(x.Status(j.now.Loads[i])) {
			out = append(out, j.now.Loads[i])
		}
	}
	return
}

func (j *judge) conductor(x *netlist.Solution, i int, a, comp float64, on bool) {
	l := &j.Limits
	br := &j.now.Branches[i]
	w := j.now.Unit.Conductor(br.Name)
	need, carries := j.carried(a, comp, on)
	switch start := j.startCurrent(x); {
	case carries && abs(x.Current(i)-start) < 0.05*a, carries && abs(x.Current(i)+start) < 0.05*a: // the start winding's own lead, by the capacitor
		need = a * l.CompressorFactor
	case carries:
		need += (l.CompressorFactor - 1) * j.data.Compressor.RLA
	}
	if m := l.ampacity(w.Gauge, w.Class == netlist.Class2); need > m && w.Class != netlist.Ground {
		j.bad(x, "conductors", "", "%s (%s, %d AWG): %.1f A of %.0f A", w.ID, w.Colour, w.Gauge, need, m)
	}
	from, to := br.Nodes()
	for _, n := range []int{from, to} {
		if v := abs(x.NodeVolts(n)); v > w.Insulation && w.Class != netlist.Ground {
			j.bad(x, "insulation", "", "%s: %.0f V on %.0f V insulation", w.ID, v, w.Insulation)
		}
		if v := j.across[j.wires().find(n)]; v > w.Insulation && w.Class == netlist.Line {
			j.bad(x, "insulation", "", "%s: %.0f V to the other lead of its capacitor on %.0f V insulation", w.ID, v, w.Insulation)
		}
	}
}

// ground asks whether a branch that touches equipment ground carries anything or
// can be opened. A supply's own bond to earth is not judged.
func (j *judge) ground(x *netlist.Solution, i int, a float64) {
	br := &j.now.Branches[i]
	n, m := br.Nodes()
	if j.supplying(br.Device) || !(j.now.Grounded(n) || j.now.Grounded(m)) {
		return
	}
	if br.Kind == netlist.ContactBranch {
		j.bad(x, "ground-switched", "", "%s of %s lies in a ground", br.Name, label(j.now, br.Device))
	}
	if a > j.Limits.GroundAmps {
		what := "conductor " + br.Name
		if br.Kind != netlist.ConductorBranch {
			what = br.Name + " of " + label(j.now, br.Device)
		}
		j.bad(x, "ground-current", br.Device, "%s: %.2f A to ground", what, a)
	}
}

func (j *judge) supplying(device string) bool {
	for i := range j.now.Sources {
		if j.now.Sources[i].Device == device && !j.now.Sources[i].Coupled() {
			return true
		}
	}
	return false
}

// motors asks of every winding that takes up its running impedance whether its
// motor stands, and whether its voltage is right.
func (j *judge) motors(x *netlist.Solution) {
	for i, id := range j.now.Loads {
		status := x.Status(id)
		d := j.now.Unit.Device(id)
		if status == "stalls" {
			j.bad(x, "stalls", id, "%s stands under voltage", label(j.now, id))
		}
		if runs(status) && j.now.LoadKind[i] != "compressor" {
			j.plateVolts(x, d)
		}
		if j.now.LoadKind[i] != "compressor" || !runs(status) {
			continue
		}
		for _, b := range j.windings() {
			br := &j.now.Branches[b]
			if br.Device != id || !strings.HasPrefix(br.Name, "run") {
				continue
			}
			v := abs(x.Across(b))
			if r := v / d.P("volts"); r < j.Limits.MotorVolts[0] || r > j.Limits.MotorVolts[1] {
				j.bad(x, "motor-volts", id, "%s: %.0f V, rated %.0f V", label(j.now, id), v, d.P("volts"))
			}
		}
	}
}

// plateVolts holds a load other than the compressor against the volts of its plate, if
// somebody entered them.
func (j *judge) plateVolts(x *netlist.Solution, d *netlist.Device) {
	rated, entered := d.Params["volts"]
	if !entered { // then the supply's: which it may be for
		rated = d.P("volts")
	}
	most := 0.0
	for b := range j.now.Branches {
		if br := &j.now.Branches[b]; br.Device == d.ID && br.Kind == netlist.LoadBranch && slices.Contains([]string{"run winding", "motor", "heater"}, br.Name) {
			most = max(most, abs(x.Across(b)))
		}
	}
	off := func(rated float64) bool {
		return most > 0 && (most < j.Limits.MotorVolts[0]*rated || most > j.Limits.MotorVolts[1]*rated)
	}
	switch {
	case !entered && off(rated) && !slices.ContainsFunc(j.now.Sources, func(s netlist.Source) bool {
		return !s.Coupled() && !off(j.now.Unit.Device(s.Device).P("volts"))
	}):
		j.fail("motor-volts", NotDecided, j.now.Words(x.State), fmt.Sprintf("%s has %.0f V, which is none of the supplies' voltages within the band: what does its plate say?", label(j.now, d.ID), most), nil)
	case entered && off(rated):
		j.bad(x, "motor-volts", d.ID, "%s: %.0f V, rated %.0f V", label(j.now, d.ID), most, rated)
	}
}

// seen is the capacitance that lies between the start and the run lead of a motor
// in a solution, whatever parts make it up: the current into the start winding over
// the voltage between the leads. ok is false if it is no capacitance.
func (bk *rulebook) seen(c *netlist.Circuit, x *netlist.Solution, start, run int) (farads float64, z complex128, ok bool) {
	s, _ := c.Branches[start].Nodes()
	r, _ := c.Branches[run].Nodes()
	z = (x.NodeVolts(r) - x.NodeVolts(s)) / x.Current(start)
	farads = -1 / (2 * math.Pi * c.Unit.Hertz * imag(z))
	return farads, z, math.Abs(real(z)) <= bk.Limits.PhasePart*math.Abs(imag(z)) && farads > 0
}

// A motor's windings, by branch.
type motor struct {
	device     string
	start, run int
}

// motorsOf lists the capacitor-run motors of one pair of windings.
func motorsOf(c *netlist.Circuit) (out []motor) {
	for _, id := range c.Loads {
		m := motor{id, -1, -1}
		for i := range c.Branches {
			br := &c.Branches[i]
			switch {
			case br.Device != id || br.Kind != netlist.LoadBranch || !br.Worked():
			case br.Name == "start winding":
				m.start = i
			case br.Name == "run winding":
				m.run = i
			}
		}
		if m.start >= 0 && m.run >= 0 {
			out = append(out, m)
		}
	}
	return
}

// capacitors asks what lies between each running motor's start and run leads, and
// whether every capacitor is rated for the voltage on it.
func (j *judge) capacitors(x *netlist.Solution) {
	k := &j.data.Compressor
	feed, start := 0.0, -1 // the compressor's, if it runs
	for _, m := range motorsOf(j.now) {
		if !runs(x.Status(m.device)) {
			continue
		}
		c, z, ok := j.seen(j.now, x, m.start, m.run)
		want, other := k.Farads, 0.0
		if len(j.comps) > 0 && m.device == j.comps[0].Device {
			feed, start = abs(x.Current(m.start)), m.start
		} else { // a fan: what its plate asks; if nobody entered that, what it had is asked about
			d := j.now.Unit.Device(m.device)
			want = d.P("farads")
			if _, entered := d.Params["farads"]; !entered {
				other = j.caps[m.device]
			}
		}
		tolerance := k.Tolerance
		if j.startRelay() != nil { // a start relay's coil lies across the start winding and is seen with it
			tolerance = max(tolerance, 0.03)
		}
		near := func(f float64) bool { return math.Abs(c-f) <= tolerance*f }
		switch {
		case !ok:
			j.bad(x, "capacitor", "", "%s: no capacitor lies between start and run lead, but %.1f%+.1fi ohm", label(j.now, m.device), real(z), imag(z))
		case near(want):
		case near(other):
			j.fail("capacitor", NotDecided, j.now.Words(x.State), fmt.Sprintf("%s: %.1f uF between start and run lead, as it was; usual is %.1f uF: what does its plate ask for?", label(j.now, m.device), 1e6*c, 1e6*want), nil)
		default:
			j.bad(x, "capacitor", "", "%s: %.1f uF between start and run lead, asked for is %.1f uF within %.0f %%", label(j.now, m.device), 1e6*c, 1e6*want, 100*k.Tolerance)
		}
	}
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		y := br.Siemens()
		if br.Kind != netlist.LoadBranch || imag(y) <= 0 || math.Abs(real(y)) > 0.1*imag(y) {
			continue
		}
		d := j.now.Unit.Device(br.Device)
		volts := d.P("volts")
		if !(d.P("farads") > 0 && volts > 0) {
			continue // a reactance with no plate
		}
		if v := abs(x.Across(i)); v > volts {
			j.bad(x, "capacitor-volts", "", "%s: %.0f V on a capacitor rated %.0f V", label(j.now, d.ID), v, volts)
		}
		if feed > 0 && abs(x.Current(i)) > 0.3*feed && j.starts(i, start) && volts < k.CapVolts {
			j.bad(x, "capacitor-volts", "", "%s is rated %.0f V, the compressor asks for %.0f V", label(j.now, d.ID), volts, k.CapVolts)
		}
	}
}

// startVolts holds what helps the compressor to start against its own rating.
func (j *judge) startVolts(x *netlist.Solution) {
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		if br.Kind != netlist.LoadBranch || !slices.Contains(j.parts, br.Device) {
			continue
		}
		if d := j.now.Unit.Device(br.Device); d.P("volts") < abs(x.Across(i)) {
			j.bad(x, "capacitor-volts", "", "%s: %.0f V, rated %.0f V", label(j.now, d.ID), abs(x.Across(i)), d.P("volts"))
		}
	}
}

// offIsOff asks whether a compressor that is off has more on its windings than the
// old one had, or is live to earth at its terminals where that was dead; without a
// call, the same of the terminals of every load that stays.
func (j *judge) offIsOff(x *netlist.Solution) {
	for _, l := range j.comps {
		if x.Status(l.Device) != "" {
			continue
		}
		for _, b := range j.windings() {
			if v := abs(x.Across(b)); v > max(1.6*j.offVolts, j.offVolts+j.Limits.DutyVolts) { // what stood on the old winding by its capacitor goes with the new one's data
				j.bad(x, "off-is-off", l.Device, "%s is off, with %.1f V on its %s", label(j.now, l.Device), v, j.now.Branches[b].Name)
			}
		}
		most := j.offEarth[without(x.State, j.call, j.full)]
		for _, t := range lineEnds(j.now, l.Device) {
			if v, err := x.ToEarth(l.Device + "." + t); err == nil && most <= j.Limits.TouchVolts && abs(v) > j.Limits.TouchVolts {
				j.bad(x, "off-is-off", l.Device, "%s is off, with %.0f V to earth at its terminal %s; the old one had at most %.0f V", label(j.now, l.Device), abs(v), t, most)
			}
		}
	}
	if !without(x.State, j.call, j.full) {
		j.nameLive(x, "while it is called and held off")
		return
	}
	if j.at["off-is-off"].Verdict == Fails {
		return
	}
	j.liveAtRest(x)
	for _, l := range j.comps {
		for _, b := range j.windings() {
			if a := abs(x.Current(b)); x.Status(l.Device) == "" && a > warming {
				j.fail("off-is-off", NotDecided, j.now.Words(x.State), fmt.Sprintf("%.1f A flow in the %s of %s without a call, as in the old one's: do the new compressor's instructions allow it to be warmed so?", a, j.now.Branches[b].Name, label(j.now, l.Device)), nil)
			}
		}
	}
	for i := range j.loads {
		q := &j.loads[i]
		if !q.was.HasStatus() || stated(j.data.Extended, q.is.Device) || stated(j.data.Replaced, q.is.Device) {
			continue
		}
		for _, t := range lineEnds(j.now, q.is.Device) {
			end := q.is.Device + "." + t
			if v, err := x.ToEarth(end); err == nil && j.restEarth[end] <= j.Limits.TouchVolts && abs(v) > j.Limits.TouchVolts {
				j.bad(x, "off-is-off", "", "%s stands at %.0f V to earth without a call, had at most %.0f V", end, abs(v), j.restEarth[end])
			}
		}
	}
}

// liveAtRest asks about a terminal of a compressor that is off, live without a call,
// and dead while nothing at all is called or moved: a way beside the contactor's pole.
func (j *judge) liveAtRest(x *netlist.Solution) {
	for _, l := range j.comps {
		if x.Status(l.Device) != "" {
			continue
		}
		for _, t := range lineEnds(j.now, l.Device) {
			end := l.Device + "." + t
			if v, err := x.ToEarth(end); err == nil && abs(v) > j.Limits.TouchVolts && j.deadAtRest[end] {
				j.doubt("terminal %s of %s stands at %.0f V to earth while it is off (%s), and is dead while nothing is called: something beside the contactor's pole leads there, and one welded pole would run it. Find that, and take it out", t, label(j.now, l.Device), abs(v), j.now.Words(x.State))
				return
			}
		}
	}
}

// restingEnds notes which terminals of the compressor are dead while nothing is called.
func (j *judge) restingEnds() error {
	j.deadAtRest = map[string]bool{}
	x, err := j.s.Solve(j.now.Rest())
	if err != nil {
		return err
	}
	for _, l := range j.comps {
		for _, t := range lineEnds(j.now, l.Device) {
			end := l.Device + "." + t
			v, err := x.ToEarth(end)
			j.deadAtRest[end] = err == nil && abs(v) <= j.Limits.TouchVolts
		}
	}
	return nil
}

// warming is the current in a winding at rest from which it is taken for a way of
// warming the compressor: above what a crankcase heater across an open pole draws.
const warming = 0.5 // A; our own

// without tells whether neither stage is called in a state.
func without(st netlist.State, calls ...int) bool {
	return !slices.ContainsFunc(calls, func(i int) bool { return i >= 0 && st>>i&1 == 1 })
}

// lineEnds lists the terminals of a device that are for line voltage.
func lineEnds(c *netlist.Circuit, device string) (out []string) {
	for _, t := range netlist.Kinds[c.Unit.Device(device).Kind].Terminals {
		if t.Class == netlist.Line {
			out = append(out, t.Name)
		}
	}
	return
}

// oldMotors notes what lay between the leads of the old circuit's motors, how much
// stood on its compressors' windings and at their terminals while they were off, and
// at the terminals of every load without a call.
func (j *judge) oldMotors() error {
	j.caps, j.offEarth, j.restEarth = map[string]float64{}, map[bool]float64{}, map[string]float64{}
	motors := motorsOf(j.old)
	for _, leaf := range j.was.Leaves {
		x, err := j.so.Solve(leaf.State)
		if err != nil {
			return err
		}
		for _, m := range motors {
			if j.caps[m.device] == 0 && runs(x.Status(m.device)) {
				if c, _, ok := j.seen(j.old, x, m.start, m.run); ok {
					j.caps[m.device] = c
				}
			}
		}
		rest := without(leaf.State, j.oldCall, j.oldFull)
		for _, id := range j.old.Loads {
			for _, t := range lineEnds(j.old, id) {
				if v, err := x.ToEarth(id + "." + t); err == nil && rest {
					j.restEarth[id+"."+t] = max(j.restEarth[id+"."+t], abs(v))
				}
			}
		}
		for _, l := range j.oldComps {
			for _, t := range lineEnds(j.old, l.Device) {
				if v, err := x.ToEarth(l.Device + "." + t); err == nil && x.Status(l.Device) == "" {
					j.offEarth[rest] = max(j.offEarth[rest], abs(v))
				}
			}
			for _, b := range l.Branches {
				if br := &j.old.Branches[b]; br.Worked() && x.Status(l.Device) == "" {
					j.offVolts = max(j.offVolts, abs(x.Across(b)))
				}
			}
		}
	}
	return nil
}

// starts tells whether a capacitor's branch has an end on the compressor's start
// lead.
func (j *judge) starts(i, start int) bool {
	s, _ := j.now.Branches[start].Nodes()
	a, b := j.now.Branches[i].Nodes()
	return j.wires().same(a, s) || j.wires().same(b, s)
}

// apart asks whether anything of a Class 2 circuit can be joined to line through
// parts and contacts, whatever position these are in; ground and a transformer's
// coupling join nothing.
func (j *judge) apart() {
	is := loose(j.now)
	lines := map[int]string{}
	j.eachClassed(netlist.Line, func(n int, name string) {
		if k := is.find(n); lines[k] == "" {
			lines[k] = name
		}
	})
	j.eachClassed(netlist.Class2, func(n int, name string) {
		if line := lines[is.find(n)]; line != "" {
			j.fail("class2-apart", Fails, "", fmt.Sprintf("%s is joined to %s", name, line), nil)
		}
	})
}

// loose joins the nodes that parts, contacts in any position and plain sources
// join, ground left out.
func loose(c *netlist.Circuit) *join {
	is := newJoin(c.NodeCount())
	link := func(a, b int) {
		if !c.Grounded(a) && !c.Grounded(b) {
			is.join(a, b)
		}
	}
	for i := range c.Branches {
		if c.Branches[i].Siemens() != 0 {
			link(c.Branches[i].Nodes())
		}
	}
	for i := range c.Sources {
		a, b, _, _ := c.Sources[i].Nodes()
		link(a, b)
	}
	return is
}

// stubs asks whether a capped end can be live: whether anything joins it to a
// source, in any position of the contacts.
func (j *judge) stubs() {
	is := loose(j.now)
	live := map[int]bool{}
	for i := range j.now.Sources {
		a, b, _, _ := j.now.Sources[i].Nodes()
		for _, n := range []int{a, b} {
			if !j.now.Grounded(n) {
				live[is.find(n)] = true
			}
		}
	}
	for i := range j.now.Branches {
		br := &j.now.Branches[i]
		if br.Kind != netlist.ConductorBranch || br.Ends[0] != netlist.Capped && br.Ends[1] != netlist.Capped {
			continue
		}
		if a, _ := br.Nodes(); live[is.find(a)] {
			j.fail("no-live-stub", Fails, "", fmt.Sprintf("%s (%s) is capped at one end and can be live", br.Name, j.now.Unit.Conductor(br.Name).Colour), nil)
		}
	}
}

// eachClassed visits every node that a terminal or a conductor of a class has, with
// a name for it; ground nodes are left out.
func (j *judge) eachClassed(class netlist.Class, f func(node int, name string)) {
	c := j.now
	for i := range c.Unit.Devices {
		d := &c.Unit.Devices[i]
		for _, t := range netlist.Kinds[d.Kind].Terminals {
			if end := d.ID + "." + t.Name; t.Class == class {
				if n, ok := c.Node(end); ok && !c.Grounded(n) {
					f(n, label(c, d.ID)+" "+t.Name)
				}
			}
		}
	}
	for i := range c.Branches {
		if br := &c.Branches[i]; br.Kind == netlist.ConductorBranch && br.Class() == class {
			a, b := br.Nodes()
			for _, n := range []int{a, b} {
				if !c.Grounded(n) {
					f(n, "conductor "+br.Name)
				}
			}
		}
	}
}

// twoWays asks whether two contacts lie in parallel in the running compressor's
// line: neither opens it alone, and the smaller carries its share.
func (j *judge) twoWays(x *netlist.Solution, comp float64) {
	for _, q := range j.side {
		if !x.Conducts(q[0]) || !x.Conducts(q[1]) || max(abs(x.Current(q[0])), abs(x.Current(q[1]))) < 0.4*comp {
			continue
		}
		a, b := &j.now.Branches[q[0]], &j.now.Branches[q[1]]
		j.bad(x, "contactor", "", "%s of %s and %s of %s lie in parallel in the compressor's line, and did not before", a.Name, label(j.now, a.Device), b.Name, label(j.now, b.Device))
	}
}

// sides lists the pairs of contacts whose ends conductors join, each to each.
func sides(c *netlist.Circuit) (out [][2]int) {
	is := wires(c, func(*netlist.Branch) bool { return true })
	for i := range c.Branches {
		for k := range i {
			if c.Branches[i].Kind != netlist.ContactBranch || c.Branches[k].Kind != netlist.ContactBranch {
				continue
			}
			a, b := c.Branches[i].Nodes()
			p, q := c.Branches[k].Nodes()
			if !is.same(a, b) && (is.same(a, p) && is.same(b, q) || is.same(a, q) && is.same(b, p)) {
				out = append(out, [2]int{k, i})
			}
		}
	}
	return
}

// findSides finds the contacts that lie in parallel now and did not.
func (j *judge) findSides() {
	had := map[[4]string]bool{}
	name := func(c *netlist.Circuit, q [2]int) [4]string {
		return [4]string{c.Branches[q[0]].Device, c.Branches[q[0]].Name, c.Branches[q[1]].Device, c.Branches[q[1]].Name}
	}
	for _, q := range sides(j.old) {
		n := name(j.old, q)
		had[n], had[[4]string{n[2], n[3], n[0], n[1]}] = true, true
	}
	for _, q := range sides(j.now) {
		if !had[name(j.now, q)] {
			j.side = append(j.side, q)
		}
	}
}

// parallel asks whether the secondaries of two transformers are joined at both
// ends by what conducts like a wire.
func (j *judge) parallel(x *netlist.Solution) {
	c := j.now
	var of []int
	for i := range c.Sources {
		if c.Sources[i].Coupled() {
			of = append(of, i)
		}
	}
	if len(of) < 2 {
		return
	}
	is := joined(c, x)
	for k, i := range of {
		for _, m := range of[k+1:] {
			a, b, _, _ := c.Sources[i].Nodes()
			p, q, _, _ := c.Sources[m].Nodes()
			if is.same(a, p) && is.same(b, q) || is.same(a, q) && is.same(b, p) {
				j.bad(x, "paralleled", "", "%s and %s: take one out", label(c, c.Sources[i].Device), label(c, c.Sources[m].Device))
			}
		}
	}
}

// join is a union-find over nodes; earth is one more.
type join struct{ up []int }

func newJoin(nodes int) *join {
	j := &join{make([]int, nodes+1)}
	for i := range j.up {
		j.up[i] = i
	}
	return j
}

func (j *join) find(n int) int {
	if n < 0 {
		n = len(j.up) - 1
	}
	for j.up[n] != n {
		j.up[n] = j.up[j.up[n]]
		n = j.up[n]
	}
	return n
}

func (j *join) join(a, b int)      { j.up[j.find(a)] = j.find(b) }
func (j *join) same(a, b int) bool { return j.find(a) == j.find(b) }
