package assess

import (
	"bufio"
	"fmt"
	"strings"

	"retrostage/reports/uncertainty"
	"retrostage/thermo/units"
)

// assume is a number of the limits' table as a reading, nil if there is none of
// that name.
func (c *context) assume(name string) *reading {
	for _, a := range c.lim.Assumed {
		if a.Key == name {
			return &reading{key: "assumed/" + name, label: a.Label, si: a.Value, u: uncertainty.Rectangular(a.Plus), doubt: "assumed: " + a.Source, given: true, unit: units.Preferred(units.Ratio, units.IP)}
		}
	}
	return nil
}

// riseReadings reads lines of minutes and microns, apart by comma, semicolon or
// space, into s and Pa.
func riseReadings(text string) (t, p []float64, err error) {
	micron, err := units.Lookup(units.Vacuum, "micron")
	if err != nil {
		return nil, nil, err
	}
	sc := bufio.NewScanner(strings.NewReader(text))
	for n := 1; sc.Scan(); n++ {
		line := strings.TrimSpace(sc.Text())
		if line == "" {
			continue
		}
		words := strings.FieldsFunc(line, func(r rune) bool { return r == ';' || r == ' ' || r == '\t' })
		if len(words) == 1 {
			words = strings.Split(line, ",")
		}
		if len(words) != 2 {
			return nil, nil, fmt.Errorf("rise readings, line %d: %q is not minutes and microns", n, line)
		}
		var x [2]float64
		for i, w := range words {
			if x[i], err = noted(w); err != nil {
				return nil, nil, fmt.Errorf("rise readings, line %d: %w", n, err)
			}
		}
		t, p = append(t, 60*x[0]), append(p, micron.ToSI(x[1], 0))
	}
	return t, p, sc.Err()
}

// memoKey names a computation that several findings share.
type memoKey struct {
	kind    byte
	a, b, c float64
}

const (
	memoRise byte = iota
	memoRate
	memoGas
	memoTrim
	memoFailure
	memoImpossible
	memoBought
)

type remembered[T any] struct {
	v   T
	err error
}

// remember computes once for each key.
func remember[T any](c *context, k memoKey, f func() (T, error)) (T, error) {
	if m, ok := c.memo[k].(remembered[T]); ok {
		return m.v, m.err
	}
	v, err := f()
	c.memo[k] = remembered[T]{v, err}
	return v, err
}

// noted reads a number of a note's line. A comma before just three digits may part
// thousands or decimals, and is asked about.
func noted(w string) (float64, error) {
	w = strings.Trim(w, ", ")
	if i := strings.IndexByte(w, ','); i >= 0 && len(w)-i == 4 && strings.Trim(w[i+1:], "0123456789") == "" {
		return 0, fmt.Errorf("%q can be meant in two ways: write it without the comma, or with a point", w)
	}
	return units.Number(w)
}
