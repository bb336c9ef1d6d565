package workbook

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// laid is the workbook of a job with its pages laid and broken.
func laid(t *testing.T, j *record.Job, o Options) *book {
	t.Helper()
	a := assess.New(j)
	rep, err := a.Report()
	if err != nil {
		t.Fatal(err)
	}
	b := newBook(a, rep, o, nil)
	t.Cleanup(func() { b.file.Close() })
	if err := b.lay(); err != nil {
		t.Fatal(err)
	}
	for _, p := range b.pages {
		b.paginate(p)
	}
	return b
}

// text is all that a page says.
func pageText(p *page) string {
	var s []string
	for _, r := range p.rows {
		for _, c := range r {
			if c.value != nil && c.value != "" {
				s = append(s, fmt.Sprint(c.value))
			}
		}
	}
	return strings.Join(s, "\n")
}

// The demo job prints on ten pages, whatever the paper and the units.
func TestTenPages(t *testing.T) {
	t.Parallel()
	for _, paper := range []Paper{Letter, A4} {
		for _, sys := range []units.System{units.IP, units.SI} {
			j, err := record.Demo()
			if err != nil {
				t.Fatal(err)
			}
			n := 0
			for _, p := range laid(t, j, Options{System: sys, Paper: paper}).pages {
				if !p.evidence && !p.secret {
					n += len(p.breaks) + 1
				}
			}
			if n > 10 {
				t.Errorf("paper %d, %s: %d pages", paper, sys, n)
			}
		}
	}
}

// Close-up and trim stand on a page that is printed: joints, nitrogen, drier, breaks,
// pull-down and rise with their fits, each step with the readings kept with it; what
// was not entered or not kept says so.
func TestCloseUpIsPrinted(t *testing.T) {
	t.Parallel()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	b := laid(t, j, Options{})
	s := pageText(b.pages[1])
	for _, want := range []string{"discharge stub at compressor", "arrow with the flow", "a trickle", "made at rest and running: none found", "Pull-down", "steady rise in 10 min: within",
		"after step 1", "13:36: suction 130.8 psig", "13:03: suction 130.1 psig", "Stop trimming"} {
		if !strings.Contains(s, want) {
			t.Errorf("%q is not on the page", want)
		}
	}
	logs := b.logs()
	if len(logs) != 2 {
		t.Fatalf("%d logs", len(logs))
	}
	for _, l := range logs {
		for i := range l.curve.x {
			mid, lo, hi := l.curve.y[0][i], l.curve.y[1][i], l.curve.y[2][i]
			if !(lo <= mid+1e-9 && mid <= hi+1e-9) {
				t.Errorf("%s: %g in %g to %g", l.name, mid, lo, hi)
			}
		}
	}
	for _, e := range []record.Entry{{Key: record.TrimSteps, Value: "0 8.3\n3 9"}, {Key: record.JointList, Value: ""}, {Key: record.EvacuationWay, Value: record.TripleBreaks}, {Key: record.EvacuationBreaks, Value: "1500 2 10"}, {Key: record.VacuumPull, Value: ""}} {
		e.Time = time.Unix(1.79e9, 0)
		if err := j.Set(e); err != nil {
			t.Fatal(err)
		}
	}
	s = pageText(laid(t, j, Options{System: units.SI}).pages[1])
	for _, want := range []string{"Joints opened or made\nnot entered", "No readings were kept with it", "1500 2 10", "1 of 2 breaks", "13:03: suction 897."} {
		if !strings.Contains(s, want) {
			t.Errorf("%q is not on the page:\n%s", want, s)
		}
	}
	if strings.Contains(s, "Pull-down") {
		t.Error("a pull-down that is not there")
	}
}
