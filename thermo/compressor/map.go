package compressor

import (
	"fmt"
	"math"
	"strings"
)

// Poly holds the ten coefficients C1 to C10 in the order of the package
// comment.
type Poly [10]float64

// At evaluates the polynomial at S and D, in the temperature unit of its fit.
func (c *Poly) At(s, d float64) float64 {
	return c[0] + s*(c[1]+s*(c[3]+s*c[6])) + d*(c[2]+d*(c[5]+d*c[9])) + s*d*(c[4]+s*c[7]+d*c[8])
}

// Order tells how a data sheet lists the mixed cubic terms.
type Order int

// The two orders seen. Compare a row of the data sheet's own table with the
// map before trusting either.
const (
	S2DFirst Order = iota // C8 D S^2, C9 S D^2
	SD2First              // C8 S D^2, C9 D S^2
)

// Scale is a unit in which a map's coefficients give results, as the number of
// SI units it is worth.
type Scale float64

// The units of data sheets. Btu is the international table one, 1055.05585262 J.
const (
	KgPerS   Scale = 1
	KgPerH   Scale = 1.0 / 3600
	LbPerH   Scale = 0.45359237 / 3600
	Watt     Scale = 1
	Kilowatt Scale = 1000
	BtuPerH  Scale = 1055.05585262 / 3600
	KBtuPerH Scale = 1000 * BtuPerH
	Ampere   Scale = 1
)

// Degree is the unit of the saturation temperatures in a map.
type Degree int

// The units of temperature.
const (
	Fahrenheit Degree = iota
	Celsius
	Kelvin
)

// of converts kelvin to the map's unit.
func (u Degree) of(t float64) float64 {
	switch u {
	case Fahrenheit:
		return t*1.8 - 459.67
	case Celsius:
		return t - 273.15
	}
	return t
}

// Curve is one quantity's coefficients and the unit of its result.
type Curve struct {
	C    Poly
	Unit Scale
}

// Basis is the suction gas at which the map was rated: either a fixed superheat
// above the dew temperature S, or a fixed return gas temperature. Exactly one
// of the two is positive.
type Basis struct {
	Superheat float64 // K
	ReturnGas float64 // K, absolute
}

// SuctionT is the rated suction temperature, K, at suction dew temperature s, K.
func (b Basis) SuctionT(s float64) (float64, error) {
	switch {
	case b.Superheat > 0 && b.ReturnGas == 0:
		return s + b.Superheat, nil
	case b.ReturnGas > 0 && b.Superheat == 0:
		if b.ReturnGas < s {
			return 0, fmt.Errorf("compressor: return gas of the rating, %.2f K, is below the suction dew temperature %.2f K", b.ReturnGas, s)
		}
		return b.ReturnGas, nil
	}
	return 0, fmt.Errorf("compressor: a rating has either a superheat or a return gas temperature; got %g K and %g K", b.Superheat, b.ReturnGas)
}

// Point is a pair of saturation (dew) temperatures, K.
type Point struct{ S, D float64 }

// Map is a compressor's published performance. A curve may be nil, except Mass
// and Power for the functions that need them.
type Map struct {
	Mass, Power, Current, Capacity *Curve

	Temp      Degree
	Order     Order
	Basis     Basis
	Subcooled float64 // K; liquid subcooling that the Capacity curve supposes

	// Envelope is the polygon, in K, of the region that was rated, its corners
	// in order. It must have three corners or more.
	Envelope []Point
	Source   string // where the coefficients come from, for people
}

// Rated is what the map gives at its own superheat; 0 where a curve is absent.
type Rated struct {
	Mass     float64 // kg/s
	Power    float64 // W
	Current  float64 // A
	Capacity float64 // W
}

// At evaluates the map at suction and discharge dew temperatures s and d, K,
// at the superheat it was rated at. It refuses points outside the envelope, and
// results that are not positive.
func (m *Map) At(s, d float64) (Rated, error) {
	if err := m.Inside(s, d); err != nil {
		return Rated{}, err
	}
	var r Rated
	for _, q := range []struct {
		name string
		c    *Curve
		out  *float64
	}{{"mass flow", m.Mass, &r.Mass}, {"power", m.Power, &r.Power}, {"current", m.Current, &r.Current}, {"capacity", m.Capacity, &r.Capacity}} {
		if q.c == nil {
			continue
		}
		c := q.c.C
		if m.Order == SD2First {
			c[7], c[8] = c[8], c[7]
		}
		*q.out = c.At(m.Temp.of(s), m.Temp.of(d)) * float64(q.c.Unit)
		if !(*q.out > 0) || math.IsInf(*q.out, 0) {
			return Rated{}, fmt.Errorf("compressor: %s from the map at %s is %g: check coefficients, order and units", q.name, at(s, d), *q.out)
		}
	}
	return r, nil
}

// Inside reports, as an error that says what is allowed, that a point lies
// outside the map's envelope. The edge is inside.
func (m *Map) Inside(s, d float64) error {
	if math.IsNaN(s+d) || math.IsInf(s+d, 0) {
		return fmt.Errorf("compressor: map asked at %v, %v K", s, d)
	}
	e := m.Envelope
	if len(e) < 3 {
		return fmt.Errorf("compressor: the map has no envelope, so it cannot be told where it holds")
	}
	const edge = 1e-6 // K
	in := false
	for i := range e {
		a, b := e[i], e[(i+1)%len(e)]
		ds, dd := b.S-a.S, b.D-a.D
		if l := math.Hypot(ds, dd); l > 0 {
			along := ((s-a.S)*ds + (d-a.D)*dd) / l
			off := math.Abs((s-a.S)*dd-(d-a.D)*ds) / l
			if off <= edge && along >= -edge && along <= l+edge {
				return nil
			}
		}
		if (a.D > d) != (b.D > d) && s < a.S+(d-a.D)/dd*ds {
			in = !in
		}
	}
	if in {
		return nil
	}
	return fmt.Errorf("compressor: %s is outside the rated region %s", at(s, d), m.region())
}

func at(s, d float64) string {
	return fmt.Sprintf("suction %.2f K, discharge %.2f K saturation", s, d)
}

func (m *Map) region() string {
	var b strings.Builder
	for i, p := range m.Envelope {
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%.2f/%.2f", p.S, p.D)
	}
	return b.String() + " K"
}

// Rectangle is the envelope of a map rated over whole ranges, K.
func Rectangle(sMin, sMax, dMin, dMax float64) []Point {
	return []Point{{sMin, dMin}, {sMax, dMin}, {sMax, dMax}, {sMin, dMax}}
}

// DensityShare is F of the package comment: the part of a change in suction
// density that reaches the mass flow.
const DensityShare = 0.75

// MassFactor is m/m_map for suction gas of specific volume v, m3/kg, where the
// map was rated at vMap.
func MassFactor(vMap, v float64) (float64, error) {
	if !(v > 0 && vMap > 0) || math.IsInf(v+vMap, 0) {
		return 0, fmt.Errorf("compressor: specific volumes %g and %g m3/kg; allowed above 0", vMap, v)
	}
	return 1 + DensityShare*(vMap/v-1), nil
}

// Unchecked evaluates mass flow and power without asking whether the point lies
// in the envelope or the result makes sense. It is for iterations on the way to
// a point that is then checked.
func (m *Map) Unchecked(s, d float64) Rated {
	s, d = m.Temp.of(s), m.Temp.of(d)
	a, b := m.Mass.C, m.Power.C
	if m.Order == SD2First {
		a[7], a[8], b[7], b[8] = a[8], a[7], b[8], b[7]
	}
	return Rated{Mass: a.At(s, d) * float64(m.Mass.Unit), Power: b.At(s, d) * float64(m.Power.Unit)}
}
