package vacuum

import (
	"fmt"
	"math"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// attainable is the standard uncertainty, Pa/s, of the steady rise when the true
// form is known: the Bayesian information bound of the world itself, every
// constant of its physics free within what it was drawn from, noise, steps, gain,
// drift and the walk of the temperature (which is not read) as they truly scatter.
func (w world) attainable(length float64) float64 {
	var at []float64
	for s := w.every; s <= length; s += w.every {
		if s >= Settle {
			at = append(at, s)
		}
	}
	per := max(1, len(at)/bins)
	groups := len(at) / per
	condense := func(p []float64) []float64 {
		out := make([]float64, groups)
		for i := range groups * per {
			out[i/per] += p[int(at[i])] / float64(per)
		}
		return out
	}
	clean := func(v world) []float64 { return condense(v.clean(length, false)) }
	base := clean(w)
	cov := mat.NewSymDense(groups, nil)
	const walks = 60
	var paths [][]float64
	mean := make([]float64, groups)
	for k := range walks {
		v := w
		v.seed = w.seed*1000 + uint64(k) + 1<<40
		p := condense(v.clean(length, true))
		paths = append(paths, p)
		for i := range p {
			mean[i] += p[i] / walks
		}
	}
	for i := range groups {
		ti := at[i*per]
		for j := range i + 1 {
			v := base[i] * base[j] * 0.01 / 3600 * 0.01 / 3600 * ti * at[j*per]
			for _, p := range paths {
				v += (p[i] - mean[i]) * (p[j] - mean[j]) / (walks - 1)
			}
			if i == j {
				u := w.noise * base[i]
				v += (u*u + w.floor*w.floor + w.step*w.step/12) / float64(per)
			}
			cov.SetSym(i, j, v)
		}
	}
	// Columns: the leak, then each other constant by a step of a tenth of the width
	// it was drawn from.
	type constant struct {
		sd   float64
		move func(v *world, d float64)
	}
	log := func(sd float64, f func(v *world) *float64) constant {
		return constant{sd, func(v *world, d float64) { *f(v) *= math.Exp(d) }}
	}
	free := []constant{
		log(math.Log(15)/math.Sqrt(12), func(v *world) *float64 { return &v.wall }),
		{0.4 / math.Sqrt(12), func(v *world, d float64) { v.exponent += d }},
		log(math.Log(100)/math.Sqrt(12), func(v *world) *float64 { return &v.oilC }),
		log(math.Log(7)/math.Sqrt(12), func(v *world) *float64 { return &v.oilD }),
		log(math.Log(10)/math.Sqrt(12), func(v *world) *float64 { return &v.oilH }),
	}
	if w.patch > 0 {
		free = append(free, log(math.Log(5)/math.Sqrt(12), func(v *world) *float64 { return &v.patchK }),
			log(math.Log(15)/math.Sqrt(12), func(v *world) *float64 { return &v.patchUA }),
			log(math.Log(100)/math.Sqrt(12), func(v *world) *float64 { return &v.patch }))
	} else if w.sites[0] > 0 {
		for i := range w.sites {
			free = append(free, log(math.Log(20)/math.Sqrt(12), func(v *world) *float64 { return &v.siteK[i] }))
		}
		free = append(free, constant{math.Log(10) / math.Sqrt(12), func(v *world, d float64) {
			for i := range v.sites {
				v.sites[i] *= math.Exp(d)
			}
		}})
	}
	n := len(free) + 1
	jac := mat.NewDense(groups, n, nil)
	set := func(k int, hi, lo []float64, d float64) {
		for i := range groups {
			jac.Set(i, k, (hi[i]-lo[i])/d)
		}
	}
	v := w
	v.leak += worldLeak * w.volume
	set(0, clean(v), base, 1)
	for k, c := range free {
		hi, lo := w, w
		c.move(&hi, c.sd/10)
		c.move(&lo, -c.sd/10)
		set(k+1, clean(hi), clean(lo), c.sd/5)
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		return math.NaN()
	}
	var vj, info mat.Dense
	if err := chol.SolveTo(&vj, jac); err != nil {
		return math.NaN()
	}
	info.Mul(jac.T(), &vj)
	for k, c := range free {
		info.Set(k+1, k+1, info.At(k+1, k+1)+1/(c.sd*c.sd))
	}
	var inv mat.Dense
	if err := inv.Inverse(&info); err != nil {
		return math.NaN()
	}
	return math.Hypot(worldLeak*math.Sqrt(inv.At(0, 0)), 0.03*w.slope())
}

// The stated intervals against the best attainable ones, both cut off at 0.
func TestWidth(t *testing.T) {
	n, from := 24, 50000
	if os.Getenv("RETROSTAGE_SOAK") != "" {
		n = 300
	}
	fmt.Sscan(os.Getenv("RETROSTAGE_SEED"), &from)
	fmt.Sscan(os.Getenv("RETROSTAGE_WORLDS"), &n)
	var all, leaks []float64
	ours, best, inside := 0.0, 0.0, 0
	var byWord [LeakingWet + 1][2]int // said; of these covered
	for i := range n {
		r, err := try(uint64(from + i))
		if err != nil {
			t.Fatal(err)
		}
		u := r.w.attainable(r.length)
		if math.IsNaN(u) {
			t.Errorf("world %d: no bound", r.w.seed)
			continue
		}
		s := r.w.slope()
		b := 2 * 1.96 * u
		if s < 1.96*u {
			b = s + 1.645*u // none cannot be left out: one-sided
		}
		o := r.last.SlopeHigh - r.last.SlopeLow
		all = append(all, o/b)
		if s >= worldLeak {
			leaks = append(leaks, o/b)
		}
		ours, best = ours+o, best+b
		if r.last.SlopeLow <= s && s <= r.last.SlopeHigh {
			inside++
			byWord[r.last.Word][1]++
		}
		byWord[r.last.Word][0]++
		if os.Getenv("RETROSTAGE_SHOW") != "" {
			t.Logf("%d %d true %.3g u %.2g best %.3g ours %.3g [%.3g %.3g] %s", r.w.seed, r.w.kind, s, u, b, o, r.last.SlopeLow, r.last.SlopeHigh, r.last.Word)
		}
	}
	for w := Wait; w <= LeakingWet; w++ {
		t.Logf("%s: %d, interval covers %d", w, byWord[w][0], byWord[w][1])
	}
	slices.Sort(all)
	slices.Sort(leaks)
	q := func(x []float64, p float64) float64 { return x[int(p*float64(len(x)-1))] }
	t.Logf("%d worlds: width over the best attainable, median %.2f (a quarter below %.2f, above %.2f); with a leak that matters %.2f (of %d); sum over sum %.2f; covers %.1f %%", len(all), q(all, 0.5), q(all, 0.25), q(all, 0.75), q(leaks, 0.5), len(leaks), ours/best, pct(inside, len(all)))
	// Few draws of the quick run: about three standard deviations.
	slack := 3 * 100 * math.Sqrt(0.06/float64(n))
	if n >= 300 {
		slack = 0
	}
	if q(all, 0.5) > 1.25 || pct(inside, len(all)) < 93-slack {
		t.Errorf("aims: median width 1.25 of the best attainable, 93 %% covered (slack %.1f)", slack)
	}
}
