package diagnose

import (
	"math"
	"strings"
	"testing"

	"retrostage/assets/soak"
	"retrostage/thermo/cycle"
	"retrostage/thermo/fluid"
	"retrostage/thermo/target"
)

// TestOwnKind ranks machines of package chance, the kind that the ranking itself
// assumes, with other parts. What it can do there is an upper bound; bench_test.go
// has the machines of another kind. The short run is a sample, with bounds as wide
// as its size makes them.
func TestOwnKind(t *testing.T) {
	for _, c := range []struct {
		full           bool
		first, accused float64
	}{{false, 0.80, 0.03}, {true, 0.85, 0.03}} {
		n := uint64(soak.Count(60, 500))
		if !soak.On() {
			c.first, c.accused = c.first-0.25, c.accused+0.15
		}
		sum := trial(t, 4000, 4000+n, func(uint64) bool { return true }, c.full, Assume())
		f, runs := sum.rate(moderate, false)
		t.Logf("full readings %v:\n%s", c.full, sum)
		if got := float64(f) / float64(runs); got < c.first {
			t.Errorf("full readings %v: right cause or set first in %.1f %%, want %.0f", c.full, 100*got, 100*c.first)
		}
		if got := float64(sum.accused) / float64(sum.healthy); got > c.accused {
			t.Errorf("full readings %v: %.1f %% of healthy machines accused, want at most %.0f", c.full, 100*got, 100*c.accused)
		}
	}
}

// The same readings give the same ranking, probabilities add up to one, every cause has
// a next test, and no fault stands out only where a sound machine is likelier than all
// faults together.
func TestReport(t *testing.T) {
	tab, err := target.Load()
	if err != nil {
		t.Fatal(err)
	}
	told := map[Outcome]int{}
	for seed := uint64(0); seed < 24; seed++ {
		d := draw(seed, tab, true)
		rep, err := Run(d.know, d.read)
		if err != nil {
			t.Fatal(err)
		}
		told[rep.Outcome]++
		if rep.Outcome == Fine && rep.Healthy < 0.5 || rep.Outcome == Unsure && (rep.Healthy < accuse || rep.Single() || !strings.HasPrefix(rep.Words(), "cannot tell")) {
			t.Errorf("seed %d: %s at %.2f", seed, rep.Words(), rep.Healthy)
		}
		sum := rep.Healthy
		for i, c := range rep.Causes {
			sum += c.P
			if c.Next.Do == "" || c.Label == "" {
				t.Errorf("seed %d: %q has next test %q", seed, c.Label, c.Next.Do)
			}
			if i > 0 && c.P > rep.Causes[i-1].P {
				t.Errorf("seed %d: not in order", seed)
			}
		}
		if sum < 1-1e-9 || sum > 1+1e-9 {
			t.Errorf("seed %d: probabilities add up to %v", seed, sum)
		}
		again, err := Run(d.know, d.read)
		if err != nil || again.Causes[0].P != rep.Causes[0].P {
			t.Errorf("seed %d: another answer: %v", seed, err)
		}
	}
	if told[Fine] == 0 || told[Unsure] == 0 || told[Found] == 0 {
		t.Errorf("told %v", told)
	}
}

// A machine in the mountains, with the fans of one at the coast, is not taken for
// one with too little air: every expected reading is within the noise of what it
// shows.
func TestThinAir(t *testing.T) {
	f, err := fluid.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	p, err := cycle.PropsOf(f)
	if err != nil {
		t.Fatal(err)
	}
	for _, site := range []float64{101325, 90e3, 78e3} {
		m, err := cycle.Typical(p, 10e3, false, nil)
		if err != nil {
			t.Fatal(err)
		}
		m.Evap.Air *= site / 101325
		m.Cond.Air *= site / 101325
		c := cycle.Rating()
		if c, err = cycle.Weather(c.Outdoor, c.Return, c.WetBulb, site); err != nil {
			t.Fatal(err)
		}
		s, err := m.Charged(c, cycle.BySubcooling, 5.5, nil)
		if err != nil {
			t.Fatal(err)
		}
		var r Readings
		for q, v := range Show(m, &s, c) {
			r[q] = Reading{Value: v, U: noise(Quantity(q), v), Have: Quantity(q) != IndoorAir}
		}
		rep, err := Run(Machine{Props: p, Capacity: 10e3, Pressure: site, Target: 5.5, UTarget: 0.9}, r)
		if err != nil {
			t.Fatal(err)
		}
		for f, x := range rep.Residual {
			if rep.Present[f] && math.Abs(x) > 0.05*rep.Sigma[f] {
				t.Errorf("%g Pa: %s off by %.3g of its deviation", site, Feature(f), x/rep.Sigma[f])
			}
		}
		if rep.Outcome != Fine || rep.Healthy < 0.8 {
			t.Errorf("%g Pa: %s, healthy %.2f", site, rep.Outcome, rep.Healthy)
		}
	}
}

func TestRefusesMissingReadings(t *testing.T) {
	tab, err := target.Load()
	if err != nil {
		t.Fatal(err)
	}
	d := draw(1, tab, true)
	for q := range Quantity(needed) {
		r := d.read
		r[q].Have = false
		if _, err := Run(d.know, r); err == nil {
			t.Errorf("ran without %s", q)
		}
	}
	r := d.read
	r[RestT].Have = false
	if _, err := Run(d.know, r); err == nil {
		t.Error("a standing pressure without its temperature was taken")
	}
}

func BenchmarkRun(b *testing.B) {
	tab, err := target.Load()
	if err != nil {
		b.Fatal(err)
	}
	d := draw(7, tab, true)
	for b.Loop() {
		if _, err := Run(d.know, d.read); err != nil {
			b.Fatal(err)
		}
	}
}
