package supply

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"sync"

	"retrostage/assets"
)

// Origin is what every table says of itself.
type Origin struct {
	Title      string     `json:"title"`
	Source     string     `json:"source"`
	Edition    string     `json:"edition"`
	Confidence Confidence `json:"confidence"`
	Read       string     `json:"read"` // what was read to confirm the values
	Unit       string     `json:"unit"`
}

// Cite is the source with its edition.
func (o Origin) Cite() string { return cite(o.Source, o.Edition) }

// Cite is the source with its edition.
func (r Rule) Cite() string { return cite(r.Source, r.Edition) }

func cite(source, edition string) string {
	if edition == "" {
		return source
	}
	return source + " (" + edition + ")"
}

// Tables are the limits and rules that the checks are held against.
type Tables struct {
	Overcurrent struct {
		Origin
		Sizes []float64 `json:"sizes"` // A, ascending
	}
	Ampacity struct {
		Origin
		Columns []float64 `json:"columns_C"`
		Rows    []struct {
			Gauge    string    `json:"gauge"`
			Amps     []float64 `json:"amps"`
			Aluminum []float64 `json:"aluminum"` // none for the thinnest
		} `json:"rows"`
	}
	Ambient struct {
		Origin
		Columns []float64 `json:"columns_C"`
		Rows    []struct {
			To     float64   `json:"to_C"`
			Factor []float64 `json:"factor"`
		} `json:"rows"`
	}
	Bundling struct {
		Origin
		Rows []struct {
			To     int     `json:"to"`
			Factor float64 `json:"factor"`
		} `json:"rows"`
	}
	Resistance struct {
		Origin
		At   float64 `json:"at_C"`
		PerC float64 `json:"per_C"`
		Rows []struct {
			Gauge    string  `json:"gauge"`
			Solid    float64 `json:"solid"`
			Stranded float64 `json:"stranded"`
			Mils     float64 `json:"circular_mils"`
		} `json:"rows"`
	}
	Grounding struct {
		Origin
		Rows []struct {
			To       float64 `json:"to_A"`
			Gauge    string  `json:"gauge"`
			Aluminum string  `json:"aluminum"`
		} `json:"rows"`
	}
	SmallWire struct {
		Origin
		Rows []struct {
			Gauge    string  `json:"gauge"`
			Amps     float64 `json:"amps"`
			Aluminum float64 `json:"aluminum"`
		} `json:"rows"`
	}
	Motors struct {
		Origin
		Volts []float64 `json:"columns_V"`
		Rows  []struct {
			HP          float64   `json:"hp"`
			FullLoad    []float64 `json:"full_load"`
			LockedRotor []float64 `json:"locked_rotor"` // none for the smallest
		} `json:"rows"`
	}
	Voltage struct {
		Origin
		Systems  []System `json:"systems"`
		Nominals []struct {
			Supply []float64 `json:"supply"`
			Plates []float64 `json:"plates"`
		} `json:"nominals"`
	}
	Unbalance struct {
		Origin
		Points [][2]float64 `json:"points"`
	}
	Capacitor struct {
		Origin
		Classes []Tolerance `json:"classes"`
	}
	Insulation struct {
		Origin
		Profiles []Profile `json:"profiles"`
	}
	rules map[string]Rule
}

// System is a supply system with its ranges, V: service at the meter,
// utilization at the equipment.
type System struct {
	Name        string           `json:"name"`
	Nominal     float64          `json:"nominal"`
	Phases      int              `json:"phases"`
	Service     map[string]Range `json:"service"`
	Utilization map[string]Range `json:"utilization"`
}

// Range is a lowest and a highest value.
type Range [2]float64

// Tolerance is a class of capacitors: the real value lies between (1 - Low)
// and (1 + High) times the mark.
type Tolerance struct {
	Name       string     `json:"name"`
	Low        float64    `json:"low"`
	High       float64    `json:"high"`
	Source     string     `json:"source"`
	Confidence Confidence `json:"confidence"`
}

// Profile is one advice on insulation resistance: bands from the best down.
type Profile struct {
	Name       string     `json:"name"`
	Title      string     `json:"title"`
	Corrected  bool       `json:"corrected"` // the bands hold at 40 C
	Source     string     `json:"source"`
	Confidence Confidence `json:"confidence"`
	Bands      []Band     `json:"bands"`
}

// Band is one step of a profile, ohm.
type Band struct {
	From float64 `json:"from"`
	Word string  `json:"word"`
	Next string  `json:"next"`
}

// Load returns the embedded tables, read once.
var Load = sync.OnceValues(func() (*Tables, error) { return ReadTables(assets.FS, "electrical") })

// ReadTables reads and validates the tables in dir of fsys.
func ReadTables(fsys fs.FS, dir string) (*Tables, error) {
	t := new(Tables)
	for name, into := range t.files() {
		b, err := fs.ReadFile(fsys, path.Join(dir, name))
		if err == nil {
			err = decode(b, into)
		}
		if err != nil {
			return nil, fmt.Errorf("electrical table %s: %w", name, err)
		}
	}
	var book struct {
		Origin
		Rules []Rule `json:"rules"`
	}
	b, err := fs.ReadFile(fsys, path.Join(dir, "rules.json"))
	if err == nil {
		err = decode(b, &book)
	}
	if err != nil {
		return nil, fmt.Errorf("electrical table rules.json: %w", err)
	}
	t.rules = make(map[string]Rule, len(book.Rules))
	for _, r := range book.Rules {
		t.rules[r.Key] = r
	}
	if err := t.validate(); err != nil {
		return nil, fmt.Errorf("electrical tables: %w", err)
	}
	return t, nil
}

func (t *Tables) files() map[string]any {
	return map[string]any{
		"overcurrent.json": &t.Overcurrent, "ampacity.json": &t.Ampacity, "ambient.json": &t.Ambient,
		"motors.json": &t.Motors, "bundling.json": &t.Bundling, "resistance.json": &t.Resistance, "grounding.json": &t.Grounding,
		"smallwire.json": &t.SmallWire, "voltage.json": &t.Voltage, "unbalance.json": &t.Unbalance,
		"capacitor.json": &t.Capacitor, "insulation.json": &t.Insulation,
	}
}

// decode reads exactly one JSON value with no field that the table does not know.
func decode(b []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	if _, err := d.Token(); err != io.EOF {
		return errors.New("something follows the table")
	}
	return nil
}

// Rule returns the rule called key, and whether there is one.
func (t *Tables) Rule(key string) (Rule, bool) {
	r, ok := t.rules[key]
	return r, ok
}

// rule is for the keys of ruleKeys, which every loaded book has.
func (t *Tables) rule(key string) Rule { return t.rules[key] }

// ruleKeys are the rules that the code relies on; a rule book without one of
// them does not load.
var ruleKeys = []string{
	"mca", "mocp", "mocp-start", "mocp-floor", "wire", "small-wire", "nm-cable", "breaker", "disconnect", "disconnect-place", "overload", "overload-device", "disconnect-lra",
	"ground", "drop-branch", "sag-start", "coil-hold", "coil-high", "contactor-fla", "contactor-lra",
	"contactor-poles", "contact-drop", "sum-law", "winding", "case-path", "insulation",
	"insulation-temperature", "insulation-trend", "heater", "coil", "cap-class", "cap-load", "cap-match",
	"cap-volts", "cap-old-value", "cap-dual", "volts-plate", "volts-range", "unbalance", "rla",
	"map-current", "closure", "transformer-va", "class2-va", "lra-ratio", "plate-volts",
}

func (t *Tables) validate() error {
	for _, o := range []Origin{t.Overcurrent.Origin, t.Ampacity.Origin, t.Ambient.Origin, t.Bundling.Origin,
		t.Resistance.Origin, t.Grounding.Origin, t.SmallWire.Origin, t.Motors.Origin, t.Voltage.Origin, t.Unbalance.Origin,
		t.Capacitor.Origin, t.Insulation.Origin} {
		if o.Title == "" || o.Source == "" || o.Confidence == "" {
			return fmt.Errorf("table %q lacks its title, source or confidence", o.Title)
		}
	}
	for _, k := range ruleKeys {
		r, ok := t.rules[k]
		switch {
		case !ok:
			return fmt.Errorf("no rule %q", k)
		case r.Text == "" || r.Source == "" || r.Confidence == "":
			return fmt.Errorf("rule %q lacks its text, source or confidence", k)
		case r.Value < 0:
			return fmt.Errorf("rule %q has the value %g", k, r.Value)
		}
	}
	return errors.Join(t.validateConductors(), t.validateRest())
}

func (t *Tables) validateConductors() error {
	if len(t.Overcurrent.Sizes) == 0 || t.Overcurrent.Sizes[0] <= 0 {
		return errors.New("no standard sizes")
	}
	for i, s := range t.Overcurrent.Sizes[1:] {
		if s <= t.Overcurrent.Sizes[i] {
			return fmt.Errorf("standard size %g A does not ascend", s)
		}
	}
	cols := t.Ampacity.Columns
	if len(cols) == 0 || len(t.Ambient.Columns) != len(cols) {
		return errors.New("ampacity and ambient columns differ")
	}
	for i, c := range cols {
		if c != t.Ambient.Columns[i] || (i > 0 && c <= cols[i-1]) {
			return errors.New("ampacity and ambient columns differ or do not ascend")
		}
	}
	last := make([]float64, len(cols))
	for _, r := range t.Ampacity.Rows {
		if len(r.Amps) != len(cols) {
			return fmt.Errorf("%s AWG: %d ampacities for %d columns", r.Gauge, len(r.Amps), len(cols))
		}
		for i, a := range r.Amps {
			if a <= last[i] || (i > 0 && a <= r.Amps[i-1]) {
				return fmt.Errorf("%s AWG: ampacity %g does not ascend", r.Gauge, a)
			}
		}
		last = r.Amps
	}
	for _, r := range t.Ampacity.Rows {
		for i, a := range r.Aluminum {
			if len(r.Aluminum) != len(cols) || a <= 0 || a >= r.Amps[i] {
				return fmt.Errorf("%s AWG aluminum: ampacity %v", r.Gauge, r.Aluminum)
			}
		}
	}
	hp := 0.0
	for _, r := range t.Motors.Rows {
		if r.HP <= hp || len(r.FullLoad) != len(t.Motors.Volts) || r.LockedRotor != nil && len(r.LockedRotor) != len(t.Motors.Volts) {
			return fmt.Errorf("motors: line of %g hp", r.HP)
		}
		hp = r.HP
	}
	to := math.Inf(-1)
	prev := []float64(nil)
	for _, r := range t.Ambient.Rows {
		if len(r.Factor) != len(cols) || r.To <= to {
			return fmt.Errorf("ambient line to %g C", r.To)
		}
		for i, f := range r.Factor {
			if f < 0 || f > 2 || (prev != nil && f > prev[i]) {
				return fmt.Errorf("ambient line to %g C: factor %g", r.To, f)
			}
		}
		to, prev = r.To, r.Factor
	}
	n, f := 0, math.Inf(1)
	for i, r := range t.Bundling.Rows {
		if r.To == 0 && i == len(t.Bundling.Rows)-1 {
			r.To = math.MaxInt // the last line is for any number above
		}
		if r.To <= n || r.Factor > f || r.Factor <= 0 || r.Factor > 1 {
			return fmt.Errorf("bundling line to %d conductors", r.To)
		}
		n, f = r.To, r.Factor
	}
	ohms := math.Inf(1)
	for _, r := range t.Resistance.Rows {
		if r.Stranded <= 0 || r.Stranded >= ohms || r.Solid < 0 || r.Solid > r.Stranded || r.Mils <= 0 {
			return fmt.Errorf("%s AWG: resistance %g, %g", r.Gauge, r.Solid, r.Stranded)
		}
		ohms = r.Stranded
	}
	if t.Resistance.PerC <= 0 || len(t.Resistance.Rows) == 0 || len(t.Ampacity.Rows) == 0 ||
		len(t.Ambient.Rows) == 0 || len(t.Bundling.Rows) == 0 || len(t.Grounding.Rows) == 0 {
		return errors.New("a conductor table is empty")
	}
	for _, r := range t.Ampacity.Rows {
		if _, err := t.ohms(r.Gauge, false); err != nil {
			return err
		}
	}
	a := 0.0
	for _, r := range t.Grounding.Rows {
		if r.To <= a || t.gaugeIndex(r.Gauge) < 0 {
			return fmt.Errorf("grounding line to %g A", r.To)
		}
		a = r.To
	}
	for _, r := range t.SmallWire.Rows {
		if t.gaugeIndex(r.Gauge) < 0 || r.Amps <= 0 {
			return fmt.Errorf("small conductor %s AWG", r.Gauge)
		}
	}
	return nil
}

func (t *Tables) validateRest() error {
	for _, s := range t.Voltage.Systems {
		for _, m := range []map[string]Range{s.Service, s.Utilization} {
			a, b := m["A"], m["B"]
			if !(0 < b[0] && b[0] <= a[0] && a[0] < a[1] && a[1] <= b[1]) {
				return fmt.Errorf("system %s: ranges A %v, B %v", s.Name, a, b)
			}
		}
	}
	x, y := -1.0, 1.0
	for _, p := range t.Unbalance.Points {
		if p[0] <= x || p[1] > y || p[1] <= 0 {
			return fmt.Errorf("unbalance point %v", p)
		}
		x, y = p[0], p[1]
	}
	if len(t.Unbalance.Points) < 2 || t.Unbalance.Points[0][0] != 0 {
		return errors.New("the derating curve has to start at 0")
	}
	for _, c := range t.Capacitor.Classes {
		if c.Low < 0 || c.Low >= 1 || c.High < 0 || c.Name == "" {
			return fmt.Errorf("tolerance class %q", c.Name)
		}
	}
	for _, p := range t.Insulation.Profiles {
		from := math.Inf(1)
		for _, b := range p.Bands {
			if b.From >= from || b.Word == "" {
				return fmt.Errorf("profile %s: band from %g", p.Name, b.From)
			}
			from = b.From
		}
		if from != 0 {
			return fmt.Errorf("profile %s has no band down to 0", p.Name)
		}
	}
	return nil
}
