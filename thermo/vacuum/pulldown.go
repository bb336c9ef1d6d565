package vacuum

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// PullDown is a fitted pull-down, read at the circuit while the pump runs:
//
//	p = air exp(-k t) + floor + giving-off 600 s/(t + 60 s) + water
//
// where water holds its plateau until it has boiled off and then goes as the air
// does. k is the pump's speed at the circuit over the free volume.
type PullDown struct {
	K, UK    float64 // 1/s
	Floor    float64 // Pa: what the pump, or a leak against it, does not go below
	GivesOff float64 // Pa, after ten minutes, falling as one over the time
	Plateau  float64 // Pa of water; 0: none seen
	Dry      float64 // s: when the water had boiled off, where Plateau is above 0
	Boiling  float64 // likelihood that water still boils at the end of the readings

	// Time still needed from the last reading, s, with its 95 % interval; 0 where
	// the target is reached. Reaches is the likelihood that pumping on in this way
	// gets there within Horizon at all; below a half no time is given.
	Left, LeftLow, LeftHigh float64
	Reaches                 float64

	all []pull // what explains the readings, by weight
}

// At is the middle of the fits at t, s since the pump was started, and the band that
// holds 95 % of them, Pa; a reading's own scatter is not in it. 0 without a fit.
func (d PullDown) At(t float64) (mid, lo, hi float64) {
	type part struct{ p, w float64 }
	var parts []part
	for i := range d.all {
		parts = append(parts, part{d.all[i].at(t), d.all[i].w})
	}
	slices.SortFunc(parts, func(a, b part) int { return cmp.Compare(a.p, b.p) })
	quantile := func(q float64) float64 {
		sum := 0.0
		for _, x := range parts {
			if sum += x.w; sum >= q {
				return x.p
			}
		}
		return parts[len(parts)-1].p
	}
	if len(parts) == 0 {
		return 0, 0, 0
	}
	return quantile(0.5), quantile(0.025), quantile(0.975)
}

// Horizon is how far ahead a pull-down is reckoned, s.
const Horizon = 12 * 3600.0

// pull is one set of constants with its weight.
type pull struct {
	k, dry float64
	x      [4]float64 // air, floor, giving-off, water
	w      float64
}

func (q *pull) at(t float64) float64 {
	c := pullColumns(q.k, q.dry, t)
	return q.x[0]*c[0] + q.x[1]*c[1] + q.x[2]*c[2] + q.x[3]*c[3]
}

func pullColumns(k, dry, t float64) [4]float64 {
	w := 1.0
	if t > dry {
		w = math.Exp(-k * (t - dry))
	}
	return [4]float64{math.Exp(-k * t), 1, tenMin / (t + 60), w}
}

// FitPullDown fits readings of a pull-down, s since the pump was started and Pa,
// each good to rel of itself and abs, Pa, and tells the time still needed to
// target, Pa. coldest, K, is the coldest part, where water would boil. At least
// six readings, times rising from 0, pressures above 0 to 150 kPa.
func FitPullDown(t, p []float64, abs, rel, target, coldest float64) (PullDown, error) {
	if len(t) != len(p) || len(t) < 6 || len(t) > 100_000 {
		return PullDown{}, fmt.Errorf("vacuum: pull-down of %d times and %d pressures; allowed the same number, 6 to 100000", len(t), len(p))
	}
	for i := range t {
		if !(t[i] >= 0 && t[i] < 1e7 && p[i] > 0 && p[i] <= 150e3) || i > 0 && !(t[i] > t[i-1]) {
			return PullDown{}, fmt.Errorf("vacuum: pull-down reading %d is %g Pa at %g s; allowed above 0 to 150 kPa, times rising from 0", i+1, p[i], t[i])
		}
	}
	if !(abs > 0 && rel >= 0.005 && rel < 0.5 && target > 0) || math.IsInf(abs+target, 0) {
		return PullDown{}, fmt.Errorf("vacuum: pull-down readings good to %g Pa and %g of themselves, target %g Pa; allowed above 0, 0.005 to 0.5", abs, rel, target)
	}
	psat, err := WaterPressure(coldest)
	if err != nil {
		return PullDown{}, err
	}
	t, p = thin(t, p)
	last := t[len(t)-1]
	// Coarsely over all speeds, then twice more finely about the best.
	const ks, drys = 30, 24
	lo, hi := math.Log(2e-4), math.Log(0.5)
	var all []pull
	for range 3 {
		all = all[:0]
		best, at := math.Inf(-1), 0.0
		for i := range ks {
			k := math.Exp(lo + (hi-lo)*float64(i)/(ks-1))
			for j := -2; j < drys; j++ {
				dry := t[0] + (last-t[0])*(float64(j)+0.5)/drys
				switch j {
				case -2:
					dry = -1
				case -1:
					dry = math.Inf(1)
				}
				q, ok := solvePull(t, p, abs, rel, k, dry, psat)
				if !ok {
					continue
				}
				all = append(all, q...)
				if q[0].w > best {
					best, at = q[0].w, math.Log(k)
				}
			}
		}
		step := (hi - lo) / (ks - 1)
		lo, hi = at-1.5*step, at+1.5*step
	}
	all = weighPulls(all)
	if len(all) == 0 {
		return PullDown{}, fmt.Errorf("vacuum: the readings fit no pull-down: did the pump run throughout?")
	}
	return summary(all, last, target), nil
}

// thin keeps about sixty readings, evenly in time.
func thin(t, p []float64) (ts, ps []float64) {
	for i := range t {
		if len(ts) == 0 || i == len(t)-1 || t[i]-ts[len(ts)-1] >= (t[len(t)-1]-t[0])/60 {
			ts, ps = append(ts, t[i]), append(ps, p[i])
		}
	}
	return ts, ps
}

// solvePull finds the amounts, none below 0, for a speed and an end of boiling
// (below 0: no water, infinite: it still boils), and draws a few about them.
func solvePull(t, p []float64, abs, rel, k, dry, psat float64) ([]pull, bool) {
	use := 4
	if dry < 0 {
		use = 3
	}
	var a [4][4]float64
	var b [4]float64
	c0 := 0.0
	for i := range t {
		c := pullColumns(k, dry, t[i])
		// The pump's speed is not quite the same at all pressures: what a constant
		// one leaves unexplained counts as scatter.
		w := 1 / (abs + rel*p[i])
		for m := range use {
			for n := range use {
				a[m][n] += c[m] * c[n] * w * w
			}
			b[m] += c[m] * p[i] * w * w
		}
		c0 += p[i] * p[i] * w * w
	}
	best := pull{w: math.Inf(-1)}
	var chol [4][4]float64
	var keep []int
	for set := 1; set < 1<<use; set++ {
		if math.IsInf(dry, 1) && set&2 != 0 && set&8 != 0 || dry >= 0 && set&8 == 0 {
			continue // floor and a plateau without end are one; water that is none
		}
		var id []int
		for m := range use {
			if set&(1<<m) != 0 {
				id = append(id, m)
			}
		}
		x, l, ok := cholesky(a, b, id)
		if !ok {
			continue
		}
		chi, good := c0, true
		for i, m := range id {
			good = good && x[i] > 0
			chi -= x[i] * b[m]
		}
		if dry >= 0 && good {
			w := x[len(id)-1]
			good = w < 1.1*psat && w > 0.1*psat
		}
		if !good {
			continue
		}
		// One for each amount and constant, after Akaike 1974 (from memory).
		score := -chi/2 - float64(len(id))
		if dry >= 0 {
			score -= 2
		}
		if score > best.w {
			best = pull{k: k, dry: dry, w: score}
			for i, m := range id {
				best.x[m] = x[i]
			}
			chol, keep = l, id
		}
	}
	if math.IsInf(best.w, -1) {
		return nil, false
	}
	rng := rand.New(rand.NewPCG(math.Float64bits(k), 3))
	const draws = 4
	out := []pull{best}
	for range draws {
		q := best
		// x + L^-T z scatters as the fit does.
		var z, d [4]float64
		n := len(keep)
		for i := range n {
			z[i] = rng.NormFloat64()
		}
		for i := n - 1; i >= 0; i-- {
			v := z[i]
			for m := i + 1; m < n; m++ {
				v -= chol[m][i] * d[m]
			}
			d[i] = v / chol[i][i]
		}
		for i, m := range keep {
			q.x[m] = max(0, q.x[m]+d[i])
		}
		out = append(out, q)
	}
	return out, true
}

// cholesky solves the normal equations of the columns id.
func cholesky(a [4][4]float64, b [4]float64, id []int) (x [4]float64, l [4][4]float64, ok bool) {
	n := len(id)
	for i := range n {
		for j := range i + 1 {
			v := a[id[i]][id[j]]
			for m := range j {
				v -= l[i][m] * l[j][m]
			}
			if i != j {
				l[i][j] = v / l[j][j]
			} else if v > 1e-10*a[id[i]][id[i]] {
				l[i][i] = math.Sqrt(v)
			} else {
				return x, l, false
			}
		}
	}
	var y [4]float64
	for i := range n {
		y[i] = b[id[i]]
		for j := range i {
			y[i] -= l[i][j] * y[j]
		}
		y[i] /= l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		x[i] = y[i]
		for j := i + 1; j < n; j++ {
			x[i] -= l[j][i] * x[j]
		}
		x[i] /= l[i][i]
	}
	return x, l, true
}

// weighPulls turns scores into weights. Where even the best scatters more than it
// should, all are judged more mildly.
func weighPulls(all []pull) []pull {
	top := math.Inf(-1)
	for _, q := range all {
		top = max(top, q.w)
	}
	mild := max(1, -top/30)
	sum := 0.0
	kept := all[:0]
	for _, q := range all {
		if q.w = math.Exp((q.w - top) / mild); q.w > 1e-5 {
			sum += q.w
			kept = append(kept, q)
		}
	}
	for i := range kept {
		kept[i].w /= sum
	}
	return kept
}

// left is the time from last until p falls to target; beyond Horizon: infinite.
func (q *pull) left(last, target float64) float64 {
	if q.at(last) <= target {
		return 0
	}
	lo, hi := 0.0, Horizon
	if math.IsInf(q.dry, 1) || q.at(last+hi) > target {
		return math.Inf(1)
	}
	for range 40 {
		if m := (lo + hi) / 2; q.at(last+m) > target {
			lo = m
		} else {
			hi = m
		}
	}
	return hi
}

func summary(all []pull, last, target float64) PullDown {
	r := PullDown{all: slices.Clone(all)}
	best := 0.0
	type span struct{ t, w float64 }
	var spans []span
	for i := range all {
		q := &all[i]
		r.K += q.w * q.k
		if math.IsInf(q.dry, 1) {
			r.Boiling += q.w
		}
		t := q.left(last, target)
		if !math.IsInf(t, 1) {
			r.Reaches += q.w
		}
		spans = append(spans, span{t, q.w})
		if q.w > best {
			best = q.w
			r.Floor, r.GivesOff, r.Plateau, r.Dry = q.x[1], q.x[2]*tenMin/(tenMin+60), q.x[3], 0
			if q.dry >= 0 && !math.IsInf(q.dry, 1) {
				r.Dry = q.dry
			}
		}
	}
	for i := range all {
		r.UK += all[i].w * (all[i].k - r.K) * (all[i].k - r.K)
	}
	r.UK = math.Sqrt(r.UK)
	r.Reaches = min(r.Reaches, 1)
	slices.SortFunc(spans, func(a, b span) int {
		switch {
		case a.t < b.t:
			return -1
		case a.t > b.t:
			return 1
		}
		return 0
	})
	quantile := func(q float64) float64 {
		sum := 0.0
		for _, s := range spans {
			if sum += s.w; sum >= q {
				return min(s.t, Horizon)
			}
		}
		return min(spans[len(spans)-1].t, Horizon)
	}
	if r.Reaches >= 0.5 {
		r.LeftLow, r.Left, r.LeftHigh = quantile(0.025), quantile(0.5), quantile(0.975)
	}
	return r
}

// Speed is the pump's speed at the circuit, m3/s, where the free volume, m3, is
// known: its hoses and cores are in it.
func (d PullDown) Speed(volume float64) (s, u float64, err error) {
	if !(volume > 0) || math.IsInf(volume, 0) {
		return 0, 0, fmt.Errorf("vacuum: volume %g m3; allowed above 0", volume)
	}
	return d.K * volume, d.UK * volume, nil
}
