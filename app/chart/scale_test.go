package chart

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func p(v float64) *float64 { return &v }

func TestLayPlacesBandTargetAndValue(t *testing.T) {
	g := Lay(Scale{Value: 9, Half: 1, Has: true, Low: p(7), High: p(13), Target: p(10)})
	if !g.Scaled || !g.HasBand || !g.HasTarget || !g.HasValue {
		t.Fatalf("marks missing: %+v", g)
	}
	for name, c := range map[string]struct{ got, v float64 }{
		"band low": {g.BandLow, 7}, "band high": {g.BandHigh, 13}, "target": {g.Target, 10},
		"value": {g.Value, 9}, "whisker low": {g.WhiskLow, 8}, "whisker high": {g.WhiskHigh, 10},
	} {
		if want := (c.v - g.Min) / (g.Max - g.Min); math.Abs(c.got-want) > 1e-12 {
			t.Errorf("%s at %g, want %g", name, c.got, want)
		}
	}
	if len(g.Ticks) < 3 || len(g.Ticks) > 9 {
		t.Errorf("%d ticks", len(g.Ticks))
	}
}

func TestBandStaysPutWhileTheValueMovesInsideIt(t *testing.T) {
	a := Lay(Scale{Low: p(7), High: p(13), Target: p(10)})
	for v := 7.0; v <= 13; v += 0.25 {
		b := Lay(Scale{Value: v, Half: 0.5, Has: true, Low: p(7), High: p(13), Target: p(10)})
		if a.Min != b.Min || a.Max != b.Max {
			t.Fatalf("scale moved from [%g,%g] to [%g,%g] at value %g", a.Min, a.Max, b.Min, b.Max, v)
		}
	}
}

func TestOneSidedAndBareLimits(t *testing.T) {
	g := Lay(Scale{Value: 4, Has: true, High: p(5)})
	if !g.OpenLow || g.OpenHigh || g.BandLow != 0 || g.BandHigh >= 1 {
		t.Errorf("one-sided band: %+v", g)
	}
	if g = Lay(Scale{Value: 4, Has: true}); g.Scaled || !g.HasValue {
		t.Errorf("no limit must draw no scale: %+v", g)
	}
	if g = Lay(Scale{Low: p(0), High: p(0)}); !(g.Max > g.Min) {
		t.Errorf("band of no width: %+v", g)
	}
}

func TestFarValueIsMarkedOffScale(t *testing.T) {
	g := Lay(Scale{Value: 5000, Has: true, Low: p(7), High: p(13)})
	if !g.OffHigh || g.Value != 1 {
		t.Errorf("a far value must be an arrow at the end: %+v", g)
	}
	if g.BandHigh-g.BandLow < 0.05 {
		t.Errorf("the band shrank to %g of the scale", g.BandHigh-g.BandLow)
	}
}

// Law: whatever is put in, every fraction is in [0,1], order is kept and ticks
// rise.
func TestLayLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-500, 500),
			rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 1e308, -1e308, 1e-300}))
		opt := rapid.Custom(func(t *rapid.T) *float64 {
			if rapid.Bool().Draw(t, "nil") {
				return nil
			}
			v := num.Draw(t, "v")
			return &v
		})
		in := Scale{Value: num.Draw(t, "value"), Half: num.Draw(t, "half"), Has: rapid.Bool().Draw(t, "has"),
			Low: opt.Draw(t, "low"), High: opt.Draw(t, "high"), Target: opt.Draw(t, "target")}
		g := Lay(in)
		for i, f := range []float64{g.BandLow, g.BandHigh, g.Target, g.Value, g.WhiskLow, g.WhiskHigh} {
			if !(f >= 0 && f <= 1) {
				t.Fatalf("fraction %d is %g for %+v", i, f, in)
			}
		}
		if g.BandLow > g.BandHigh || g.WhiskLow > g.Value || g.Value > g.WhiskHigh {
			t.Fatalf("order lost: %+v", g)
		}
		if g.Scaled && !(g.Max > g.Min) {
			t.Fatalf("scale of no length: %+v from %+v", g, in)
		}
		if len(g.Ticks) > 20 {
			t.Fatalf("%d ticks", len(g.Ticks))
		}
		for i := 1; i < len(g.Ticks); i++ {
			if g.Ticks[i].At <= g.Ticks[i-1].At {
				t.Fatalf("ticks do not rise: %+v", g.Ticks)
			}
		}
	})
}

func BenchmarkLay(b *testing.B) {
	in := Scale{Value: 9, Half: 1, Has: true, Low: p(7), High: p(13), Target: p(10)}
	for b.Loop() {
		Lay(in)
	}
}
