package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/section"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// The only instrument that reads a quantity is taken by itself, and that is to be seen; one
// of temperatures or pressures is not, for they are read with several kinds; and "not named"
// stays said.
func TestTheOnlyInstrumentIsTaken(t *testing.T) {
	b, w := bench(t, record.New("j"))
	for _, i := range []record.Instrument{
		{ID: "DMM-1", Accuracy: []record.Accuracy{{Dim: units.Voltage, Unit: "V", Percent: 1}}},
		{ID: "T-1", Accuracy: []record.Accuracy{{Dim: units.Temperature, Plus: 1, Unit: "F"}}}} {
		if err := section.AddInstrument(b.pane(), i); err != nil {
			t.Fatal(err)
		}
	}
	b.Go(stepIndex(record.Cause))
	r := find(t, b, record.CauseSupply)
	if r.Field.Tool != "DMM-1" || !strings.Contains(r.Note, "to be read with DMM-1") {
		t.Errorf("before it is read: with %q, said %q", r.Field.Tool, r.Note)
	}
	write(t, b, w, record.CauseSupply, "233")
	if e, _ := b.job.Entry(record.CauseSupply); e.Instrument != "DMM-1" || !strings.Contains(r.Note, "DMM-1") {
		t.Errorf("read with %q, said %q", e.Instrument, r.Note)
	}
	b.Go(stepIndex(record.Running))
	if r := find(t, b, record.SuctionTemp); r.Field.Tool == "T-1" {
		t.Error("a thermometer is taken for the pipe clamp")
	}
	b.Go(stepIndex(record.Electrical))
	r = find(t, b, record.SupplyVoltage)
	r.SetTool("not named")
	write(t, b, w, record.SupplyVoltage, "231")
	if e, _ := b.job.Entry(record.SupplyVoltage); e.Instrument != "" {
		t.Errorf("said not named, and it is %q", e.Instrument)
	}
}

// The sheet of an instrument takes one quantity after another, and asks for no number where
// no calibration is stated.
func TestAnInstrumentOfSeveralQuantities(t *testing.T) {
	b, w := bench(t, record.New("j"))
	b.Go(stepIndex(record.Intake))
	test.Tap(tap(b.pane().Side, "Add an instrument"))
	top := w.Canvas().Overlays().Top()
	entries, selects := map[string]*toolkit.Entry{}, []*toolkit.Select{}
	walk(top.(*toolkit.PopUp).Content, func(o fyne.CanvasObject) {
		switch o := o.(type) {
		case *toolkit.Entry:
			entries[o.PlaceHolder] = o
		case *toolkit.Select:
			selects = append(selects, o)
		}
	})
	dim := selects[0]
	entries["what it is"].SetText("multimeter")
	dim.SetSelected("voltage")
	entries["± % of the reading"].SetText("1")
	go1 := tap(top, "Add, and go on: it reads something else too")
	due := entries["next calibration by"]
	due.SetText("2027-01-01")
	test.Tap(go1)
	if len(b.job.Instruments) != 0 || !strings.Contains(sheetOf(t, w).text, "number on its label") {
		t.Fatalf("a calibration without a number: %+v, said %s", b.job.Instruments, sheetOf(t, w).text)
	}
	due.SetText("")
	test.Tap(go1)
	if dim.Selected != "" || w.Canvas().Overlays().Top() != top {
		t.Fatal("the sheet does not go on")
	}
	dim.SetSelected("resistance")
	entries["± % of the reading"].SetText("2")
	sheetOf(t, w).touch(t, "Add")
	is := b.job.Instruments
	if len(is) != 1 || is[0].ID != "multimeter" || len(is[0].Accuracy) != 2 || is[0].Accuracy[1].Dim != units.Resistance || is[0].Accuracy[1].Percent != 2 {
		t.Errorf("listed: %+v", is)
	}
}
