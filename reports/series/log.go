package series

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"time"
)

// Log is a log as read.
type Log struct {
	Start   time.Time // of the first line; zero where time is elapsed or has no date
	Columns []Column  // the numeric columns, in the order of the file

	t []float64
	v [][]float64
}

// Read reads a log by a confirmed layout. Every line must have as many fields as
// the layout has columns, and time must not run backwards; an error names the
// line. A blank cell is a missing reading; a cell of a numeric column that is
// neither blank nor a number is an error.
func Read(b []byte, l Layout) (*Log, error) {
	if len(b) > MaxBytes {
		return nil, fmt.Errorf("series: the log has %d bytes; allowed up to %d", len(b), MaxBytes)
	}
	if l.Time < 0 || l.Time >= len(l.Columns) || len(l.Columns) > MaxColumns {
		return nil, fmt.Errorf("series: time in column %d of %d; allowed up to %d columns", l.Time+1, len(l.Columns), MaxColumns)
	}
	switch l.Delimiter {
	case '\t', ';', ',', '|':
	default:
		return nil, fmt.Errorf("series: delimiter %q; allowed tab, semicolon, comma and bar", l.Delimiter)
	}
	b = clean(b)
	if err := sized(b); err != nil {
		return nil, err
	}
	most := min(bytes.Count(b, []byte("\n"))+1, MaxRows)
	g := &Log{t: make([]float64, 0, most)}
	var from []int
	for j, c := range l.Columns {
		if j != l.Time && c.Numeric {
			from = append(from, j)
			g.Columns = append(g.Columns, c)
			g.v = append(g.v, make([]float64, 0, most))
		}
	}
	clock := clock{form: l.TimeForm, comma: l.DecimalComma}
	line := 0
	err := records(b, l.Delimiter, func(row []string) (more bool, err error) {
		if line++; line == 1 && l.Header {
			return true, nil
		}
		if len(from) == 0 {
			return false, fmt.Errorf("series: no column of readings")
		}
		if len(row) != len(l.Columns) {
			return false, fmt.Errorf("series: line %d has %d fields; allowed %d", line, len(row), len(l.Columns))
		}
		t, err := clock.read(row[l.Time])
		if err != nil {
			return false, fmt.Errorf("series: line %d: %w", line, err)
		}
		g.t = append(g.t, t)
		for k, j := range from {
			x := math.NaN() // a missing reading
			if !blank(row[j]) {
				var ok bool
				if x, ok = number(row[j], l.DecimalComma); !ok {
					return false, fmt.Errorf("series: line %d: %q in %q is not a number", line, row[j], l.Columns[j].Name)
				}
			}
			g.v[k] = append(g.v[k], x)
		}
		return true, nil
	})
	if err == nil && len(g.t) == 0 {
		err = fmt.Errorf("series: the log has no readings")
	}
	if err != nil {
		return nil, err
	}
	g.Start = clock.first
	return g, nil
}

// New makes a log of readings that were typed: times in s, not falling, and one
// slice of equal length per column.
func New(start time.Time, t []float64, columns []Column, v [][]float64) (*Log, error) {
	if len(columns) != len(v) || len(t) == 0 || len(t) > MaxRows || len(v) == 0 || len(v) > MaxColumns {
		return nil, fmt.Errorf("series: %d times and %d columns for %d names; allowed 1 to %d and 1 to %d", len(t), len(v), len(columns), MaxRows, MaxColumns)
	}
	for i, x := range t {
		if !(math.Abs(x) < 1e15) || i > 0 && x < t[i-1] {
			return nil, fmt.Errorf("series: time %d is %v; allowed finite and not before the one above", i+1, x)
		}
	}
	g := &Log{Start: start, Columns: columns, t: make([]float64, len(t)), v: v}
	for i := range t {
		g.t[i] = t[i] - t[0]
	}
	for k, c := range v {
		if len(c) != len(t) {
			return nil, fmt.Errorf("series: %q has %d readings for %d times", columns[k].Name, len(c), len(t))
		}
		for _, x := range c {
			if math.Abs(x) >= 1e15 {
				return nil, fmt.Errorf("series: %q holds %v", columns[k].Name, x)
			}
		}
	}
	return g, nil
}

// Len is the number of lines.
func (g *Log) Len() int { return len(g.t) }

// Seconds is the time of line i, s since the first.
func (g *Log) Seconds(i int) float64 { return g.t[i] }

// Value is reading k of line i; ok is false where it is missing.
func (g *Log) Value(k, i int) (x float64, ok bool) {
	x = g.v[k][i]
	if math.IsNaN(x) {
		return 0, false
	}
	return x, true
}

// clock turns time stamps into seconds since the first.
type clock struct {
	form  string
	comma bool

	begun bool
	first time.Time
	zero  float64
	last  float64
	wrap  float64
}

func (c *clock) read(v string) (float64, error) {
	raw := v
	v = strings.TrimSpace(v)
	var t float64
	if unit, ok := elapsed[c.form]; ok {
		x, ok := number(v, c.comma)
		if !ok {
			return 0, fmt.Errorf("time %q is not a number", raw)
		}
		t = x * unit
	} else {
		at, err := time.Parse(c.form, v)
		if err != nil {
			return 0, fmt.Errorf("time %q does not read as %q", raw, c.form)
		}
		if !c.begun && at.Year() > 0 {
			c.first = at
		}
		t = float64(at.Unix()) + float64(at.Nanosecond())/1e9
		if at.Year() == 0 { // time of day alone
			t += c.wrap
			if c.begun && t < c.zero+c.last {
				c.wrap += 86400
				t += 86400
			}
		}
	}
	if !c.begun {
		c.begun, c.zero = true, t
	}
	t -= c.zero
	if t < c.last {
		return 0, fmt.Errorf("time %q is before the line above", raw)
	}
	if math.IsInf(t, 0) || math.IsNaN(t) {
		return 0, fmt.Errorf("time %q is out of range", raw)
	}
	c.last = t
	return t, nil
}
