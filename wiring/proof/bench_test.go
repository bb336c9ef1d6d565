package proof

import (
	"context"
	"fmt"
	"testing"
)

func BenchmarkProve(b *testing.B) {
	for _, name := range sound {
		b.Run(name, func(b *testing.B) {
			k := open(b, name)
			for b.Loop() {
				p, err := Prove(context.Background(), k.old, k.new, k.data, nil)
				if err != nil || p.Verdict != Holds {
					b.Fatal(p, err)
				}
			}
		})
	}
}

// strung is a unit with n more switches in its string, in both circuits, up to the
// 16 inputs that a unit may have.
func strung(t testing.TB, n int) *kit {
	k := open(t, "two-contactor-conventional")
	for i := range n {
		id := fmt.Sprintf("S%d", i)
		insert(t, k.old, "w24", id, "switch", "outdoor", "1", "2")
		insert(t, k.new, "w24", id, "switch", "outdoor", "1", "2")
		k.old.Conductor("w24b").ID += id
		k.new.Conductor("w24b").ID += id
	}
	return k
}

// BenchmarkString: 8 interrupters in series, and as many as make 16 inputs.
func BenchmarkString(b *testing.B) {
	for _, n := range []int{5, 10} {
		k := strung(b, n)
		b.Run(fmt.Sprintf("%d interrupters", n+3), func(b *testing.B) {
			for b.Loop() {
				p, err := Prove(context.Background(), k.old, k.new, k.data, nil)
				if err != nil || p.Verdict != Holds {
					b.Fatal(p.Why, err)
				}
				b.ReportMetric(float64(p.States), "states")
				b.ReportMetric(float64(p.Combinations), "combinations")
			}
		})
	}
}
