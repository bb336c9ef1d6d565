package part

import (
	"testing"

	"fyne.io/fyne/v2"

	"retrostage/app/skin"
	"retrostage/reports/record"
)

// What is taken to fit must fit as drawn, and little room may be given away.
func TestLengthsAreNeverTakenTooShort(t *testing.T) {
	fyne.CurrentApp().Settings().SetTheme(skin.Theme{Palette: skin.Light})
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
	for _, px := range []float32{skin.Small - 1, skin.Small, skin.Text, skin.Title} {
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
