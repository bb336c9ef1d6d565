package queue

import (
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/demo"
	"retrostage/reports/record"
	"retrostage/reports/store"
)

var at = time.Date(2026, 8, 14, 10, 0, 0, 0, time.UTC)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// A job goes through the queue: not signed, waiting, returned, waiting again, accepted;
// a change or something typed apart afterwards is not complete.
func TestQueue(t *testing.T) {
	l, err := store.Open(t.TempDir())
	must(t, err)
	defer l.Close()
	var whole *record.Job
	for i := range 20 {
		j, flaw, err := demo.Job(3, i)
		must(t, err)
		if flaw == demo.None {
			whole = j
			break
		}
	}
	if whole == nil {
		t.Fatal("no invented job without a flaw")
	}
	j := record.New(whole.ID)
	must(t, j.TakeInstruments(whole.Instruments))
	must(t, j.TakeUnit(whole.Unit))
	for _, e := range whole.Entries {
		if e.Key != record.SignedBy && e.Key != record.SignedDate && e.Key != record.SignedRecord {
			must(t, j.Take(e))
		}
	}
	save := func() { t.Helper(); must(t, l.Save(j, "T-9")) }
	save()
	row := func() Row {
		t.Helper()
		rows, err := Of(l)
		must(t, err)
		if len(rows) != 1 {
			t.Fatal(rows)
		}
		return rows[0]
	}
	is := func(stand Stand, complete bool, missing string) {
		t.Helper()
		r := row()
		if r.Stand != stand || r.Complete != complete || !strings.Contains(strings.Join(r.Missing, "\n"), missing) {
			t.Errorf("%+v", r)
		}
	}
	sign := func() {
		t.Helper()
		must(t, j.Set(record.Entry{Key: record.SignedBy, Value: "T-9", Time: at, By: "T-9"}))
		save()
	}
	is(Unsigned, false, "the technician's signature")
	sign()
	is(Waiting, false, "the supervisor's decision")
	if n := len(row().Missing); n < 3 {
		t.Errorf("%d matters of an invented job stand against it", n)
	}
	for _, info := range record.Steps { // somebody answers for each of them
		if key, ok := info.Step.Reservation(); ok {
			must(t, j.Set(record.Entry{Key: key, Value: "left as it is for this test", Time: at, By: "T-9"}))
			r, err := assess.Run(j)
			must(t, err)
			for _, s := range r.Steps {
				if s.Step == info.Step && s.Reason != nil {
					must(t, j.Covers(key, append(slices.Clone(s.Reason.About), s.Reason.Other...), "T-9", at))
				}
			}
		}
	}
	sign()
	is(Waiting, false, "the supervisor's decision")
	if rest := row().Missing; len(rest) != 1 {
		t.Fatalf("beside the decision: %v", rest)
	}
	must(t, l.Decide(j.ID, "S-1", store.Return, "photo of the plate"))
	is(Returned, false, "photo of the plate")
	must(t, j.Set(record.Entry{Key: record.RunningNote, Value: "done", Time: at, By: "T-9"}))
	save()
	is(Returned, false, "a signature over what was changed since")
	sign()
	is(Waiting, false, "")
	must(t, l.Decide(j.ID, "S-1", store.Accept, ""))
	is(Accepted, true, "")
	must(t, j.Set(record.Entry{Key: record.SuctionTemp, Value: "54", Unit: "F", Time: at, By: "T-9", Again: true}))
	save()
	is(Unsigned, false, "a signature over what was changed since")
}

// Complete is said of nothing that lacks a thing: one after another is taken away.
func TestNeverComplete(t *testing.T) {
	base, err := record.Demo()
	must(t, err)
	for name, c := range map[string]struct {
		state func(s *store.State)
		want  string
	}{
		"unsigned": {func(s *store.State) {}, "signature"},
		"aside":    {func(s *store.State) { s.Aside = make([]store.Aside, 2) }, "2 events that cannot be read"},
		"sealed":   {func(s *store.State) { s.Sealed = 1 }, "key is not here"},
		"unconfirmed": {func(s *store.State) {
			s.Job.Drafts = append(s.Job.Drafts, record.Draft{Key: record.CapRating, From: "job-0"})
		}, "not confirmed"},
		"accepted another record": {func(s *store.State) {
			s.Review = &store.Verdict{Decision: store.Accept, Record: "other", Who: "S-1"}
		}, ""},
	} {
		s := store.State{Job: base.Clone(), Review: &store.Verdict{Decision: store.Accept, Record: base.Text(record.SignedRecord), Who: "S-1"}}
		c.state(&s)
		r, err := row(s)
		must(t, err)
		if r.Complete || c.want != "" && !slices.ContainsFunc(r.Missing, func(m string) bool { return strings.Contains(m, c.want) }) {
			t.Errorf("%s: %+v", name, r)
		}
	}
}

// BenchmarkQueue is the queue of 20 whole invented jobs, by the job.
func BenchmarkQueue(b *testing.B) {
	l, err := store.Open(b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	defer l.Close()
	const jobs = 20
	for i := range jobs {
		j, _, err := demo.Job(3, i)
		if err == nil {
			err = l.Save(j, "T-9")
		}
		if err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		if _, err := Of(l); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N)/jobs, "ms/job")
}
