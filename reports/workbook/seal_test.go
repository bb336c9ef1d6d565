package workbook

import "testing"

// Whatever stands in the seal, taking it apart ends in a payload within its
// limits or an error.
func FuzzUnseal(f *testing.F) {
	f.Add("H4sIAAAAAAAA/6tWKk7OSM1NVLIy1FEqriwuSc1VslLyDFCqBQDDxvE1HAAAAA==", "A1sx")
	f.Add("", "B12f1.5")
	f.Fuzz(func(t *testing.T, text, cell string) {
		if _, raw, err := unseal(text); err == nil && len(raw) > maxPayload {
			t.Fatalf("%d bytes", len(raw))
		}
		if c, ok := parseSealed(cell); ok && (c.row < 1 || c.col < 1) {
			t.Fatalf("%q is at row %d, column %d", cell, c.row, c.col)
		}
	})
}

// A name that cannot be seen, or is no name, is none.
func TestReadable(t *testing.T) {
	for _, n := range []string{"S. Pervisor", "S-1", "李 小龙", "Zoë", "Al\u200b"} {
		if !readable(n) {
			t.Errorf("%q is a name", n)
		}
	}
	for _, n := range []string{"", "x", "  ", "\u200b\u200b", "\u3164\u3164", "\u115f\u1160", "\u2800\u2800", "\u202e\u202d", "12", "--", "x\u3164", "\ufe0f\ufe0f", "\u00a0\u00a0"} {
		if readable(n) {
			t.Errorf("%q was taken for a name", n)
		}
	}
}
