package record

import "testing"

// A part of an accuracy that is zero is no part of its words.
func TestAccuracyInWords(t *testing.T) {
	for _, c := range []struct {
		a    Accuracy
		want string
	}{
		{Accuracy{Plus: 1, Unit: "F"}, "±1 F"},
		{Accuracy{Plus: 0.5, Unit: "oz", Percent: 0.05}, "±(0.5 oz + 0.05 % of reading)"},
		{Accuracy{Unit: "psig", Percent: 1}, "±1 % of reading"},
		{Accuracy{Percent: 2}, "±2 % of reading"},
		{Accuracy{Unit: "ohm"}, "±0 ohm"},
		{Accuracy{Plus: 1, Unit: "psig", Step: 5}, "±1 psig, shown in steps of 5 psig"},
	} {
		if got := c.a.String(); got != c.want {
			t.Errorf("%+v: %q, want %q", c.a, got, c.want)
		}
	}
}
