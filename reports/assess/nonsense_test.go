package assess

import (
	"slices"
	"testing"

	"retrostage/reports/record"
)

// What a careless person fills in is not done: a compressor of another size, a decision
// without a price.
func TestNonsenseIsNotDone(t *testing.T) {
	t.Parallel()
	job := func(capacity string) *Report {
		j := record.New("x")
		for _, e := range []entry{{record.NominalCapacity, "3", "ton"}, {record.NewCompressorSerial, "X-1", ""}, {record.NewCapacity, capacity, "Btu/h"}, {record.NewRLA, "14", "A"},
			{record.CapRating, "40", "uF"}, {record.CapFitted, "40", "uF"}, {record.CapVoltage, "440", "V"}, {record.CapVoltageNeeded, "370", "V"}, {record.Decision, convert, ""}} {
			set(t, j, e.key, e.value, e.unit)
		}
		return run(t, j)
	}
	for capacity, done := range map[string]bool{"60000": false, "9000": false, "35000": true} {
		// The right size is done, with what is not known of it named.
		if s := state(t, job(capacity), record.Match); s.Word == Done || (s.Word == DoneReserved) != done {
			t.Errorf("%s Btu/h for three tons: %s, %s", capacity, s.Word, s.Why)
		}
	}
	j := record.New("y")
	for _, e := range []entry{{record.Refrigerant, "R-410A", ""}, {record.NominalCapacity, "3", "ton"}, {record.RatedVoltage, "230", "V"}, {record.NewCompressorSerial, "X-1", ""}, {record.NewCapacity, "35000", "Btu/h"}, {record.NewRLA, "14", "A"},
		{record.CapRating, "40", "uF"}, {record.CapFitted, "40", "uF"}, {record.CapVoltage, "440", "V"}, {record.CapVoltageNeeded, "370", "V"}, {record.NewOil, "mineral or alkylbenzene", ""}} {
		set(t, j, e.key, e.value, e.unit)
	}
	if s := state(t, run(t, j), record.Match); s.Word == Done || s.Word == DoneReserved {
		t.Errorf("mineral oil for R-410A: %s", s.Word)
	}
	if s := state(t, job("35000"), record.Choice); s.Word == Done {
		t.Errorf("decided without a price: %s", s.Word)
	}
}

// A compressor that ran with an open winding, or with no current, keeps Cause open, by the
// entry that is to be looked at.
func TestRunsOnNothingIsObjectedTo(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		of   []entry
		want record.Key
	}{
		"open windings":    {[]entry{{record.CauseTrial, record.TrialPumps, ""}, {record.OldRCS, "open", "ohm"}, {record.OldRCR, "0.9", "ohm"}, {record.OldRSR, "open", "ohm"}}, record.CauseTrial},
		"no current":       {[]entry{{record.CauseTrial, record.TrialPumps, ""}, {record.CauseInrush, "0", "A"}}, record.CauseInrush},
		"hums on nothing":  {[]entry{{record.CauseTrial, record.TrialHums, ""}, {record.OldLRA, "82", "A"}, {record.CauseInrush, "4", "A"}}, record.CauseInrush},
		"nothing, at 60 A": {[]entry{{record.CauseTrial, record.TrialNothing, ""}, {record.CauseInrush, "60", "A"}}, record.CauseInrush},
		"runs and trips":   {[]entry{{record.CauseTrial, record.TrialThenTrips, ""}, {record.OldRCS, "open", "ohm"}, {record.OldRCR, "open", "ohm"}, {record.OldRSR, "2", "ohm"}, {record.CauseInrush, "60", "A"}}, record.Key{}},
	} {
		j := record.New("x")
		for _, e := range append([]entry{{record.OilState, "clear", ""}, {record.FailureKind, "open winding", ""}, {record.RootKind, "wear by age", ""}}, c.of...) {
			set(t, j, e.key, e.value, e.unit)
		}
		r := run(t, j)
		var got []record.Key
		for _, m := range state(t, r, record.Cause).Left {
			if k, err := record.ByName(m.Key); err == nil && m.Stand == IsOutside {
				got = append(got, k.Key)
			}
		}
		if c.want == (record.Key{}) && len(got) > 0 || c.want != (record.Key{}) && !slices.Contains(got, c.want) {
			t.Errorf("%s: objected to %v, want %v", name, got, c.want)
		}
		if w := state(t, r, record.Cause).Word; c.want != (record.Key{}) && w != Open {
			t.Errorf("%s: Cause is %s", name, w)
		}
	}
}
