package workbook

import (
	"strings"
	"testing"
	"time"

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
	rows, err := assess.New(j).OldAgainstNew()
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

// The label and the cautions of a job with a flammable refrigerant say so.
func TestFlammableIsSaid(t *testing.T) {
	for name, want := range map[string]string{"R-410A": "R-410A", "R-454B": "R-454B, A2L, FLAMMABLE"} {
		j := record.New("t-1")
		if err := j.Set(record.Entry{Key: record.Refrigerant, Value: name, Time: time.Unix(1.79e9, 0)}); err != nil {
			t.Fatal(err)
		}
		rep, err := assess.Run(j)
		if err != nil {
			t.Fatal(err)
		}
		b := &book{job: j, rep: rep, names: map[string]string{}, liveOf: map[string]string{}}
		if got := b.refrigerant(); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
		said := false
		for _, row := range b.aboutPage().rows {
			for _, c := range row {
				if s, ok := c.value.(string); ok && strings.Contains(s, "Mildly flammable") {
					said = true
				}
			}
		}
		if said != strings.Contains(want, "FLAMMABLE") {
			t.Errorf("%s: the caution stands there: %v", name, said)
		}
	}
}
