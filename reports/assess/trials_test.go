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
		{"handed over before the owner agreed", []entry{{record.ConsentSigned, "not yet", ""}}, record.HandOver, record.ConsentSigned},
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
		found := strings.Contains(st.Why, c.key.Label())
		for _, m := range r.Against {
			found = found || m.Step == c.step && m.Key == c.key.String() && m.Reserved == nil
		}
		if st.Word == Done || st.Word == DoneReserved || !found {
			t.Errorf("%s: %s %s: %s", c.name, c.step, st.Word, st.Why)
		}
		t.Logf("%s: %s: %s", c.name, st.Word, strings.TrimSpace(st.Why))
	}
}

// A step that is done with something not known, or on a person's word, says so by name.
func TestNewcomersReservations(t *testing.T) {
	known := []entry{{record.Disconnect, "60", "A"}, {record.Breaker, "35", "A"}, {record.DesignHigh, "600", "psig"}, {record.TestP1, "", ""}, {record.TestP2, "", ""}}
	for _, c := range []struct {
		name    string
		entries []entry
		step    record.Step
		word    Progress
		lacks   []string
	}{
		{"every fact there", known, record.Match, Done, nil},
		{"a breaker that must be changed", append(known[:len(known):len(known)], entry{record.Breaker, "50", "A"}), record.Match, DoneReserved, []string{"breaker"}},
		{"no contactor", append(known[:len(known):len(known)], entry{record.ContactorFLA, "", ""}, entry{record.ContactorLRA, "", ""}), record.Match, DoneReserved, []string{"contactor: full-load", "contactor: locked-rotor"}},
		{"eight not known", []entry{{record.ContactorFLA, "", ""}, {record.ContactorLRA, "", ""}, {record.CapVoltageNeeded, "", ""}, {record.NewRefrigerants, "", ""}, {record.NewMaxHigh, "", ""}, {record.NewMaxLow, "", ""}, {record.StubSuction, "", ""}, {record.CabinetRoom, "", ""}, {record.SuctionInside, "", ""}, {record.Candidates, "", ""}},
			record.Match, DoneReserved, []string{"refrigerant", "high side", "low side", "oil return", "connections", "size", "run capacitor", "disconnect", "contactor"}},
		{"consent to a page that was never written", nil, record.Choice, DoneReserved, []string{"consent page"}},
		{"the page, then the owner's word", []entry{{record.ConsentSigned, "not yet", ""}, {record.ConsentPage, "page 1", ""}, {record.ConsentSigned, record.Yes, ""}}, record.Choice, Done, nil},
		{"the owner's word, then the page", []entry{{record.ConsentPage, "page 1", ""}}, record.Choice, Open, []string{record.ConsentSigned.Label()}},
		{"price changed between page and word", []entry{{record.ConsentSigned, "not yet", ""}, {record.ConsentPage, "page 1", ""}, {record.CostConvert, "2600", "money"}, {record.ConsentSigned, record.Yes, ""}}, record.Choice, Open, []string{record.ConsentSigned.Label()}},
		{"ceiling raised between page and word", []entry{{record.ConsentSigned, "not yet", ""}, {record.ConsentPage, "page 1", ""}, {record.ConsentCeiling, "9000", "money"}, {record.ConsentSigned, record.Yes, ""}}, record.Choice, Open, []string{record.ConsentSigned.Label()}},
		{"decided otherwise between page and word", []entry{{record.ConsentSigned, "not yet", ""}, {record.ConsentPage, "page 1", ""}, {record.Decision, "same compressor", ""}, {record.ConsentCeiling, "9000", "money"}, {record.ConsentSigned, record.Yes, ""}}, record.Choice, Open, []string{record.ConsentSigned.Label()}},
		{"written anew after the change", []entry{{record.ConsentSigned, "not yet", ""}, {record.ConsentPage, "page 1", ""}, {record.CostConvert, "2600", "money"}, {record.ConsentPage, "page 2", ""}, {record.ConsentSigned, record.Yes, ""}}, record.Choice, Done, nil},
	} {
		j := demo(t)
		for _, e := range c.entries {
			set(t, j, e.key, e.value, e.unit)
		}
		st := state(t, run(t, j), c.step)
		if st.Word != c.word {
			t.Errorf("%s: %s %s: %s; want %s", c.name, c.step, st.Word, st.Why, c.word)
		}
		for _, w := range c.lacks {
			if !strings.Contains(st.Why, w) {
				t.Errorf("%s: %q is not named: %s", c.name, w, st.Why)
			}
		}
	}
}
