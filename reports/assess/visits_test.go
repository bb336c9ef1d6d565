package assess

import (
	"slices"
	"strings"
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

// A callback is held against the unit itself as it was left, where it was sound then and
// was not opened since; else against a typical one, without a word that says otherwise.
func TestHeldAgainstItsOwnCommissioning(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 9, 20, 10, 0, 0, 0, time.UTC)
	read := []record.Key{record.SuctionPressure, record.SuctionTemp, record.LiquidPressure, record.LiquidTemp, record.DischargeTemp, record.OutdoorTemp, record.ReturnDB, record.ReturnWB, record.SupplyDB}
	again := func(then map[record.Key]string, kinds []string, now map[record.Key]string) *Diagnosis {
		t.Helper()
		j := demo(t)
		for k, v := range then {
			e, _ := j.Entry(k)
			set(t, j, k, v, e.Unit)
		}
		was := map[record.Key]record.Entry{}
		for _, k := range read {
			if e, ok := j.Entry(k); ok {
				was[k] = e
			}
		}
		for i, kind := range kinds {
			if err := j.BeginVisit(kind, at.AddDate(0, 0, i).Format(time.DateOnly), "T-40", at); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := j.Again("running check", "T-40", at); err != nil {
			t.Fatal(err)
		}
		for _, k := range read {
			e, ok := was[k]
			if !ok {
				continue
			}
			v := e.Value
			if x, ok := now[k]; ok {
				v = x
			}
			if err := j.Set(record.Entry{Key: k, Value: v, Unit: e.Unit, Time: at, By: "T-40"}); err != nil {
				t.Fatal(err)
			}
		}
		d, err := New(j).Causes()
		if err != nil {
			t.Fatal(err)
		}
		if len(d.Missing) > 0 || len(d.Causes) == 0 {
			t.Fatalf("%v: %s, missing %v", kinds, d.Outcome, d.Missing)
		}
		return d
	}
	d := again(nil, []string{"callback"}, nil)
	if !strings.HasPrefix(d.Beside, "Compared with this unit as it was read by 2026-") || d.Found {
		t.Errorf("as it was: %q, %s", d.Beside, d.Said())
	}
	// Four kelvin of subcooling less than it was left with.
	lost := again(nil, []string{"one-year look"}, map[record.Key]string{record.LiquidTemp: "107", record.SuctionPressure: "114", record.SuctionTemp: "62", record.LiquidPressure: "345"})
	t.Logf("%s %s %v", lost.Beside, lost.Said(), lost.Causes[0].Label)
	if lost.Healthy >= d.Healthy {
		t.Errorf("refrigerant lost: nothing wrong %g, as it was %g", lost.Healthy, d.Healthy)
	}
	for name, d := range map[string]*Diagnosis{
		"the visit of the fitting itself": again(nil, []string{"fitted"}, nil),
		"opened since":                    again(nil, []string{"second opening", "callback"}, nil),
		"not sound then":                  again(map[record.Key]string{record.SuctionPressure: "85", record.SuctionTemp: "70", record.LiquidTemp: "108"}, []string{"callback"}, nil),
	} {
		if d.Beside != "" {
			t.Errorf("%s: %q", name, d.Beside)
		}
	}
}
