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
//
// For R-410A no readable page gave a caloric table to be trusted (the one found
// is off by a factor of nearly two in pressure at -50 degC); the header of its
// published fluid file is checked instead, and R-407C's.

// A published row: t in degC, p in bar, volumes or densities as printed, h in
// kJ/kg, s in kJ/(kg K). NaN where the page shows a misprint.
type published struct{ t, p, liq, vap, hl, hv, sl, sv float64 }

var misprint = math.NaN()

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

// R-134a below -80 degC, from a table that cannot be cited: a public page headed
// "Saturation Table R 134a" without author, date or place (p in kPa as printed,
// here bar; densities in kg/m3), IIR reference state. It agrees to the last printed
// digit of pressure and enthalpy with the equation used here, so that it was most
// likely computed from it: a check of the arithmetic, not of the fluid.
var tableR134a = []published{
	{-100, 0.005594, 1582.40, 0.039694, 75.362, 336.85, 0.4354, 1.9456},
	{-95, 0.009390, 1569.10, 0.06479, 81.288, 339.78, 0.46913, 1.9201},
	{-90, 0.015241, 1555.80, 0.10236, 87.226, 342.76, 0.50201, 1.8972},
	{-85, 0.023990, 1542.50, 0.15697, 93.182, 345.77, 0.53409, 1.8766},
	{-80, 0.036719, 1529.00, 0.23429, 99.161, 348.83, 0.56544, 1.858},
}

// R-32, from a table that cannot be cited either: "Characteristics of R32
// refrigerant on the saturation line", a page without author or date (densities
// in kg/m3, IIR reference state). It differs from the equation used here by up
// to 0.8 %, so that it comes from another, unnamed; it guards against gross
// errors alone. The rows that bind are those of testdata/refrigerants.
var tableR32 = []published{
	{-50, 1.106, 1204.19, 3.231, 119.0, 498.8, 0.676, 2.378},
	{-40, 1.777, 1176.941, 5.053, 134.5, 503.7, misprint, 2.327},
	{-30, 2.737, 1148.541, 7.61, 150.1, 508.1, 0.809, 2.281},
	{-20, 4.060, 1118.825, 11.109, 166.1, 511.9, 0.873, 2.238},
	{-10, 5.831, 1087.582, 15.801, 182.7, 514.9, 0.936, 2.199},
	{0, 8.139, 1054.531, 21.997, 200.0, 517.2, 1.000, 2.161},
	{10, 11.081, 1019.295, 30.101, 218.0, 518.5, 1.064, 2.125},
	{20, 14.759, 981.336, 40.66, 236.6, 518.7, 1.127, 2.089},
	{30, 19.283, 939.85, 54.468, 255.9, 517.4, 1.190, 2.053},
	{40, 24.781, 893.546, 72.782, 275.9, 514.3, 1.253, 2.014},
	{50, 31.403, 840.116, 97.817, 297.2, 508.6, 1.317, 1.972},
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
		{"R-134a", "Saturation Table R 134a", tableR134a, IIR, false, 0, 0, 0, 6e-4, 6e-3, 6e-5, 6e-5, 5e-7, 0.06, 5e-6},
		{"R-32", "Characteristics of R32, appendix 9", tableR32, IIR, false, 5e-3, 4e-3, 8e-3, 2, 2.2, 9e-3, 9e-3, 5e-4, 5e-4, 5e-4},
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

// Check values of the two pseudo-pure equations (Lemmon, Int. J. Thermophys. 24,
// 991, 2003, not read): normal boiling point, and pressure and density of the
// saturated liquid at 200 K. They come second hand, from headers of coefficient
// files (NIST, 2002) seen in a copy that no longer can be named.
func TestPublishedPseudoPure(t *testing.T) {
	for _, c := range []struct {
		fluid        string
		boil, p, rho float64 // K, kPa, mol/dm3
		pDigit       float64 // half of the last digit of p
	}{{"R-410A", 221.71, 29.16, 19.51, 0.005}, {"R-407C", 229.52, 19.2, 17.04, 0.05}} {
		f, err := Get(c.fluid)
		if err != nil {
			t.Fatal(err)
		}
		boil, err := f.BubbleTDirect(101325)
		if err != nil {
			t.Fatal(err)
		}
		b, err := f.BubbleDirect(200)
		if err != nil {
			t.Fatal(err)
		}
		if rho := b.Rho / f.m / 1e3; math.Abs(boil-c.boil) > 0.005 || math.Abs(b.P/1e3-c.p) > c.pDigit || math.Abs(rho-c.rho) > 0.005 {
			t.Errorf("%s: boils at %.3f K, at 200 K %.3f kPa and %.3f mol/dm3; header %g, %g, %g", c.fluid, boil, b.P/1e3, rho, c.boil, c.p, c.rho)
		}
	}
}
