package sheetfile

import (
	"strconv"
	"strings"
)

// Tokens writes a formula in one way, whatever program wrote it: no spaces
// between tokens, capitals outside texts, numbers by value, names of sheets
// without quotes.
func Tokens(formula string) string {
	var out strings.Builder
	s := formula
	for len(s) > 0 {
		switch c := s[0]; {
		case c == '"' || c == '\'':
			n := quoted(s)
			t := s[:n]
			if c == '\'' {
				t = strings.ToUpper(strings.ReplaceAll(strings.Trim(t, "'"), "''", "'"))
			}
			out.WriteString(t)
			s = s[n:]
		case c == ' ' || c == '\n' || c == '\r' || c == '\t':
			s = s[1:]
		case c >= '0' && c <= '9' || c == '.':
			n := digits(s)
			if x, err := strconv.ParseFloat(s[:n], 64); err == nil {
				out.WriteString(strconv.FormatFloat(x, 'g', 12, 64))
			} else {
				out.WriteString(s[:n])
			}
			s = s[n:]
		case c == '$' || c == '_' || c == '\\' || c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' || c >= 0x80:
			n := 1
			for n < len(s) && (s[n] == '$' || s[n] == '_' || s[n] == '.' || s[n] >= '0' && s[n] <= '9' || s[n] >= 'A' && s[n] <= 'Z' || s[n] >= 'a' && s[n] <= 'z' || s[n] >= 0x80) {
				n++
			}
			out.WriteString(strings.TrimPrefix(strings.ToUpper(s[:n]), "_XLFN."))
			s = s[n:]
		default:
			out.WriteByte(c)
			s = s[1:]
		}
	}
	return out.String()
}

// quoted is the length of the quoted text that s begins with; a doubled quote is
// part of it.
func quoted(s string) int {
	for i := 1; i < len(s); i++ {
		if s[i] != s[0] {
			continue
		}
		if i+1 < len(s) && s[i+1] == s[0] {
			i++
			continue
		}
		return i + 1
	}
	return len(s)
}

// digits is the length of the number that s begins with.
func digits(s string) int {
	n := 0
	for n < len(s) && (s[n] >= '0' && s[n] <= '9' || s[n] == '.') {
		n++
	}
	if n < len(s) && (s[n] == 'E' || s[n] == 'e') {
		k := n + 1
		if k < len(s) && (s[k] == '+' || s[k] == '-') {
			k++
		}
		d := k
		for k < len(s) && s[k] >= '0' && s[k] <= '9' {
			k++
		}
		if k > d {
			return k
		}
	}
	return n
}

// numberFormat writes the code of a number format in one way: what is printed as
// it stands is put into quotes, character by character, whichever way the
// program marked it.
func numberFormat(code string) string {
	var out strings.Builder
	lit := func(r rune) { out.WriteString(`"` + string(r) + `"`) }
	quoted, marked := false, false
	for _, r := range code {
		switch {
		case marked:
			marked = false
			lit(r)
		case r == '"':
			quoted = !quoted
		case quoted, strings.ContainsRune(" -/:+()$", r):
			lit(r)
		case r == '\\':
			marked = true
		default:
			out.WriteRune(r)
		}
	}
	s := out.String()
	if strings.EqualFold(s, "general") {
		return "General"
	}
	return s
}
