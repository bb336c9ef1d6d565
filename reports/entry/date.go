package entry

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// A DateAmbiguity is a date whose day and month can be exchanged.
type DateAmbiguity struct {
	Typed    string
	Readings []string // ISO 8601
}

func (a *DateAmbiguity) Error() string {
	var s []string
	for _, r := range a.Readings {
		s = append(s, SayDate(r))
	}
	return fmt.Sprintf("%q can be %s: choose one", a.Typed, strings.Join(s, " or "))
}

// SayDate writes an ISO 8601 date of any precision in words.
func SayDate(iso string) string {
	for in, out := range map[string]string{"2006-01-02": "2 January 2006", "2006-01": "January 2006"} {
		if t, err := time.Parse(in, iso); err == nil {
			return t.Format(out)
		}
	}
	return iso
}

// Date reads a date as far as it is known: 2008, 2008-06 or June 2008, 2008-06-15,
// 6/15/2008, 15 Jun 2008, today. It is kept in ISO 8601 to the precision typed.
// now is the day that "today" means.
func Date(text string, now time.Time) (string, error) {
	t := strings.ToLower(normal(text))
	if t == "today" {
		return now.Format(time.DateOnly), nil
	}
	const wants = "a date like 2026-08-14, June 2008, or a year"
	if len(t) > maxLen {
		return "", errors.New("longer than a date can be; it takes " + wants)
	}
	f := strings.FieldsFunc(t, func(r rune) bool { return strings.ContainsRune(" ,./-", r) })
	var found []string
	// What is not known is -1.
	add := func(y, m, d int) {
		s, form := fmt.Sprintf("%04d", y), "2006"
		if m >= 0 {
			s, form = s+fmt.Sprintf("-%02d", m), "2006-01"
		}
		if d >= 0 {
			s, form = s+fmt.Sprintf("-%02d", d), time.DateOnly
		}
		if _, err := time.Parse(form, s); err != nil || y < 1900 || y > now.Year()+50 {
			return
		}
		if !slices.Contains(found, s) {
			found = append(found, s)
		}
	}
	n := make([]int, len(f))
	word := -1
	for i, w := range f {
		if m := month(w); m > 0 {
			n[i], word = m, i
			continue
		}
		v, err := strconv.ParseUint(strings.TrimSuffix(strings.TrimSuffix(w, "th"), "st"), 10, 16)
		if err != nil {
			return "", fmt.Errorf("%q is not a date; it takes %s", text, wants)
		}
		n[i] = int(v)
	}
	long := func(i int) bool { return len(f[i]) == 4 }
	switch {
	case len(f) == 1 && long(0) && word < 0:
		add(n[0], -1, -1)
	case len(f) == 2 && long(1):
		add(n[1], n[0], -1)
	case len(f) == 2 && long(0):
		add(n[0], n[1], -1)
	case len(f) == 3 && long(0):
		add(n[0], n[1], n[2])
	case len(f) == 3 && long(2) && word >= 0 && word < 2:
		add(n[2], n[word], n[1-word])
	case len(f) == 3 && long(2) && word < 0:
		add(n[2], n[0], n[1]) // month first
		add(n[2], n[1], n[0]) // day first
	}
	switch len(found) {
	case 0:
		return "", fmt.Errorf("%q is not a date; it takes %s", text, wants)
	case 1:
		return found[0], nil
	}
	return "", &DateAmbiguity{text, found}
}

// month of a word of three letters or more, 0 if it is none.
func month(w string) int {
	for m := time.January; m <= time.December; m++ {
		if len(w) >= 3 && strings.HasPrefix(strings.ToLower(m.String()), w) || w == "sept" && m == time.September {
			return int(m)
		}
	}
	return 0
}
