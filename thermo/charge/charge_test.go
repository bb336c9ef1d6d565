package charge

import (
	"math"
	"testing"

	"retrostage/thermo/fluid"
)

const (
	inch  = 0.0254
	foot  = 0.3048
	ounce = 0.45359237 / 16
)

// The trade facts, section 5.1: oz per foot of line, computed there from the
// same published equations by an independent script. 0.6 of the last digit.
func TestLineContents(t *testing.T) {
	for _, c := range []struct {
		fluid    string
		od, wall float64
		want     float64
	}{
		{"R-410A", 0.25, 0.030, .199}, {"R-410A", 0.375, 0.032, .532}, {"R-410A", 0.5, 0.032, 1.046},
		{"R-22", 0.375, 0.032, .607}, {"R-407C", 0.375, 0.032, .577}, {"R-32", 0.3125, 0.032, .309}, {"R-454B", 0.375, 0.032, .498},
	} {
		f, err := fluid.Get(c.fluid)
		if err != nil {
			t.Fatal(err)
		}
		rho, err := LiquidDensity(f)
		if err != nil {
			t.Fatal(err)
		}
		m, err := LiquidLine(Line{Exactly(foot), Exactly(0), Tube{OD: c.od * inch, Wall: c.wall * inch}}, Densities{Liquid: rho, Gas: 1})
		if got := m.M / ounce; err != nil || math.Abs(got-c.want) > 0.0006 {
			t.Errorf("%s in %g in: %.4f oz/ft, want %.3f; %v", c.fluid, c.od, got, c.want, err)
		}
	}
}

func TestRefuses(t *testing.T) {
	if _, err := Bore(0.01, 0.005); err == nil {
		t.Error("a tube without bore was taken")
	}
}
