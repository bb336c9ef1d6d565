package demo

import (
	"bytes"
	"retrostage/reports/record"
	"testing"
)

// Reproducible from the seed, marked as demonstrations, and different from one
// another.
func TestJobs(t *testing.T) {
	seen := map[string]bool{}
	flawed := 0
	for i := range 60 {
		j, flaw, err := Job(7, i)
		if err != nil {
			t.Fatal(err)
		}
		a, err := j.Encode()
		if err != nil {
			t.Fatal(err)
		}
		k, _, err := Job(7, i)
		if err != nil {
			t.Fatal(err)
		}
		if b, _ := k.Encode(); !bytes.Equal(a, b) {
			t.Fatalf("job %d is not reproducible", i)
		}
		if !j.Demo {
			t.Errorf("job %d is not marked as a demonstration", i)
		}
		if len(j.Drafts) > 0 {
			t.Errorf("job %d: %v", i, j.Drafts)
		}
		s := j.Text(record.NewCompressorSerial)
		if s != "" && seen[s] {
			t.Errorf("job %d repeats the serial %s", i, s)
		}
		seen[s] = true
		if flaw != None {
			flawed++
		}
	}
	if flawed < 10 || flawed > 50 {
		t.Errorf("%d of 60 jobs have a flaw", flawed)
	}
}
