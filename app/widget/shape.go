package widget

import (
	"fmt"
	"image/color"
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"retrostage/app/theme"
)

// Verdict is what a finding says. Each has a word, a shape and a tone; the
// shapes differ in outline so that they are told apart without colour.
type Verdict int

const (
	NotMeasured Verdict = iota
	Within
	Outside
	TooClose
	NotJudged
)

// Word is the verdict in words.
func (v Verdict) Word() string {
	return [...]string{"Not measured", "Within", "Outside", "Too close to call", "Not judged"}[v]
}

// Tone is the verdict's colour.
func (v Verdict) Tone() theme.Tone {
	return [...]theme.Tone{theme.Absent, theme.Good, theme.Bad, theme.Warning, theme.Muted}[v]
}

// State is how far a step of the route is.
type State int

const (
	Open  State = iota // begun, something is missing
	Ready              // can be begun
	Held               // something else must come first
	Done
	DoneReserved // done, with something left as it is by a named person, or not known
	NotYet       // nothing to act on yet
)

// Word is the state in words.
func (s State) Word() string {
	return [...]string{"open", "ready", "held", "done", "done with reservations", "not yet"}[s]
}

// short is the word where there is little room; the shape tells the rest.
func (s State) short() string {
	if s == DoneReserved {
		return "reservations"
	}
	return s.Word()
}

func (s State) tone() theme.Tone {
	return [...]theme.Tone{theme.Accent, theme.Muted, theme.Warning, theme.Good, theme.Warning, theme.Muted}[s]
}

// glyphs are drawn on a 24 by 24 sheet; %[1]s is the tone, %[2]s the ground.
var glyphs = map[string]string{
	// within: a full disc with a tick cut out
	"within": `<circle cx="12" cy="12" r="10" fill="%[1]s"/><path d="M7 12.4 L10.6 16 L17.2 8.6" fill="none" stroke="%[2]s" stroke-width="2.6"/>`,
	// outside: a diamond with a stroke
	"outside": `<path d="M12 0.8 L23.2 12 L12 23.2 L0.8 12 Z" fill="%[1]s"/><path d="M12 6.2 L12 13.4" fill="none" stroke="%[2]s" stroke-width="2.8"/><circle cx="12" cy="17" r="1.7" fill="%[2]s"/>`,
	// too close to call: a disc half full
	"close": `<circle cx="12" cy="12" r="9" fill="none" stroke="%[1]s" stroke-width="2.4"/><path d="M12 3 A9 9 0 0 1 12 21 Z" fill="%[1]s"/>`,
	// not measured: an empty square
	"absent": `<path d="M4 4 L20 4 L20 20 L4 20 Z" fill="none" stroke="%[1]s" stroke-width="2"/>`,
	// not judged: a bar
	"unjudged": `<path d="M4 9.5 L20 9.5 L20 14.5 L4 14.5 Z" fill="%[1]s"/>`,
	"open":     `<circle cx="12" cy="12" r="9" fill="none" stroke="%[1]s" stroke-width="2.4"/><circle cx="12" cy="12" r="4" fill="%[1]s"/>`,
	"ready":    `<circle cx="12" cy="12" r="9" fill="none" stroke="%[1]s" stroke-width="2.2"/>`,
	// not yet: a dot
	"not yet": `<circle cx="12" cy="12" r="3" fill="%[1]s"/>`,
	"held":    `<path d="M5 4 L10 4 L10 20 L5 20 Z M14 4 L19 4 L19 20 L14 20 Z" fill="%[1]s"/>`,
	"done":    `<circle cx="12" cy="12" r="10" fill="%[1]s"/><path d="M7 12.4 L10.6 16 L17.2 8.6" fill="none" stroke="%[2]s" stroke-width="2.6"/>`,
	// done with reservations: the disc of done, hollow
	"done with reservations": `<circle cx="12" cy="12" r="9" fill="none" stroke="%[1]s" stroke-width="2.4"/><path d="M7 12.4 L10.6 16 L17.2 8.6" fill="none" stroke="%[1]s" stroke-width="2.6"/>`,
	"caution":                `<path d="M12 1.6 L23.4 21.6 L0.6 21.6 Z" fill="%[1]s"/><path d="M12 8.4 L12 15" fill="none" stroke="%[2]s" stroke-width="2.6"/><circle cx="12" cy="18.2" r="1.6" fill="%[2]s"/>`,
	"more":                   `<path d="M5 9 L12 16 L19 9" fill="none" stroke="%[1]s" stroke-width="2.4"/>`,
	"less":                   `<path d="M5 15 L12 8 L19 15" fill="none" stroke="%[1]s" stroke-width="2.4"/>`,
	"rub":                    `<path d="M8.5 4 L22 4 L22 20 L8.5 20 L1.5 12 Z" fill="none" stroke="%[1]s" stroke-width="2"/><path d="M11.5 8.5 L18.5 15.5 M18.5 8.5 L11.5 15.5" fill="none" stroke="%[1]s" stroke-width="2"/>`,
	"plus":                   `<path d="M12 4 L12 20 M4 12 L20 12" fill="none" stroke="%[1]s" stroke-width="2.6"/>`,
	"minus":                  `<path d="M4 12 L20 12" fill="none" stroke="%[1]s" stroke-width="2.6"/>`,
	"whole":                  `<path d="M3 9 L3 3 L9 3 M15 3 L21 3 L21 9 M21 15 L21 21 L15 21 M9 21 L3 21 L3 15" fill="none" stroke="%[1]s" stroke-width="2.4"/>`,
	"print":                  `<path d="M7 8 L7 2 L17 2 L17 8 M7 17 L3 17 L3 8 L21 8 L21 17 L17 17 M7 13 L17 13 L17 22 L7 22 Z" fill="none" stroke="%[1]s" stroke-width="2.2"/>`,
	"help":                   `<path d="M7 8.6 A5 5 0 1 1 13.6 13 Q12 13.8 12 16" fill="none" stroke="%[1]s" stroke-width="2.6"/><circle cx="12" cy="20" r="1.7" fill="%[1]s"/>`,
	"right":                  `<path d="M9 4 L17 12 L9 20" fill="none" stroke="%[1]s" stroke-width="2.6"/>`,
	"left":                   `<path d="M15 4 L7 12 L15 20" fill="none" stroke="%[1]s" stroke-width="2.6"/>`,
	"list":                   `<path d="M3 6 L21 6 M3 12 L21 12 M3 18 L21 18" fill="none" stroke="%[1]s" stroke-width="2.4"/>`,
	"off-low":                `<path d="M22 2 L2 12 L22 22 Z" fill="%[1]s"/>`, "off-high": `<path d="M2 2 L22 12 L2 22 Z" fill="%[1]s"/>`,
	"sun":  `<circle cx="12" cy="12" r="4.6" fill="%[1]s"/><path d="M12 1 L12 5 M12 19 L12 23 M1 12 L5 12 M19 12 L23 12 M4.2 4.2 L7 7 M17 17 L19.8 19.8 M4.2 19.8 L7 17 M17 7 L19.8 4.2" fill="none" stroke="%[1]s" stroke-width="2"/>`,
	"moon": `<path d="M15 2.5 A10 10 0 1 0 21.5 15 A8.4 8.4 0 0 1 15 2.5 Z" fill="%[1]s"/>`,
	"undo": `<path d="M9 5 L4 10 L9 15 M4 10 L14 10 A5 5 0 0 1 14 20 L10 20" fill="none" stroke="%[1]s" stroke-width="2.2"/>`,
	"redo": `<path d="M15 5 L20 10 L15 15 M20 10 L10 10 A5 5 0 0 0 10 20 L14 20" fill="none" stroke="%[1]s" stroke-width="2.2"/>`,
	"keys": `<path d="M2 3 L22 3 L22 21 L2 21 Z" fill="none" stroke="%[1]s" stroke-width="2"/><path d="M6 8 L8 8 M11 8 L13 8 M16 8 L18 8 M6 12 L8 12 M11 12 L13 12 M16 12 L18 12 M6 16 L8 16 M11 16 L13 16 M16 16 L18 16" fill="none" stroke="%[1]s" stroke-width="2"/>`,
}

func (v Verdict) glyph() string {
	return [...]string{"absent", "within", "outside", "close", "unjudged"}[v]
}

var (
	glyphMu    sync.Mutex
	glyphCache = map[string]fyne.Resource{}
)

// glyph is the drawing of that name in a tone on a ground.
func glyph(name string, tone, ground color.NRGBA) fyne.Resource {
	hex := func(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }
	id := name + hex(tone) + hex(ground) + ".svg"
	glyphMu.Lock()
	defer glyphMu.Unlock()
	if r, ok := glyphCache[id]; ok {
		return r
	}
	svg := `<svg xmlns="http://www.w3.org/2000/svg" width="24" height="24" viewBox="0 0 24 24">` +
		fmt.Sprintf(glyphs[name]+"%.0[1]s%.0[2]s", hex(tone), hex(ground)) + `</svg>`
	r := fyne.NewStaticResource(id, []byte(svg))
	glyphCache[id] = r
	return r
}

func newGlyph() *canvas.Image {
	im := &canvas.Image{FillMode: canvas.ImageFillContain}
	return im
}

func setGlyph(im *canvas.Image, name string, tone, ground theme.Tone) {
	r := glyph(name, tone.Colour(), ground.Colour())
	if im.Resource != r {
		im.Resource = r
		im.Refresh()
	}
}
