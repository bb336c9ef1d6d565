package vacuum

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Setting is what is known beside the readings of an isolated vacuum, and what
// would matter. SI.
type Setting struct {
	Abs, Rel float64 // one reading's repeatability, standard: Pa, and share of the reading
	Gain     float64 // the gauge's calibration, standard, share of the reading
	Pumped   float64 // s from the start of pumping to isolation; 0: not known
	Coldest  float64 // K, coldest part of the circuit; 0: not known, 295 is taken
	Leak     float64 // Pa/s: a steady rise that matters
	Vapour   float64 // Pa: vapour given off that matters, in the end if it is water, within ten minutes if it comes from oil
}

// Settle is how long after isolation readings are left out, s: temperature and
// pressure are still evening out (common practice, no source).
const Settle = 120

// Word is what a rise shows.
type Word int

// The words. Wait: too short to tell. Wet: something boils off, water or refrigerant
// out of the oil, which look much alike; a leak beside it is left open.
const (
	Wait Word = iota
	Tight
	Leaking
	Wet
	LeakingWet
)

// String gives the word as it is shown.
func (w Word) String() string {
	if w < Wait || w > LeakingWet {
		return "unknown"
	}
	return [...]string{"wait", "tight", "leaking", "wet", "leaking and wet"}[w]
}

// Shape is one of the competing explanations.
type Shape int

// The shapes.
const (
	ShapeTight Shape = iota // only what walls give off, fading as time since pumping began
	ShapeLeak
	ShapeMoisture
	ShapeBoth
	ShapeOil // diffusion out of a depth, fading as the root of that time
	shapes
)

// Judgement is a judged rise.
type Judgement struct {
	Word Word
	More float64 // s to go on before a word is likely, where Word is Wait; +Inf is never given: 0 where no length up to two and a half hours would do

	Shapes                   [shapes]float64 // posterior likelihood of each shape
	Leak, Vapour, Water, Oil float64         // posterior likelihood of each in an amount that matters; Vapour: either of the last two

	// Steady rise, Pa/s: middle and 95 % interval, the gauge's calibration in it,
	// given what the word says; and the interval whatever explains the readings.
	Slope, SlopeLow, SlopeHigh float64
	AnyLow, AnyHigh            float64
	Tends                      float64 // Pa, that the likeliest shape with water gives off in the end
	N                          int     // readings used
	Start, End                 float64 // s, of the readings used

	curve node
	heavy []node // of all that explain the readings, those that weigh
	base  *board
}

// A leak beside water is told only once the test is so many time constants long:
// before, the water's own tail is as straight as a leak.
const settled = 2

// The likelihoods at which a thing is said to be there, or not to be: what sends
// the technician back to work is said sooner than what lets him go on.
const (
	there  = 0.87
	absent = 0.05
)

// What the readings are condensed to before the shapes are compared.
const (
	bins    = 36
	minBins = Fewest
	tenMin  = 600.0 // s
)

// A node is one shape with set constants: which columns, how large they may be a
// priori, how the readings scatter.
type node struct {
	g, tau, fast, white, walk, rate int // indices; tau -1: no water; fast -1: all of it by one time constant
	leak                            bool
	scale                           [5]float64 // prior scale of start, leak, walls or oil, water, water that comes faster
	prior, w                        float64    // log prior; posterior weight
	x                               [5]float64 // start Pa, leak Pa per 10 min, g Pa in 10 min, water Pa in the end twice
	mb, sb                          float64    // leak before truncation at 0: mean, standard deviation
	pl, pw, pg                      float64    // likelihood of an amount that matters
}

var (
	exponents = [...]float64{0.8, 1.1, 0.5} // of time since pumping began; the last is oil's
	whites    = [...]float64{0.7, 1.3}      // multiples of the repeatability
	walks     = [...]float64{0.003, 0.018}  // of the pressure, share in the root of ten minutes: temperature of the gas, the gauge
	rates     = [...]float64{0, 0.06}       // of the rate at which walls, oil or water give off, likewise: their temperature
)

// light is how far below the heaviest, in its logarithm, a node does not count.
const light = 14

// tiny is the scale of a leak in what is called tight, share of what matters:
// nothing is quite tight, and no interval is a point.
const tiny = 0.1

// memory is how long a temperature that wanders stays away from its mean, s.
const memory = 2400.0

const (
	oil  = len(exponents) - 1
	taus = 10
)

// board is the readings, condensed, with the columns of all shapes.
type board struct {
	s      Setting
	t, p   []float64 // condensed
	each   []float64 // variance of one condensed reading at white 1
	tau    [taus]float64
	pumped float64
	limit  [3]float64 // leak Pa per 10 min, vapour Pa in the end, vapour Pa in 10 min
	psat   float64
}

func (b *board) column(g int, t float64) float64 {
	return (power(t+b.pumped, exponents[g]) - power(b.pumped, exponents[g])) / (power(tenMin+b.pumped, exponents[g]) - power(b.pumped, exponents[g]))
}

func power(t, n float64) float64 { return math.Pow(t, 1-n) / (1 - n) }

// Fewest is how many readings after Settle a judgement takes at least.
const Fewest = 6

// Judge compares what could explain a rise: t, s since isolation, rising, and p,
// Pa. The first Settle seconds are left out. It says Wait, and how much longer,
// where the readings so far do not tell. Every shape is the sum of a start, a
// steady inflow, what fades with time since pumping began and what tends to an end
// (see the package's comment), none below 0, each weighed by how well and how
// simply it explains the readings (marginal likelihood, Gaussian, amounts
// integrated out; the truncation at 0 as Mendell and Elston 1974 do it, from
// memory). Temperature and gauge are let walk. Errors: readings that do not rise in
// time, pressures outside 0 to 50 kPa, settings below 0, nothing that would matter.
func Judge(t, p []float64, s Setting) (Judgement, error) {
	if err := s.check(t, p); err != nil {
		return Judgement{}, err
	}
	b := newBoard(t, p, s)
	if len(b.t) < minBins || b.t[len(b.t)-1] < tenMin/2 {
		more := max(tenMin-t[len(t)-1], 120)
		return Judgement{Word: Wait, More: more}, nil
	}
	nodes := b.weigh()
	if len(nodes) == 0 {
		return Judgement{}, fmt.Errorf("vacuum: no shape explains the %d readings from %g to %g Pa: did the gauge or the valves stay as they were?", len(t), slices.Min(p), slices.Max(p))
	}
	j := b.judge(nodes)
	b.interval(&j, nodes)
	j.heavy = heaviest(nodes)
	for _, v := range t {
		if v >= Settle {
			j.N++
		}
	}
	j.Start, j.End = b.t[0], t[len(t)-1]
	if j.Word == Wait {
		j.More = b.more(nodes)
	}
	return j, nil
}

func (s Setting) check(t, p []float64) error {
	if len(t) != len(p) || len(t) < 1 || len(t) > 100_000 {
		return fmt.Errorf("vacuum: %d times and %d pressures; allowed the same number, 1 to 100000", len(t), len(p))
	}
	for i := range t {
		if !(t[i] >= 0 && t[i] < 1e7 && p[i] >= 0 && p[i] < 5e4) || i > 0 && !(t[i] > t[i-1]) {
			return fmt.Errorf("vacuum: reading %d is %g Pa at %g s; allowed 0 to 50 kPa, times rising from 0", i+1, p[i], t[i])
		}
	}
	if !(s.Abs > 0 && s.Rel >= 0 && s.Rel < 0.5 && s.Gain >= 0 && s.Gain < 0.5 && s.Pumped >= 0 && s.Leak > 0 && s.Vapour > 0) || math.IsInf(s.Abs+s.Pumped+s.Leak+s.Vapour, 0) {
		return fmt.Errorf("vacuum: setting %+v; allowed repeatability, leak and vapour that matter above 0, the rest from 0, shares below 0.5", s)
	}
	if s.Coldest != 0 && !(s.Coldest >= waterMin && s.Coldest <= waterMax) {
		return fmt.Errorf("vacuum: coldest part at %g K; allowed %g to %g K", s.Coldest, waterMin, waterMax)
	}
	return nil
}

func newBoard(t, p []float64, s Setting) *board {
	b := &board{s: s, pumped: s.Pumped, psat: waterPressure(295)}
	if s.Coldest != 0 {
		b.psat = waterPressure(s.Coldest)
	}
	if b.pumped == 0 {
		b.pumped = 1800
	}
	b.pumped = max(b.pumped, 60)
	b.limit = [3]float64{s.Leak * tenMin, s.Vapour, s.Vapour}
	first, _ := slices.BinarySearch(t, Settle)
	t, p = t[first:], p[first:]
	b.condense(t, p, nil)
	lo, hi := math.Log(60), math.Log(4800)
	for i := range b.tau {
		b.tau[i] = math.Exp(lo + (hi-lo)*float64(i)/(taus-1))
	}
	return b
}

// condense averages readings into at most bins of equal time; v is the variance of
// each reading, from the setting if nil.
func (b *board) condense(t, p, v []float64) {
	b.t, b.p, b.each = nil, nil, nil
	if len(t) == 0 {
		return
	}
	var st, sp, sv float64
	n, cell := 0, -1
	flush := func() {
		if n > 0 {
			k := float64(n)
			b.t, b.p, b.each = append(b.t, st/k), append(b.p, sp/k), append(b.each, sv/(k*k))
		}
		st, sp, sv, n = 0, 0, 0, 0
	}
	width := (t[len(t)-1] - t[0]) / bins * (1 + 1e-9)
	for i := range t {
		if c := int((t[i] - t[0]) / max(width, 1e-9)); c != cell {
			flush()
			cell = c
		}
		u := b.s.Abs + b.s.Rel*p[i]
		q := u * u
		if v != nil {
			q = v[i]
		}
		st, sp, sv, n = st+t[i], sp+p[i], sv+q, n+1
	}
	flush()
}

// Columns of the Gram matrix.
const (
	colStart = 0
	colLeak  = 1
	colG     = 2
	colTau   = colG + len(exponents)
	colP     = colTau + taus
	cols     = colP + 1
)

// gram is the inner products of all columns and the readings under one scatter,
// and the logarithm of its determinant.
func (b *board) gram(white, walk, rate int) (g [cols][cols]float64, logDet float64, ok bool) {
	m := len(b.t)
	l := make([][]float64, m)
	w2 := whites[white] * whites[white]
	a2 := walks[walk] * walks[walk]
	last := len(b.t) - 1
	slope := rates[rate] * max(0, b.p[last]-b.p[0]) / (b.t[last] - b.t[0])
	r2 := slope * slope * memory * memory
	drift := 0.01 / 3600 // gauge: one percent an hour (common practice, no source)
	var c [bins + 2][cols]float64
	var faded [bins + 2]float64
	for i := range m {
		t := b.t[i]
		faded[i] = math.Exp(-t / memory)
		row := &c[i]
		row[colStart], row[colLeak], row[colP] = 1, t/tenMin, b.p[i]
		for k := range exponents {
			row[colG+k] = b.column(k, t)
		}
		for k, tau := range b.tau {
			row[colTau+k] = -math.Expm1(-t / tau)
		}
		l[i] = make([]float64, i+1)
		for j := range i + 1 {
			near, s := math.Exp((b.t[j]-t)/memory), b.t[j]
			v := b.p[i] * b.p[j] * (a2*near + drift*drift*t*s)
			v += r2 * (2*s/memory - 1 + faded[i] + faded[j] - near) // the same wander, integrated
			if i == j {
				v += w2 * b.each[i]
			}
			for k := range j {
				v -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = v / l[j][j]
			} else if v > 0 {
				l[i][i] = math.Sqrt(v)
			} else {
				return g, 0, false
			}
		}
		logDet += 2 * math.Log(l[i][i])
		for k := range cols {
			x := row[k]
			for j := range i {
				x -= l[i][j] * c[j][k]
			}
			row[k] = x / l[i][i]
		}
		for k := range cols {
			for q := range k + 1 {
				g[k][q] += row[k] * row[q]
			}
		}
	}
	for k := range cols {
		for q := range k {
			g[q][k] = g[k][q]
		}
	}
	return g, logDet, true
}

// weigh computes the posterior weight of every node; light ones are dropped.
func (b *board) weigh() []node {
	var nodes []node
	top := math.Inf(-1)
	for white := range whites {
		for walk := range walks {
			for rate := range rates {
				g, logDet, ok := b.gram(white, walk, rate)
				if !ok {
					continue
				}
				b.each4(func(n node) {
					if rate > 0 && n.leak && n.tau < 0 && n.scale[2] < 100 {
						return // a leak's own rate does not go with the temperature
					}
					n.white, n.walk, n.rate = white, walk, rate
					if n.solve(&g, b.limit, top-light+logDet/2) {
						n.w -= logDet / 2
						top = max(top, n.w)
						nodes = append(nodes, n)
					}
				})
			}
		}
	}
	kept, sum := nodes[:0], 0.0
	for _, n := range nodes {
		if n.w > top-light {
			n.w = math.Exp(n.w - top)
			sum += n.w
			kept = append(kept, n)
		}
	}
	for i := range kept {
		kept[i].w /= sum
	}
	return kept
}

// each4 walks the shapes and the scales of their four amounts.
func (b *board) each4(do func(node)) {
	leaks := [...]float64{0.5, 3, 15, 70}
	waters := [...]float64{2, 12, 70}
	small, large := [...]float64{0.7, 3.5}, [...]float64{15, 250} // Pa in ten minutes
	for g := range exponents {
		scales := small
		pg := math.Log(0.35)
		if g == oil {
			scales, pg = large, math.Log(0.3)
		}
		for _, sg := range scales {
			n := node{g: g, tau: -1, fast: -1, prior: pg - math.Log(float64(len(scales)))}
			n.scale = [5]float64{1e5, 0, sg, 0, 0}
			for tau := -1; tau < taus; tau++ {
				n.tau = tau
				base := math.Log(0.7)
				if tau >= 0 {
					base = math.Log(0.3 / taus / float64(len(waters)))
				}
				for _, sw := range waters {
					n.scale[3] = 0
					if tau >= 0 {
						n.scale[3] = min(sw*b.s.Vapour, b.psat)
					}
					n.leak, n.scale[1] = false, tiny*b.limit[0]
					m := n
					m.prior += base + math.Log(0.6)
					do(m)
					for _, sl := range leaks {
						m = n
						m.leak, m.scale[1] = true, sl*b.limit[0]
						m.prior += base + math.Log(0.4/float64(len(leaks)))
						do(m)
					}
					if g == 1 && sg == scales[0] && tau >= 2 {
						b.pairs(n, base, do, leaks[:])
					}
					if tau < 0 {
						break
					}
				}
			}
		}
	}
}

// pairs adds to a node with water some that comes faster.
func (b *board) pairs(n node, base float64, do func(node), leaks []float64) {
	for fast := range n.tau - 1 {
		m := n
		m.fast, m.scale[4] = fast, n.scale[3]
		m.prior += base
		m.leak, m.scale[1] = false, tiny*b.limit[0]
		one := m
		one.prior += math.Log(0.6 / float64(n.tau-1))
		do(one)
		for _, sl := range leaks {
			one = m
			one.leak, one.scale[1] = true, sl*b.limit[0]
			one.prior += math.Log(0.4 / float64(n.tau-1) / float64(len(leaks)))
			do(one)
		}
	}
}

// solve finds a node's amounts and log weight (the scatter's determinant apart);
// false where the weight stays below floor, whatever the truncation takes.
func (n *node) solve(g *[cols][cols]float64, limit [3]float64, floor float64) bool {
	var col, id [5]int
	k := 0
	put := func(c, i int) { col[k], id[k] = c, i; k++ }
	put(colStart, 0)
	put(colG+n.g, 2)
	put(colLeak, 1)
	if n.tau >= 0 {
		put(colTau+n.tau, 3)
		if n.fast >= 0 {
			put(colTau+n.fast, 4)
		}
	}
	// Cholesky of the posterior precision, covariance and mean.
	var l, inv, cov [5][5]float64
	logdet := 0.0
	for i := range k {
		for j := range i + 1 {
			v := g[col[i]][col[j]]
			if i == j {
				v += 1 / (n.scale[id[i]] * n.scale[id[i]])
			}
			for q := range j {
				v -= l[i][q] * l[j][q]
			}
			if i != j {
				l[i][j] = v / l[j][j]
			} else if v > 0 {
				l[i][i] = math.Sqrt(v)
			} else {
				return false
			}
		}
		logdet += math.Log(l[i][i]) + math.Log(n.scale[id[i]])
	}
	for i := range k {
		inv[i][i] = 1 / l[i][i]
		for j := range i {
			v := 0.0
			for q := j; q < i; q++ {
				v -= l[i][q] * inv[q][j]
			}
			inv[i][j] = v / l[i][i]
		}
	}
	var y, mean [5]float64
	fit := g[colP][colP]
	for i := range k {
		for j := range i + 1 {
			y[i] += inv[i][j] * g[col[j]][colP]
		}
		fit -= y[i] * y[i]
	}
	for i := range k {
		for j := i; j < k; j++ {
			mean[i] += inv[j][i] * y[j]
		}
		for j := range k {
			for q := max(i, j); q < k; q++ {
				cov[i][j] += inv[q][i] * inv[q][j]
			}
		}
	}
	n.w = n.prior - fit/2 - logdet
	for i := range k {
		n.x[id[i]] = mean[i]
		if i > 0 {
			n.w += math.Ln2 // half normal
		}
	}
	if n.w < floor {
		return false
	}
	// The truncation's likelihood, and each amount with the others truncated.
	trunc := false
	last := func(of int) (m, s float64) {
		mu, c := mean, cov
		lw := 0.0
		cut := func(i int) {
			s := math.Sqrt(c[i][i])
			z := mu[i] / s
			lam, lp := mills(z)
			lw += lp
			d := lam * (lam + z)
			var ci [5]float64
			for j := range k {
				ci[j] = c[j][i] / s
			}
			for j := range k {
				mu[j] += ci[j] * lam
				for q := range k {
					c[j][q] -= ci[j] * ci[q] * d
				}
			}
		}
		for i := 1; i < k; i++ {
			if id[i] != of {
				cut(i)
			}
		}
		for i := 1; i < k; i++ {
			if id[i] == of {
				m, s = mu[i], math.Sqrt(max(c[i][i], 1e-30))
				_, lp := mills(m / s)
				lw += lp
			}
		}
		if !trunc {
			n.w += lw
			trunc = true
		}
		return m, s
	}
	above := func(m, s, x float64) float64 {
		_, a := mills((m - x) / s)
		_, b := mills(m / s)
		return math.Exp(min(0, a-b))
	}
	n.mb, n.sb = last(1)
	n.pl = above(n.mb, n.sb, limit[0])
	if n.tau >= 0 {
		m, s := last(3)
		n.pw = above(m, s, limit[1])
	}
	m, s := last(2)
	n.pg = above(m, s, limit[2])
	return !math.IsNaN(n.w + n.mb + n.sb + n.pl + n.pw + n.pg)
}

// mills gives phi(z)/Phi(z) and log Phi(z).
func mills(z float64) (ratio, logPhi float64) {
	if z > 8 {
		return 0, 0 // nothing is cut off
	}
	if z < -25 {
		return -z - 1/z, -z*z/2 - math.Log(-z) - 0.9189385332
	}
	p := math.Erfc(-z/math.Sqrt2) / 2
	return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) / p, math.Log(p)
}

func (n *node) shape() Shape {
	switch {
	case n.leak && n.tau >= 0:
		return ShapeBoth
	case n.leak:
		return ShapeLeak
	case n.tau >= 0:
		return ShapeMoisture
	case n.g == oil:
		return ShapeOil
	}
	return ShapeTight
}

// judge turns weighed nodes into a word.
func (b *board) judge(nodes []node) Judgement {
	j := Judgement{base: b}
	if len(nodes) == 0 {
		return j
	}
	best, bestWet, blind := 0.0, 0.0, 0.0
	for i := range nodes {
		n := &nodes[i]
		j.Shapes[n.shape()] += n.w
		j.Leak += n.w * n.pl
		j.Water += n.w * n.pw
		j.Oil += n.w * n.pg
		j.Vapour += n.w * (1 - (1-n.pw)*(1-n.pg))
		if n.tau >= 0 && b.tau[n.tau]*settled > b.t[len(b.t)-1] {
			blind += n.w * n.pw
		}
		if n.w > best {
			best, j.curve = n.w, *n
		}
		if n.tau >= 0 && n.w > bestWet {
			bestWet, j.Tends = n.w, max(0, n.x[3])
		}
	}
	said := func(p float64) int {
		switch {
		case p >= there:
			return 1
		case p <= absent:
			return -1
		}
		return 0
	}
	leak, wet := said(j.Leak), said(j.Vapour)
	if leak > 0 && blind > 0.3 {
		leak = 0
	}
	switch {
	case leak > 0 && wet > 0:
		j.Word = LeakingWet
	case leak > 0:
		j.Word = Leaking
	case wet > 0:
		j.Word = Wet
	case leak < 0 && wet < 0:
		j.Word = Tight
	}
	return j
}

// interval adds the steady rise with its intervals.
func (b *board) interval(j *Judgement, nodes []node) {
	given := slices.Clone(nodes)
	plain := j.Word == Leaking && b.mostlyPlain(nodes)
	for i := range given {
		n := &given[i]
		vapour := 1 - (1-n.pw)*(1-n.pg)
		switch j.Word {
		case Tight:
			n.w *= (1 - n.pl) * (1 - vapour)
		case Leaking:
			n.w *= n.pl * (1 - vapour)
			if plain && !n.plain() {
				n.w *= unnamed
			}
		case Wet:
			n.w *= vapour
		case LeakingWet:
			n.w *= n.pl * vapour
		}
	}
	// Where no leak is shown the interval begins at none and is one-sided.
	both := func(nodes []node, shown bool) (lo, hi float64) {
		if !shown {
			return 0, slopes(nodes, 0.95, b.s.Gain)
		}
		return slopes(nodes, 0.025, b.s.Gain), slopes(nodes, 0.975, b.s.Gain)
	}
	j.SlopeLow, j.SlopeHigh = both(given, j.Word == Leaking || j.Word == LeakingWet)
	j.Slope = slopes(given, 0.5, 0)
	j.AnyLow, j.AnyHigh = both(nodes, j.Leak > 1-absent/2)
}

// unnamed is what a shape counts that the word does not name, where the one it names
// explains the readings best: vapour too little to be named would else take its share
// of every leak, at no loss to the fit.
const unnamed = 0.03

// plain: a leak beside what walls give off, and nothing else.
func (n *node) plain() bool { return n.leak && n.tau < 0 && n.g != oil }

// mostlyPlain tells whether, given a leak that matters and no vapour that does, it is
// likelier than not a leak and nothing else.
func (b *board) mostlyPlain(nodes []node) bool {
	named, all := 0.0, 0.0
	for i := range nodes {
		n := &nodes[i]
		w := n.w * n.pl * (1 - n.pw) * (1 - n.pg)
		all += w
		if n.plain() {
			named += w
		}
	}
	return named > all/2
}

// slopes is the quantile q of the steady rise, Pa/s: a mixture of normals cut off
// below 0.
func slopes(nodes []node, q, gain float64) float64 {
	sum, least := 0.0, 0.0
	for i := range nodes {
		sum += nodes[i].w
		least = max(least, nodes[i].w/1e4)
	}
	below := func(x float64) float64 {
		part := 0.0
		for i := range nodes {
			n := &nodes[i]
			if n.w < least {
				continue
			}
			s := math.Hypot(n.sb, gain*max(n.mb, 0))
			_, a := mills((n.mb - x) / s)
			_, b := mills(n.mb / s)
			part += n.w * (1 - math.Exp(min(0, a-b)))
		}
		return part / sum
	}
	lo, hi := 0.0, 1e-3
	for below(hi) < q && hi < 1e6 {
		hi *= 2
	}
	for range 24 {
		if m := (lo + hi) / 2; below(m) < q {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2 / tenMin
}

// At is the likeliest curve's pressure, Pa, at t, s; 0 before anything was judged.
func (j Judgement) At(t float64) float64 {
	if j.base == nil {
		return 0
	}
	return j.base.value(&j.curve, t)
}

// Band is where the pressure lies at t with 95 %, Pa, whatever explains the readings:
// their curves by weight, each with the doubt of its steady rise about the middle of
// the readings. A reading's own scatter is not in it. 0 and 0 before anything was
// judged.
func (j Judgement) Band(t float64) (lo, hi float64) {
	if j.base == nil || len(j.heavy) == 0 {
		return 0, 0
	}
	type part struct{ p, w float64 }
	var parts []part
	arm := (t - (j.Start+j.End)/2) / tenMin
	sum := 0.0
	for i := range j.heavy {
		n := &j.heavy[i]
		p := j.base.value(n, t)
		for _, z := range [...]float64{-1.7, 0, 1.7} { // three points with a normal's variance
			w := n.w * [...]float64{0.173, 0.654, 0.173}[int(z/1.7)+1]
			parts = append(parts, part{p + z*n.sb*arm, w})
			sum += w
		}
	}
	slices.SortFunc(parts, func(a, b part) int { return cmp.Compare(a.p, b.p) })
	lo, hi = parts[0].p, parts[len(parts)-1].p
	below := 0.0
	for _, q := range parts {
		if below <= 0.025*sum {
			lo = q.p
		}
		if below += q.w; below >= 0.975*sum {
			return max(0, lo), max(0, q.p)
		}
	}
	return max(0, lo), max(0, hi)
}

// heaviest are the nodes that together weigh all but a hundredth.
func heaviest(nodes []node) []node {
	out := slices.Clone(nodes)
	slices.SortFunc(out, func(a, b node) int { return cmp.Compare(b.w, a.w) })
	sum := 0.0
	for i := range out {
		if sum += out[i].w; sum > 0.99 || i == 400 {
			return slices.Clone(out[:i+1])
		}
	}
	return out
}

func (b *board) value(n *node, t float64) float64 {
	p := n.x[0] + max(0, n.x[1])*t/tenMin + max(0, n.x[2])*b.column(n.g, t)
	if n.tau >= 0 {
		p -= max(0, n.x[3]) * math.Expm1(-t/b.tau[n.tau])
		if n.fast >= 0 {
			p -= max(0, n.x[4]) * math.Expm1(-t/b.tau[n.fast])
		}
	}
	return p
}

// Lengths of a whole test that are tried, s, and how many continuations of what
// was read so far decide among them.
var lengths = [...]float64{480, 600, 720, 840, 1020, 1200, 1500, 1800, 2400, 3000, 3600, 5400, 7200, 9000}

const futures = 6

// more draws continuations of the readings from the posterior, with the scatter
// that each node has, and returns the time, s, after which all but one of them
// are decided and a little more, or the longest tried if at least half are then; else 0.
func (b *board) more(nodes []node) float64 {
	end := b.t[len(b.t)-1]
	first := 0
	for first < len(lengths) && lengths[first] < end+60 {
		first++
	}
	all := make([]future, futures)
	for i := range all {
		all[i] = b.future(nodes, i)
	}
	settles := func(k int) (n int) {
		for i := range all {
			if c := all[i].board(lengths[k]); c.judge(c.weigh()).Word != Wait {
				n++
			} else if i-n > 0 && k < len(lengths)-1 {
				return 0 // two are open already
			}
		}
		return n
	}
	lo, hi := first, len(lengths)-1 // enough at hi, as far as tried
	for lo < hi {
		if m := (lo + hi) / 2; settles(m) >= futures-1 {
			hi = m
		} else {
			lo = m + 1
		}
	}
	if first == len(lengths) || lo == len(lengths)-1 && settles(lo) < futures/2 {
		return 0
	}
	// A step more than reckoned, for the reckoning knows its own shapes only.
	return lengths[min(lo+1, len(lengths)-1)] - end
}

// A future is readings that have been and ones that may come.
type future struct {
	b       *board
	t, p, v []float64
}

// future draws the i-th continuation, from the node at its place in the cumulated
// weights.
func (b *board) future(nodes []node, i int) future {
	rng := rand.New(rand.NewPCG(uint64(i), uint64(len(b.t))))
	sum := 0.0
	n := nodes[len(nodes)-1]
	for k := range nodes {
		if sum += nodes[k].w; sum >= (float64(i)+0.5)/futures {
			n = nodes[k]
			break
		}
	}
	f := future{b, slices.Clone(b.t), slices.Clone(b.p), slices.Clone(b.each)}
	last := len(b.t) - 1
	end := b.t[last]
	step := (end - b.t[0]) / float64(last)
	// It goes on from where the readings have wandered to.
	off := 0.0
	for k := last - 2; k <= last; k++ {
		off += (b.p[k] - b.value(&n, b.t[k])) / 3
	}
	slope := rates[n.rate] * max(0, b.value(&n, end)-b.value(&n, b.t[0])) / (end - b.t[0])
	walk, wander := 0.0, 0.0
	for t := end + step; t <= lengths[len(lengths)-1]; t += step {
		kick := math.Sqrt(2 * step / memory)
		walk += walks[n.walk]*kick*rng.NormFloat64() - walk*step/memory
		wander += kick*rng.NormFloat64() - wander*step/memory
		off += slope * wander * step
		y := max((b.value(&n, t)+off)*(1+walk), 0)
		u := whites[n.white] * (b.s.Abs + b.s.Rel*y) * math.Sqrt(b.each[last]) / (b.s.Abs + b.s.Rel*b.p[last])
		f.t, f.p, f.v = append(f.t, t), append(f.p, y+u*rng.NormFloat64()), append(f.v, u*u)
	}
	return f
}

// board is the future up to a length.
func (f *future) board(length float64) *board {
	n, found := slices.BinarySearch(f.t, length)
	if found {
		n++
	}
	c := *f.b
	c.condense(f.t[:n], f.p[:n], f.v[:n])
	return &c
}
