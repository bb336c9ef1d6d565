package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// A second opening at the window: begun at Intake, the vacuum done again at Close-up, the
// first still to be looked at, the running check beside the hand-over's.
func TestVisitsAtTheWindow(t *testing.T) {
	b, w := bench(t, filled(t))
	b.SetPerson("T-40")
	b.Go(stepIndex(record.CloseUp))
	if strings.Contains(shownKeys(b), "Done again in this visit") {
		t.Error("a set can be done again without a visit")
	}
	b.Go(stepIndex(record.Intake))
	test.Tap(tap(b.pane().Side, "Begin another visit"))
	sheet := w.Canvas().Overlays().Top()
	test.Tap(tap(sheet, "Begin this visit"))
	if _, ok := b.job.Visit(); ok {
		t.Fatal("a visit for nothing was begun")
	}
	for _, c := range visible[*widget.Choose](sheet) {
		c.Do("second opening")
	}
	test.Tap(tap(sheet, "Begin this visit"))
	v, ok := b.job.Visit()
	if !ok || v.Kind != "second opening" || v.Person != "T-40" {
		t.Fatalf("%+v", v)
	}
	if said := shownWords(b.pane().Side); !strings.Contains(said, "second opening, T-40") {
		t.Error("it is not told")
	}
	b.Go(stepIndex(record.CloseUp))
	for _, k := range visible[*widget.Tap](b.pane().Side) {
		if strings.HasPrefix(k.Text, "Done again in this visit: vacuum") {
			test.Tap(k)
			break
		}
	}
	if b.job.Text(record.VacuumEnd) != "" || onDisk(t, b).Text(record.VacuumEnd) != "" {
		t.Error("the vacuum of before stands")
	}
	test.Tap(tap(b.pane().Side, "Look at earlier visits: vacuum"))
	if said := shownWords(w.Canvas().Overlays().Top()); !strings.Contains(said, "410 micron") {
		t.Errorf("earlier: %s", said)
	}
	test.Tap(tap(w.Canvas().Overlays().Top(), "Back to the step"))
	b.Enter(record.SuctionPressure, "118", "psig", "")
	b.Go(stepIndex(record.Running))
	var rows []widget.TableRow
	for _, tb := range visible[*widget.Table](body(t, b, "baseline")) {
		rows = tb.Rows
	}
	if len(rows) < 5 || rows[0].Cells[2] != "118 psig" || rows[0].Cells[3] != "-3" || rows[1].Cells[2] != "not read" {
		t.Errorf("%+v", rows)
	}
}

func shownKeys(b *Bench) string {
	var all []string
	for _, k := range visible[*widget.Tap](b.pane().Side) {
		all = append(all, k.Text)
	}
	return strings.Join(all, "\n")
}
