package app

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// A reading taken anew asks anew: the keys stand under the question again, what was
// answered before is not shown as chosen, and one touch answers.
func TestTheSameAnswerIsOneTouchAgain(t *testing.T) {
	b, w := bench(t, record.New("again"))
	h := &hand{t: t, b: b, w: w}
	b.now = func() time.Time { return noon.Add(time.Duration(h.touches+h.texts) * 20 * time.Second) }
	b.Go(stepIndex(record.CloseUp))
	for _, e := range []struct {
		key  record.Key
		text string
	}{{record.TestP1, "235"}, {record.TestT1, "80"}, {record.TestP2, "235.5"}, {record.TestT2, "81"}} {
		h.enter(e.key, e.text)
	}
	row := find(t, b, record.TestTime)
	row.Focus()
	typeIn(t, w, "60")
	press(t, w, "Return")
	for i, p2 := range []string{"235.5", "235.7", "235.9"} {
		if i > 0 {
			h.enter(record.TestP2, p2)
		}
		later := tap(row, record.NotedLater)
		if later == nil || !strings.Contains(row.Wrong(), "min apart") {
			t.Fatalf("%s psig: %q, keys %v", p2, row.Wrong(), later != nil)
		}
		if noted := find(t, b, record.HoldNoted); noted.Text() != "" {
			t.Errorf("%s psig: %q is shown as chosen for it", p2, noted.Text())
		}
		h.touch(later)
		if w := row.Wrong(); w != "" || tap(row, record.NotedLater) != nil {
			t.Errorf("%s psig: one touch, and still asked: %q", p2, w)
		}
	}
}

// What this job asks for now is not folded away, and what it cannot use is not offered.
func TestFoldsFollowTheJob(t *testing.T) {
	b, _ := bench(t, record.New("folds"))
	b.Enter(record.Refrigerant, "R-410A", "", "")
	b.Go(stepIndex(record.CloseUp))
	shows := func(k record.Key) bool { return find(t, b, k).Visible() }
	for _, k := range []record.Key{record.RecoveryLevel, record.RecoveryCylinder, record.Recovered, record.PartsBack, record.GroundBack} {
		if !shows(k) {
			t.Errorf("%s is folded", k)
		}
	}
	if shows(record.TestOutdoor) || shows(record.LeakSearch) || shows(record.CloseUpReservation) {
		t.Error("nothing stands against it yet, and the ways out are open")
	}
	for _, e := range []struct {
		k record.Key
		v string
	}{{record.DesignLow, "250"}, {record.DesignHigh, "450"}, {record.TestP1, "350"}, {record.TestP2, "350"}} {
		b.Enter(e.k, e.v, "psig", "")
	}
	if !shows(record.TestValves) || !shows(record.TestOutdoor) || !shows(record.CloseUpReservation) {
		t.Error("350 psig against 250: the ways out are folded")
	}
	if shows(record.LeakSearch) {
		t.Error("a search at the unit's own pressure is offered before there is a charge")
	}
	b.Enter(record.WeighedIn, "130", "oz", "")
	if !shows(record.LeakSearch) {
		t.Error("charged, and the search is not offered")
	}
	b.Go(stepIndex(record.Charge))
	if shows(record.FlammableMost) {
		t.Error("R-410A is asked for a flammable limit")
	}
	b.Enter(record.Refrigerant, "R-454B", "", "")
	for _, k := range visible[*widget.Tap](b.pane().Side) {
		if strings.Contains(k.Text, "largest charge") {
			return
		}
	}
	t.Error("R-454B is not asked for one")
}

// Where the gauge's doubt leaves a close call, naming the gauge is offered under its
// reading; named, the call is made, nothing is offered any more, and the reading keeps its
// time. Inches of vacuum are among the keys of that field.
func TestTheGaugeIsNamedAtItsReading(t *testing.T) {
	b, w := bench(t, record.New("gauge"))
	b.Enter(record.Refrigerant, "R-410A", "", "")
	b.Go(stepIndex(record.CloseUp))
	row := find(t, b, record.RecoveryLevel)
	row.SetUnit("inHg vacuum")
	row.Focus()
	typeIn(t, w, "4")
	press(t, w, "Return")
	was, ok := b.job.Entry(record.RecoveryLevel)
	if !ok || was.Value != "-1.965" || was.Unit != "psig" || was.Typed != "4 inHg" {
		t.Fatalf("4 inches of vacuum became %+v", was)
	}
	if row.Text() != "4" || row.Field.Unit != "inHg vacuum" || !strings.Contains(row.Note, "-1.965 psig") {
		t.Errorf("shown as %q %q, %s", row.Text(), row.Field.Unit, row.Note)
	}
	n := len(b.job.Entries)
	row.Focus()
	press(t, w, "Return")
	if len(b.job.Entries) != n {
		t.Errorf("looked at, it is entered again: %+v", b.job.Entries[len(b.job.Entries)-1])
	}
	name := tap(row, "name its instrument")
	if name == nil || strip(t, b, "recovery_level").Finding.Verdict != widget.TooClose {
		t.Fatalf("not asked for the gauge: %s", strip(t, b, "recovery_level").Finding.Next)
	}
	b.now = func() time.Time { return noon.Add(time.Hour) }
	name.Tapped(nil)
	s := sheetOf(t, w)
	var plus *toolkit.Entry
	reads := ""
	walk(w.Canvas().Overlays().Top().(*toolkit.PopUp).Content, func(o fyne.CanvasObject) {
		switch o := o.(type) {
		case *toolkit.Entry:
			switch o.PlaceHolder {
			case "id, such as the number on its label":
				o.SetText("G-2")
			case "± number":
				plus = o
			case "smallest step that it shows, in that unit; empty if not known":
				o.SetText("0.5")
			}
		case *toolkit.Select:
			reads += o.Selected + " "
		}
	})
	if !strings.Contains(reads, "pressure") || plus == nil {
		t.Fatalf("the sheet asks for %q", reads)
	}
	plus.SetText("1")
	s.touch(t, "Add")
	row = find(t, b, record.RecoveryLevel)
	if f := strip(t, b, "recovery_level").Finding; f.Verdict != widget.Within || tap(row, "name its instrument") != nil {
		t.Errorf("named, ±1 psi: %v, %s; asked on: %v", f.Verdict, f.Next, tap(row, "name its instrument") != nil)
	}
	if i, ok := b.job.Instrument("G-2"); !ok || i.Accuracy[0].Step != 0.5 {
		t.Errorf("listed as %+v", i)
	}
	if is, _ := b.job.Entry(record.RecoveryLevel); is.Instrument != "G-2" || !is.Time.Equal(was.Time) {
		t.Errorf("named it is %+v, before %+v", is, was)
	}
}
