package plan

import "testing"

// BenchmarkRaised: the questions of a job's unit, which the state of its step asks.
func BenchmarkRaised(b *testing.B) {
	j := demoJob(b)
	for b.Loop() {
		if _, err := Raised(j); err != nil {
			b.Fatal(err)
		}
	}
}
