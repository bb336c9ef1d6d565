// Package locale keeps the window toolkit from complaining, on standard error
// and at every verb, of a locale that is no language: LANG=C.UTF-8, the usual
// one of a server or a container, is not a tag it can parse.
//
// The toolkit reads the environment while its packages are initialised, so
// this one must come before. Go initialises, of the packages whose imports are
// ready, the one first by path (specification, "Program initialization"). This
// package needs os alone, the toolkit's needs text/template, which needs os
// too and comes after any path of this module. So import nothing else here.
package locale

import "os"

func init() {
	if !Understood(os.Getenv) {
		// Unlike LC_ALL or LANG it is read for translations alone: the
		// encoding that the C library sees stays as it was.
		os.Setenv("LANGUAGE", "en")
	}
}

// Understood tells whether every language that the environment names (POSIX
// LC_ALL, LC_MESSAGES and LANG; GNU gettext's LANGUAGE) is one: letters, maybe
// with a territory. C and POSIX alone ask for none, and pass.
func Understood(getenv func(string) string) bool {
	names := ""
	for _, v := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
		if names = getenv(v); names != "" {
			break
		}
	}
	if names == "C" || names == "POSIX" {
		return true
	}
	if l := getenv("LANGUAGE"); l != "" {
		names = l
	}
	if names == "" {
		return true
	}
	for {
		one, rest, more := cut(names, ":")
		if !language(one) {
			return false
		}
		if !more {
			return true
		}
		names = rest
	}
}

// language tells whether s reads like de, de_AT, de_AT.UTF-8 or ca_ES@valencia.
func language(s string) bool {
	s, _, _ = cut(s, ".@")
	lang, territory, has := cut(s, "_-")
	if len(lang) < 2 || len(lang) > 3 || !all(lang, letter) {
		return false
	}
	return !has || len(territory) == 2 && all(territory, letter) || len(territory) == 3 && all(territory, digit)
}

// cut splits s at the first of the characters. Package strings would do, but
// its path is none of those that are known to be ready in time.
func cut(s, chars string) (before, after string, found bool) {
	for i := range len(s) {
		for j := range len(chars) {
			if s[i] == chars[j] {
				return s[:i], s[i+1:], true
			}
		}
	}
	return s, "", false
}

func all(s string, is func(byte) bool) bool {
	for i := range len(s) {
		if !is(s[i]) {
			return false
		}
	}
	return true
}

func letter(b byte) bool { return 'a' <= b|0x20 && b|0x20 <= 'z' }
func digit(b byte) bool  { return '0' <= b && b <= '9' }
