package fluid

import (
	"math"
	"testing"
)

// The dome's sides are the saturation lines, rise in pressure and close towards
// the critical point; ties have their ends on them.
func TestDomeIsTheSaturationLines(t *testing.T) {
	for _, name := range []string{"R-22", "R-410A", "R-454B"} {
		d, err := DomeOf(name)
		if err != nil {
			t.Fatal(err)
		}
		f, err := Get(name)
		if err != nil {
			t.Fatal(err)
		}
		n := len(d.Bubble.P)
		for i := 1; i < n; i++ {
			if d.Bubble.P[i] <= d.Bubble.P[i-1] || d.Dew.P[i] <= d.Dew.P[i-1] {
				t.Errorf("%s: the lines do not rise at point %d", name, i)
			}
		}
		if first, last := d.Dew.H[0]-d.Bubble.H[0], d.Dew.H[n-1]-d.Bubble.H[n-1]; last > first/4 {
			t.Errorf("%s: the sides are %g J/kg apart at the bottom and %g at the top", name, first, last)
		}
		ts := f.Isotherms(273.15, 20)
		if len(ts) < 4 {
			t.Errorf("%s: %d isotherms", name, len(ts))
		}
		for _, q := range ts {
			if math.Abs(math.Remainder(q.T[0]-273.15, 20)) > 1e-9 || q.H[1] <= q.H[0] || q.P[0] < q.P[1]*(1-1e-9) {
				t.Errorf("%s: isotherm %+v", name, q)
			}
		}
		q, err := f.Isobar(1e6)
		if err != nil || q.T[1] < q.T[0]-1e-6 || q.H[1] <= q.H[0] {
			t.Errorf("%s: isobar %+v, %v", name, q, err)
		}
	}
	if _, err := DomeOf("R-0"); err == nil {
		t.Error("a dome of a refrigerant that is not there")
	}
	f, _ := Get("R-22")
	if f.Isotherms(0, 0) != nil || f.Isotherms(0, math.NaN()) != nil {
		t.Error("isotherms without a step")
	}
	if _, err := f.Isobar(1e9); err == nil {
		t.Error("a tie above the critical pressure")
	}
}
