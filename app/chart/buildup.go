package chart

import (
	"math"

	"retrostage/app/theme"
)

// StackPart is one term of a stacked bar.
type StackPart struct {
	Name  string
	Value float64 // below 0: it takes away
	Half  float64 // of its doubt, to either side
	Text  string  // the value in words
}

// Stack is a bar built up of terms, each begun where the last one ended, so that what
// is taken away is seen too; each with its doubt, and the total with its own.
type Stack struct {
	Parts []StackPart
	Total StackPart
	Mark  *StackPart // what it is compared with: what was weighed in
	Title string
}

// Lengths of the drawing, in its own units.
const (
	stackLeft, stackRight = 222.0, 490.0 // of the bars
	stackWide             = 640.0
	stackRow              = 40.0
	stackBar              = 20.0
	stackTop              = 46.0 // clear of the keys that lie over the picture
	stackPx               = 17.0
)

// Picture draws the stack: a row for each term, the total below.
func (s Stack) Picture() *Picture {
	rows := append(append([]StackPart{}, s.Parts...), s.Total)
	if s.Mark != nil {
		rows = append(rows, *s.Mark)
	}
	at, lo, hi := 0.0, 0.0, 0.0
	for _, r := range rows {
		if !good(r.Value) || !good(r.Half) || r.Half < 0 {
			return &Picture{Note: "No build-up to draw"}
		}
	}
	for _, r := range s.Parts {
		at += r.Value
		lo, hi = math.Min(lo, at-r.Half), math.Max(hi, math.Max(at, at-r.Value)+r.Half)
	}
	for _, r := range rows[len(s.Parts):] {
		lo, hi = math.Min(lo, r.Value-r.Half), math.Max(hi, r.Value+r.Half)
	}
	if len(s.Parts) == 0 || hi <= lo {
		return &Picture{Note: "No build-up to draw"}
	}
	h := stackTop + stackRow*float64(len(rows)) + 8
	p := &Picture{X: Axis{Min: 0, Max: stackWide}, Y: Axis{Min: 0, Max: h}}
	x := func(v float64) float64 { return stackLeft + (v-lo)/(hi-lo)*(stackRight-stackLeft) }
	p.Items = append(p.Items, Line{Pts: []Pt{{X: x(0), Y: stackTop}, {X: x(0), Y: h - 8}}, Tone: theme.Line, Width: 1})
	p.Items = append(p.Items, Text{At: Pt{X: 8, Y: stackTop / 2}, Text: s.Title, Tone: theme.Ink, Size: stackPx, Bold: true, AY: 0.5, Grow: true})
	at = 0
	for i, r := range rows {
		y := stackTop + stackRow*(float64(i)+0.5)
		from, tone := 0.0, theme.Accent
		switch {
		case i < len(s.Parts):
			from = at
			at += r.Value
			if r.Value < 0 {
				tone = theme.Muted
			}
			if i+1 < len(s.Parts) { // to where the next one begins
				p.Items = append(p.Items, Line{Pts: []Pt{{X: x(at), Y: y + stackBar/2}, {X: x(at), Y: y + stackRow - stackBar/2}}, Tone: theme.Muted, Width: 1, Dash: []float64{2, 2}})
			}
		case i == len(s.Parts):
			tone = theme.Ink
			p.Items = append(p.Items, Line{Pts: []Pt{{X: 8, Y: y - stackRow/2}, {X: stackWide - 8, Y: y - stackRow/2}}, Tone: theme.Line, Width: 1})
		}
		p.Items = append(p.Items, s.row(r, x, from, y, tone, i >= len(s.Parts))...)
	}
	return p
}

// row is one bar with its doubt as a whisker, its name before it and its figure behind.
func (s Stack) row(r StackPart, x func(float64) float64, from, y float64, tone theme.Tone, bold bool) []Item {
	a, b := x(from), x(from+r.Value)
	if b < a {
		a, b = b, a
	}
	b = math.Max(b, a+1.5) // nought is seen too
	end := from + r.Value
	out := []Item{
		Text{At: Pt{X: 8, Y: y}, Text: r.Name, Tone: theme.Ink, Size: stackPx, Bold: bold, AY: 0.5, Grow: true},
		Area{Pts: []Pt{{X: a, Y: y - stackBar/2}, {X: b, Y: y - stackBar/2}, {X: b, Y: y + stackBar/2}, {X: a, Y: y + stackBar/2}}, Tone: tone, Veil: 0.25},
		Text{At: Pt{X: stackWide - 8, Y: y}, Text: r.Text, Tone: theme.Ink, Size: stackPx, Bold: bold, AX: 1, AY: 0.5, Grow: true},
	}
	if r.Half > 0 {
		l, h := x(end-r.Half), x(end+r.Half)
		out = append(out, Line{Pts: []Pt{{X: l, Y: y}, {X: h, Y: y}}, Tone: theme.Ink, Width: 2},
			Line{Pts: []Pt{{X: l, Y: y - 6}, {X: l, Y: y + 6}}, Tone: theme.Ink, Width: 2},
			Line{Pts: []Pt{{X: h, Y: y - 6}, {X: h, Y: y + 6}}, Tone: theme.Ink, Width: 2})
	}
	return out
}
