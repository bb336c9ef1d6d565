package series

import (
	"fmt"
	"math"
)

// Test is what a reading must pass to be called steady, in the column's own
// unit.
type Test struct {
	Column  int
	Drift   float64 // most that the fitted line may move over the stretch
	Scatter float64 // most standard deviation about the line
}

// Window is a stretch of a log, lines From to To inclusive.
type Window struct {
	From, To int
	Steady   bool
	Stats    []Stat // one per test, in their order
}

// Stat sums up one reading over a stretch, in the column's own unit.
type Stat struct {
	Column int
	N      int
	Mean   float64
	U      float64 // standard uncertainty of the mean, from scatter alone
	Slope  float64 // per s
	USlope float64 // standard uncertainty of the slope; scatter alone, lines taken as independent
	SD     float64 // about the line
	Moved  float64 // slope times the stretch's length
	Pass   bool
}

// grid bounds the search to so many candidate ends and beginnings; a longer log
// is searched at every n-th line.
const grid = 400

// Steady finds the latest stretch of at least minSeconds and minLines lines that
// passes all tests, extended backwards as far as they hold. If none does it
// returns the last minSeconds of the log, not Steady, whose Stats show which
// tests fail. A column with fewer than three readings in a stretch fails it.
func (g *Log) Steady(tests []Test, minSeconds float64, minLines int) (Window, error) {
	if len(tests) == 0 {
		return Window{}, fmt.Errorf("series: no reading chosen to be steady")
	}
	for _, c := range tests {
		if c.Column < 0 || c.Column >= len(g.v) || !(c.Drift > 0) || !(c.Scatter > 0) {
			return Window{}, fmt.Errorf("series: column %d of %d, drift %g, scatter %g; allowed above 0", c.Column+1, len(g.v), c.Drift, c.Scatter)
		}
	}
	n := len(g.t)
	minLines = max(minLines, 3)
	if !(minSeconds >= 0) || n < minLines || g.t[n-1] < minSeconds {
		return Window{}, fmt.Errorf("series: the log has %d lines over %.0f s; a steady stretch needs %d over %.0f s", n, g.t[n-1], minLines, minSeconds)
	}
	sums := make([]prefix, len(tests))
	for i, c := range tests {
		sums[i] = newPrefix(g.t, g.v[c.Column])
	}
	step := (n + grid - 1) / grid
	for to := n - 1; to >= minLines-1; to -= step {
		// Earliest beginning first: the first that passes is the longest.
		for from := 0; from <= to-minLines+1 && g.t[to]-g.t[from] >= minSeconds; from += step {
			pass := true
			for i, c := range tests {
				if s := sums[i].over(from, to, g.t); !s.passes(c) {
					pass = false
					break
				}
			}
			if pass {
				return g.window(from, to, tests, sums), nil
			}
		}
	}
	from := n - minLines
	for from > 0 && g.t[n-1]-g.t[from] < minSeconds {
		from--
	}
	return g.window(from, n-1, tests, sums), nil
}

func (g *Log) window(from, to int, tests []Test, sums []prefix) Window {
	w := Window{From: from, To: to, Steady: true}
	for i, c := range tests {
		s := g.stat(from, to, c.Column, sums[i])
		s.Pass = s.passes(c)
		w.Steady = w.Steady && s.Pass
		w.Stats = append(w.Stats, s)
	}
	return w
}

func (s Stat) passes(c Test) bool {
	return s.N >= 3 && math.Abs(s.Moved) <= c.Drift && s.SD <= c.Scatter
}

// stat adds the uncertainty of the mean, which needs the residuals themselves.
func (g *Log) stat(from, to, k int, p prefix) Stat {
	s := p.over(from, to, g.t)
	s.Column = k
	if s.N < 3 || s.SD == 0 {
		return s
	}
	tm := p.meanT(from, to)
	var last, r0, r1 float64
	seen := false
	for i := from; i <= to; i++ {
		x := g.v[k][i]
		if math.IsNaN(x) {
			continue
		}
		e := x - s.Mean - s.Slope*(g.t[i]-tm)
		r0 += e * e
		if seen {
			r1 += e * last
		}
		last, seen = e, true
	}
	eff := float64(s.N)
	if r0 > 0 {
		r := max(0, min(0.99, r1/r0))
		eff = max(1, eff*(1-r)/(1+r))
	}
	s.U = s.SD / math.Sqrt(eff)
	return s
}

// prefix holds running sums, so that a line is fitted to any stretch in constant
// time. Values are taken from the column's mean and time from the middle, which
// keeps the sums small.
type prefix struct {
	n, t, x, tt, tx, xx []float64
	t0, x0              float64
}

func newPrefix(t, x []float64) prefix {
	p := prefix{t0: t[len(t)-1] / 2}
	count := 0.0
	for _, v := range x {
		if !math.IsNaN(v) {
			count++
			p.x0 += (v - p.x0) / count
		}
	}
	block := make([]float64, 6*(len(t)+1))
	for i, s := range []*[]float64{&p.n, &p.t, &p.x, &p.tt, &p.tx, &p.xx} {
		*s = block[i*(len(t)+1) : (i+1)*(len(t)+1)]
	}
	for i, v := range x {
		one, a, b := 0.0, 0.0, 0.0
		if !math.IsNaN(v) {
			one, a, b = 1, t[i]-p.t0, v-p.x0
		}
		p.n[i+1] = p.n[i] + one
		p.t[i+1] = p.t[i] + a
		p.x[i+1] = p.x[i] + b
		p.tt[i+1] = p.tt[i] + a*a
		p.tx[i+1] = p.tx[i] + a*b
		p.xx[i+1] = p.xx[i] + b*b
	}
	return p
}

func (p *prefix) meanT(from, to int) float64 {
	n := p.n[to+1] - p.n[from]
	if n == 0 {
		return 0
	}
	return p.t0 + (p.t[to+1]-p.t[from])/n
}

func (p *prefix) over(from, to int, t []float64) Stat {
	n := p.n[to+1] - p.n[from]
	s := Stat{N: int(n)}
	if n == 0 {
		return s
	}
	st, sx := p.t[to+1]-p.t[from], p.x[to+1]-p.x[from]
	stt := max(0, p.tt[to+1]-p.tt[from]-st*st/n)
	stx := p.tx[to+1] - p.tx[from] - st*sx/n
	sxx := max(0, p.xx[to+1]-p.xx[from]-sx*sx/n)
	s.Mean = p.x0 + sx/n
	if stt > 0 {
		s.Slope = stx / stt
	}
	s.Moved = s.Slope * (t[to] - t[from])
	if n > 2 {
		s.SD = math.Sqrt(max(0, sxx-s.Slope*stx) / (n - 2))
		if stt > 0 {
			s.USlope = s.SD / math.Sqrt(stt)
		}
	}
	return s
}
