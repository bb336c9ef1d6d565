package target

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func k(f float64) float64 { return (f-32)*5/9 + 273.15 }

func load(t interface{ Fatal(...any) }) *Tables {
	tab, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	return tab
}

// These cells guard the data against slips. They are recalled like the table
// itself and are no check against the printed appendix.
func TestSuperheatRegression(t *testing.T) {
	tab := load(t)
	for _, c := range []struct{ wb, odb, want float64 }{
		{50, 55, 8.8}, {76, 115, 22.9}, {63, 85, 10.3}, {67, 95, 12.0}, {64, 95, 5.6},
		{63, 82.5, (13.5 + 10.3) / 2},
		{62.5, 82.5, (12.0 + 13.5 + 8.5 + 10.3) / 4},
	} {
		got, err := tab.Superheat(k(c.wb), k(c.odb))
		if err != nil || math.Abs(got.Value*1.8-c.want) > 1e-6 {
			t.Errorf("%g/%g: %v F, %v; want %g", c.wb, c.odb, got.Value*1.8, err, c.want)
		}
		if math.Abs(got.U*1.8-1/math.Sqrt(3)) > 1e-12 || !strings.Contains(got.Confidence, "recalled") {
			t.Errorf("the doubt of a recalled cell is lost: %+v", got)
		}
	}
}

func TestSplitRegression(t *testing.T) {
	tab := load(t)
	for _, c := range []struct{ db, wb, want float64 }{
		{80, 67, 18.3}, {75, 63, 18.6}, {75, 62, 19.3}, {70, 58, 18.7}, {78, 65, 18.8}, {84, 76, 10.8},
	} {
		got, err := tab.Split(k(c.db), k(c.wb))
		if err != nil || math.Abs(got.Value*1.8-c.want) > 0.11 {
			t.Errorf("%g/%g: %.2f F, %v; want %g", c.db, c.wb, got.Value*1.8, err, c.want)
		}
	}
}

func TestRefusals(t *testing.T) {
	tab := load(t)
	for _, c := range []struct{ wb, odb float64 }{
		{49.9, 80}, {76.1, 80}, {65, 54.9}, {65, 115.1}, // off the table
		{55, 95},                           // blank
		{63.5, 95},                         // one of four cells blank
		{math.NaN(), 80}, {65, math.NaN()}, // no reading
	} {
		if got, err := tab.Superheat(k(c.wb), k(c.odb)); err == nil {
			t.Errorf("superheat %g/%g: %v", c.wb, c.odb, got)
		}
	}
	for _, c := range []struct{ db, wb float64 }{
		{69, 60}, {85, 65}, {80, 55}, {80.5, 56.5}, {72, 73}, {84, 77}, {math.NaN(), 60}, {75, math.NaN()},
	} {
		if got, err := tab.Split(k(c.db), k(c.wb)); err == nil {
			t.Errorf("split %g/%g: %v", c.db, c.wb, got)
		}
	}
	if _, err := tab.Superheat(k(55), k(95)); !strings.Contains(err.Error(), "below 5 F") {
		t.Errorf("a blank must say what it means: %v", err)
	}
}

// Wetter return air or cooler outdoor air never lowers the target.
func TestSuperheatMonotone(t *testing.T) {
	tab := load(t)
	rapid.Check(t, func(t *rapid.T) {
		wb := rapid.Float64Range(50, 75).Draw(t, "wb")
		odb := rapid.Float64Range(56, 115).Draw(t, "odb")
		a, err := tab.Superheat(k(wb), k(odb))
		if err != nil {
			return
		}
		if a.Value*1.8 < 5-1e-9 || a.Value*1.8 > 45+1e-9 {
			t.Fatalf("%v F", a.Value*1.8)
		}
		if b, err := tab.Superheat(k(wb+1), k(odb)); err != nil || b.Value < a.Value {
			t.Fatalf("wetter: %v, %v", b, err)
		}
		if b, err := tab.Superheat(k(wb), k(odb-1)); err != nil || b.Value < a.Value {
			t.Fatalf("cooler: %v, %v", b, err)
		}
	})
}

func TestWindows(t *testing.T) {
	tab := load(t)
	for _, check := range []string{"superheat", "subcooling", "split"} {
		if len(tab.Windows(check)) == 0 {
			t.Errorf("no window for %s", check)
		}
	}
	w := tab.Windows("superheat")[0]
	for f, ok := range map[float64]bool{55: true, 54.9: false, 115: true, 115.1: false, math.NaN(): false} {
		if err := w.Holds(k(f)); (err == nil) != ok {
			t.Errorf("%g F: %v", f, err)
		}
	}
	if s, source, _ := tab.Settle(); s != 900 || source == "" {
		t.Errorf("settle %g s, %q", s, source)
	}
}

func BenchmarkSuperheat(b *testing.B) {
	tab := load(b)
	for b.Loop() {
		if _, err := tab.Superheat(k(63.3), k(87)); err != nil {
			b.Fatal(err)
		}
	}
}
