package choice

import (
	"fmt"
	"math"
)

// Longest is the number of years beyond which no life is counted.
const Longest = 60.0

// Life is how long a part lasts that ends the option when it fails: Weibull with
// survival exp(-(t/Scale)^Shape), t in years, known to have reached Age. Scale is
// itself only known within the share Doubt of it. Parts of one name in several
// options are the same part: a draw gives it one life.
type Life struct {
	Part         string
	Shape, Scale float64
	Age          float64
	Doubt        float64
	Source       string // where the parameters come from
	Recalled     bool   // from memory: nobody read them anywhere
}

func (l Life) check() error {
	if l.Part == "" {
		return fmt.Errorf("choice: a life without the name of its part")
	}
	for _, v := range []struct {
		what      string
		x, lo, hi float64
	}{{"shape", l.Shape, 0.5, 10}, {"scale", l.Scale, 0.5, 100}, {"age", l.Age, 0, 80}, {"doubt", l.Doubt, 0, 0.9}} {
		if !(v.x >= v.lo && v.x <= v.hi) {
			return fmt.Errorf("choice: %s of the life of %s is %g; allowed %g to %g", v.what, l.Part, v.x, v.lo, v.hi)
		}
	}
	return nil
}

// factor is the triangle by which Scale may be off.
func (l Life) factor() Spread { return Spread{1 - l.Doubt, 1, 1 + l.Doubt} }

// survives is the chance that it lasts t more years, were its scale f times Scale.
func (l Life) survives(t, f float64) float64 {
	s := l.Scale * f
	return math.Exp(math.Pow(l.Age/s, l.Shape) - math.Pow((l.Age+t)/s, l.Shape))
}

// Survives is the chance that it lasts t more years, the doubt of its scale taken
// in. That it has reached its age is not used to learn more about the scale.
func (l Life) Survives(t float64) float64 {
	if l.Doubt == 0 {
		return l.survives(t, 1)
	}
	const n = 12
	sum := 0.0
	for i := range n {
		sum += l.survives(t, l.factor().At((float64(i)+0.5)/n))
	}
	return sum / n
}

// drawn is the remaining life for two numbers of chance between 0 and 1.
func (l Life) drawn(u, v float64) float64 {
	s := l.Scale
	if l.Doubt > 0 {
		s *= l.factor().At(v)
	}
	x := -math.Log(1 - u)
	if l.Age > 0 {
		x += math.Pow(l.Age/s, l.Shape)
	}
	return min(s*math.Pow(x, 1/l.Shape)-l.Age, Longest)
}

// Mean and variance of a new part's life in closed form, without doubt of its
// scale and without end: Scale Γ(1 + 1/k), Scale² (Γ(1 + 2/k) - Γ(1 + 1/k)²).
func (l Life) Mean() float64 { return l.Scale * math.Gamma(1+1/l.Shape) }

// Var is the variance that goes with Mean.
func (l Life) Var() float64 {
	g := math.Gamma(1 + 1/l.Shape)
	return l.Scale * l.Scale * (math.Gamma(1+2/l.Shape) - g*g)
}

// nodes and weights of Gauss and Legendre with three points on panels that widen
// from a day's width, so that what falls steeply at first is followed.
var nodes, weights = func() (t, w []float64) {
	const panels = 120
	edge := func(i int) float64 { x := float64(i) / panels; return Longest * x * x }
	g := math.Sqrt(0.6)
	for i := range panels {
		a, b := edge(i), edge(i+1)
		m, h := (a+b)/2, (b-a)/2
		t = append(t, m-h*g, m, m+h*g)
		w = append(w, h*5/9, h*8/9, h*5/9)
	}
	return t, w
}()

// curve is Survives at the nodes.
func (l Life) curve() []float64 {
	out := make([]float64, len(nodes))
	for i, t := range nodes {
		out[i] = l.Survives(t)
	}
	return out
}

// annuity is the present value of 1 a year over t years at the continuous rate d.
func annuity(t, d float64) float64 {
	if d == 0 {
		return t
	}
	return -math.Expm1(-d*t) / d
}

// served is E[a(T)] and E[T], T the first failure among parts with these survival
// curves, Longest at most: the integral of exp(-dt) S(t), and that of S(t).
func served(curves [][]float64, d float64) (worth, years float64) {
	for i, t := range nodes {
		s := weights[i]
		for _, c := range curves {
			s *= c[i]
		}
		years += s
		worth += s * math.Exp(-d*t)
	}
	return worth, years
}

// level is what 1 a year, rising by the share rise each year, comes to as a steady
// sum over the years of horizon, at the yearly discount rate.
func level(rise, discount, horizon float64) float64 {
	d := math.Log1p(discount)
	return annuity(horizon, d-math.Log1p(rise)) / annuity(horizon, d)
}
