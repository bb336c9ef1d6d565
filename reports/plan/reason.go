package plan

import (
	"unicode"

	"retrostage/wiring/planner"
)

// leastReason is the planner's own rule, kept here so that a reason can be mended
// where it is typed.
const leastReason = 12

// Reason tells whether text will do as the reason for leaving out a safety;
// planner.ErrReason if it has too few letters.
func Reason(text string) error {
	n := 0
	for _, r := range text {
		if unicode.IsLetter(r) {
			n++
		}
	}
	if n < leastReason {
		return planner.ErrReason
	}
	return nil
}
