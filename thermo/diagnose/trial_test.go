package diagnose

import (
	"flag"
	"testing"

	"retrostage/thermo/target"
)

var long = flag.Bool("long", false, "run all 2,000 synthetic checks, with plain and with full readings")

// held marks the third of the seeds that no figure in the package was set by.
func held(seed uint64) bool   { return seed%3 == 2 }
func tuning(seed uint64) bool { return !held(seed) }

// What is asked on 2,000 runs: the right cause first in 90 % at moderate
// severity, fewer than 3 % of healthy machines accused. It is asserted for all
// runs with full readings. Plain readings lack what tells a throttling valve from
// a blocked line (the liquid's temperature at the valve) and gas from too much
// charge (the standing pressure), so less is asked of them. The short run is a
// sample of the same seeds, with bounds as wide as its size makes them.
func TestSyntheticFaults(t *testing.T) {
	for _, c := range []struct {
		full           bool
		first, accused float64
	}{{false, 0.78, 0.04}, {true, 0.90, 0.03}} {
		n := uint64(240)
		if *long {
			n = 2000
		} else {
			c.first, c.accused = c.first-0.10, c.accused+0.05
		}
		sum := new(tally)
		for _, part := range []struct {
			name string
			keep func(uint64) bool
		}{{"tuning seeds", tuning}, {"held-back seeds", held}} {
			a := trial(t, 0, n, part.keep, c.full, Assume())
			t.Logf("%s, full readings %v:\n%s", part.name, c.full, a)
			sum.add(a)
		}
		f, runs := sum.rate(moderate, false)
		t.Logf("all %d runs, full readings %v: right cause first %d/%d at moderate severity, healthy accused %d/%d", n, c.full, f, runs, sum.accused, sum.healthy)
		if got := float64(f) / float64(runs); got < c.first {
			t.Errorf("full readings %v: right cause first in %.1f %%, want %.0f", c.full, 100*got, 100*c.first)
		}
		if got := float64(sum.accused) / float64(sum.healthy); got > c.accused {
			t.Errorf("full readings %v: %.1f %% of healthy machines accused, want at most %.0f", c.full, 100*got, 100*c.accused)
		}
		if float64(sum.errors) > 0.01*float64(n) {
			t.Errorf("%d of %d runs refused", sum.errors, n)
		}
	}
}

// The same readings give the same ranking, probabilities add up to one, and
// every cause has a next test.
func TestReport(t *testing.T) {
	tab, err := target.Load()
	if err != nil {
		t.Fatal(err)
	}
	for seed := uint64(0); seed < 12; seed++ {
		d := draw(seed, tab, true)
		rep, err := Run(d.know, d.read)
		if err != nil {
			t.Fatal(err)
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
