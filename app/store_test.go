package app

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/archive"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/reports/store"
)

// shaky is a store on a disk that fails or is slow.
type shaky struct {
	jobs
	err  error
	gate chan struct{} // what is written waits for it, where there is one
}

func (s *shaky) wait() {
	if s.gate != nil {
		<-s.gate
	}
}

func (s *shaky) Save(j *record.Job, who string) error {
	if s.wait(); s.err != nil {
		return s.err
	}
	return s.jobs.Save(j, who)
}

func (s *shaky) Attach(job, who, name, of string, in io.Reader) (store.Attachment, error) {
	if s.wait(); s.err != nil {
		return store.Attachment{}, s.err
	}
	return s.jobs.Attach(job, who, name, of, in)
}

func (s *shaky) Back(job, who string, again bool) (store.Act, error) {
	if s.wait(); s.err != nil {
		return store.Act{}, s.err
	}
	return s.jobs.Back(job, who, again)
}

// onShaky is a bench whose store can be made to fail.
func onShaky(t *testing.T) (*Bench, fyne.Window, *shaky) {
	t.Helper()
	b, w := bench(t, record.New("job-a"))
	s := &shaky{jobs: b.keep.jobs}
	b.keep.jobs = s
	return b, w, s
}

func settle(t *testing.T, b *Bench) {
	t.Helper()
	waitFor(t, "what was asked of the store", func() bool { return !b.saving.Busy() })
}

func textOn(t *testing.T, l *store.Local, job string, key record.Key) string {
	t.Helper()
	s, err := l.State(job)
	if err != nil {
		t.Fatal(err)
	}
	return s.Job.Text(key)
}

func aLog() record.Series {
	return record.Series{Name: "start up", Start: noon, Seconds: []float64{0, 60}, Columns: []record.SeriesColumn{{Key: record.SuctionTemp, Unit: "F", Values: []float64{57, 58}}}}
}

// drawnAnew is the unit of the job with a conductor of another colour.
func drawnAnew(t *testing.T, j *record.Job) []byte {
	t.Helper()
	u, err := plan.Drawn(j)
	if err != nil {
		t.Fatal(err)
	}
	u.Conductors[0].Colour = "orange"
	return u.JSON()
}

// sameJSON leaves the spaces out of account.
func sameJSON(a, b []byte) bool {
	var x, y bytes.Buffer
	return json.Compact(&x, a) == nil && json.Compact(&y, b) == nil && x.String() == y.String()
}

// Case 1: nothing is called saved that cannot be read again.
func TestSavedCanBeRead(t *testing.T) {
	b, _ := bench(t, filled(t))
	if err := b.Enter(record.OutdoorTemp, "52.5", "F", "T2"); err == nil || !strings.Contains(err.Error(), "no instrument T2") {
		t.Errorf("a reading of an instrument that is not listed: %v", err)
	}
	if _, bad := b.status(); bad {
		t.Error("the refused reading stopped the saving")
	}
	again := reopened(t, b.keep.dir)
	if d, _ := again.job.Draft(record.OutdoorTemp); again.job.ID != b.job.ID || d.Value != "52.5" {
		t.Errorf("opened %s, draft %+v", again.job.ID, d)
	}
	// Past the field, whatever the reason: the store does not take it, and says so.
	b.Change(func(j *record.Job) {
		j.Set(record.Entry{Key: record.OutdoorTemp, Value: "52.5", Unit: "F", Instrument: "T2", Time: noon})
	})
	if text, bad := b.status(); !bad || !strings.Contains(text, "NOT SAVED") || !strings.Contains(text, "T2") {
		t.Errorf("status %q", text)
	}
	if again := reopened(t, b.keep.dir); again.job.ID != b.job.ID || again.job.Text(record.OutdoorTemp) != "92" {
		t.Errorf("opened %s at %s", again.job.ID, again.job.Text(record.OutdoorTemp))
	}
	// So with a job in a file of its own.
	path := filepath.Join(t.TempDir(), "x.job.json")
	if err := archive.WriteJob(path, b.job); err == nil {
		t.Error("a file was written that cannot be read")
	}
}

// Case 2: what would make the job larger than can be read is not called saved.
func TestTooLargeIsNotSaved(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Change(func(j *record.Job) {
		for i := range 900 {
			j.Set(record.Entry{Key: record.IntakeNote, Value: fmt.Sprint(i) + strings.Repeat("x", record.MaxText-10), Time: noon})
		}
	})
	if text, bad := b.status(); !bad || !strings.Contains(text, "the job is full") {
		t.Errorf("status %q", text)
	}
	if again := reopened(t, b.keep.dir); again.job.ID != b.job.ID || len(again.job.Entries) < 40 || again.job.Text(record.IntakeNote) != "" {
		t.Errorf("opened %s with %d entries", again.job.ID, len(again.job.Entries))
	}
	if err := archive.WriteJob(filepath.Join(t.TempDir(), "x.job.json"), b.job); err == nil {
		t.Error("a file was written that is too large to be read")
	}
}

// Case 3: a save that fails is shown, what was typed stays through another job and
// back, the window asks before it closes, and all is kept once that can be.
func TestFailedSaveKeepsWhatWasTyped(t *testing.T) {
	b, _, disk := onShaky(t)
	b.Enter(record.OwnerRef, "A-0", "", "")
	disk.err = errors.New("no room")
	b.Enter(record.OwnerRef, "A-1", "", "")
	if text, bad := b.status(); !bad || !strings.HasPrefix(text, "NOT SAVED: no room") {
		t.Fatalf("status %q", text)
	}
	l := b.newJobList(func() {})
	l.open(b.keep.begin)
	if b.job.ID == "job-a" || b.job.Text(record.OwnerRef) != "" {
		t.Fatalf("begun: %s, %q", b.job.ID, b.job.Text(record.OwnerRef))
	}
	if _, bad := b.status(); !bad {
		t.Error("nothing is said of the job that is not saved")
	}
	other := b.job.ID
	b.Enter(record.OwnerRef, "B-1", "", "")
	l = b.newJobList(func() {})
	l.open(func() (opening, error) { return b.keep.load("job-a") })
	if got := b.job.Text(record.OwnerRef); got != "A-1" {
		t.Errorf("chosen again it shows %q", got)
	}
	if text, bad := b.status(); !bad {
		t.Errorf("it says %q", text)
	}
	w := test.NewWindow(nil)
	b.closing(w)
	if w.Canvas().Overlays().Top() == nil {
		t.Error("it closed without a question")
	}
	disk.err = nil
	test.Tap(b.window.retry)
	if text, bad := b.status(); bad {
		t.Errorf("with room again: %q", text)
	}
	r := reader(t, b.keep.dir)
	if a, o := textOn(t, r, "job-a", record.OwnerRef), textOn(t, r, other, record.OwnerRef); a != "A-1" || o != "B-1" {
		t.Errorf("on disk %q and %q", a, o)
	}
}

// Case 3: a slow save is not replaced by that of the next job.
func TestSlowSaveThenAnotherJob(t *testing.T) {
	b, _, disk := onShaky(t)
	disk.gate = make(chan struct{})
	b.saving.Now = false
	b.Enter(record.OwnerRef, "A-1", "", "")
	b.Enter(record.OldUnitSerial, "S-1", "", "")
	b.put(opening{keep: b.keep, job: record.New("job-b")})
	b.Enter(record.OwnerRef, "B-1", "", "")
	if text, _ := b.status(); text != "Saving" {
		t.Errorf("status %q", text)
	}
	close(disk.gate)
	settle(t, b)
	r := reader(t, b.keep.dir)
	if a, s, o := textOn(t, r, "job-a", record.OwnerRef), textOn(t, r, "job-a", record.OldUnitSerial), textOn(t, r, "job-b", record.OwnerRef); a != "A-1" || s != "S-1" || o != "B-1" {
		t.Errorf("on disk %q, %q and %q", a, s, o)
	}
}

// Case 4: a second window reads, says who writes, refuses at the field, and takes over
// when the first has ended, with everything that was entered there.
func TestSecondWindowReads(t *testing.T) {
	a, _ := bench(t, filled(t))
	b := reopened(t, a.keep.dir)
	w := test.NewWindow(b.window)
	defer w.Close()
	w.Resize(sizes[0])
	b.canvas = w.Canvas
	if text, bad := b.status(); !bad || !strings.Contains(text, "READ ONLY") || !strings.Contains(text, fmt.Sprint("process ", os.Getpid())) {
		t.Errorf("the second says %q", text)
	}
	b.Go(stepIndex(record.Running))
	r := write(t, b, w, record.SuctionPressure, "105")
	if !strings.Contains(r.Wrong(), "only reads") || r.Text() != "105" {
		t.Errorf("beside %q stands %q", r.Text(), r.Wrong())
	}
	b.Change(func(j *record.Job) { j.Unit = nil; j.Series = nil; j.Demo = false })
	if !b.job.Demo {
		t.Error("it was changed")
	}
	a.Enter(record.SuctionPressure, "117", "psig", "")
	if _, bad := a.status(); bad {
		t.Error("the first is not saved")
	}
	if err := a.keep.jobs.Close(); err != nil {
		t.Fatal(err)
	}
	test.Tap(b.window.retry)
	if text, bad := b.status(); bad {
		t.Errorf("after the first has ended: %q", text)
	}
	if got := b.job.Text(record.SuctionPressure); got != "117" {
		t.Errorf("it shows %q", got)
	}
	b.Enter(record.SuctionTemp, "58", "F", "")
	if j := onDisk(t, b); j.Text(record.SuctionPressure) != "117" || j.Text(record.SuctionTemp) != "58" {
		t.Errorf("on disk %q and %q", j.Text(record.SuctionPressure), j.Text(record.SuctionTemp))
	}
}

// Case 4: two first starts name two customers differently.
func TestTwoFirstStarts(t *testing.T) {
	a, b := reopened(t, t.TempDir()), reopened(t, t.TempDir())
	if a.job.ID == b.job.ID {
		t.Errorf("both are %s", a.job.ID)
	}
}

// Case 4: two windows on one file: the second to write is told and writes nothing.
func TestTwoWindowsOnOneFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.job.json")
	if err := archive.WriteJob(path, filled(t)); err != nil {
		t.Fatal(err)
	}
	on := func() *Bench {
		o, err := open(path, "", "")
		if err != nil {
			t.Fatal(err)
		}
		return benchOn(o, true)
	}
	app := test.NewApp()
	defer app.Quit()
	app.Settings().SetTheme(theme.Theme{Palette: theme.Light})
	a, b := on(), on()
	a.Enter(record.OwnerRef, "A-1", "", "")
	b.Enter(record.OldUnitSerial, "S-9", "", "")
	if text, bad := b.status(); !bad || !strings.Contains(text, "changed elsewhere") {
		t.Errorf("the second says %q", text)
	}
	a.Enter(record.OldUnitSerial, "S-8", "", "")
	if _, bad := a.status(); bad {
		t.Error("the first is not saved")
	}
	j, err := archive.ReadJob(path)
	if err != nil || j.Text(record.OwnerRef) != "A-1" || j.Text(record.OldUnitSerial) != "S-8" {
		t.Errorf("on disk %v, %v", j, err)
	}
}

// Case 8: the job worked on last is the one opened, whatever the clocks said.
func TestLastByEventsNotByClock(t *testing.T) {
	b, _ := bench(t, record.New("job-a"))
	b.now = func() time.Time { return noon.AddDate(1, 0, 0) }
	b.Enter(record.OwnerRef, "A-1", "", "")
	b.SetJob(b.keep, record.New("job-b"))
	b.now = func() time.Time { return noon.AddDate(-30, 0, 0) }
	b.Enter(record.OwnerRef, "B-1", "", "")
	if again := reopened(t, b.keep.dir); again.job.ID != "job-b" {
		t.Errorf("opened %s", again.job.ID)
	}
	l := b.newJobList(func() {})
	if cards := visible[*widget.Card](l.rows); len(cards) != 2 || !strings.HasPrefix(cards[0].Title, "B-1") {
		t.Errorf("%d jobs listed", len(cards))
	}
}

// Case 9: undo of an entry, a draft, a log and the unit outlasts the sitting, tells
// what it took back, and leads to the field.
func TestUndoOutlastsTheSitting(t *testing.T) {
	b, _ := bench(t, filled(t))
	was := b.job.Clone()
	b.Enter(record.SuctionPressure, "105", "psig", "")
	b.Change(func(j *record.Job) { j.AddLog(aLog()) })
	b.Enter(record.LiquidTemp, "12x", "F", "")
	b.Change(func(j *record.Job) { j.Unit = drawnAnew(t, j) })
	full := b.job.Clone()
	for again := range 2 {
		if err := b.keep.jobs.Close(); err != nil {
			t.Fatal(err)
		}
		b = reopened(t, b.keep.dir)
		for i, want := range []string{"a change of the unit", "12x F, typed and not entered", "log ", "suction pressure 105 psig"} {
			if b.Back(false); again == 0 {
				if text, bad := b.status(); bad || !strings.Contains(text, "Taken back: ") || !strings.Contains(text, want) {
					t.Errorf("undo %d says %q, not %q", i, text, want)
				}
			}
		}
		if b.step().Step != record.Running {
			t.Errorf("at step %s", b.step().Step)
		}
		if b.job.Unit != nil || len(b.job.Series) != 0 || len(b.job.Drafts) != 0 || b.job.Text(record.SuctionPressure) != was.Text(record.SuctionPressure) {
			t.Fatalf("taken back: %s, %d logs, %+v", b.job.Text(record.SuctionPressure), len(b.job.Series), b.job.Drafts)
		}
		if err := b.keep.jobs.Close(); err != nil {
			t.Fatal(err)
		}
		b = reopened(t, b.keep.dir)
		for range 4 {
			b.Back(true)
		}
		if text, _ := b.status(); !strings.Contains(text, "Done again: a change of the unit") {
			t.Errorf("redo says %q", text)
		}
		if !sameJSON(b.job.Unit, full.Unit) || len(b.job.Series) != 1 || !slices.Equal(b.job.Drafts, full.Drafts) || b.job.Text(record.SuctionPressure) != "105" {
			t.Error("done again it is not what it was")
		}
		b.Back(true)
		if text, bad := b.status(); bad || text != "There is nothing to do again." {
			t.Errorf("once more: %q", text)
		}
	}
}

// What is entered while an undo is on its way is entered after it, and the undo holds.
func TestEnteredWhileAnUndoIsOnItsWay(t *testing.T) {
	for _, fails := range []bool{false, true} {
		b, _, disk := onShaky(t)
		b.Enter(record.OwnerRef, "A-1", "", "")
		b.Enter(record.OwnerRef, "A-2", "", "")
		disk.gate = make(chan struct{})
		b.saving.Now = false
		b.Back(false)
		b.Enter(record.OldUnitSerial, "S-1", "", "")
		if fails {
			disk.err = errors.New("no room")
		}
		close(disk.gate)
		settle(t, b)
		want := "A-1"
		if fails {
			want = "A-2"
			if text, bad := b.status(); !bad {
				t.Errorf("status %q", text)
			}
			disk.err = nil
			b.again()
			settle(t, b)
		}
		for _, j := range []*record.Job{b.job, onDisk(t, b)} {
			if j.Text(record.OwnerRef) != want || j.Text(record.OldUnitSerial) != "S-1" {
				t.Errorf("%q and %q", j.Text(record.OwnerRef), j.Text(record.OldUnitSerial))
			}
		}
	}
}

// The list finds a job by its owner, serial, date and state, puts one away with a
// reason, and has it back.
func TestJobsAreFoundAndPutAway(t *testing.T) {
	b, _ := bench(t, filled(t))
	for i := range 3 {
		j := record.New(fmt.Sprint("job-", i))
		b.SetJob(b.keep, j)
		b.Enter(record.OwnerRef, fmt.Sprint("R-", 100+i), "", "")
		b.Enter(record.OldUnitSerial, fmt.Sprint("S-", 900+i), "", "")
	}
	l := b.newJobList(func() {})
	for search, want := range map[string]int{"": 4, "r-101": 1, "s-902 open": 1, "2026-08": 1, "no such": 0, "signed": 0} {
		l.search.SetText(search)
		if got := len(visible[*widget.Card](l.rows)); got != want {
			t.Errorf("%q finds %d jobs, not %d", search, got, want)
		}
	}
	l.search.SetText("r-100")
	test.Tap(visible[*widget.Card](l.rows)[0])
	if b.job.ID != "job-0" {
		t.Fatalf("%s was opened", b.job.ID)
	}
	away := func(reason string) *jobList {
		l := b.newJobList(func() {})
		for _, e := range visible[*toolkit.Entry](l.page) {
			if strings.HasPrefix(e.PlaceHolder, "why") {
				e.SetText(reason)
			}
		}
		test.Tap(tap(l.page, "Put the job on the bench away"))
		return l
	}
	if l := away(" "); b.archived != "" || !strings.Contains(shownWords(l.page), "Say why") {
		t.Error("put away without a reason")
	}
	away("never came about")
	if !strings.HasPrefix(b.title(), "PUT AWAY (never came about)") {
		t.Errorf("title %q", b.title())
	}
	l = b.newJobList(func() {})
	if n := len(visible[*widget.Card](l.rows)); n != 3 {
		t.Errorf("%d jobs listed", n)
	}
	test.Tap(l.all)
	if n := len(visible[*widget.Card](l.rows)); n != 4 {
		t.Errorf("%d jobs listed with those put away", n)
	}
	b.Back(false)
	if b.archived != "" {
		t.Error("undo does not bring it back")
	}
	b.Back(true)
	l = b.newJobList(func() {})
	test.Tap(tap(l.page, "Bring the job on the bench back"))
	if b.archived != "" || strings.Contains(b.title(), "PUT AWAY") {
		t.Error("it is not brought back")
	}
}

// What is due at another visit shows in the list, and is overdue the day after.
func TestDueInTheList(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.HandOver))
	b.Enter(record.FollowUp, "Take the suction filter out", "", "")
	b.Enter(record.FollowUpDue, time.Now().AddDate(0, 0, -3).Format(time.DateOnly), "", "")
	c := visible[*widget.Card](b.newJobList(func() {}).rows)[0]
	if c.Word != "overdue" || !strings.Contains(c.Why, "Take the suction filter out") {
		t.Errorf("%q: %q", c.Word, c.Why)
	}
	b.Enter(record.FollowUpDue, "", "", "")
	if c := visible[*widget.Card](b.newJobList(func() {}).rows)[0]; c.Word != "open" {
		t.Errorf("done it is %q", c.Word)
	}
}

// The first start takes over the files that are there, says so, and leaves them.
func TestFirstStartTakesOverFiles(t *testing.T) {
	app := test.NewApp()
	defer app.Quit()
	app.Settings().SetTheme(theme.Theme{Palette: theme.Light})
	dir := t.TempDir()
	for i := range 3 {
		j := filled(t)
		j.ID = fmt.Sprint("job-", i)
		if err := archive.WriteJob(filepath.Join(dir, j.ID+".job.json"), j); err != nil {
			t.Fatal(err)
		}
	}
	before, _ := os.ReadFile(filepath.Join(dir, "job-1.job.json"))
	b := reopened(t, dir)
	if text, bad := b.status(); bad || !strings.Contains(text, "3 files of earlier jobs taken over") {
		t.Errorf("it says %q", text)
	}
	if n := len(visible[*widget.Card](b.newJobList(func() {}).rows)); n != 3 {
		t.Errorf("%d jobs", n)
	}
	after, _ := os.ReadFile(filepath.Join(dir, "job-1.job.json"))
	if string(before) != string(after) {
		t.Error("a file was changed")
	}
	b.keep.jobs.Close()
	if text, _ := reopened(t, dir).status(); strings.Contains(text, "taken over") {
		t.Errorf("the second start says %q", text)
	}
}

// Two tablets exchange through a folder at the window: what was typed apart is told at
// the field and at the top, and settled by saying which stands.
func TestExchangeAtTheWindow(t *testing.T) {
	shared := t.TempDir()
	a, w := bench(t, filled(t))
	a.person = "T-17"
	exchange := func(b *Bench) {
		t.Helper()
		l := b.newJobList(func() {})
		for _, e := range visible[*toolkit.Entry](l.page) {
			if strings.HasPrefix(e.PlaceHolder, "folder shared") {
				e.SetText(shared)
			}
		}
		test.Tap(tap(l.page, "Exchange with it"))
		if text, _ := b.status(); !strings.Contains(text, "Exchanged: ") && !strings.Contains(text, "Typed apart") {
			t.Fatalf("it says %q, %q", text, l.said.Text)
		}
	}
	exchange(a)
	b := reopened(t, t.TempDir())
	b.person = "T-40"
	exchange(b)
	l := b.newJobList(func() {})
	test.Tap(visible[*widget.Card](l.rows)[0])
	if b.job.ID != a.job.ID || b.job.Text(record.OwnerRef) != "R-2041" {
		t.Fatalf("the other tablet has %s", b.job.ID)
	}
	a.Enter(record.SuctionTemp, "61", "F", "")
	b.Enter(record.SuctionTemp, "66", "F", "")
	exchange(a)
	exchange(b)
	exchange(a)
	if text, bad := a.status(); !bad || !strings.Contains(text, "Typed apart on two tablets, to be decided: suction line temperature") {
		t.Errorf("it says %q", text)
	}
	a.Go(stepIndex(record.Running))
	if r := find(t, a, record.SuctionTemp); !strings.Contains(r.Wrong(), "Typed apart") || !strings.Contains(r.Wrong(), "61 F") || !strings.Contains(r.Wrong(), "66 F") {
		t.Errorf("beside the field stands %q", r.Wrong())
	}
	a.Past(record.SuctionTemp)
	stands := tap(w.Canvas().Overlays().Top(), "This one stands: 61 °F")
	if stands == nil {
		t.Fatal("no key says which stands")
	}
	test.Tap(stands)
	if r := find(t, a, record.SuctionTemp); strings.Contains(r.Wrong(), "apart") || r.Text() != "61" {
		t.Errorf("decided: %q, %q", r.Text(), r.Wrong())
	}
	exchange(a)
	exchange(b)
	if len(b.apart) != 0 || b.job.Text(record.SuctionTemp) != "61" {
		t.Errorf("the other tablet has %s, open %v", b.job.Text(record.SuctionTemp), b.apart)
	}
}

// Who is new finds last month's job by the key that says so, in ten seconds as handTime
// reckons: Jobs, the key of the month, the job. Reading the list is not in it. By a short
// reference, typed, it takes 10.4.
func TestLastMonthsJob(t *testing.T) {
	b, _ := bench(t, record.New("job-now"))
	today := time.Now()
	noon := time.Date(today.Year(), today.Month(), 15, 12, 0, 0, 0, time.Local) // the bench was begun today
	for i, at := range []time.Time{noon, noon.AddDate(0, -1, 0), noon.AddDate(0, -1, -3), noon.AddDate(0, -3, 0), noon.AddDate(-1, 0, 0), noon.AddDate(-1, -1, 0)} {
		j := record.New(fmt.Sprint("job-", i))
		if err := j.Set(record.Entry{Key: record.OwnerRef, Value: fmt.Sprint("R-", i), Time: at}); err != nil {
			t.Fatal(err)
		}
		if err := b.keep.jobs.Save(j, ""); err != nil {
			t.Fatal(err)
		}
	}
	l := b.newJobList(func() {})
	if n := len(visible[*widget.Card](l.rows)); n != 7 {
		t.Fatalf("%d jobs", n)
	}
	if l.months.Options[0] != "this month (2)" || len(l.months.Options) != 4 {
		t.Errorf("%q", l.months.Options)
	}
	h := hand{touches: 1} // Jobs
	touch := func(want string) {
		t.Helper()
		for _, k := range visible[*widget.Tap](l.months) {
			if strings.HasPrefix(k.Text, want) {
				h.touches++
				test.Tap(k)
				return
			}
		}
		t.Fatalf("no key %s in %q", want, l.months.Options)
	}
	last := noon.AddDate(0, -1, 0)
	touch("last month, " + last.Format("January"))
	cards := visible[*widget.Card](l.rows)
	if len(cards) != 2 || cards[0].Title != "R-1" && cards[1].Title != "R-1" {
		t.Fatalf("%d jobs", len(cards))
	}
	for _, c := range cards {
		if !strings.Contains(c.Why, "begun "+last.Format(monthForm)) {
			t.Errorf("it says %s", c.Why)
		}
	}
	l.search.SetText("R-2")
	if n := len(visible[*widget.Card](l.rows)); n != 1 {
		t.Errorf("%d jobs", n)
	}
	l.search.SetText(noon.AddDate(-1, -1, 0).Format(monthForm)) // a month without a key
	if n := len(visible[*widget.Card](l.rows)); n != 1 {
		t.Errorf("%d jobs", n)
	}
	h = hand{touches: 1}
	l = b.newJobList(func() {})
	touch("last month")
	for _, c := range visible[*widget.Card](l.rows) {
		if c.Title == "R-1" {
			h.touches++
			c.Do()
			break
		}
	}
	if took := h.handTime(); b.job.ID != "job-1" || took > 10*time.Second {
		t.Errorf("%s is on the bench after %v", b.job.ID, took)
	} else {
		t.Logf("found in %v by %d touches", took, h.touches)
	}
}
