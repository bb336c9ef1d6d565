package charge

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"retrostage/thermo/fluid"
)

const (
	inch  = 0.0254
	foot  = 0.3048
	ounce = 0.45359237 / 16
)

// A foot of liquid line holds its bore's volume times the density of boiling liquid by
// the reference library's rows (testdata/refrigerants), between whose temperatures a
// parabola leads; outside diameters and walls are those of ASTM B280 (assets of tubes).
func TestLineContents(t *testing.T) {
	in, err := os.Open("../../testdata/refrigerants/reference_saturation.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	rows, err := csv.NewReader(in).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	density := func(name, model string, at float64) float64 {
		var ts, rho []float64
		for _, r := range rows[1:] {
			a, e1 := strconv.ParseFloat(r[2], 64)
			b, e2 := strconv.ParseFloat(r[5], 64)
			if r[0] == name && r[1] == model && e1 == nil && e2 == nil && math.Abs(a-at) < 9 {
				ts, rho = append(ts, a), append(rho, b)
			}
		}
		if len(ts) < 3 {
			t.Fatalf("%s: %d rows about %g K", name, len(ts), at)
		}
		sum := 0.0 // Lagrange's polynomial through them
		for i := range ts {
			w := rho[i]
			for k := range ts {
				if k != i {
					w *= (at - ts[k]) / (ts[i] - ts[k])
				}
			}
			sum += w
		}
		return sum
	}
	for _, c := range []struct {
		fluid, model string
		od, wall     float64
	}{
		{"R-410A", "pseudo-pure", 0.25, 0.030}, {"R-410A", "pseudo-pure", 0.375, 0.032}, {"R-410A", "pseudo-pure", 0.5, 0.032},
		{"R-22", "pure", 0.375, 0.032}, {"R-407C", "pseudo-pure", 0.375, 0.032}, {"R-32", "pure", 0.3125, 0.032}, {"R-454B", "mixture", 0.375, 0.032},
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
		bore := (c.od - 2*c.wall) * inch
		want := bore * bore * math.Pi / 4 * foot * density(c.fluid, c.model, Condensing-Subcooled)
		// Subcooled liquid is a little denser than the boiling one of its temperature.
		if over := m.M/want - 1; err != nil || !(over > 0 && over < 6e-3) {
			t.Errorf("%s in %g in: %.5f kg/ft, want %.5f; %v", c.fluid, c.od, m.M, want, err)
		}
	}
}

func TestRefuses(t *testing.T) {
	if _, err := Bore(0.01, 0.005); err == nil {
		t.Error("a tube without bore was taken")
	}
}
