package demo

import (
	"strings"
	"testing"

	"retrostage/assets/soak"
	"retrostage/reports/assess"
)

// The readings of an invented job belong to one another: a flaw of the machine
// is found as the likeliest cause, and no other job is suspected. (Data for
// trials: how good the ranking is has its own test in package diagnose, on
// machines that differ far more.) Ranking never falls over a job, whatever it lacks.
func TestFlawShows(t *testing.T) {
	label := map[Flaw]string{Undercharge: "Too little refrigerant", Overcharge: "Too much refrigerant",
		LowAir: "Too little indoor air", Fouled: "Too little condenser air"}
	flawed, right, sound, accused := 0, 0, 0, 0
	n := soak.Count(100, 250)
	tried := map[Flaw]int{}
	for i := range n {
		j, flaw, err := Job(11, i)
		if err != nil {
			t.Fatal(err)
		}
		d, err := assess.New(j).Causes()
		if err != nil {
			t.Fatalf("job %d (%s): %v", i, flaw, err)
		}
		if tried[flaw]++; flaw == Incomplete {
			continue
		}
		if len(d.Missing) > 0 || len(d.Causes) == 0 {
			t.Fatalf("job %d: %s, missing %v", i, d.Outcome, d.Missing)
		}
		if want := label[flaw]; want != "" {
			flawed++
			if strings.HasPrefix(d.Causes[0].Label, want) {
				right++
			} else {
				t.Logf("job %d, %s: %s, %s", i, flaw, d.Outcome, d.Causes[0].Label)
			}
			continue
		}
		sound++
		if d.Found {
			accused++
			t.Logf("job %d, %q: %s %.2f", i, flaw, d.Causes[0].Label, d.Causes[0].P)
		}
	}
	t.Logf("right cause first in %d of %d; %d of %d without a flaw of the machine suspected", right, flawed, accused, sound)
	for _, f := range []Flaw{None, Undercharge, Overcharge, LowAir, Fouled, Incomplete} {
		if tried[f] == 0 {
			t.Errorf("no job with %q among %d", f, n)
		}
	}
	if flawed < 15 || right*10 < flawed*9 || accused*20 > sound {
		t.Error("the readings do not show what was drawn")
	}
}
