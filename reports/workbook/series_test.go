package workbook

import (
	"strings"
	"testing"

	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// Charts have their limits: the vacuum's rise that of the hold, a log those of the
// findings that are its reading as read.
func TestChartsHaveTheirLimits(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	j.Series = append(j.Series, record.Series{Name: "run", Seconds: []float64{0, 60, 120},
		Columns: []record.SeriesColumn{{Key: record.SupplyVoltage, Unit: "V", Values: []float64{206, 205, 207}}}})
	a := assess.New(j)
	rep, err := a.Report()
	if err != nil {
		t.Fatal(err)
	}
	b := newBook(a, rep, Options{}, nil)
	t.Cleanup(func() { b.file.Close() })
	for _, l := range b.logs() {
		t.Logf("%s: %q", l.name, l.heads)
		switch {
		case l.vacuum && (l.curve == nil || len(l.curve.heads) < 4 || !strings.HasPrefix(l.curve.heads[3], "Limit") && !strings.HasPrefix(l.curve.heads[3], "To start")):
			t.Errorf("%s: %q", l.name, l.heads)
		case !l.vacuum && l.limits != 2:
			t.Errorf("%s: %q", l.name, l.heads)
		}
		for i := range l.y {
			if len(l.y[i]) != len(l.x) {
				t.Errorf("%s: %d of %d", l.heads[i], len(l.y[i]), len(l.x))
			}
		}
	}
}
