package planner

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"retrostage/wiring/netlist"
)

// name is how a device is called: by its label, or by its id if it has none. One
// of two with the same label has its id as well.
func (p *plan) name(d *netlist.Device) string { return nameIn(p.old, d) }

func nameIn(u *netlist.Unit, d *netlist.Device) string {
	if d.Label == "" {
		return d.ID
	}
	if w := telling[strings.SplitN(d.Kind, "-", 3)[0]]; !tells(d, w) { // the label does not say what the part is
		return d.Label + " [" + plain(d.Kind) + ", " + d.ID + "]"
	}
	for i := range u.Devices {
		if o := &u.Devices[i]; o.ID != d.ID && (alike(o.Label, d.Label) || names(d.Label, o.ID) || names(o.Label, d.ID)) {
			return d.Label + " (" + d.ID + ")"
		}
	}
	return d.Label
}

// alike tells whether two labels can be taken for one another on paper: they differ by
// capitals, blanks and signs alone, or by O and 0, I, l and 1.
func alike(a, b string) bool {
	for {
		x, m := letter(a)
		y, n := letter(b)
		if x != y {
			return false
		}
		if x == 0 {
			return true
		}
		a, b = a[m:], b[n:]
	}
}

// letter is the first letter or figure of a text as it looks, and where the rest begins;
// 0 if there is none.
func letter(s string) (rune, int) {
	for i, r := range s {
		end := i + utf8.RuneLen(r)
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '|' {
			continue
		}
		switch r = unicode.ToLower(r); r {
		case '0':
			r = 'o'
		case '1', 'i', '|':
			r = 'l'
		}
		return r, end
	}
	return 0, len(s)
}

// names tells whether a label holds the name of another part as a word.
func names(label, id string) bool {
	return slices.ContainsFunc(strings.FieldsFunc(label, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }), func(w string) bool { return strings.EqualFold(w, id) })
}

// telling is the word that the label of a part of some kinds should hold, by the
// beginning of the kind; "" leaves it to the kind's second part.
var telling = map[string]string{"contactor": "contactor", "fan": "fan", "compressor": "compressor", "capacitor": "capacitor", "transformer": "transformer",
	"relay": "relay", "fuse": "fuse", "heater": "heater", "pressure": "", "thermostat": "thermostat"}

// tells tells whether the label of d says what kind of part it is. Of pressure
// switches high and low must not be exchanged.
func tells(d *netlist.Device, word string) bool {
	label := strings.ToLower(d.Label)
	switch {
	case strings.HasPrefix(d.Kind, "pressure-high"):
		return !strings.Contains(label, "low")
	case strings.HasPrefix(d.Kind, "pressure-low"):
		return !strings.Contains(label, "high")
	}
	return strings.Contains(label, word)
}

// sides are the words for terminals that carry no letter a hand can read, or that
// lie left and right; by the beginning of the kind.
var sides = []struct {
	kind  string
	words map[string]string
}{
	{"start-relay", map[string]string{"1": "terminal 1", "2": "terminal 2", "5": "terminal 5"}},
	{"contactor", map[string]string{"L1": "L1 (line side)", "L2": "L2 (line side)", "T1": "T1 (load side)", "T2": "T2 (load side)", "A1": "coil left", "A2": "coil right"}},
	{"relay", map[string]string{"COM": "common contact", "NO": "open contact", "NC": "closed contact", "A1": "coil left", "A2": "coil right"}},
	{"lockout-relay", map[string]string{"COM": "common contact", "NC": "closed contact", "A1": "coil left", "A2": "coil right"}},
	{"transformer", map[string]string{"P1": "line side left", "P2": "line side right", "S1": "24 V side left", "S2": "24 V side right"}},
	{"supply", map[string]string{"L1": "left leg", "L2": "right leg", "L": "hot", "N": "neutral", "GND": "ground conductor where it enters the unit"}},
	{"fuse", map[string]string{"1": "one end", "2": "other end"}},
	{"capacitor-dual", map[string]string{}},
	{"splice", map[string]string{"1": ""}},
	{"ground-lug", map[string]string{"1": ""}},
	{"", map[string]string{"1": "one lead", "2": "other lead", "GND": "ground screw"}},
}

// terminal is the word for a terminal: the letter on it, or which side.
func terminal(kind, t string) string {
	for _, s := range sides {
		if strings.HasPrefix(kind, s.kind) {
			if w, ok := s.words[t]; ok {
				return w
			}
			return t
		}
	}
	return t
}

// Spot says in words where an end of the unit is: device and terminal.
func Spot(u *netlist.Unit, end string) string {
	id, t, _ := strings.Cut(end, ".")
	d := u.Device(id)
	switch {
	case end == netlist.Capped:
		return "capped"
	case d == nil:
		return end
	}
	return strings.TrimSpace(nameIn(u, d) + " " + terminal(d.Kind, t))
}

// Between says in words where the two probes of a meter go.
func Between(u *netlist.Unit, a, b string) string {
	if b == "" {
		return clampOn(u, a)
	}
	d := u.Device(device(a))
	if d == nil || device(a) != device(b) {
		return Spot(u, a) + " to " + Spot(u, b)
	}
	ta, tb := terminal(d.Kind, a[strings.IndexByte(a, '.')+1:]), terminal(d.Kind, b[strings.IndexByte(b, '.')+1:])
	pa, pb := strings.Fields(ta), strings.Fields(tb)
	if len(pa) > 1 && len(pb) > 1 && pa[0] == pb[0] && pa[0] == "coil" {
		return nameIn(u, d) + " coil, " + pa[1] + " to " + pb[1]
	}
	return nameIn(u, d) + ", " + ta + " to " + tb
}

// clampOn says which conductor the clamp goes round, away from the compressor.
func clampOn(u *netlist.Unit, id string) string {
	w := u.Conductor(id)
	if w == nil {
		return id
	}
	return fmt.Sprintf("clamp round the %s %d AWG conductor %s, %s to %s", w.Colour, w.Gauge, w.ID, Spot(u, w.From), Spot(u, w.To))
}

// Shows is what the display of a meter says: "0 V", "continuity", "open".
func Shows(meter string, v, openOhms float64) string {
	switch {
	case meter == "ohms" && v >= openOhms:
		return "open"
	case meter == "ohms" && v < 0.3:
		return "continuity"
	case meter == "volts" && v < 0.5, meter == "amps" && v < 0.05:
		v = 0
	}
	if meter == "amps" && v > 0 { // what a motor draws hangs on its load
		return fmt.Sprintf("%.2g to %.2g A, by load", 0.35*v, 1.1*v)
	}
	return amount(meter, v)
}

// amount is a number as a meter has it, with its unit.
func amount(meter string, v float64) string {
	unit := map[string]string{"ohms": "ohm", "volts": "V", "amps": "A"}[meter]
	if meter == "ohms" && v >= 1000 {
		v, unit = v/1000, "kohm"
	}
	if v >= 100 {
		return fmt.Sprintf("%.0f %s", v, unit)
	}
	return fmt.Sprintf("%.3g %s", math.Round(v*100)/100, unit)
}

var endInText = regexp.MustCompile(`\b[A-Za-z0-9_-]+\.[A-Z][A-Z0-9]*\b|\b[A-Za-z0-9_-]+\.[0-9]\b`)

// inWords puts the words for a device's terminal in the place of DEVICE.TERMINAL.
func inWords(u *netlist.Unit, text string) string {
	return endInText.ReplaceAllStringFunc(text, func(e string) string {
		if u.Device(device(e)) == nil {
			return e
		}
		return "the " + Spot(u, e)
	})
}
