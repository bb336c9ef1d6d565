package fluid

import "math"

// The enthalpy of superheated gas is asked for more often than anything but the
// saturation lines. A gasTable has it as polynomials in the logarithm of pressure and
// in the superheat over the fast dew line, made from the equation of state where they
// are first asked for. Each cell is held against the equation off its nodes when it is
// made; one that misses is not used, and the equation answers there, as it does outside.
const (
	gasOrder = 8    // nodes, and powers, in each direction
	gasTol   = 1e-3 // J/kg, a cell's last power: 1e-8 of some 4e5 is promised
	gasTop   = 85.0 // K of superheat
	gasDepth = 6    // halvings in each direction
)

type gasTable struct {
	lo, hi float64 // of ln p
	bands  []gasBand
	bin    [128]uint8 // first band that reaches into each of equal parts of ln p
	perBin float64
}

// gasBand is a stretch of ln p.
type gasBand struct {
	hi, mid, inv float64
	cells        []gasCell // rising in superheat
}

type gasCell struct {
	hi, mid, inv float64
	ok           bool
	c            [gasOrder][gasOrder]float64 // of u^i v^j, u from the pressure, v from the superheat
}

// poly8 takes seven powers in pairs, so that the sums need not wait for each other.
func poly8(c *[gasOrder]float64, v, v2, v4 float64) float64 {
	return (c[0] + c[1]*v + (c[2]+c[3]*v)*v2) + v4*(c[4]+c[5]*v+(c[6]+c[7]*v)*v2)
}

func (c *gasCell) at(u, v float64) float64 {
	v2 := v * v
	v4 := v2 * v2
	var row [gasOrder]float64
	for i := range row {
		row[i] = poly8(&c.c[i], v, v2, v4)
	}
	u2 := u * u
	return poly8(&row, u, u2, u2*u2)
}

// enthalpy is h of gas at t and p; ok is false where the table does not answer.
func (g *gasTable) enthalpy(l *satLine, t, p float64) (h float64, ok bool) {
	x := math.Log(p)
	if !(x >= g.lo && x < g.hi) {
		return 0, false
	}
	i, w := l.ofP.cell(x)
	over := t - l.ofP.at(0, i, w)
	if !(over > 1e-6 && over < gasTop) { // on the line itself the phase is told by what follows
		return 0, false
	}
	k := int(g.bin[int((x-g.lo)*g.perBin)])
	for x > g.bands[k].hi {
		k++
	}
	b := &g.bands[k]
	for j := range b.cells {
		if c := &b.cells[j]; over <= c.hi {
			return c.at((x-b.mid)*b.inv, (over-c.mid)*c.inv), c.ok
		}
	}
	return 0, false
}

// gas returns the table, made on first use; it answers nowhere where it cannot be made.
func (f *Fluid) gas(l *[2]satLine) *gasTable {
	f.gasOnce.Do(func() { f.gasTab = f.buildGas(&l[dew], l) })
	return f.gasTab
}

func (f *Fluid) buildGas(l *satLine, both *[2]satLine) *gasTable {
	g := &gasTable{lo: math.Log(max(l.pmin, 1e5)), hi: math.Log(0.85 * l.pmax)}
	if !(g.hi > g.lo) {
		return g
	}
	h := func(x, over float64) (float64, bool) {
		p := math.Exp(x)
		t := l.t(p) + over
		if !(t <= f.tmax) {
			return 0, false
		}
		var is isotherm
		f.res.at(f.tr/t, &is)
		rho, err := f.dense(both, &is, t, p, Vapour)
		if err != nil {
			return 0, false
		}
		v := f.enthalpy(&is, t, rho)
		return v, !math.IsNaN(v)
	}
	var band func(a, b float64, depth int)
	band = func(a, b float64, depth int) {
		n := gasBand{hi: b, mid: (a + b) / 2, inv: 2 / (b - a)}
		split := false
		var cells func(lo, hi float64, deep int)
		cells = func(lo, hi float64, deep int) {
			if split {
				return
			}
			c, alongP, alongT := gasFit(h, n.mid, n.inv, lo, hi, depth == gasDepth || deep == gasDepth)
			switch {
			case c.ok && alongP > gasTol && depth < gasDepth:
				split = true
				return
			case (!c.ok || alongT > gasTol) && deep < gasDepth: // not ok: it reaches beyond the equation's range
				cells(lo, (lo+hi)/2, deep+1)
				cells((lo+hi)/2, hi, deep+1)
				return
			}
			n.cells = append(n.cells, c)
		}
		cells(0, gasTop, 0)
		if split {
			band(a, n.mid, depth+1)
			band(n.mid, b, depth+1)
			return
		}
		g.bands = append(g.bands, n)
	}
	band(g.lo, g.hi, 0)
	g.perBin = float64(len(g.bin)) / (g.hi - g.lo) * (1 - 1e-12)
	for b := range g.bin {
		k, x := 0, g.lo+float64(b)/g.perBin
		for k < len(g.bands)-1 && g.bands[k].hi < x {
			k++
		}
		g.bin[b] = uint8(max(0, k-1))
	}
	return g
}

// gasFit is one cell, and how large its last powers are in either direction; ok is false
// where there is no value at a node, or a value between them is missed.
func gasFit(h func(x, over float64) (float64, bool), mid, inv, lo, hi float64, last bool) (c gasCell, alongP, alongT float64) {
	const m = gasOrder
	c = gasCell{hi: hi, mid: (lo + hi) / 2, inv: 2 / (hi - lo)}
	var node [m]float64
	var cos [m][m]float64
	for j := range m {
		th := math.Pi * (float64(j) + 0.5) / m
		node[j] = math.Cos(th)
		for i := range m {
			cos[i][j] = math.Cos(float64(i) * th)
		}
	}
	var v, a, b [m][m]float64
	for i := range m {
		for j := range m {
			y, ok := h(mid+node[i]/inv, c.mid+node[j]/c.inv)
			if !ok {
				return c, 0, 0
			}
			v[i][j] = y
		}
	}
	for i := range m { // to Chebyshev coefficients along the superheat, then along the pressure
		for k := range m {
			for j := range m {
				a[i][k] += v[i][j] * cos[k][j] * 2 / m
			}
		}
		a[i][0] /= 2
	}
	for k := range m {
		for j := range m {
			for i := range m {
				b[k][j] += a[i][j] * cos[k][i] * 2 / m
			}
		}
	}
	for j := range m {
		b[0][j] /= 2
	}
	for j := range m {
		alongP = max(alongP, math.Abs(b[m-1][j]), math.Abs(b[m-2][j])/4)
		alongT = max(alongT, math.Abs(b[j][m-1]), math.Abs(b[j][m-2])/4)
	}
	t := chebPowers()
	for i := range m {
		for j := range m {
			for k := range m {
				for n := range m {
					c.c[k][n] += b[i][j] * t[i][k] * t[j][n]
				}
			}
		}
	}
	c.ok = true
	if !last && (alongP > gasTol || alongT > gasTol) {
		return c, alongP, alongT // to be halved
	}
	for _, u := range [...]float64{-0.97, -0.4, 0.2, 0.97} {
		for _, w := range [...]float64{-0.999, -0.5, 0.1, 0.999} {
			y, ok := h(mid+u/inv, c.mid+w/c.inv)
			if !ok || !(math.Abs(c.at(u, w)-y) <= 2*gasTol) {
				c.ok = false
			}
		}
	}
	return c, alongP, alongT
}

// chebPowers are the Chebyshev polynomials as powers: [n][power].
func chebPowers() (t [gasOrder][gasOrder]float64) {
	t[0][0], t[1][1] = 1, 1
	for n := 2; n < gasOrder; n++ {
		for i := range gasOrder {
			t[n][i] = -t[n-2][i]
			if i > 0 {
				t[n][i] += 2 * t[n-1][i-1]
			}
		}
	}
	return t
}
