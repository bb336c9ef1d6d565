package vacuum

import (
	"os"
	"testing"
)

func TestDbg(t *testing.T) {
	if os.Getenv("DBG") == "" {
		t.Skip()
	}
	for _, seed := range []uint64{3, 25, 69, 100, 97, 96} {
		w := draw(seed)
		ts, ps := w.run(3 * 3600)
		t.Logf("seed %d %v true slope %.3g pumped %.0f p0 %.0f noise %.3f", seed, w.kind, w.slope(), w.pumped, ps[0], w.noise)
		for _, to := range []float64{600, 1200, 1800, 3600, 5400, 9000} {
			k := 0
			for k < len(ts) && ts[k] <= to {
				k++
			}
			b := newBoard(ts[:k], ps[:k], w.setting())
			nodes := b.weigh()
			j := b.judge(nodes)
			b.interval(&j, nodes)
			c := j.curve
			var rw [2]float64
			var ww [2]float64
			for _, n := range nodes {
				rw[n.rate] += n.w
				ww[n.walk] += n.w
			}
			t.Logf("  %5.0f %v slope %.3g [%.3g %.3g] %.2f leak %.2f vapour %.2f oil %.2f rate %.2f walk %.2f  best g%d tau%d white%d walk%d rate%d", to/60, j.Word, j.Slope, j.SlopeLow, j.SlopeHigh, j.Shapes, j.Leak, j.Vapour, j.Oil, rw, ww, c.g, c.tau, c.white, c.walk, c.rate)
		}
	}
}
