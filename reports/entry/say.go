package entry

import (
	"math"
	"strconv"
	"strings"
)

// Number writes x as a person would: thousands in groups, no exponent, up to four
// significant digits behind the point, no zeros at the end.
func Number(x float64) string {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return strconv.FormatFloat(x+0, 'f', -1, 64)
	}
	digits := max(0, 3-int(math.Floor(math.Log10(math.Abs(x)))))
	s := strconv.FormatFloat(x, 'f', min(digits, 9), 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	sign := ""
	if strings.HasPrefix(s, "-") {
		sign, s = "-", s[1:]
	}
	whole, frac, point := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if point {
		frac = "." + frac
	}
	if sign+whole+frac == "-0" {
		return "0"
	}
	return sign + whole + frac
}
