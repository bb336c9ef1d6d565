package charge

import (
	"math"
	"testing"

	"pgregory.net/rapid"

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
		bore, err := Bore(c.od*inch, c.wall*inch)
		if err != nil {
			t.Fatal(err)
		}
		a := Build{Plate: 1, Length: foot, Bore: bore}
		m, err := a.Total(rho)
		if got := (m - 1) / ounce; err != nil || math.Abs(got-c.want) > 0.0006 {
			t.Errorf("%s in %g in: %.4f oz/ft, want %.3f; %v", c.fluid, c.od, got, c.want, err)
		}
	}
}

// The trade facts' example, section 5.2: 104 oz plate, 45 ft of 3/8 in instead
// of 15, R-410A: 119.96 oz.
func TestExample(t *testing.T) {
	f, err := fluid.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	rho, err := LiquidDensity(f)
	if err != nil {
		t.Fatal(err)
	}
	m, err := Build{Plate: 104 * ounce, Length: 45 * foot, Included: 15 * foot, Bore: 0.311 * inch}.Total(rho)
	if err != nil || math.Abs(m/ounce-119.96) > 0.02 {
		t.Errorf("%.3f oz, %v", m/ounce, err)
	}
}

// Line split in two pieces, or volume moved from line to drier, adds up alike.
func TestAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plate, l, d := rapid.Float64Range(1, 10).Draw(t, "plate"), rapid.Float64Range(0, 50).Draw(t, "length"), rapid.Float64Range(0.003, 0.02).Draw(t, "bore")
		rho, more := rapid.Float64Range(800, 1300).Draw(t, "rho"), rapid.Float64Range(0, 20).Draw(t, "more")
		a, err1 := Build{Plate: plate, Length: l + more, Bore: d}.Total(rho)
		b, err2 := Build{Plate: plate, Length: l, Bore: d, Added: more * math.Pi / 4 * d * d}.Total(rho)
		if err1 != nil || err2 != nil || math.Abs(a-b) > 1e-9*a {
			t.Fatalf("%v %v; %v %v", a, b, err1, err2)
		}
	})
}

func TestRefuses(t *testing.T) {
	if _, err := Bore(0.01, 0.005); err == nil {
		t.Error("a tube without bore was taken")
	}
	for _, b := range []Build{{}, {Plate: math.NaN(), Bore: 1}, {Plate: 0.1, Included: 100, Bore: 0.01}, {Plate: 1, Bore: 0.01, Added: -1}} {
		if m, err := b.Total(1000); err == nil {
			t.Errorf("%+v gave %v", b, m)
		}
	}
}
