package widget

import (
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
)

// No word of a table is broken at the width that the middle of a small window has.
func TestTablesBreakNoWord(t *testing.T) {
	fyne.CurrentApp().Settings().SetTheme(theme.Theme{Palette: theme.Light})
	rows := []TableRow{{Cells: []string{"Same two-stage compressor", "3,400", "12 days", "1 year", "up to a price of 2,300"}, Tone: theme.Ink},
		{Cells: []string{"Single-stage conversion", "2,300", "0 days", "", "with its compressor up to 2,257"}, Tone: theme.Ink},
		{Cells: []string{"Leave it", "", "", "", "not compared"}, Glyph: "absent", Tone: theme.Muted}}
	for _, w := range []float32{386, 430, 602, 772} {
		tab := NewTable([]string{"Option", "price", "until it cools", "warranty", "is the cheapest"}, rows)
		for _, c := range tab.shape(w).cells {
			whole := strings.Fields(c.words.Text)
			for _, line := range wrap(c.words.Text, c.w, c.words.Px, c.words.style(), 0) {
				for _, word := range strings.Fields(line) {
					if !slices.Contains(whole, word) {
						t.Errorf("at %.0f %q is broken: %q", w, c.words.Text, word)
					}
				}
			}
			if c.x+c.w > w+1 {
				t.Errorf("at %.0f %q reaches to %.0f", w, c.words.Text, c.x+c.w)
			}
		}
	}
}
