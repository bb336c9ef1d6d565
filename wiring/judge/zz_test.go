package judge

import (
	"context"
	"fmt"
	"os"
	"testing"

	"retrostage/wiring/planner"
)

func TestZZ(t *testing.T) {
	var from, to int
	fmt.Sscanf(os.Getenv("ZZ"), "%d-%d", &from, &to)
	bad := 0
	for i := from; i < to; i++ {
		u, target, note := makeUnit(i)
		r, err := planner.Plan(u, target, nil)
		if err != nil || r.New == nil {
			fmt.Println(i, err, r)
			bad++
			continue
		}
		if err := r.Check(context.Background(), nil); err != nil {
			t.Fatal(err)
		}
		if r.Verdict != "holds" {
			bad++
			fmt.Printf("unit %d (%v) %s\n", i, note, r.Verdict)
			for _, k := range r.Proof.Failed() {
				fmt.Printf("     %s [%s] %s\n", k.ID, k.State, k.Detail)
			}
		}
	}
	fmt.Printf("%d of %d not planned\n", bad, to-from)
}
