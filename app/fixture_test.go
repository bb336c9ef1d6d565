package app

import (
	"os"
	"runtime/debug"
	"testing"
	"time"
	_ "unsafe" // for the toolkit's clock

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/section"
	"retrostage/app/widget"
	"retrostage/reports/memo"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// built is the folder of the program that the tests of the real window open.
var built string

// The collector of memory runs less often than in the program: a window a test, drawn
// and thrown away, keeps it busy for nothing.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	memo.Most = 60 // a plan proved for one test is at hand for the next
	var err error
	if built, err = os.MkdirTemp("", "retrostage-app"); err != nil {
		panic(err)
	}
	code := m.Run()
	os.RemoveAll(built)
	os.Exit(code)
}

// toolkitNow is the clock by which the toolkit lets go of what was not drawn for a minute.
//
//go:linkname toolkitNow fyne.io/fyne/v2/internal/cache.timeNow
var toolkitNow func() time.Time

var ahead time.Duration

// letGo makes the toolkit let go of what closed windows have drawn, as it does in the
// program, where it looks at each frame: here it would look only when a picture is taken,
// and gigabytes of the windows of earlier tests would have to be gone through at each
// collection of memory.
func letGo() {
	ahead += 2 * time.Minute
	by := ahead
	toolkitNow = func() time.Time { return time.Now().Add(by) }
	test.NewCanvas().Capture()
}

var noon = time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)

// filled is an invented job with readings at every step, some of them off.
func filled(t *testing.T) *record.Job {
	t.Helper()
	j := record.New("job-2026-08-14-1")
	j.Demo = true
	j.Instruments = append(j.Instruments, record.Instrument{ID: "clamp A", Name: "Pipe clamp A",
		Accuracy: []record.Accuracy{{Dim: units.Temperature, Plus: 1, Unit: "F"}}})
	at := noon
	set := func(key record.Key, value, unit string) {
		at = at.Add(time.Minute)
		e := record.Entry{Key: key, Value: value, Unit: unit, Time: at, By: "T-17"}
		if key == record.SuctionTemp || key == record.LiquidTemp {
			e.Instrument = "clamp A"
		}
		if err := j.Set(e); err != nil {
			t.Fatal(err)
		}
	}
	for _, e := range []struct {
		key         record.Key
		value, unit string
	}{
		{record.OwnerRef, "R-2041", ""}, {record.TechnicianRef, "T-17", ""}, {record.VisitDate, "2026-08-14", ""}, {record.Warranty, "out of warranty", ""},
		{record.Altitude, "5250", "ft"}, {record.Refrigerant, "R-410A", ""}, {record.Metering, record.MeterTXV, ""}, {record.NominalCapacity, "4", "ton"},
		{record.OldUnitSerial, "U-0001", ""}, {record.OldCompressorSerial, "C-0001", ""}, {record.RatedVoltage, "208", "V"}, {record.RatedFrequency, "60", "Hz"},
		{record.Phases, record.PhaseSingle, ""}, {record.TagCharge, "180", "oz"}, {record.TagSubcooling, "10", "F"},
		{record.FailureKind, "grounded winding", ""}, {record.OilState, "burnt", ""}, {record.RootCause, "Grounded start winding after years of low charge.", ""},
		{record.Decision, "convert to single stage", ""}, {record.NewCompressorSerial, "C-0002", ""}, {record.NewCapacity, "47000", "Btu/h"}, {record.NewRLA, "21.8", "A"},
		{record.CapRating, "45", "uF"}, {record.CapTolerance, "5 %", ""}, {record.IndoorControl, record.ControlConventional, ""}, {record.OldControls, "unloading-scroll-conventional", ""},
		{record.CapMeter, "43.1", "uF"}, {record.SupplyVoltage, "207", "V"}, {record.RunCurrent, "17.9", "A"}, {record.CapCurrent, "5.2", "A"}, {record.CapVolts, "338", "V"},
		{record.VacuumFinal, "280", "micron"}, {record.VacuumEnd, "410", "micron"}, {record.VacuumTime, "15", "min"}, {record.ChargedWith, "R-410A", ""}, {record.WeighedIn, "190", "oz"},
		{record.SuctionPressure, "121", "psig"}, {record.SuctionTemp, "57", "F"}, {record.LiquidPressure, "342", "psig"}, {record.LiquidTemp, "101.5", "F"},
		{record.DischargeTemp, "172", "F"}, {record.OutdoorTemp, "92", "F"}, {record.ReturnDB, "76", "F"}, {record.ReturnWB, "63", "F"}, {record.SupplyDB, "57", "F"},
		{record.WorkDone, "Compressor, contactor, capacitor and drier replaced.", ""},
	} {
		set(e.key, e.value, e.unit)
	}
	return j
}

// find is the row of a field on the pane on show.
func find(t *testing.T, b *Bench, key record.Key) *widget.Row {
	t.Helper()
	for _, r := range b.pane().Rows {
		if r.Field.Key == key.String() {
			return r
		}
	}
	t.Fatalf("no row for %s", key)
	return nil
}

// strip is the strip of a finding on the pane on show.
func strip(t *testing.T, b *Bench, key string) *widget.Strip {
	t.Helper()
	for _, s := range visible[*widget.Strip](b.pane().Middle) {
		if s.Finding.Key == key {
			return s
		}
	}
	t.Fatalf("no strip %s", key)
	return nil
}

// part is a section of the pane on show.
func part(t *testing.T, b *Bench, name string) *section.Section {
	t.Helper()
	for _, s := range b.pane().Sections {
		if s.Name == name {
			return s
		}
	}
	t.Fatalf("no section %q", name)
	return nil
}

// body is the first thing on the page of a section.
func body(t *testing.T, b *Bench, name string) fyne.CanvasObject { return part(t, b, name).Objects[0] }

// visible lists what of one kind is visible within an object.
func visible[T fyne.CanvasObject](o fyne.CanvasObject) (out []T) {
	walk(o, func(o fyne.CanvasObject) {
		if x, ok := o.(T); ok {
			out = append(out, x)
		}
	})
	return out
}

// tap is the key with that text, nil where there is none.
func tap(o fyne.CanvasObject, text string) *widget.Tap {
	for _, k := range visible[*widget.Tap](o) {
		if k.Text == text {
			return k
		}
	}
	return nil
}

// turnTo opens a page of the wiring plan.
func turnTo(t *testing.T, b *Bench, tab string) *widget.Choose {
	t.Helper()
	for _, c := range visible[*widget.Choose](body(t, b, "wiring plan")) {
		if len(c.Options) > 5 {
			c.Do(tab)
			return c
		}
	}
	t.Fatal("the wiring plan has no pages")
	return nil
}
