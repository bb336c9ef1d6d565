package assess

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"retrostage/reports/record"
	"retrostage/thermo/season"
)

// The standard's own bins, typed as hours, give the same season; hotter ones use more;
// what is no table is refused with its line.
func TestWeatherOfThePlace(t *testing.T) {
	j := demo(t)
	set(t, j, record.CoolingHours, "1000", "n")
	set(t, j, record.Tariff, "0.15", "money")
	energy := func() float64 {
		c, err := New(j).Choices()
		if err != nil || c.Refused != "" {
			t.Fatalf("%v %q", err, c.Refused)
		}
		for _, k := range c.Ranking.Costs {
			if c.Options[k.Option].Name == "Single-stage conversion" {
				return k.Energy
			}
		}
		t.Fatal("no conversion")
		return 0
	}
	want := energy()
	var lines []string
	for _, b := range season.Standard() {
		lines = append(lines, fmt.Sprintf("%.1f %.4f", b.T*1.8-459.67, 1000*b.Share))
	}
	set(t, j, record.CoolingHours, "300", "n") // outranked
	set(t, j, record.WeatherBins, strings.Join(lines, "\n"), "")
	if got := energy(); math.Abs(got-want) > 1e-4*want {
		t.Errorf("typed %g, by the standard %g", got, want)
	}
	set(t, j, record.WeatherBins, strings.Join(lines[3:], "\n")+"\n107 400", "")
	if got := energy(); got <= want {
		t.Errorf("hotter: %g, %g before", got, want)
	}
	for _, bad := range []string{"70", "70 100\n65 100", "70 =1", "70 1,000", "200 5", "70 9000", "70 0", "70 100 3"} {
		set(t, j, record.WeatherBins, bad, "")
		if c, err := New(j).Choices(); err != nil || c.Refused == "" {
			t.Errorf("%q: %v", bad, err)
		}
	}
}
