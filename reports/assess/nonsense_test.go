package assess

import (
	"testing"

	"retrostage/reports/record"
)

// What a careless person fills in is not done: a compressor of another size, a decision
// without a price.
func TestNonsenseIsNotDone(t *testing.T) {
	t.Parallel()
	job := func(capacity string) *Report {
		j := record.New("x")
		for _, e := range []entry{{record.NominalCapacity, "3", "ton"}, {record.NewCompressorSerial, "x", ""}, {record.NewCapacity, capacity, "Btu/h"}, {record.NewRLA, "14", "A"},
			{record.CapRating, "40", "uF"}, {record.CapFitted, "40", "uF"}, {record.CapVoltage, "440", "V"}, {record.CapVoltageNeeded, "370", "V"}, {record.Decision, convert, ""}} {
			set(t, j, e.key, e.value, e.unit)
		}
		return run(t, j)
	}
	for capacity, done := range map[string]bool{"60000": false, "9000": false, "35000": true} {
		if s := state(t, job(capacity), record.Match); (s.Word == Done) != done {
			t.Errorf("%s Btu/h for three tons: %s, %s", capacity, s.Word, s.Why)
		}
	}
	j := record.New("y")
	for _, e := range []entry{{record.Refrigerant, "R-410A", ""}, {record.NominalCapacity, "3", "ton"}, {record.RatedVoltage, "230", "V"}, {record.NewCompressorSerial, "x", ""}, {record.NewCapacity, "35000", "Btu/h"}, {record.NewRLA, "14", "A"},
		{record.CapRating, "40", "uF"}, {record.CapFitted, "40", "uF"}, {record.CapVoltage, "440", "V"}, {record.CapVoltageNeeded, "370", "V"}, {record.NewOil, "mineral or alkylbenzene", ""}} {
		set(t, j, e.key, e.value, e.unit)
	}
	if s := state(t, run(t, j), record.Match); s.Word == Done {
		t.Errorf("mineral oil for R-410A: %s", s.Word)
	}
	if s := state(t, job("35000"), record.Choice); s.Word == Done {
		t.Errorf("decided without a price: %s", s.Word)
	}
}
