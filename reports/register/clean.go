package register

import "strings"

// Clean takes from a text what turns the direction of writing: a name that reads
// backwards names another (Unicode Standard Annex 9, the explicit controls, from
// memory). What was there is shown as a mark.
func Clean(s string) string {
	if !strings.ContainsFunc(s, turns) {
		return s
	}
	return strings.Map(func(r rune) rune {
		if turns(r) {
			return '\uFFFD'
		}
		return r
	}, s)
}

func turns(r rune) bool {
	return r >= '\u202A' && r <= '\u202E' || r >= '\u2066' && r <= '\u2069' || r == '\u200E' || r == '\u200F' || r == '\u061C'
}
