package netlist

import (
	"errors"
	"math"
)

// A program is a sparse LU factorisation worked out in advance for one pattern
// of nonzeros: which slots to combine, in which order. Wiring is nearly a tree,
// so with a minimum-degree order (Tinney and Walker 1967) there is hardly any
// fill and a factorisation costs some microseconds; a dense one grows with the
// cube of the terminals (see BenchmarkFactor).
type program struct {
	n     int
	order []int32 // elimination order
	diag  []int32 // slot of the pivot, in elimination order
	start []int32 // per pivot, start of its neighbours in nb
	nb    []int32 // later neighbours (unknown numbers)
	lo    []int32 // slot (i,k) for each neighbour i
	up    []int32 // slot (k,i) for each neighbour i
	upd   []int32 // slots (i,j), neighbours x neighbours, row by row
	updAt []int32 // start in upd per pivot
	slot  map[[2]int32]int32
	size  int
}

var errSingular = errors.New("no solution: singular network")

func compileLU(n int, pairs [][2]int32) *program {
	p := &program{n: n, slot: map[[2]int32]int32{}}
	adj := make([]map[int32]bool, n)
	for i := range adj {
		adj[i] = map[int32]bool{}
		p.at(int32(i), int32(i))
	}
	for _, e := range pairs {
		if e[0] != e[1] {
			adj[e[0]][e[1]], adj[e[1]][e[0]] = true, true
			p.at(e[0], e[1])
			p.at(e[1], e[0])
		}
	}
	done := make([]bool, n)
	for range n {
		k, best := -1, math.MaxInt
		for i := range n {
			if !done[i] && len(adj[i]) < best {
				k, best = i, len(adj[i])
			}
		}
		done[k] = true
		p.order = append(p.order, int32(k))
		p.diag = append(p.diag, p.at(int32(k), int32(k)))
		p.start = append(p.start, int32(len(p.nb)))
		p.updAt = append(p.updAt, int32(len(p.upd)))
		var nb []int32
		for i := range n { // in number order, so that runs are reproducible
			if adj[k][int32(i)] {
				nb = append(nb, int32(i))
			}
		}
		for _, i := range nb {
			p.nb = append(p.nb, i)
			p.lo = append(p.lo, p.at(i, int32(k)))
			p.up = append(p.up, p.at(int32(k), i))
			delete(adj[i], int32(k))
			for _, j := range nb {
				p.upd = append(p.upd, p.at(i, j))
				if i != j {
					adj[i][j] = true
				}
			}
		}
	}
	p.start = append(p.start, int32(len(p.nb)))
	return p
}

func (p *program) at(i, j int32) int32 {
	k := [2]int32{i, j}
	s, ok := p.slot[k]
	if !ok {
		s = int32(p.size)
		p.slot[k] = s
		p.size++
	}
	return s
}

// solve factors a in place and overwrites x, the right-hand side, with the
// solution.
func (p *program) solve(a, x []complex128) error {
	for k, d := range p.diag {
		piv := a[d]
		if m := math.Abs(real(piv)) + math.Abs(imag(piv)); !(m > 1e-18 && m < 1e18) {
			return errSingular
		}
		m2 := real(piv)*real(piv) + imag(piv)*imag(piv)
		inv := complex(real(piv)/m2, -imag(piv)/m2) // m2 is finite by the bounds above
		a[d] = inv
		lo, hi := p.start[k], p.start[k+1]
		up := p.up[lo:hi]
		u := p.updAt[k]
		xk := x[p.order[k]]
		for e := lo; e < hi; e++ {
			f := a[p.lo[e]] * inv
			if f == 0 {
				u += hi - lo
				continue
			}
			for _, s := range up {
				a[p.upd[u]] -= f * a[s]
				u++
			}
			x[p.nb[e]] -= f * xk
		}
	}
	for k := p.n - 1; k >= 0; k-- {
		s := x[p.order[k]]
		for e := p.start[k]; e < p.start[k+1]; e++ {
			s -= a[p.up[e]] * x[p.nb[e]]
		}
		x[p.order[k]] = s * a[p.diag[k]]
	}
	for _, v := range x {
		if math.IsNaN(real(v)) || math.IsNaN(imag(v)) || math.IsInf(real(v), 0) || math.IsInf(imag(v), 0) {
			return errSingular
		}
	}
	return nil
}
