package theme

import (
	"image/color"
	"math"

	"retrostage/app/picture"
)

// Palette is the tones of one variant.
type Palette struct {
	Dark bool

	// Grounds.
	Paper   color.NRGBA // the page
	Panel   color.NRGBA // route and entries
	Input   color.NRGBA // where one types
	Caution color.NRGBA // behind a caution
	Chosen  color.NRGBA // behind the chosen step

	// Words and figures.
	Ink, Muted, Accent, OnAccent color.NRGBA
	Good, Bad, Doubt, Absent     color.NRGBA

	// Lines and fills that carry no words.
	Line, Frame, Band, BandEdge, Press color.NRGBA
}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 0xff}
}

// Light is for sun: near-white ground, near-black figures.
var Light = Palette{
	Paper: rgb(0xFBFAF6), Panel: rgb(0xF1F0EA), Input: rgb(0xFFFFFF), Caution: rgb(0xFAEBC8), Chosen: rgb(0xDCE9E6),
	Ink: rgb(0x14181A), Muted: rgb(0x40474C), Accent: rgb(0x0A474E), OnAccent: rgb(0xFFFFFF),
	Good: rgb(0x134A2A), Bad: rgb(0x85190D), Doubt: rgb(0x553C00), Absent: rgb(0x40474C),
	Line: rgb(0xD2D1C9), Frame: rgb(0x80837E), Band: rgb(0xBBD8CC), BandEdge: rgb(0x2F6E59), Press: rgb(0xC9DAD6),
}

// Dark is for attics and evenings.
var Dark = Palette{
	Dark:  true,
	Paper: rgb(0x12171A), Panel: rgb(0x1A2125), Input: rgb(0x0B0F11), Caution: rgb(0x3A2F15), Chosen: rgb(0x22363A),
	Ink: rgb(0xF2F4F0), Muted: rgb(0xBFC7CA), Accent: rgb(0x8AD6D1), OnAccent: rgb(0x06201F),
	Good: rgb(0x97DDB0), Bad: rgb(0xFFB8A8), Doubt: rgb(0xEFD07F), Absent: rgb(0xBFC7CA),
	Line: rgb(0x37424A), Frame: rgb(0x84919A), Band: rgb(0x27503F), BandEdge: rgb(0x7FC2A3), Press: rgb(0x2C454A),
}

// Tone is the colour of a picture's tone.
func (p Palette) Tone(t picture.Tone) color.Color {
	switch t {
	case picture.Muted:
		return p.Muted
	case picture.Faint:
		return p.Line
	case picture.Accent:
		return p.Accent
	case picture.Good:
		return p.Good
	case picture.Bad:
		return p.Bad
	case picture.Doubt:
		return p.Doubt
	case picture.Band:
		return p.Band
	case picture.Paper:
		return p.Paper
	case picture.Caution:
		return p.Caution
	}
	return p.Ink
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
