package app

import (
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// A hold of 60 minutes typed in two is asked about beside its field, with the two answers
// as keys; the answer is a touch, and marks the readings of the hold and none besides.
func TestAHoldTypedInOneGoIsAskedAbout(t *testing.T) {
	b, w := bench(t, record.New("times"))
	b.SetPerson("T-31")
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
	if !strings.Contains(row.Wrong(), "min apart") {
		t.Fatalf("not asked about: %q", row.Wrong())
	}
	later := tap(row, record.NotedLater)
	if later == nil || tap(row, record.NotedAsRead) == nil {
		t.Fatal("no keys to answer with")
	}
	h.touch(later)
	if w := row.Wrong(); w != "" || tap(row, record.NotedLater) != nil {
		t.Errorf("answered, and still asked: %q", w)
	}
	if note := find(t, b, record.TestP2).Note; !strings.Contains(note, "entered later than measured") {
		t.Errorf("the reading is not marked: %q", note)
	}
	b.Enter(record.VacuumFinal, "300", "micron", "")
	if note := find(t, b, record.VacuumFinal).Note; strings.Contains(note, "later") {
		t.Errorf("a reading of another wait is marked: %q", note)
	}
}

// Rise readings enter the end of the hold, where nobody did; what somebody did stands.
func TestRiseReadingsEndTheHold(t *testing.T) {
	b, _ := bench(t, record.New("rise"))
	b.Enter(record.VacuumRise, "0 280\n10 318\n20 333", "", "")
	if e, v := b.job.Text(record.VacuumEnd), b.job.Text(record.VacuumTime); e != "333" || v != "20" {
		t.Errorf("the end is %q after %q min", e, v)
	}
	b, _ = bench(t, record.New("rise"))
	b.Enter(record.VacuumEnd, "340", "micron", "")
	b.Enter(record.VacuumRise, "0 280\n10 318\n20 333", "", "")
	if e := b.job.Text(record.VacuumEnd); e != "340" {
		t.Errorf("what was read became %q", e)
	}
	b, _ = bench(t, record.New("rise"))
	b.Enter(record.VacuumRise, "20 333\n10 318", "", "")
	if e := b.job.Text(record.VacuumEnd); e != "" {
		t.Errorf("times that run backwards end at %q", e)
	}
}
