package assess

import (
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// held is a job whose nitrogen stood for 60 minutes as told, its two pressures entered
// that far apart.
func held(t *testing.T, apart time.Duration) *record.Job {
	t.Helper()
	j, at := demo(t), time.Unix(1.79e9, 0)
	for _, k := range []record.Key{record.TestP1, record.TestT1, record.TestP2, record.TestT2, record.TestTime} {
		e, _ := j.Entry(k)
		e.Time, e.Again = at, true
		if k == record.TestP2 || k == record.TestT2 {
			e.Time = at.Add(apart)
		}
		if k == record.TestTime {
			e.Value, e.Time = "60", at.Add(apart)
		}
		if err := j.Set(e); err != nil {
			t.Fatal(err)
		}
	}
	return j
}

func problemOf(r *Report, key record.Key) string {
	for _, p := range r.Problems {
		if p.Key == key {
			return p.Text
		}
	}
	return ""
}

// A hold of 60 minutes between entries two minutes apart is asked about and keeps the
// step open; that they were typed as read cannot be; that they were entered later can,
// and is said wherever the hold is.
func TestHoldLongerThanItsStamps(t *testing.T) {
	j := held(t, 2*time.Minute)
	r := run(t, j)
	if w := problemOf(r, record.TestTime); !strings.Contains(w, "2 min apart") || !strings.Contains(w, "how the readings were entered") {
		t.Fatalf("not asked about: %q", w)
	}
	if s := state(t, r, record.CloseUp); s.Word != Open {
		t.Errorf("close-up is %s", s.Word)
	}
	if r.Gate(Charging).Open {
		t.Error("it may be charged")
	}
	set(t, j, record.HoldNoted, record.NotedAsRead, "")
	if w := problemOf(run(t, j), record.TestTime); !strings.Contains(w, "cannot both") {
		t.Errorf("typed as read: %q", w)
	}
	set(t, j, record.HoldNoted, record.NotedLater, "")
	r = run(t, j)
	if w := problemOf(r, record.TestTime); w != "" {
		t.Errorf("answered, and asked again: %s", w)
	}
	f := find(t, r, "pressure_hold")
	if f.Verdict == Within && !strings.Contains(f.Next, "as told") {
		t.Errorf("within, and not a word of it: %s", f.Next)
	}
	i := slices.IndexFunc(f.Inputs, func(in Input) bool { return in.Key == record.TestP2.String() })
	if i < 0 || !strings.Contains(f.Inputs[i].Doubt, record.NotedLater) {
		t.Errorf("the reading is not marked: %+v", f.Inputs)
	}
	// What is read afterwards is not covered by what was said before, and is asked about.
	e, _ := j.Entry(record.TestP2)
	e.Value, e.Time = "250", e.Time.Add(time.Minute)
	if err := j.Set(e); err != nil {
		t.Fatal(err)
	}
	if j.Later(record.TestP2) || problemOf(run(t, j), record.TestTime) == "" {
		t.Error("an answer covers what came after it")
	}
}

// Stamps that leave room for the time told are not asked about; nor is a hold that the
// program's own clock timed, as long as that clock is of this hold.
func TestStampsThatGoTogether(t *testing.T) {
	t.Parallel()
	for _, apart := range []time.Duration{55 * time.Minute, 60 * time.Minute, 3 * time.Hour} {
		if w := problemOf(run(t, held(t, apart)), record.TestTime); w != "" {
			t.Errorf("%s: %s", apart, w)
		}
	}
	clocked := func(again bool) *record.Job {
		j := demo(t)
		at := time.Unix(1.79e9, 0)
		enter := func(k record.Key, v, unit string, after time.Duration) {
			if err := j.Set(record.Entry{Key: k, Value: v, Unit: unit, Time: at.Add(after), Again: true}); err != nil {
				t.Fatal(err)
			}
		}
		enter(record.HoldStarted, Stamp(at), "", 0)
		enter(record.HoldStarted, "", "", time.Hour)
		if again {
			enter(record.TestP2, "200", "psig", time.Hour)
		}
		enter(record.TestP1, "240", "psig", time.Hour+time.Minute)
		enter(record.TestP2, "240", "psig", time.Hour+2*time.Minute)
		enter(record.TestTime, "60", "min", time.Hour+2*time.Minute)
		return j
	}
	if w := problemOf(run(t, clocked(false)), record.TestTime); w != "" {
		t.Errorf("timed by the clock: %s", w)
	}
	if problemOf(run(t, clocked(true)), record.TestTime) == "" {
		t.Error("the clock of an earlier hold vouches for this one")
	}
}

// The same of the isolated vacuum and of the time that the unit ran.
func TestOtherWaitsAndTheirStamps(t *testing.T) {
	at := time.Unix(1.79e9, 0)
	for _, s := range record.Spans[1:] {
		j := demo(t)
		for i, k := range []record.Key{s.From[0], s.To, s.Held} {
			e, ok := j.Entry(k)
			if !ok {
				t.Fatalf("the demo job has no %s", k)
			}
			e.Time, e.Again = at.Add(time.Duration(i)*time.Minute), true
			if k == s.Held {
				e.Value = "45"
			}
			if err := j.Set(e); err != nil {
				t.Fatal(err)
			}
		}
		if problemOf(run(t, j), s.Held) == "" {
			t.Errorf("%s: 45 min between entries a minute apart are not asked about", s.Held)
		}
	}
}

// What was entered later has no times of reading: typing it twice settles nothing.
func TestLaterIsNoRepeat(t *testing.T) {
	at := time.Unix(1.79e9, 0)
	j := demo(t)
	for i := range 2 {
		if err := j.Set(record.Entry{Key: record.LiquidTemp, Value: "104.5", Unit: "F", Time: at.Add(time.Duration(i) * 5 * time.Minute), Instrument: "T2", By: "T-07", Again: true}); err != nil {
			t.Fatal(err)
		}
	}
	if f := find(t, run(t, j), "subcooling"); f.Near == "" {
		t.Fatalf("no repeat as it is: %s", f.Verdict)
	}
	set(t, j, record.RunningNoted, record.NotedLater, "")
	if f := find(t, run(t, j), "subcooling"); f.Near != "" {
		t.Errorf("a repeat by typing: %s", f.Near)
	}
}
