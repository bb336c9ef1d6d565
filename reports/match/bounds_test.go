package match

import (
	"testing"

	"retrostage/assets/soak"
)

// Ten megabytes of anything in place of a list of compressors are read or refused in a
// second of the processor and 200 MB.
func TestTenMegabytes(t *testing.T) {
	for name, b := range soak.Hostile("model,capacity\n", "K-1,29500\n") {
		soak.Bounded(t, "a list of "+name, func() {
			l, err := ReadListing(b)
			if err == nil {
				l.Candidates(l.Guess(Mapping{}))
			}
		})
	}
}
