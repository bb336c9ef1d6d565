package chart

import (
	"math"

	"retrostage/app/theme"
)

// Bar is one line of a Bars: a stretch from From to To with a name above it. Mid, if
// it is a number, is marked in it.
type Bar struct {
	Name          string
	From, To, Mid float64
	Tone          theme.Tone
	Faint         bool
	Says          string // at its end
}

// Bars is stretches below one another over one axis: likelihoods, prices with their
// spread, what moves a lead.
type Bars struct {
	XLabel string
	Bars   []Bar
	Zero   *float64 // a line that matters, nil: none
	Note   string
}

// Picture draws the bars. Those whose ends are no numbers are left out.
func (b Bars) Picture() *Picture {
	p := &Picture{Axes: true, Note: b.Note, X: Axis{Label: b.XLabel}, Y: Axis{Bare: true}}
	lo, hi := math.Inf(1), math.Inf(-1)
	var rows []Bar
	for _, r := range b.Bars {
		if good(r.From) && good(r.To) {
			rows = append(rows, r)
			lo, hi = math.Min(lo, math.Min(r.From, r.To)), math.Max(hi, math.Max(r.From, r.To))
		}
	}
	if len(rows) == 0 {
		if p.Note == "" {
			p.Note = "Nothing to draw yet"
		}
		return p
	}
	if z := b.Zero; z != nil && good(*z) {
		lo, hi = math.Min(lo, *z), math.Max(hi, *z)
	}
	p.X.Min, p.X.Max = widen(lo, hi, 0.06, false)
	p.X.Max += 0.25 * (hi - lo) // for what stands at an end
	if lo >= 0 && p.X.Min < 0 {
		p.X.Min = 0
	}
	n := float64(len(rows))
	p.Y.Min, p.Y.Max = 0, n
	if b.Zero != nil && good(*b.Zero) {
		p.Items = append(p.Items, Line{Pts: []Pt{{X: *b.Zero, Y: 0}, {X: *b.Zero, Y: n}}, Tone: theme.Ink, Width: 1.5})
	}
	for i, r := range rows {
		y := n - float64(i) - 0.72 // the bar lies low in its row, its name above
		const half = 0.14
		a, z := math.Min(r.From, r.To), math.Max(r.From, r.To)
		veil := 0.0
		if r.Faint {
			veil = 0.5
		}
		p.Items = append(p.Items, Area{Tone: r.Tone, Veil: veil, Pts: []Pt{{X: a, Y: y - half}, {X: z, Y: y - half}, {X: z, Y: y + half}, {X: a, Y: y + half}}})
		if good(r.Mid) && r.Mid >= a && r.Mid <= z {
			p.Items = append(p.Items, Mark{At: Pt{X: r.Mid, Y: y}, Shape: Diamond, Tone: theme.Ink, Size: 11})
		}
		p.Items = append(p.Items, Text{At: Pt{X: a, Y: y + half}, Text: r.Name, Tone: theme.Ink, AY: 1, DY: -2, Halo: true, Keep: true})
		if r.Says != "" {
			p.Items = append(p.Items, Text{At: Pt{X: z, Y: y}, Text: r.Says, Tone: theme.Ink, AY: 0.5, DX: 6, Halo: true, Keep: true})
		}
	}
	return p
}
