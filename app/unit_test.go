package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/widget"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/wiring/netlist"
)

// onSheet finds things on the sheet above the window.
type onSheet struct {
	rows map[string]*widget.Row
	taps map[string]*widget.Tap
	text string
}

func sheetOf(t *testing.T, w fyne.Window) onSheet {
	t.Helper()
	top := w.Canvas().Overlays().Top()
	if top == nil {
		t.Fatal("no sheet is open")
	}
	s := onSheet{rows: map[string]*widget.Row{}, taps: map[string]*widget.Tap{}}
	walk(top.(*toolkit.PopUp).Content, func(o fyne.CanvasObject) {
		switch o := o.(type) {
		case *widget.Row:
			s.rows[o.Field.Key] = o
		case *widget.Tap:
			s.taps[o.Text] = o
		}
	})
	s.text = shownWords(top.(*toolkit.PopUp).Content)
	return s
}

func (s onSheet) touch(t *testing.T, key string) {
	t.Helper()
	if s.taps[key] == nil {
		t.Fatalf("no key %q", key)
	}
	test.Tap(s.taps[key])
}

func cardOf(t *testing.T, b *Bench, word string) *widget.Card {
	t.Helper()
	var found *widget.Card
	walk(body(t, b, "wiring plan"), func(o fyne.CanvasObject) {
		if c, ok := o.(*widget.Card); ok && c.Word == word {
			found = c
		}
	})
	if found == nil {
		t.Fatalf("no card %s", word)
	}
	return found
}

func tapOf(t *testing.T, b *Bench, text string) *widget.Tap {
	t.Helper()
	var found *widget.Tap
	walk(body(t, b, "wiring plan"), func(o fyne.CanvasObject) {
		if k, ok := o.(*widget.Tap); ok && k.Text == text {
			found = k
		}
	})
	if found == nil {
		t.Fatalf("no key %q", text)
	}
	return found
}

func TestTheUnitIsMadeToMatchTheOneAtHand(t *testing.T) {
	b, w := bench(t, filled(t))
	b.Go(stepIndex(record.Wiring))
	turnTo(t, b, "Unit")
	drawn := func() *netlist.Unit {
		t.Helper()
		u, err := plan.Drawn(b.job)
		if err != nil {
			t.Fatal(err)
		}
		return u
	}
	first := drawn().Conductors[0]
	old := part(t, b, "wiring plan").Runs

	// A wrong end is refused beside the entry and changes nothing.
	test.Tap(cardOf(t, b, first.ID))
	s := sheetOf(t, w)
	s.rows["Name"].Focus()
	typeIn(t, w, "no spaces")
	s.touch(t, "Done")
	if !strings.Contains(s.rows["Name"].Wrong(), "letters, digits") || b.job.Unit != nil {
		t.Fatalf("beside the name stands %q; unit %s", s.rows["Name"].Wrong(), b.job.Unit)
	}
	// It is kept, on disk too, beside its error, until it is mended.
	s.touch(t, "Done")
	if w.Canvas().Overlays().Top() != nil {
		t.Error("a second touch does not leave it so")
	}
	if j := onDisk(t, b); len(j.Drafts) != 1 || j.Drafts[0].Value != "no spaces" {
		t.Fatalf("on disk: %+v", j.Drafts)
	}
	if text := shownWords(body(t, b, "wiring plan")); !strings.Contains(text, "Typed and not entered") {
		t.Errorf("the unit does not show it: %s", text)
	}
	test.Tap(cardOf(t, b, "draft"))
	s = sheetOf(t, w)
	if r := s.rows["Name"]; r.Text() != "no spaces" || !strings.Contains(r.Wrong(), "letters, digits") {
		t.Fatalf("the name opens with %q, %q", r.Text(), r.Wrong())
	}
	s.rows["Name"].Focus()
	typeIn(t, w, "x1")
	s.rows["Colour"].Focus()
	typeIn(t, w, "orange")
	s.touch(t, "Done")
	if c := drawn().Conductor("x1"); c == nil || c.Colour != "orange" || c.From != first.From {
		t.Fatalf("the conductor became %+v", c)
	}
	if len(b.job.Drafts) != 0 {
		t.Errorf("once mended there stand drafts: %+v", b.job.Drafts)
	}
	if part(t, b, "wiring plan").Runs == old {
		t.Error("the plan was not made anew")
	}
	kept := onDisk(t, b)
	if u, err := plan.Drawn(kept); err != nil || u.Conductor("x1") == nil {
		t.Errorf("on disk: %v", err)
	}

	// A device and a conductor to it.
	test.Tap(tapOf(t, b, "Add a device"))
	s = sheetOf(t, w)
	s.touch(t, "Add it")
	if text := sheetOf(t, w).text; !strings.Contains(text, "Say what it is") {
		t.Errorf("a device of no kind: %s", text)
	}
	s.rows["In words"].Focus()
	typeIn(t, w, "second heater")
	s.rows["Name"].Focus() // leaves the words
	if d, ok := b.job.Draft(record.PlanKey("unit/new device/In words")); !ok || d.Value != "second heater" {
		t.Errorf("a part that is not added yet is kept as %+v", d)
	}
	s.rows["What it is"].Input().(interface{ SetSelected(string) }).SetSelected(netlist.Kinds["heater-crankcase"].Words)
	s.rows["Name"].Focus()
	typeIn(t, w, "CCH2")
	s.touch(t, "Add it")
	if d := drawn().Device("CCH2"); d == nil || d.Kind != "heater-crankcase" {
		t.Fatalf("the device is %+v", d)
	}
	test.Tap(tapOf(t, b, "Add a conductor"))
	s = sheetOf(t, w)
	s.rows["From"].Input().(interface{ SetSelected(string) }).SetSelected("CCH2.1")
	s.rows["To"].Input().(interface{ SetSelected(string) }).SetSelected(first.From)
	s.touch(t, "Add it")
	u := drawn()
	if at := u.At("CCH2.1"); len(at) != 1 || at[0].To != first.From || at[0].Class != netlist.Line {
		t.Fatalf("at the heater: %+v", at)
	}
	if text := shownWords(body(t, b, "wiring plan")); !strings.Contains(text, "Device CCH2 added") {
		t.Errorf("the departures are not said: %s", text)
	}

	// Out again, undone, and back to the catalogue's.
	test.Tap(cardOf(t, b, "CCH2"))
	sheetOf(t, w).touch(t, "Take it out; its conductors are capped")
	if drawn().Device("CCH2") != nil {
		t.Error("the device is still there")
	}
	test.Tap(tapOf(t, b, "Undo the last change of the unit"))
	if drawn().Device("CCH2") == nil {
		t.Error("not undone")
	}
	test.Tap(tapOf(t, b, "Back to the catalogue's unit"))
	if b.job.Unit != nil || drawn().Conductor(first.ID) == nil {
		t.Error("not the catalogue's unit")
	}
	test.Tap(tapOf(t, b, "Undo the last change of the unit"))
	if drawn().Conductor("x1") == nil {
		t.Error("the edited unit is lost")
	}

	// Another unit of the catalogue, and back to the edited one.
	test.Tap(tapOf(t, b, "Another unit of the catalogue"))
	other, err := netlist.Load("two-contactor-conventional")
	if err != nil {
		t.Fatal(err)
	}
	test.Tap(tapOf(t, b, other.Title))
	if drawn().Name != other.Name {
		t.Errorf("the unit is %s", drawn().Name)
	}
	test.Tap(tapOf(t, b, "Undo the last change of the unit"))
	if drawn().Conductor("x1") == nil || b.job.Text(record.OldControls) != "unloading-scroll-conventional" {
		t.Error("the edited unit did not come back")
	}
}

// What was changed of a part can be left as it was by one key, name and all.
func TestAPartIsLeftAsItWas(t *testing.T) {
	b, w := bench(t, filled(t))
	b.Go(stepIndex(record.Wiring))
	turnTo(t, b, "Unit")
	u, err := plan.Drawn(b.job)
	if err != nil {
		t.Fatal(err)
	}
	was, d := string(u.JSON()), u.Devices[0].ID
	test.Tap(cardOf(t, b, d))
	s := sheetOf(t, w)
	s.rows["Name"].Focus()
	typeIn(t, w, "OTHER")
	s.rows["What it is"].Focus()
	typeIn(t, w, "another part")
	s.rows["Where"].Focus()
	if u, err = plan.Drawn(b.job); err != nil || u.Device("OTHER") == nil {
		t.Fatalf("not changed: %v", err)
	}
	s.touch(t, "Cancel: leave it as it was")
	if u, err = plan.Drawn(b.job); err != nil || string(u.JSON()) != was || len(b.job.Drafts) > 0 {
		t.Errorf("not as it was: %v, drafts %+v", err, b.job.Drafts)
	}
	if w.Canvas().Overlays().Top() != nil {
		t.Error("the sheet stays open")
	}
}

// A drawing that Intake contradicts is not accepted by a touch: it is asked which of the two
// is right, and either can be put right, the poles of a contactor in the drawing itself.
func TestADrawingIsNotAcceptedOverIntake(t *testing.T) {
	j := record.New("j")
	for key, v := range map[record.Key]string{record.OldControls: "two-capacity-conventional", record.Staging: record.StagingSolenoid, record.OldPoles: "2"} {
		if err := j.Set(record.Entry{Key: key, Value: v, Time: noon}); err != nil {
			t.Fatal(err)
		}
	}
	b, w := bench(t, j)
	b.SetPerson("T-31")
	b.Go(stepIndex(record.Wiring))
	middle := body(t, b, "wiring plan")
	const accept = "I compared it: the unit is as drawn"
	if tap(middle, accept) != nil || plan.Compared(b.job) {
		t.Fatal("a drawing of one pole can be accepted where Intake has two")
	}
	// Intake put right leads there, and the drawing can be accepted.
	test.Tap(tapOf(t, b, "The drawing is right: put right \""+record.OldPoles.Label()+"\" in Intake"))
	if b.step().Step != record.Intake || !find(t, b, record.OldPoles).Lit() {
		t.Errorf("led to %s", b.step().Step)
	}
	b.Enter(record.OldPoles, "1", "", "")
	b.Go(stepIndex(record.Wiring))
	if tap(middle, accept) == nil {
		t.Error("Intake agrees, and the drawing cannot be accepted")
	}
	b.Enter(record.OldPoles, "2", "", "")
	if tap(middle, accept) != nil {
		t.Error("Intake contradicts again, and the drawing can be accepted")
	}
	// The drawing put right, in place.
	test.Tap(tapOf(t, b, "Intake is right: change the drawing, part by part"))
	test.Tap(cardOf(t, b, "CC"))
	r := sheetOf(t, w).rows["Poles that open"]
	if r == nil {
		t.Fatal("the poles are no entry of the contactor")
	}
	test.Tap(tap(r, "2"))
	sheetOf(t, w).touch(t, "Done")
	u, err := plan.Drawn(b.job)
	if err != nil || u.Device("CC").Kind != "contactor-2p" {
		t.Fatalf("drawn: %v, %v", u.Device("CC"), err)
	}
	if said := plan.Contradicts(b.job); len(said) != 0 {
		t.Errorf("still contradicted: %v", said)
	}
	test.Tap(tapOf(t, b, accept))
	if !plan.Compared(b.job) {
		t.Error("not compared")
	}
}
