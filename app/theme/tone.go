package theme

import "image/color"

// Tone says what a thing is for; the palette in use gives its colour. It is
// looked up at each repaint, so that a change of palette needs no rebuilding.
// There is this one list, for widgets and for pictures.
type Tone int

// The tones. Ink is the zero value: words and the things measured.
const (
	// Words and figures.
	Ink    Tone = iota
	Muted       // secondary words, axes
	Accent      // the thing to look at, what can be touched
	OnAccent
	Good
	Bad
	Warning // too close to call, held, a caution's mark
	Absent  // not measured

	// Grounds.
	Paper   // the page
	Panel   // route and entries
	Input   // where one types
	Caution // behind a caution
	Chosen  // behind the chosen step

	// Lines and fills that carry no words.
	Line  // rules, grid
	Frame // about a control
	Band  // what is allowed
	BandEdge
	Press
	Clear // nothing at all

	tones
)

// Palette is the colours of one variant.
type Palette struct {
	Dark    bool
	colours [tones]color.NRGBA
}

// Of is the colour of a tone.
func (p Palette) Of(t Tone) color.NRGBA {
	if t < 0 || t >= tones {
		return p.colours[Ink]
	}
	return p.colours[t]
}

// Colour is the colour of a tone in the palette in use.
func (t Tone) Colour() color.NRGBA { return Now().Of(t) }

// Light is for sun: near-white ground, near-black figures.
var Light = Palette{colours: [tones]color.NRGBA{
	Ink: rgb(0x14181A), Muted: rgb(0x40474C), Accent: rgb(0x0A474E), OnAccent: rgb(0xFFFFFF),
	Good: rgb(0x134A2A), Bad: rgb(0x85190D), Warning: rgb(0x553C00), Absent: rgb(0x40474C),
	Paper: rgb(0xFBFAF6), Panel: rgb(0xF1F0EA), Input: rgb(0xFFFFFF), Caution: rgb(0xFAEBC8), Chosen: rgb(0xDCE9E6),
	Line: rgb(0xD2D1C9), Frame: rgb(0x80837E), Band: rgb(0xBBD8CC), BandEdge: rgb(0x2F6E59), Press: rgb(0xC9DAD6),
}}

// Dark is for attics and evenings.
var Dark = Palette{Dark: true, colours: [tones]color.NRGBA{
	Ink: rgb(0xF2F4F0), Muted: rgb(0xBFC7CA), Accent: rgb(0x8AD6D1), OnAccent: rgb(0x06201F),
	Good: rgb(0x97DDB0), Bad: rgb(0xFFB8A8), Warning: rgb(0xEFD07F), Absent: rgb(0xBFC7CA),
	Paper: rgb(0x12171A), Panel: rgb(0x1A2125), Input: rgb(0x0B0F11), Caution: rgb(0x3A2F15), Chosen: rgb(0x22363A),
	Line: rgb(0x37424A), Frame: rgb(0x84919A), Band: rgb(0x27503F), BandEdge: rgb(0x7FC2A3), Press: rgb(0x2C454A),
}}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 0xff}
}
