package cause

import "testing"

// What leaving a test out costs is a share of the doubt that there is: never more than all
// of it, nothing of what is certain, and a test that tells something costs something.
func TestCostOfLeavingOut(t *testing.T) {
	x, err := Examine(Evidence{})
	if err != nil {
		t.Fatal(err)
	}
	if d := x.Doubt(); d < 1 || d > 3.33 {
		t.Errorf("ten kinds, nothing examined: %.2f bit", d)
	}
	most := 0.0
	for _, n := range x.Next {
		c := x.Costs(n)
		if c < 0 || c > 1 {
			t.Errorf("%s costs %g", n.Observation.Key, c)
		}
		most = max(most, c)
	}
	if most < 0.1 {
		t.Errorf("no test costs more than %g", most)
	}
	if c := (Examination{Ranking: []Ranked{{P: 1}}}).Costs(Test{Bits: 1}); c != 0 {
		t.Errorf("of no doubt %g", c)
	}
}
