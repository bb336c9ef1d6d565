package app

import (
	"strings"
	"testing"

	"retrostage/reports/record"
)

// Where a caution comes from, and how far to trust it, is not for whoever reads it with
// gloves on: no step says "from memory" beside its fields, before or after its gates are
// acknowledged.
func TestCautionsDoNotSpeakOfMemory(t *testing.T) {
	b, _ := bench(t, filled(t))
	said := false
	for _, j := range []*record.Job{filled(t), record.New("new")} { // the second with its gates shut
		b.SetJob(b.keep, j)
		for i, s := range record.Steps {
			b.Go(i)
			shown := shownWords(b.pane().Side)
			said = said || strings.Contains(shown, "mains voltage can kill")
			if strings.Contains(shown, "from memory") {
				at := strings.Index(shown, "from memory")
				t.Errorf("%s: %q", s.Title, shown[max(0, at-120):at+11])
			}
		}
	}
	if !said {
		t.Error("no caution of the live checks was shown at all")
	}
}
