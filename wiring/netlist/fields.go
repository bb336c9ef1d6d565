package netlist

import (
	"regexp"
	"slices"
	"strings"
)

// The words that a file may hold for what is seen at a part and no number says. A
// label is a name: what it says beside is read by nobody for certain, and belongs here.
var (
	// Conditions of a part as it was found.
	Conditions = []string{"sound", "not-tested", "stuck-closed", "stuck-open", "bypassed", "burnt", "damaged"}
	// Seats are where a switch or an overload senses; motor is inside a motor's shell.
	Seats = []string{"discharge-line", "suction-line", "liquid-line", "outside-of-shell", "motor", "cabinet", "coil", "drain-pan", "outdoor-air", "room"}
	// Systems are how the two legs of a supply lie about the ground.
	Systems = []string{"split-phase", "wye", "high-leg", "corner-grounded"}
	// Uses of what is entered as a bare impedance.
	Uses = []string{"lamp", "heater", "relay-coil", "solenoid-valve", "damper", "reversing-valve", "electronics", "resistor", "sensor"}
	// Metals of a conductor.
	Metals = []string{"copper", "aluminium", "copper-clad-aluminium"}
)

var refrigerantName = regexp.MustCompile(`^R-[0-9]{2,4}[A-Za-z]{0,4}$`)

// A Field is a member of a device that takes one of a few words.
type Field struct {
	Name  string // as in the file
	Words []string
	Of    func(d *Device) *string
}

// Fields lists what a kind of device may say of itself in words.
func Fields(kind string) []Field {
	k := Kinds[kind]
	if k == nil {
		return nil
	}
	out := []Field{{"condition", Conditions, func(d *Device) *string { return &d.Condition }}}
	switch {
	case k.fixed:
		out = append(out, Field{"sits", Seats, func(d *Device) *string { return &d.Sits }})
	case kind == "supply":
		out = append(out, Field{"system", Systems, func(d *Device) *string { return &d.System }})
	case kind == "impedance":
		out = append(out, Field{"use", Uses, func(d *Device) *string { return &d.Use }})
	}
	return out
}

// fields checks the words of a device: those of its kind's fields, and no others.
func (d *Device) fields(where string) error {
	said := map[string]string{"sits": d.Sits, "system": d.System, "use": d.Use}
	for _, f := range Fields(d.Kind) {
		if v := *f.Of(d); v != "" && !slices.Contains(f.Words, v) {
			return fail(ErrParam, where, "%s %q, want one of %s", f.Name, v, strings.Join(f.Words, ", "))
		}
		delete(said, f.Name)
	}
	for _, name := range []string{"sits", "system", "use"} {
		if said[name] != "" {
			return fail(ErrParam, where, "a %s has no %s", d.Kind, name)
		}
	}
	return nil
}
