package app

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/record"
)

// write types into the row of a field and goes on.
func write(t *testing.T, b *Bench, w fyne.Window, key record.Key, text string) *widget.Row {
	t.Helper()
	r := find(t, b, key)
	r.Focus()
	typeIn(t, w, text)
	press(t, w, fyne.KeyTab)
	return r
}

func TestTwoMeaningsAreAskedAbout(t *testing.T) {
	b, w := bench(t, record.New("j"))
	b.Go(stepIndex(record.Cause))
	r := write(t, b, w, record.OldInsulation, "2,100")
	if got := b.job.Text(record.OldInsulation); got != "" || r.Wrong() == "" || r.Text() != "2,100" {
		t.Fatalf("%q was entered of 2,100; said %q; shown %q", got, r.Wrong(), r.Text())
	}
	for _, c := range []struct {
		typed string
		take  int
		want  float64
	}{{"2,100", 1, 2100}, {"2,100", 0, 2.1}, {"2.125", 0, 2.125}, {"2.125", 1, 2125}} {
		r := write(t, b, w, record.OldInsulation, c.typed)
		b.open(b.at) // it is asked when the step is opened again, too
		m := r.Meanings()
		if m == nil || len(m.Options) != 2 {
			t.Fatalf("%s: no two keys", c.typed)
		}
		for _, k := range visible[*widget.Tap](m) {
			if k.Size().Height < theme.Touch || k.Size().Width < theme.Touch {
				t.Errorf("the key %q is %v", k.Text, k.Size())
			}
		}
		test.Tap(tap(m, m.Options[c.take]))
		n, ok := b.job.Number(record.OldInsulation)
		if !ok || math.Abs(n.Typed-c.want) > 1e-9 || r.Wrong() != "" || r.Meanings() != nil {
			t.Errorf("%s, key %d: entered %v %v, said %q", c.typed, c.take, n.Typed, ok, r.Wrong())
		}
	}
	b.Go(stepIndex(record.HandOver))
	r = write(t, b, w, record.SignedDate, "3/4/2026")
	if m := r.Meanings(); m == nil || len(m.Options) != 2 {
		t.Error("a date with day and month in question is not asked about")
	}
}

func TestWhatIsTypedIsShownAsUnderstood(t *testing.T) {
	b, w := bench(t, record.New("j"))
	b.Go(stepIndex(record.Match))
	write(t, b, w, record.NewCapacity, "33,500")
	if got := b.job.Text(record.NewCapacity); got != "33500" {
		t.Errorf("33,500 was entered as %q", got)
	}
	r := write(t, b, w, record.NewCapacity, "1")
	if !strings.Contains(r.Wrong(), "3,000 to 200,000 Btu/h") {
		t.Errorf("the refusal says %q", r.Wrong())
	}
	b.Go(stepIndex(record.Intake))
	r = find(t, b, record.WireLength)
	r.SetUnit("m")
	r = write(t, b, w, record.WireLength, "300ft")
	if r.Field.Unit != "ft" || r.Text() != "300" {
		t.Errorf("300ft is shown as %q %q", r.Text(), r.Field.Unit)
	}
	if e, _ := b.job.Entry(record.WireLength); e.Typed != "300ft" || !strings.Contains(r.Note, "300ft") {
		t.Errorf("the record keeps %q as typed, the row says %q", e.Typed, r.Note)
	}
	// The last field left by going to another step.
	r = find(t, b, record.WireLength)
	r.Focus()
	typeIn(t, w, "120 m")
	b.Leave()
	if r.Field.Unit != "m" || r.Text() != "120" {
		t.Errorf("120 m is shown as %q %q", r.Text(), r.Field.Unit)
	}
}

func place(o fyne.CanvasObject) fyne.Position {
	return fyne.CurrentApp().Driver().AbsolutePositionForObject(o)
}

// The keypad comes up beside the field that was touched: neither is that field
// covered, nor does any field move.
func TestKeypadMovesNoField(t *testing.T) {
	b, w := bench(t, filled(t))
	for _, size := range sizes {
		w.Resize(size)
		for i, s := range record.Steps {
			for _, last := range []bool{false, true} {
				b.open(i)
				p := b.pane()
				p.Side.Top()
				top, low := place(p.Side).Y, place(p.Side).Y+p.Side.Size().Height
				var seen []*widget.Row
				for _, r := range p.Rows {
					if y := place(r).Y; r.Visible() && y > top+8 && y+r.Size().Height < low-8 {
						seen = append(seen, r)
					}
				}
				at := -1
				for k, r := range seen {
					if r.Field.Kind == widget.NumberField && (at < 0 || last) {
						at = k
					}
				}
				if at < 0 {
					continue
				}
				var before []fyne.Position
				for _, r := range seen {
					before = append(before, place(r))
				}
				w.Canvas().Unfocus()
				seen[at].Focus()
				if !b.window.padOn || w.Canvas().Focused() == nil {
					t.Fatalf("%s %v: no keypad, or no cursor at %s", s.Step, size, seen[at].Field.Key)
				}
				for k, r := range seen {
					if place(r) != before[k] {
						t.Errorf("%s %v: %s moved from %v to %v", s.Step, size, r.Field.Key, before[k], place(r))
						break
					}
				}
				pad := b.window.pad
				p1, z1, p2, z2 := place(seen[at]), seen[at].Size(), place(pad), pad.Size()
				if p1.X < p2.X+z2.Width && p2.X < p1.X+z1.Width && p1.Y < p2.Y+z2.Height && p2.Y < p1.Y+z1.Height {
					t.Errorf("%s %v: the keypad covers %s", s.Step, size, seen[at].Field.Key)
				}
				b.window.aim(nil)
				for k, r := range seen {
					if place(r) != before[k] {
						t.Errorf("%s %v: %s moved as the keypad went", s.Step, size, r.Field.Key)
						break
					}
				}
			}
		}
	}
}

// Tab, Enter and the key on the glass go to the next field that is shown, and leap over none:
// of numbers typed in a run each would land one field late.
func TestTabReachesEveryField(t *testing.T) {
	next := map[string]func(b *Bench, w fyne.Window, r *widget.Row){
		"Tab": func(_ *Bench, w fyne.Window, _ *widget.Row) { press(t, w, fyne.KeyTab) },
		"Enter": func(_ *Bench, w fyne.Window, r *widget.Row) {
			if r.Field.Kind == widget.NoteField { // Enter is a line in it
				w.Canvas().Focused().(fyne.Shortcutable).TypedShortcut(&desktop.CustomShortcut{KeyName: fyne.KeyReturn, Modifier: fyne.KeyModifierControl})
				return
			}
			press(t, w, fyne.KeyReturn)
		},
		"Next": func(b *Bench, w fyne.Window, r *widget.Row) {
			if b.window.padOn && !b.window.lettersOn {
				test.Tap(b.window.pad.Key("Next"))
				return
			}
			press(t, w, fyne.KeyTab)
		},
	}
	for _, j := range []*record.Job{record.New("j"), filled(t)} {
		for name, go1 := range next {
			reachesEveryField(t, j, name, go1)
		}
	}
}

func reachesEveryField(t *testing.T, j *record.Job, name string, next func(*Bench, fyne.Window, *widget.Row)) {
	t.Helper()
	b, w := bench(t, j)
	for i, s := range record.Steps {
		b.Go(i)
		var want, got []string
		for _, r := range b.pane().Rows {
			if r.Visible() {
				want = append(want, r.Field.Key)
			}
		}
		if len(want) == 0 {
			continue
		}
		find(t, b, mustKey(t, want[0])).Focus()
		for range want {
			var at *widget.Row
			for _, r := range b.pane().Rows {
				if r.Lit() {
					at = r
					got = append(got, r.Field.Key)
				}
			}
			if at == nil {
				break
			}
			next(b, w, at)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: %s goes to %v, the fields are %v", s.Step, name, got, want)
		}
	}
}

// Numbers typed in a run, each ended with Enter, land in the fields in their order on the
// page; a choice goes on to what is below it.
func TestNumbersInARunLandWhereTheyAreRead(t *testing.T) {
	b, w := bench(t, record.New("j"))
	for _, s := range []record.Step{record.Choice, record.Running} {
		b.Go(stepIndex(s))
		var run []*widget.Row
		for _, r := range b.pane().Rows {
			if r.Visible() && r.Field.Kind == widget.NumberField {
				run = append(run, r)
			} else if len(run) > 0 {
				break
			}
		}
		if len(run) < 5 {
			t.Fatalf("%s: %d numbers in a run", s, len(run))
		}
		run[0].Focus()
		for i, r := range run {
			f, _ := record.ByName(r.Field.Key)
			typeIn(t, w, fmt.Sprintf("%.0f", min(max(f.Min, 20)+float64(i), f.Max)))
			press(t, w, fyne.KeyReturn)
		}
		for i, r := range run {
			f, _ := record.ByName(r.Field.Key)
			if want := fmt.Sprintf("%.0f", min(max(f.Min, 20)+float64(i), f.Max)); b.job.Text(f.Key) != want {
				t.Errorf("%s: %q was entered, typed %s", f.Label, b.job.Text(f.Key), want)
			}
		}
	}
	b.Go(stepIndex(record.Intake))
	test.Tap(tap(find(t, b, record.Metering), record.MeterFixed))
	if !find(t, b, record.NominalCapacity).Lit() {
		t.Error("a choice does not go on to the number below it")
	}
}

func mustKey(t *testing.T, name string) record.Key {
	t.Helper()
	f, err := record.ByName(name)
	if err != nil {
		t.Fatal(err)
	}
	return f.Key
}

// A row of keys is chosen from by the keyboard.
func TestPickByKeyboard(t *testing.T) {
	b, w := bench(t, record.New("j"))
	b.Go(stepIndex(record.Cause))
	find(t, b, record.OilState).Focus()
	press(t, w, fyne.KeyRight)
	typeIn(t, w, " ")
	if got := b.job.Text(record.OilState); got != "dark" {
		t.Errorf("the record has %q", got)
	}
	typeIn(t, w, " ") // again lets it go
	if got := b.job.Text(record.OilState); got != "" {
		t.Errorf("the record still has %q", got)
	}
	press(t, w, fyne.KeyRight)
	press(t, w, fyne.KeyReturn)
	if got := b.job.Text(record.OilState); got != "burnt" {
		t.Errorf("the record has %q", got)
	}
	// What is being typed elsewhere is entered before a key is touched.
	r := find(t, b, record.OldRCS)
	r.Focus()
	typeIn(t, w, "2.2")
	test.Tap(tap(find(t, b, record.AcidTest), "negative"))
	if b.job.Text(record.OldRCS) != "2.2" || b.job.Text(record.AcidTest) != "negative" {
		t.Errorf("the record has %q and %q", b.job.Text(record.OldRCS), b.job.Text(record.AcidTest))
	}
}

// An instrument chosen in one job is not carried to another, which may lack it.
func TestInstrumentStaysWithItsJob(t *testing.T) {
	b, w := bench(t, filled(t))
	b.keys = false // and it is chosen without the keypad
	b.Go(stepIndex(record.Running))
	r := find(t, b, record.OutdoorTemp)
	var unit *widget.Tap
	for _, k := range visible[*widget.Tap](r) {
		if k.Text == r.Field.Unit {
			unit = k
		}
	}
	test.Tap(unit)
	var items []fyne.Tappable
	walk(w.Canvas().Overlays().Top(), func(o fyne.CanvasObject) {
		if typeName(o) == "*widget.menuItem" {
			items = append(items, o.(fyne.Tappable))
		}
	})
	if len(items) < 3 {
		t.Fatal("the unit's key opens no list")
	}
	test.Tap(items[len(items)-1])
	if b.sitting.Tools[record.OutdoorTemp.Field().Class] != "clamp A" {
		t.Fatalf("chosen: %v", b.sitting.Tools)
	}
	if e, _ := b.job.Entry(record.OutdoorTemp); e.Instrument != "clamp A" {
		t.Errorf("the reading that stood there names %q", e.Instrument)
	}
	b.SetJob(b.keep, record.New("job-2"))
	b.Go(stepIndex(record.Running))
	write(t, b, w, record.OutdoorTemp, "92")
	if e, _ := b.job.Entry(record.OutdoorTemp); e.Value != "92" || e.Instrument != "" {
		t.Errorf("the next job has %q read with %q, an instrument it does not list", e.Value, e.Instrument)
	}
}

// A note is on disk while it is being typed, and entered once when it is left.
func TestNoteIsKeptWhileTyped(t *testing.T) {
	if testing.Short() {
		t.Skip("short: the toolkit's stand-in keeps it on the clock's thread, not its own")
	}
	b, w := bench(t, record.New("job-1"))
	b.Go(stepIndex(record.Cause))
	r := find(t, b, record.RootCause)
	r.Focus()
	typeIn(t, w, "Low charge for years.")
	n := len(b.job.Entries)
	var kept *record.Job
	waitFor(t, "the note on disk", func() bool {
		kept = onDisk(t, b)
		d, ok := kept.Draft(record.RootCause)
		return ok && d.Value == "Low charge for years."
	})
	if len(b.job.Entries) != n {
		t.Error("it was entered before it was left")
	}
	press(t, w, fyne.KeyTab)
	if _, draft := b.job.Draft(record.RootCause); draft || b.job.Text(record.RootCause) != "Low charge for years." || len(b.job.Entries) != n+1 {
		t.Errorf("left: %q, %d entries more", b.job.Text(record.RootCause), len(b.job.Entries)-n)
	}
	// Had the program ended in the middle, what was kept is there and leaving enters it.
	b.SetJob(b.keep, kept)
	b.Go(stepIndex(record.Cause))
	r = find(t, b, record.RootCause)
	if r.Text() != "Low charge for years." || r.Wrong() == "" {
		t.Errorf("opened again: %q, said %q", r.Text(), r.Wrong())
	}
	r.Focus()
	press(t, w, fyne.KeyTab)
	if _, draft := b.job.Draft(record.RootCause); draft || b.job.Text(record.RootCause) != "Low charge for years." {
		t.Errorf("opened again and left: %q", b.job.Text(record.RootCause))
	}
	// Nothing in a note takes the wheel from the page.
	walk(r, func(o fyne.CanvasObject) {
		if _, ok := o.(fyne.Scrollable); ok {
			t.Errorf("%T scrolls", o)
		}
	})
}

// Every step ends in the way on, and names what it lacks with a key that leads there.
func TestStepEndsInWhatItLacksAndTheWayOn(t *testing.T) {
	b, w := bench(t, record.New("j"))
	for _, size := range sizes {
		w.Resize(size)
		for i, s := range record.Steps {
			b.Go(i)
			var next *widget.Tap
			for _, k := range visible[*widget.Tap](b.pane().Side) {
				if strings.HasPrefix(k.Text, "Next step: ") {
					next = k
				}
			}
			if i+1 == len(record.Steps) {
				continue
			}
			if next == nil {
				t.Fatalf("%s %v: no way on", s.Step, size)
			}
			test.Tap(next)
			if b.at != i+1 {
				t.Errorf("%s: the way on leads to %d", s.Step, b.at)
			}
		}
	}
	b.Go(stepIndex(record.Cause))
	foot := body(t, b, "foot")
	for key, label := range map[record.Key]string{record.FailureKind: "What failed", record.OilState: "Oil", record.RootKind: "Root cause to remove"} {
		k := tap(foot, label)
		if k == nil {
			t.Fatalf("%s is not named", label)
		}
		test.Tap(k)
		if !find(t, b, key).Lit() {
			t.Errorf("the key %q does not lead to the field", label)
		}
	}
	b.Enter(record.OilState, "clear", "", "")
	if tap(foot, "Oil") != nil || tap(foot, "Root cause to remove") == nil {
		t.Error("what is entered is still named, or what is lacking is not")
	}
}
