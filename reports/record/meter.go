package record

import (
	"slices"
	"strings"

	"retrostage/thermo/units"
)

// OpenLine is what an ohmmeter's reading may say in place of a number.
const OpenLine = "open"

// meterPrefix opens the keys of check-out readings: where the leads go and in
// which state. A reading belongs to its place in the circuit, not to its number
// in a list that a new plan numbers afresh.
const meterPrefix = "meter/"

var meters = map[string]Field{
	"ohms":  {Dim: units.Resistance, Unit: "ohm", Max: 1e9, Class: "ohmmeter", Options: []string{OpenLine}},
	"volts": {Dim: units.Voltage, Unit: "V", Max: 1000, Class: "voltmeter"},
	"amps":  {Dim: units.Current, Unit: "A", Max: 1000, Class: "clamp ammeter"},
}

// MeterKey is the field key of a check-out reading: meter is ohms, volts or
// amps, a and b are the terminals (a the conductor and b empty for amps), state
// is the state of the circuit in words.
func MeterKey(meter, a, b, state string) Key {
	return Key{meterPrefix + strings.Join([]string{meter, a, b, state}, "/")}
}

// IsMeter tells whether k is the key of a check-out reading.
func IsMeter(k Key) bool { return strings.HasPrefix(k.name, meterPrefix) }

// maxMeterKey is room for two names of 48 letters with their terminals and a
// state of a few switches.
const maxMeterKey = 400

func meterField(key Key) (Field, bool) {
	rest, ok := strings.CutPrefix(key.name, meterPrefix)
	p := strings.SplitN(rest, "/", 4)
	if !ok || len(p) != 4 || p[1] == "" || len(key.name) > maxMeterKey {
		return Field{}, false
	}
	f, ok := meters[p[0]]
	if !ok || (p[2] == "") != (p[0] == "amps") {
		return Field{}, false
	}
	f.Key, f.Step, f.Group, f.Kind, f.Origin = key, Wiring, "Check-out", Number, Measured
	f.Label = strings.ToUpper(p[0][:1]) + p[0][1:] + " " + p[1]
	if p[2] != "" {
		f.Label += " to " + p[2]
	}
	if p[3] != "" {
		f.Label += ", " + p[3]
	}
	return f, true
}

// openWords are what meters show for an open line.
var openWords = []string{"open", "ol", "o.l", "o.l.", "0l"}

// Understood is text as the field has it: what a meter shows for an open line is
// OpenLine, where the field takes that in place of a number.
func (f Field) Understood(text string) string {
	if slices.Contains(f.Options, OpenLine) && slices.Contains(openWords, strings.ToLower(text)) {
		return OpenLine
	}
	return text
}
