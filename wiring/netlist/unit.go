package netlist

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Format is the first thing a unit file says of itself.
const Format = "retrostage-unit-1"

// Capped is the end of a conductor that lies insulated in the cabinet.
const Capped = "capped"

// Class is the kind of circuit a conductor or a terminal belongs to.
type Class string

const (
	Line   Class = "line"   // mains voltage
	Class2 Class = "class2" // power-limited 24 V control
	Ground Class = "ground" // equipment ground; carries nothing unless something is wrong
	Any    Class = "any"    // a contact or splice that may serve any one of them
)

// A Unit is one air conditioner's wiring: outdoor, indoor and thermostat.
type Unit struct {
	Format string  `json:"format"`
	Name   string  `json:"name"`
	Title  string  `json:"title"`
	Note   string  `json:"note,omitempty"`
	Hertz  float64 `json:"hertz"`
	// Refrigerant is the one in the unit, as its plate names it: R-410A; empty: not stated.
	Refrigerant string `json:"refrigerant,omitempty"`

	Devices    []Device    `json:"devices"`
	Conductors []Conductor `json:"conductors"`
}

// A Device is a part with terminals. Its terminals follow from its kind; its
// numbers are SI and default to those of the kind. Label is its name as it stands on
// the part or as the user calls it: everything said to a person uses it where there
// is one, and ID where not. Pigtail marks a switch whose leads are fixed to it, such
// as one brazed in: it cannot be taken off two terminals, and its conductors are its
// own leads. Condition, Sits, System and Use are what a label would otherwise have to
// say, each one of a few words (see Fields); empty: not stated. NameOnly says that a
// person takes what the label says for a name and nothing else.
type Device struct {
	ID     string             `json:"id"`
	Kind   string             `json:"kind"`
	Label  string             `json:"label"`
	Place  string             `json:"place"` // outdoor, indoor or room
	Params map[string]float64 `json:"params,omitempty"`

	Pigtail bool `json:"pigtail,omitempty"`

	Condition string `json:"condition,omitempty"`
	Sits      string `json:"sits,omitempty"`
	System    string `json:"system,omitempty"`
	Use       string `json:"use,omitempty"`
	NameOnly  bool   `json:"name-only,omitempty"`
}

// A Conductor joins two terminals, each written DEVICE.TERMINAL, or lies capped
// at an end.
type Conductor struct {
	ID         string  `json:"id"`
	From       string  `json:"from"`
	To         string  `json:"to"`
	Colour     string  `json:"colour"`
	Gauge      int     `json:"gauge"`      // AWG
	Insulation float64 `json:"insulation"` // volts; 0 for a bare ground
	Class      Class   `json:"class"`
	Length     float64 `json:"length,omitempty"` // metres; 0 means 0.6
	Metal      string  `json:"metal,omitempty"`  // one of Metals; empty: not stated
}

// The named errors. Every error of this package wraps one of them.
var (
	ErrSyntax    = errors.New("not a unit file")
	ErrFormat    = errors.New("unknown format")
	ErrName      = errors.New("bad name")
	ErrKind      = errors.New("unknown kind of device")
	ErrParam     = errors.New("bad number")
	ErrDuplicate = errors.New("name used twice")
	ErrDangling  = errors.New("dangling end")
	ErrTerminal  = errors.New("unknown terminal")
	ErrLoop      = errors.New("both ends on one terminal")
	ErrCrowded   = errors.New("too many ends on one terminal")
	ErrClass     = errors.New("kinds of circuit mixed")
	ErrConductor = errors.New("impossible conductor")
	ErrUnknown   = errors.New("no such thing")
	ErrTooBig    = errors.New("too large")
)

// An Error says which named error occurred, where, and why. Line is where in the
// file that was parsed, from 1; 0 where there is no file.
type Error struct {
	Kind   error
	Line   int
	Where  string
	Detail string
	item   item
}

// An item is a place in a unit: a device or a conductor by its number, or the
// list of them, or a member of the unit.
type item struct {
	list string
	i    int
}

func (e *Error) Error() string {
	if e.Line > 0 {
		return fmt.Sprintf("line %d: %s: %s: %s", e.Line, e.Where, e.Kind, e.Detail)
	}
	return fmt.Sprintf("%s: %s: %s", e.Where, e.Kind, e.Detail)
}
func (e *Error) Unwrap() error { return e.Kind }

func fail(kind error, where, format string, a ...any) error {
	return &Error{Kind: kind, Where: where, Detail: fmt.Sprintf(format, a...)}
}

// in says which item of the unit an error is about.
func in(list string, i int, err error) error {
	err.(*Error).item = item{list, i}
	return err
}

// Places are where a device can be; a conductor between two places runs in a
// cable and cannot be pulled out, only capped.
var Places = []string{"outdoor", "indoor", "room"}

// Gauges are the copper sizes known, AWG, with resistance in ohm per metre at
// 75 C (NEC Chapter 9 Table 8, uncoated stranded, as restated in secondary
// pages; 18 and 16 AWG solid).
var Gauges = map[int]float64{
	18: 7.77 / 304.8, 16: 4.89 / 304.8, 14: 3.14 / 304.8, 12: 1.98 / 304.8,
	10: 1.24 / 304.8, 8: 0.778 / 304.8, 6: 0.491 / 304.8, 4: 0.308 / 304.8,
}

const (
	maxDevices, maxConductors, maxFile = 200, 600, 1 << 20
	endsPerTerminal                    = 6
	defaultLength                      = 0.6 // m, a lead inside a cabinet
)

// Parse reads a unit file strictly: unknown fields, a second document, and
// everything Validate rejects are errors.
func Parse(data []byte) (*Unit, error) {
	if len(data) > maxFile {
		return nil, fail(ErrTooBig, "file", "%d bytes, at most %d allowed", len(data), maxFile)
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	var u Unit
	if err := dec.Decode(&u); err != nil {
		return nil, &Error{Kind: ErrSyntax, Line: lineOf(data, dec.InputOffset(), err), Where: "file", Detail: err.Error()}
	}
	end := dec.InputOffset()
	if _, err := dec.Token(); err != io.EOF {
		return nil, &Error{Kind: ErrSyntax, Line: lineAt(data, end), Where: "file", Detail: "something follows the unit"}
	}
	lines, err := lineItems(data)
	if err != nil {
		return nil, err
	}
	u.rename()
	if err := u.Validate(); err != nil {
		e := err.(*Error)
		e.Line = max(1, lines[e.item])
		return nil, e
	}
	return &u, nil
}

// lineItems gives the line on which each item of a well-formed unit file begins,
// and refuses a member that stands twice in one object, of which the decoder would
// take the last one and say nothing, and one that is not written in small letters of
// ASCII: the decoder folds others onto them (the long s onto s), and what reads as two
// members would be one.
func lineItems(data []byte) (map[item]int, error) {
	lines := map[item]int{}
	dec := json.NewDecoder(bytes.NewReader(data))
	type level struct {
		object bool
		key    string // of the value to come, in an object
		keyed  bool
		names  map[string]bool
		n      int
	}
	var up []level
	for {
		at := dec.InputOffset()
		t, err := dec.Token()
		if err != nil {
			return lines, nil // io.EOF: the file was decoded before
		}
		top := len(up) - 1
		if top >= 0 && up[top].object && !up[top].keyed && t != json.Delim('}') {
			key := fmt.Sprint(t)
			if strings.ContainsFunc(key, func(r rune) bool { return r > 0x7e || r >= 'A' && r <= 'Z' }) {
				return nil, &Error{Kind: ErrSyntax, Line: lineAt(data, at), Where: "file", Detail: fmt.Sprintf("member %+q: names are written in small letters a to z", key)}
			}
			if up[top].names[key] {
				return nil, &Error{Kind: ErrSyntax, Line: lineAt(data, at), Where: "file", Detail: fmt.Sprintf("member %q stands twice", key)}
			}
			up[top].names[key], up[top].key, up[top].keyed = true, key, true
			if top == 0 {
				lines[item{key, -1}] = lineAt(data, at)
			}
			continue
		}
		if d, ok := t.(json.Delim); ok && (d == '}' || d == ']') {
			up = up[:top]
			continue
		}
		if top == 1 && up[0].key != "" && !up[1].object {
			lines[item{up[0].key, up[1].n}] = lineAt(data, at)
		}
		if top >= 0 {
			up[top].n++
			up[top].keyed = false
		}
		if d, ok := t.(json.Delim); ok {
			up = append(up, level{object: d == '{', names: map[string]bool{}})
		}
	}
}

// lineAt is the line of the first thing that stands at or after off.
func lineAt(data []byte, off int64) int {
	for off < int64(len(data)) && bytes.IndexByte([]byte(" \t\r\n,:"), data[off]) >= 0 {
		off++
	}
	return 1 + bytes.Count(data[:off], []byte("\n"))
}

// lineOf is the line that a decoder's error is about; off is how far it read.
func lineOf(data []byte, off int64, err error) int {
	var syn *json.SyntaxError
	var typ *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syn):
		off = syn.Offset
	case errors.As(err, &typ):
		off = typ.Offset
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		off = int64(len(data))
	default: // a strange member is found when all has been read
		if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
			off = int64(max(0, bytes.Index(data, []byte(name))))
		}
	}
	return 1 + bytes.Count(data[:min(off, int64(len(data)))], []byte("\n"))
}

// JSON writes the unit as Parse reads it: one device or conductor a line.
func (u *Unit) JSON() []byte {
	var b bytes.Buffer
	line := func(v any) []byte {
		var one bytes.Buffer
		enc := json.NewEncoder(&one)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(v); err != nil { // only a non-finite number can do this
			return []byte("null")
		}
		return bytes.TrimSpace(one.Bytes())
	}
	fmt.Fprintf(&b, "{\"format\":%s,\"name\":%s,\"title\":%s,\n", line(u.Format), line(u.Name), line(u.Title))
	if u.Note != "" {
		fmt.Fprintf(&b, " \"note\":%s,\n", line(u.Note))
	}
	if u.Refrigerant != "" {
		fmt.Fprintf(&b, " \"refrigerant\":%s,\n", line(u.Refrigerant))
	}
	fmt.Fprintf(&b, " \"hertz\":%s,\n \"devices\":[", line(u.Hertz))
	for i := range u.Devices {
		sep(&b, i)
		b.Write(line(u.Devices[i]))
	}
	b.WriteString("\n ],\n \"conductors\":[")
	for i := range u.Conductors {
		sep(&b, i)
		b.Write(line(u.Conductors[i]))
	}
	b.WriteString("\n ]}\n")
	return b.Bytes()
}

func sep(b *bytes.Buffer, i int) {
	if i > 0 {
		b.WriteByte(',')
	}
	b.WriteString("\n  ")
}

// Clone is a deep copy.
func (u *Unit) Clone() *Unit {
	v := *u
	v.Conductors = slices.Clone(u.Conductors)
	v.Devices = slices.Clone(u.Devices)
	for i, d := range v.Devices {
		if d.Params != nil {
			v.Devices[i].Params = make(map[string]float64, len(d.Params))
			for k, x := range d.Params {
				v.Devices[i].Params[k] = x
			}
		}
	}
	return &v
}

// Validate reports the first thing wrong with the unit, by a named error.
func (u *Unit) Validate() error {
	if u.Format != Format {
		return in("format", -1, fail(ErrFormat, "file", "format is %q, want %q", u.Format, Format))
	}
	if err := goodName("unit", u.Name); err != nil {
		return in("name", -1, err)
	}
	for where, text := range map[string]string{"title": u.Title, "note": u.Note} {
		if err := goodText(where, text); err != nil {
			return in(where, -1, err)
		}
	}
	if !(u.Hertz >= 45 && u.Hertz <= 65) {
		return in("hertz", -1, fail(ErrParam, "unit", "frequency %v Hz, allowed 45 to 65", u.Hertz))
	}
	if u.Refrigerant != "" && !refrigerantName.MatchString(u.Refrigerant) {
		return in("refrigerant", -1, fail(ErrName, "unit", "refrigerant %q; write it as on the plate, R-410A", u.Refrigerant))
	}
	if len(u.Devices) > maxDevices || len(u.Conductors) > maxConductors {
		return in("devices", -1, fail(ErrTooBig, "unit", "%d devices and %d conductors, at most %d and %d", len(u.Devices), len(u.Conductors), maxDevices, maxConductors))
	}
	seen := map[string]*Device{}
	for i := range u.Devices {
		d := &u.Devices[i]
		if err := d.validate(); err != nil {
			return in("devices", i, err)
		}
		if seen[d.ID] != nil {
			return in("devices", i, fail(ErrDuplicate, "device "+d.ID, "two devices have this name"))
		}
		seen[d.ID] = d
	}
	wires, ends := map[string]bool{}, map[string]int{}
	group := map[string]Class{} // the class that a free contact has taken up
	for i := range u.Conductors {
		if err := u.land(&u.Conductors[i], seen, wires, ends, group); err != nil {
			return in("conductors", i, err)
		}
	}
	return nil
}

// land checks one conductor against the devices and the conductors before it.
func (u *Unit) land(c *Conductor, devs map[string]*Device, wires map[string]bool, ends map[string]int, group map[string]Class) error {
	where := "conductor " + c.ID
	if err := goodName("conductor", c.ID); err != nil {
		return err
	}
	if wires[c.ID] {
		return fail(ErrDuplicate, where, "two conductors have this name")
	}
	wires[c.ID] = true
	if err := c.validate(); err != nil {
		return err
	}
	if c.From == c.To && c.From != Capped {
		return fail(ErrLoop, where, "begins and ends on %s", c.From)
	}
	for _, end := range []string{c.From, c.To} {
		if end == Capped {
			continue
		}
		t, err := u.terminal(devs, end)
		if err != nil {
			e := err.(*Error)
			e.Where = where
			return e
		}
		if ends[end]++; ends[end] > endsPerTerminal {
			return fail(ErrCrowded, where, "%s already holds %d ends", end, endsPerTerminal)
		}
		class, dev := t.Class, end[:strings.LastIndexByte(end, '.')]
		if class == Ground {
			continue // anything may be found there; whether it belongs there is not for a reader of files
		}
		if class == Any {
			if group[dev] == "" {
				group[dev] = c.Class
			}
			class = group[dev]
		}
		if class != c.Class {
			return fail(ErrClass, where, "a %s conductor on the %s terminal %s", c.Class, class, end)
		}
	}
	return nil
}

func (d *Device) validate() error {
	if err := goodName("device", d.ID); err != nil {
		return err
	}
	where := "device " + d.ID
	if slices.Contains(callNames, strings.ToLower(d.ID)) {
		return fail(ErrName, where, "%q names a call; a device needs another name", d.ID)
	}
	if err := goodText(where, d.Label); err != nil {
		return err
	}
	k, ok := Kinds[d.Kind]
	if !ok {
		return fail(ErrKind, where, "kind %q is not known", d.Kind)
	}
	if !slices.Contains(Places, d.Place) {
		return fail(ErrName, where, "place %q, want one of %s", d.Place, strings.Join(Places, ", "))
	}
	if len(d.Label) > 80 {
		return fail(ErrName, where, "label longer than 80 bytes")
	}
	for _, name := range slices.Sorted(maps.Keys(d.Params)) { // the same error each time
		p, v := k.param(name), d.Params[name]
		if p == nil {
			return fail(ErrParam, where, "a %s has no number %q", d.Kind, name)
		}
		if !(v >= p.Min && v <= p.Max) {
			return fail(ErrParam, where, "%s is %v %s, allowed %v to %v", name, v, p.Unit, p.Min, p.Max)
		}
	}
	if k.param("pick-up") != nil && k.param("drop-out") != nil && d.P("drop-out") >= d.P("pick-up") {
		return fail(ErrParam, where, "drop-out %v V is not below pick-up %v V: no coil both draws and lets go there", d.P("drop-out"), d.P("pick-up"))
	}
	if err := d.fields(where); err != nil {
		return err
	}
	if d.Kind == "switch" && d.P("closed") != 0 && d.P("closed") != 1 {
		return fail(ErrParam, where, "closed is %v, allowed 0 (open at rest) or 1 (closed at rest)", d.P("closed"))
	}
	if d.Pigtail && !k.fixed {
		return fail(ErrParam, where, "a %s has no fixed leads", d.Kind)
	}
	if k.check != nil {
		if msg := k.check(d); msg != "" {
			return fail(ErrParam, where, "%s", msg)
		}
	}
	return nil
}

func (c *Conductor) validate() error {
	where := "conductor " + c.ID
	switch {
	case c.From == "" || c.To == "":
		return fail(ErrDangling, where, "an end is on nothing; write %q for an insulated end", Capped)
	case Gauges[c.Gauge] == 0:
		return fail(ErrConductor, where, "gauge %d AWG is not one of 18, 16, 14, 12, 10, 8, 6, 4", c.Gauge)
	case !(c.Insulation >= 30 && c.Insulation <= 1000) && !(c.Class == Ground && c.Insulation == 0):
		return fail(ErrConductor, where, "insulation %v V, allowed 30 to 1000", c.Insulation)
	case c.Class != Line && c.Class != Class2 && c.Class != Ground:
		return fail(ErrConductor, where, "class %q, want line, class2 or ground", c.Class)
	case c.Class == Line && c.Insulation < 300:
		return fail(ErrConductor, where, "insulation %v V on a line conductor, want 300 or more", c.Insulation)
	case !(c.Length >= 0 && c.Length <= 100):
		return fail(ErrConductor, where, "length %v m, allowed 0 to 100", c.Length)
	case c.Metal != "" && !slices.Contains(Metals, c.Metal):
		return fail(ErrConductor, where, "metal %q, want one of %s", c.Metal, strings.Join(Metals, ", "))
	case len(c.Colour) > 40:
		return fail(ErrConductor, where, "colour longer than 40 bytes")
	case strings.TrimSpace(c.Colour) == "":
		return fail(ErrConductor, where, "no colour; write what is seen, or \"unmarked\"")
	}
	return goodText(where, c.Colour)
}

func (u *Unit) terminal(devs map[string]*Device, end string) (*Terminal, error) {
	dev, term, ok := strings.Cut(end, ".")
	d := devs[dev]
	if !ok || d == nil {
		return nil, fail(ErrDangling, "", "end %q is on no device of this unit", end)
	}
	k := Kinds[d.Kind]
	for i := range k.Terminals {
		if k.Terminals[i].Name == term {
			return &k.Terminals[i], nil
		}
	}
	return nil, fail(ErrTerminal, "", "%s (%s) has no terminal %q; it has %s", dev, d.Kind, term, k.terminalNames())
}

// callNames are the inputs that no device opens: a device called so would be taken
// for the call.
var callNames = []string{"cool-1", "cool-2", "fan"}

// goodText refuses what is not seen as it stands: control characters and line
// breaks, which could pass for lines of a report, and marks that turn or hide text.
// units are the letters of other scripts that stand in units.
var units = []rune("\u00b5\u03bc\u03a9\u2126")

func goodText(what, s string) error {
	if !utf8.ValidString(s) {
		return fail(ErrName, what, "text %q is not valid UTF-8", s)
	}
	if s != "" && strings.TrimSpace(s) == "" {
		return fail(ErrName, what, "text of blanks alone")
	}
	for _, r := range s {
		if !unicode.IsPrint(r) || r == '\u3164' || r == '\u2800' || r == '\u115f' || r == '\u1160' || r == '\uffa0' { // letters that print as nothing
			return fail(ErrName, what, "text %q has the character %U, which cannot be seen", s, r)
		}
		if unicode.Is(unicode.M, r) { // overstruck, or nothing to be seen
			return fail(ErrName, what, "text %q has the mark %U, which changes the letter before it: type the letter itself", s, r)
		}
		if unicode.IsLetter(r) && !unicode.Is(unicode.Latin, r) && !slices.Contains(units, r) { // one that looks like a Latin one tells two parts apart that are the same on paper
			return fail(ErrName, what, "text %q has the letter %q (%U), which is not of the Latin script", s, r, r)
		}
	}
	return nil
}

func goodName(what, s string) error {
	if s == "" || len(s) > 48 {
		return fail(ErrName, what, "name %q must have 1 to 48 letters", s)
	}
	for _, r := range s {
		if !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '_') {
			return fail(ErrName, what, "name %q has %q; letters, digits, - and _ only", s, r)
		}
	}
	return nil
}

// Device finds a device by name; nil if there is none.
func (u *Unit) Device(id string) *Device {
	for i := range u.Devices {
		if u.Devices[i].ID == id {
			return &u.Devices[i]
		}
	}
	return nil
}

// Conductor finds a conductor by name; nil if there is none.
func (u *Unit) Conductor(id string) *Conductor {
	for i := range u.Conductors {
		if u.Conductors[i].ID == id {
			return &u.Conductors[i]
		}
	}
	return nil
}

// At lists the conductors that end on a terminal.
func (u *Unit) At(end string) []*Conductor {
	var out []*Conductor
	for i := range u.Conductors {
		if c := &u.Conductors[i]; c.From == end || c.To == end {
			out = append(out, c)
		}
	}
	return out
}

// Ends lists every terminal of the unit as DEVICE.TERMINAL.
func (u *Unit) Ends() []string {
	var out []string
	for _, d := range u.Devices {
		for _, t := range Kinds[d.Kind].Terminals {
			out = append(out, d.ID+"."+t.Name)
		}
	}
	return out
}

// P is a number of the device, or the default of its kind.
func (d *Device) P(name string) float64 {
	v, ok := d.Params[name]
	if name == "contact-lra" && v == 0 && Kinds[d.Kind].param(name) != nil {
		return 5 * d.P("contact-amps")
	}
	if ok {
		return v
	}
	if p := Kinds[d.Kind].param(name); p != nil {
		return p.Default
	}
	return math.NaN()
}

// Ohms is the resistance of the conductor at 75 C.
func (c *Conductor) Ohms() float64 {
	l := c.Length
	if l == 0 {
		l = defaultLength
	}
	return Gauges[c.Gauge] * l
}
