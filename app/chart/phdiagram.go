package chart

import (
	"math"

	"retrostage/app/theme"
)

// Curve is a line of the plane with an optional word at its end.
type Curve struct {
	H, P []float64
	Text string
}

// Point is a measured state of the cycle. HalfH and HalfP are the half widths of
// its uncertainty, 0 when unknown, and R their correlation, -1 to 1: the ellipse
// drawn just fits into the box of the half widths and leans as R says.
type Point struct {
	H, P         float64
	Name         string
	HalfH, HalfP float64
	R            float64
	Apart        bool // no line leads here from the point before: what lies between was not measured
}

// PH is the pressure-enthalpy plane of one refrigerant.
type PH struct {
	Bubble, Dew    Curve   // saturation lines, from low to high pressure
	Cycle          []Point // in the order the refrigerant takes; joined and closed
	Earlier        []Curve // cycles of other sets of readings, each a closed line with its number
	Ties           []Curve // across the dome: constant temperature, or constant pressure of a mixture
	Isotherms      []Curve // two ends each: boiling liquid and its vapour of one temperature
	HLabel, PLabel string
	Note           string // said when there is no dome
}

// Picture draws the plane. The view is cut to the dome and the cycle: pressures
// far below anything measured are left out.
func (d PH) Picture() *Picture {
	p := &Picture{Axes: true, Note: d.Note,
		X: Axis{Label: d.HLabel}, Y: Axis{Label: d.PLabel, Log: true}}
	if len(d.Bubble.H) < 2 || len(d.Dew.H) < 2 {
		if p.Note == "" {
			p.Note = "Choose a refrigerant to see its pressure-enthalpy plane"
		}
		return p
	}
	xlo, xhi := math.Inf(1), math.Inf(-1)
	ylo, yhi := math.Inf(1), math.Inf(-1)
	see := func(h, q float64) {
		if good(h) && good(q) && q > 0 {
			xlo, xhi = math.Min(xlo, h), math.Max(xhi, h)
			ylo, yhi = math.Min(ylo, q), math.Max(yhi, q)
		}
	}
	for _, c := range d.Cycle {
		see(c.H, c.P)
	}
	for _, c := range d.Earlier {
		for i := range c.H {
			if i < len(c.P) {
				see(c.H[i], c.P[i])
			}
		}
	}
	low, measured := ylo, len(d.Cycle) > 0 && good(ylo)
	for _, c := range []Curve{d.Bubble, d.Dew} {
		for i := range c.H {
			if i < len(c.P) && (!measured || c.P[i] > low*0.55) {
				see(c.H[i], c.P[i])
			}
		}
	}
	if !(xhi > xlo) || !(yhi > ylo) {
		return p
	}
	pad := 0.06 * (xhi - xlo)
	p.X.Min, p.X.Max = xlo-1.5*pad, xhi+3*pad
	p.Y.Min, p.Y.Max = ylo/1.12, yhi*1.3

	dome := append(pts(d.Bubble), reversed(pts(d.Dew))...)
	p.Items = append(p.Items, Area{Pts: dome, Tone: theme.Band, Veil: 0.72})
	for _, c := range d.Isotherms {
		p.Items = append(p.Items, Line{Pts: pts(c), Tone: theme.Line, Width: 1.4})
		if len(c.H) < 2 || len(c.P) < 2 || c.Text == "" {
			continue
		}
		// Inside the dome, clear of the words about the cycle's corners.
		const in = 0.8
		q := Pt{X: c.H[0] + in*(c.H[1]-c.H[0]), Y: c.P[0] * math.Pow(c.P[1]/c.P[0], in)}
		p.Items = append(p.Items, Text{At: q, Text: c.Text, Tone: theme.Muted, Size: 11, AX: 0.5, AY: 0.5, Halo: true})
	}
	for _, c := range d.Ties {
		p.Items = append(p.Items, Line{Pts: pts(c), Tone: theme.Muted, Width: 1, Dash: []float64{3, 4}})
		if len(c.H) > 0 && c.Text != "" {
			i := len(c.H) / 2
			q := Pt{X: c.H[i], Y: c.P[i]}
			if len(c.H) == 2 {
				q = Pt{X: (c.H[0] + c.H[1]) / 2, Y: math.Sqrt(c.P[0] * c.P[1])}
			}
			p.Items = append(p.Items, Text{At: q, Text: c.Text, Tone: theme.Muted, Size: 12, AX: 0.5, AY: 1, DY: -5, Halo: true, Keep: true})
		}
	}
	p.Items = append(p.Items,
		Line{Pts: dome, Tone: theme.Muted, Width: 1.8})

	for _, c := range d.Earlier {
		p.Items = append(p.Items, Line{Pts: pts(c), Tone: theme.Muted, Width: 1.6, Dash: []float64{6, 4}})
		if len(c.H) > 0 && len(c.P) > 0 && c.Text != "" {
			p.Items = append(p.Items, Text{At: Pt{X: c.H[0], Y: c.P[0]}, Text: c.Text, Tone: theme.Muted, Size: 11, AX: 0.5, AY: 0, DY: 5, Halo: true})
		}
	}
	for _, run := range d.runs() {
		p.Items = append(p.Items, Line{Pts: run, Tone: theme.Accent, Width: 2.6})
	}
	hmid, pmid := (p.X.Min+p.X.Max)/2, math.Sqrt(p.Y.Min*p.Y.Max)
	for i, c := range d.Cycle {
		if !good(c.H) || !good(c.P) || c.P <= 0 {
			continue
		}
		size := 9.0
		if e := ellipse(c); e != nil {
			size = 5 // so that a small ellipse is seen around it
			p.Items = append(p.Items, Area{Pts: e, Tone: theme.Warning, Veil: 0.7},
				Line{Pts: append(e, e[0]), Tone: theme.Warning, Width: 1})
		}
		at := Pt{X: c.H, Y: c.P}
		p.Items = append(p.Items, Mark{At: at, Shape: Disc, Tone: theme.Accent, Size: size})
		if c.Name == "" {
			continue
		}
		// The word goes outside the loop, and clear of a neighbour close by.
		t := Text{At: at, Text: c.Name, Tone: theme.Ink, Size: 13, Bold: true, Halo: true, Keep: true, AX: 0, DX: 9, AY: 1, DY: -7}
		if c.H < hmid {
			t.AX, t.DX = 1, -9
		}
		if c.P < pmid {
			t.AY, t.DY = 0, 9
		}
		for j, o := range d.Cycle {
			if j < i && o.Name != "" && math.Abs(o.H-c.H) < 0.05*(p.X.Max-p.X.Min) && math.Abs(math.Log(o.P/c.P)) < 0.12*math.Log(p.Y.Max/p.Y.Min) {
				if c.P < pmid {
					t.DY += 17
				} else {
					t.DY -= 17
				}
			}
		}
		p.Items = append(p.Items, t)
	}
	return p
}

// runs are the lines of the cycle: one that closes, or the pieces between the places
// where nothing was measured.
func (d PH) runs() (out [][]Pt) {
	var seen []Point
	apart := false
	first := -1 // where a piece begins
	for _, c := range d.Cycle {
		apart = apart || c.Apart
		if !good(c.H) || !good(c.P) || c.P <= 0 {
			apart = true // and what could not be placed parts its neighbours too
			continue
		}
		c.Apart, apart = apart, false
		if c.Apart && first < 0 {
			first = len(seen)
		}
		seen = append(seen, c)
	}
	if apart && len(seen) > 0 {
		seen[0].Apart, first = true, 0
	}
	n := len(seen)
	pt := func(i int) Pt { return Pt{X: seen[i%n].H, Y: seen[i%n].P} }
	if n < 2 {
		return nil
	}
	if first < 0 {
		loop := make([]Pt, 0, n+1)
		for i := range n + 1 {
			loop = append(loop, pt(i))
		}
		if n == 2 {
			loop = loop[:2]
		}
		return [][]Pt{loop}
	}
	var run []Pt
	for i := first; i < first+n; i++ {
		if seen[i%n].Apart {
			if len(run) > 1 {
				out = append(out, run)
			}
			run = nil
		}
		run = append(run, pt(i))
	}
	if len(run) > 1 {
		out = append(out, run)
	}
	return out
}

func ellipse(c Point) []Pt {
	if !(c.HalfH > 0) && !(c.HalfP > 0) {
		return nil
	}
	e := make([]Pt, 0, 37)
	r := math.Max(-1, math.Min(1, c.R))
	for i := 0; i < 36; i++ {
		s, k := math.Sincos(float64(i) * math.Pi / 18)
		q := Pt{X: c.H + c.HalfH*k, Y: c.P + c.HalfP*(r*k+math.Sqrt(1-r*r)*s)}
		if q.Y > 0 && good(q.X) && good(q.Y) {
			e = append(e, q)
		}
	}
	if len(e) < 3 {
		return nil
	}
	return e
}

func pts(c Curve) []Pt {
	n := min(len(c.H), len(c.P))
	out := make([]Pt, n)
	for i := range out {
		out[i] = Pt{X: c.H[i], Y: c.P[i]}
	}
	return out
}

func reversed(q []Pt) []Pt {
	out := make([]Pt, len(q))
	for i := range q {
		out[len(q)-1-i] = q[i]
	}
	return out
}

func good(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
