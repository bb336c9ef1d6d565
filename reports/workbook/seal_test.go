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
