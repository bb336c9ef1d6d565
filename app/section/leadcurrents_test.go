package section

import (
	"strings"
	"testing"
	"time"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

func TestLeadCurrentsAndOldAgainstNew(t *testing.T) {
	j := record.New("leads")
	set := func(key record.Key, v string) {
		t.Helper()
		if err := j.Set(record.Entry{Key: key, Value: v, Unit: "A", Time: time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)}); err != nil {
			t.Fatal(err)
		}
	}
	leads := func() leadWords {
		l, err := assess.LeadCurrentsOf(j, 101325)
		return presenter{}.leads(l, err)
	}
	set(record.NewRLA, "21.8")
	set(record.RunCurrent, "17.9")
	set(record.CapCurrent, "5.2")
	if w := leads(); w.pic != nil || w.wrong != "" {
		t.Fatalf("a picture without the run lead's current: %+v", w)
	}
	set(record.RunLeadCurrent, "16.1")
	if w := leads(); w.pic == nil || w.tone == theme.Bad || !strings.Contains(w.closes, "close:") {
		t.Errorf("17.9, 16.1 and 5.2 A: %q", w.closes)
	}
	set(record.RunLeadCurrent, "30")
	if w := leads(); w.tone != theme.Bad || !strings.Contains(w.closes, "do not close") {
		t.Errorf("17.9, 30 and 5.2 A: %q", w.closes)
	}
	set(record.Breaker, "60")
	rows, err := assess.New(j).OldAgainstNew()
	if err != nil {
		t.Fatal(err)
	}
	var out []widget.TableRow
	for _, r := range rows {
		out = append(out, presenter{system: units.IP}.oldNew(r))
	}
	seen := false
	for _, r := range out {
		if strings.HasPrefix(r.Cells[0], "Breaker") {
			seen = true
			if r.Cells[4] != "Does not fit" || r.Cells[3] != "60 A" {
				t.Errorf("a 60 A breaker for 21.8 A: %v", r.Cells)
			}
		}
	}
	if !seen {
		t.Errorf("no breaker among %d rows", len(out))
	}
}
