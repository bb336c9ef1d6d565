package assess

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// stateAttempt alters the demo job to earn a word that it does not deserve. wants is what
// the program has to say instead, of step, finding, problem or gate.
type stateAttempt struct {
	name string
	do   func(t *testing.T, j *record.Job)
	says func(t *testing.T, j *record.Job, r *Report) (string, bool)
}

// at enters some minutes after a set instant.
func after(t *testing.T, j *record.Job, minutes float64, key record.Key, value, unit string) {
	t.Helper()
	e := record.Entry{Key: key, Value: value, Unit: unit, By: "T-07", Time: time.Unix(1.79e9, 0).Add(time.Duration(minutes * float64(time.Minute))), Again: true}
	if was, ok := j.Entry(key); ok {
		e.Instrument = was.Instrument
	}
	if err := j.Set(e); err != nil {
		t.Fatal(err)
	}
}

// notDone passes where the step is neither done nor done with reservations.
func notDone(s record.Step) func(*testing.T, *record.Job, *Report) (string, bool) {
	return func(t *testing.T, _ *record.Job, r *Report) (string, bool) {
		st := state(t, r, s)
		return strings.Join(strings.Fields(string(s)+" "+string(st.Word)+": "+st.Why), " "), st.Word != Done && st.Word != DoneReserved
	}
}

// notWithin passes where the finding is not within.
func notWithin(key string) func(*testing.T, *record.Job, *Report) (string, bool) {
	return func(t *testing.T, _ *record.Job, r *Report) (string, bool) {
		f, ok := r.Find(key)
		if !ok {
			return key + " not there", true
		}
		return key + " " + string(f.Verdict), f.Verdict != Within
	}
}

// shut passes where the gate is held.
func shut(g GateName) func(*testing.T, *record.Job, *Report) (string, bool) {
	return func(t *testing.T, _ *record.Job, r *Report) (string, bool) {
		if r.Gate(g).Open {
			return string(g) + " open", false
		}
		return string(g) + " held", true
	}
}

// refused passes where the entry was not taken.
func refused(k record.Key) func(*testing.T, *record.Job, *Report) (string, bool) {
	return func(t *testing.T, j *record.Job, _ *Report) (string, bool) {
		if d, ok := j.Draft(k); ok {
			return "refused: " + d.Reason, true
		}
		return "taken: " + j.Text(k), false
	}
}

// unfit passes where the row of old against new does not say that it fits.
func unfit(key string) func(*testing.T, *record.Job, *Report) (string, bool) {
	return func(t *testing.T, j *record.Job, _ *Report) (string, bool) {
		rows, err := New(j).OldAgainstNew()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			if row.Key == key && row.Check != nil {
				return key + " " + string(row.Check.Outcome), row.Check.Outcome != "fits"
			}
		}
		return key + " not there", true
	}
}

func sets(es ...entry) func(*testing.T, *record.Job) {
	return func(t *testing.T, j *record.Job) {
		for _, e := range es {
			set(t, j, e.key, e.value, e.unit)
		}
	}
}

// try enters what may be refused.
func try(k record.Key, value string) func(*testing.T, *record.Job) {
	return func(_ *testing.T, j *record.Job) {
		j.Set(record.Entry{Key: k, Value: value, Time: time.Unix(1.79e9, 0), By: "T-07"})
	}
}

// unreserved is the demo job with its one reservation taken back: its breaker is outside.
func unreserved(then func(*testing.T, *record.Job)) func(*testing.T, *record.Job) {
	return func(t *testing.T, j *record.Job) {
		set(t, j, record.ElectricalReservation, "", "")
		then(t, j)
	}
}

var stateAttempts = []stateAttempt{
	// Names and words that say nothing.
	{"reservation by a name of spaces", unreserved(func(t *testing.T, j *record.Job) {
		by(t, j, " ", record.ElectricalReservation, "left as it is until Monday", "")
	}), notDone(record.Electrical)},
	{"reservation by an invisible name", unreserved(func(t *testing.T, j *record.Job) {
		by(t, j, "\u200b", record.ElectricalReservation, "left as it is until Monday", "")
	}), notDone(record.Electrical)},
	{"reservation by a dash", unreserved(func(t *testing.T, j *record.Job) {
		by(t, j, "-", record.ElectricalReservation, "left as it is until Monday", "")
	}), notDone(record.Electrical)},
	{"reservation of one word four times", unreserved(try(record.ElectricalReservation, "x x x x")), refused(record.ElectricalReservation)},
	{"reservation of four full stops", unreserved(try(record.ElectricalReservation, ". . . .")), refused(record.ElectricalReservation)},
	{"root cause of a full stop", try(record.RootCause, "."), refused(record.RootCause)},
	{"work done: an ellipsis", try(record.WorkDone, "…"), refused(record.WorkDone)},
	{"signed with an invisible name", try(record.SignedBy, "\u200b"), refused(record.SignedBy)},
	{"signed with a dash", try(record.SignedBy, "—"), refused(record.SignedBy)},
	{"serial number of a question mark", try(record.OldUnitSerial, "?"), refused(record.OldUnitSerial)},
	// Reservations that reach further than what they were made for.
	{"reservation made before the breaker got worse", sets(entry{record.Breaker, "60", "A"}), notDone(record.Electrical)},
	{"reservation of one step for another's fault", sets(entry{record.LabelCharge, "120", "oz"}), notDone(record.Charge)},
	{"reservation taken back after the signature", func(t *testing.T, j *record.Job) {
		by(t, j, "T-07", record.SignedBy, "T-07", "")
		set(t, j, record.ElectricalReservation, "", "")
	}, notDone(record.HandOver)},
	// Signatures.
	{"signed, then a reading cleared and typed again", func(t *testing.T, j *record.Job) {
		by(t, j, "T-07", record.SignedBy, "T-07", "")
		label, _ := j.Entry(record.LabelCharge)
		set(t, j, record.LabelCharge, "", "")
		set(t, j, record.LabelCharge, label.Value, label.Unit)
	}, notDone(record.HandOver)},
	{"signed, then a log taken out", func(t *testing.T, j *record.Job) {
		j.AddLog(record.Series{Name: "noon.csv", Seconds: []float64{0, 1}})
		by(t, j, "T-07", record.SignedBy, "T-07", "")
		j.Series = nil
	}, notDone(record.HandOver)},
	{"signed, then its gauges made closer", func(t *testing.T, j *record.Job) {
		by(t, j, "T-07", record.SignedBy, "T-07", "")
		j.Instruments[0].Accuracy[0].Plus /= 10
	}, notDone(record.HandOver)},
	{"signed, then its limits turned metric", func(t *testing.T, j *record.Job) {
		by(t, j, "T-07", record.SignedBy, "T-07", "")
		set(t, j, record.LimitUnits, record.Metric, "")
	}, notDone(record.HandOver)},
	// Readings that were not taken, or not then.
	{"hold of 60 minutes between stamps of two", func(t *testing.T, j *record.Job) {
		after(t, j, 0, record.TestP1, "240", "psig")
		after(t, j, 2, record.TestP2, "240", "psig")
		after(t, j, 2, record.TestTime, "60", "min")
	}, notDone(record.CloseUp)},
	{"the same, its answer given before the readings", func(t *testing.T, j *record.Job) {
		after(t, j, 0, record.HoldNoted, record.NotedLater, "")
		after(t, j, 1, record.TestP1, "240", "psig")
		after(t, j, 2, record.TestP2, "240", "psig")
		after(t, j, 2, record.TestTime, "60", "min")
	}, notDone(record.CloseUp)},
	{"the end of the hold entered before its beginning", func(t *testing.T, j *record.Job) {
		after(t, j, 60, record.TestP1, "240", "psig")
		after(t, j, 0, record.TestP2, "240", "psig")
		after(t, j, 61, record.TestTime, "60", "min")
	}, notDone(record.CloseUp)},
	{"clock of yesterday's hold under today's", func(t *testing.T, j *record.Job) {
		after(t, j, 0, record.HoldStarted, Stamp(time.Unix(1.79e9, 0)), "")
		after(t, j, 60, record.TestP2, "200", "psig")
		after(t, j, 1440, record.TestP1, "240", "psig")
		after(t, j, 1441, record.TestP2, "240", "psig")
		after(t, j, 1441, record.TestTime, "60", "min")
	}, notDone(record.CloseUp)},
	{"isolated vacuum typed in one go, nothing at its beginning", func(t *testing.T, j *record.Job) {
		set(t, j, record.VacuumFinal, "", "")
		after(t, j, 0, record.VacuumEnd, "343", "micron")
		after(t, j, 0, record.VacuumTime, "20", "min")
	}, notDone(record.CloseUp)},
	{"close call read twice, both from notes", func(t *testing.T, j *record.Job) {
		after(t, j, 0, record.LiquidTemp, "104.5", "F")
		after(t, j, 5, record.LiquidTemp, "104.5", "F")
		after(t, j, 6, record.RunningNoted, record.NotedLater, "")
	}, notDone(record.Running)},
	{"subcooling one minute after the charge, no time entered", func(t *testing.T, j *record.Job) {
		set(t, j, record.SettleTime, "", "")
		after(t, j, 0, record.Trimmed, "4", "oz")
		after(t, j, 1, record.SuctionPressure, "128", "psig")
	}, notWithin("subcooling")},
	{"subcooling after two minutes, as entered", sets(entry{record.SettleTime, "2", "min"}), notWithin("subcooling")},
	{"settled for 20 minutes, one after the charge", func(t *testing.T, j *record.Job) {
		after(t, j, 0, record.Trimmed, "4", "oz")
		after(t, j, 1, record.SuctionPressure, "128", "psig")
		after(t, j, 1, record.SettleTime, "20", "min")
	}, notDone(record.Running)},
	{"a draft stands where a reading should", try(record.LiquidTemp, "about a hundred"), notDone(record.Running)},
	{"instrument that is said to be perfect", func(t *testing.T, j *record.Job) {
		j.Instruments = append(j.Instruments, record.Instrument{ID: "P", Name: "Perfect gauge", Accuracy: []record.Accuracy{{Dim: record.LabelCharge.Field().Dim, Unit: "oz"}, {Dim: record.LiquidTemp.Field().Dim, Unit: "F"}}})
		if err := j.Set(record.Entry{Key: record.LiquidTemp, Value: "104.4", Unit: "F", Instrument: "P", Time: time.Unix(1.79e9, 0)}); err != nil {
			t.Fatal(err)
		}
	}, notWithin("subcooling")},
	// The vacuum and the charge.
	{"insulation tested in a vacuum that was read by its rise alone", func(t *testing.T, j *record.Job) {
		set(t, j, record.VacuumFinal, "", "")
		charge, _ := j.Entry(record.WeighedIn)
		set(t, j, record.WeighedIn, "", "")
		after(t, j, 0, record.Insulation, "310", "Mohm")
		set(t, j, record.WeighedIn, charge.Value, charge.Unit)
		after(t, j, 0, record.LeakSearch, record.LeakNone, "")
		set(t, j, record.VacuumNoted, record.NotedLater, "")
	}, notDone(record.Electrical)},
	{"charged with nothing", sets(entry{record.WeighedIn, "0", "oz"}, entry{record.Trimmed, "", ""}, entry{record.LabelCharge, "0", "oz"}), shut(Energising)},
	{"the same, and the step", sets(entry{record.WeighedIn, "0", "oz"}, entry{record.Trimmed, "", ""}, entry{record.LabelCharge, "0", "oz"}), notDone(record.Charge)},
	{"trimmed away to nothing", sets(entry{record.WeighedIn, "100", "oz"}, entry{record.Trimmed, "-100", "oz"}, entry{record.LabelCharge, "0", "oz"}), notDone(record.Charge)},
	{"a sixth of the plate's charge, no line set to build up from", sets(entry{record.LineLength, "", ""}, entry{record.Trimmed, "", ""}, entry{record.WeighedIn, "20", "oz"}, entry{record.LabelCharge, "20", "oz"}), notDone(record.Charge)},
	{"leak search before there was a charge", func(t *testing.T, j *record.Job) {
		set(t, j, record.WeighedIn, "", "")
		set(t, j, record.LeakSearch, "", "")
		set(t, j, record.LeakSearch, record.LeakNone, "")
		set(t, j, record.WeighedIn, "142", "oz")
	}, notDone(record.CloseUp)},
	{"a loss hidden behind joints that were not tested high enough", sets(entry{record.LeakSearch, "", ""}, entry{record.TestP2, "200", "psig"}), shut(Charging)},
	{"tested in the cold below what a hot day asks", sets(entry{record.LeakSearch, "", ""}, entry{record.DesignLow, "400", "psig"}, entry{record.TestT1, "40", "F"}, entry{record.TestT2, "40", "F"}), notWithin("test_reach")},
	{"the high side's design pressure alone", sets(entry{record.DesignLow, "", ""}), notWithin("pressure_hold")},
	// Parts and plates.
	{"the new compressor's voltage never entered", sets(entry{record.NewVoltage, "", ""}), unfit("volts")},
	{"the contactor covers the compressor, not the fan", sets(entry{record.ContactorLRA, "113", "A"}), notDone(record.Electrical)},
	{"overload protection that nobody knows", unreserved(sets(entry{record.NewOverload, record.OverloadUnknown, ""})), shut(Energising)},
	{"a breaker of any size that starts it, under the older rule", unreserved(sets(entry{record.Breaker, "45", "A"})), shut(Energising)},
	{"capacitor of the right microfarads, its volts not marked", sets(entry{record.CapVoltage, "", ""}), notWithin("cap_match_volts")},
	{"old unit's low supply explained away by a note", sets(entry{record.CauseSupply, "160", "V"}, entry{record.SupplyVoltage, "", ""}, entry{record.CauseNote, "the supply is fine now, really", ""}), notDone(record.Cause)},
}

// What the attempts to get a false word out of the states came to; the list in
// testdata/attempts/states.md is theirs.
func TestStatesEarnNothingFalsely(t *testing.T) {
	t.Parallel()
	list, err := os.ReadFile("../../testdata/attempts/states.md")
	if err != nil {
		t.Error(err)
	}
	for _, a := range stateAttempts {
		j := demo(t)
		a.do(t, j)
		said, ok := a.says(t, j, run(t, j))
		if !ok {
			t.Errorf("%s: %s", a.name, said)
		}
		if line := fmt.Sprintf("| %s | %s |", a.name, said); !strings.Contains(string(list), line) {
			t.Errorf("states.md lacks:\n%s", line)
		}
	}
	if len(stateAttempts) < 30 {
		t.Errorf("%d attempts", len(stateAttempts))
	}
}
