package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// The check repeated, by touch: refrigerant is added, the readings it moves are to be
// taken again, the two sets stand side by side with what was done between them and the
// way they went as a picture, and the one handed over is chosen.
func TestSetsAtTheWindow(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.SetPerson("T-17")
	b.Go(stepIndex(record.Running))
	page := func(i int) fyne.CanvasObject { return part(t, b, "sets of readings").Objects[i] }
	choose := func(name string) {
		t.Helper()
		k := tap(page(0), name)
		if k == nil {
			t.Fatalf("no key %q", name)
		}
		test.Tap(k)
	}
	views := func() int { return len(visible[*widget.View](page(1))) }
	if views() != 0 {
		t.Error("one set has a trend")
	}
	before := map[record.Key]record.Entry{}
	for _, k := range []record.Key{record.SuctionPressure, record.SuctionTemp, record.LiquidPressure, record.LiquidTemp, record.OutdoorTemp, record.ReturnDB, record.ReturnWB, record.SupplyDB} {
		e, ok := b.job.Entry(k)
		if !ok {
			t.Fatalf("the job has no %s", k)
		}
		before[k] = e
	}
	choose(record.SetChargeIn)
	if b.job.Text(record.SetDone) != record.SetChargeIn {
		t.Fatal("nothing was done")
	}
	if said := shownWords(page(0)); !strings.Contains(said, "After set 1: "+record.SetChargeIn) {
		t.Errorf("what was done is not told: %s", said)
	}
	if views() != 0 {
		t.Error("a trend without a second reading")
	}
	for k, e := range before {
		v := e.Value
		if k == record.LiquidTemp {
			v = "95"
		}
		b.Enter(k, v, e.Unit, e.Instrument)
	}
	var rows []widget.TableRow
	for _, tb := range visible[*widget.Table](page(0)) {
		rows = tb.Rows
	}
	said := ""
	for _, r := range rows {
		said += strings.Join(r.Cells, "|") + "\n"
		if len(r.Cells) != 4 {
			t.Fatalf("%v", r.Cells)
		}
	}
	if !strings.Contains(said, "Subcooling") || !strings.Contains(said, "|up") {
		t.Errorf("side by side:\n%s", said)
	}
	if views() != 1 {
		t.Errorf("%d pictures of the trend", views())
	}
	choose("2")
	if b.job.Text(record.HandedSet) != "2" || onDisk(t, b).Text(record.HandedSet) != "2" {
		t.Error("the set handed over is not kept")
	}
	choose(record.SetOutdoor)
	w := ""
	for _, m := range b.report.Against {
		if m.Key == record.HandedSet.String() {
			w = m.Why
		}
	}
	if !strings.Contains(w, "set 2 is of the unit as it was before") {
		t.Errorf("cleaned after the set handed over: %s", w)
	}
}
