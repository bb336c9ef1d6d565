package app

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"retrostage/reports/record"
)

// The page that the owner signs is written from the step Choice, once there is a decision;
// before there is none it says so and writes nothing.
func TestConsentFromThePane(t *testing.T) {
	b, _ := bench(t, record.New("job-2026-08-14-8"))
	b.Go(stepIndex(record.Choice))
	key := func() { test.Tap(tap(b.pane().Side, "Write the consent page for the owner to sign")) }
	papers := func() []string {
		list, err := filepath.Glob(filepath.Join(b.keep.dir, "*-consent.pdf"))
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	key()
	if said := shownWords(b.pane().Side); !strings.Contains(said, "Not written: ") || !strings.Contains(said, "nothing is decided") || len(papers()) != 0 {
		t.Errorf("without a decision: %q, %q", said, papers())
	}
	b.Enter(record.Decision, "convert to single stage", "", "")
	key()
	got := papers()
	if len(got) != 1 {
		t.Fatalf("papers %q: %s", got, shownWords(b.pane().Side))
	}
	if pdf, err := os.ReadFile(got[0]); err != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Errorf("%s is no PDF: %v", got[0], err)
	}
	if said := shownWords(b.pane().Side); !strings.Contains(said, "Written: "+got[0]) {
		t.Errorf("it is not said where: %q", said)
	}
	// That it was written stands in the record, once for what it says.
	first := b.job.Text(record.ConsentPage)
	if !strings.HasPrefix(first, "page ") {
		t.Fatalf("noted as %q", first)
	}
	n := len(b.job.Entries)
	if key(); len(b.job.Entries) != n {
		t.Error("the same page twice is noted twice")
	}
	b.Enter(record.ConsentCeiling, "2500", "money", "")
	if key(); b.job.Text(record.ConsentPage) == first {
		t.Error("another ceiling, and the mark of the page is the same")
	}
}

// The order list is written from the step Match; where nothing is to be ordered it says so.
func TestOrderListFromThePane(t *testing.T) {
	for _, orders := range []bool{false, true} {
		j := record.New("job-2026-08-14-9")
		if orders {
			j = demoJob(t)
		}
		b, _ := bench(t, j)
		b.Go(stepIndex(record.Match))
		test.Tap(tap(b.pane().Side, "Write the order list"))
		got, err := filepath.Glob(filepath.Join(b.keep.dir, "*-order.pdf"))
		said := shownWords(b.pane().Side)
		if err != nil || orders != (len(got) == 1) || orders != strings.Contains(said, "Written: ") || orders == strings.Contains(said, "Not written: ") {
			t.Errorf("to be ordered %v: %q, %v: %s", orders, got, err, said)
		}
	}
}
