package netlist

import (
	"bytes"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
)

// An independent simulator solves the same circuits at the same switch positions:
// every node voltage agrees within 0.1 % (and 1 mV for what is next to nothing).
func TestSpiceAgrees(t *testing.T) {
	bin, err := exec.LookPath("ngspice")
	if err != nil {
		t.Skip("ngspice is not installed: the independent check of the solver is not made (Debian package ngspice)")
	}
	dir := t.TempDir()
	line := regexp.MustCompile(`vm\(n(\d+)\) = ([-+0-9.eE]+)`)
	worst, nodes, circuits := 0.0, 0, 0
	for _, name := range Catalogue() {
		u, err := Load(name)
		if err != nil {
			t.Fatal(err)
		}
		c, err := Compile(u)
		if err != nil {
			t.Fatal(err)
		}
		call := c.With(c.Rest(), "cool-1", true)
		for _, st := range []State{c.Rest(), call, c.With(call, "cool-2", true), c.With(c.With(call, "cool-2", true), "fan", true), c.With(call, "HP", false)} {
			x := solved(t, c, st)
			var deck bytes.Buffer
			names, err := x.WriteSpice(&deck)
			if err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(dir, "deck.cir")
			if err := os.WriteFile(file, deck.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
			out, err := exec.Command(bin, "-b", file).CombinedOutput()
			hits := line.FindAllSubmatch(out, -1)
			if len(hits) != len(names) {
				t.Fatalf("%s, %s: ngspice printed %d of %d nodes (%v)\n%.600s", name, c.Words(st), len(hits), len(names), err, out)
			}
			circuits++
			for _, h := range hits {
				n, _ := strconv.Atoi(string(h[1]))
				want, err := strconv.ParseFloat(string(h[2]), 64)
				if err != nil {
					t.Fatal(err)
				}
				got := cmplx.Abs(x.s.x[n-1])
				diff := got - want
				if diff < 0 {
					diff = -diff
				}
				if diff > 1e-3*want+1e-3 {
					t.Errorf("%s, %s: %s is %.6g V, ngspice says %.6g V", name, c.Words(st), names[n-1], got, want)
				}
				if want > 1 {
					worst = max(worst, diff/want)
				}
				nodes++
			}
		}
	}
	t.Logf("%d circuits, %d node voltages against ngspice: largest difference %.2g of the reading", circuits, nodes, worst)
}
