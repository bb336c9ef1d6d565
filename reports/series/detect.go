package series

import (
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"retrostage/thermo/units"
)

// Bounds on a log, so that a wrong file is refused and not swallowed.
const (
	MaxBytes   = 16 << 20
	MaxRows    = 200_000
	MaxColumns = 64
	maxLines   = 2 * MaxRows // blank ones, and those within a quoted cell, counted
	maxLine    = 64 << 10    // bytes
	maxRow     = 4 * maxLine // with the lines within its quoted cells
	maxCells   = 4_000_000   // of the whole log
)

// Layout says how a log is to be read. Detect proposes one; a person confirms
// it. It can be stored and used again for the next log of the same instrument.
type Layout struct {
	Delimiter    rune     `json:"delimiter"`
	DecimalComma bool     `json:"decimal_comma"`
	Header       bool     `json:"header"`    // the first line holds names
	Time         int      `json:"time"`      // column of the time stamp
	TimeForm     string   `json:"time_form"` // a Go time layout, or Seconds, Minutes, Hours or Days elapsed
	Columns      []Column `json:"columns"`
	Notes        []string `json:"notes,omitempty"` // what a person should look at
}

// Elapsed-time forms of a time column that holds plain numbers.
const (
	Seconds = "s"
	Minutes = "min"
	Hours   = "h"
	Days    = "d"
)

var elapsed = map[string]float64{Seconds: 1, Minutes: 60, Hours: 3600, Days: 86400}

// Column is one column of a log.
type Column struct {
	Name    string          `json:"name"`
	Unit    string          `json:"unit"`      // as thermo/units spells it; "" where none was recognised
	Dim     units.Dimension `json:"dimension"` // what that unit measures, a guess where it measures several things
	Numeric bool            `json:"numeric"`
	Sample  string          `json:"sample"` // the first value that is not blank
}

// forms are the time stamps recognised, the unambiguous ones first.
var forms = []string{
	time.RFC3339, "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02 15:04", "2006/01/02 15:04:05", "2006/01/02 15:04",
	"02.01.2006 15:04:05", "02.01.2006 15:04",
	"1/2/2006 15:04:05", "1/2/2006 15:04", "1/2/2006 3:04:05 PM", "1/2/2006 3:04 PM",
	"2/1/2006 15:04:05", "2/1/2006 15:04",
	"15:04:05", "3:04:05 PM", "15:04",
}

// Detect proposes how to read a log. It fails only if the text cannot be a log
// at all.
func Detect(b []byte) (Layout, error) { return DetectAs(b, Known{}) }

// Known is what a person knows of a log better than Detect: the zero value is
// nothing.
type Known struct {
	Delimiter rune
	Decimal   rune // point or comma
}

// DetectAs proposes how to read a log of which something is known.
func DetectAs(b []byte, known Known) (Layout, error) {
	if len(b) > MaxBytes {
		return Layout{}, fmt.Errorf("series: the log has %d bytes; allowed up to %d", len(b), MaxBytes)
	}
	b = clean(b)
	if !utf8.Valid(b) || bytes.IndexByte(b, 0) >= 0 {
		return Layout{}, errors.New("series: the log is not plain text in UTF-8")
	}
	if err := sized(b); err != nil {
		return Layout{}, err
	}
	var l Layout
	var rows [][]string
	best := 0
	for _, d := range []rune{'\t', ';', ',', '|'} {
		if known.Delimiter != 0 && d != known.Delimiter {
			continue
		}
		var r [][]string
		err := records(b, d, func(row []string) (more bool, err error) {
			r = append(r, slices.Clone(row))
			return len(r) < 200, nil
		})
		if err != nil || len(r) < 2 {
			continue
		}
		// The delimiter that splits the most lines alike into the most fields.
		n, alike := len(r[len(r)-1]), 0
		for _, row := range r {
			if len(row) == n {
				alike++
			}
		}
		if n < 2 || n > MaxColumns {
			continue
		}
		if score := alike * (n - 1) * 10 / len(r); score > best {
			best, l.Delimiter, rows = score, d, r
		}
	}
	if rows == nil {
		return Layout{}, fmt.Errorf("series: no tab, semicolon, comma or bar splits the lines into 2 to %d columns alike", MaxColumns)
	}
	for i, row := range rows {
		if n := len(rows[len(rows)-1]); len(row) != n {
			return l, fmt.Errorf("series: line %d has %d fields, the last one read %d; remove lines that are neither names nor readings", i+1, len(row), n)
		}
	}
	l.Header = true
	for _, v := range rows[0] {
		if _, ok := number(v, false); ok {
			l.Header = false
		} else if _, ok := number(v, true); ok {
			l.Header = false
		}
	}
	body := rows
	if l.Header {
		body = rows[1:]
	}
	l.DecimalComma = decimalComma(body, l.Delimiter)
	if known.Decimal != 0 {
		l.DecimalComma = known.Decimal == ','
	}
	if l.DecimalComma {
		l.Notes = append(l.Notes, "decimal comma: 7,5 is read as seven and a half")
	}
	l.Columns = make([]Column, len(body[0]))
	for j := range l.Columns {
		c := &l.Columns[j]
		c.Name = fmt.Sprintf("column %d", j+1)
		if l.Header && strings.TrimSpace(rows[0][j]) != "" {
			c.Name = strings.TrimSpace(rows[0][j])
		}
		c.Unit, c.Dim = unitOf(c.Name)
		good, full := 0, 0
		for _, row := range body {
			v := strings.TrimSpace(row[j])
			if blank(v) {
				continue
			}
			full++
			if c.Sample == "" {
				c.Sample = v
			}
			if _, ok := number(v, l.DecimalComma); ok {
				good++
			}
		}
		c.Numeric = full > 0 && good*10 >= full*9
		if c.Unit == "" && c.Numeric {
			if _, suffix := split(c.Sample); suffix != "" {
				c.Unit, c.Dim = unitOf(suffix)
			}
		}
	}
	if err := l.findTime(body); err != nil {
		return l, err
	}
	for j, c := range l.Columns {
		if j != l.Time && c.Numeric && c.Unit == "" {
			l.Notes = append(l.Notes, fmt.Sprintf("no unit recognised in %q", c.Name))
		}
	}
	return l, nil
}

// findTime picks the first column that holds time stamps, else the first of
// rising numbers whose name speaks of time, else the first of rising numbers.
func (l *Layout) findTime(body [][]string) error {
	for j := range l.Columns {
		for _, f := range forms {
			if !all(body, j, func(v string) bool { _, err := time.Parse(f, v); return err == nil }) {
				continue
			}
			l.Time, l.TimeForm = j, f
			if strings.HasPrefix(f, "1/2/") && all(body, j, func(v string) bool { _, err := time.Parse("2/1/"+f[4:], v); return err == nil }) {
				l.Notes = append(l.Notes, "the date could be month/day or day/month; read as month/day")
			}
			if !strings.Contains(f, "2006") {
				l.Notes = append(l.Notes, "time of day without a date; a step back is read as the next day")
			}
			l.Columns[j].Numeric = false
			return nil
		}
	}
	pick := -1
	for j, c := range l.Columns {
		last := math.Inf(-1)
		rising := c.Numeric && all(body, j, func(v string) bool {
			x, ok := number(v, l.DecimalComma)
			ok = ok && x >= last
			last = x
			return ok
		})
		name := strings.ToLower(c.Name)
		named := strings.Contains(name, "time") || strings.Contains(name, "elapsed") || name == "t" || strings.HasPrefix(name, "sec") || strings.HasPrefix(name, "min")
		if rising && (named || pick < 0) {
			pick = j
			if named {
				break
			}
		}
	}
	if pick < 0 {
		return errors.New("series: no column holds a time stamp or rising seconds")
	}
	l.Time, l.TimeForm = pick, Seconds
	name := strings.ToLower(l.Columns[pick].Name)
	switch {
	case strings.Contains(name, "min"):
		l.TimeForm = Minutes
	case strings.Contains(name, "hour") || strings.HasSuffix(name, "(h)") || strings.HasSuffix(name, "[h]"):
		l.TimeForm = Hours
	}
	l.Notes = append(l.Notes, fmt.Sprintf("%q is read as elapsed time in %s", l.Columns[pick].Name, l.TimeForm))
	return nil
}

func all(body [][]string, j int, ok func(string) bool) bool {
	for _, row := range body {
		if !ok(strings.TrimSpace(row[j])) {
			return false
		}
	}
	return true
}

// decimalComma weighs the cells that only one of the two readings explains.
func decimalComma(body [][]string, delimiter rune) bool {
	comma, point := 0, 0
	for _, row := range body {
		for _, v := range row {
			n, _ := split(v)
			if n == "" {
				continue
			}
			if strings.Count(n, ",") == 1 && strings.LastIndexByte(n, '.') < strings.IndexByte(n, ',') {
				comma++
			}
			if strings.Count(n, ".") == 1 && strings.LastIndexByte(n, ',') < strings.IndexByte(n, '.') {
				point++
			}
		}
	}
	return comma > point
}

// records hands over line by line, each until the next is read, while do wants more.
func records(b []byte, delimiter rune, do func(row []string) (more bool, err error)) error {
	from := &ration{b: b}
	r := csv.NewReader(from)
	r.Comma, r.FieldsPerRecord, r.LazyQuotes, r.TrimLeadingSpace, r.ReuseRecord = delimiter, -1, true, delimiter != '\t', true
	cells := 0
	for lines := 0; ; lines++ {
		from.left = maxRow
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("series: %w", err)
		}
		if cells += len(row); cells > maxCells {
			return fmt.Errorf("series: more than %d cells", maxCells)
		}
		if lines > MaxRows {
			return fmt.Errorf("series: more than %d lines", MaxRows)
		}
		if more, err := do(row); !more || err != nil {
			return err
		}
	}
}

// ration hands out no more than is left: a quote that is never closed is not read to the
// end of the file, once for every delimiter.
type ration struct {
	b    []byte
	left int
}

func (r *ration) Read(p []byte) (int, error) {
	if len(r.b) == 0 {
		return 0, io.EOF
	}
	if r.left == 0 {
		return 0, fmt.Errorf("more than %d bytes until a quote is closed", maxRow)
	}
	n := copy(p[:min(len(p), r.left)], r.b)
	r.b, r.left = r.b[n:], r.left-n
	return n, nil
}

// sized refuses what has more lines, or a longer one, than a log has: before it is read,
// for every delimiter would be tried on it.
func sized(b []byte) error {
	for n := 1; ; n++ {
		i := bytes.IndexByte(b, '\n')
		switch {
		case i > maxLine || i < 0 && len(b) > maxLine:
			return fmt.Errorf("series: line %d is longer than %d bytes", n, maxLine)
		case n > maxLines && len(b) > 0:
			return fmt.Errorf("series: more than %d lines, blank ones counted; allowed are %d with readings", maxLines, MaxRows)
		case i < 0:
			return nil
		}
		b = b[i+1:]
	}
}

// clean is the text in UTF-8, without a mark at its beginning. Some loggers write
// UTF-16; they say so by that mark.
func clean(b []byte) []byte {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(b, []byte{0xff, 0xfe}):
		order = binary.LittleEndian
	case bytes.HasPrefix(b, []byte{0xfe, 0xff}):
		order = binary.BigEndian
	default:
		return bytes.TrimPrefix(b, []byte("\ufeff"))
	}
	out := make([]byte, 0, len(b))
	for b = b[2:]; len(b) >= 2; b = b[2:] {
		r := rune(order.Uint16(b))
		if utf16.IsSurrogate(r) && len(b) >= 4 {
			if pair := utf16.DecodeRune(r, rune(order.Uint16(b[2:]))); pair != unicode.ReplacementChar {
				r, b = pair, b[2:]
			}
		}
		out = utf8.AppendRune(out, r)
	}
	if len(b) == 1 {
		return append(out, 0) // cut in the middle of a letter: no text
	}
	return out
}

// blank tells the marks by which loggers say that there was no reading.
func blank(v string) bool {
	if v != "" && '0' <= v[0] && v[0] <= '9' {
		return false
	}
	switch strings.ToLower(strings.TrimSpace(v)) {
	case "", "-", "--", "---", "na", "n/a", "nan", "null", "ol", "open":
		return true
	}
	return false
}

// split parts a cell such as "72.3 F" into its number and what follows.
func split(v string) (num, suffix string) {
	v = strings.TrimSpace(v)
	i := 0
	for i < len(v) && strings.IndexByte("+-0123456789.,", v[i]) >= 0 {
		i++
	}
	if i+1 < len(v) && (v[i] == 'e' || v[i] == 'E') {
		j := i + 1
		if v[j] == '+' || v[j] == '-' {
			j++
		}
		if j < len(v) && '0' <= v[j] && v[j] <= '9' {
			for j < len(v) && '0' <= v[j] && v[j] <= '9' {
				j++
			}
			i = j
		}
	}
	return v[:i], strings.TrimSpace(v[i:])
}

// number reads a cell. Where both signs occur the other one groups thousands; a
// suffix must not itself look like a number or a date.
func number(v string, comma bool) (float64, bool) {
	if x, ok := plain(v, comma); ok {
		return x, true
	}
	n, suffix := split(v)
	if n == "" || strings.ContainsAny(suffix, "0123456789:/") && suffix != "m3/h" {
		return 0, false
	}
	group, dec := ",", "."
	if comma {
		group, dec = ".", ","
	}
	if strings.Count(n, dec) > 1 || strings.Contains(n, dec) && strings.LastIndex(n, group) > strings.Index(n, dec) {
		return 0, false
	}
	if strings.Contains(n, group) {
		whole, _, _ := strings.Cut(n, dec)
		for i, g := range strings.Split(strings.TrimLeft(whole, "+-"), group) {
			if i == 0 && (len(g) < 1 || len(g) > 3) || i > 0 && len(g) != 3 {
				return 0, false
			}
		}
		n = strings.ReplaceAll(n, group, "")
	}
	x, err := strconv.ParseFloat(strings.Replace(n, dec, ".", 1), 64)
	return x, err == nil && math.Abs(x) < 1e15 // sums of squares of readings must stay finite
}

// plain reads what nearly every cell is: a sign, up to 15 figures and one decimal sign.
// They are whole as a float64, and so is the power of ten, so that the one division rounds
// as ParseFloat does.
func plain(v string, comma bool) (float64, bool) {
	dec, i := byte('.'), 0
	if comma {
		dec = ','
	}
	if v != "" && v[0] == '-' {
		i = 1
	}
	if len(v)-i < 1 || len(v)-i > 15 || v[i] == dec {
		return 0, false
	}
	x, below := 0.0, 0
	for ; i < len(v); i++ {
		switch c := v[i]; {
		case '0' <= c && c <= '9':
			x = 10*x + float64(c-'0')
			if below > 0 {
				below++
			}
		case c == dec && below == 0:
			below = 1
		default:
			return 0, false
		}
	}
	if below > 1 {
		x /= tens[below-1]
	}
	if v[0] == '-' {
		x = -x
	}
	return x, true
}

var tens = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// unitOf looks for a unit in a column's name, from its end: "Suction (psig)",
// "liquid line [°F]", "T return, degC", "volts".
func unitOf(name string) (string, units.Dimension) {
	words := strings.FieldsFunc(name, func(r rune) bool {
		return unicode.IsSpace(r) || strings.ContainsRune("()[]{},;_", r)
	})
	for i := len(words) - 1; i >= 0; i-- {
		w := strings.ToLower(strings.NewReplacer("°", "", "º", "", "degrees", "", "deg", "").Replace(words[i]))
		if a, ok := alias[w]; ok {
			w = a
		}
		for _, d := range []units.Dimension{units.Temperature, units.Pressure, units.Vacuum, units.Barometric, units.Voltage, units.Current, units.Power, units.Airflow, units.Capacity, units.MassFlow, units.Percent, units.Frequency} {
			for _, u := range units.Of(d) {
				if strings.ToLower(u.Name) == w {
					return u.Name, d
				}
			}
		}
	}
	return "", ""
}

// alias maps spellings of loggers, lower case, to the names of thermo/units. A
// plain psi is taken for gauge, as nearly every refrigeration gauge reads.
var alias = map[string]string{
	"fahrenheit": "f", "celsius": "c", "kelvin": "k", "psi": "psig", "microns": "micron",
	"volt": "v", "volts": "v", "vac": "v", "amp": "a", "amps": "a", "ampere": "a", "watt": "w", "watts": "w", "rh": "%", "%rh": "%",
}
