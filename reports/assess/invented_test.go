package assess_test

import (
	"testing"

	"retrostage/reports/assess"
	"retrostage/reports/demo"
)

// Invented jobs never make it fall over, whatever they lack.
func TestDiagnoseInventedJobs(t *testing.T) {
	t.Parallel()
	n, found := 0, 0
	for i := range 60 {
		j, flaw, err := demo.Job(11, i)
		if err != nil {
			t.Fatal(err)
		}
		d, err := assess.New(j).Causes()
		if err != nil {
			t.Errorf("job %d (%s): %v", i, flaw, err)
			continue
		}
		n++
		if d.Found {
			found++
			t.Logf("job %d, flaw %q: %s (%.2f)", i, flaw, d.Causes[0].Label, d.Causes[0].P)
		}
	}
	t.Logf("%d ranked, %d accused", n, found)
}
