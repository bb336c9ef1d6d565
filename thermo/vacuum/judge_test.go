package vacuum

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
)

func (w *world) setting() Setting {
	return Setting{Abs: 0.6 * micron, Rel: 0.008, Gain: 0.03, Pumped: w.pumped * (0.85 + 0.3*float64(w.seed%7)/6), Coldest: w.coldest, Leak: worldLeak, Vapour: worldVapour}
}

// right: every statement in the word is true of the world. A leak that is found
// beside water not yet found, or the other way round, is right: both send the
// technician back to work; a word of no leak or no water is not said then.
func right(kind, word Word) bool {
	switch kind {
	case LeakingWet:
		return word == Leaking || word == Wet || word == LeakingWet
	case gassing:
		return word == Wet
	default:
		return word == kind
	}
}

func TestWorlds(t *testing.T) {
	n, from := 150, uint64(0)
	if os.Getenv("RETROSTAGE_SOAK") != "" {
		n = 1000
	}
	fmt.Sscan(os.Getenv("RETROSTAGE_SEED"), &from)
	const begin = 600.0
	type tally struct{ n, right, wait, wrong int }
	var byKind [6]tally
	var total tally
	cover, ask20, second, hasty := 0, 0, 0, 0
	hastyN := 0
	var confusion [6][6]int
	for i := range n {
		w := draw(from + uint64(i))
		ts, ps := w.run(3 * 3600)
		judge := func(to float64) Judgement {
			k := 0
			for k < len(ts) && ts[k] <= to {
				k++
			}
			j, err := Judge(ts[:k], ps[:k], w.setting())
			if err != nil {
				t.Fatal(err)
			}
			return j
		}
		to := begin
		j := judge(to)
		if j.Word == Wait {
			asked := to + j.More
			if half := to + j.More/2; j.More > 120 {
				hastyN++
				if k := judge(half); k.Word != Wait && !right(w.kind, k.Word) {
					hasty++
				}
			}
			to = min(asked, 3*3600)
			j = judge(to)
			if j.Word == Wait && j.More > 0 && to+j.More <= 3*3600 {
				if k := judge(to + j.More); right(w.kind, k.Word) {
					second++
				}
			}
		}
		if to <= 1200 {
			ask20++
		}
		k := &byKind[w.kind]
		k.n++
		confusion[w.kind][j.Word]++
		switch {
		case right(w.kind, j.Word):
			k.right++
		case j.Word == Wait:
			k.wait++
			if os.Getenv("RETROSTAGE_SHOW") != "" {
				t.Logf("%d: %s declined after %.0f min, asks %.0f; slope %.2g [%.2g %.2g] true %.2g; %.2f leak %.2f vapour %.2f water %.2f oil %.2f", w.seed, w.kind, to/60, j.More/60, j.Slope, j.SlopeLow, j.SlopeHigh, w.slope(), j.Shapes, j.Leak, j.Vapour, j.Water, j.Oil)
			}
		default:
			k.wrong++
			if os.Getenv("RETROSTAGE_SHOW") != "" {
				t.Logf("%d: %s said %s after %.0f min; slope %.2g true %.2g; %.2f leak %.2f water %.2f gas %.2f", w.seed, w.kind, j.Word, to/60, j.Slope, w.slope(), j.Shapes, j.Leak, j.Water, j.Oil)
			}
		}
		if b := w.slope(); j.SlopeLow <= b && b <= j.SlopeHigh {
			cover++
		}
	}
	var b strings.Builder
	for k := Tight; k <= gassing; k++ {
		name := k.String()
		if k == gassing {
			name = "refrigerant out of oil"
		}
		v := byKind[k]
		fmt.Fprintf(&b, "%-24s %4d: right %4d, declined when due %3d, wrong %3d   %v\n", name, v.n, v.right, v.wait, v.wrong, confusion[k])
		total.right += v.right
		total.wait += v.wait
		total.wrong += v.wrong
	}
	t.Logf("%d worlds from seed %d\n%sright %.1f %%, declined when due %.1f %%, wrong %.1f %%; no more than 20 minutes in %.1f %%; a second term settles %d of the declined; half the term: %d of %d hasty and wrong; interval of the leak covers %.1f %%",
		n, from, b.String(), pct(total.right, n), pct(total.wait, n), pct(total.wrong, n), pct(ask20, n), second, hasty, hastyN, pct(cover, n))
	_ = slices.Max[[]int]
	_ = math.Inf
}

func pct(a, b int) float64 { return 100 * float64(a) / float64(b) }
