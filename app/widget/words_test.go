package widget

import (
	"slices"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/theme"
	"retrostage/reports/record"
)

// What is taken to fit must fit as drawn, and little room may be given away.
func TestLengthsAreNeverTakenTooShort(t *testing.T) {
	fyne.CurrentApp().Settings().SetTheme(theme.Theme{Palette: theme.Light})
	var texts []string
	for _, f := range record.Fields {
		texts = append(texts, f.Label, f.Help)
	}
	for _, s := range record.Steps {
		texts = append(texts, s.Title, s.Purpose)
		for _, c := range s.Cautions {
			texts = append(texts, c.Text, c.Source)
		}
	}
	texts = append(texts, "± 0.3 Ω at 21 °C, R-410A: 118.4 psig; AWAY fifth VAT To")
	n := 0
	for _, px := range []float32{theme.Small - 1, theme.Small, theme.Text, theme.Title} {
		for _, bold := range []bool{false, true} {
			style := fyne.TextStyle{Bold: bold}
			if got, want := letterHeight(px, bold), fyne.MeasureText("Mg", px, style).Height; got < want-0.5 || got > want+0.5 {
				t.Errorf("a line at %g is %g high, drawn %g", px, got, want)
			}
			for _, s := range texts {
				if s == "" {
					continue
				}
				n++
				got, want := measure(s, px, style), fyne.MeasureText(s, px, style).Width
				if got < want-1 || got > want*1.05+1 {
					t.Errorf("%q at %g, bold %v: %.1f, drawn %.1f", s, px, bold, got, want)
				}
			}
		}
	}
	if n < 1000 {
		t.Errorf("%d texts compared", n)
	}
}

// What is laid out again at the same size keeps its objects: the toolkit lays out
// and paints once more what it has not seen before, so a widget that made new ones
// would keep the window painting for ever.
func TestLayingOutAgainMakesNothingNew(t *testing.T) {
	card := NewCard("A title that is long enough to be broken", "keep", "why", theme.Good, "small print")
	notice := NewNotice("caution", theme.Warning, []string{"one line", "and another"}, []string{"source"})
	table := NewTable([]string{"Part", "old", "Verdict"}, []TableRow{{Cells: []string{"a part", "1 A", "Fits"}, Glyph: "within", Small: "note"}})
	row := NewRow(Field{Label: "Winding", Kind: NumberField, Unit: "psig", Units: []string{"psig", "psia"}, Word: "open"})
	for _, w := range []fyne.Widget{card, notice, table, row, NewWords("some words to be broken into lines", 14, false, theme.Ink),
		NewTap("a key whose words are too long for one line of it", nil), NewChoose([]string{"yes", "no"}, "yes", nil), NewStrip(Finding{Label: "Superheat", Figure: "11", Unit: "°F"})} {
		size := fyne.NewSize(230, 200)
		w.Resize(size)
		r := test.WidgetRenderer(w)
		r.Layout(size)
		before := slices.Clone(r.Objects())
		r.Layout(size)
		if !slices.Equal(before, r.Objects()) {
			t.Errorf("%T makes new objects when laid out again", w)
		}
	}
}

func TestSlantedWordsAreSetPlain(t *testing.T) {
	for in, want := range map[string]string{
		"shows at *Match*, that no plan holds at *Wiring*. A": "shows at Match, that no plan holds at Wiring. A",
		"**bold** stays":        "**bold** stays",
		"*Before* and *After*.": "Before and After.",
		"2 * 3 * 4":             "2 * 3 * 4",
	} {
		if got := plainer(in); got != want {
			t.Errorf("%q: %q", in, got)
		}
	}
}
