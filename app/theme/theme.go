package theme

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
)

// Sizes at scale 1. Touch is the least side of anything to be tapped.
const (
	Touch   float32 = 48
	Text    float32 = 16
	Small   float32 = 13.5
	Figure  float32 = 18
	Title   float32 = 22
	Gap     float32 = 8
	Padding float32 = 4
)

// Theme hands a palette to the toolkit's own widgets.
type Theme struct{ Palette }

// Color gives the palette's colour for a toolkit colour name.
func (t Theme) Color(n fyne.ThemeColorName, _ fyne.ThemeVariant) color.Color {
	p := t.Palette
	switch n {
	case theme.ColorNameBackground:
		return p.Of(Paper)
	case theme.ColorNameForeground:
		return p.Of(Ink)
	case theme.ColorNamePrimary, theme.ColorNameHyperlink:
		return p.Of(Accent)
	case theme.ColorNameForegroundOnPrimary:
		return p.Of(OnAccent)
	case theme.ColorNameButton, theme.ColorNameHeaderBackground:
		return p.Of(Chosen)
	case theme.ColorNameDisabledButton:
		return p.Of(Panel)
	case theme.ColorNameDisabled, theme.ColorNamePlaceHolder:
		return p.Of(Muted)
	case theme.ColorNameInputBackground:
		return p.Of(Input)
	case theme.ColorNameInputBorder:
		return p.Of(Frame)
	case theme.ColorNameMenuBackground, theme.ColorNameOverlayBackground:
		return p.Of(Panel)
	case theme.ColorNameSeparator:
		return p.Of(Line)
	case theme.ColorNameScrollBar:
		return p.Of(Frame)
	case theme.ColorNameScrollBarBackground:
		return color.NRGBA{}
	case theme.ColorNameHover:
		return faded(p.Of(Press), 0x60)
	case theme.ColorNamePressed:
		return faded(p.Of(Accent), 0x40)
	case theme.ColorNameFocus, theme.ColorNameSelection:
		return faded(p.Of(Accent), 0x48)
	case theme.ColorNameError:
		return p.Of(Bad)
	case theme.ColorNameSuccess:
		return p.Of(Good)
	case theme.ColorNameWarning:
		return p.Of(Warning)
	case theme.ColorNameForegroundOnError, theme.ColorNameForegroundOnSuccess, theme.ColorNameForegroundOnWarning:
		return p.Of(Paper)
	case theme.ColorNameShadow:
		return color.NRGBA{A: 0x30}
	}
	v := theme.VariantLight
	if p.Dark {
		v = theme.VariantDark
	}
	return theme.DefaultTheme().Color(n, v)
}

// Size gives the workbench's sizes. The inner padding makes a line of text a
// target of the touch size.
func (t Theme) Size(n fyne.ThemeSizeName) float32 {
	switch n {
	case theme.SizeNameText:
		return Text
	case theme.SizeNameCaptionText:
		return Small
	case theme.SizeNameSubHeadingText:
		return Figure
	case theme.SizeNameHeadingText:
		return Title
	case theme.SizeNamePadding:
		return Padding
	case theme.SizeNameInnerPadding:
		return 13.5
	case theme.SizeNameInputRadius, theme.SizeNameSelectionRadius:
		return 3
	case theme.SizeNameScrollBar:
		return 14
	case theme.SizeNameScrollBarSmall:
		return 5
	case theme.SizeNameInlineIcon:
		return 20
	}
	return theme.DefaultTheme().Size(n)
}

func (t Theme) Font(s fyne.TextStyle) fyne.Resource     { return theme.DefaultTheme().Font(s) }
func (t Theme) Icon(n fyne.ThemeIconName) fyne.Resource { return theme.DefaultTheme().Icon(n) }

func faded(c color.NRGBA, a uint8) color.NRGBA { c.A = a; return c }

// Now is the palette in use.
func Now() Palette {
	if a := fyne.CurrentApp(); a != nil {
		if t, ok := a.Settings().Theme().(Theme); ok {
			return t.Palette
		}
	}
	return Light
}

var regular, bold *opentype.Font

func init() {
	regular, _ = opentype.Parse(theme.DefaultTextFont().Content())
	bold, _ = opentype.Parse(theme.DefaultTextBoldFont().Content())
}

// Face is the workbench's own letters at a height in pixels, for pictures; nil
// if the font cannot be read.
func Face(px float64, heavy bool) font.Face {
	f := regular
	if heavy {
		f = bold
	}
	if f == nil {
		return nil
	}
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: px, DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		return nil
	}
	return face
}
