package app

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

func wordOf(b *Bench, s record.Step) assess.Progress {
	for _, st := range b.report.Steps {
		if st.Step == s {
			return st.Word
		}
	}
	return ""
}

// lackingLabel is a whole job at its charge, of which only the label's charge lacks.
func lackingLabel(t *testing.T) (*Bench, fyne.Window, *widget.Row) {
	t.Helper()
	h, _ := wholeJob(t, goodJob)
	h.b.Go(stepIndex(record.Charge))
	h.b.Enter(record.LabelCharge, "", "", "")
	if isDone(wordOf(h.b, record.Charge)) {
		t.Fatal("charge is done without the charge on the label")
	}
	return h.b, h.w, find(t, h.b, record.LabelCharge)
}

// Enter in the entry that was the last its step lacked goes on, and says what was done; Tab
// stays, and so does Enter where the step is not done by it, or was before.
func TestTheLastEntryGoesOn(t *testing.T) {
	if testing.Short() {
		t.Skip("short: a whole job is long")
	}
	b, w, r := lackingLabel(t)
	r.Focus()
	typeIn(t, w, "104")
	press(t, w, fyne.KeyTab)
	if !isDone(wordOf(b, record.Charge)) || b.step().Step != record.Charge {
		t.Fatalf("Tab: charge is %s, and the step on show %s", wordOf(b, record.Charge), b.step().Step)
	}
	r.Focus()
	typeIn(t, w, "104.0")
	press(t, w, fyne.KeyReturn) // it was done before
	if b.step().Step != record.Charge {
		t.Fatalf("a correction led to %s", b.step().Step)
	}
	b.Enter(record.LabelCharge, "", "", "")
	r.Focus()
	typeIn(t, w, "90") // another charge than was weighed in
	press(t, w, fyne.KeyReturn)
	if b.step().Step != record.Charge || isDone(wordOf(b, record.Charge)) {
		t.Fatalf("a charge that does not agree is %s and led to %s", wordOf(b, record.Charge), b.step().Step)
	}
	r.Focus()
	typeIn(t, w, "nonsense")
	press(t, w, fyne.KeyReturn)
	if b.step().Step != record.Charge {
		t.Fatalf("what was refused led to %s", b.step().Step)
	}
	b.Enter(record.LabelCharge, "", "", "")
	r.Focus()
	typeIn(t, w, "104")
	press(t, w, fyne.KeyReturn)
	if b.step().Step != record.Running { // its live halves are read
		t.Fatalf("led to %s", b.step().Step)
	}
	if text, _ := b.kept(); !strings.Contains(text, "Charge is done with reservations") {
		t.Errorf("it says %q", text)
	}
}

// Whoever does something before the assessment is there is not led away.
func TestNobodyIsLedAwayFromWhatHeDoes(t *testing.T) {
	if testing.Short() {
		t.Skip("short: a whole job is long")
	}
	b, w, r := lackingLabel(t)
	r.Focus()
	typeIn(t, w, "104")
	press(t, w, fyne.KeyTab)
	b.onward.made = map[record.Step]int{} // the report comes later than the key
	b.WhenDone()
	if b.onward.asked == nil || b.step().Step != record.Charge {
		t.Fatal("it does not wait for the assessment")
	}
	find(t, b, record.ChargedWith).Focus() // a finger elsewhere
	b.onward.made[record.Charge] = b.revision
	b.goOn()
	if b.step().Step != record.Charge || b.onward.asked != nil {
		t.Errorf("led to %s", b.step().Step)
	}
}

// The clock of the hold runs from the readings at its start, from the newest of them, and
// neither once the reading at its end is there nor beside a time that somebody typed.
func TestTheHoldRunsFromItsReadings(t *testing.T) {
	b, _ := bench(t, record.New("j"))
	at := noon
	b.now = func() time.Time { return at }
	enter := func(k record.Key, text, unit string) {
		t.Helper()
		if err := b.Enter(k, text, unit, ""); err != nil {
			t.Fatal(err)
		}
	}
	runs := func(since time.Time) {
		t.Helper()
		want := ""
		if !since.IsZero() {
			want = assess.Stamp(since)
		}
		if got := b.job.Text(record.HoldStarted); got != want {
			t.Errorf("the clock stands at %q, not %q", got, want)
		}
	}
	enter(record.TestP1, "250", "psig")
	runs(time.Time{}) // one of two readings
	enter(record.TestT1, "80", "F")
	runs(noon)
	at = noon.Add(5 * time.Minute)
	enter(record.TestP1, "251", "psig")
	runs(at) // read anew
	since := at
	at = noon.Add(8 * time.Minute)
	enter(record.TestP2, "251", "psig")
	enter(record.TestP1, "250", "psig") // a correction
	runs(since)
	enter(record.TestTime, "30", "min")
	runs(time.Time{})
	enter(record.TestP2, "", "")
	enter(record.TestP1, "252", "psig")
	runs(time.Time{}) // the time was said
}

// A signature is a touch where somebody is named as typing, and not before what was taken
// from another job is compared; a job that is signed leads to the next of its kind.
func TestSignedByATouch(t *testing.T) {
	b, _ := bench(t, record.New("j"))
	b.Enter(record.RatedVoltage, "230", "V", "")
	b.Go(stepIndex(record.HandOver))
	sign := func() *widget.Tap { return tap(find(t, b, record.SignedBy), "sign as T-31") }
	another := func() *widget.Tap { return tap(b.pane().Side, "Begin a new job like this one") }
	if sign() != nil || another() != nil {
		t.Fatal("nobody is typing, and could sign; or another could begin")
	}
	b.SetPerson("T-31")
	if sign() == nil {
		t.Fatal("no key signs")
	}
	if b.job.Text(record.SignedBy) != "" {
		t.Fatal("signed by showing the key")
	}
	test.Tap(sign())
	if e, _ := b.job.Entry(record.SignedBy); e.Value != "T-31" || e.By != "T-31" {
		t.Fatalf("signed %+v", e)
	}
	if sign() != nil {
		t.Error("it can be signed twice")
	}
	was := b.job.ID
	test.Tap(another())
	if b.job.ID == was || b.job.Unconfirmed() == 0 || b.step().Step != record.Intake {
		t.Fatalf("%s, %d unconfirmed, at %s", b.job.ID, b.job.Unconfirmed(), b.step().Step)
	}
	b.Go(stepIndex(record.HandOver))
	if sign() != nil || another() != nil {
		t.Error("a job with values that nobody compared can be signed by a touch")
	}
}
