package assess

import (
	"math"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

func task(t *testing.T, r *Report, title string) (Task, bool) {
	t.Helper()
	for _, k := range r.Tasks {
		if strings.HasPrefix(k.Title, title) {
			return k, true
		}
	}
	return Task{}, false
}

// The plan of breaks is there once it is chosen, is done only as planned, and judges
// nothing. Two breaks from 1500 micron to 2 psig at the demo's barometer, by hand.
func TestBreaksAsPlanAndRecord(t *testing.T) {
	t.Parallel()
	j := demo(t)
	const title = "Pull and break"
	if _, ok := task(t, run(t, j), title); ok {
		t.Error("a plan that nobody chose")
	}
	set(t, j, record.EvacuationWay, record.TripleBreaks, "")
	if k, _ := task(t, run(t, j), title); k.Stand != TaskPart || !strings.Contains(strings.Join(k.Missing, " "), "0 of 2") {
		t.Errorf("chosen: %+v", k)
	}
	for _, c := range []struct {
		text, lacks string
	}{
		{"1500 2 10", "1 of 2 breaks"}, {"1500 2 10\n9000 2 10", "break 2: pulled to"}, {"1500 2 10\n1500 0.5 10", "break 2: broken to"}, {"1500 2 1\n1500 2 10", "break 1: stood"},
		{"1500 2 10\n1500 2", "line 2"}, {"1500 2 10\n1500 2 =1", "line 2"}, {"0 2 10", "line 1"}, {"1500 690 10\n1500 2 10", "STOP"}, {"1,500; 2; 10\n1500, 2, 12", "two ways"}, {"1500 2 10\n1500 2 10", ""}, {"1500; 2,0; 10\n1500, 2, 10", ""},
	} {
		set(t, j, record.EvacuationBreaks, c.text, "")
		r := run(t, j)
		k, ok := task(t, r, title)
		if !ok || (c.lacks == "") != (k.Stand == TaskEntered) || !strings.Contains(strings.Join(k.Missing, "; "), c.lacks) {
			t.Errorf("%q: %s, %q", c.text, k.Stand, k.Missing)
		}
		f := find(t, r, "evacuation_thinned")
		if f.Verdict == Within {
			t.Errorf("%q is within", c.text)
		}
		if c.lacks == "" {
			micron := 101325.0 / 760000
			b := r.Site + 2*6894.757293168
			if want := b / (1500 * micron) * b / (1500 * micron); math.Abs(f.Value-want) > 1e-9*want {
				t.Errorf("thinned to one in %g, %g by hand", f.Value, want)
			}
		}
	}
}

// What runs shows is kept as a step with its readings, once they are read anew.
func TestTrimStepsKeepTheirReadings(t *testing.T) {
	t.Parallel()
	j := demo(t)
	for _, k := range []record.Key{record.Trimmed, record.TrimSteps, record.TrimSets} {
		set(t, j, k, "", "")
	}
	now := time.Date(2026, 8, 14, 22, 0, 0, 0, time.UTC)
	keep := func() error {
		steps, sets, err := KeepTrimStep(j, run(t, j), now)
		if err != nil {
			return err
		}
		for _, e := range []record.Entry{{Key: record.TrimSteps, Value: steps, Time: now}, {Key: record.TrimSets, Value: sets, Time: now}} {
			if err := j.Set(e); err != nil {
				t.Fatal(err)
			}
		}
		return nil
	}
	if err := keep(); err != nil {
		t.Fatal(err)
	}
	r := run(t, j)
	if r.Trim == nil || len(r.Trim.Steps) != 1 || r.Trim.Steps[0].Set == nil || len(r.Trim.Steps[0].Set.Readings) < 8 {
		t.Fatalf("%+v", r.Trim)
	}
	if f := find(t, r, "subcooling"); math.Abs(f.Value-r.Trim.Steps[0].Read) > 0.05 {
		t.Errorf("subcooling %g, kept %g", f.Value, r.Trim.Steps[0].Read)
	}
	// The same readings again, said to be after some refrigerant: refused.
	set(t, j, record.Trimmed, "3", "oz")
	if err := keep(); err == nil || !strings.Contains(err.Error(), "was not read since") {
		t.Fatalf("copied readings: %v", err)
	}
	// One of the two read anew is not enough.
	now = now.Add(20 * time.Minute)
	again := func(k record.Key) {
		e, _ := j.Entry(k)
		e.Time, e.Again = now.Add(-time.Minute), true
		if err := j.Set(e); err != nil {
			t.Fatal(err)
		}
	}
	again(record.LiquidTemp)
	if err := keep(); err == nil {
		t.Error("a pressure from before the step was kept after it")
	}
	again(record.LiquidPressure)
	if err := keep(); err != nil {
		t.Fatal(err)
	}
	r = run(t, j)
	if n := len(r.Trim.Steps); n != 2 || r.Trim.Steps[1].Set == nil || math.Abs(r.Trim.Steps[1].Added-3*0.45359237/16) > 1e-9 {
		t.Fatalf("%d steps: %+v", n, r.Trim.Steps)
	}
	// A step that is changed by hand has no readings any more.
	set(t, j, record.TrimSteps, strings.Replace(j.Text(record.TrimSteps), "3.0 ", "4.0 ", 1), "")
	if r = run(t, j); r.Trim.Steps[1].Set != nil || r.Trim.Steps[0].Set == nil {
		t.Error("readings of another step")
	}
	// A set is text from a file, too.
	for _, bad := range []string{"x; 0 9; ", "2026-08-14T15:00:00Z", "2026-08-14T15:00:00Z; 0 9; liquid_temp 9", "2026-08-14T15:00:00Z; 0 9; nothing 9 F", "2026-08-14T15:00:00Z; 0 9; liquid_temp =1 F", "2026-08-14T15:00:00Z; 0 9; liquid_temp 9 psig"} {
		if s, err := trimSets(bad); err == nil {
			t.Errorf("%q: %+v", bad, s)
		}
	}
	// Without a subcooling there is nothing to keep.
	set(t, j, record.LiquidTemp, "", "")
	if _, _, err := KeepTrimStep(j, run(t, j), now); err == nil {
		t.Error("a step without its reading")
	}
}
