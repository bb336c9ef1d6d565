package theme

import (
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// WCAG 2.1 gives 21:1 for black on white as the largest contrast; grey 0x767676
// on white is known as the lightest grey that reaches 4.5:1 (from memory).
func TestContrastFormula(t *testing.T) {
	if c := Contrast(rgb(0), rgb(0xffffff)); math.Abs(c-21) > 1e-9 {
		t.Errorf("black on white %g, want 21", c)
	}
	if c := Contrast(rgb(0x767676), rgb(0xffffff)); c < 4.5 || c > 4.6 {
		t.Errorf("grey on white %g, want just above 4.5", c)
	}
}

func TestEveryFigureHasContrastSeven(t *testing.T) {
	for _, p := range []Palette{Light, Dark} {
		grounds := map[string]color.NRGBA{"paper": p.Of(Paper), "panel": p.Of(Panel), "input": p.Of(Input), "caution": p.Of(Caution), "chosen": p.Of(Chosen)}
		words := map[string]color.NRGBA{"ink": p.Of(Ink), "muted": p.Of(Muted), "accent": p.Of(Accent), "good": p.Of(Good), "bad": p.Of(Bad), "warning": p.Of(Warning), "absent": p.Of(Absent)}
		worst, where := 99.0, ""
		for gn, g := range grounds {
			for wn, w := range words {
				c := Contrast(g, w)
				if c < worst {
					worst, where = c, wn+" on "+gn
				}
				if c < 7 {
					t.Errorf("dark %v: %s on %s is %.2f:1, want 7:1", p.Dark, wn, gn, c)
				}
			}
		}
		if c := Contrast(p.Of(Accent), p.Of(OnAccent)); c < 7 {
			t.Errorf("dark %v: words on a pressed key %.2f:1", p.Dark, c)
		}
		// WCAG 2.1, 1.4.11: what must be seen to know a control is there, 3:1.
		for n, c := range map[string]float64{"frame on paper": Contrast(p.Of(Frame), p.Of(Paper)), "band edge on band": Contrast(p.Of(BandEdge), p.Of(Band)), "band edge on paper": Contrast(p.Of(BandEdge), p.Of(Paper))} {
			if c < 3 {
				t.Errorf("dark %v: %s %.2f:1, want 3:1", p.Dark, n, c)
			}
		}
		t.Logf("dark %v: least contrast %.2f:1 (%s)", p.Dark, worst, where)
	}
}

func TestToolkitWidgetsAreThumbSized(t *testing.T) {
	a := test.NewApp()
	defer a.Quit()
	a.Settings().SetTheme(Theme{Palette: Light})
	for name, o := range map[string]fyne.CanvasObject{
		"button": widget.NewButton("Go", nil), "entry": widget.NewEntry(), "select": widget.NewSelect([]string{"a"}, nil)} {
		if h := o.MinSize().Height; h < Touch {
			t.Errorf("%s is %g high, want %g", name, h, Touch)
		}
	}
	for _, n := range []fyne.ThemeColorName{theme.ColorNameBackground, theme.ColorNameForeground, theme.ColorNamePrimary} {
		if (Theme{Palette: Light}).Color(n, 0) == (Theme{Palette: Dark}).Color(n, 0) {
			t.Errorf("%s is the same in light and dark", n)
		}
	}
	if Face(14, false) == nil || Face(14, true) == nil {
		t.Error("no face for pictures")
	}
}

// Contrast is the contrast ratio of two opaque colours, 1 to 21 (WCAG 2.1,
// definitions of relative luminance and contrast ratio).
func Contrast(a, b color.NRGBA) float64 {
	la, lb := luminance(a), luminance(b)
	if la < lb {
		la, lb = lb, la
	}
	return (la + 0.05) / (lb + 0.05)
}

func luminance(c color.NRGBA) float64 {
	lin := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.03928 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
}
