package units

import (
	"errors"
	"strconv"
	"strings"
)

// parseDecimal is strconv.ParseFloat without the forms nobody types on a
// keypad: hexadecimal, underscores, infinities and not-a-number.
func parseDecimal(t string) (float64, error) {
	if strings.Trim(t, "0123456789.+-eE") != "" {
		return 0, errors.New("not decimal")
	}
	return strconv.ParseFloat(t, 64)
}
