package assess

import (
	"bufio"
	"fmt"
	"strings"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
	"retrostage/thermo/units"
	"retrostage/thermo/vacuum"
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

// The two constants fitted to the rise readings, as readings of their own.
var (
	riseLeak = input{name: "vacuum_rise/leak", take: func(c *context) *reading {
		return c.rise("vacuum_rise/leak", func(f vacuum.Rise) (x, u float64) { return f.Slope * riseOver, f.USlope * riseOver })
	}, missing: record.VacuumRise.Label()}
	riseMoisture = input{name: "vacuum_rise/moisture", take: func(c *context) *reading {
		return c.rise("vacuum_rise/moisture", func(f vacuum.Rise) (x, u float64) { return f.Gain, f.UGain })
	}, missing: record.VacuumRise.Label()}
)

const riseOver = 600.0 // s, for which a leak's part is told

// rise is a constant of the fit to the rise readings; nil while there are none.
func (c *context) rise(key string, constant func(vacuum.Rise) (x, u float64)) *reading {
	text := c.job.Text(record.VacuumRise)
	if text == "" {
		return nil
	}
	r := &reading{key: key, label: "Rise readings", unit: units.Preferred(units.Vacuum, units.IP)}
	t, p, err := riseReadings(text)
	var fit vacuum.Rise
	if err == nil {
		fit, err = c.fit(t, p)
	}
	if err != nil {
		r.err = err
		return r
	}
	r.si, r.u = constant(fit)
	q := c.lim.Rise
	r.doubt = fmt.Sprintf("fit of %d readings, each repeatable to %g %s and %g %%; the shape they show: %s", fit.N, q.Plus, q.Unit, q.Percent, fit.Form)
	return r
}

// riseCurve is the fit for the picture, nil where there is none.
func (c *context) riseCurve() *Rise {
	r := c.input(riseLeak)
	if r == nil || r.err != nil {
		return nil
	}
	t, p, err := riseReadings(c.job.Text(record.VacuumRise))
	if err != nil {
		return nil
	}
	f, err := c.fit(t, p)
	if err != nil {
		return nil
	}
	return &Rise{Form: f.Form.String(), Seconds: t, P: p, Start: f.Start, Slope: f.Slope, Gain: f.Gain, Tau: f.Tau}
}

func (c *context) fit(t, p []float64) (vacuum.Rise, error) {
	return remember(c, memoKey{kind: memoRise}, func() (vacuum.Rise, error) {
		q := c.lim.Rise
		u, err := units.Lookup(units.Vacuum, q.Unit)
		if err != nil {
			return vacuum.Rise{}, err
		}
		return vacuum.Fit(t, p, u.SpanSI(q.Plus), q.Percent/100)
	})
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
			if x[i], err = units.Number(strings.Trim(w, ", ")); err != nil {
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
