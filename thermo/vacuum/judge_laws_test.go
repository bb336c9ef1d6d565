package vacuum

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"retrostage/assets/soak"
)

// Whatever is read: likelihoods are likelihoods, intervals are in order and begin
// at none where no leak is shown, more time is asked only where nothing is said,
// and what lets the technician go on is never said while a leak or vapour is still
// likely.
func TestJudgeLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{1, 2, 4, 6, 8, 14}).Draw(t, "n")
		step := rapid.Float64Range(20, 90).Draw(t, "step")
		p := rapid.Float64Range(0, 400).Draw(t, "start")
		slope := rapid.Float64Range(-0.1, 1).Draw(t, "slope")
		var ts, ps []float64
		for i := range n {
			ts = append(ts, step*float64(i))
			ps = append(ps, max(0, p+slope*step*float64(i)+rapid.Float64Range(-5, 5).Draw(t, "off")))
		}
		s := Setting{Abs: rapid.Float64Range(0.01, 2).Draw(t, "abs"), Rel: 0.01, Gain: 0.05, Pumped: rapid.Float64Range(0, 5000).Draw(t, "pumped"), Leak: worldLeak, Vapour: worldVapour}
		j, err := Judge(ts, ps, s)
		if err != nil {
			return
		}
		sum := 0.0
		for _, x := range j.Shapes {
			sum += x
		}
		for _, x := range [...]float64{j.Leak, j.Vapour, j.Water, j.Oil, sum} {
			if !(x >= 0 && x <= 1+1e-9) {
				t.Fatalf("%+v", j)
			}
		}
		if !(0 <= j.SlopeLow && j.SlopeLow <= j.SlopeHigh && 0 <= j.AnyLow && j.AnyLow <= j.AnyHigh) || math.IsNaN(j.Slope+j.More+j.Tends+j.At(300)) || math.IsInf(j.More+j.SlopeHigh, 0) {
			t.Fatalf("%+v", j)
		}
		if j.More != 0 && j.Word != Wait || j.More < 0 {
			t.Fatalf("%+v", j)
		}
		if j.Word == Tight && (j.Leak > absent || j.Vapour > absent) || j.Word == Leaking && (j.SlopeLow == 0 || j.Leak < there) || j.Word == Wet && j.SlopeLow != 0 {
			t.Fatalf("%+v", j)
		}
		if len(ts) > 0 && ts[len(ts)-1] < tenMin/2 && j.Word != Wait {
			t.Fatalf("said %s after %g s", j.Word, ts[len(ts)-1])
		}
	})
}

// A leak laid over readings makes a leak likelier and its bound higher; a straight
// rise far above what matters is a leak; readings that stay are tight.
func TestLeakAdded(t *testing.T) {
	rise := func(slope float64) Judgement {
		var ts, ps []float64
		for s := 0.0; s <= 1500; s += 30 {
			wiggle := 0.3 * math.Sin(s*s) // a scatter that is the same each time
			ts, ps = append(ts, s), append(ps, 40+0.5*math.Log1p(s/1800)+slope*s+wiggle)
		}
		j, err := Judge(ts, ps, Setting{Abs: 0.2, Rel: 0.005, Pumped: 1800, Leak: worldLeak, Vapour: worldVapour})
		if err != nil {
			t.Fatal(err)
		}
		return j
	}
	var before Judgement
	for i, slope := range []float64{0, 0.005, 0.02, 0.1, 0.4} {
		j := rise(slope)
		t.Logf("%.3f Pa/s: %s, leak %.3f, %.4f to %.4f Pa/s", slope, j.Word, j.Leak, j.SlopeLow, j.SlopeHigh)
		if i > 0 && (j.Leak < before.Leak-0.02 || j.AnyHigh < before.AnyHigh) {
			t.Errorf("%g Pa/s: less of a leak than before", slope)
		}
		if slope == 0 && j.Word != Tight || slope == 0.4 && j.Word != Leaking {
			t.Errorf("%g Pa/s: %s", slope, j.Word)
		}
		before = j
	}
}

func TestJudgeRefuses(t *testing.T) {
	ok := Setting{Abs: 0.1, Rel: 0.01, Leak: 0.01, Vapour: 10}
	ts, ps := []float64{0, 60, 120}, []float64{40, 41, 42}
	if j, err := Judge(ts, ps, ok); err != nil || j.Word != Wait || j.More <= 0 {
		t.Errorf("three readings: %+v %v", j, err)
	}
	for name, c := range map[string]struct {
		t, p []float64
		s    Setting
	}{
		"none":               {nil, nil, ok},
		"lengths":            {ts, ps[:2], ok},
		"backwards":          {[]float64{0, 2, 1}, ps, ok},
		"NaN":                {ts, []float64{1, math.NaN(), 2}, ok},
		"near the air":       {ts, []float64{1, 6e4, 2}, ok},
		"nothing matters":    {ts, ps, Setting{Abs: 0.1, Vapour: 10}},
		"perfect gauge":      {ts, ps, Setting{Leak: 0.01, Vapour: 10}},
		"coldest in Celsius": {ts, ps, Setting{Abs: 0.1, Leak: 0.01, Vapour: 10, Coldest: 20}},
	} {
		if j, err := Judge(c.t, c.p, c.s); err == nil {
			t.Errorf("%s gave %+v", name, j)
		}
	}
}

func BenchmarkJudge(b *testing.B) {
	for _, seed := range []uint64{2, 3} {
		w := draw(50000 + seed)
		ts, ps := w.run(1200)
		b.Run(w.kind.String(), func(b *testing.B) {
			for b.Loop() {
				if _, err := Judge(ts, ps, w.setting()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// The band holds what a world of another physics does next: readings that were not
// judged lie in it, give or take their own scatter, in at least nine of ten.
func TestBandHoldsWhatComes(t *testing.T) {
	in, all := 0, 0
	for seed := uint64(81000); seed < uint64(81000+soak.Count(15, 30)); seed++ {
		w := draw(seed)
		ts, ps := w.run(1500)
		k := 0
		for k < len(ts) && ts[k] <= 1200 {
			k++
		}
		j, err := Judge(ts[:k], ps[:k], w.setting())
		if err != nil {
			t.Fatal(err)
		}
		for i := range ts {
			if i < k && i%5 != 0 || ts[i] < Settle {
				continue
			}
			lo, hi := j.Band(ts[i])
			if lo > hi || math.IsNaN(lo+hi) {
				t.Fatalf("world %d: %g to %g Pa", seed, lo, hi)
			}
			if i < k {
				continue
			}
			slack := 2 * (w.setting().Abs + w.setting().Rel*ps[i])
			all++
			if ps[i] >= lo-slack && ps[i] <= hi+slack {
				in++
			}
		}
	}
	t.Logf("%d of %d later readings lie in the band", in, all)
	if float64(in) < 0.9*float64(all) {
		t.Errorf("%d of %d later readings lie in the band", in, all)
	}
	var none Judgement
	if lo, hi := none.Band(600); lo != 0 || hi != 0 {
		t.Errorf("nothing judged, yet %g to %g", lo, hi)
	}
}
