package judge

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// needSpice skips where ngspice is not installed; the continuous integration
// installs it, so there it has to be.
func needSpice(t testing.TB) string {
	path, err := exec.LookPath("ngspice")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("ngspice is not installed")
		}
		t.Skip("ngspice is not installed")
	}
	return path
}

// deck writes the network at several positions as independent circuits of one
// deck, each node name carrying its copy's number.
func (n *net) deck(w io.Writer, all []bits) {
	fmt.Fprintln(w, "* second reading of", n.f.Name)
	for k, now := range all {
		node := func(i int) string {
			if i == 0 {
				return "0"
			}
			return fmt.Sprintf("n%d_%d", i, k)
		}
		for i := range n.names {
			if i > 0 {
				fmt.Fprintf(w, "rleak%d_%d %s 0 %g\n", i, k, node(i), 1/leak)
			}
		}
		series := func(id, a, b string, z rlc) {
			mid := a
			if z.l != 0 {
				mid = "l" + id
				fmt.Fprintf(w, "l%s %s %s %.17g\n", id, a, mid, z.l)
			}
			if z.c != 0 {
				next := "c" + id
				fmt.Fprintf(w, "c%s %s %s %.17g\nrc%s %s %s 1e12\n", id, mid, next, z.c, id, mid, next)
				mid = next
			}
			fmt.Fprintf(w, "r%s %s %s %.17g\n", id, mid, b, z.r)
		}
		for i := range n.parts {
			p := &n.parts[i]
			if p.a == p.b {
				continue
			}
			if _, ok := n.impedance(p, now); !ok {
				continue
			}
			z := p.on
			if p.bit >= 0 && !now.has(p.bit) {
				z = p.off
			}
			id, a := fmt.Sprintf("p%d_%d", i, k), node(p.a)
			if p.emf != 0 {
				fmt.Fprintf(w, "v%s %s e%s dc 0 ac %.17g\n", id, a, id, real(p.emf))
				a = "e" + id
			}
			series(id, a, node(p.b), z)
		}
		for i, c := range n.couplers {
			if n.dead[c.dev] {
				continue
			}
			id := fmt.Sprintf("t%d_%d", i, k)
			fmt.Fprintf(w, "e%s x%s y%s %s %s %.17g\n", id, id, id, node(c.p1), node(c.p2), c.ratio)
			series(id, "x"+id, node(c.s1), c.z)
			fmt.Fprintf(w, "vs%s y%s %s dc 0 ac 0\n", id, id, node(c.s2))
			// vs carries the secondary's return current from s2 into the emf's foot
			// negatively; the primary takes ratio times the current.
			fmt.Fprintf(w, "f%s %s %s vs%s %.17g\n", id, node(c.p2), node(c.p1), id, c.ratio)
		}
	}
	fmt.Fprintf(w, ".ac lin 1 %g %g\n.end\n", n.f.Hertz, n.f.Hertz)
}

// spice has ngspice solve the positions and returns the voltages of each.
func (n *net) spice(dir string, all []bits) ([]view, error) {
	in, raw := filepath.Join(dir, "deck.cir"), filepath.Join(dir, "out.raw")
	f, err := os.Create(in)
	if err != nil {
		return nil, err
	}
	b := bufio.NewWriter(f)
	n.deck(b, all)
	if err := b.Flush(); err != nil {
		return nil, err
	}
	if err := f.Close(); err != nil {
		return nil, err
	}
	os.Remove(raw)
	cmd := exec.Command("ngspice", "-b", "-r", raw, in)
	cmd.Env = append(os.Environ(), "SPICE_ASCIIRAWFILE=1")
	if out, err := cmd.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("ngspice: %v\n%s", err, out)
	}
	data, err := os.ReadFile(raw)
	if err != nil {
		return nil, err
	}
	out := make([]view, len(all))
	for i := range out {
		out[i] = view{n, make([]complex128, len(n.names))}
	}
	head, body, ok := strings.Cut(string(data), "Values:\n")
	if !ok {
		return nil, fmt.Errorf("ngspice: no values in %q", head)
	}
	var place [][2]int
	_, list, _ := strings.Cut(head, "Variables:\n")
	for _, l := range strings.Split(strings.TrimSpace(list), "\n") {
		at := [2]int{-1, -1}
		if f := strings.Fields(l); len(f) >= 2 {
			fmt.Sscanf(f[1], "v(n%d_%d)", &at[0], &at[1])
		}
		place = append(place, at)
	}
	got := 0
	for i, l := range strings.Split(strings.TrimSpace(body), "\n") {
		f := strings.Fields(l)
		re, im, ok := strings.Cut(f[len(f)-1], ",")
		if !ok || i >= len(place) || place[i][1] < 0 {
			continue
		}
		x, err1 := strconv.ParseFloat(re, 64)
		y, err2 := strconv.ParseFloat(im, 64)
		if err1 != nil || err2 != nil {
			return nil, fmt.Errorf("ngspice: value %q", l)
		}
		out[place[i][1]].v[place[i][0]] = complex(x, y)
		got++
	}
	if want := len(all) * (len(n.names) - 1); got != want {
		return nil, fmt.Errorf("ngspice gave %d node voltages of %d", got, want)
	}
	return out, nil
}
