package workbook

import (
	"strings"
	"testing"

	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// Whatever a comparison rests on says how far to trust it: a rule from memory
// is not passed off as the standard's.
func TestRulesSayHowFarToTrustThem(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	rows, err := assess.OldNew(j)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, r := range rows {
		if r.Check == nil {
			continue
		}
		if c := string(r.Check.Rule.Confidence); c != "" && !strings.HasSuffix(trusted(r.Check.Rule), c) {
			t.Errorf("%s: %q does not say %q", r.Key, trusted(r.Check.Rule), c)
		} else if strings.Contains(c, "memory") {
			seen++
		}
	}
	if seen == 0 {
		t.Error("no rule from memory among the rows: the test shows nothing")
	}
}
