package app

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/archive"
	"retrostage/reports/like"
	"retrostage/reports/record"
)

// beginLike begins a new job like the one on the bench, by the list of jobs.
func beginLike(t *testing.T, b *Bench) {
	t.Helper()
	l := b.newJobList(func() {})
	k := tap(l.page, "Begin a new job like the one on the bench")
	if k == nil {
		t.Fatal("no key begins a job like this one")
	}
	test.Tap(k)
}

// compared are the keys on show that confirm a group.
func compared(o fyne.CanvasObject) (keys []*widget.Tap) {
	for _, k := range visible[*widget.Tap](o) {
		if strings.HasPrefix(k.Text, "Compared: ") {
			keys = append(keys, k)
		}
	}
	return keys
}

// A job like an earlier one holds its data unconfirmed, over a restart too: shown at the
// fields, reckoned with nowhere, not to be signed, until one touch a group.
func TestJobLikeAnEarlierOne(t *testing.T) {
	b, _ := bench(t, demoJob(t))
	from := b.job
	b.SetPerson("T-31")
	beginLike(t, b)
	if b.job.ID == from.ID || len(b.job.Entries) != 0 || b.job.Unconfirmed() < 20 {
		t.Fatalf("%s has %d entries and %d unconfirmed", b.job.ID, len(b.job.Entries), b.job.Unconfirmed())
	}
	if text, bad := b.status(); bad || !strings.Contains(text, "Taken from job "+from.ID) {
		t.Errorf("it says %q", text)
	}
	if err := b.keep.jobs.Close(); err != nil {
		t.Fatal(err)
	}
	b = reopened(t, b.keep.dir)
	b.SetPerson("T-31")
	b.Go(stepIndex(record.Intake))
	r := find(t, b, record.Refrigerant)
	if r.Text() != from.Text(record.Refrigerant) || !strings.Contains(r.Note, "not confirmed") {
		t.Errorf("the field shows %q, %q", r.Text(), r.Note)
	}
	if find(t, b, record.OldUnitSerial).Text() != "" {
		t.Error("the serial number was taken")
	}
	// Typed over, it is what was typed; the rest of the group is confirmed.
	b.Enter(record.RatedVoltage, "240", "V", "")
	for _, want := range []string{like.Plate, like.Instruments} {
		said := shownWords(b.pane().Side)
		if !strings.Contains(said, want+", from job "+from.ID) && !(want == like.Instruments && len(from.Instruments) == 0) {
			t.Errorf("no group %s", want)
		}
	}
	b.Enter(record.SignedBy, "T-31", "", "")
	if b.job.Text(record.SignedBy) != "" {
		t.Error("it was signed")
	}
	b.Draft(record.SignedBy, "", "")
	touched := 0
	for i := range record.Steps {
		b.Go(i)
		for range 10 {
			keys := compared(b.pane().Side)
			if len(keys) == 0 {
				break
			}
			test.Tap(keys[0])
			touched++
		}
	}
	if n := b.job.Unconfirmed(); n != 0 {
		t.Fatalf("%d left after %d touches: %+v", n, touched, like.Open(b.job))
	}
	if v := b.job.Text(record.RatedVoltage); v != "240" {
		t.Errorf("what was typed became %s", v)
	}
	if e, _ := b.job.Entry(record.Refrigerant); e.Value != from.Text(record.Refrigerant) || e.By != "T-31" {
		t.Errorf("entered %+v", e)
	}
	if _, ok := b.job.Entry(record.SuctionPressure); ok {
		t.Error("a reading was taken")
	}
	b.Enter(record.SignedBy, "T-31", "", "")
	if b.job.Text(record.SignedBy) != "T-31" {
		t.Error("it cannot be signed")
	}
	if onDisk(t, b).Text(record.SignedBy) != "T-31" {
		t.Error("not on disk")
	}
	t.Logf("%d touches confirm it", touched)
}

// The company's own template, a job file that nobody works on, begins a job as an earlier one
// does; a file that is none begins none, and says so.
func TestJobLikeATemplate(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.SetPerson("T-31")
	template := firstJob(t)
	template.ID = "template-two-contactors"
	dir := t.TempDir()
	path, none := filepath.Join(dir, "template.job.json"), filepath.Join(dir, "none.json")
	if err := archive.WriteJob(path, template); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(none, []byte("{}"), 0o600); err != nil {
		t.Fatal(err)
	}
	was := b.job.ID
	for _, c := range []string{none, path} {
		b.pickJob = func(done func(string)) { done(c) }
		l := b.newJobList(func() {})
		test.Tap(tap(l.page, "Begin a new job like one in a job file"))
		if said := shownWords(l.page); (b.job.ID == was) != (c == none) || strings.Contains(said, "Not opened") != (c == none) {
			t.Fatalf("%s: on the bench %s; it says %s", filepath.Base(c), b.job.ID, said)
		}
	}
	if len(b.job.Entries) != 0 || b.job.Unconfirmed() < 20 {
		t.Errorf("%d entries, %d unconfirmed", len(b.job.Entries), b.job.Unconfirmed())
	}
	for _, g := range like.Open(b.job) {
		if g.From != template.ID {
			t.Errorf("%s is from %s", g.Name, g.From)
		}
	}
	if b.Enter(record.SignedBy, "T-31", "", ""); b.job.Text(record.SignedBy) != "" {
		t.Error("signed")
	}
}
