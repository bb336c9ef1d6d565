package workbook

import (
	"fmt"
	"math"
	"sync"

	"retrostage/thermo/fluid"
)

// nodes of the table, evenly spaced in ln p.
const satNodes = 120

// saturation is the table by which a sheet finds saturation temperatures:
// cubic Hermite pieces of T over ln p, evenly spaced, so that the piece is found
// by arithmetic and no search is needed. SI.
type saturation struct {
	fluid    string
	x0, h    float64 // ln(p/Pa) of the first node, distance of nodes
	pMin     float64
	pMax     float64
	dew, bub []satNode
	bound    float64 // largest error seen at five points inside each piece, K
}

type satNode struct{ T, slope float64 } // slope is dT times h per d ln p

var satCache sync.Map // fluid name -> *saturation

// saturationOf builds the table of a fluid, once.
func saturationOf(name string) (*saturation, error) {
	if s, ok := satCache.Load(name); ok {
		return s.(*saturation), nil
	}
	f, err := fluid.Get(name)
	if err != nil {
		return nil, err
	}
	_, pc, _ := f.Critical()
	tMin, _, _ := f.Limits()
	pMin, err := f.BubbleP(math.Max(tMin+1, 215))
	if err != nil {
		return nil, err
	}
	s := &saturation{fluid: name, pMin: pMin, pMax: 0.9 * pc}
	s.x0 = math.Log(s.pMin)
	s.h = (math.Log(s.pMax) - s.x0) / (satNodes - 1)
	for _, side := range []struct {
		nodes *[]satNode
		t     func(float64) (float64, error)
	}{{&s.dew, f.DewT}, {&s.bub, f.BubbleT}} {
		if *side.nodes, err = s.sample(side.t); err != nil {
			return nil, fmt.Errorf("saturation table of %s: %w", name, err)
		}
		for i := range satNodes - 1 {
			for _, t := range []float64{0.1, 0.3, 0.5, 0.7, 0.9} {
				want, err := side.t(math.Exp(s.x0 + (float64(i)+t)*s.h))
				if err != nil {
					return nil, err
				}
				s.bound = math.Max(s.bound, math.Abs(hermite((*side.nodes)[i], (*side.nodes)[i+1], t)-want))
			}
		}
	}
	satCache.Store(name, s)
	return s, nil
}

func (s *saturation) sample(t func(float64) (float64, error)) ([]satNode, error) {
	ns := make([]satNode, satNodes)
	const d = 1e-3 // of a piece, for the slope
	for i := range ns {
		x := s.x0 + float64(i)*s.h
		v, err := t(math.Exp(x))
		if err != nil {
			return nil, err
		}
		a, err := t(math.Exp(x - d*s.h))
		if err != nil {
			return nil, err
		}
		b, err := t(math.Exp(x + d*s.h))
		if err != nil {
			return nil, err
		}
		ns[i] = satNode{v, (b - a) / (2 * d)}
	}
	return ns, nil
}

// hermite is the cubic through two nodes with their slopes, 0 <= t <= 1.
func hermite(a, b satNode, t float64) float64 {
	return a.T + t*(a.slope+t*(3*(b.T-a.T)-2*a.slope-b.slope+t*(2*(a.T-b.T)+a.slope+b.slope)))
}
