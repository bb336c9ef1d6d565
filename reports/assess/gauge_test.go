package assess

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// levelling is a rise of so many minutes, read each minute, that tends to what boils off
// with a time constant of eight minutes, every reading off by scatter of itself.
func levelling(minutes int, off, scatter float64) string {
	r := rand.New(rand.NewPCG(7, 7))
	var lines []string
	for m := range minutes + 1 {
		lines = append(lines, fmt.Sprintf("%d %.0f", m, (250-off*math.Expm1(-float64(m)/8))*(1+scatter*r.NormFloat64())))
	}
	return strings.Join(lines, "\n")
}

func levelled(t *testing.T, rise string) *record.Job {
	t.Helper()
	j := demo(t)
	for _, k := range []record.Key{record.VacuumEnd, record.VacuumFinal, record.VacuumTime, record.VacuumColdest, record.PumpedFor} {
		set(t, j, k, "", "")
	}
	set(t, j, record.PumpValved, record.PumpShut, "")
	set(t, j, record.VacuumRise, rise, "")
	return j
}

// A rise that a gauge of which nothing is stated leaves open says what is missing, and is
// told once that is entered: never for a statement that the readings contradict, and
// never where no gauge would tell.
func TestTheGaugesRepeatabilityDecidesARise(t *testing.T) {
	t.Parallel()
	j := levelled(t, levelling(15, 100, 0))
	f := find(t, run(t, j), "vacuum_word")
	if f.Verdict != TooClose || !strings.Contains(f.Next, record.GaugeRepeats.Label()) {
		t.Fatalf("nothing stated: %s: %s", f.Verdict, f.Next)
	}
	set(t, j, record.GaugeRepeats, "0.5", "%")
	if f := find(t, run(t, j), "vacuum_word"); f.Verdict != Within {
		t.Errorf("the gauge repeats itself within 0.5 %%: %s: %s", f.Verdict, f.Next)
	}
	set(t, j, record.GaugeRepeats, "5", "%")
	if f := find(t, run(t, j), "vacuum_word"); f.Verdict == Within {
		t.Error("a gauge that repeats itself within 5 % tells more than one of 1 %")
	}
	// Readings that scatter by a percent are not those of a gauge that repeats to 0.1 %.
	j = levelled(t, levelling(15, 100, 0.01))
	set(t, j, record.GaugeRepeats, "0.1", "%")
	if f := find(t, run(t, j), "vacuum_word"); f.Verdict == Within {
		t.Errorf("0.1 %% is believed of readings that scatter by 1 %%: %s", f.Next)
	}
	// What boils off is what matters: no gauge tells, and none is asked for.
	j = levelled(t, levelling(24, 130, 0))
	if f := find(t, run(t, j), "vacuum_word"); f.Verdict == Within {
		t.Errorf("130 micron of vapour: %s: %s", f.Verdict, f.Next)
	}
	for _, x := range []string{"0.1", "0.3", "1", "10"} {
		set(t, j, record.GaugeRepeats, x, "%")
		if f := find(t, run(t, j), "vacuum_word"); f.Verdict == Within {
			t.Errorf("130 micron of vapour, a gauge of %s %%: within", x)
		}
	}
}

// Where a usual gauge's doubt leaves the recovery level open, the gauge is what is asked
// for; named with its accuracy it decides, and naming it is no second reading.
func TestTheGaugeIsAskedForWhereItMatters(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		level, plus string
		want        Verdict
	}{{"4 inHg", "1", Within}, {"4 inHg", "2.5", TooClose}, {"0", "0.5", TooClose}} {
		j := demo(t)
		set(t, j, record.RecoveryLevel, "", "")
		set(t, j, record.RecoveryLevel, c.level, "psig")
		f := find(t, run(t, j), "recovery_level")
		k, ok := f.Unnamed()
		if f.Verdict != TooClose || !ok || k != record.RecoveryLevel || !strings.Contains(f.Next, "name the one") {
			t.Fatalf("%s: %s, asks for the gauge of %v %v: %s", c.level, f.Verdict, k, ok, f.Next)
		}
		plus := map[string]float64{"0.5": 0.5, "1": 1, "2.5": 2.5}[c.plus]
		j.Instruments = append(j.Instruments, record.Instrument{ID: "G-LOW", Name: "low-side gauge", Accuracy: []record.Accuracy{{Dim: "pressure", Plus: plus, Unit: "psig"}}})
		was, _ := j.Entry(record.RecoveryLevel)
		if err := j.Set(record.Entry{Key: record.RecoveryLevel, Value: was.Value, Unit: was.Unit, Instrument: "G-LOW", Time: was.Time.Add(time.Hour)}); err != nil {
			t.Fatal(err)
		}
		f = find(t, run(t, j), "recovery_level")
		if _, asks := f.Unnamed(); f.Verdict != c.want || asks {
			t.Errorf("%s, a gauge of ±%s psi: %s, want %s; asks on: %v", c.level, c.plus, f.Verdict, c.want, asks)
		}
		if is, _ := j.Entry(record.RecoveryLevel); !is.Time.Equal(was.Time) || is.Instrument != "G-LOW" {
			t.Errorf("naming the gauge moved the reading from %s to %s", was.Time, is.Time)
		}
	}
}

// A reading whose instrument is named later was not read twice.
func TestNamingAnInstrumentIsNoRepeat(t *testing.T) {
	t.Parallel()
	j := demo(t)
	was, ok := j.Entry(record.LiquidTemp)
	if !ok {
		t.Fatal("the demo job has no liquid temperature")
	}
	j.Instruments = append(j.Instruments, record.Instrument{ID: "C-NEW", Name: "clamp", Accuracy: []record.Accuracy{{Dim: "temperature", Plus: 1.5, Unit: "F"}}})
	if err := j.Set(record.Entry{Key: record.LiquidTemp, Value: was.Value, Unit: was.Unit, Instrument: "C-NEW", Time: was.Time.Add(10 * time.Minute)}); err != nil {
		t.Fatal(err)
	}
	c, err := newContext(j)
	if err != nil {
		t.Fatal(err)
	}
	if c.repeated(c.reading(record.LiquidTemp)) {
		t.Error("read twice, by naming the clamp")
	}
	if err := j.Set(record.Entry{Key: record.LiquidTemp, Value: was.Value, Unit: was.Unit, Instrument: "C-NEW", Again: true, Time: was.Time.Add(10 * time.Minute)}); err != nil {
		t.Fatal(err)
	}
	if c, err = newContext(j); err != nil || !c.repeated(c.reading(record.LiquidTemp)) {
		t.Errorf("a true repeat is not seen: %v", err)
	}
}
