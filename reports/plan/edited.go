package plan

import (
	"fmt"
	"reflect"
	"strings"

	"retrostage/reports/record"
	"retrostage/wiring/netlist"
)

// Departures says in words how the unit kept with the job departs from the
// catalogue's: devices first, then conductors, each once. None for a unit that
// was not edited. A renamed part is one that went and one that came.
func Departures(j *record.Job) ([]string, error) {
	if len(j.Unit) == 0 {
		return nil, nil
	}
	now, err := Drawn(j)
	if err != nil {
		return nil, err
	}
	was, err := netlist.Load(j.Text(record.OldControls))
	if err != nil {
		return nil, err
	}
	var out []string
	say := func(what, id, how string) { out = append(out, fmt.Sprintf("%s %s %s", what, id, how)) }
	for _, d := range now.Devices {
		if o := was.Device(d.ID); o == nil {
			say("device", d.ID, "added: "+Words(d))
		} else if !reflect.DeepEqual(*o, d) {
			say("device", d.ID, "changed: "+difference(*o, d))
		}
	}
	for _, d := range was.Devices {
		if now.Device(d.ID) == nil {
			say("device", d.ID, "left out")
		}
	}
	for _, c := range now.Conductors {
		if o := was.Conductor(c.ID); o == nil {
			say("conductor", c.ID, "added: "+Run(c))
		} else if *o != c {
			say("conductor", c.ID, "changed: "+Run(c)+"; in the catalogue "+Run(*o))
		}
	}
	for _, c := range was.Conductors {
		if now.Conductor(c.ID) == nil {
			say("conductor", c.ID, "left out")
		}
	}
	return out, nil
}

// difference says how a device departs from another: in words, and where those are the
// same, in its numbers.
func difference(was, now netlist.Device) string {
	if a, b := Words(was), Words(now); a != b {
		return b + "; in the catalogue " + a
	}
	var out []string
	if was.Kind == now.Kind {
		for _, q := range netlist.Kinds[now.Kind].Params {
			if a, b := was.P(q.Name), now.P(q.Name); a != b {
				out = append(out, strings.TrimSpace(fmt.Sprintf("%s %.4g %s, in the catalogue %.4g", strings.ReplaceAll(q.Name, "-", " "), b, q.Unit, a)))
			}
		}
	}
	if len(out) == 0 {
		return Words(now) + "; another in what is stated of it"
	}
	return Words(now) + ": " + strings.Join(out, "; ")
}

// Words says what a device is and where.
func Words(d netlist.Device) string {
	t := d.Label
	if k := netlist.Kinds[d.Kind]; t == "" && k != nil {
		t = k.Words
	}
	if d.Pigtail {
		t += " with fixed leads"
	}
	return t + ", " + d.Place
}

// Run says what a conductor is and where it goes.
func Run(c netlist.Conductor) string {
	return fmt.Sprintf("%s, %d AWG, %s to %s", c.Colour, c.Gauge, c.From, c.To)
}

// Terminals are the places where a conductor may end: every terminal of the
// unit, and none.
func Terminals(u *netlist.Unit) []string { return append([]string{netlist.Capped}, u.Ends()...) }

// NewConductor is one that fits the terminal it begins at, in class, gauge and
// insulation, under the next free name of the unit. Both ends lie capped.
func NewConductor(u *netlist.Unit, at string) netlist.Conductor {
	c := netlist.Conductor{ID: free(u, "w"), From: at, To: netlist.Capped, Colour: "unmarked", Gauge: 18, Insulation: 300, Class: netlist.Class2}
	like := func(end string) bool {
		for _, o := range u.At(end) {
			c.Class, c.Gauge, c.Insulation = o.Class, o.Gauge, o.Insulation
			return true
		}
		return false
	}
	dev, _, _ := strings.Cut(at, ".")
	d := u.Device(dev)
	if d == nil || like(at) {
		return c
	}
	for _, t := range netlist.Kinds[d.Kind].Terminals {
		switch end := dev + "." + t.Name; {
		case end == at && t.Class == netlist.Line:
			c.Class, c.Gauge, c.Insulation = netlist.Line, 14, 600
			return c
		case end == at && t.Class == netlist.Ground:
			c.Class, c.Gauge, c.Insulation = netlist.Ground, 10, 600
			return c
		case end == at && t.Class == netlist.Class2:
			return c
		}
	}
	// A free contact: what its other side carries.
	for _, t := range netlist.Kinds[d.Kind].Terminals {
		if t.Class == netlist.Any && like(dev+"."+t.Name) {
			break
		}
	}
	return c
}

// NewDevice is one of a kind under a free name, outdoors.
func NewDevice(u *netlist.Unit, kind string) netlist.Device {
	d := netlist.Device{ID: free(u, "D"), Kind: kind, Place: netlist.Places[0]}
	if k := netlist.Kinds[kind]; k != nil {
		d.Label = k.Words
	}
	return d
}

func free(u *netlist.Unit, prefix string) string {
	for n := 1; ; n++ {
		id := fmt.Sprintf("%s%02d", prefix, n)
		if u.Device(id) == nil && u.Conductor(id) == nil {
			return id
		}
	}
}
