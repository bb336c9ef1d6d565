package cycle

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// A machine can be fitted to the unit at hand: the parts that plate and paper leave
// open move from their usual values, each as far as its prior doubt lets it, until the
// model shows what was read on the unit when it was known to be sound.

// Setup is a machine in a place at a time, with what it is charged to there, K.
type Setup struct {
	Machine    Machine
	Conditions Conditions
	Target     float64
}

// Free changes a setup by z standard deviations of one thing that is not known.
type Free func(s *Setup, z float64)

// Sight is one reading: what a machine in a state would show, what was read, and how
// far the two may lie apart, standard, of the reading and of the model.
type Sight struct {
	Of      func(m *Machine, s *State, c *Conditions) float64
	Read, U float64
}

// Fitted is a fitted machine.
type Fitted struct {
	Machine Machine   // charged
	State   State     // where it was read
	Vary    []Machine // charged, each one standard deviation along one direction of what the readings left open
	Chi2    float64   // what they leave unexplained, prior included
	N       int       // readings
}

// Fit moves the setup to the readings: the most likely one (Gauss-Newton on a normal
// prior, every Free of unit deviation). mode is what the unit was charged by.
func Fit(start Setup, mode Mode, free []Free, sights []Sight) (*Fitted, error) {
	k, n := len(free), len(sights)
	if k == 0 || n == 0 {
		return nil, fmt.Errorf("cycle: %d things free, %d readings: nothing to fit", k, n)
	}
	var near *State
	at := func(z []float64) (t Setup, s State, r []float64, err error) {
		t = start
		for i, f := range free {
			f(&t, z[i])
		}
		if s, err = t.Machine.Charged(t.Conditions, mode, t.Target, near); err != nil {
			return t, s, nil, err
		}
		r = make([]float64, n)
		for i, x := range sights {
			r[i] = (x.Read - x.Of(&t.Machine, &s, &t.Conditions)) / x.U
		}
		return t, s, r, nil
	}
	chi := func(z, r []float64) (c float64) {
		for _, x := range z {
			c += x * x
		}
		for _, x := range r {
			c += x * x
		}
		return c
	}
	z := make([]float64, k)
	t, s, r, err := at(z)
	if err != nil {
		return nil, fmt.Errorf("cycle: fit: %w", err)
	}
	near = &s
	var h mat.Cholesky
	for range 8 {
		jac := mat.NewDense(n, k, nil)
		for i := range free {
			step := 0.2
			y := append([]float64(nil), z...)
			y[i] += step
			_, _, ry, err := at(y)
			if err != nil { // an end of its range: the other way
				step = -step
				y[i] = z[i] + step
				if _, _, ry, err = at(y); err != nil {
					continue // it stays as it is
				}
			}
			for j := range n {
				jac.Set(j, i, (r[j]-ry[j])/step) // of what is shown, over its doubt
			}
		}
		info := mat.NewSymDense(k, nil)
		right := mat.NewVecDense(k, nil)
		for a := range k {
			for b := a; b < k; b++ {
				v := 0.0
				for j := range n {
					v += jac.At(j, a) * jac.At(j, b)
				}
				if a == b {
					v++
				}
				info.SetSym(a, b, v)
			}
			v := -z[a]
			for j := range n {
				v += jac.At(j, a) * r[j]
			}
			right.SetVec(a, v)
		}
		if !h.Factorize(info) {
			return nil, fmt.Errorf("cycle: fit: the readings and the prior contradict each other")
		}
		var d mat.VecDense
		if err := h.SolveVecTo(&d, right); err != nil {
			return nil, fmt.Errorf("cycle: fit: %w", err)
		}
		before, moved := chi(z, r), false
		for share := 1.0; share > 0.05; share /= 2 {
			y := append([]float64(nil), z...)
			for i := range y {
				y[i] = min(max(y[i]+share*d.AtVec(i), -4), 4)
			}
			ty, sy, ry, err := at(y)
			if err == nil && chi(y, ry) < before {
				z, t, s, r, moved = y, ty, sy, ry, true
				break
			}
		}
		if !moved || before-chi(z, r) < 1e-3 {
			break
		}
	}
	out := &Fitted{Machine: t.Machine, State: s, Chi2: chi(z, r), N: n}
	out.Machine.Charge = s.Charge
	// The columns of the inverse's root: independent directions of unit deviation.
	var cov mat.SymDense
	if err := h.InverseTo(&cov); err != nil {
		return nil, fmt.Errorf("cycle: fit: %w", err)
	}
	var root mat.Cholesky
	if !root.Factorize(&cov) {
		return nil, fmt.Errorf("cycle: fit: nothing is left in doubt")
	}
	var l mat.TriDense
	root.LTo(&l)
	for c := range k {
		y := append([]float64(nil), z...)
		size := 0.0
		for i := range k {
			y[i] += l.At(i, c)
			size = math.Max(size, math.Abs(l.At(i, c)))
		}
		ty, sy, _, err := at(y)
		if err != nil {
			continue // at an end of its range; the direction is left out
		}
		ty.Machine.Charge = sy.Charge
		out.Vary = append(out.Vary, ty.Machine)
	}
	return out, nil
}
