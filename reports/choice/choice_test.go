package choice

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.9g, want %.9g within %g", what, got, want, rel)
	}
}

// TestClosedForms holds the quadrature against what is known without it.
func TestClosedForms(t *testing.T) {
	// Shape 1 forgets its age: E[a(T)] = 1/(d + 1/scale), E[T] = scale (1 - exp(-60/scale)).
	for _, age := range []float64{0, 13} {
		l := Life{Part: "x", Shape: 1, Scale: 6, Age: age}
		worth, years := served([][]float64{l.curve()}, 0.04)
		r := 0.04 + 1.0/6
		near(t, "annuity of an exponential life", worth, -math.Expm1(-r*Longest)/r, 1e-10)
		near(t, "years of an exponential life", years, 6*-math.Expm1(-Longest/6), 1e-10)
		two, _ := served([][]float64{l.curve(), l.curve()}, 0.04)
		r += 1.0 / 6
		near(t, "first of two", two, -math.Expm1(-r*Longest)/r, 1e-10)
	}
	for _, k := range []float64{1.5, 2.5, 4, 9} {
		l := Life{Part: "x", Shape: k, Scale: 5}
		_, years := served([][]float64{l.curve()}, 0)
		near(t, fmt.Sprintf("mean of shape %g", k), years, l.Mean(), 1e-4)
	}
	// Rayleigh: mean = scale sqrt(pi)/2, variance = scale² (1 - pi/4).
	l := Life{Part: "x", Shape: 2, Scale: 3}
	near(t, "Rayleigh mean", l.Mean(), 3*math.Sqrt(math.Pi)/2, 1e-14)
	near(t, "Rayleigh variance", l.Var(), 9*(1-math.Pi/4), 1e-13)
	// Present values by the sums of school: 10 years at 5 %, paid over each year.
	d := math.Log1p(0.05)
	sum := 0.0
	for i := range 10 {
		sum += math.Pow(1.05, -float64(i)) * (1 - 1/1.05) / d
	}
	near(t, "annuity", annuity(10, d), sum, 1e-13)
	near(t, "level of what does not rise", level(0, 0.05, 10), 1, 1e-15)
	near(t, "level of what rises with the rate", level(0.05, 0.05, 10), 10/annuity(10, d), 1e-13)
}

// plain is an option of which everything is in doubt.
func plain(name string, part float64) Option {
	return Option{Key: name, Name: name, Part: Around(part, 0.2), Labour: Spread{400, 600, 1100}, Other: Around(150, 0.3), Disposal: Spread{0, 20, 80},
		Refrigerant: Refrigerant{Kg: Around(3, 0.2), PerKg: Spread{20, 35, 70}, Leak: Spread{0, 0.05, 0.3}, Rise: 0.05},
		Upkeep:      Around(120, 0.3), Energy: Around(3000, 0.1),
		Lives: []Life{{Part: "compressor of " + name, Shape: 2.5, Scale: 15, Doubt: 0.3, Recalled: true}, {Part: "indoor coil", Shape: 3, Scale: 20, Age: 9, Doubt: 0.2, Recalled: true}}}
}

func terms() Terms {
	return Terms{Discount: 0.03, Tariff: Spread{0.12, 0.15, 0.2}, TariffRise: 0.01, Hours: Around(1, 0.25), Horizon: 10}
}

// TestDraws holds what is drawn against what is computed without drawing.
func TestDraws(t *testing.T) {
	os := []Option{plain("a", 1000), plain("b", 3500)}
	os[1].Lives[0].Scale = 19
	const n = 400_000
	out, err := Simulate(context.Background(), os, terms(), n, 7, nil)
	if err != nil {
		t.Fatal(err)
	}
	r, err := Compare(os, terms())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range r.Costs {
		d := out.Options[c.Option]
		near(t, "capital", d.meanCapital, c.Capital, 2e-3)
		near(t, "worth", d.meanWorth, c.Worth, 4e-3)
		near(t, "years", d.meanYears, c.Years, 4e-3)
		near(t, "running", d.meanRunning, c.Energy+c.Refill+c.Upkeep, 2e-3)
	}
	near(t, "shares", out.Options[0].Cheapest+out.Options[1].Cheapest, 1, 1e-9)
	// One part, new, without doubt: the draws have Weibull's own mean and variance.
	one := plain("w", 1)
	one.Lives = []Life{{Part: "w", Shape: 2.5, Scale: 10}}
	out, err = Simulate(context.Background(), []Option{one}, terms(), n, 9, nil)
	if err != nil {
		t.Fatal(err)
	}
	d := out.Options[0]
	near(t, "drawn mean", d.meanYears, one.Lives[0].Mean(), 3e-3)
	near(t, "drawn variance", d.sqYr-d.meanYears*d.meanYears, one.Lives[0].Var(), 1e-2)
	near(t, "drawn median", d.Years.Middle, 10*math.Pow(math.Ln2, 1/2.5), 5e-3)
}

func TestSpread(t *testing.T) {
	s := Spread{1, 2, 6}
	const n = 200_000
	m, q := 0.0, 0.0
	for i := range n {
		x := s.At((float64(i) + 0.5) / n)
		m += x / n
		q += x * x / n
	}
	near(t, "mean", s.Mean(), m, 1e-6)
	near(t, "variance", s.Var(), q-m*m, 1e-4)
}

func TestNth(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-3, 3), 1, 60).Draw(rt, "x")
		k := rapid.IntRange(0, len(x)-1).Draw(rt, "k")
		sorted := slices.Sorted(slices.Values(x))
		if got := nth(x, k); got != sorted[k] {
			rt.Fatalf("%d-th: %g, want %g", k, got, sorted[k])
		}
	})
}

// TestSameSeed: an outcome hangs on the seed and not on who drew.
func TestSameSeed(t *testing.T) {
	os := []Option{plain("a", 1000), plain("b", 3500), plain("c", 2000)}
	first, err := Simulate(context.Background(), os, terms(), 5500, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		again, err := Simulate(context.Background(), os, terms(), 5500, 1, nil)
		if err != nil || fmt.Sprint(again) != fmt.Sprint(first) {
			t.Fatalf("another outcome of the same seed: %v\n%v\n%v", err, again, first)
		}
	}
	other, _ := Simulate(context.Background(), os, terms(), 5500, 2, nil)
	if fmt.Sprint(other) == fmt.Sprint(first) {
		t.Fatal("another seed, the same outcome")
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	_, err := Simulate(ctx, []Option{plain("a", 1000)}, terms(), 5_000_000, 1, func(done int) {
		if done > 10_000 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Fatalf("cancelled: %v", err)
	}
}

// drawnOption is an option of chance.
func drawnOption(rt *rapid.T, name string) Option {
	spread := func(what string, hi float64) Spread {
		xs := []float64{rapid.Float64Range(0, hi).Draw(rt, what), rapid.Float64Range(0, hi).Draw(rt, what), rapid.Float64Range(0, hi).Draw(rt, what)}
		slices.Sort(xs)
		return Spread{xs[0], xs[1], xs[2]}
	}
	o := Option{Name: name, Part: spread("part", 9000), Labour: spread("labour", 3000), Disposal: spread("disposal", 200), Upkeep: spread("upkeep", 400), Energy: spread("energy", 9000),
		Refrigerant: Refrigerant{Kg: spread("kg", 8), PerKg: spread("price", 120), Leak: spread("leak", 2), Rise: rapid.Float64Range(-0.05, 0.3).Draw(rt, "rise")}}
	for i := range rapid.IntRange(1, 3).Draw(rt, "parts") {
		scale := rapid.Float64Range(1, 40).Draw(rt, "scale")
		o.Lives = append(o.Lives, Life{Part: fmt.Sprint("part ", i), Shape: rapid.Float64Range(0.5, 8).Draw(rt, "shape"), Scale: scale,
			Age: rapid.Float64Range(0, 0.8).Draw(rt, "age") * scale, Doubt: rapid.SampledFrom([]float64{0, 0.3}).Draw(rt, "doubt"), Recalled: true})
	}
	return o
}

func drawnTerms(rt *rapid.T) Terms {
	return Terms{Discount: rapid.Float64Range(0, 0.15).Draw(rt, "discount"), Tariff: Around(rapid.Float64Range(0.05, 0.5).Draw(rt, "tariff"), 0.2),
		TariffRise: rapid.Float64Range(-0.05, 0.1).Draw(rt, "tariff rise"), Hours: Around(1, 0.2), Horizon: rapid.Float64Range(1, 30).Draw(rt, "horizon")}
}

func perYear(rt *rapid.T, o Option, t Terms) float64 {
	r, err := Compare([]Option{o}, t)
	if err != nil {
		rt.Fatal(err)
	}
	return r.Costs[0].PerYear
}

// TestWornOut: a part that all but surely has failed by now is refused, not divided by.
func TestWornOut(t *testing.T) {
	o := plain("old", 1000)
	o.Lives = []Life{{Part: "coil", Shape: 8, Scale: 1, Age: 30}}
	if r, err := Compare([]Option{o}, terms()); err == nil && !(r.Costs[0].PerYear > 1e6) {
		t.Errorf("%+v", r)
	}
}

// TestLaws: a cheaper part never raises its option's cost, a longer life never
// raises the cost per year, an older part never lowers it (for parts that wear),
// and an option worse in every respect than another is never first.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		o, terms := drawnOption(rt, "o"), drawnTerms(rt)
		was := perYear(rt, o, terms)
		slack := 1e-9 * (1 + was)

		cheap := clone(o)
		cheap.Part = o.Part.Times(rapid.Float64Range(0, 1).Draw(rt, "cheaper by"))
		if now := perYear(rt, cheap, terms); now > was+slack {
			rt.Fatalf("a cheaper part raises %g to %g", was, now)
		}
		long := clone(o)
		i := rapid.IntRange(0, len(o.Lives)-1).Draw(rt, "which")
		long.Lives[i].Scale *= rapid.Float64Range(1, 2).Draw(rt, "longer by")
		if now := perYear(rt, long, terms); now > was+slack {
			rt.Fatalf("a longer life raises %g to %g", was, now)
		}

		bad := clone(o)
		bad.Name = "worse"
		bad.Part = Spread{o.Part.Low + 1, o.Part.Likely + 1, o.Part.High + 1}
		bad.Energy = o.Energy.Times(rapid.Float64Range(1, 2).Draw(rt, "more energy"))
		bad.Labour = o.Labour.Times(rapid.Float64Range(1, 2).Draw(rt, "more labour"))
		bad.Refrigerant.Leak = o.Refrigerant.Leak.Times(rapid.Float64Range(1, 3).Draw(rt, "more leak"))
		bad.Lives[i].Scale /= rapid.Float64Range(1, 2).Draw(rt, "shorter by")
		if bad.Lives[i].Scale < 0.5 {
			bad.Lives[i].Scale = o.Lives[i].Scale
		}
		if rapid.Bool().Draw(rt, "one part more") {
			bad.Lives = append(bad.Lives, Life{Part: "more", Shape: 2, Scale: 20})
		}
		list := []Option{bad, o, drawnOption(rt, "third")}
		at := rapid.SampledFrom([]int{0, 1, 2}).Draw(rt, "place")
		list[0], list[at] = list[at], list[0]
		r, err := Compare(list, terms)
		if err != nil {
			rt.Fatal(err)
		}
		if list[r.Costs[0].Option].Name == "worse" {
			rt.Fatalf("a dominated option is first: %+v", r.Costs)
		}
	})
}

// TestBreakEven: at its break-even price an option costs as much as the best other.
func TestBreakEven(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		terms := drawnTerms(rt)
		list := []Option{drawnOption(rt, "a"), drawnOption(rt, "b"), drawnOption(rt, "c")}
		r, err := Compare(list, terms)
		if err != nil {
			rt.Fatal(err)
		}
		for _, c := range r.Costs {
			best := math.Inf(1)
			for _, d := range r.Costs {
				if d.Option != c.Option {
					best = min(best, d.PerYear)
				}
			}
			o := clone(list[c.Option])
			o.Part = Sure(c.BreakEven.Price)
			got := perYear(rt, o, terms)
			if c.BreakEven.Never {
				if got < best*(1-1e-9) {
					rt.Fatalf("never, but free it costs %g against %g", got, best)
				}
			} else if math.Abs(got-best) > 1e-7*(1+best) {
				rt.Fatalf("at its break-even price %g a year, the best other %g", got, best)
			}
		}
	})
}

// TestJudge: what is twice as dear is told apart, what is the same is not; the lives
// that nobody looked up are named.
func TestJudge(t *testing.T) {
	judge := func(os ...Option) Verdict {
		t.Helper()
		r, err := Compare(os, terms())
		if err != nil {
			t.Fatal(err)
		}
		v, ok, err := Judge(os, terms(), r)
		if err != nil || !ok {
			t.Fatal(err, ok)
		}
		return v
	}
	if v := judge(plain("a", 1000), plain("b", 1010)); len(v.Close()) != 1 {
		t.Errorf("1 %% apart in price and told apart: %+v", v.Leads)
	}
	dear := plain("dear", 9000)
	if v := judge(dear, plain("a", 800)); v.First != 1 || len(v.Close()) != 0 {
		t.Errorf("eleven times the price and not told apart: %+v", v.Leads)
	}
	v := judge(plain("a", 1000), plain("b", 2000))
	if !slices.Contains(v.Recalled, "indoor coil") || len(v.Recalled) != 3 {
		t.Errorf("recalled lives: %v", v.Recalled)
	}
	if len(v.Swings) < 5 || !slices.IsSortedFunc(v.Swings, func(a, b Swing) int {
		if a.Width() > b.Width() {
			return -1
		}
		return 1
	}) {
		t.Errorf("swings: %+v", v.Swings)
	}
}

func TestRefusals(t *testing.T) {
	o := plain("a", 1000)
	hp := terms()
	hp.HeatPump = true
	if _, err := Compare([]Option{o}, hp); !errors.Is(err, ErrHeatPump) {
		t.Errorf("heat pump: %v", err)
	}
	for name, f := range map[string]func(*Option, *Terms){
		"price below nothing": func(o *Option, _ *Terms) { o.Part = Spread{-1, 0, 2} },
		"price not a number":  func(o *Option, _ *Terms) { o.Part.High = math.NaN() },
		"spread turned round": func(o *Option, _ *Terms) { o.Labour = Spread{5, 3, 9} },
		"no life":             func(o *Option, _ *Terms) { o.Lives = nil },
		"shape":               func(o *Option, _ *Terms) { o.Lives[0].Shape = 0 },
		"discount":            func(_ *Option, t *Terms) { t.Discount = 1 },
		"horizon":             func(_ *Option, t *Terms) { t.Horizon = 0 },
		"no tariff":           func(_ *Option, t *Terms) { t.Tariff = Spread{0.2, 0.1, 0.1} },
	} {
		o, tt := clone(o), terms()
		f(&o, &tt)
		if r, err := Compare([]Option{o}, tt); err == nil {
			t.Errorf("%s: %+v, want a refusal", name, r)
		}
	}
	lacks := plain("lacks", 1)
	lacks.Missing = []string{"price"}
	r, err := Compare([]Option{lacks, o}, terms())
	if err != nil || len(r.Costs) != 1 || r.Costs[0].Option != 1 || !r.Costs[0].BreakEven.Alone || !slices.Equal(r.Out, []int{0}) {
		t.Errorf("an option that lacks its price: %+v, %v", r, err)
	}
	if _, ok, _ := Judge([]Option{lacks, o}, terms(), r); ok {
		t.Error("a verdict over one option")
	}
}

// BenchmarkSimulate is 100,000 draws of five options.
func BenchmarkSimulate(b *testing.B) {
	var os []Option
	for i := range 5 {
		os = append(os, plain(fmt.Sprint(i), 1000+500*float64(i)))
	}
	for b.Loop() {
		if _, err := Simulate(context.Background(), os, terms(), 100_000, 1, func(int) {}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkJudge(b *testing.B) {
	var os []Option
	for i := range 5 {
		os = append(os, plain(fmt.Sprint(i), 1000+500*float64(i)))
	}
	for b.Loop() {
		r, err := Compare(os, terms())
		if err != nil {
			b.Fatal(err)
		}
		if _, _, err := Judge(os, terms(), r); err != nil {
			b.Fatal(err)
		}
	}
}
