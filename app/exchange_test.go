package app

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/record"
	"retrostage/reports/store"
)

// The exchange by itself: at the start and at intervals, not before; what others typed
// comes without a word being lost here, and what does not go through is told and tried
// again.
func TestExchangeByItself(t *testing.T) {
	shared := t.TempDir()
	a, _ := bench(t, filled(t))
	a.person, a.shared = "T-17", shared
	a.exchangeDue()
	if !strings.Contains(a.alone.said, "Exchanged by itself") || a.alone.failed {
		t.Fatalf("%+v", a.alone.said)
	}
	b := reopened(t, t.TempDir())
	b.person, b.shared = "T-40", shared
	b.exchangeDue()
	l := b.newJobList(func() {})
	test.Tap(visible[*widget.Card](l.rows)[0])
	if b.job.ID != a.job.ID {
		t.Fatal("the job did not come")
	}
	clock := time.Now()
	a.now, b.now = func() time.Time { return clock }, func() time.Time { return clock }
	a.alone.last, b.alone.last = clock, clock
	b.Enter(record.DischargeTemp, "181", "F", "")
	b.exchangeDue() // not due
	a.exchangeDue()
	if a.stale {
		t.Error("exchanged before it was due")
	}
	clock = clock.Add(exchangeEvery)
	b.exchangeDue()
	a.exchangeDue()
	if text, _ := a.status(); !a.stale || !strings.Contains(text, "Others have added to this job") {
		t.Fatalf("it says %q", text)
	}
	a.Enter(record.SuctionTemp, "61", "F", "") // typed on what is on the bench
	if text, bad := a.status(); bad || !strings.Contains(text, "Saved") {
		t.Errorf("it says %q", text)
	}
	l = a.newJobList(func() {})
	test.Tap(visible[*widget.Card](l.rows)[0])
	if a.stale || a.job.Text(record.SuctionTemp) != "61" || a.job.Text(record.DischargeTemp) != "181" {
		t.Errorf("opened again: %s, %s", a.job.Text(record.SuctionTemp), a.job.Text(record.DischargeTemp))
	}
	// The folder is gone: told, nothing lost, tried again when it is due.
	if err := os.Rename(shared, shared+"-away"); err != nil {
		t.Fatal(err)
	}
	clock = clock.Add(exchangeEvery)
	a.exchangeDue()
	if text, bad := a.status(); bad || !strings.Contains(text, "did not go through") || !strings.Contains(a.alone.said, filepath.Base(shared)) {
		t.Errorf("it says %q, %q", text, a.alone.said)
	}
	if err := os.Rename(shared+"-away", shared); err != nil {
		t.Fatal(err)
	}
	clock = clock.Add(exchangeEvery)
	a.exchangeDue()
	if text, _ := a.status(); a.alone.failed || strings.Contains(text, "did not go through") {
		t.Errorf("it says %q", text)
	}
	// Turned off, it does nothing.
	l = a.newJobList(func() {})
	test.Tap(tap(l.page, "Exchange with it by itself, at the start and every 5 minutes"))
	clock, was := clock.Add(exchangeEvery), a.alone.last
	a.exchangeDue()
	if a.alone.last != was {
		t.Error("exchanged though it was turned off")
	}
}

// slowExchange is a store whose folder takes its time.
type slowExchange struct {
	jobs
	begun, end chan struct{}
}

func (s slowExchange) Exchange(string) (store.Exchanged, error) {
	close(s.begun)
	<-s.end
	return store.Exchanged{}, errors.New("too late")
}

// While an exchange waits for a folder, what is typed is saved.
func TestSavedWhileExchanging(t *testing.T) {
	b, _ := bench(t, filled(t))
	s := slowExchange{b.keep.jobs, make(chan struct{}), make(chan struct{})}
	b.keep.jobs, b.shared = s, "somewhere"
	done := make(chan struct{})
	go func() { // in the window it runs beside; here the still bench would wait for it
		b.keep.exchange("somewhere")
		close(done)
	}()
	<-s.begun
	b.Enter(record.SuctionTemp, "61", "F", "")
	if text, bad := b.status(); bad || !strings.Contains(text, "Saved") {
		t.Errorf("it says %q", text)
	}
	close(s.end)
	<-done
}
