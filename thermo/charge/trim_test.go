package charge

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// A bench machine answers by a physics of its own, none of it the fitted form. A
// valve unit: liquid beyond what seals the condenser's outlet floods its last
// passes; the flooded share cools by its transfer units, and what is left for
// condensing lifts the condensing temperature. A fixed bore: refrigerant feeds the
// evaporator further, superheat falls along a dry length that shrinks.
type bench struct {
	bore                    bool
	seal, pass              float64 // kg until the outlet is sealed; kg that would flood it all
	approach, units, lift   float64
	super, feed, soft, drop float64
	added, weather          float64
	rng                     *rand.Rand
	target                  float64
}

func (b *bench) truth() float64 {
	x := b.added
	if b.bore {
		// Dry length with a soft end, never below 0.
		z := (b.feed - x) / b.soft
		dry := b.soft * math.Log1p(math.Exp(z))
		return b.super * -math.Expm1(-dry/b.drop)
	}
	f := (x - b.seal) / b.pass
	if f <= 0 {
		return 0
	}
	f = math.Min(f, 0.8)
	return b.approach / math.Pow(1-f, b.lift) * -math.Expm1(-b.units*f)
}

func (b *bench) read() float64 {
	b.weather += 0.15 * b.rng.NormFloat64()
	y := b.truth() + b.weather + 0.25*b.rng.NormFloat64()
	if !b.bore {
		y = math.Max(y, 0)
	}
	return math.Round(y*18) / 18 // steps of 0.1 F
}

func newBench(seed uint64) *bench {
	r := rand.New(rand.NewPCG(seed, 5))
	u := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	b := &bench{rng: r, bore: r.IntN(3) == 0}
	charge := u(1.8, 5)
	if b.bore {
		b.target = u(4, 12)
		b.super, b.soft, b.drop = u(14, 24), charge*u(0.01, 0.04), charge*u(0.08, 0.2)
		// Where the target lies, then so much short of it.
		b.feed = 1
		for lo, hi, k := 0.0, 5.0, 0; k < 60; k++ {
			b.feed = (lo + hi) / 2
			if b.truth() < b.target {
				lo = b.feed
			} else {
				hi = b.feed
			}
		}
		b.feed += charge * u(0, 0.1)
		return b
	}
	b.target = u(4, 8)
	b.pass, b.approach, b.units, b.lift = charge*u(0.35, 0.7), u(9, 16), u(2.5, 6), u(0.3, 0.8)
	b.seal = 0
	full := 0.0
	for lo, hi, k := 0.0, 0.8*b.pass, 0; k < 60; k++ {
		b.added = (lo + hi) / 2
		if full = b.added; b.truth() < b.target {
			lo = b.added
		} else {
			hi = b.added
		}
	}
	b.added = 0
	b.seal = charge*u(0, 0.12) - full
	return b
}

// trim is the settings that a table of kinds would give, knowing neither machine.
func (b *bench) trim() *Trim {
	t := &Trim{Target: b.target, Band: 3 / 1.8, Noise: 0.35, Most: 0.5}
	if b.bore {
		t.Band = 5 / 1.8
		t.Answer = Answer{Slope: -25, Rel: 0.6}
		return t
	}
	t.Answer = Answer{Slope: 22, Rel: 0.5, Flat: true, Short: 0.3}
	return t
}

// beyond: too much was added.
func (b *bench) beyond(t *Trim) bool {
	if b.bore {
		return b.truth() < t.Target-t.Band
	}
	return b.truth() > t.Target+t.Band
}

func (b *bench) within(t *Trim) bool { return math.Abs(b.truth()-t.Target) <= t.Band }

// The law against a fixed step of 4 oz, which is common practice, no source.
func TestTrimMachines(t *testing.T) {
	const n, from = 300, 4000
	type tally struct{ reached, over, steps, short int }
	law := func(b *bench) (steps int, over, reached bool) {
		tr := b.trim()
		for {
			if err := tr.Read(b.added, b.read()); err != nil {
				t.Fatal(err)
			}
			s, err := tr.Next()
			if err != nil {
				t.Logf("%v", err)
				return steps, over, false
			}
			over = over || b.beyond(tr)
			if s.Done {
				return steps, over, b.within(tr)
			}
			if s.Held {
				if len(tr.read) > 8 {
					return steps, over, b.within(tr)
				}
				continue
			}
			if steps == 3 {
				return 4, over, b.within(tr) // would need a fourth
			}
			b.added += s.Add
			steps++
		}
	}
	rule := func(b *bench) (steps int, over, reached bool) {
		tr := b.trim()
		for {
			over = over || b.beyond(tr)
			y := b.read()
			if !b.bore && y >= tr.Target-tr.Band || b.bore && y <= tr.Target+tr.Band {
				return steps, over, b.within(tr)
			}
			if steps == 12 {
				return steps, over, b.within(tr)
			}
			b.added += 4 * ounce
			steps++
		}
	}
	var got [2]tally
	for i := range n {
		for k, f := range [...]func(*bench) (int, bool, bool){law, rule} {
			steps, over, reached := f(newBench(from + uint64(i)))
			if steps <= 3 && reached {
				got[k].reached++
			}
			if reached {
				got[k].short++
			}
			if over {
				got[k].over++
			}
			got[k].steps += steps
		}
	}
	for k, name := range [...]string{"fitted to the unit", "4 oz each time"} {
		g := got[k]
		t.Logf("%-20s of %d: in the band within 3 steps %d (%.1f %%), in the band at the end %d, beyond it on the way %d (%.1f %%), steps on average %.1f", name, n, g.reached, 100*float64(g.reached)/n, g.short, g.over, 100*float64(g.over)/n, float64(g.steps)/n)
	}
	if g := got[0]; float64(g.over) >= 0.02*n || float64(g.reached) < 0.95*n {
		t.Errorf("%+v", g)
	}
}

// Whatever was read: no step has more than the stated risk to go beyond the band,
// nor is larger than allowed; a reading far beyond asks to recover; a reading in
// the middle of a wide band is done.
func TestTrimLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sign := float64(rapid.SampledFrom([]int{-1, 1}).Draw(t, "sign"))
		tr := &Trim{Target: rapid.Float64Range(3, 10).Draw(t, "target"), Band: rapid.Float64Range(1, 4).Draw(t, "band"), Noise: rapid.Float64Range(0.1, 1).Draw(t, "noise"), Most: 0.5,
			Answer: Answer{Slope: sign * rapid.Float64Range(3, 60).Draw(t, "slope"), Rel: rapid.Float64Range(0.1, 0.8).Draw(t, "rel")}}
		off := rapid.Float64Range(-15, 15).Draw(t, "off")
		if err := tr.Read(0, tr.Target+off); err != nil {
			t.Fatal(err)
		}
		s, err := tr.Next()
		if err != nil {
			t.Fatal(err)
		}
		if s.Beyond > 0.01 || math.Abs(s.Add) > tr.Most || s.Expect > s.Expect2 || s.Done && s.Add != 0 {
			t.Fatalf("%+v", s)
		}
		if math.Abs(off) > tr.Band+4*tr.Noise {
			if s.Done {
				t.Fatalf("done at %g from the target", off)
			}
			if s.Add*off*sign > 0 {
				t.Fatalf("%g K off: %+v goes the wrong way", off, s)
			}
		}
	})
}

func TestTrimRefuses(t *testing.T) {
	ok := Trim{Target: 6, Band: 1, Noise: 0.3, Most: 0.5, Answer: Answer{Slope: 20, Rel: 0.5}}
	if _, err := ok.Next(); err == nil {
		t.Error("nothing read, yet a step")
	}
	if err := ok.Read(math.NaN(), 1); err == nil {
		t.Error("took NaN")
	}
	for _, f := range []func(*Trim){func(t *Trim) { t.Band = 0 }, func(t *Trim) { t.Answer.Slope = 0 }, func(t *Trim) { t.Noise = math.NaN() }, func(t *Trim) { t.Answer.Rel = 0 }, func(t *Trim) { t.Most = math.Inf(1) }} {
		x := ok
		f(&x)
		if err := x.Read(0, 3); err != nil {
			t.Fatal(err)
		}
		if s, err := x.Next(); err == nil {
			t.Errorf("%+v gave %+v", x, s)
		}
	}
}

// TestTrimOddReadings: readings that go the other way than any unit of the kind answers are
// a word to add nothing on, and none to stop on. Ounces and degrees Fahrenheit, as they are
// written down; a valve's unit of eight pounds, target 10 °F.
func TestTrimOddReadings(t *testing.T) {
	for _, steps := range [][][2]float64{
		{{0, 8.3}, {12, 17.4}, {-9, 10.4}},
		{{0, 10}, {12, 19}, {-12, 10}},
		{{0, 6}, {8, 4}},
		{{0, 8}, {-8, 11.5}},
	} {
		tr := BySubcooling(10/1.8, 3/1.8, 128*ounce)
		for _, s := range steps {
			if err := tr.Read(s[0]*ounce, s[1]/1.8); err != nil {
				t.Fatal(err)
			}
		}
		s, err := tr.Next()
		if err == nil && (!s.Held || s.Add != 0) {
			t.Errorf("%v: add %.1f oz, done %v, held %v", steps, s.Add/ounce, s.Done, s.Held)
		}
	}
	// One that answers as such units do is done, or goes on.
	tr := BySubcooling(10/1.8, 3/1.8, 128*ounce)
	for _, s := range [][2]float64{{0, 6}, {3, 8.6}} {
		if err := tr.Read(s[0]*ounce, s[1]/1.8); err != nil {
			t.Fatal(err)
		}
	}
	if s, err := tr.Next(); err != nil || s.Held {
		t.Errorf("an honest answer is held: %+v, %v", s, err)
	}
}
