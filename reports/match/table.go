package match

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"retrostage/reports/workbook/sheetfile"
	"retrostage/thermo/units"
)

// Column says what a column of a list of candidates is. Field "" leaves it out.
type Column struct {
	Field string `json:"field"`
	Unit  string `json:"unit,omitempty"` // by its name in package units
}

// Mapping is what the columns of a list are, by their headings: remembered, so that
// the next list of the same form needs no questions.
type Mapping map[string]Column

// Listing is a list as read, not yet understood.
type Listing struct {
	Headings []string
	Rows     [][]string
}

// Greatest sizes of a list.
const (
	MaxBytes = 4 << 20
	MaxRows  = 2000
	MaxCols  = 100
)

type column struct {
	field, label string
	dim          units.Dimension // "" is text
	names        []string        // parts of headings that mean it, lower case
	gauge        bool            // a pressure above the air's
	lo, hi       float64         // SI, what the figure can be
	set          func(c *Candidate, x float64, text string)
}

// columns are the fields that a list can fill, in the order in which headings are
// compared: the longer names first.
var columns = []column{
	{field: "name", label: "Type", names: []string{"model", "type", "name", "part"}, set: func(c *Candidate, _ float64, s string) { c.Name = s }},
	{field: "kind", label: "Kind: scroll, rotary, reciprocating", names: []string{"kind", "technology"}, set: func(c *Candidate, _ float64, s string) {
		c.Kind = Kind(strings.ToLower(s))
	}},
	{field: "stages", label: "Stages", dim: units.Count, lo: 1, hi: 2, names: []string{"stages"}, set: func(c *Candidate, x float64, _ string) { c.Stages = int(x) }},
	{field: "refrigerants", label: "Refrigerant", names: []string{"refrigerant", "fluid"}, set: func(c *Candidate, _ float64, s string) {
		for _, r := range strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ';' || r == '/' || r == '\n' }) {
			c.Refrigerants = append(c.Refrigerants, strings.TrimSpace(r))
		}
	}},
	{field: "oil_kg", label: "Oil charge", dim: units.Mass, lo: 0.05, hi: 8, names: []string{"oil charge", "oil mass"}, set: func(c *Candidate, x float64, _ string) { c.OilKg = x }},
	{field: "oil", label: "Oil", names: []string{"oil", "lubricant"}, set: func(c *Candidate, _ float64, s string) { c.Oil = s }},
	{field: "cap_volts", label: "Run capacitor: volts", dim: units.Voltage, lo: 90, hi: 700, names: []string{"capacitor volt", "cap volt", "capacitor v"}, set: func(c *Candidate, x float64, _ string) { c.CapacitorVolts = x }},
	{field: "capacitor", label: "Run capacitor", dim: units.Capacitance, lo: 1e-06, hi: 0.0002, names: []string{"capacitor", "run cap"}, set: func(c *Candidate, x float64, _ string) { c.Capacitor = x }},
	{field: "volts", label: "Voltage", dim: units.Voltage, lo: 90, hi: 600, names: []string{"voltage", "volts"}, set: func(c *Candidate, x float64, s string) { c.VoltsLow, c.Volts = voltsOf(s, x) }},
	{field: "phases", label: "Phases", dim: units.Count, lo: 1, hi: 3, names: []string{"phase"}, set: func(c *Candidate, x float64, _ string) { c.Phases = int(x) }},
	{field: "hertz", label: "Frequency", dim: units.Frequency, lo: 45, hi: 65, names: []string{"frequency", "hertz"}, set: func(c *Candidate, x float64, _ string) { c.Hertz = x }},
	{field: "capacity", label: "Capacity at the rating point", dim: units.Capacity, lo: 800, hi: 60000, names: []string{"capacity", "cooling"}, set: func(c *Candidate, x float64, _ string) { c.Capacity = x }},
	{field: "rated_evap", label: "Rated at: evaporating temperature", dim: units.Temperature, lo: 255, hi: 295, names: []string{"rated evap", "rating evap"}, set: func(c *Candidate, x float64, _ string) { c.Rating.Evaporating = x }},
	{field: "rated_cond", label: "Rated at: condensing temperature", dim: units.Temperature, lo: 300, hi: 340, names: []string{"rated cond", "rating cond"}, set: func(c *Candidate, x float64, _ string) { c.Rating.Condensing = x }},
	{field: "power", label: "Power at the rating point", dim: units.Power, lo: 200, hi: 20000, names: []string{"power", "input"}, set: func(c *Candidate, x float64, _ string) { c.Power = x }},
	{field: "rla", label: "RLA", dim: units.Current, lo: 1, hi: 100, names: []string{"rla", "rated load", "rated-load"}, set: func(c *Candidate, x float64, _ string) { c.RLA = x }},
	{field: "lra", label: "LRA", dim: units.Current, lo: 5, hi: 600, names: []string{"lra", "locked rotor", "locked-rotor"}, set: func(c *Candidate, x float64, _ string) { c.LRA = x }},
	{field: "bcsc", label: "Branch-circuit selection current", dim: units.Current, lo: 1, hi: 100, names: []string{"bcsc", "selection current"}, set: func(c *Candidate, x float64, _ string) { c.BCSC = x }},
	{field: "max_high", label: "Greatest high-side pressure", dim: units.Pressure, lo: 500000, hi: 2e+07, gauge: true, names: []string{"high side", "high-side", "max high", "discharge pressure"}, set: func(c *Candidate, x float64, _ string) { c.MaxHigh = x }},
	{field: "max_low", label: "Greatest low-side pressure", dim: units.Pressure, lo: 200000, hi: 1e+07, gauge: true, names: []string{"low side", "low-side", "max low", "suction pressure"}, set: func(c *Candidate, x float64, _ string) { c.MaxLow = x }},
	{field: "max_discharge", label: "Greatest discharge temperature", dim: units.Temperature, lo: 330, hi: 430, names: []string{"discharge temp"}, set: func(c *Candidate, x float64, _ string) { c.MaxDischarge = x }},
	{field: "evap_low", label: "Lowest evaporating temperature", dim: units.Temperature, lo: 220, hi: 300, names: []string{"evap min", "min evap", "lowest evap"}, set: func(c *Candidate, x float64, _ string) { c.EvapLow = x }},
	{field: "evap_high", label: "Highest evaporating temperature", dim: units.Temperature, lo: 220, hi: 310, names: []string{"evap max", "max evap", "highest evap"}, set: func(c *Candidate, x float64, _ string) { c.EvapHigh = x }},
	{field: "cond_low", label: "Lowest condensing temperature", dim: units.Temperature, lo: 270, hi: 345, names: []string{"cond min", "min cond", "lowest cond"}, set: func(c *Candidate, x float64, _ string) { c.CondLow = x }},
	{field: "cond_high", label: "Highest condensing temperature", dim: units.Temperature, lo: 270, hi: 345, names: []string{"cond max", "max cond", "highest cond"}, set: func(c *Candidate, x float64, _ string) { c.CondHigh = x }},
	{field: "suction", label: "Suction stub", dim: units.Bore, lo: 0.003, hi: 0.08, names: []string{"suction"}, set: func(c *Candidate, x float64, _ string) { c.Suction = x }},
	{field: "discharge", label: "Discharge stub", dim: units.Bore, lo: 0.003, hi: 0.08, names: []string{"discharge"}, set: func(c *Candidate, x float64, _ string) { c.Discharge = x }},
	{field: "height", label: "Height", dim: units.Bore, lo: 0.1, hi: 1.5, names: []string{"height"}, set: func(c *Candidate, x float64, _ string) { c.Height = x }},
	{field: "weight", label: "Weight", dim: units.Mass, lo: 3, hi: 300, names: []string{"weight", "mass"}, set: func(c *Candidate, x float64, _ string) { c.Weight = x }},
	{field: "price", label: "Price", dim: units.Money, lo: 0, hi: 1e+06, names: []string{"price", "cost"}, set: func(c *Candidate, x float64, _ string) { c.Price = x }},
	{field: "note", label: "Notes: sound, feet", names: []string{"note", "sound", "remark"}, set: func(c *Candidate, _ float64, s string) { c.Note = s }},
}

// Field is a field that a column can fill, for a person to pick from.
type Field struct {
	Name, Label string
	Dim         units.Dimension // "" is text
}

// Fields lists them.
func Fields() (out []Field) {
	for _, c := range columns {
		out = append(out, Field{c.field, c.label, c.dim})
	}
	return out
}

// voltsOf takes 208-230 and 208/230 as a range.
func voltsOf(text string, x float64) (lo, hi float64) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == '-' || r == '/' || r == '–' })
	if len(parts) == 2 {
		a, e1 := units.Number(strings.TrimSpace(parts[0]))
		b, e2 := units.Number(strings.Fields(parts[1] + " ")[0])
		if e1 == nil && e2 == nil {
			return min(a, b), max(a, b)
		}
	}
	return 0, x
}

// ReadListing reads a table of text, apart by comma, semicolon or tab, or the first
// sheet of a workbook. The first line holds the headings.
func ReadListing(b []byte) (Listing, error) {
	if len(b) > MaxBytes {
		return Listing{}, fmt.Errorf("match: the list has %d bytes; allowed %d", len(b), MaxBytes)
	}
	if bytes.HasPrefix(b, []byte("PK")) {
		return sheetListing(b)
	}
	b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	first, _, _ := bytes.Cut(b, []byte("\n"))
	comma := ','
	for _, r := range []rune{';', '\t'} {
		if bytes.Count(first, []byte(string(r))) > bytes.Count(first, []byte(string(comma))) {
			comma = r
		}
	}
	r := csv.NewReader(bytes.NewReader(b))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = comma, -1, true
	all, err := r.ReadAll()
	if err != nil {
		return Listing{}, fmt.Errorf("match: the list: %w", err)
	}
	return listing(all)
}

func sheetListing(b []byte) (Listing, error) {
	f, err := sheetfile.Open(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return Listing{}, fmt.Errorf("match: the workbook: %w", err)
	}
	if len(f.Sheets) == 0 {
		return Listing{}, fmt.Errorf("match: the workbook has no sheet")
	}
	var all [][]string
	err = f.Cells(f.Sheets[0], func(c sheetfile.Cell) error {
		if c.Row > MaxRows+1 || c.Col > MaxCols {
			return fmt.Errorf("match: a cell in row %d, column %d; allowed %d and %d", c.Row, c.Col, MaxRows+1, MaxCols)
		}
		for len(all) < c.Row {
			all = append(all, nil)
		}
		row := &all[c.Row-1]
		for len(*row) < c.Col {
			*row = append(*row, "")
		}
		if c.IsNumber {
			(*row)[c.Col-1] = strconv.FormatFloat(c.Number, 'g', -1, 64)
		} else {
			(*row)[c.Col-1] = c.Text
		}
		return nil
	})
	if err != nil {
		return Listing{}, err
	}
	return listing(all)
}

func listing(all [][]string) (Listing, error) {
	if len(all) < 2 {
		return Listing{}, fmt.Errorf("match: the list needs a line of headings and one candidate")
	}
	if len(all) > MaxRows+1 || len(all[0]) > MaxCols {
		return Listing{}, fmt.Errorf("match: %d lines of %d columns; allowed %d and %d", len(all)-1, len(all[0]), MaxRows, MaxCols)
	}
	l := Listing{Headings: make([]string, len(all[0]))}
	for i, h := range all[0] {
		l.Headings[i] = cmp.Or(strings.TrimSpace(h), fmt.Sprintf("column %d", i+1))
	}
	for i, h := range l.Headings {
		if slices.Index(l.Headings, h) != i {
			return Listing{}, fmt.Errorf("match: two columns are headed %q", h)
		}
	}
	for _, row := range all[1:] {
		if strings.TrimSpace(strings.Join(row, "")) != "" {
			l.Rows = append(l.Rows, row)
		}
	}
	return l, nil
}

// Guess says what the columns seem to be: as remembered, else by their headings and
// the unit that stands in them. A number without a unit that can be told keeps none,
// and is asked for.
func (l Listing) Guess(remembered Mapping) Mapping {
	out := Mapping{}
	taken := map[string]bool{}
	for _, h := range l.Headings {
		if c, ok := remembered[h]; ok {
			out[h] = c
			taken[c.Field] = c.Field != ""
		}
	}
	for _, h := range l.Headings { // as [Listing.Text] writes them
		label, unit := h, ""
		if i := strings.LastIndex(h, " ("); i > 0 && strings.HasSuffix(h, ")") {
			label, unit = h[:i], h[i+2:len(h)-1]
		}
		for _, c := range columns {
			if _, ok := out[h]; !ok && c.label == label && !taken[c.field] {
				if unit == "" {
					unit = unitIn(strings.ToLower(h), c.dim)
				}
				out[h], taken[c.field] = Column{c.field, unit}, true
			}
		}
	}
	for _, h := range l.Headings {
		if _, ok := out[h]; ok {
			continue
		}
		out[h] = Column{}
		low := strings.ToLower(h)
		best, length := -1, 0
		for i, c := range columns {
			for _, n := range c.names {
				if strings.Contains(low, n) && len(n) > length && !taken[c.field] {
					best, length = i, len(n)
				}
			}
		}
		if best >= 0 {
			c := columns[best]
			taken[c.field] = true
			out[h] = Column{Field: c.field, Unit: unitIn(low, c.dim)}
		}
	}
	return out
}

// unitIn finds a unit of dim among the words of a heading.
func unitIn(heading string, dim units.Dimension) string {
	switch dim {
	case "":
		return ""
	case units.Count, units.Money, units.Voltage, units.Current, units.Frequency: // one unit each that data come in
		return units.Of(dim)[0].Name
	}
	words := strings.FieldsFunc(heading, func(r rune) bool { return strings.ContainsRune(" ,;()[]:=°", r) })
	// Of a limit of pressure data write bar, psi or kPa and mean above the air's.
	if dim == units.Pressure && !strings.Contains(heading, "abs") {
		for word, name := range map[string]string{"psi": "psig", "bar": "barg", "kpa": "kPag"} {
			if slices.Contains(words, word) {
				return name
			}
		}
	}
	for _, w := range words {
		for _, u := range units.Of(dim) {
			if plainUnit(w) == plainUnit(u.Name) || plainUnit(w) == plainUnit(u.Label) {
				return u.Name
			}
		}
	}
	return ""
}

// Text is the list as the columns of m have it, in a form that needs no mapping when
// it is read again.
func (l Listing) Text(m Mapping) string {
	var head []string
	var use []int
	for i, h := range l.Headings {
		k := slices.IndexFunc(columns, func(c column) bool { return c.field == m[h].Field })
		if k < 0 {
			continue
		}
		label := columns[k].label
		if m[h].Unit != "" {
			label += " (" + m[h].Unit + ")"
		}
		head, use = append(head, label), append(use, i)
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Comma = ';'
	w.Write(head) // to memory: it cannot fail
	for _, row := range l.Rows {
		line := make([]string, len(use))
		for j, i := range use {
			if i < len(row) {
				line[j] = strings.TrimSpace(row[i])
			}
		}
		w.Write(line)
	}
	w.Flush()
	return strings.TrimSpace(b.String())
}

func plainUnit(s string) string {
	return strings.ToLower(strings.NewReplacer("µ", "u", "°", "", " ", "").Replace(s))
}

// grouped is a number whose comma may part thousands or decimals.
var grouped = regexp.MustCompile(`^\d{1,3}(,\d{3})+$`)

// number reads a cell, SI. A comma before three digits is read in the one way that
// gives what the figure can be; where both do, it is refused.
func (c column) number(text string, u units.Unit) (float64, error) {
	ways := []string{text}
	if grouped.MatchString(text) {
		ways = []string{strings.ReplaceAll(text, ",", "")}
		if strings.Count(text, ",") == 1 {
			ways = append(ways, strings.Replace(text, ",", ".", 1))
		}
	}
	var found []float64
	var err error
	for _, w := range ways {
		x, e := units.Number(w)
		if e != nil && c.field == "volts" {
			if _, hi := voltsOf(w, -1); hi > 0 {
				x, e = hi, nil
			}
		}
		if e != nil {
			err = e
			continue
		}
		si := u.ToSI(x, 0)
		if c.gauge && !u.Gauge {
			si -= 101325
		}
		if !(si >= c.lo && si <= c.hi) {
			err = fmt.Errorf("%s %s cannot be: is it in another unit?", text, u.Label)
			continue
		}
		found = append(found, si)
	}
	switch len(found) {
	case 0:
		return 0, err
	case 1:
		return found[0], nil
	}
	return 0, fmt.Errorf("%s can be meant in two ways: write it without the comma", text)
}

// Wrong is a cell that could not be taken.
type Wrong struct {
	Row     int // of the list, from 1, headings not counted
	Heading string
	Why     string
}

// Candidates makes candidates of the rows. What cannot be read is left unknown and
// told; a column of numbers whose unit is not known is refused as a whole.
func (l Listing) Candidates(m Mapping) ([]Candidate, []Wrong, error) {
	type use struct {
		i    int
		c    column
		unit units.Unit
	}
	var uses []use
	for i, h := range l.Headings {
		if m[h].Field == "" {
			continue
		}
		k := slices.IndexFunc(columns, func(c column) bool { return c.field == m[h].Field })
		if k < 0 {
			return nil, nil, fmt.Errorf("match: column %q: no field is called %q", h, m[h].Field)
		}
		u := use{i: i, c: columns[k]}
		if u.c.dim != "" {
			var err error
			if u.unit, err = units.Lookup(u.c.dim, m[h].Unit); err != nil {
				return nil, nil, fmt.Errorf("match: column %q: say in which unit it is", h)
			}
		}
		uses = append(uses, u)
	}
	if !slices.ContainsFunc(uses, func(u use) bool { return u.c.field == "name" }) {
		return nil, nil, fmt.Errorf("match: say which column holds the type")
	}
	var out []Candidate
	var wrong []Wrong
	for r, row := range l.Rows {
		var c Candidate
		for _, u := range uses {
			if u.i >= len(row) || strings.TrimSpace(row[u.i]) == "" {
				continue
			}
			text := strings.TrimSpace(row[u.i])
			if u.c.dim == "" {
				u.c.set(&c, 0, text)
				continue
			}
			si, err := u.c.number(text, u.unit)
			if err != nil {
				wrong = append(wrong, Wrong{r + 1, l.Headings[u.i], err.Error()})
				continue
			}
			u.c.set(&c, si, text)
		}
		out = append(out, c)
	}
	return out, wrong, nil
}
