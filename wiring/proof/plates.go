package proof

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// What a locked-rotor current may be of the rated-load current before it is taken for
// a slip of the pen; from memory: hermetic motors draw 4 to 7 times.
const lockedLeast, lockedMost = 2.5, 12

// plates judges what no solution shows: whether the supply is one for the new
// compressor, and what limits each Class 2 source.
func (j *judge) plates() {
	if k := &j.data.Compressor; k.LRA < lockedLeast*k.RLA || k.LRA > lockedMost*k.RLA {
		j.fail("compressor-data", NotDecided, "", fmt.Sprintf("a locked-rotor current of %.4g A is %.2g times the rated-load current of %.4g A; usual are 4 to 7 times: read the plate again", k.LRA, k.LRA/k.RLA, k.RLA), nil)
	}
	j.supplyFits()
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		if lra, rla := d.Params["lra"], d.Params["rla"]; strings.HasPrefix(d.Kind, "fan") && lra > lockedMost*rla && rla > 0 {
			j.fail("compressor-data", NotDecided, "", fmt.Sprintf("%s: a locked-rotor current of %.4g A with %.4g A of rated current cannot be right, and its contact would have to make it: read the plate again", label(j.now, d.ID), lra, rla), nil)
		}
	}
	for i := range j.now.Sources {
		if src := &j.now.Sources[i]; src.Coupled() && src.Class == netlist.Class2 {
			j.class2Limited(src)
		}
	}
	j.overloads()
	j.startCapacitors()
	j.besideLine()
	for _, id := range slices.Sorted(maps.Keys(j.data.Unanswered)) {
		j.fail("answered", NotDecided, "", label(j.now, id)+": "+j.data.Unanswered[id], nil)
	}
}

// supplyFits holds nominal voltage and frequency of the supply against the plate. The
// band of running voltages is none of it: 230 V equipment has no business on 208 V.
func (j *judge) supplyFits() {
	k, hertz := &j.data.Compressor, j.now.Unit.Hertz
	switch {
	case k.Hertz == 0 && hertz != 60:
		j.fail("compressor-data", NotDecided, "", fmt.Sprintf("the supply has %v Hz; the frequency on the new compressor's plate is not entered", hertz), nil)
	case k.Hertz != 0 && k.Hertz != hertz:
		j.fail("compressor-data", Fails, "", fmt.Sprintf("the supply has %v Hz, the new compressor's plate %v Hz", hertz, k.Hertz), nil)
	}
	for i := range j.now.Sources {
		src := &j.now.Sources[i]
		if !slices.ContainsFunc(j.comps, func(l purpose.Load) bool { return j.feeds(i, l.Device) }) {
			continue
		}
		volts := j.now.Unit.Device(src.Device).P("volts")
		for _, n := range j.nominals {
			if slices.Contains(n.Supply, volts) && !slices.Contains(n.Plates, k.Volts) {
				j.fail("compressor-data", Fails, "", fmt.Sprintf("a supply of %g V is for equipment marked %s V, the new compressor is marked %g V", volts, listed(n.Plates), k.Volts), nil)
			}
		}
	}
}

func listed(vs []float64) string {
	var out []string
	for _, v := range vs {
		out = append(out, fmt.Sprintf("%g", v))
	}
	return strings.Join(out, ", ")
}

// class2Most is the most volt-amperes that a Class 2 source gives into a short, where
// its fuse and not its winding limits it; from memory (Chapter 9, Table 11(A)).
const class2Most = 1000

// class2Limited asks what keeps a Class 2 source to its limits: a mark on its plate,
// its own impedance, or a fuse first behind one of its poles. What none of the three
// is entered for may be any transformer.
func (j *judge) class2Limited(src *netlist.Source) {
	d, l := j.now.Unit.Device(src.Device), &j.Limits
	open := d.P("open-volts")
	prospective := open / math.Hypot(d.P("ohms"), d.P("reactance"))
	most := min(l.Class2Fuse, l.Class2VA/open)
	fuse, found := j.firstFuse(d.ID)
	if prospective <= l.Class2Inherent || found && fuse <= most {
		return
	}
	if d.P("class-2") == 1 {
		if prospective > 2*class2Most/open { // twice, for what resistances read by hand tell
			j.fail("class2-protected", NotDecided, "", fmt.Sprintf("%s: its plate says Class 2, and by its impedance it would give %.0f A into a short; one so marked gives %.0f A at most. Measure, or fuse it", label(j.now, d.ID), prospective, class2Most/open), nil)
		}
		return
	}
	has := "no fuse lies first behind it"
	if found {
		has = fmt.Sprintf("the fuse first behind it is of %g A", fuse)
	}
	j.fail("class2-protected", NotDecided, "", fmt.Sprintf("%s: %.0f A prospective, and %s. Either its plate says Class 2 (enter class-2 = 1 at the transformer), or a fuse of %.1f A at most comes first behind it", label(j.now, d.ID), prospective, has, most), nil)
}

// firstFuse is the largest of the fuses that lie first behind a pole of a
// transformer, of the pole behind which there is nothing but fuses.
func (j *judge) firstFuse(transformer string) (amps float64, found bool) {
	is := j.wires()
	for _, pole := range []string{"S1", "S2"} {
		at, ok := j.now.Node(transformer + "." + pole)
		if !ok {
			continue
		}
		most, only, n := 0.0, true, 0
		for i := range j.now.Branches {
			br := &j.now.Branches[i]
			a, b := br.Nodes()
			if br.Kind == netlist.ConductorBranch || br.Device == transformer || is.find(a) != is.find(at) && is.find(b) != is.find(at) {
				continue
			}
			n++
			if j.now.Unit.Device(br.Device).Kind != "fuse" {
				only = false
				break
			}
			most = max(most, br.Rating)
		}
		if only && n > 0 && (!found || most < amps) {
			amps, found = most, true
		}
	}
	return amps, found
}

// overloads holds what an overload of the old compressor trips at against the new one.
func (j *judge) overloads() {
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		if d.Kind != "overload-line" || len(j.now.Unit.At(d.ID+".1")) == 0 {
			continue
		}
		trips, k := d.P("trip-amps"), &j.data.Compressor
		switch most := j.Limits.Overload * k.RLA; {
		case trips == 0:
			j.fail("overload", NotDecided, "", fmt.Sprintf("%s: what it trips at is not entered (trip-amps); for the new compressor at most %.1f A", label(j.now, d.ID), most), nil)
		case trips < k.RLA:
			j.fail("overload", Fails, "", fmt.Sprintf("%s trips at %.4g A, below the new compressor's rated-load current of %.4g A: it would not let it run", label(j.now, d.ID), trips, k.RLA), nil)
		case trips > most:
			j.fail("overload", Fails, "", fmt.Sprintf("%s trips at %.4g A; for the new compressor at most %.1f A", label(j.now, d.ID), trips, most), nil)
		}
	}
}

// startRelay is the relay that takes the compressor's start aid out, nil if there is
// none.
func (j *judge) startRelay() *netlist.Device {
	for i := range j.now.Unit.Devices {
		if d := &j.now.Unit.Devices[i]; d.Kind == "start-relay" {
			return d
		}
	}
	return nil
}

// startCapacitors holds each start capacitor against its relay: up to the voltage at
// which the relay opens, that voltage is on it.
func (j *judge) startCapacitors() {
	relay := j.startRelay()
	if relay == nil {
		return
	}
	for i := range j.now.Unit.Devices {
		if d := &j.now.Unit.Devices[i]; d.Kind == "capacitor-start" && d.P("volts") < relay.P("pick-up") {
			j.fail("capacitor-volts", Fails, "", fmt.Sprintf("%s is rated %.0f V, and its relay opens only at %.0f V", label(j.now, d.ID), d.P("volts"), relay.P("pick-up")), nil)
		}
	}
}

// besideLine holds the insulation of a 24 V conductor that lies wholly in one place
// against the line voltage there: the file does not say what keeps the two apart. A
// cable that comes in from elsewhere is kept apart by the caution of its step.
func (j *judge) besideLine() {
	highest := map[string]float64{}
	for i := range j.now.Sources {
		if src := &j.now.Sources[i]; !src.Coupled() && src.Class == netlist.Line {
			d := j.now.Unit.Device(src.Device)
			highest[d.Place] = max(highest[d.Place], d.P("volts"))
		}
	}
	for i := range j.now.Unit.Conductors {
		w := &j.now.Unit.Conductors[i]
		place, one := j.placeOf(w)
		if v := highest[place]; one && w.Class == netlist.Class2 && w.Insulation < v {
			j.fail("insulation", NotDecided, "", fmt.Sprintf("%s (%s): %.0f V insulation inside the %s cabinet, where line conductors have %.0f V between them. Put in a conductor of a higher insulation and enter it, or see what keeps it apart; the file cannot say that", w.ID, w.Colour, w.Insulation, place, v), nil)
		}
	}
}

// placeOf is the place of a conductor that lies in one only; a capped end is where
// the other is.
func (j *judge) placeOf(w *netlist.Conductor) (place string, one bool) {
	for _, end := range []string{w.From, w.To} {
		id, _, _ := strings.Cut(end, ".")
		d := j.now.Unit.Device(id)
		switch {
		case d == nil:
		case place != "" && place != d.Place:
			return "", false
		default:
			place = d.Place
		}
	}
	return place, place != ""
}
