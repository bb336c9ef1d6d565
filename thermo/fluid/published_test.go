package fluid

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Published tables, in each table's own reference state. They were read as
// public pages; the handbook's own refrigerant chapter could be found only by
// its first page, not its tables. Older tables come from older equations of
// the same fluid: the tolerance says by how much those differ.

// A published row: t in degC, p in bar, volumes or densities as printed, h in
// kJ/kg, s in kJ/(kg K).
type published struct{ t, p, liq, vap, hl, hv, sl, sv float64 }

// Moran and Shapiro, Fundamentals of Engineering Thermodynamics, Table A-7
// (p. 901, SI units): R-22, volumes of the liquid in dm3/kg and of the vapour in
// m3/kg, h = 0 and s = 0 for saturated liquid at -40 degC.
var moranR22 = []published{
	{-60, 0.3749, 0.6833, 0.5370, -21.55, 223.81, -0.0964, 1.0547},
	{-50, 0.6451, 0.6966, 0.3239, -10.85, 228.60, -0.0474, 1.0256},
	{-45, 0.8290, 0.7037, 0.2564, -5.44, 230.95, -0.0235, 1.0126},
	{-40, 1.0522, 0.7109, 0.2052, 0, 233.27, 0, 1.0005},
	{-36, 1.2627, 0.7169, 0.1730, 4.38, 235.09, 0.0186, 0.9914},
	{-30, 1.6389, 0.7262, 0.1355, 11.00, 237.78, 0.0460, 0.9787},
	{-26, 1.9345, 0.7327, 0.1159, 15.45, 239.53, 0.0641, 0.9707},
	{-20, 2.4534, 0.7427, 0.0926, 22.17, 242.09, 0.0908, 0.9595},
	{-14, 3.0733, 0.7533, 0.0748, 28.97, 244.56, 0.1171, 0.9490},
	{-10, 3.5485, 0.7606, 0.0652, 33.54, 246.15, 0.1345, 0.9424},
	{-4, 4.3638, 0.7722, 0.0535, 40.46, 248.45, 0.1602, 0.9330},
	{0, 4.9811, 0.7803, 0.0470, 45.12, 249.92, 0.1773, 0.9271},
}

func TestPublishedSaturation(t *testing.T) {
	for _, c := range []struct {
		fluid, what                 string
		rows                        []published
		to                          Reference
		volumes                     bool
		p, liq, vap, hl, hv, sl, sv float64 // tolerances: relative; kJ/kg; kJ/(kg K)
		pDigit, liqDigit, vapDigit  float64 // half of the last digit printed
	}{
		{"R-22", "Moran and Shapiro Table A-7", moranR22, ASHRAE, true, 3e-4, 2e-4, 2e-3, 0.08, 0.25, 4e-4, 9e-4, 5e-5, 5e-5, 5e-5},
	} {
		f, err := Get(c.fluid)
		if err != nil {
			t.Fatal(err)
		}
		dh, ds, err := f.Shift(c.to)
		if err != nil {
			t.Fatal(err)
		}
		names := []string{"p", "liquid", "vapour", "h'", "h''", "s'", "s''"}
		var worst [7]float64
		for _, r := range c.rows {
			b, err := f.BubbleDirect(r.t + 273.15)
			if err != nil {
				t.Fatal(err)
			}
			d, err := f.DewDirect(r.t + 273.15)
			if err != nil {
				t.Fatal(err)
			}
			liq, vap := b.Rho, d.Rho
			if c.volumes {
				liq, vap = 1e3/b.Rho, 1/d.Rho
			}
			got := [7]float64{b.P / 1e5, liq, vap, (b.H + dh) / 1e3, (d.H + dh) / 1e3, (b.S + ds) / 1e3, (d.S + ds) / 1e3}
			want := [7]float64{r.p, r.liq, r.vap, r.hl, r.hv, r.sl, r.sv}
			tol := [7]float64{c.p*r.p + c.pDigit, c.liq*r.liq + c.liqDigit, c.vap*r.vap + c.vapDigit, c.hl, c.hv, c.sl, c.sv}
			for k := range got {
				if math.IsNaN(want[k]) {
					continue
				}
				dev := math.Abs(got[k] - want[k])
				if !(dev <= tol[k]) {
					t.Errorf("%s at %g degC: %s %.6g, %s has %g", c.fluid, r.t, names[k], got[k], c.what, want[k])
				}
				if k < 3 {
					dev /= want[k]
				}
				worst[k] = max(worst[k], dev)
			}
		}
		var out strings.Builder
		for k, w := range worst {
			fmt.Fprintf(&out, " %s %.1e", names[k], w)
		}
		t.Logf("%s, %s, worst (p, liquid, vapour relative):%s", c.fluid, c.what, out.String())
	}
}

// Superheated R-134a in ASHRAE's reference state: "Super Heated Refrigerant-134a,
// Metric Units", appendix of the public thermodynamics course book by Huang and
// Gramoll: p in MPa, t in degC, v in m3/kg, h in kJ/kg, s in kJ/(kg K). The page
// misprints h at 0.10 MPa and -10 degC, left out here. It descends from an older
// equation: h differs by up to 3.1 kJ/kg near saturation and 0.2 at 100 degC, so
// that this checks phase and reference state rather than digits.
func TestPublishedSuperheat(t *testing.T) {
	f, err := Get("R-134a")
	if err != nil {
		t.Fatal(err)
	}
	dh, ds, err := f.Shift(ASHRAE)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range [][5]float64{
		{0.06, -20, 0.33536, 237.98, 1.0062}, {0.06, 0, 0.36433, 254.10, 1.0675}, {0.06, 40, 0.42091, 288.35, 1.1844}, {0.06, 90, 0.49031, 335.00, 1.3224},
		{0.10, -20, 0.19770, 236.54, 0.9602}, {0.10, 0, 0.21587, 252.99, 1.0227}, {0.10, 40, 0.25076, 287.66, 1.1411}, {0.10, 90, 0.29302, 334.57, 1.2799},
		{0.14, -10, 0.14549, 243.40, 0.9606}, {0.14, 0, 0.15219, 251.86, 0.9922}, {0.14, 40, 0.17783, 286.96, 1.1120}, {0.14, 100, 0.21449, 344.04, 1.2785},
		{0.18, -10, 0.11135, 242.06, 0.9362}, {0.18, 20, 0.12723, 268.23, 1.0304}, {0.20, 0, 0.10438, 250.10, 0.9582}, {0.24, 20, 0.09339, 266.85, 1.0034},
	} {
		s, err := f.TP(r[1]+273.15, r[0]*1e6)
		if err != nil {
			t.Fatal(err)
		}
		v, h, e := 1/s.Rho, (s.H+dh)/1e3, (s.S+ds)/1e3
		if math.Abs(v/r[2]-1) > 1e-2 || math.Abs(h-r[3]) > 3.2 || math.Abs(e-r[4]) > 0.0125 {
			t.Errorf("%g MPa, %g degC: v %.5f, h %.2f, s %.4f; table %g, %g, %g", r[0], r[1], v, h, e, r[2], r[3], r[4])
		}
	}
}
