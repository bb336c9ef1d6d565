package planner

import "math"

// assign solves the rectangular assignment problem: for each row the column that
// makes the total cost least, each column used at most once (Kuhn 1955, in the
// shortest-path form with potentials). There must be at least as many columns as
// rows. Infinite cost forbids a pair; ok is false if a row has to take one.
func assign(cost [][]float64) (col []int, total float64, ok bool) {
	n := len(cost)
	if n == 0 {
		return nil, 0, true
	}
	const forbid = 1e9
	m := len(cost[0])
	u, v := make([]float64, n+1), make([]float64, m+1)
	p, way := make([]int, m+1), make([]int, m+1)
	for i := 1; i <= n; i++ {
		p[0] = i
		j0 := 0
		least := make([]float64, m+1)
		used := make([]bool, m+1)
		for j := range least {
			least[j] = math.Inf(1)
		}
		for p[j0] != 0 {
			used[j0] = true
			i0, delta, j1 := p[j0], math.Inf(1), 0
			for j := 1; j <= m; j++ {
				if used[j] {
					continue
				}
				if c := min(cost[i0-1][j-1], forbid) - u[i0] - v[j]; c < least[j] {
					least[j], way[j] = c, j0
				}
				if least[j] < delta {
					delta, j1 = least[j], j
				}
			}
			for j := 0; j <= m; j++ {
				if used[j] {
					u[p[j]] += delta
					v[j] -= delta
				} else {
					least[j] -= delta
				}
			}
			j0 = j1
		}
		for j0 != 0 {
			p[j0] = p[way[j0]]
			j0 = way[j0]
		}
	}
	col, ok = make([]int, n), true
	for j := 1; j <= m; j++ {
		if p[j] > 0 {
			c := cost[p[j]-1][j-1]
			col[p[j]-1] = j - 1
			total += c
			ok = ok && c < forbid
		}
	}
	return col, total, ok
}
