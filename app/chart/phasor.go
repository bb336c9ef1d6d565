package chart

import (
	"math"
	"math/cmplx"

	"retrostage/app/theme"
)

// Phasor is one arrow of a phasor picture.
type Phasor struct {
	Name  string
	Value complex128
	Tone  theme.Tone
}

// Phasors draws arrows from one point, the imaginary axis upward, with the
// parallelogram that makes the last the sum of the first two where there are
// three.
func Phasors(ps []Phasor) *Picture {
	p := &Picture{Note: "No currents to draw"}
	x0, x1, y0, y1, longest := 0.0, 0.0, 0.0, 0.0, 0.0
	see := func(v complex128) {
		x0, x1 = math.Min(x0, real(v)), math.Max(x1, real(v))
		y0, y1 = math.Min(y0, -imag(v)), math.Max(y1, -imag(v))
		longest = math.Max(longest, cmplx.Abs(v))
	}
	for _, a := range ps {
		if cmplx.IsNaN(a.Value) || cmplx.IsInf(a.Value) {
			return p
		}
		see(a.Value)
	}
	if !(longest > 0) {
		return p
	}
	// A drawing's corner is at the origin.
	pad := 0.12 * longest
	ox, oy := pad*4.5-x0, pad*1.6-y0
	p.X = Axis{Max: x1 - x0 + 9*pad}
	p.Y = Axis{Max: y1 - y0 + 3.2*pad}
	at := func(v complex128) Pt { return Pt{X: ox + real(v), Y: oy - imag(v)} }
	p.Items = append(p.Items, Line{Pts: []Pt{at(complex(x0-pad, 0)), at(complex(x1+pad, 0))}, Tone: theme.Line, Width: 1})
	if len(ps) == 3 {
		for _, a := range ps[:2] {
			p.Items = append(p.Items, Line{Pts: []Pt{at(a.Value), at(ps[2].Value)}, Tone: theme.Muted, Width: 1.2, Dash: []float64{4, 4}})
		}
	}
	for _, a := range ps {
		n := cmplx.Abs(a.Value)
		if n == 0 {
			continue
		}
		dir := a.Value / complex(n, 0)
		tip, back := a.Value, complex(0.055*longest, 0)
		left, right := tip-dir*back*complex(1, 0.42), tip-dir*back*complex(1, -0.42)
		p.Items = append(p.Items,
			Line{Pts: []Pt{at(0), at(tip - dir*back)}, Tone: a.Tone, Width: 2.6},
			Area{Pts: []Pt{at(tip), at(left), at(right)}, Tone: a.Tone})
		t := Text{At: at(tip), Text: a.Name, Tone: theme.Ink, Bold: true, Halo: true, Keep: true, AX: 0, DX: 8, AY: 0.5}
		switch {
		case real(tip) < 0:
			t.AX, t.DX = 1, -8
		case imag(tip) > 0.3*n:
			t.AY, t.DY = 1, -4
		case imag(tip) < -0.1*n:
			t.AY, t.DY = 0, 6
		}
		p.Items = append(p.Items, t)
	}
	p.Items = append(p.Items, Mark{At: at(0), Shape: Disc, Tone: theme.Ink, Size: 6})
	return p
}
