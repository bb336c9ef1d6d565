package section

import (
	"math"
	"strings"
	"testing"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

func TestFiguresFollowTheirDoubt(t *testing.T) {
	for _, c := range []struct {
		v, doubt float64
		want     string
	}{
		{11.4321, 1.34, "11.4"}, {11.4321, 0.5, "11.4"}, {11.4321, 0.034, "11.43"}, {3412.7, 61, "3,413"},
		{43.14, 2.2, "43.1"}, {-0.004, 0.2, "0"}, {0, 0.5, "0"}, {-3.04, 0.5, "-3.0"}, {-33512.4, 100, "-33,512"}, {-0.6, 0.02, "-0.600"}, {20, 0, "20"}, {24.6912, 0, "24.69"}, {0, 0, "0"}, {5250, 0, "5,250"}, {0.1234567, 0, "0.123"},
	} {
		if got := figure(c.v, c.doubt); got != c.want {
			t.Errorf("figure(%g, %g) = %q, want %q", c.v, c.doubt, got, c.want)
		}
	}
}

func TestChancesClaimNoMoreThanTheyKnow(t *testing.T) {
	for p, want := range map[float64]string{0: "< 1 %", 0.004: "< 1 %", 0.126: "13 %", 0.97: "97 %", 0.9999: "> 99 %"} {
		if got := assess.Chance(p); got != want {
			t.Errorf("Chance(%g) = %q, want %q", p, got, want)
		}
	}
}

// Every number of the running and the electrical step says by which formula,
// from what, and by whose authority.
func TestWhereFrom(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	r, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, sys := range []units.System{units.IP, units.SI} {
		s := presenter{system: sys, site: r.Site, fluid: j.Text(record.Refrigerant)}
		for _, f := range r.Findings {
			if !f.Measured || f.Step != record.Running && f.Step != record.Electrical {
				continue
			}
			n++
			said := map[string]string{}
			for _, p := range s.finding(f).From {
				said[p[0]] = p[1]
			}
			for _, head := range []string{"Formula", "From", "Method"} {
				if said[head] == "" {
					t.Errorf("%s: no %q", f.Key, head)
				}
			}
			if f.Verdict != assess.NotJudged && said["Limit"] == "" {
				t.Errorf("%s is judged without a source", f.Key)
			}
			for _, i := range f.Inputs {
				if i.Assumed && strings.Contains(s.input(i), "Hg") {
					t.Errorf("%s: %s", f.Key, s.input(i))
				}
			}
		}
	}
	if n < 60 {
		t.Errorf("%d numbers looked at", n)
	}
}

// On a metric page limits are those that a person writes, every figure is metric, and
// what is shown is never laxer than what is judged.
func TestMetricPage(t *testing.T) {
	j, _ := demoReport(t)
	if err := j.Set(record.Entry{Key: record.LimitUnits, Value: record.Metric, Time: time.Now()}); err != nil {
		t.Fatal(err)
	}
	r, err := assess.New(j).Report()
	if err != nil {
		t.Fatal(err)
	}
	s := presenter{system: units.SI, site: r.Site}
	for _, f := range r.Findings {
		strip := s.finding(f)
		for _, u := range []string{"°F", "psig", "psi", "micron", "oz", "cfm", "ton", "inHg"} {
			if strip.Unit == u {
				t.Errorf("%s in %s", f.Key, u)
			}
		}
		switch f.Key {
		case "subcooling":
			if half := (*f.Band.High - *f.Band.Low) / 2; math.Abs(half-1.5) > 1e-9 {
				t.Errorf("subcooling: held to ± %g K, shown %s to %s", half, strip.Low, strip.High)
			}
		case "superheat":
			if strip.Low != "2.5" || strip.High != "13.5" {
				t.Errorf("superheat: %s to %s", strip.Low, strip.High)
			}
		case "vacuum_final":
			if strip.High != "66" {
				t.Errorf("vacuum: %s", strip.High)
			}
		}
	}
}

// A bound is rounded to its stricter side, and what conversion leaves is no part of it.
func TestBoundIsNeverLaxer(t *testing.T) {
	for _, c := range []struct {
		v, side float64
		want    string
	}{{2.77777, 1, "2.778"}, {2.77711, 1, "2.778"}, {2.77777, -1, "2.777"}, {2.5000000001, -1, "2.5"}, {2.4999999999, 1, "2.5"}, {-2.77777, 1, "-2.777"}, {-2.77777, -1, "-2.778"}, {0, 1, "0"}, {1942.37, 1, "1,943"}, {1942.37, -1, "1,942"}} {
		if got := bound(c.v, c.side); got != c.want {
			t.Errorf("%g to side %g: %s, want %s", c.v, c.side, got, c.want)
		}
	}
}

// No doubt is written as none.
func TestSetCellKeepsItsDoubt(t *testing.T) {
	for _, c := range []struct {
		v, half float64
		places  int
		want    string
	}{{3.21, 0.18, 0, "3.21 ±0.18"}, {1900, 190, 0, "1,900 ±190"}, {11.26, 0.9, 1, "11.3 ±0.9"}, {0.61, 0.02, 2, "0.610 ±0.020"}, {2, 0, 1, "2.0 ±0"}} {
		if got := setCell(c.v, c.half, c.places); got != c.want {
			t.Errorf("%g ± %g to %d: %q, want %q", c.v, c.half, c.places, got, c.want)
		}
	}
}
