package cycle

import (
	"fmt"
	"math"
	"sync"

	"retrostage/thermo/fluid"
)

// Props are tables of one refrigerant, fast enough to solve a cycle in a
// fraction of a millisecond. They interpolate the equation of state by cubics:
// saturation in the logarithm of pressure, gas in that and superheat.
type Props struct {
	name string

	lp0, dlp float64 // saturation grid in ln p
	sat      []satRow

	t0, dt float64 // liquid grid in T
	liq    []liqRow

	gas [][]gasRow // every gasStep-th row of sat, then superheat
}

type satRow struct{ tb, td, hf, hg, rf, rg float64 }
type liqRow struct{ lp, h, rho float64 }
type gasRow struct{ h, s, lr float64 } // lr = ln rho

const (
	satN    = 193
	gasStep = 8
	gasDT   = 5.0 // K
	gasN    = 27  // 130 K
)

var tables sync.Map // name -> func() (*Props, error)

// PropsOf returns the tables of a fluid, built once. They cover 238 K to 6 K
// below the critical temperature and superheats to 125 K, or to 1 K below the
// equation's own limit if that is nearer.
func PropsOf(f *fluid.Fluid) (*Props, error) {
	once, _ := tables.LoadOrStore(f.Name(), sync.OnceValues(func() (*Props, error) { return build(f) }))
	return once.(func() (*Props, error))()
}

func build(f *fluid.Fluid) (*Props, error) {
	tc, _, _ := f.Critical()
	_, tmax, _ := f.Limits()
	lo, err := f.DewP(238)
	if err != nil {
		return nil, fmt.Errorf("cycle: %w", err)
	}
	hi, err := f.BubbleP(tc - 6)
	if err != nil {
		return nil, fmt.Errorf("cycle: %w", err)
	}
	// The dew pressure limits where both lines must exist.
	if d, err := f.DewP(tc - 6); err == nil {
		hi = min(hi, d)
	}
	p := &Props{name: f.Name(), lp0: math.Log(lo)}
	p.dlp = (math.Log(hi) - p.lp0) / (satN - 1)
	for i := range satN {
		pr := math.Exp(p.lp0 + float64(i)*p.dlp)
		b, err1 := f.BubbleAtP(pr)
		d, err2 := f.DewAtP(pr)
		if err1 != nil || err2 != nil {
			return nil, fmt.Errorf("cycle: saturation at %.0f Pa: %w", pr, firstOf(err1, err2))
		}
		p.sat = append(p.sat, satRow{b.T, d.T, b.H, d.H, b.Rho, d.Rho})
		if i%gasStep != 0 {
			continue
		}
		row := []gasRow{{d.H, d.S, math.Log(d.Rho)}}
		for k := 1; k < gasN; k++ {
			t := d.T + float64(k)*gasDT
			if t > tmax-1 {
				break
			}
			s, err := f.TP(t, pr)
			if err != nil {
				return nil, fmt.Errorf("cycle: gas at %.1f K, %.0f Pa: %w", t, pr, err)
			}
			row = append(row, gasRow{s.H, s.S, math.Log(s.Rho)})
		}
		// Beyond the equation's limit the table goes on in a straight line, so
		// that an iteration may pass there; Solve refuses to end there.
		for k := len(row); k < gasN; k++ {
			a, b := row[k-2], row[k-1]
			row = append(row, gasRow{2*b.h - a.h, 2*b.s - a.s, 2*b.lr - a.lr})
		}
		p.gas = append(p.gas, row)
	}
	p.t0 = p.sat[0].tb
	const liqN = 129
	p.dt = (p.sat[satN-1].tb - p.t0) / (liqN - 1)
	for i := range liqN {
		t := p.t0 + float64(i)*p.dt
		s, err := f.BubbleSat(t)
		if err != nil {
			return nil, fmt.Errorf("cycle: liquid at %.1f K: %w", t, err)
		}
		p.liq = append(p.liq, liqRow{math.Log(s.P), s.H, s.Rho})
	}
	return p, nil
}

func firstOf(a, b error) error {
	if a != nil {
		return a
	}
	return b
}

// weights are those of the cubic through the four grid points about x, counted
// in steps; outside the grid the end cubic goes on.
func weights(x float64, n int) (i int, w [4]float64) {
	i = max(1, min(int(x), n-3))
	t := x - float64(i)
	a, b, c := t+1, t-1, t-2
	return i - 1, [4]float64{-t * b * c / 6, a * b * c / 2, -a * t * c / 2, a * t * b / 6}
}

// at is the saturation row at ln p.
func (p *Props) at(lp float64) satRow {
	i, w := weights((lp-p.lp0)/p.dlp, satN)
	var r satRow
	for k, q := range w {
		s := &p.sat[i+k]
		r.tb += q * s.tb
		r.td += q * s.td
		r.hf += q * s.hf
		r.hg += q * s.hg
		r.rf += q * s.rf
		r.rg += q * s.rg
	}
	return r
}

// liquid is the liquid row at t: compressed liquid is taken as saturated at its
// temperature.
func (p *Props) liquid(t float64) liqRow {
	i, w := weights((t-p.t0)/p.dt, len(p.liq))
	var r liqRow
	for k, q := range w {
		s := &p.liq[i+k]
		r.lp += q * s.lp
		r.h += q * s.h
		r.rho += q * s.rho
	}
	return r
}

// vapour is the gas row at ln p and superheat.
func (p *Props) vapour(lp, super float64) gasRow {
	i, wi := weights((lp-p.lp0)/p.dlp/gasStep, len(p.gas))
	k, wk := weights(super/gasDT, gasN)
	var r gasRow
	for a, u := range wi {
		row := p.gas[i+a][k : k+4]
		for b, v := range wk {
			g, q := &row[b], u*v
			r.h += q * g.h
			r.s += q * g.s
			r.lr += q * g.lr
		}
	}
	return r
}

// isobar is the gas table at one pressure, along superheat.
type isobar struct{ h, s, lr [gasN]float64 }

// along blends the gas table for one pressure. Many questions at one pressure,
// as inversions ask, are then cheap.
func (p *Props) along(lp float64, out *isobar) {
	i, w := weights((lp-p.lp0)/p.dlp/gasStep, len(p.gas))
	a, b, c, d := p.gas[i], p.gas[i+1], p.gas[i+2], p.gas[i+3]
	for k := range gasN {
		out.h[k] = w[0]*a[k].h + w[1]*b[k].h + w[2]*c[k].h + w[3]*d[k].h
		out.s[k] = w[0]*a[k].s + w[1]*b[k].s + w[2]*c[k].s + w[3]*d[k].s
		out.lr[k] = w[0]*a[k].lr + w[1]*b[k].lr + w[2]*c[k].lr + w[3]*d[k].lr
	}
}

// read is the value of a column of an isobar at a superheat.
func read(col *[gasN]float64, super float64) float64 {
	k, w := weights(super/gasDT, gasN)
	return w[0]*col[k] + w[1]*col[k+1] + w[2]*col[k+2] + w[3]*col[k+3]
}

// find is the superheat at which a column, which is nearly straight and rises,
// has a value.
func find(col *[gasN]float64, value float64) float64 {
	lo, hi := 0, gasN-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; col[mid] <= value {
			lo = mid
		} else {
			hi = mid
		}
	}
	slope := (col[lo+1] - col[lo]) / gasDT
	x := float64(lo)*gasDT + (value-col[lo])/slope
	for range 12 { // the chord's slope is near enough for quick convergence
		d := (value - read(col, x)) / slope
		x += d
		if math.Abs(d) < 1e-11*(1+math.Abs(x)) {
			break
		}
	}
	return x
}

// DewT and BubbleT are the saturation temperatures at a pressure, K.
func (p *Props) DewT(pr float64) float64    { return p.at(math.Log(pr)).td }
func (p *Props) BubbleT(pr float64) float64 { return p.at(math.Log(pr)).tb }
