package app

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"retrostage/app/section"
	"retrostage/app/widget"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
)

// shownWords is everything that is written on an object, for tests.
func shownWords(o fyne.CanvasObject) string {
	var out []string
	walk(o, func(o fyne.CanvasObject) {
		switch o := o.(type) {
		case *widget.Heading:
			out = append(out, o.Text)
		case *widget.Card:
			out = append(out, o.Word)
		case *widget.Words:
			out = append(out, o.Text)
		}
	})
	return strings.Join(out, "\n")
}

func TestMeterReadingsNarrowToWhereToLook(t *testing.T) {
	sound := filled(t)
	for _, e := range sound.Clone().Entries {
		if record.IsMeter(e.Key) { // the readings are this test's own
			if err := sound.Set(record.Entry{Key: e.Key, Time: e.Time}); err != nil {
				t.Fatal(err)
			}
		}
	}
	b, w := bench(t, sound)
	b.Go(stepIndex(record.Wiring))
	found := body(t, b, "check-out")
	if found.Visible() {
		t.Error("the readings' answer stands there before the check-out is open")
	}
	turnTo(t, b, "Check-out")
	made, err := plan.Proved(t.Context(), b.job, nil)
	if err != nil {
		t.Fatal(err)
	}
	tests := made.Checkout.Tests
	rows := allReadings(t, b)
	if len(rows) != len(tests) || len(rows) < 5 || !found.Visible() {
		t.Fatalf("%d entries for %d tests", len(rows), len(tests))
	}
	planned := part(t, b, "wiring plan").Runs

	// As the sound circuit reads, typed as a person does; the first open line by
	// what many meters show.
	first := -1
	for i, q := range tests {
		if q.Meter == "volts" && q.Expect > 100 && first < 0 {
			first = i
		}
	}
	if first < 0 {
		t.Fatal("no live reading in the list")
	}
	rows[first].Focus()
	if !b.window.padOn || b.active != rows[first] {
		t.Error("the keypad does not come up with a reading")
	}
	typeIn(t, w, "0.2")
	press(t, w, fyne.KeyTab)
	q := tests[first]
	if e, _ := b.job.Entry(plan.TestKey(q)); e.Value != "0.2" || e.Unit != "V" {
		t.Fatalf("the record holds %+v", e)
	}
	if b.active != rows[first+1] {
		t.Error("Tab did not go to the next reading")
	}
	if part(t, b, "wiring plan").Runs != planned {
		t.Error("a reading made the plan anew")
	}
	if !strings.Contains(rows[first].Wrong(), "Not as predicted") {
		t.Errorf("beside it stands %q", rows[first].Wrong())
	}
	if text := shownWords(found); !strings.Contains(text, "further readings narrow it down") || strings.Contains(text, "Look here") || !strings.Contains(text, "1 of 1 readings are not as predicted") {
		t.Errorf("found: %s", text)
	}

	// What is no number is kept and is not a reading.
	rows[first].Focus()
	typeIn(t, w, "none")
	press(t, w, fyne.KeyTab)
	if d, ok := b.job.Draft(plan.TestKey(q)); !ok || d.Value != "none" || !strings.Contains(rows[first].Wrong(), "none") {
		t.Errorf("draft %+v, said %q", d, rows[first].Wrong())
	}
	// On disk, and there when it is opened again.
	j := onDisk(t, b)
	if e, _ := j.Entry(plan.TestKey(q)); e.Value != "0.2" {
		t.Errorf("on disk: %+v", e)
	}
	if d, ok := j.Draft(plan.TestKey(q)); !ok || d.Value != "none" {
		t.Errorf("on disk: draft %+v", d)
	}

	// Everything as one broken conductor reads, one that a dead reading lies along: it
	// is named.
	c, err := netlist.Compile(made.New)
	if err != nil {
		t.Fatal(err)
	}
	var broken planner.FaultResult
	var s *netlist.Solver
	for _, f := range made.Faults {
		if f.Kind != "open" || f.Harmless {
			continue
		}
		if s, err = c.Solver(f.Fault); err != nil {
			t.Fatal(err)
		}
		if slices.ContainsFunc(tests, func(q planner.Test) bool {
			v, err := s.Ohms(c.Rest(), q.A, q.B)
			return err == nil && q.Meter == "ohms" && q.State == "no call" && !q.Open && v > 1e6
		}) {
			broken = f
			break
		}
	}
	if broken.ID == "" {
		t.Fatal("no broken conductor shows in a dead reading")
	}
	for i, q := range tests {
		v, err := s.Ohms(c.Rest(), q.A, q.B)
		if q.Meter != "ohms" || q.State != "no call" || err != nil { // as it stands, every switch in place
			continue
		}
		text := meterWord(v)
		if v > 2e6 {
			text = "OL"
		}
		rows[i].Focus()
		typeIn(t, w, text)
		press(t, w, fyne.KeyTab)
	}
	rows[first].Focus()
	rows[first].Wipe()
	rows[first].Commit()
	if text := shownWords(found); !strings.Contains(text, "Look here") || !strings.Contains(text, section.Sentence(broken.Words)) {
		t.Errorf("%s: found: %s", broken.Words, text)
	}

	// All as predicted.
	for i, q := range tests {
		text := "open"
		if !q.Open {
			text = meterWord(q.Expect)
		}
		if q.Open && i%2 == 0 {
			text = "OL"
		}
		rows[i].Focus()
		typeIn(t, w, text)
		press(t, w, fyne.KeyTab)
		if rows[i].Wrong() != "" {
			t.Errorf("%s: %q reads %q", q.Words, rows[i].Wrong(), b.job.Text(plan.TestKey(q)))
		}
	}
	if text := shownWords(found); !strings.Contains(text, "are as predicted") || strings.Contains(text, "Look here") {
		t.Errorf("found: %s", text)
	}
	// Another tab in the middle of a reading, and back.
	rows[first].Focus()
	typeIn(t, w, "199")
	turnTo(t, b, "Proof")
	if e, _ := b.job.Entry(plan.TestKey(q)); e.Value != "199" || b.window.padOn {
		t.Errorf("the reading being typed is %q, the keypad there: %v", e.Value, b.window.padOn)
	}
	if err := b.Enter(plan.TestKey(q), meterWord(q.Expect), "V", ""); err != nil {
		t.Fatal(err)
	}
	if found.Visible() {
		t.Error("the answer stays with another tab")
	}
	turnTo(t, b, "Check-out")
	if text := shownWords(found); !strings.Contains(text, "are as predicted") {
		t.Errorf("found after coming back: %s", text)
	}
}

// meterWord is a number as a meter shows it.
func meterWord(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

// After a reading the one that tells most is offered, and a key leads to it.
func TestNextReadingIsTheOneThatTellsMost(t *testing.T) {
	b, w := bench(t, filled(t))
	b.Go(stepIndex(record.Wiring))
	turnTo(t, b, "Check-out")
	made, err := plan.Proved(t.Context(), b.job, nil)
	if err != nil {
		t.Fatal(err)
	}
	tests, rows, found := made.Checkout.Tests, allReadings(t, b), body(t, b, "check-out")
	differs := 0
	for i, q := range tests {
		for _, r := range plan.Readings(b.job, made.Checkout) {
			rows[r.N-1].Focus()
			rows[r.N-1].Wipe() // as the key does; the keypad steps aside for a keyboard
		}
		rows[i].Focus()
		typeIn(t, w, "7")
		press(t, w, fyne.KeyTab)
		readings := map[int]float64{q.N: 7}
		want, err := planner.Next(t.Context(), made.Result, readings)
		if err != nil {
			t.Fatal(err)
		}
		var key *widget.Tap
		walk(found, func(o fyne.CanvasObject) {
			if k, ok := o.(*widget.Tap); ok {
				key = k
			}
		})
		if want.Test == 0 {
			if key != nil {
				t.Errorf("%q is offered where no reading is wanted", key.Text)
			}
			continue
		}
		if key == nil {
			t.Fatalf("no key to reading %d: %s", want.Test, shownWords(found))
		}
		if want.Test != i+2 {
			differs++
		}
		key.Tapped(nil)
		if b.active == nil || !strings.HasPrefix(b.active.Field.Label, strconv.Itoa(want.Test)+" ") {
			t.Errorf("the key leads to %v, not to reading %d", b.active, want.Test)
		}
	}
	if differs == 0 {
		t.Error("the list's next is the best one after every reading: this proves nothing")
	}
}

// The list shows what is to be taken; what only narrows down comes once a reading is out.
// Enter goes down what is shown and leaps over none.
func TestTheListShowsWhatIsToBeTaken(t *testing.T) {
	j := filled(t)
	for _, e := range j.Clone().Entries {
		if record.IsMeter(e.Key) {
			if err := j.Set(record.Entry{Key: e.Key, Time: e.Time}); err != nil {
				t.Fatal(err)
			}
		}
	}
	b, w := bench(t, j)
	b.Go(stepIndex(record.Wiring))
	turnTo(t, b, "Check-out")
	made, err := plan.Proved(t.Context(), b.job, nil)
	if err != nil {
		t.Fatal(err)
	}
	tests, find := made.Checkout.Tests, made.Checkout.Find
	rows := visible[*widget.Row](body(t, b, "wiring plan"))
	if len(rows) != find || find == len(tests) {
		t.Fatalf("%d rows, %d readings find, of %d", len(rows), find, len(tests))
	}
	rows[0].Focus()
	for i, r := range rows {
		if !r.Lit() {
			break // the live list is not led to
		}
		n, _, _ := strings.Cut(r.Field.Label, " ")
		k, _ := strconv.Atoi(n)
		typeIn(t, w, meterWord(tests[k-1].Expect))
		press(t, w, fyne.KeyReturn)
		if i+1 < len(rows) && !rows[i+1].Lit() && tests[k-1].List == planner.Dead && w.Canvas().Focused() != nil {
			t.Errorf("Enter at %s leaps over %s", r.Field.Label, rows[i+1].Field.Label)
		}
		if b.job.Text(plan.TestKey(tests[k-1])) == "" {
			t.Errorf("%s was not entered", r.Field.Label)
		}
	}
	if n := len(visible[*widget.Row](body(t, b, "wiring plan"))); n != find {
		t.Errorf("all as predicted, and %d rows stand there of %d", n, find)
	}
	rows[0].Focus()
	rows[0].Wipe()
	typeIn(t, w, "55555")
	press(t, w, fyne.KeyReturn)
	if n := len(visible[*widget.Row](body(t, b, "wiring plan"))); n != len(tests) {
		t.Errorf("one is out, and %d rows of %d stand there", n, len(tests))
	}
}
