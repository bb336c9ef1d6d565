package netlist

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/cmplx"
)

// WriteSpice writes the circuit, at the switch positions of a solution, as a deck
// in the plain SPICE language that prints the magnitude of every node voltage
// against earth at the unit's frequency. An independent simulator can so be set
// against this package. It returns the node names in the deck's order v(n1),
// v(n2), ...
func (x *Solution) WriteSpice(w io.Writer) ([]string, error) {
	c := x.s.c
	b := bufio.NewWriter(w)
	name := func(n int32) string {
		if n < 0 {
			return "0"
		}
		return fmt.Sprintf("n%d", n+1)
	}
	names := make([]string, c.nodes)
	for k, n := range c.node {
		names[n] = k
	}
	fmt.Fprintf(b, "* %s, state %s\n", c.Unit.Name, c.Words(x.State))
	for n := range c.nodes {
		fmt.Fprintf(b, "Rleak%d n%d 0 %g\n", n, n+1, 1/leakage)
	}
	for i := range c.Branches {
		y := x.s.admittance(i, &x.s.on)
		if y == 0 {
			continue
		}
		z := 1 / y
		br := &c.Branches[i]
		mid := fmt.Sprintf("m%d", i)
		fmt.Fprintf(b, "R%d %s %s %.12g\n", i, name(br.a), mid, max(real(z), 1e-9))
		switch v := imag(z); {
		case math.Abs(v) < 1e-12:
			fmt.Fprintf(b, "V%d %s %s 0\n", i, mid, name(br.b))
		case v > 0:
			fmt.Fprintf(b, "L%d %s %s %.12g\n", i, mid, name(br.b), v/c.omega)
		default:
			fmt.Fprintf(b, "C%d %s %s %.12g\n", i, mid, name(br.b), -1/(v*c.omega))
		}
	}
	for i := range c.Sources {
		s := &c.Sources[i]
		p, q := fmt.Sprintf("p%d", i), fmt.Sprintf("q%d", i)
		fmt.Fprintf(b, "RS%d %s %s %.12g\n", i, name(s.n[0]), p, max(real(s.z), 1e-9))
		if imag(s.z) > 0 {
			fmt.Fprintf(b, "LS%d %s %s %.12g\n", i, p, q, imag(s.z)/c.omega)
		} else {
			fmt.Fprintf(b, "VZ%d %s %s 0\n", i, p, q)
		}
		if s.ratio == 0 {
			fmt.Fprintf(b, "VS%d %s %s AC %.12g %.12g\n", i, q, name(s.n[1]), cmplx.Abs(s.e), cmplx.Phase(s.e)*180/math.Pi)
			continue
		}
		k := fmt.Sprintf("k%d", i) // E sets the secondary voltage, F returns its current to the primary
		fmt.Fprintf(b, "E%d %s %s %s %s %.12g\n", i, q, k, name(s.n[2]), name(s.n[3]), s.ratio)
		fmt.Fprintf(b, "VI%d %s %s 0\nF%d %s %s VI%d %.12g\n", i, k, name(s.n[1]), i, name(s.n[3]), name(s.n[2]), i, s.ratio)
	}
	fmt.Fprintf(b, ".ac lin 1 %g %g\n.control\nset width=200\nrun\n", c.Unit.Hertz, c.Unit.Hertz)
	for n := range c.nodes {
		fmt.Fprintf(b, "print vm(n%d)\n", n+1)
	}
	fmt.Fprintf(b, ".endc\n.end\n")
	return names, b.Flush()
}
