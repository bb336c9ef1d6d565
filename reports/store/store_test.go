package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"retrostage/reports/record"
)

var at = time.Date(2026, 8, 14, 10, 0, 0, 0, time.UTC)

func opened(t testing.TB, dir string) *Local {
	t.Helper()
	l, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// same tells how two jobs differ. Drafts have no order.
func same(a, b *record.Job) string {
	byKey := cmpopts.SortSlices(func(a, b record.Draft) bool { return a.Key.String() < b.Key.String() })
	return cmp.Diff(a, b, cmpopts.IgnoreUnexported(record.Job{}), cmpopts.EquateEmpty(), byKey, cmp.Comparer(func(a, b record.Key) bool { return a == b }))
}

var keys = []record.Key{record.OwnerRef, record.SuctionPressure, record.SuctionTemp, record.SignedBy, record.PlanKey("float"), record.AckDead}

// edit does to a job one of the things that the workbench does.
func edit(t *rapid.T, j *record.Job, n int) {
	now := at.Add(time.Duration(n) * time.Second)
	switch rapid.IntRange(0, 9).Draw(t, "what") {
	case 0:
		id := rapid.SampledFrom([]string{"T1", "T2", "T3"}).Draw(t, "id")
		if _, ok := j.Instrument(id); !ok {
			j.Instruments = append(slices.Clone(j.Instruments), record.Instrument{ID: id})
		}
	case 1:
		j.Step = rapid.SampledFrom(record.Steps).Draw(t, "step").Step
	case 2:
		j.AddLog(record.Series{Name: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "name"), Start: now, Seconds: []float64{0, 1},
			Columns: []record.SeriesColumn{{Key: record.SuctionTemp, Unit: record.SuctionTemp.Field().Unit, Values: []float64{50, float64(50 + n)}}}})
	case 3:
		if len(j.Series) > 0 {
			j.DropLog(j.Series[0].Name)
		}
	case 4:
		if len(j.Drafts) > 0 {
			must0(j.TakeDraft(record.Draft{Key: j.Drafts[0].Key}))
		}
	default:
		e := record.Entry{Key: rapid.SampledFrom(keys).Draw(t, "key"), Value: rapid.SampledFrom([]string{"", "55", "56.5", "1,234", "a lot"}).Draw(t, "value"), Time: now, By: "T-17"}
		if e.Key == record.SuctionPressure && len(j.Instruments) > 0 {
			e.Instrument = j.Instruments[0].ID
		}
		j.Set(e) // what is refused is kept as a draft
	}
}

func must0(err error) {
	if err != nil {
		panic(err)
	}
}

// Whatever is done to a job, in saves of any size, comes back from the events of a
// second reading, and from the exchange file made of them.
func TestWhatIsWrittenIsRead(t *testing.T) {
	l := opened(t, t.TempDir())
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		j := record.New(fmt.Sprintf("job-%d", n))
		for i := range rapid.IntRange(1, 40).Draw(t, "edits") {
			edit(t, j, i)
			if rapid.IntRange(0, 2).Draw(t, "save") > 0 {
				must0(l.Save(j, "T-17"))
			}
		}
		must0(l.Save(j, "T-17"))
		es, damaged, err := l.Events(j.ID)
		if err != nil || len(damaged) > 0 {
			t.Fatal(err, damaged)
		}
		slices.Reverse(es)
		s := fold(j.ID, append(es, es...), l.keys) // out of order, and twice
		if len(s.Aside) > 0 {
			t.Fatal(s.Aside[0].Reason)
		}
		if d := same(j, s.Job); d != "" {
			t.Fatal(d)
		}
		b, err := s.Job.Encode()
		must0(err)
		if fileSize := len(b); s.size+4096 < fileSize {
			t.Fatalf("the file has %d bytes, reckoned %d", fileSize, s.size)
		}
		back, err := record.Decode(b)
		must0(err)
		if d := same(j, back); d != "" {
			t.Fatal(d)
		}
	})
}

// Defect 1: an entry that names an instrument of another job is not "saved" and then
// passed over: it is refused, and what came before stays.
func TestRefusedIsNotWritten(t *testing.T) {
	dir := t.TempDir()
	l := opened(t, dir)
	j := record.New("job-1")
	j.Set(record.Entry{Key: record.OwnerRef, Value: "A-1", Time: at})
	must(t, l.Save(j, ""))
	bad := j.Clone()
	bad.Set(record.Entry{Key: record.SuctionTemp, Value: "52.5", Instrument: "T2", Time: at})
	if err := l.Save(bad, ""); err == nil || !strings.Contains(err.Error(), `"T2" is not listed`) {
		t.Fatalf("%v", err)
	}
	must(t, l.Close())
	l = opened(t, dir)
	back, err := l.Load("job-1")
	must(t, err)
	if d := same(j, back); d != "" {
		t.Error(d)
	}
}

// Defect 2: what would make a job too large for its file is refused before it is
// written.
func TestFullJobIsReadable(t *testing.T) {
	l := opened(t, t.TempDir())
	j := record.New("job-1")
	note := strings.Repeat("a long note. ", 1500)
	var err error
	for i := 0; i < 18 && err == nil; i++ {
		c := j.Clone()
		for k := range 50 {
			c.Set(record.Entry{Key: record.IntakeNote, Value: fmt.Sprint(i, k) + note, Time: at})
		}
		if err = l.Save(c, ""); err == nil {
			j = c
		}
	}
	if err == nil || !strings.Contains(err.Error(), "full") {
		t.Errorf("900 long notes: %v", err)
	}
	s, err := l.State("job-1")
	must(t, err)
	b, err := s.Job.Encode()
	must(t, err)
	if _, err := record.Decode(b); err != nil {
		t.Error(err)
	}
	if d := same(j, s.Job); d != "" {
		t.Error("what was acknowledged is not there")
	}
}

// Nobody changes or removes an event, not even with the database open.
func TestEventsStay(t *testing.T) {
	l := opened(t, t.TempDir())
	must(t, l.Save(record.New("job-1"), ""))
	for _, q := range []string{"UPDATE events SET who = 'x'", "DELETE FROM events"} {
		if _, err := l.db.Exec(q); err == nil {
			t.Errorf("%s went through", q)
		}
	}
	es, _, err := l.Events("job-1")
	must(t, err)
	e := es[0]
	e.Who = "another"
	if err := l.Append(e); err == nil {
		t.Error("another event of the same id went through")
	}
	must(t, l.Append(es[0])) // the same again is nothing
	if again, _, _ := l.Events("job-1"); len(again) != len(es) {
		t.Error("an event is there twice")
	}
}

// Undo and redo outlast the sitting; who typed what, and what stood before, too.
func TestUndoAndHistory(t *testing.T) {
	dir := t.TempDir()
	l := opened(t, dir)
	j := record.New("job-1")
	for i, v := range []string{"50", "55"} {
		j.Set(record.Entry{Key: record.SuctionTemp, Value: v, Time: at.Add(time.Duration(i) * time.Minute), By: "T-" + v})
		must(t, l.Save(j, ""))
	}
	reopen := func() {
		must(t, l.Close())
		l = opened(t, dir)
	}
	stands := func(want string) {
		t.Helper()
		got, err := l.Load("job-1")
		must(t, err)
		if got.Text(record.SuctionTemp) != want {
			t.Fatalf("%s stands, not %s", got.Text(record.SuctionTemp), want)
		}
	}
	reopen()
	undo, redo, err := l.Undoable("job-1")
	if err != nil || undo == "" || redo != "" {
		t.Fatal(undo, redo, err)
	}
	must(t, l.Undo("job-1", undo, "T-1"))
	stands("50")
	reopen()
	stands("50")
	_, redo, _ = l.Undoable("job-1")
	must(t, l.Undo("job-1", redo, "T-1"))
	stands("55")
	h, err := l.History("job-1", record.SuctionTemp)
	if err != nil || len(h) != 2 || h[1].Who != "T-55" || h[1].Before != "50 "+h[0].Unit || h[1].Undone {
		t.Errorf("%+v, %v", h, err)
	}
	if err := l.Undo("job-1", NewID(), ""); err == nil {
		t.Error("an undo of nothing went through")
	}
}

// A signature is not taken back behind its back, and taking back what was signed
// opens it.
func TestUndoAndSignature(t *testing.T) {
	l := opened(t, t.TempDir())
	j := record.New("job-1")
	j.Set(record.Entry{Key: record.SuctionTemp, Value: "50", Time: at})
	must(t, l.Save(j, ""))
	undo, _, _ := l.Undoable("job-1")
	j.Set(record.Entry{Key: record.SignedBy, Value: "T-17", Time: at})
	must(t, l.Save(j, ""))
	if list, err := l.List("", false); err != nil || list[0].State != "signed" {
		t.Fatalf("%+v, %v", list, err)
	}
	must(t, l.Undo("job-1", undo, ""))
	if list, _ := l.List("", false); list[0].State != "changed since signing" {
		t.Errorf("%+v", list)
	}
	es, _, _ := l.Events("job-1")
	for _, e := range es {
		if e.Kind == Signature && l.Undo("job-1", e.ID, "") == nil {
			t.Error("a signature was taken back")
		}
	}
}

// A second window reads and is told who writes; what it holds back it writes once the
// first has ended, and neither loses anything.
func TestSecondWindow(t *testing.T) {
	dir := t.TempDir()
	a := opened(t, dir)
	j := record.New("job-1")
	j.Set(record.Entry{Key: record.OwnerRef, Value: "A-1", Time: at})
	must(t, a.Save(j, ""))
	b := opened(t, dir)
	var ro *ReadOnlyError
	if err := b.Writable(); !errors.As(err, &ro) || ro.Writer.PID != os.Getpid() || ro.Writer.Host == "" || ro.Writer.Since.IsZero() {
		t.Fatalf("%v", err)
	}
	jb, err := b.Load("job-1")
	must(t, err)
	jb.Set(record.Entry{Key: record.SuctionTemp, Value: "52", Time: at})
	if err := b.Save(jb, ""); !errors.As(err, &ro) {
		t.Fatalf("%v", err)
	}
	j.Set(record.Entry{Key: record.OldUnitSerial, Value: "S-9", Time: at})
	must(t, a.Save(j, ""))
	must(t, a.Close())
	must(t, b.Save(jb, ""))
	got, err := b.Load("job-1")
	must(t, err)
	if got.Text(record.OldUnitSerial) != "S-9" || got.Text(record.SuctionTemp) != "52" {
		t.Error("an edit is gone")
	}
}

// One bad event takes nothing with it and is counted; so does a byte changed on disk.
func TestOneBadEvent(t *testing.T) {
	dir := t.TempDir()
	l := opened(t, dir)
	j := record.New("job-1")
	for i := range 5 {
		j.Set(record.Entry{Key: record.SuctionTemp, Value: fmt.Sprint(50 + i), Time: at})
		must(t, l.Save(j, ""))
	}
	j.Set(record.Entry{Key: record.SignedBy, Value: "T-17", Time: at})
	must(t, l.Save(j, ""))
	for _, q := range []string{"DROP TRIGGER events_stay", `UPDATE events SET payload = replace(CAST(payload AS TEXT), '"53"', '"93"') WHERE seq = 5`} {
		if _, err := l.db.Exec(q); err != nil {
			t.Fatal(err)
		}
	}
	must(t, l.Close())
	l = opened(t, dir)
	s, err := l.State("job-1")
	must(t, err)
	if len(s.Aside) != 1 || len(s.Job.Entries) != 6 {
		t.Errorf("%d aside, %d entries", len(s.Aside), len(s.Job.Entries))
	}
	if list, _ := l.List("", false); list[0].State == "signed" {
		t.Error("signed is said of a record that is not what was signed")
	}
}

// A database that is damaged in the middle is set aside as it is; the rest is there.
func TestSalvage(t *testing.T) {
	dir := t.TempDir()
	l := opened(t, dir)
	for n := range 20 {
		j := record.New(fmt.Sprintf("job-%d", n))
		for i := range 20 {
			j.Set(record.Entry{Key: record.IntakeNote, Value: fmt.Sprintf("%d %s", i, strings.Repeat("x", 200)), Time: at})
		}
		must(t, l.Save(j, ""))
	}
	must(t, l.Close())
	path := filepath.Join(dir, File)
	b, err := os.ReadFile(path)
	must(t, err)
	page := len(b) / 2 &^ 4095
	for i := range 4096 {
		b[page+i] = 0xa5
	}
	must(t, os.WriteFile(path, b, 0o640))
	l = opened(t, dir)
	all, _, err := l.Events("")
	must(t, err)
	aside, _ := filepath.Glob(path + ".damaged-*")
	if len(aside) != 1 || !strings.Contains(l.Note, fmt.Sprintf("%d events could be read", len(all))) {
		t.Fatalf("%v, %s", aside, l.Note)
	}
	if kept, _ := os.ReadFile(aside[0]); string(kept) != string(b) {
		t.Error("the damaged file was touched")
	}
	if len(all) < 360 || len(all) > 420 {
		t.Errorf("%d of 420 events", len(all))
	}
	t.Log(l.Note)
	// Of a file that is nothing but garbage nothing is said to have been read, and
	// the copy of the day brings it all back.
	must(t, l.Close())
	must(t, os.WriteFile(path, []byte(strings.Repeat("garbage ", 1000)), 0o640))
	l = opened(t, dir)
	if !strings.Contains(l.Note, " 0 events") {
		t.Error(l.Note)
	}
	c, _ := filepath.Glob(filepath.Join(dir, copies, "*.db"))
	if len(c) != 1 {
		t.Fatal(c)
	}
	for range 2 {
		if _, err := l.Restore(c[0]); err != nil {
			t.Fatal(err)
		}
	}
	if again, _, _ := l.Events(""); len(again) != len(all) {
		t.Errorf("%d of %d came back", len(again), len(all))
	}
}

// A database of a newer program is left alone; an older one is brought forward.
func TestMigrations(t *testing.T) {
	dir := t.TempDir()
	l := opened(t, dir)
	must(t, l.Save(record.New("job-1"), ""))
	must(t, migrate(l.db, append(slices.Clone(schema), "ALTER TABLE meta ADD COLUMN note TEXT")))
	if err := migrate(l.db, append(slices.Clone(schema), "", "NONSENSE")); err == nil {
		t.Error("nonsense went through")
	}
	must(t, l.Close())
	for n := 1; n < len(schema); n++ { // every form that was released
		old := t.TempDir()
		db, err := connect(filepath.Join(old, File), "rwc", "journal_mode(WAL)")
		must(t, err)
		must(t, migrate(db, schema[:n]))
		c := change{kind: Created}
		e := Event{ID: NewID(), Device: NewID(), Order: 7, When: at, Kind: c.kind, Job: "job-old"}
		e.Payload, err = c.p.encode()
		must(t, err)
		_, err = db.Exec(insertEvent, row(e)...)
		must(t, err)
		must(t, db.Close())
		l := opened(t, old)
		if s, err := l.State("job-old"); err != nil || s.Events != 1 || len(s.Aside) > 0 || l.Note != "" {
			t.Errorf("form %d: %v, %s", n, err, l.Note)
		}
	}
	var newer *NewerError
	if _, err := Open(dir); !errors.As(err, &newer) {
		t.Errorf("%v", err)
	}
	if aside, _ := filepath.Glob(filepath.Join(dir, "*damaged*")); len(aside) > 0 {
		t.Error("a newer database was taken for a damaged one")
	}
}

func TestBackupOverwritesNothing(t *testing.T) {
	l := opened(t, t.TempDir())
	must(t, l.Save(record.New("job-1"), ""))
	path := filepath.Join(t.TempDir(), "b.db")
	must(t, os.WriteFile(path, []byte("another's"), 0o600))
	if err := l.Backup(path, false); !errors.Is(err, os.ErrExist) {
		t.Errorf("%v", err)
	}
	if b, _ := os.ReadFile(path); string(b) != "another's" {
		t.Error("overwritten")
	}
	must(t, l.Backup(path, true))
	other := opened(t, t.TempDir())
	got, err := other.Restore(path)
	if err != nil || got.Events != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err = other.Restore(path); err != nil || got.Events != 0 || got.Had != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	if other.device == l.device {
		t.Error("two tablets have one name")
	}
}

func TestListAndArchive(t *testing.T) {
	l := opened(t, t.TempDir())
	for i, o := range []string{"A-71", "B-72", "C-73"} {
		j := record.New(fmt.Sprintf("job-%d", i))
		j.Set(record.Entry{Key: record.OwnerRef, Value: o, Time: at})
		l.now = func() time.Time { return at.Add(-time.Duration(i) * time.Hour) } // a clock that runs backwards
		must(t, l.Save(j, ""))
	}
	ids := func(search string, all bool) (s []string) {
		list, err := l.List(search, all)
		must(t, err)
		for _, n := range list {
			s = append(s, n.Owner)
		}
		return s
	}
	if got := ids("", false); !slices.Equal(got, []string{"C-73", "B-72", "A-71"}) {
		t.Error("not in the order of events:", got)
	}
	if got := ids("b-72 open", false); !slices.Equal(got, []string{"B-72"}) {
		t.Error(got)
	}
	if l.Archive("job-1", "", "  ") == nil {
		t.Error("archived without a reason")
	}
	must(t, l.Archive("job-1", "T-1", "paid and filed"))
	if got := ids("", false); len(got) != 2 {
		t.Error(got)
	}
	if got := ids("archived", true); !slices.Equal(got, []string{"B-72"}) {
		t.Error(got)
	}
	must(t, l.Unarchive("job-1", "T-1"))
	if got := ids("", false); len(got) != 3 {
		t.Error(got)
	}
	a, err := l.NewJob()
	must(t, err)
	must(t, l.Save(a, ""))
	b, err := l.NewJob()
	must(t, err)
	c, err := opened(t, t.TempDir()).NewJob()
	must(t, err)
	if a.ID == b.ID || a.ID == c.ID {
		t.Error("two jobs of one name", a.ID, b.ID, c.ID)
	}
}

// What another visit is to do shows in the list with its day, and as overdue after it.
func TestDue(t *testing.T) {
	l := opened(t, t.TempDir())
	l.now = func() time.Time { return at }
	for i, due := range []string{"", at.AddDate(0, 0, -1).Format(time.DateOnly), at.Format(time.DateOnly)} {
		j := record.New(fmt.Sprint("job-", i))
		must0(j.Set(record.Entry{Key: record.OwnerRef, Value: fmt.Sprint("R-", i), Time: at}))
		must0(j.Set(record.Entry{Key: record.FollowUp, Value: "take the filter out", Time: at}))
		must0(j.Set(record.Entry{Key: record.FollowUpDue, Value: due, Time: at}))
		must(t, l.Save(j, ""))
	}
	for search, want := range map[string]string{"overdue": "job-1", "due filter": "job-2 job-1", "": "job-2 job-1 job-0"} {
		list, err := l.List(search, false)
		must(t, err)
		var ids []string
		for _, n := range list {
			ids = append(ids, n.ID)
		}
		if got := strings.Join(ids, " "); got != want {
			t.Errorf("%q finds %s, not %s", search, got, want)
		}
	}
	l.now = func() time.Time { return at.AddDate(0, 0, 1) }
	if list, _ := l.List("overdue", false); len(list) != 2 {
		t.Errorf("a day later %d are overdue", len(list))
	}
}

// An entry that names another than its writer is refused, whatever it is.
func TestNobodyWritesAsAnother(t *testing.T) {
	l := opened(t, t.TempDir())
	j := record.New("job-1")
	must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: "55", Time: at, By: "T-17"}))
	must(t, l.Save(j, "T-17"))
	es, _, err := l.Events("job-1")
	must(t, err)
	e := es[len(es)-1]
	e.ID, e.Order, e.Who = NewID(), e.Order+1, "T-18"
	if err := l.Append(e); err == nil || !strings.Contains(err.Error(), "written by") {
		t.Errorf("%v", err)
	}
}

// A supervisor decides on what is signed as it is, with a name and a reason, and not on
// his own; a change afterwards is not covered.
func TestDecide(t *testing.T) {
	l := opened(t, t.TempDir())
	j := record.New("job-1")
	must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: "55", Time: at, By: "T-17"}))
	must(t, l.Save(j, "T-17"))
	no := func(who, decision, remarks, want string) {
		t.Helper()
		if err := l.Decide("job-1", who, decision, remarks); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s %s: %v", who, decision, err)
		}
	}
	no("S-1", Accept, "", "not signed")
	must0(j.Set(record.Entry{Key: record.SignedBy, Value: "T-17", Time: at, By: "T-17"}))
	must(t, l.Save(j, "T-17"))
	no("T-17", Accept, "", "does not decide")
	no(" t-17 ", Accept, "", "does not decide")
	no("", Accept, "", "name")
	no("S-1", "perhaps", "", "no decision")
	no("S-1", Return, " ", "say why")
	must(t, l.Decide("job-1", "S-1", Return, "the vacuum is missing"))
	if s, _ := l.State("job-1"); s.Review == nil || s.Review.Who != "S-1" || s.Review.Decision != Return {
		t.Errorf("%+v", s.Review)
	}
	must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: "56", Time: at, By: "T-17"}))
	must(t, l.Save(j, "T-17"))
	no("S-1", Accept, "", "changed since")
}
