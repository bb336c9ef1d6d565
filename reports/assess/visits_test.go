package assess

import (
	"slices"
	"testing"
	"time"

	"retrostage/reports/record"
)

// A reading of this visit is not taken together with one of an earlier visit without a
// word: each of the earlier is a problem, and the step is not done, until it is read
// again or made room for.
func TestReadingsOfTwoVisits(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 9, 20, 10, 0, 0, 0, time.UTC)
	state := func() (word Progress, mixed int) {
		t.Helper()
		r, err := Run(j)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range r.Problems {
			if p.Text == errMixed.Error() {
				mixed++
			}
		}
		i := slices.IndexFunc(r.Steps, func(s State) bool { return s.Step == record.Running })
		return r.Steps[i].Word, mixed
	}
	if word, mixed := state(); word != Done && word != DoneReserved || mixed != 0 {
		t.Fatalf("the demo's running check is %s, %d mixed", word, mixed)
	}
	if err := j.BeginVisit("callback", "2026-09-20", "T-40", at); err != nil {
		t.Fatal(err)
	}
	if word, mixed := state(); word != Done && word != DoneReserved || mixed != 0 {
		t.Errorf("a visit alone makes it %s, %d mixed", word, mixed)
	}
	was := j.Text(record.SuctionPressure)
	if err := j.Set(record.Entry{Key: record.SuctionPressure, Value: was, Unit: "psig", Time: at, By: "T-40", Again: true}); err != nil {
		t.Fatal(err)
	}
	if word, mixed := state(); word == Done || word == DoneReserved || mixed < 3 {
		t.Errorf("mixed readings: %s, %d mixed", word, mixed)
	}
	if _, err := j.Again("running check", "T-40", at); err != nil {
		t.Fatal(err)
	}
	if word, mixed := state(); word == Done || word == DoneReserved || mixed != 0 {
		t.Errorf("begun anew: %s, %d mixed", word, mixed)
	}
}
