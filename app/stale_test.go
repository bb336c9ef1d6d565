package app

import (
	"testing"

	"retrostage/reports/record"
)

// The wiring plan is made anew for whatever it rests on: the capacitor's voltage
// and the windings of the new compressor too.
func TestThePlanFollowsWhatItReads(t *testing.T) {
	for _, c := range []struct {
		key  record.Key
		unit string
	}{{record.CapVoltageNeeded, "V"}, {record.NewRRun, "ohm"}, {record.NewRStart, "ohm"}} {
		b, _ := bench(t, filled(t))
		b.Go(stepIndex(record.Wiring))
		was := part(t, b, "wiring plan").Runs
		if err := b.Enter(c.key, map[string]string{"V": "370", "ohm": "1.5"}[c.unit], c.unit, ""); err != nil {
			t.Fatal(err)
		}
		if part(t, b, "wiring plan").Runs == was {
			t.Errorf("%s was entered, and the plan is the one made before", c.key)
		}
	}
}

// A log is a reading: the causes are ranked anew when one comes in or goes, also
// in place of one of the same name.
func TestCausesFollowTheLogs(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	last := wordsIn(body(t, b, "causes"))
	log := func(subcooled float64) record.Series {
		s := record.Series{Name: "log", Start: noon, Columns: []record.SeriesColumn{{Key: record.ValveTemp, Unit: "F"}}}
		for i := range 61 {
			s.Seconds = append(s.Seconds, 15*float64(i))
			s.Columns[0].Values = append(s.Columns[0].Values, subcooled)
		}
		return s
	}
	for _, do := range []func(){
		func() { b.Change(func(j *record.Job) { j.Series = []record.Series{log(101)} }) },
		func() { b.Change(func(j *record.Job) { j.Series = []record.Series{log(85)} }) },
		func() { tap(body(t, b, "logs"), "Take this log out").Do() },
	} {
		do()
		now := wordsIn(body(t, b, "causes"))
		if now == last {
			t.Errorf("the ranking stands as it stood:\n%s", now)
		}
		last = now
	}
}
