package like

import (
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

var (
	then = time.Date(2026, 7, 1, 9, 0, 0, 0, time.UTC)
	now  = time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)
)

// full is a job in which every field holds something, if it takes anything plain.
func full(t *testing.T) *record.Job {
	t.Helper()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range record.Fields {
		if _, ok := j.Entry(f.Key); ok || f.Key == record.SignedBy {
			continue
		}
		e := record.Entry{Key: f.Key, Time: then, By: "T-1"}
		switch f.Kind {
		case record.Pick:
			e.Value = f.Options[0]
		case record.Number:
			e.Value, e.Unit = "7", f.Unit
		case record.Date:
			e.Value = "2026-07-01"
		default:
			e.Value = "of the earlier job and its own reasons"
		}
		j.Take(e) // a number outside its range is left out
	}
	if err := j.TakeDraft(record.Draft{Key: record.OwnerRef, Value: "x", Reason: "y"}); err != nil {
		t.Fatal(err)
	}
	return j
}

// Nothing that was read, dated, numbered one by one, signed or reserved in the earlier
// job comes into the new one, and nothing comes as an entry.
func TestNeverTaken(t *testing.T) {
	from, j := full(t), record.New("job-2")
	if err := Begin(j, from); err != nil {
		t.Fatal(err)
	}
	if len(j.Entries) != 0 || j.Unit != nil || len(j.Instruments) != 0 || len(j.Series) != 0 || len(j.Drafts) < 40 {
		t.Fatalf("%d entries, %d drafts", len(j.Entries), len(j.Drafts))
	}
	for _, d := range j.Drafts {
		f, err := record.ByKey(d.Key)
		if err != nil {
			t.Fatal(err)
		}
		words := strings.ToLower(f.Label + " " + d.Key.String() + " " + f.Group)
		for _, never := range []string{"serial", "signed", "signature", "reservation", "acknowledged", "reference", "certificate", "recover", "weighed", "decision_reason"} {
			if strings.Contains(words, never) && f.Key.String() != "plan/x" {
				t.Errorf("%s was taken", d.Key)
			}
		}
		if f.Kind == record.Number && f.Origin == record.Measured || f.Kind == record.Date || f.Program {
			t.Errorf("%s was taken", d.Key)
		}
		if d.From != from.ID {
			t.Errorf("%s is not marked", d.Key)
		}
	}
}

// Nothing can be signed while anything stands unconfirmed; confirmed, it is entered
// now, by whoever confirms it.
func TestConfirmedThenSigned(t *testing.T) {
	from, j := full(t), record.New("job-2")
	if err := Begin(j, from); err != nil {
		t.Fatal(err)
	}
	raw, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if j, err = record.Decode(raw); err != nil {
		t.Fatal(err)
	}
	sign := func() error { return j.Set(record.Entry{Key: record.SignedBy, Value: "T-31", Time: now}) }
	groups := Open(j)
	for i, g := range groups {
		if err := sign(); err == nil || !strings.Contains(err.Error(), "not confirmed") {
			t.Fatalf("with %d groups open it was signed: %v", len(groups)-i, err)
		}
		if err := Confirm(j, g, now, "T-31"); err != nil {
			t.Errorf("%s: %v", g.Name, err)
		}
	}
	if n := j.Unconfirmed(); n != 0 {
		t.Fatalf("%d are left: %+v", n, Open(j))
	}
	for _, e := range j.Entries {
		if !e.Time.Equal(now) || e.By != "T-31" || e.Instrument != "" {
			t.Errorf("%+v", e)
		}
		if was, ok := from.Entry(e.Key); !ok || was.Value != e.Value || was.Unit != e.Unit {
			t.Errorf("%v became %s %s", was, e.Value, e.Unit)
		}
	}
	if len(j.Instruments) != len(from.Instruments) {
		t.Errorf("%d instruments", len(j.Instruments))
	}
	if err := sign(); err != nil {
		t.Error(err)
	}
}

// What was typed over or cleared is not confirmed behind the person's back, and a
// group can be let go.
func TestChangedMeanwhile(t *testing.T) {
	from, j := full(t), record.New("job-2")
	if err := Begin(j, from); err != nil {
		t.Fatal(err)
	}
	g := Find(j, record.Intake, Plate)
	set := func(value string) {
		if err := j.Set(record.Entry{Key: record.RatedVoltage, Value: value, Unit: "V", Time: now}); err != nil {
			t.Fatal(err)
		}
	}
	set("240")
	j.Set(record.Entry{Key: record.PlateMCA, Time: now})
	if err := Confirm(j, g, now, ""); err != nil {
		t.Fatal(err)
	}
	if j.Text(record.RatedVoltage) != "240" || j.Text(record.PlateMCA) != "" {
		t.Errorf("%q and %q", j.Text(record.RatedVoltage), j.Text(record.PlateMCA))
	}
	if err := Forget(j, Find(j, record.Match, "New compressor")); err != nil {
		t.Fatal(err)
	}
	if len(Find(j, record.Match, "New compressor").Drafts) != 0 || j.Text(record.NewRLA) != "" {
		t.Error("it is still there")
	}
}
