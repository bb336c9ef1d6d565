package netlist

import (
	"fmt"
	"maps"
	"math"
	"math/cmplx"
	"slices"
	"strings"
)

// A Terminal is a lettered place for conductor ends.
type Terminal struct {
	Name  string
	Class Class
}

// A Param is a number a device may carry, SI.
type Param struct {
	Name              string
	Default, Min, Max float64
	Unit              string
}

// A Kind says which terminals a device has and how it behaves.
//
// The default numbers are round values of ordinary parts: common practice, no
// source, except where the trade facts of the project name one. They are what a
// prediction starts from; what is on the nameplate outranks them.
type Kind struct {
	Name      string
	Words     string
	Terminals []Terminal
	Params    []Param
	fixed     bool // may have fixed leads
	build     func(b *builder, d *Device)
	check     func(d *Device) string
}

func (k *Kind) param(name string) *Param {
	for i := range k.Params {
		if k.Params[i].Name == name {
			return &k.Params[i]
		}
	}
	return nil
}

// MayPigtail tells whether a device of the kind may have leads fixed to it.
func (k *Kind) MayPigtail() bool { return k.fixed }

func (k *Kind) terminalNames() string {
	var s []string
	for _, t := range k.Terminals {
		s = append(s, t.Name)
	}
	return strings.Join(s, ", ")
}

// KindNames lists the kinds in order.
func KindNames() []string { return slices.Sorted(maps.Keys(Kinds)) }

// terms reads "L1:line A1:class2 COM".
func terms(s string) (out []Terminal) {
	for f := range strings.FieldsSeq(s) {
		name, class, ok := strings.Cut(f, ":")
		if !ok {
			class = string(Any)
		}
		out = append(out, Terminal{name, Class(class)})
	}
	return out
}

func of(lists ...[]Param) []Param { return slices.Concat(lists...) }

var (
	coil = []Param{ // a 24 V coil; pick-up and drop-out near 75 % and 50 %
		{"coil-ohms", 20, 1, 1e5, "ohm"}, {"coil-reactance", 53, 0, 1e5, "ohm"}, {"coil-dc-ohms", 12, 0.5, 1e5, "ohm"},
		{"coil-volts", 24, 5, 280, "V"}, {"pick-up", 18, 1, 280, "V"}, {"drop-out", 10, 0.5, 280, "V"},
	}
	contact = []Param{{"contact-amps", 30, 0.1, 100, "A"}, {"contact-ohms", 0.005, 0, 10, "ohm"}}
	// What a contactor may make and break while a motor stands: 0 means not read from
	// it, and P then gives five times contact-amps (from memory: definite-purpose
	// contactors are rated 5 to 6 times their full-load current; the lower is taken).
	lockedRotor = []Param{{"contact-lra", 0, 0, 1000, "A"}, terminalRating}
	// The column of the ampacity table that the screws are good for.
	terminalRating = Param{"terminal-rating", 60, 60, 90, "C"}
	motor          = []Param{
		{"volts", 240, 100, 280, "V"}, {"rla", 18, 0.2, 100, "A"}, {"lra", 100, 0.5, 600, "A"},
		{"farads", 40e-6, 1e-6, 200e-6, "F"}, {"run-ohms", 0.6, 0.05, 500, "ohm"}, {"start-ohms", 2.4, 0.1, 900, "ohm"},
	}
	// What a pressure switch opens at, above the air's pressure; 0: not read.
	opensAt = []Param{{"opens-at", 0, 0, 6e6, "Pa"}}
	safety  = []Param{{"contact-amps", 2, 0.1, 30, "A"}, {"contact-ohms", 0.05, 0, 10, "ohm"}}
)

func with(ps []Param, name string, v float64) []Param {
	ps = slices.Clone(ps)
	for i := range ps {
		if ps[i].Name == name {
			ps[i].Default = v
		}
	}
	return ps
}

func relayCoil(ps []Param) []Param { // a small control relay, about 4 VA
	return with(with(with(ps, "coil-ohms", 70), "coil-reactance", 120), "coil-dc-ohms", 45)
}

// Kinds is the catalogue of devices, by name.
var Kinds = map[string]*Kind{}

func define(name, words, terminals string, params []Param, build func(b *builder, d *Device)) *Kind {
	k := &Kind{Name: name, Words: words, Terminals: terms(terminals), Params: params, build: build}
	Kinds[name] = k
	return k
}

func (b *builder) pole(d *Device, name, t1, t2 string, sig int) {
	b.contact(name, t1, t2, sig, false, d.P("contact-ohms"), d.P("contact-amps"))
}

func (d *Device) say() string {
	if d.Label != "" {
		return d.Label
	}
	return d.ID
}

func pick(c1 bool, s1 string, c2 bool, s2 string) string {
	switch {
	case c1:
		return s1
	case c2:
		return s2
	}
	return ""
}

// windings gives the impedances of a capacitor-run motor, standing and turning,
// main and start winding, from its nameplate and its winding resistances.
//
// Turning: the capacitor is taken to carry 1.46 times line voltage, 40 degrees
// ahead of the line, and the common lead the rated current 16 degrees behind;
// standing: locked-rotor current 50 degrees behind. These angles are common
// practice, no source; they set what a clamp meter is predicted to read and
// whether a winding is energised, not a rating.
func windings(volts, rla, lra, farads, omega, rRun, rStart float64) (standR, turnR, standS, turnS complex128) {
	v := complex(volts, 0)
	xc := complex(0, -1/(omega*farads))
	is := cmplx.Rect(1.46*volts*omega*farads, 40*math.Pi/180)
	ir := cmplx.Rect(rla, -16*math.Pi/180) - is
	turnS, turnR = v/is-xc, v/ir
	standR = cmplx.Rect(volts/lra, 50*math.Pi/180)
	standS = complex(1.4*rStart, 1.2*rStart)
	return
}

func checkMotor(suffix string) func(d *Device) string {
	return func(d *Device) string {
		_, turnR, _, _ := windings(d.P("volts"+suffix), d.P("rla"+suffix), d.P("lra"+suffix), d.P("farads"+suffix), 2*math.Pi*60, 1, 1)
		if real(turnR) <= 0 {
			return fmt.Sprintf("rla%s %v A is too little for a run capacitor of %.3g uF", suffix, d.P("rla"+suffix), 1e6*d.P("farads"+suffix))
		}
		if d.P("lra"+suffix) <= d.P("rla"+suffix) {
			return fmt.Sprintf("lra%s must exceed rla%s", suffix, suffix)
		}
		return ""
	}
}
