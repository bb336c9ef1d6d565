package entry

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"retrostage/thermo/units"
)

// A Spec is what a field takes: numbers of a dimension, in a unit of it where none
// is typed, between Min and Max in that unit. Span allows a range such as the
// 208-230 of a plate; where Ends is set instead, it is asked which of its ends is
// meant.
type Spec struct {
	Dim      units.Dimension
	Unit     string
	Min, Max float64
	Span     bool
	Ends     bool
}

// Ends parts the text of a range as the record keeps it; a single number is both its
// ends.
func Ends(text string) (lo, hi float64, err error) {
	a, b, ranged := strings.Cut(text, "-")
	if !ranged || a == "" {
		lo, err = units.Number(text)
		return lo, lo, err
	}
	if lo, err = units.Number(a); err == nil {
		hi, err = units.Number(b)
	}
	if err == nil && !(lo < hi) {
		err = fmt.Errorf("%q is no range from a lower to a higher number", text)
	}
	return lo, hi, err
}

// A Value is one understood entry: a number in the named unit of its dimension, or
// the range X to High where High is not X.
type Value struct {
	X, High float64
	Unit    string
}

// Ranged tells whether the value is a range.
func (v Value) Ranged() bool { return v.High != v.X }

// Text is the value as the record keeps it: plain decimals, "208-230" for a range.
func (v Value) Text() string {
	s := strconv.FormatFloat(v.X, 'f', -1, 64)
	if v.Ranged() {
		s += "-" + strconv.FormatFloat(v.High, 'f', -1, 64)
	}
	return s
}

// An Ambiguity is an entry that can be meant in more than one way, each of them
// possible in its field. The person has to choose.
type Ambiguity struct {
	Typed    string
	Readings []Value
	dim      units.Dimension
}

func (a *Ambiguity) Error() string {
	var s []string
	for _, v := range a.Readings {
		s = append(s, a.Say(v))
	}
	return fmt.Sprintf("%q can be read as %s: choose one", a.Typed, strings.Join(s, " or as "))
}

// Say writes one reading with its unit, for a key to choose it by.
func (a *Ambiguity) Say(v Value) string { return Say(v, a.dim) }

// Say writes a value as a person would.
func Say(v Value, dim units.Dimension) string {
	s := Number(v.X)
	if v.Ranged() {
		s += " to " + Number(v.High)
	}
	return strings.TrimSpace(s + " " + label(dim, v.Unit))
}

func label(dim units.Dimension, unit string) string {
	u, err := units.Lookup(dim, unit)
	if err != nil {
		return unit
	}
	return u.Label
}

// The longest entry looked at; a number needs less.
const maxLen = 64

// Read understands text for the field that spec describes. unit is the unit shown
// beside the field, "" for the field's own; a unit typed with the number outranks
// it. The error is an *Ambiguity, or says why the text does not fit and what would.
func Read(text string, spec Spec, unit string) (Value, error) {
	if unit == "" {
		unit = spec.Unit
	}
	if _, err := units.Lookup(spec.Dim, unit); err != nil {
		return Value{}, err
	}
	if len(text) > maxLen || !utf8.ValidString(text) {
		return Value{}, fmt.Errorf("longer than a number can be; %s", spec.fits(unit))
	}
	t := normal(text)
	if spec.Dim == units.Insulation { // a meter at the end of its scale; what it is at least is judged from below
		t = strings.TrimSpace(strings.TrimPrefix(t, ">"))
	}
	if t == "" {
		return Value{}, errors.New("no number typed")
	}
	all, err := readings(t, spec, unit)
	if err != nil {
		return Value{}, fmt.Errorf("%q %w; %s", text, err, spec.fits(unit))
	}
	var fit []Value
	for _, v := range all {
		if spec.holds(v) && !slices.Contains(fit, v) {
			fit = append(fit, v)
		}
	}
	if spec.Dim == units.Money && len(fit) == 2 && strings.Count(t, ",") == 1 && fit[1].X == 1000*fit[0].X {
		fit = fit[1:] // money is written with two decimals at most: three digits behind a comma are thousands
	}
	switch len(fit) {
	case 1:
		return fit[0], nil
	case 0:
		var s []string
		for _, v := range all {
			if w := Say(v, spec.Dim); !slices.Contains(s, w) {
				s = append(s, w)
			}
		}
		return Value{}, fmt.Errorf("%s is outside; %s", strings.Join(s, " or "), spec.fits(all[0].Unit))
	}
	return Value{}, &Ambiguity{text, fit, spec.Dim}
}

// holds tells whether v lies in the range of the field. A nominal atmosphere is
// near enough to catch a slip of the finger; it cancels where the unit typed is the
// field's own.
func (s Spec) holds(v Value) bool {
	const atm = 101325
	own, err1 := units.Lookup(s.Dim, s.Unit)
	u, err2 := units.Lookup(s.Dim, v.Unit)
	if err1 != nil || err2 != nil {
		return false
	}
	for _, x := range []float64{v.X, v.High} {
		y := own.FromSI(u.ToSI(x, atm), atm)
		if !(y >= s.Min-1e-9*math.Abs(s.Min) && y <= s.Max+1e-9*math.Abs(s.Max)) {
			return false
		}
	}
	return true
}

// Fits tells whether v lies in the range of the field; the error says what would.
func (s Spec) Fits(v Value) error {
	if s.holds(v) {
		return nil
	}
	return fmt.Errorf("%s is outside; %s", Say(v, s.Dim), s.fits(v.Unit))
}

// fits says what the field takes, in the unit at hand.
func (s Spec) fits(unit string) string {
	const atm = 101325
	own, err1 := units.Lookup(s.Dim, s.Unit)
	u, err2 := units.Lookup(s.Dim, unit)
	if err1 != nil || err2 != nil {
		return ""
	}
	lo, hi := u.FromSI(own.ToSI(s.Min, atm), atm), u.FromSI(own.ToSI(s.Max, atm), atm)
	return strings.TrimSpace(fmt.Sprintf("it takes %s to %s %s", Number(lo), Number(hi), u.Label))
}

// normal folds the many forms of spaces, dashes, primes and fractions into ASCII.
func normal(text string) string {
	var b strings.Builder
	for _, r := range strings.TrimSpace(text) {
		switch {
		case unicode.IsSpace(r), r == '\u202f', r == '\u2009':
			b.WriteByte(' ')
		case r == '\u2212', r == '\u2013', r == '\u2014', r == '\u2010', r == '\u2011':
			b.WriteByte('-')
		case r == '\u2044', r == '\u2215':
			b.WriteByte('/')
		case r == '\u2033', r == '\u201d':
			b.WriteByte('"')
		case r == '\u2032', r == '\u2019':
			b.WriteByte('\'')
		case vulgar[r] != "":
			b.WriteString(" " + vulgar[r])
		default:
			b.WriteRune(r)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

var vulgar = map[rune]string{'½': "1/2", '¼': "1/4", '¾': "3/4", '⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8"}

// readings lists every way to read a normal text.
func readings(t string, spec Spec, unit string) ([]Value, error) {
	if spec.Dim == units.Money {
		t = coin(t)
	}
	if vs, ok := mixed(t, spec.Dim); ok {
		return vs, nil
	}
	num, mark := splitUnit(strings.ReplaceAll(t, " to ", "-"))
	if !strings.ContainsAny(num, "0123456789") {
		return nil, errNotNumber
	}
	if spec.Dim == units.Pressure && slices.Contains(vacuumSide, fold(mark)) {
		return vacuumGauge(num)
	}
	us := []string{unit}
	if mark != "" {
		if us = named(spec.Dim, mark, unit); us == nil {
			return nil, fmt.Errorf("is not a number with a unit of %s", spec.Dim)
		}
	}
	xs, err := span(num)
	if err != nil {
		return nil, err
	}
	ranged := slices.ContainsFunc(xs, func(x [2]float64) bool { return x[0] != x[1] })
	if ranged && spec.Ends {
		var ends [][2]float64
		for _, x := range xs {
			ends = append(ends, [2]float64{x[0], x[0]}, [2]float64{x[1], x[1]})
		}
		xs = ends
	} else if ranged && !spec.Span {
		return nil, errors.New("is a range, and one number is wanted")
	}
	var out []Value
	for _, x := range xs {
		for _, u := range us {
			out = append(out, Value{x[0], x[1], u})
		}
	}
	return out, nil
}

// groups tells whether an apostrophe parts groups of three digits, as in 33'500.
func groups(t string) bool {
	n := len(t) - 1 - len(strings.TrimLeft(t[1:], "0123456789"))
	return n == 3
}

// splitUnit parts the number from what follows it.
func splitUnit(t string) (num, mark string) {
	i := strings.LastIndexAny(t, "0123456789") + 1
	// A unit may hold a digit (m3/h, in3, ft3): it starts at the first letter that
	// is no exponent's.
	for k, r := range t {
		if (unicode.IsLetter(r) || strings.ContainsRune(`"'%°#`, r)) && !isExponent(t, k) && !(r == '\'' && k+1 < len(t) && digit(t[k+1]) && groups(t[k:])) {
			i = k
			break
		}
	}
	num, mark = strings.TrimSpace(t[:i]), strings.TrimSpace(t[i:])
	return num, mark
}

// isExponent tells whether the letter at k is the e of 1e5: between digits, or a
// digit and a signed digit.
func isExponent(t string, k int) bool {
	if (t[k] != 'e' && t[k] != 'E') || k == 0 || !digit(t[k-1]) || k+1 >= len(t) {
		return false
	}
	n := k + 1
	if t[n] == '-' || t[n] == '+' {
		n++
	}
	return n < len(t) && digit(t[n])
}

func digit(b byte) bool { return b >= '0' && b <= '9' }

// span reads one number, or two with a dash, a slash or "to" between them.
func span(t string) ([][2]float64, error) {
	if xs, err := one(t); err == nil {
		var out [][2]float64
		for _, x := range xs {
			out = append(out, [2]float64{x, x})
		}
		return out, nil
	}
	for _, sep := range []string{" - ", "-", "/"} {
		i := strings.Index(t[min(1, len(t)):], sep) // a sign in front is no dash
		if i < 0 {
			continue
		}
		a, err1 := one(strings.TrimSpace(t[:i+1]))
		b, err2 := one(strings.TrimSpace(t[i+1+len(sep):]))
		if err1 != nil || err2 != nil {
			continue
		}
		var out [][2]float64
		for _, x := range a {
			for _, y := range b {
				if x < y {
					out = append(out, [2]float64{x, y})
				}
			}
		}
		if out == nil {
			return nil, errors.New("is a range whose second number is not the larger one")
		}
		return out, nil
	}
	_, err := one(t)
	return nil, err
}

var errNotNumber = errors.New("is not a number")

// one lists the ways to read a single number: a fraction in one way only, a lone
// comma or point before three digits in two.
func one(t string) ([]float64, error) {
	if x, ok := fraction(t); ok {
		return []float64{x}, nil
	}
	sign := 1.0
	if rest, ok := strings.CutPrefix(t, "-"); ok {
		sign, t = -1, strings.TrimSpace(rest)
	} else {
		t = strings.TrimPrefix(t, "+")
	}
	mant, exp := t, ""
	for k := range t {
		if isExponent(t, k) {
			mant, exp = t[:k], t[k:]
			break
		}
	}
	forms := plain(mant)
	if exp != "" && len(forms) > 1 {
		forms = forms[:1] // nobody groups digits before an exponent
	}
	if forms == nil {
		return nil, errNotNumber
	}
	var out []float64
	for _, f := range forms {
		x, err := strconv.ParseFloat(f+exp, 64)
		if err != nil || math.IsInf(x, 0) || math.Abs(x) > 1e15 {
			return nil, errors.New("is too large")
		}
		if x *= sign; x == 0 {
			x = 0 // no negative zero
		}
		out = append(out, x)
	}
	return out, nil
}

// plain rewrites digits with separators into the decimal forms they may mean.
func plain(m string) []string {
	if m == "" || !digit(m[len(m)-1]) && !strings.HasSuffix(m, ".") || strings.Trim(m, "0123456789.,' ") != "" {
		return nil
	}
	if !strings.ContainsAny(m, "0123456789") {
		return nil
	}
	if strings.ContainsAny(m, " '") { // 33 500 or 33'500, with or without decimals
		whole, frac := m, ""
		if i := strings.LastIndexAny(m, ".,"); i >= 0 {
			whole, frac = m[:i], "."+m[i+1:]
		}
		for _, sep := range []string{" ", "'"} {
			if g := grouped(whole, sep); g != "" && strings.Trim(frac, "0123456789.") == "" {
				return []string{g + frac}
			}
		}
		return nil
	}
	dots, commas := strings.Count(m, "."), strings.Count(m, ",")
	switch {
	case dots == 0 && commas == 0:
		return []string{m}
	case dots > 0 && commas > 0: // the last one is the decimal mark, the other groups
		i := strings.LastIndexAny(m, ".,")
		group := map[byte]string{'.': ",", ',': "."}[m[i]]
		if strings.Count(m, m[i:i+1]) != 1 {
			return nil
		}
		if g := grouped(m[:i], group); g != "" {
			return []string{g + "." + m[i+1:]}
		}
		return nil
	}
	sep := "."
	if commas > 0 {
		sep = ","
	}
	var out []string
	if dots+commas == 1 {
		d := strings.Replace(m, sep, ".", 1)
		out = append(out, d)
	}
	if g := grouped(m, sep); g != "" {
		out = append(out, g)
	}
	return out
}

// grouped joins groups of three digits: 1,234,567; "" where they are none. A first
// group of zero is none: 0.125 has one meaning.
func grouped(m, sep string) string {
	parts := strings.Split(m, sep)
	if len(parts) < 2 || len(parts[0]) < 1 || len(parts[0]) > 3 || parts[0][0] == '0' {
		return ""
	}
	for i, p := range parts {
		if i > 0 && len(p) != 3 || strings.Trim(p, "0123456789") != "" {
			return ""
		}
	}
	return strings.Join(parts, "")
}

// fraction reads 3/8, 1 1/8 and 1-1/8: the parts of an inch that a rule has.
func fraction(t string) (float64, bool) {
	sign := 1.0
	if rest, ok := strings.CutPrefix(t, "-"); ok {
		sign, t = -1, rest
	}
	whole, frac := "", t
	if i := strings.LastIndexAny(t, " -"); i > 0 {
		whole, frac = strings.TrimSpace(t[:i]), t[i+1:]
	}
	n, d, ok := strings.Cut(frac, "/")
	if !ok || !slices.Contains([]string{"2", "4", "8", "16", "32", "64"}, d) {
		return 0, false
	}
	top, err1 := strconv.ParseUint(n, 10, 16)
	den, err2 := strconv.ParseUint(d, 10, 16)
	if err1 != nil || err2 != nil || top >= den || top == 0 {
		return 0, false
	}
	x := float64(top) / float64(den)
	if whole != "" {
		w, err := strconv.ParseUint(whole, 10, 16)
		if err != nil {
			return 0, false
		}
		x += float64(w)
	}
	return sign * x, true
}
