package series

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// A Use says which field of the record a column of a log fills.
type Use struct {
	Column int        // of Layout.Columns
	Key    record.Key // of the field
	Unit   string     // the readings' unit, as thermo/units spells it
}

// A UseError is a column that cannot fill its field.
type UseError struct {
	Column int
	Reason string
}

func (e *UseError) Error() string { return e.Reason }

// MaxKept is how many lines of a log a job keeps; of a longer log every n-th
// line is kept, so that a job stays quick to save.
const MaxKept = 3000

// Keep reads a log by a confirmed layout and turns the chosen columns into what
// a job keeps. A line on which one of them is blank is left out. What was left
// out is said in the notes. A column whose readings the field would refuse, as a
// wrong unit makes them, is a *UseError.
func Keep(b []byte, l Layout, name string, uses []Use) (s record.Series, notes []string, err error) {
	if len(uses) == 0 {
		return s, nil, fmt.Errorf("say for at least one column what it reads")
	}
	g, err := Read(b, l)
	if err != nil {
		return s, nil, err
	}
	from := make([]int, len(uses))
	seen := map[record.Key]bool{}
	for i, u := range uses {
		refuse := func(format string, a ...any) error { return &UseError{u.Column, fmt.Sprintf(format, a...)} }
		f, err := record.ByKey(u.Key)
		if err != nil || f.Kind != record.Number {
			return s, nil, refuse("%q takes no reading", u.Key)
		}
		if seen[u.Key] {
			return s, nil, refuse("%s is filled by another column too", f.Label)
		}
		seen[u.Key] = true
		if _, err := units.Lookup(f.Dim, u.Unit); err != nil {
			return s, nil, refuse("say in which unit %s was read", f.Label)
		}
		from[i] = -1
		if u.Column >= 0 && u.Column < len(l.Columns) {
			k := 0 // of the log: the numeric columns but time
			for c := range l.Columns[:u.Column] {
				if c != l.Time && l.Columns[c].Numeric {
					k++
				}
			}
			if u.Column != l.Time && l.Columns[u.Column].Numeric {
				from[i] = k
			}
		}
		if from[i] < 0 {
			return s, nil, refuse("this column holds no readings")
		}
		lo, hi := math.Inf(1), math.Inf(-1)
		for n := range g.Len() {
			if x, ok := g.Value(from[i], n); ok {
				lo, hi = min(lo, x), max(hi, x)
			}
		}
		for _, x := range []float64{lo, hi} {
			if err := f.Check(strconv.FormatFloat(x, 'g', 8, 64), u.Unit); err != nil {
				return s, nil, refuse("%v", err)
			}
		}
	}
	var lines []int
	for n := range g.Len() {
		full := true
		for _, k := range from {
			_, ok := g.Value(k, n)
			full = full && ok
		}
		if full {
			lines = append(lines, n)
		}
	}
	if len(lines) == 0 {
		return s, nil, fmt.Errorf("no line has a reading in every chosen column")
	}
	if n := g.Len() - len(lines); n > 0 {
		notes = append(notes, fmt.Sprintf("%d of %d lines left out: a chosen reading is missing there", n, g.Len()))
	}
	step := (len(lines) + MaxKept - 1) / MaxKept
	if step > 1 {
		notes = append(notes, fmt.Sprintf("one line in %d kept of %d", step, len(lines)))
	}
	s = record.Series{Name: name, Start: g.Start, Columns: make([]record.SeriesColumn, len(uses))}
	for i, u := range uses {
		s.Columns[i].Key, s.Columns[i].Unit = u.Key, u.Unit
	}
	for i := 0; i < len(lines); i += step {
		n := lines[i]
		s.Seconds = append(s.Seconds, g.Seconds(n)-g.Seconds(lines[0]))
		for k := range uses {
			x, _ := g.Value(from[k], n)
			s.Columns[k].Values = append(s.Columns[k].Values, x)
		}
	}
	return s, notes, nil
}

// Loggable are the fields that a log may fill: what is measured while the unit
// runs.
func Loggable() (fs []record.Field) {
	for _, f := range record.Fields {
		if f.Kind == record.Number && f.Origin == record.Measured && (f.Step == record.Running || f.Group == "Live checks") {
			fs = append(fs, f)
		}
	}
	return fs
}

// Guess proposes the field that a column fills: the one of its dimension that
// shares most words with its name, two at least, and no other as many. "" is no
// proposal.
func Guess(c Column) (key record.Key) {
	best, twice := 1, false
	for _, f := range Loggable() {
		if c.Unit == "" || f.Dim != c.Dim {
			continue
		}
		own := words(f.Label)
		n := 0
		for w := range words(c.Name) {
			if own[w] {
				n++
			}
		}
		switch {
		case n > best:
			best, key, twice = n, f.Key, false
		case n == best:
			twice = true
		}
	}
	if twice {
		return record.Key{}
	}
	return key
}

var sameWord = map[string]string{"temp": "temperature", "press": "pressure", "amps": "current", "volts": "voltage", "vapor": "suction", "vapour": "suction", "ambient": "outdoor", "db": "dry", "wb": "wet"}

func words(name string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r < 'a' || r > 'z' }) {
		if t, ok := sameWord[w]; ok {
			w = t
		}
		if w != "line" && len(w) > 1 {
			out[w] = true
		}
	}
	return out
}
