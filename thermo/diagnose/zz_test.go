package diagnose_test

import (
	"fmt"
	"math"
	"os"
	"testing"

	"retrostage/thermo/diagnose"
	"retrostage/thermo/target"
)

func TestZ(t *testing.T) {
	if os.Getenv("FIT") == "" {
		t.Skip()
	}
	tab, _ := target.Load()
	var s, ss, n, sg, raw [2][diagnose.Features]float64
	for seed := uint64(0); seed < 120; seed++ {
		d, err := drawRun(seed, healthy, true, tab)
		if err != nil {
			continue
		}
		rep, err := diagnose.Run(d.know, d.read)
		if err != nil {
			fmt.Println(err)
			continue
		}
		k := 0
		if d.know.Fixed {
			k = 1
		}
		for f := range rep.Residual {
			if rep.Present[f] {
				z := rep.Residual[f] / rep.Sigma[f]
				s[k][f] += z
				ss[k][f] += z * z
				n[k][f]++
				sg[k][f] += rep.Sigma[f]
				raw[k][f] += rep.Residual[f]
			}
		}
	}
	for k := range 2 {
		fmt.Println("fixed", k == 1)
		for f := range diagnose.Features {
			m := s[k][f] / n[k][f]
			fmt.Printf("  %-28s n %3.0f mean z %6.2f rms z %.2f  sigma %.3f mean res %.3f\n", f, n[k][f], m, math.Sqrt(ss[k][f]/n[k][f]), sg[k][f]/n[k][f], raw[k][f]/n[k][f])
		}
	}
}
