package chart

import (
	"math"

	"retrostage/app/theme"
)

// Patch is a drawn spot of what stands on a white cloth or in a glass, told by how
// densely it is drawn and by its word, not by colour.
type Patch struct {
	Name   string
	Dots   int  // drawn in it; 0 leaves it empty
	Filled bool // all of it
	Specks bool // light ones in it: metal
}

// OilPatches are the four ways in which oil looks when a circuit is opened.
var OilPatches = []Patch{{Name: "clear"}, {Name: "dark", Dots: 110}, {Name: "burnt", Filled: true}, {Name: "metal in it", Dots: 24, Specks: true}}

// Patches draws them beside one another.
func Patches(ps []Patch) *Picture {
	const wide, high, r = 10.0, 12.0, 3.6
	p := &Picture{X: Axis{Max: wide * float64(len(ps))}, Y: Axis{Max: high}}
	for i, q := range ps {
		at := Pt{X: wide * (float64(i) + 0.5), Y: high - 5}
		p.Items = append(p.Items, Round{At: at, R: r, Filled: q.Filled, Tone: theme.Ink, Width: 1.5})
		for k := range q.Dots { // sunflower: even, and the same each time
			d := spiral(k, q.Dots)
			m := Mark{At: Pt{X: at.X + 0.9*r*d.X, Y: at.Y + 0.9*r*d.Y}, Shape: Disc, Tone: theme.Ink, Size: 3.2}
			if q.Specks {
				m.Shape, m.Size = Diamond, 5
				if k%2 == 0 {
					m.Tone = theme.Muted
				}
			}
			p.Items = append(p.Items, m)
		}
		p.Items = append(p.Items, Text{At: Pt{X: at.X, Y: high - 10.6}, Text: q.Name, Tone: theme.Ink, AX: 0.5, AY: 0.5})
	}
	return p
}

// spiral is the k-th of n places spread evenly over a disc of radius 1.
func spiral(k, n int) Pt {
	r, a := math.Sqrt((float64(k)+0.5)/float64(n)), float64(k)*math.Pi*(3-math.Sqrt(5))
	return Pt{X: r * math.Cos(a), Y: r * math.Sin(a)}
}
