package assess

import (
	"strings"
	"testing"

	"retrostage/reports/record"
)

// What newcomers were promised falsely (testdata/attempts/newcomer-d.md, newcomer-e.md).
func TestNewcomersPromises(t *testing.T) {
	const reason = "The weather was fine on that day."
	for _, c := range []struct {
		name    string
		entries []entry
		step    record.Step
		key     record.Key
	}{
		{"a unit without its ground, covered by a stray reason", []entry{{record.GroundBack, record.No, ""}, {record.CloseUpReservation, reason, ""}}, record.CloseUp, record.GroundBack},
		{"decided otherwise after the owner signed", []entry{{record.CostSystem, "11900", "money"}, {record.Decision, "replace the whole system", ""}}, record.Choice, record.ConsentSigned},
		{"the ceiling raised after the owner signed", []entry{{record.ConsentCeiling, "9000", "money"}}, record.Choice, record.ConsentSigned},
		{"a price above what the owner allowed", []entry{{record.ConsentCeiling, "2000", "money"}, {record.ConsentSigned, "not yet", ""}, {record.ConsentSigned, record.Yes, ""}}, record.Choice, record.ConsentCeiling},
		{"no fault found in a compressor that has failed", []entry{{record.FailureKind, "no fault found", ""}}, record.Cause, record.FailureKind},
		{"a serial number that is none", []entry{{record.NewCompressorSerial, "n/a", ""}}, record.Match, record.NewCompressorSerial},
		{"the unit's serial number for the compressor's", []entry{{record.NewCompressorSerial, "demo u 0001", ""}}, record.Match, record.NewCompressorSerial},
		{"half of the cooling that was matched", []entry{{record.SuctionPressure, "60", "psig"}, {record.SuctionTemp, "30", "F"}}, record.Match, record.NewCapacity},
	} {
		j := demo(t)
		for _, e := range c.entries {
			set(t, j, e.key, e.value, e.unit)
		}
		r := run(t, j)
		st := state(t, r, c.step)
		found := false
		for _, m := range r.Against {
			found = found || m.Step == c.step && m.Key == c.key.String() && m.Reserved == nil
		}
		if st.Word == Done || st.Word == DoneReserved || !found {
			t.Errorf("%s: %s %s: %s", c.name, c.step, st.Word, st.Why)
		}
		t.Logf("%s: %s: %s", c.name, st.Word, strings.TrimSpace(st.Why))
	}
}
