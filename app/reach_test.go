package app

import (
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// Enter from the first entry of a step leads to everything that a first visit enters, and
// answers nothing on its way.
func TestEnterLeadsPastNoEvidence(t *testing.T) {
	for _, s := range firstVisit {
		b, w := bench(t, record.New("j"))
		b.Go(stepIndex(s.step))
		var want []string
		for i := 0; i < len(s.of); i += 2 {
			want = append(want, s.of[i].(record.Key).String())
		}
		before := len(b.job.Entries)
		find(t, b, s.of[0].(record.Key)).Focus()
		var got []string
		for range 80 {
			i := slices.IndexFunc(b.pane().Rows, func(r *widget.Row) bool { return r.Lit() })
			if i < 0 {
				break
			}
			if got = append(got, b.pane().Rows[i].Field.Key); got[len(got)-1] == want[len(want)-1] {
				break
			}
			press(t, w, fyne.KeyReturn)
		}
		for _, k := range want {
			if !slices.Contains(got, k) {
				t.Errorf("%s: Enter leads past %s: %v", s.step, k, got)
			}
		}
		if n := len(b.job.Entries); n != before {
			t.Errorf("%s: Enter alone entered %v", s.step, b.job.Entries[before:])
		}
	}
}

// The keys on the glass give way to a keyboard, and to a page that is moved until their
// entry is out of sight: a touch on a field that they lay over would type into another.
func TestKeysOnTheGlassGiveWay(t *testing.T) {
	b, w := bench(t, record.New("j"))
	w.Resize(fyne.NewSize(1280, 800))
	b.Go(stepIndex(record.Intake))
	r := find(t, b, record.NominalCapacity)
	r.Focus()
	if !b.window.padOn {
		t.Fatal("no keypad")
	}
	test.Tap(b.window.pad.Key("2"))
	b.pane().Side.Wheel(&fyne.ScrollEvent{Scrolled: fyne.Delta{DY: -30}})
	if !b.window.padOn || !r.Lit() {
		t.Error("the keypad leaves an entry that is in sight")
	}
	b.pane().Side.Wheel(&fyne.ScrollEvent{Scrolled: fyne.Delta{DY: -900}})
	if b.window.padOn || r.Lit() || b.job.Text(record.NominalCapacity) != "2" {
		t.Errorf("out of sight: keypad %v, cursor %v, entered %q", b.window.padOn, r.Lit(), b.job.Text(record.NominalCapacity))
	}
	v := find(t, b, record.RatedVoltage)
	v.Focus()
	if !b.window.padOn {
		t.Fatal("no keypad for the next entry")
	}
	typeIn(t, w, "230")
	if b.window.padOn || !v.Lit() || b.window.keys.On {
		t.Errorf("typed on a keyboard: keypad %v, cursor %v, its key on %v", b.window.padOn, v.Lit(), b.window.keys.On)
	}
	find(t, b, record.OldRLA).Focus()
	if b.window.padOn {
		t.Error("the keypad is back at the next entry")
	}
	test.Tap(b.window.keys)
	if !b.window.padOn || !find(t, b, record.OldRLA).Lit() {
		t.Error("its key does not bring the keypad back")
	}
}

// Every step is in sight in the rail, whatever reasons stand under them.
func TestRailShowsEveryStep(t *testing.T) {
	for _, size := range sizes {
		b, w := bench(t, record.New("j"))
		w.Resize(size)
		b.window.open = true
		b.window.layout(size)
		long := slices.Repeat([]widget.Stage{{Title: "A step", State: widget.DoneReserved, Why: strings.Repeat("what is left as it is ", 9)}}, len(record.Steps))
		b.window.route.Set(long, 2)
		if room := b.window.route.Room; room < 500 || b.window.route.HeightFor(226) > room {
			t.Errorf("%v: the steps take %.0f of %.0f", size, b.window.route.HeightFor(226), room)
		}
		b.window.route.Set(long[:3], 2)
		if h := b.window.route.HeightFor(226); h < 3*80 {
			t.Errorf("%v: where there is room the reasons are not shown: %.0f", size, h)
		}
	}
}

// No page of help falls to a letter a line.
func TestHelpStandsInWords(t *testing.T) {
	b, w := bench(t, record.New("j"))
	for _, size := range sizes {
		w.Resize(size)
		for _, s := range append([]record.StepInfo{{Step: "start"}, {Step: "demo"}, {Step: "glossary"}}, record.Steps...) {
			b.Help(string(s.Step))
			top := w.Canvas().Overlays().Top()
			letters, n := 0, 0
			walk(visible[*widget.Page](top)[0], func(o fyne.CanvasObject) {
				if c, ok := o.(*canvas.Text); ok {
					if n++; len([]rune(strings.TrimSpace(c.Text))) == 1 && strings.TrimSpace(c.Text) != "•" {
						letters++
					}
				}
			})
			if n < 10 || letters > 3 {
				t.Errorf("%v, %s: %d of %d pieces are single letters", size, s.Step, letters, n)
			}
			test.Tap(tap(top, "Back to the job"))
		}
	}
}

// That no fault stands out is no green word while findings of the check are not measured.
func TestNoFaultIsNotGreenWithGaps(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	notices := func() (n *widget.Notice) {
		for _, x := range visible[*widget.Notice](body(t, b, "causes")) {
			if strings.Contains(strings.Join(x.Lines, " "), "Nothing wrong: ") {
				n = x
			}
		}
		return n
	}
	gaps := func() (n int) {
		for _, f := range b.report.Of(record.Running) {
			if f.Verdict == assess.NotMeasured {
				n++
			}
		}
		return n
	}
	for _, k := range []record.Key{record.Airflow, record.SupplyDB, record.StaticReturn, record.DischargeTemp} {
		if _, ok := b.job.Entry(k); ok {
			if err := b.Enter(k, "", "", ""); err != nil {
				t.Fatal(err)
			}
		}
	}
	n := notices()
	if n == nil || gaps() == 0 {
		t.Fatalf("%d gaps, %v", gaps(), n)
	}
	if said := strings.Join(n.Lines, " "); n.Shape == "within" || n.Shape != "outside" && !strings.Contains(said, "are not measured: of what they would show this says nothing") {
		t.Errorf("%d gaps, and %s: %s", gaps(), n.Shape, said)
	}
}
