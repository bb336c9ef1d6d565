package app

import (
	"slices"
	"testing"

	"retrostage/app/section"
	"retrostage/reports/record"
)

// A winding or a coil that is open has no number: the word has a key, and what a
// meter shows for it is understood.
func TestAnOpenWindingIsEnteredAsAWord(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Electrical))
	section.Acknowledge(b, "Dead checks")
	n := 0
	for _, r := range b.pane().Rows {
		f, err := record.ByName(r.Field.Key)
		if err != nil {
			t.Fatal(err)
		}
		if want := slices.Contains(f.Options, record.OpenLine); want != (r.Field.Word == record.OpenLine) {
			t.Errorf("%s: key %q, and the record takes the word: %v", f.Key, r.Field.Word, want)
		} else if !want {
			continue
		}
		n++
		if err := r.OnCommit(r, "O.L", r.Field.Unit); err != nil {
			t.Errorf("%s: %v", f.Key, err)
		}
		if got := b.job.Text(f.Key); got != record.OpenLine {
			t.Errorf("%s: %q is kept", f.Key, got)
		}
	}
	if n < 5 {
		t.Errorf("%d rows take the word", n)
	}
}
