package app

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/reports/record"
)

// Attempts at the window to have "saved" said of what is not; each ends with what a reader
// finds on disk. Their outcomes stand in testdata/attempts/saved.md.

// A signature by a touch, and a job begun like the signed one, on a disk that takes nothing:
// neither hides it, and both are there when it takes something again.
func TestSignedAndBegunOnAFullDisk(t *testing.T) {
	b, _, disk := onShaky(t)
	b.SetPerson("T-31")
	b.Enter(record.OwnerRef, "A-0", "", "")
	b.Enter(record.RatedVoltage, "230", "V", "")
	b.Go(stepIndex(record.HandOver))
	disk.err = errors.New("no room")
	test.Tap(tap(find(t, b, record.SignedBy), "sign as T-31"))
	if text, bad := b.status(); !bad || !strings.HasPrefix(text, "NOT SAVED") {
		t.Errorf("signed, it says %q", text)
	}
	first := b.job.ID
	test.Tap(tap(b.pane().Side, "Begin a new job like this one"))
	second := b.job.ID
	if second == first {
		t.Fatalf("no other job: %v", b.notice)
	}
	if text, bad := b.status(); !bad || !strings.HasPrefix(text, "NOT SAVED") {
		t.Errorf("another begun, it says %q", text)
	}
	b.Enter(record.OwnerRef, "B-0", "", "")
	w := test.NewWindow(nil)
	defer w.Close()
	if b.closing(w); w.Canvas().Overlays().Top() == nil {
		t.Error("it closes without a question")
	}
	if got := textOn(t, reader(t, b.keep.dir), first, record.SignedBy); got != "" {
		t.Fatalf("the test's disk is not full: %q", got)
	}
	disk.err = nil
	test.Tap(b.window.retry)
	if text, bad := b.status(); bad {
		t.Errorf("with room again: %q", text)
	}
	r := reader(t, b.keep.dir)
	if a, o := textOn(t, r, first, record.SignedBy), textOn(t, r, second, record.OwnerRef); a != "T-31" || o != "B-0" {
		t.Errorf("on disk %q and %q", a, o)
	}
	s, err := r.State(second)
	if err != nil || s.Job.Unconfirmed() == 0 {
		t.Errorf("what was taken is not there: %v", err)
	}
}

// A step that leads on says that it is done; on a full disk the bar says first that nothing
// is saved.
func TestLedOnAFullDisk(t *testing.T) {
	if testing.Short() {
		t.Skip("short: a whole job is long")
	}
	b, w, r := lackingLabel(t)
	b.saveErr = nil
	disk := &shaky{jobs: b.keep.jobs, err: errors.New("no room")}
	b.keep.jobs = disk
	r.Focus()
	typeIn(t, w, "104")
	press(t, w, fyne.KeyReturn)
	if b.step().Step == record.Charge {
		t.Fatal("not led on")
	}
	if text, bad := b.status(); !bad || !strings.Contains(text, "NOT SAVED: no room") || strings.Contains(text, "is done") {
		t.Errorf("it says %q", text)
	}
	disk.err = nil
	test.Tap(b.window.retry)
	if got := onDisk(t, b).Text(record.LabelCharge); got != "104" {
		t.Errorf("on disk %q", got)
	}
}

// The key that begins another job, touched twice, or in a window that only reads.
func TestBegunTwiceAndWhereNothingIsWritten(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.SetPerson("T-31")
	b.Enter(record.SignedBy, "T-31", "", "")
	second := reopened(t, b.keep.dir)
	was := second.job.ID
	if second.readOnly == nil {
		t.Fatal("the second window writes")
	}
	second.BeginLike()
	if text, bad := second.status(); second.job.ID != was && second.readOnly == nil || !bad || strings.HasPrefix(text, "Saved") {
		t.Errorf("a window that only reads: job %s, %q", second.job.ID, text)
	}
	b.saving.Now = false
	b.BeginLike()
	b.BeginLike()
	waitFor(t, "the new job", func() bool { return !b.saving.Busy() && b.job.ID != was })
	b.saving.Now = true
	b.Enter(record.OwnerRef, "B-0", "", "")
	list, err := b.keep.jobs.List("", false)
	if err != nil || len(list) != 2 {
		t.Errorf("%d jobs, %v", len(list), err)
	}
}

// The clock that starts with a reading goes with it when that is taken back: else a hold
// would be said to run from a reading that nobody took.
func TestTheHoldsClockIsTakenBackWithItsReading(t *testing.T) {
	b, _ := bench(t, record.New("j"))
	at := noon
	b.now = func() time.Time { return at }
	b.Enter(record.TestP1, "250", "psig", "")
	b.Enter(record.TestT1, "80", "F", "")
	if b.job.Text(record.HoldStarted) == "" {
		t.Fatal("the clock does not run")
	}
	for range 3 {
		if b.job.Text(record.TestT1) == "" {
			break
		}
		b.Back(false)
	}
	if b.job.Text(record.TestT1) != "" || b.job.Text(record.HoldStarted) != "" {
		t.Errorf("taken back: T1 %q, the clock %q", b.job.Text(record.TestT1), b.job.Text(record.HoldStarted))
	}
	if on := onDisk(t, b); on.Text(record.HoldStarted) != "" || on.Text(record.TestT1) != "" {
		t.Errorf("on disk: T1 %q, the clock %q", on.Text(record.TestT1), on.Text(record.HoldStarted))
	}
	b.Back(true)
	if b.job.Text(record.TestT1) == "" {
		b.Back(true)
	}
	b.Enter(record.TestT1, "", "", "") // emptied by hand
	if b.job.Text(record.HoldStarted) != "" {
		t.Errorf("the reading is emptied, and its clock runs from %q", b.job.Text(record.HoldStarted))
	}
}

// A photo on a full disk is not kept and said so, whatever was said of the one before.
func TestPhotoOnAFullDisk(t *testing.T) {
	b, _, disk := onShaky(t)
	b.Enter(record.OwnerRef, "A-0", "", "")
	path := photoFile(t, "plate.jpg", 300, 200)
	b.pickPhoto = func(done func(string)) { done(path) }
	b.Remake(nil)
	b.Go(stepIndex(record.CloseUp))
	test.Tap(tap(b.pane().Side, "Add a photo of this step"))
	disk.err = errors.New("no room")
	test.Tap(tap(b.pane().Side, "Add a photo of this step"))
	if said := shownWords(b.pane().Side); !strings.Contains(said, "Not kept: no room") || strings.Contains(said, "Kept, without") {
		t.Errorf("it says %s", said)
	}
	if len(b.photos) != 1 {
		t.Errorf("%d photos are shown", len(b.photos))
	}
}

// Two windows of one person: what the first set and the second did not is not written over by
// the second's settings of before.
func TestSettingsOfTwoWindows(t *testing.T) {
	path := filepath.Join(t.TempDir(), "settings.json")
	first := opened(t, path)
	second := opened(t, path)
	first.SetString("person", "T-1")
	first.SetString("shared", "/share")
	if err := first.write(); err != nil {
		t.Fatal(err)
	}
	second.SetString("shared", "") // as every window writes all of its own
	second.SetBool("dark", true)
	if err := second.write(); err != nil {
		t.Fatal(err)
	}
	s := opened(t, path)
	if s.String("person") != "T-1" || s.String("shared") != "/share" || !s.Bool("dark") {
		t.Errorf("kept: %v", s.values)
	}
}

// Settings that are damaged while the program runs are not what it wrote: they are set aside
// before they are written over.
func TestSettingsDamagedWhileOpen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "settings.json")
	s := opened(t, path)
	s.SetString("person", "T-1")
	if err := s.write(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte("{half"), 0o600); err != nil {
		t.Fatal(err)
	}
	s.SetBool("dark", true)
	if err := s.write(); err != nil {
		t.Fatal(err)
	}
	if b, err := os.ReadFile(path + ".damaged-1"); string(b) != "{half" {
		t.Errorf("what was damaged is gone: %q %v", b, err)
	}
	if got := opened(t, path); got.String("person") != "T-1" || !got.Bool("dark") {
		t.Errorf("kept: %v", got.values)
	}
}
