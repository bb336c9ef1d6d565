package diagnose_test

import (
	"fmt"
	"os"
	"testing"

	"retrostage/thermo/cycle"
	"retrostage/thermo/fluid"
	"retrostage/thermo/target"
)

func TestX(t *testing.T) {
	if os.Getenv("FIT") == "" {
		t.Skip()
	}
	tab, _ := target.Load()
	f, _ := fluid.Get("R-22")
	p, _ := cycle.PropsOf(f)
	for _, choke := range []float64{0.3, 0.5, 0.6, 0.7, 0.85} {
		m, err := cycle.Typical(p, 1e4, true, nil)
		if err != nil {
			t.Fatal(err)
		}
		// same flow at the rating with another choke: scale the area until SC is the same
		c, _ := cycle.Weather(degF(85), degF(76), degF(63), 101325)
		m.Valve.Choke = choke
		tg, _ := tab.Superheat(c.WetBulb, c.Outdoor)
		lo, hi := 0.2, 3.0
		a0 := m.Valve.Area
		for range 30 {
			x := (lo + hi) / 2
			m.Valve.Area = a0 * x
			s, err := m.Charged(c, cycle.BySuperheat, tg.Value, nil)
			if err != nil || s.Subcooling > 6 {
				lo = x
			} else {
				hi = x
			}
		}
		m.Charged(c, cycle.BySuperheat, tg.Value, nil)
		fmt.Printf("choke %.2f:", choke)
		for _, out := range []float64{65, 75, 85, 95, 105} {
			for _, wb := range []float64{58, 63, 68} {
				c, _ := cycle.Weather(degF(out), degF(76), degF(wb), 101325)
				tg, err := tab.Superheat(c.WetBulb, c.Outdoor)
				if err != nil {
					continue
				}
				s, err := m.Solve(c, nil)
				fmt.Printf("  %g/%g %.1f(%.1f)%v", out, wb, s.Superheat, tg.Value, map[bool]string{true: "", false: "!"}[err == nil])
			}
		}
		fmt.Println()
	}
}
