package workbook

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// triggers open text that one spreadsheet program or another takes for a
// formula, the full-width forms included. The apostrophe is listed so that
// Unguard can tell a guard from text.
const triggers = "=+-@\t\r\n'＝＋－＠"

// Guard returns text that no spreadsheet program takes for a formula, whether
// it stands in a cell, is edited there or passes through CSV. Unguard is its
// inverse, up to control characters, which become spaces, and line ends, which
// become line feeds.
func Guard(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return r
		case r == unicode.ReplacementChar, unicode.IsControl(r), r == '\uFFFE', r == '\uFFFF':
			return ' '
		}
		return r
	}, strings.ReplaceAll(s, "\r\n", "\n"))
	if triggered(s) {
		return "'" + s
	}
	return s
}

func triggered(s string) bool {
	r, n := utf8.DecodeRuneInString(s)
	return n > 0 && strings.ContainsRune(triggers, r) && !numerals(s)
}

// numerals tells a text that is numbers alone, such as the coefficients of a map: no
// program makes of it more than it says.
func numerals(s string) bool {
	if strings.ContainsAny(s, "\t\r\n") {
		return false
	}
	for _, w := range strings.Fields(s) {
		if strings.ContainsAny(w, "xXpP_nN") { // hexadecimal, NaN, infinite
			return false
		}
		if _, err := strconv.ParseFloat(w, 64); err != nil {
			return false
		}
	}
	return true
}

// Unguard takes off what Guard put on.
func Unguard(s string) string {
	if rest, ok := strings.CutPrefix(s, "'"); ok && triggered(rest) {
		return rest
	}
	return s
}
