package netlist

import (
	"errors"
	"math"
	mathbits "math/bits"
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
	slot  []int32 // n x n, while it is made: the slot of an entry and one, 0 where it has none
	size  int
}

var errSingular = errors.New("no solution: singular network")

// compileLU works on tables and not on maps: a circuit is compiled anew for every single
// fault that is tried, and this is most of compiling.
func compileLU(n int, pairs [][2]int32) *program {
	p := &program{n: n, slot: make([]int32, n*n)}
	words := (n + 63) / 64
	adj := make([]uint64, n*words) // row i: the unknowns that i meets, one bit each
	degree := make([]int, n)
	for i := range n {
		p.at(int32(i), int32(i))
	}
	join := func(i, j int32) {
		if at, bit := &adj[int(i)*words+int(j>>6)], uint64(1)<<(j&63); *at&bit == 0 {
			*at |= bit
			degree[i]++
		}
	}
	for _, e := range pairs {
		if e[0] != e[1] {
			join(e[0], e[1])
			join(e[1], e[0])
			p.at(e[0], e[1])
			p.at(e[1], e[0])
		}
	}
	done := make([]bool, n)
	var nb []int32
	for range n {
		k, best := -1, math.MaxInt
		for i, d := range degree {
			if !done[i] && d < best {
				k, best = i, d
			}
		}
		done[k] = true
		p.order = append(p.order, int32(k))
		p.diag = append(p.diag, p.at(int32(k), int32(k)))
		p.start = append(p.start, int32(len(p.nb)))
		p.updAt = append(p.updAt, int32(len(p.upd)))
		nb = nb[:0]
		for w, b := range adj[k*words : (k+1)*words] { // in number order, so that runs are reproducible
			for ; b != 0; b &= b - 1 {
				nb = append(nb, int32(w*64+mathbits.TrailingZeros64(b)))
			}
		}
		for _, i := range nb {
			p.nb = append(p.nb, i)
			p.lo = append(p.lo, p.at(i, int32(k)))
			p.up = append(p.up, p.at(int32(k), i))
			adj[int(i)*words+k>>6] &^= 1 << (k & 63)
			degree[i]--
			for _, j := range nb {
				p.upd = append(p.upd, p.at(i, j))
				if i != j {
					join(i, j)
				}
			}
		}
	}
	p.start = append(p.start, int32(len(p.nb)))
	return p
}

// at is the slot of an entry, a new one where it had none.
func (p *program) at(i, j int32) int32 {
	s := &p.slot[int(i)*p.n+int(j)]
	if *s == 0 {
		p.size++
		*s = int32(p.size)
	}
	return *s - 1
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
