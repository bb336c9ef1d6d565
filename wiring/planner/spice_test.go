package planner

import (
	"bytes"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"retrostage/wiring/netlist"
)

// An independent simulator solves the converted circuits too, at rest, on a call
// and with a pressure switch open: node voltages agree within 0.1 % (and 1 mV for
// what is next to nothing).
func TestSpiceAgreesOnThePlan(t *testing.T) {
	bin, err := exec.LookPath("ngspice")
	if err != nil {
		t.Skip("ngspice is not installed: the independent check of the converted circuits is not made (Debian package ngspice)")
	}
	file := filepath.Join(t.TempDir(), "deck.cir")
	line := regexp.MustCompile(`vm\(n(\d+)\) = ([-+0-9.eE]+)`)
	worst, nodes := 0.0, 0
	each(func(name, indoor string) {
		target := DefaultTarget()
		target.Indoor = indoor
		r, err := Plan(load(t, name), target, nil)
		if err != nil {
			t.Fatal(err)
		}
		c, err := netlist.Compile(r.New)
		if err != nil {
			t.Fatal(err)
		}
		call := c.With(c.Rest(), "cool-1", true)
		for _, st := range []netlist.State{c.Rest(), call, c.With(call, "HP", false)} {
			x, err := c.NewSolver().Solve(st)
			if err != nil {
				t.Fatal(err)
			}
			var deck bytes.Buffer
			names, err := x.WriteSpice(&deck)
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(file, deck.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
			out, err := exec.Command(bin, "-b", file).CombinedOutput()
			hits := line.FindAllSubmatch(out, -1)
			if len(hits) != len(names) {
				t.Fatalf("%s, %s: ngspice printed %d of %d nodes (%v)", name, c.Words(st), len(hits), len(names), err)
			}
			for _, h := range hits {
				n, _ := strconv.Atoi(string(h[1]))
				want, err := strconv.ParseFloat(string(h[2]), 64)
				if err != nil {
					t.Fatal(err)
				}
				v, err := x.ToEarth(names[n-1])
				if err != nil {
					t.Fatal(err)
				}
				diff := abs(cmplx.Abs(v) - want)
				if diff > 1e-3*want+1e-3 {
					t.Errorf("%s to %s, %s: %s is %.6g V, ngspice says %.6g V", name, indoor, c.Words(st), names[n-1], cmplx.Abs(v), want)
				}
				if want > 1 {
					worst = max(worst, diff/want)
				}
				nodes++
			}
		}
	})
	t.Logf("%d node voltages of the converted circuits against ngspice: largest difference %.2g of the reading", nodes, worst)
}
