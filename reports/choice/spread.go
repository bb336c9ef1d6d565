package choice

import (
	"fmt"
	"math"
)

// Spread is a quantity known as a least, a likely and a greatest value: a triangle.
type Spread struct{ Low, Likely, High float64 }

// Sure is a value without doubt.
func Sure(v float64) Spread { return Spread{v, v, v} }

// Around is v, give or take the share rel of it.
func Around(v, rel float64) Spread { return Spread{v * (1 - rel), v, v * (1 + rel)} }

// Mean is the mean of the triangle, (a + b + c)/3.
func (s Spread) Mean() float64 { return (s.Low + s.Likely + s.High) / 3 }

// Var is its variance, (a² + b² + c² - ab - ac - bc)/18.
func (s Spread) Var() float64 {
	a, b, c := s.Low, s.Likely, s.High
	return (a*a + b*b + c*c - a*b - a*c - b*c) / 18
}

// At is the value below which the share u of it lies.
func (s Spread) At(u float64) float64 {
	w := s.High - s.Low
	if w == 0 {
		return s.Low
	}
	f := (s.Likely - s.Low) / w
	if u < f {
		return s.Low + w*math.Sqrt(u*f)
	}
	return s.High - w*math.Sqrt((1-u)*(1-f))
}

// Times is s with every value times k, k >= 0.
func (s Spread) Times(k float64) Spread { return Spread{s.Low * k, s.Likely * k, s.High * k} }

func (s Spread) wide() bool { return s.High > s.Low }

func (s Spread) check(what string) error {
	if !(s.Low >= 0 && s.Low <= s.Likely && s.Likely <= s.High) || math.IsInf(s.High, 0) {
		return fmt.Errorf("choice: %s of %g, likely %g, to %g; allowed rising values, 0 and up", what, s.Low, s.Likely, s.High)
	}
	return nil
}
