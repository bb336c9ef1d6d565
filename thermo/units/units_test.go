package units

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func close(a, b, rel float64) bool {
	return math.Abs(a-b) <= rel*math.Max(math.Abs(a), math.Abs(b))
}

// The definitions restated in the project's trade facts, section 2.1
// (definitions: 1 Torr = 133.322 Pa, 1 inHg = 3386.389 Pa, 1 psi = 6894.757
// Pa, 1 atm = 14.696 psia = 760 000 micron), to the digits printed there.
func TestDefinitions(t *testing.T) {
	for _, c := range []struct {
		dim    Dimension
		x      float64
		unit   string
		si     float64
		digits float64
	}{
		{Pressure, 1, "psia", 6894.757, 1e-7},
		{Barometric, 1, "inHg", 3386.389, 1e-6},
		{Vacuum, 1, "Torr", 133.322, 4e-6},
		{Vacuum, 760000, "micron", 101325, 1e-12},
		{Pressure, 14.696, "psia", 101325, 3.4e-5},
		{Temperature, 32, "F", 273.15, 1e-15},
		{Temperature, 212, "F", 373.15, 1e-15},
		{TempDiff, 18, "F", 10, 1e-15},
		{Capacity, 1, "ton", 3516.853, 1e-7},
		{Mass, 16, "oz", 0.45359237, 1e-15},
		{Airflow, 1, "cfm", 4.719474432e-4, 1e-9},
	} {
		u, err := Lookup(c.dim, c.unit)
		if err != nil {
			t.Fatal(err)
		}
		if got := u.ToSI(c.x, 0); !close(got, c.si, c.digits) {
			t.Errorf("%g %s = %.10g SI, want %.10g", c.x, c.unit, got, c.si)
		}
	}
}

// Gauge against the standard atmosphere: zero gauge at sea level is 14.696
// psia, and at 1600 m it is what ISO 2533's formula leaves.
func TestGauge(t *testing.T) {
	u, _ := Lookup(Pressure, "psig")
	abs, _ := Lookup(Pressure, "psia")
	if got := abs.FromSI(u.ToSI(0, 101325), 0); math.Abs(got-14.696) > 5e-4 {
		t.Errorf("0 psig at sea level = %v psia", got)
	}
	site := 101325 * math.Pow(1-2.25577e-5*1600, 5.2559) // ASHRAE Handbook Fundamentals 2017 ch. 1 eq. 3
	if got := u.FromSI(101325, site); math.Abs(got-2.586) > 0.01 {
		t.Errorf("one atmosphere reads %v psig at 1600 m", got)
	}
}

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(table).Draw(t, "unit")
		x := rapid.Float64Range(-1e4, 1e4).Draw(t, "x")
		site := rapid.Float64Range(5e4, 1.1e5).Draw(t, "site")
		tol := 1e-12*math.Abs(x) + 1e-11*(site+math.Abs(u.Offset))/u.Scale
		if back := u.FromSI(u.ToSI(x, site), site); math.Abs(back-x) > tol {
			t.Fatalf("%v %s came back as %v", x, u.Name, back)
		}
	})
}

// No two units of one dimension may share a name: the record stores names.
func TestNamesUnique(t *testing.T) {
	seen := map[string]bool{}
	for _, u := range table {
		k := string(u.Dim) + "/" + u.Name
		if seen[k] {
			t.Errorf("%s twice", k)
		}
		seen[k] = true
		if u.Scale <= 0 {
			t.Errorf("%s: scale %v", k, u.Scale)
		}
		for _, sys := range []System{IP, SI} {
			if Preferred(u.Dim, sys).Name == "" {
				t.Errorf("%s has no preferred unit in %v", u.Dim, sys)
			}
		}
	}
}

func TestQuantity(t *testing.T) {
	for _, c := range []struct {
		dim  Dimension
		text string
		want float64
		err  string
	}{
		{Temperature, "280K", 280, ""},
		{Temperature, "44.6 F", 280.15, ""},
		{Pressure, "800kPa", 800e3, ""},
		{Pressure, "0 psig", 101325, ""},
		{Pressure, "0 kPag", 101325, ""},
		{Pressure, "8", 0, "use one of psig"},
		{Pressure, "8 K", 0, `unit "K" does not measure pressure`},
		{Temperature, "280uF", 0, "use one of F, C, K"},
		{Temperature, "hotK", 0, "is not a number"},
		{Temperature, "0x10K", 0, "use one of F, C, K"},
	} {
		got, err := Quantity(c.dim, c.text, 101325)
		switch {
		case c.err != "" && (err == nil || !strings.Contains(err.Error(), c.err)):
			t.Errorf("%q: error %v, want %q", c.text, err, c.err)
		case c.err == "" && (err != nil || !close(got, c.want, 1e-12)):
			t.Errorf("%q = %v, %v; want %v", c.text, got, err, c.want)
		}
	}
}

func TestNumber(t *testing.T) {
	for text, want := range map[string]float64{" 118.4 ": 118.4, "12,5": 12.5, "-3": -3, "1e3": 1000} {
		if got, err := Number(text); err != nil || got != want {
			t.Errorf("Number(%q) = %v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "  ", "abc", "1.2.3", "1,234.5", "inf", "NaN", "0x1p3", "1_000", "1e400", "12 psi"} {
		if got, err := Number(text); err == nil {
			t.Errorf("Number(%q) = %v, want an error", text, got)
		}
	}
}

func FuzzQuantity(f *testing.F) {
	f.Add("temperature", "280K")
	f.Add("pressure", "12,5 psig")
	f.Fuzz(func(t *testing.T, dim, text string) {
		if x, err := Quantity(Dimension(dim), text, 101325); err == nil && (math.IsNaN(x) || math.IsInf(x, 0)) {
			t.Fatalf("%q %q gave %v", dim, text, x)
		}
	})
}
