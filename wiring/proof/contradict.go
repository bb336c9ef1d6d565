package proof

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// What is entered of a part that stays, held against itself: a plate nobody read, a
// label that says something else than the numbers, readings that no whole winding
// gives.

// contradictions asks about each part of the new circuit.
func (j *judge) contradictions() {
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		j.labelSays(d)
		j.labelRead(d)
		j.fieldsSay(d)
		j.fuseVolts(d)
		j.windingsSay(d)
		j.readingsSay(d)
		if d.Kind == "capacitor-dual" {
			j.bothSides(d)
		}
	}
	j.stopsBlowerOnly()
	j.neutralBroken()
	j.unseated()
	j.otherTexts()
}

// ratingUnread asks for the rating of a contact that carries the compressor's current
// and whose plate nobody entered: the kind's usual value is no rating.
func (j *judge) ratingUnread(d *netlist.Device) {
	if _, entered := d.Params["contact-amps"]; !entered && j.old.Unit.Device(d.ID) != nil {
		j.doubt("%s carries the compressor's current and its rated current is not entered: read it on the part (contact-amps)", label(j.now, d.ID))
	}
}

// within tells of a label that its part sits inside a motor's shell.
var within = regexp.MustCompile(`(?i)\b(winding|internal|inside|in the (shell|motor|compressor)|motor protector|bobinado|interno)\b`)

var saysVolts = regexp.MustCompile(`(?i)\b(\d{3})\s?(v|volts?|vac)\b`)

// saysBroken are words of a label by which a part does not do its work.
var saysBroken = regexp.MustCompile(`(?i)\b(jumpered|jumped out|bypassed|stuck|welded|burnt|burned|shorted|defective|automotive)\b`)

var saysAmps = regexp.MustCompile(`(?i)\b(\d+(?:\.\d+)?)\s?(?:a|amps?|amperes?)\b`)

// saysAmpsOf is what a label's amperes are of, by kind.
var saysAmpsOf = map[string]string{"fuse": "amps", "contactor-1p": "contact-amps", "contactor-2p": "contact-amps", "supply": "breaker-amps", "supply-120": "breaker-amps"}

var saysVoltsOf = map[string]string{"supply": "volts", "supply-120": "volts", "transformer": "primary-volts", "capacitor-run": "volts", "capacitor-dual": "volts", "capacitor-start": "volts"}

var saysPhases = regexp.MustCompile(`(?i)\b((three|3)[- ]?(phase|ph|pole)|high[- ]leg|wild leg|delta)\b`)

// labelSays holds a label against what is entered.
func (j *judge) labelSays(d *netlist.Device) {
	if slices.Contains([]string{"thermostat-discharge", "switch", "overload-line"}, d.Kind) && within.MatchString(d.Label) && !j.omitted(d.ID) && j.landed(d) {
		j.doubt("%s is kept, and by its label it sits inside a motor or compressor: it leaves with the old one. State that as the reason for leaving it out, and see what protects the new one (NEC 440.52), or enter where it is", label(j.now, d.ID))
	}
	if m := saysBroken.FindString(d.Label); m != "" && j.landed(d) && j.old.Unit.Device(d.ID) != nil && j.data.Replaced[d.ID] == "" {
		j.doubt("%s stays, and its label says %q: mend or replace it first, or enter it as it is now", label(j.now, d.ID), strings.ToLower(m))
	}
	found := j.old.Unit.Device(d.ID) // what the label stood on
	if found == nil {
		return
	}
	for _, q := range []struct {
		says *regexp.Regexp
		of   map[string]string
		unit string
	}{{saysAmps, saysAmpsOf, "A"}, {saysVolts, saysVoltsOf, "V"}} {
		m, name := q.says.FindStringSubmatch(found.Label), q.of[d.Kind]
		if m == nil || name == "" {
			continue
		}
		if v, err := strconv.ParseFloat(m[1], 64); err == nil && (v < 0.95*found.P(name) || v > 1.05*found.P(name)) {
			j.doubt("the label of %s says %s %s and %.4g %s are entered: which is it? Read or measure it", label(j.now, d.ID), m[1], q.unit, found.P(name), q.unit)
		}
	}
	if strings.HasPrefix(d.Kind, "supply") && saysPhases.MatchString(d.Label) {
		j.doubt("the label of %s speaks of three phases, and two legs are entered: which is it? A three-phase supply is outside what is planned here", label(j.now, d.ID))
	}
}

// landed tells whether any conductor is on a part.
func (j *judge) landed(d *netlist.Device) bool {
	return slices.ContainsFunc(netlist.Kinds[d.Kind].Terminals, func(t netlist.Terminal) bool { return len(j.now.Unit.At(d.ID+"."+t.Name)) > 0 })
}

// shorted is how many times its locked-rotor current a motor's run winding would take
// by its resistance alone, beyond which the reading is not of a whole winding: with the
// winding's reactance whole ones come to 3 to 6 (from memory).
const shorted = 15

// windingsSay holds the ohms of a motor that stays against its plate.
func (j *judge) windingsSay(d *netlist.Device) {
	kind := netlist.Kinds[d.Kind]
	if !slices.ContainsFunc(kind.Params, func(p netlist.Param) bool { return p.Name == "run-ohms" }) || j.isCompressor(d.ID) {
		return
	}
	ohms, entered := d.Params["run-ohms"]
	if lra := d.P("lra"); entered && ohms > 0 && d.P("volts")/ohms > shorted*lra {
		j.doubt("%s: a run winding of %.3g ohm takes far more than the %.3g A of its plate standing: the winding is shorted, or the reading is not of it. Measure again at the leads", label(j.now, d.ID), ohms, lra)
	}
	if most := 0.6 * d.P("volts") / d.P("rla"); entered && ohms > most { // our own: sound ones lie far below
		j.doubt("%s: a run winding of %.3g ohm does not let the %.3g A of its plate through: it is open or going, or the reading is not of it. Measure again at the leads", label(j.now, d.ID), ohms, d.P("rla"))
	}
	_, other := d.Params["start-ohms"]
	if start := d.P("start-ohms"); other && start > 12*d.P("run-ohms") { // from memory: two to six times
		j.doubt("%s: a start winding of %.3g ohm is %.0f times its run winding: it is open or going, or the reading is not of it. Measure again at the leads", label(j.now, d.ID), start, start/d.P("run-ohms"))
	}
	if start := d.P("start-ohms"); (entered || other) && start < d.P("run-ohms") {
		say := fmt.Sprintf("%s: its start winding (%.3g ohm) has less than its run winding (%.3g ohm), where nearly all motors have more (from memory): the two leads are exchanged, or the readings are. Compare with the diagram on the motor", label(j.now, d.ID), start, d.P("run-ohms"))
		if d.Condition == "sound" { // somebody looked
			j.reserve("%s", say)
		} else {
			j.doubt("%s; if it is so and sound, enter that (condition)", say)
		}
	}
}

// readingsSay holds what was read of a coil or a transformer that stays against the rest
// that is entered of it, or is usual for it: a coil that is open draws nothing, whatever
// its impedance is said to be, and is not to be kept because the reading says so.
func (j *judge) readingsSay(d *netlist.Device) {
	if !j.landed(d) || j.old.Unit.Device(d.ID) == nil || j.data.Replaced[d.ID] != "" && !onlySet(d.Kind) {
		return
	}
	name := label(j.now, d.ID)
	entered := func(names ...string) bool {
		return slices.ContainsFunc(names, func(n string) bool { return has(d.Params, n) })
	}
	out := func(v, least, most float64) bool { return v < least || v > most }
	if volts := d.P("coil-volts"); volts > 0 {
		z, dc := math.Hypot(d.P("coil-ohms"), d.P("coil-reactance")), d.P("coil-dc-ohms")
		switch va := volts * volts / z; {
		case entered("coil-volts", "pick-up") && out(d.P("pick-up"), 0.3*volts, 0.95*volts):
			j.doubt("%s: a coil for %.4g V that draws at %.4g V contradicts itself: read what is marked on it", name, volts, d.P("pick-up"))
		case entered("coil-ohms", "coil-reactance", "coil-volts") && out(va, 0.3, 60):
			j.doubt("%s: a coil for %.4g V of %.3g ohm at the line's frequency would take %.2g VA, where such coils take 0.5 to 20 (from memory): read it again", name, volts, z, va)
		case entered("coil-dc-ohms") && out(dc, 0.1*z, 1.5*z):
			j.doubt("%s: its coil reads %.3g ohm, and takes its current through %.3g ohm at the line's frequency, of which a third is usual (from memory): it is open or shorted, or the reading is not of it. Measure again with a lead off", name, dc, z)
		}
	}
	if d.Kind == "transformer" {
		for _, q := range []struct {
			param, words string
			volts        float64
		}{{"primary-dc-ohms", "primary", d.P("primary-volts")}, {"secondary-dc-ohms", "secondary", d.P("volts")}} {
			lost := d.P(q.param) * d.P("va") / (q.volts * q.volts) // of its voltage, at its rating
			if entered(q.param) && out(lost, 0.004, 0.4) {
				j.doubt("%s: a %s of %.3g ohm would lose %.2g %% of its voltage at %.3g VA, where a sound one loses 1 to 15 (from memory): it is open or shorted, or the reading is not of it. Measure again with a lead off", name, q.words, d.P(q.param), 100*lost, d.P("va"))
			}
		}
	}
}

func (j *judge) isCompressor(id string) bool {
	return slices.ContainsFunc(j.comps, func(l purpose.Load) bool { return l.Device == id })
}

// bothSides asks about a dual capacitor that had nothing on one of its sides, and reserves
// one beside which another does that side's work: the usual repair of one half dead.
func (j *judge) bothSides(d *netlist.Device) {
	if j.old.Unit.Device(d.ID) == nil {
		return
	}
	other := slices.ContainsFunc(j.old.Unit.Devices, func(o netlist.Device) bool {
		return o.Kind == "capacitor-run" && len(j.old.Unit.At(o.ID+".1")) > 0 && len(j.old.Unit.At(o.ID+".2")) > 0
	})
	for _, t := range []string{"HERM", "FAN"} {
		switch {
		case len(j.old.Unit.At(d.ID+"."+t)) > 0:
		case other:
			j.reserve("%s had nothing on its %s terminal, and another capacitor is there: that side is taken for dead and replaced by it. Land nothing there, and see which motor each of the two serves", label(j.now, d.ID), t)
		default:
			j.doubt("%s had nothing on its %s terminal: is it a dual capacitor? A new one of both values would be bought for one side. Enter a single one, or what is on the other side", label(j.now, d.ID), t)
		}
	}
}

// stopsBlowerOnly asks about a switch that stopped the indoor blower by some call and
// no compressor: a float there does not stop what makes the water.
func (j *judge) stopsBlowerOnly() {
	for _, in := range j.was.Interrupters {
		d := j.now.Unit.Device(in.Device)
		if in.Opens != purpose.Outside || in.Input == "" || d == nil || j.omitted(in.Device) {
			continue
		}
		blower, compressor := false, false
		for _, s := range in.Stops {
			if o := j.old.Unit.Device(s.Load); o != nil {
				blower = blower || strings.HasPrefix(o.Kind, "blower")
				compressor = compressor || strings.HasPrefix(o.Kind, "compressor")
			}
		}
		if blower && !compressor {
			j.doubt("%s stops the indoor blower and no compressor: open, it leaves the cooling on with no air, or does not stop what makes the water. What is it there for?", label(j.now, d.ID))
		}
	}
}

// neutralBroken asks about what opens the neutral of a 120 V circuit: open, it leaves
// what it switches at the line's voltage to earth.
func (j *judge) neutralBroken() {
	is := j.wires()
	for i := range j.now.Unit.Devices {
		sup := &j.now.Unit.Devices[i]
		if sup.Kind != "supply-120" {
			continue
		}
		neutral, ok := j.now.Node(sup.ID + ".N")
		if !ok {
			continue
		}
		for b := range j.now.Branches {
			br := &j.now.Branches[b]
			d := j.now.Unit.Device(br.Device)
			m, n := br.Nodes()
			if d == nil || br.Kind != netlist.ContactBranch && d.Kind != "fuse" || is.same(m, n) || !is.same(m, neutral) && !is.same(n, neutral) {
				continue
			}
			other := m
			if is.same(m, neutral) {
				other = n
			}
			if j.landedOn(other) {
				j.doubt("%s opens the neutral of %s: what lies behind it stays at the line's voltage to earth. Move it into the hot conductor", label(j.now, d.ID), label(j.now, sup.ID))
			}
		}
	}
}

// landedOn tells whether a conductor ends on a node.
func (j *judge) landedOn(node int) bool {
	ends := func(t string) bool { at, ok := j.now.Node(t); return ok && at == node }
	return slices.ContainsFunc(j.now.Unit.Conductors, func(w netlist.Conductor) bool { return ends(w.From) || ends(w.To) })
}
