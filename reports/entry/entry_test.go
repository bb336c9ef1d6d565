package entry

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"retrostage/thermo/units"

	"pgregory.net/rapid"
)

var specs = map[string]Spec{
	"capacity":   {units.Capacity, "Btu/h", 3000, 200000, false, false},
	"resistance": {units.Resistance, "ohm", 0, 1000, false, false},
	"current":    {units.Current, "A", 0, 5000, false, false},
	"length":     {units.Length, "ft", 0, 300, false, false},
	"bore":       {units.Bore, "in", 0.1, 2, false, false},
	"mass":       {units.Mass, "oz", 0, 2000, false, false},
	"temp":       {units.Temperature, "F", -40, 160, false, false},
	"hertz":      {units.Frequency, "Hz", 45, 65, false, false},
	"money":      {units.Money, "money", 0, 100000, false, false},
	"plate":      {units.Voltage, "V", 100, 600, true, false},
	"voltage":    {units.Voltage, "V", 0, 700, false, false},
	"pressure":   {units.Pressure, "psig", 0, 900, false, false},
	"barometer":  {units.Barometric, "inHg", 15, 32.5, false, false},
	"insulation": {units.Insulation, "Mohm", 0, 1e5, false, false},
	"airflow":    {units.Airflow, "cfm", 50, 10000, false, false},
	"volume":     {units.Volume, "in3", 0, 200, false, false},
}

func TestRead(t *testing.T) {
	for _, c := range []struct {
		spec, typed string
		x, high     float64 // high 0: one number
		unit        string
	}{
		{"capacity", "33,500", 33500, 0, "Btu/h"}, {"capacity", "33 500", 33500, 0, "Btu/h"}, {"capacity", "33'500", 33500, 0, "Btu/h"},
		{"capacity", "33.500", 33500, 0, "Btu/h"}, {"capacity", "33,500.0 BTUH", 33500, 0, "Btu/h"}, {"capacity", "2.5 tons", 2.5, 0, "ton"},
		{"capacity", "2½ ton", 2.5, 0, "ton"}, {"capacity", "1e4", 10000, 0, "Btu/h"}, {"current", "2.738e-06", 2.738e-6, 0, "A"}, {"capacity", "8.8kW", 8.8, 0, "kW"},
		{"resistance", "2,4", 2.4, 0, "ohm"}, {"resistance", "2.400", 2.4, 0, "ohm"}, {"resistance", "0,125", 0.125, 0, "ohm"}, {"resistance", "35 mohm", 35, 0, "mohm"},
		{"length", "300ft", 300, 0, "ft"}, {"length", "25'", 25, 0, "ft"}, {"length", `25' 6"`, 25.5, 0, "ft"}, {"length", "20 m", 20, 0, "m"},
		{"bore", "3/8", 0.375, 0, "in"}, {"bore", "1 1/8", 1.125, 0, "in"}, {"bore", `1-1/8"`, 1.125, 0, "in"}, {"bore", "⅞", 0.875, 0, "in"}, {"bore", "9.52 mm", 9.52, 0, "mm"}, {"bore", "1.125", 1.125, 0, "in"},
		{"mass", "6 lb 8 oz", 104, 0, "oz"}, {"mass", "6lb8oz", 104, 0, "oz"}, {"mass", "6 lbs 8", 104, 0, "oz"}, {"mass", "6.5 lb", 6.5, 0, "lb"}, {"mass", "6# 8oz", 104, 0, "oz"}, {"mass", "2.9 kg", 2.9, 0, "kg"},
		{"temp", "80F", 80, 0, "F"}, {"temp", "80 °F", 80, 0, "F"}, {"temp", "-5", -5, 0, "F"}, {"temp", "−5", -5, 0, "F"}, {"temp", "26.5 C", 26.5, 0, "C"}, {"temp", "80°", 80, 0, "F"}, {"temp", "80 deg", 80, 0, "F"},
		{"hertz", "60hz", 60, 0, "Hz"}, {"hertz", "60 cycles", 60, 0, "Hz"},
		{"money", "$1,250.00", 1250, 0, "money"}, {"money", "USD 300", 300, 0, "money"}, {"money", "1.250,50 €", 1250.5, 0, "money"},
		{"plate", "208-230", 208, 230, "V"}, {"plate", "208/230", 208, 230, "V"}, {"plate", "208 – 230 V", 208, 230, "V"}, {"plate", "208 to 230 volts", 208, 230, "V"}, {"plate", "230", 230, 0, "V"},
		{"pressure", "118 psi", 118, 0, "psig"}, {"pressure", "130 psia", 130, 0, "psia"}, {"pressure", "8 barg", 8, 0, "barg"},
		{"barometer", "29.921", 29.921, 0, "inHg"}, {"barometer", `29.92"`, 29.92, 0, "inHg"}, {"barometer", "1013 hPa", 1013, 0, "hPa"},
		{"insulation", "2 Gohm", 2, 0, "Gohm"}, {"insulation", "550 meg", 550, 0, "Mohm"},
		{"airflow", "1,150 cfm", 1150, 0, "cfm"}, {"airflow", "1950 m3/h", 1950, 0, "m3/h"}, {"volume", "12 in3", 12, 0, "in3"},
	} {
		v, err := Read(c.typed, specs[c.spec], "")
		if c.high == 0 {
			c.high = c.x
		}
		if err != nil || math.Abs(v.X-c.x) > 1e-12*math.Abs(c.x) || v.High != c.high || v.Unit != c.unit {
			t.Errorf("%s %q: %+v, %v; want %v to %v %s", c.spec, c.typed, v, err, c.x, c.high, c.unit)
		}
	}
}

// What can be meant in two ways is asked, and both ways are offered.
func TestAsked(t *testing.T) {
	for _, c := range []struct{ spec, typed, one, two string }{
		{"current", "2,100", "2.1 A", "2,100 A"},
		{"current", "2.100", "2.1 A", "2,100 A"},
		{"pressure", "8 bar", "8 bar gauge", "8 bar abs"},
		{"airflow", "1,150", "", ""}, // 1.15 cfm is no airflow: not asked
	} {
		v, err := Read(c.typed, specs[c.spec], "")
		var a *Ambiguity
		if c.one == "" {
			if err != nil {
				t.Errorf("%q: %v", c.typed, err)
			}
			continue
		}
		if !errors.As(err, &a) || len(a.Readings) != 2 || a.Say(a.Readings[0]) != c.one || a.Say(a.Readings[1]) != c.two {
			t.Errorf("%s %q: %+v, %v; want a question between %s and %s", c.spec, c.typed, v, err, c.one, c.two)
		}
	}
}

// Every refusal says what would fit, in numbers as people write them.
func TestRefused(t *testing.T) {
	for _, c := range []struct{ spec, typed, want string }{
		{"capacity", "250,000", "it takes 3,000 to 200,000 Btu/h"},
		{"capacity", "300 ft", "not a number with a unit of capacity"},
		{"length", "400", "400 ft is outside; it takes 0 to 300 ft"},
		{"length", "100 m", "it takes 0 to 91.44 m"},
		{"voltage", "208-230", "is a range"},
		{"plate", "230-208", "not the larger"},
		{"temp", "warm", "is not a number"},
		{"temp", "0x20", "0x20"},
		{"temp", "1,23,456", "is not a number"},
		{"temp", "NaN", "NaN"},
		{"temp", "1e999", "too large"},
		{"resistance", "2 Mohm", "unit of resistance"},
		{"temp", strings.Repeat("9", 100), "longer"},
		{"mass", "6 lb 18 oz", "6 lb 18 oz"},
		{"temp", "", "no number"},
		{"temp", "-", "not a number"},
		{"temp", "1.2.3", "not a number"},
	} {
		v, err := Read(c.typed, specs[c.spec], "")
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s %q: %+v, %v; want an error with %q", c.spec, c.typed, v, err, c.want)
		}
	}
}

// What the record keeps of an entry reads back as the same value, and an entry is
// either asked about, refused or inside its range.
func TestReadLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := rapid.SampledFrom([]Spec{specs["capacity"], specs["plate"], specs["temp"], specs["mass"], specs["current"]}).Draw(t, "spec")
		typed := rapid.OneOf(rapid.StringMatching(`-?[0-9]{1,3}([,.][0-9]{3}){0,2}([.,][0-9]{1,3})?( ?(F|A|lb|oz|V|ton))?`), rapid.StringMatching(`[0-9]{1,3}[ ,./'-][0-9]{1,3}`)).Draw(t, "typed")
		v, err := Read(typed, spec, "")
		if err != nil {
			return
		}
		if !spec.holds(v) {
			t.Fatalf("%q: %+v is outside", typed, v)
		}
		w, err := Read(v.Text(), spec, v.Unit)
		var a *Ambiguity
		if errors.As(err, &a) { // 2.125 kept so is asked about again: the record reads its own text as a decimal
			return
		}
		if err != nil || w != v {
			t.Fatalf("%q: %+v is kept as %q and reads %+v, %v", typed, v, v.Text(), w, err)
		}
	})
}

// A value never depends on which of two ways was the only one that fits: with the
// range widened to hold both, the same text is asked about.
func TestNothingSilent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.IntRange(1, 999).Draw(t, "a"), rapid.IntRange(0, 999).Draw(t, "b")
		typed := Number(float64(a))
		typed += rapid.SampledFrom([]string{",", "."}).Draw(t, "mark") + strings.Repeat("0", 3-len(Number(float64(b)))) + Number(float64(b))
		_, err := Read(typed, Spec{units.Current, "A", 0, 1e7, false, false}, "")
		var q *Ambiguity
		if !errors.As(err, &q) {
			t.Fatalf("%q was taken without a question: %v", typed, err)
		}
	})
}

func TestNumber(t *testing.T) {
	for x, want := range map[float64]string{0: "0", 3000: "3,000", 2e5: "200,000", 2.778: "2.778", 1.15: "1.15", 33500: "33,500", -1234567: "-1,234,567", 0.005: "0.005", math.Copysign(0, -1): "0", 5: "5", 91.44: "91.44", 999999.6: "1,000,000"} {
		if got := Number(x); got != want {
			t.Errorf("Number(%v) = %q, want %q", x, got, want)
		}
	}
}

func TestDate(t *testing.T) {
	now := time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)
	for typed, want := range map[string]string{
		"2008": "2008", "2008-06-15": "2008-06-15", "6/15/2008": "2008-06-15", "15/6/2008": "2008-06-15", "15 Jun 2008": "2008-06-15",
		"June 2008": "2008-06", "06/2008": "2008-06", "2008-06": "2008-06", "Jun 15, 2008": "2008-06-15", "today": "2026-08-14", "7/7/2008": "2008-07-07", "1st May 2020": "2020-05-01",
	} {
		if got, err := Date(typed, now); got != want || err != nil {
			t.Errorf("Date(%q) = %q, %v; want %q", typed, got, err, want)
		}
	}
	var a *DateAmbiguity
	if _, err := Date("7/4/2008", now); !errors.As(err, &a) || len(a.Readings) != 2 {
		t.Errorf("7/4/2008: %v", err)
	}
	for _, typed := range []string{"", "08", "2008-13-01", "31/2/2008", "9999", "0/5/2008", "1/0/2008", "yesterday", "15/15/2008", "2008-6-15-1"} {
		if got, err := Date(typed, now); err == nil || !strings.Contains(err.Error(), "it takes") {
			t.Errorf("Date(%q) = %q, %v; want a refusal that says what it takes", typed, got, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{"2,100", "6 lb 8 oz", "1 1/8", "208-230", "$1,250.00", "80°F", "1e5", "33'500", `25' 6"`, "1-1/8\"", "-5--3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, spec := range specs {
			v, err := Read(s, spec, "")
			if err == nil && (!spec.holds(v) || v.High < v.X || v.Ranged() && !spec.Span) {
				t.Fatalf("%q: %+v", s, v)
			}
		}
	})
}

func FuzzDate(f *testing.F) {
	f.Add("7/4/2008")
	f.Fuzz(func(t *testing.T, s string) {
		d, err := Date(s, time.Date(2026, 8, 14, 0, 0, 0, 0, time.UTC))
		if err != nil {
			return
		}
		if e, err := Date(d, time.Time{}.AddDate(2025, 0, 0)); err != nil || e != d {
			t.Fatalf("%q reads %q, which reads %q, %v", s, d, e, err)
		}
	})
}

// A meter at the end of its scale reads "more than": of an insulation that is taken as
// what it is at least. Of nothing else is it a number.
func TestAtLeast(t *testing.T) {
	megohm := Spec{Dim: units.Insulation, Unit: "Mohm", Min: 0, Max: 1e11}
	for text, good := range map[string]bool{">500": true, "> 500 MΩ": true, ">": false, "<500": false, ">>500": false} {
		v, err := Read(text, megohm, "")
		if (err == nil) != good || good && v.Text() != "500" {
			t.Errorf("%q: %v %v", text, v, err)
		}
	}
	if _, err := Read(">5", Spec{Dim: units.Current, Unit: "A", Max: 100}, ""); err == nil {
		t.Error("more than 5 A is taken for 5 A")
	}
}

// Three digits behind the only comma are thousands where money is asked, and are asked
// about elsewhere; a price that no thousands fit keeps its decimals.
func TestThousandsOfMoneyAreNotAskedAbout(t *testing.T) {
	price := Spec{Dim: units.Money, Unit: "money", Max: 1e6}
	for text, want := range map[string]float64{"2,190": 2190, "$2,190": 2190, "12,500": 12500, "2,19": 2.19, "2190,50": 2190.5, "0,145": 0.145} {
		if v, err := Read(text, price, ""); err != nil || math.Abs(v.X-want) > 1e-9 {
			t.Errorf("%s: %v, %v; meant is %v", text, v, err, want)
		}
	}
	tariff := Spec{Dim: units.Money, Unit: "money", Min: 0.01, Max: 5}
	if v, err := Read("1,125", tariff, ""); err != nil || v.X != 1.125 {
		t.Errorf("a kilowatt-hour at 1,125: %v, %v", v, err)
	}
	for text, spec := range map[string]Spec{"2.190": price, "2,100": {Dim: units.Insulation, Unit: "Mohm", Max: 1e5}} {
		var a *Ambiguity
		if _, err := Read(text, spec, ""); !errors.As(err, &a) {
			t.Errorf("%s is not asked about: %v", text, err)
		}
	}
}
